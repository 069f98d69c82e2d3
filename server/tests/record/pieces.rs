//! The next piece, its certificates, and the year of all.

use super::*;

#[tokio::test]
async fn a_duplicate_leaves_history_behind_and_keeps_a_line_to_its_origin() {
    let studio = Studio::new();
    studio
        .post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-11-20", "words": "R. Vell"}))
        .await;
    studio
        .change(
            "long-weir",
            "/plan/long-weir/happened",
            json!({"kind": "invoiced", "what": "Print", "amount": "215", "day": "2026-11-20"}),
        )
        .await;
    studio.change("long-weir", "/plan/long-weir/hold", json!({"role": "lab", "day": "2026-10-01"})).await;
    for (title, location) in [("Short Weir", "/plan/short-weir"), ("Short Weir", "/plan/short-weir-2")] {
        let (status, made) = studio.post("/plan/long-weir/copy", json!({"title": title})).await;
        assert_eq!((status, made["location"].as_str()), (StatusCode::OK, Some(location)));
    }
    for file in ["short-weir.md", "short-weir-2.md"] {
        let text = studio.text(file);
        for gone in ["invoiced", "2026-11-20", "quotes", "Vell", "215"] {
            assert!(!text.contains(gone), "{gone} came along: {text}");
        }
        assert!(text.contains("from = \"long-weir\"") && text.contains("Print width"));
    }
    assert!(studio.get("/plan/short-weir").await.contains("href=\"/plan/long-weir\""));
    let origin = studio.get("/plan/long-weir").await;
    assert!(origin.contains("/plan/short-weir-2\"") && origin.contains("/plan/short-weir\""));
    assert!(studio.notebook.store().ledger(&server::names::Name::new("short-weir").unwrap()).unwrap().is_empty());
}

#[tokio::test]
async fn every_beginning_stands_in_a_notebook_without_a_shop() {
    let folder = tempfile::tempdir().unwrap();
    let (notebook, app) = open(folder.path(), "2026-11-25");
    let studio = Studio { folder, notebook, app };
    let page = studio.get("/begin").await;
    for (beginning, title) in
        [("panoramic-float-frame", "First One"), ("matted-and-glazed", "Second One"), ("unframed-edition", "Third One")]
    {
        assert!(page.contains(beginning), "{beginning} is not offered");
        let (status, made) = studio.post("/begin", json!({"title": title, "beginning": beginning})).await;
        assert_eq!(status, StatusCode::OK, "{made}");
        let values = studio.get(&format!("{}/values", made["location"].as_str().unwrap())).await;
        let values: Value = serde_json::from_str(&values).unwrap();
        assert_eq!(values["problems"], json!([]), "{beginning}");
        assert!(
            values["rules"].as_array().unwrap().iter().all(|rule| rule["kept"] == true),
            "{beginning}: {}",
            values["rules"]
        );
        assert!(!values["steps"].as_array().unwrap().is_empty());
        // Nobody was asked yet, and no sum looks as if it were whole.
        assert_eq!(values["costs"], json!([]), "{beginning}");
        assert!(values["open"].as_array().unwrap().len() >= 3, "{beginning}: {}", values["open"]);
        assert!(values["total"].as_str().unwrap().ends_with("prices to come"), "{}", values["total"]);
    }
}

const FACTS: &str = "[certificate]\nartist = \"A. Verrill\"\nyear = 2026\nunnumbered = \"none\"\nother_editions = \"none\"\nprocess = \"chromogenic print on polyester base, luster laminate, on foam board\"\nreproduction = \"no\"\nsignature = \"by the artist, in pencil, on the label\"\nlifetime = \"yes\"\nmaster = \"the negative is kept and not printed again in this size\"\nseller = \"the artist\"\n";

#[tokio::test]
async fn a_certificate_says_what_is_known_lists_what_is_missing_and_is_found_by_its_code() {
    let studio = Studio::new();
    let draft = studio.get("/plan/long-weir/certificate/2").await;
    assert!(
        draft.contains("What is missing") && draft.contains("year of this print") && draft.contains("not legal advice")
    );
    let (status, refused) = studio.post("/plan/long-weir/certificate/2", json!({})).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{refused}");
    studio.save("/plan/long-weir", "long-weir", &PLAN.replacen("[shops]", &format!("{FACTS}[shops]"), 1)).await;
    for what in ["printed", "signed", "numbered", "sold"] {
        studio
            .post(
                "/plan/long-weir/ledger",
                json!({"number": 2, "what": what, "when": "2026-11-20", "words": "R. Vell"}),
            )
            .await;
    }
    let (status, issued) = studio.post("/plan/long-weir/certificate/2", json!({})).await;
    assert_eq!(status, StatusCode::OK, "{issued}");
    let code = issued["code"].as_str().unwrap();
    assert_eq!(
        (code.len(), studio.post("/plan/long-weir/certificate/2", json!({})).await.1["code"].as_str()),
        (14, Some(code))
    );
    let page = studio.get(&format!("/certificate/{}", code.to_lowercase().replace('-', ""))).await;
    for part in [
        "A. Verrill",
        "2&#x2f;5",
        "5 numbered, one artist’s proof besides, 6 in total",
        "Tarn Lab",
        "72",
        code,
        "California Civil Code",
        "article 15",
    ] {
        assert!(page.contains(part), "{part} is not in {page}");
    }
    assert!(!page.contains("Vell"), "a buyer's name is on the certificate");
    studio.post("/plan/long-weir/ledger", json!({"number": 2, "what": "destroyed", "when": "2026-11-25"})).await;
    assert!(
        studio.get(&format!("/certificate/{code}")).await.contains("This print was destroyed on 25 November 2026.")
    );
    assert_eq!(studio.ask("GET", "/certificate/0000-0000-0000", None, None).await.0, StatusCode::NOT_FOUND);
}

/// A certificate names each size it gives, every kind of proof with its number, the artist as its author, and whom to ask
/// about its code.
#[tokio::test]
async fn a_certificate_names_each_size_each_kind_of_proof_and_whom_to_ask() {
    let studio = Studio::new();
    let head = format!(
        "printers_proofs = 2\ngood_to_print = 1\n[contact]\nname = \"C. Orrin\"\nmail = \"office@verrill.example\"\n{FACTS}[shops]"
    );
    let workings = "let piece = enlarge(scan(film(\"6x6\"), 4000.ppi), 40.inch);\nlet paper = with_border(piece, 2.inch);\nlet wide";
    let plan = PLAN.replacen("[shops]", &head, 1).replacen("let wide", workings, 1);
    studio.save("/plan/long-weir", "long-weir", &plan).await;
    for what in ["printed", "signed", "numbered"] {
        studio.post("/plan/long-weir/ledger", json!({"number": 2, "what": what, "when": "2026-11-20"})).await;
    }
    let (status, issued) = studio.post("/plan/long-weir/certificate/2", json!({})).await;
    assert_eq!(status, StatusCode::OK, "{issued}");
    let code = issued["code"].as_str().unwrap();
    let page = studio.get(&format!("/certificate/{code}")).await.replace("&#x2f;", "/");
    let said = |label: &str| {
        let after = page.split(&format!("<dt>{label}</dt><dd>")).nth(1).unwrap_or_else(|| panic!("no {label}: {page}"));
        after.split("</dd>").next().unwrap().replace(['\u{a0}', '\u{202f}'], " ")
    };
    // A square of 40 in and a border of 2 in on each side (identity).
    let size = said("size");
    for part in ["image 40 × 40 in (", "sheet 44 × 44 in (", "outside 72 × 24 in ("] {
        assert!(size.contains(part), "`{part}` is not in {size}");
    }
    assert_eq!(
        said("the edition"),
        "5 numbered, one artist’s proof, 2 printer’s proofs, one good-to-print proof besides, 9 in total"
    );
    let asked = said("whom to ask about the code");
    assert!(asked.contains("C. Orrin") && asked.contains("office@verrill.example"), "{asked}");
    // What a PDF says of itself stands uncompressed in its XMP (ISO 16684-1).
    let pdf = studio.get(&format!("/certificate/{code}/paper.pdf")).await;
    let folder = studio.folder.path().file_name().unwrap().to_str().unwrap().to_owned();
    assert!(pdf.contains("A. Verrill") && !pdf.contains(&folder), "the author is the artist, not the folder");
    let (title, sheet) =
        (page.split("</title>").next().unwrap(), page.split("<section class=\"certificate\"").nth(1).unwrap());
    assert!(!title.contains(&folder) && !sheet.contains(&folder), "the folder's name is on the certificate");
}

#[tokio::test]
async fn a_page_of_very_many_plans_waits_for_none_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    for number in 0..40 {
        std::fs::write(
            folder.path().join(format!("weir-{number}.md")),
            "+++\ntitle = \"Weir\"\n+++\n\n```workings\ncost(\"Print\", 20.usd);\nstep(\"Print\", 2.days);\n```\n",
        )
        .unwrap();
    }
    let (notebook, app) = open(folder.path(), "2026-11-25");
    let studio = Studio { folder, notebook, app };
    assert!(studio.get("/").await.contains("Recalculating 40 artworks"));
    assert!(studio.get("/year").await.contains("Recalculating 40 plans"));
    assert_eq!(studio.notebook.summaries.catch_up().unwrap(), 40);
    assert!(!studio.get("/").await.contains("being calculated"));
    // 40 prints of 20 dollars each (identity).
    let page = studio.get("/year").await;
    assert!(page.contains("$800.00") && !page.contains("being calculated"), "{page}");
    assert_eq!(studio.notebook.summaries.catch_up().unwrap(), 0);
    // One that changes is calculated while the page waits.
    studio.save("/plan/weir-7", "weir-7", "# Weir 7\n").await;
    assert!(studio.get("/year").await.contains("$780.00"));
}

#[tokio::test]
async fn the_year_shows_steps_by_week_money_by_month_and_editions_nearly_gone() {
    let studio = Studio::new();
    for number in 1..=4 {
        studio.post("/plan/long-weir/ledger", json!({"number": number, "what": "sold", "when": "2026-11-20"})).await;
    }
    let page = studio.get("/year").await;
    // 2 November 2026 is the Monday of ISO week 45; five days from the 5th end on the 11th (calendar).
    for part in [
        "week 45",
        "Mon 2 Nov to Wed 4 Nov",
        "Thu 5 Nov to Wed 11 Nov",
        "Nov 2026",
        "$201.60",
        "1 of 5 left",
        "this week",
    ] {
        assert!(page.contains(part), "{part} is not in {page}");
    }
}
