//! What a shop is handed holds its own sections and its own money, and nothing else.

use engine::document::Document;

use crate::desk::{Desk, unescaped, words};
use crate::program::shipped;

/// Every shop of every shipped plan.
fn tickets() -> Vec<(String, String)> {
    let mut all = Vec::new();
    for entry in std::fs::read_dir(shipped()).unwrap().flatten() {
        let path = entry.path();
        if path.extension().is_some_and(|end| end == "md") {
            let plan = path.file_stem().unwrap().to_str().unwrap().to_owned();
            let document = Document::read(&std::fs::read_to_string(&path).unwrap());
            all.extend(document.front.shops.iter().map(|(role, _)| (plan.clone(), role.clone())));
        }
    }
    all.sort();
    assert_eq!(all.len(), 27, "the shipped plans name 27 shops: {all:?}");
    all
}

/// Lines of plain prose long enough to be told from any other, with whether the shop is to see them.
fn prose(document: &Document, role: &str) -> Vec<(bool, String)> {
    let mut all = Vec::new();
    let (mut at, mut fenced) = (0, false);
    for line in document.text.split_inclusive('\n') {
        let start = at;
        at += line.len();
        if line.starts_with("```") {
            fenced = !fenced;
        }
        let plain = line.trim().trim_start_matches("- ").trim_start_matches("[x] ").trim_start_matches("[ ] ");
        if fenced || start < document.body || plain.len() < 30 || plain.contains(['`', '*', '[', '|', '#', '\\']) {
            continue;
        }
        let section = document.sections.iter().rfind(|section| section.range.contains(&start));
        let own = section.is_some_and(|section| !section.private && section.shop.as_deref() == Some(role));
        all.push((own, plain.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.' || c == ' ').to_owned()));
    }
    all
}

/// Every amount of money a text shows, digits only: `$1,250.00` is `1250.00`.
fn money(text: &str) -> Vec<String> {
    let mut all = Vec::new();
    for sign in ["$", "€", "£", "¥"] {
        for (at, _) in text.match_indices(sign) {
            let digits: String = text[at + sign.len()..]
                .trim_start()
                .chars()
                .take_while(|c| c.is_ascii_digit() || *c == ',' || *c == '.')
                .filter(|c| *c != ',')
                .collect();
            if !digits.is_empty() {
                all.push(digits.trim_end_matches('.').to_owned());
            }
        }
    }
    all
}

#[tokio::test]
async fn a_ticket_holds_the_sections_of_its_shop_and_no_others() {
    let desk = Desk::shipped();
    let (mut held, mut kept_back) = (0, 0);
    for (plan, role) in tickets() {
        let document = Document::read(&desk.file(&format!("{plan}.md")));
        let ticket = words(desk.get(&format!("/plan/{plan}/ticket/{role}")).await.is(200).text());
        for (own, line) in prose(&document, &role) {
            assert_eq!(ticket.contains(&line), own, "{plan} for {role}: {line}");
            if own { held += 1 } else { kept_back += 1 }
        }
        for section in document.sections.iter().filter(|one| one.level > 1 && one.private) {
            assert!(!ticket.contains(&section.title), "{plan} for {role}: {}", section.title);
        }
    }
    assert!(held > 10 && kept_back > 150, "{held} lines were looked for on a ticket and {kept_back} off one");
}

#[tokio::test]
async fn a_ticket_shows_no_money_but_its_shops_own() {
    let desk = Desk::shipped();
    let (mut own_amounts, mut others) = (0, 0);
    for (plan, role) in tickets() {
        let values = desk.values(&plan).await;
        let costs = values["costs"].as_array().unwrap();
        // In hundredths, so that a total is exact.
        let cents = |amount: &str| -> i64 {
            let (whole, part) = amount.split_once('.').unwrap_or((amount, ""));
            format!("{whole}{part:0<2}").parse().unwrap()
        };
        let shown = |cents: i64| format!("{}.{:02}", cents.abs() / 100, cents.abs() % 100);
        let of = |own: bool| -> Vec<String> {
            let all = costs.iter().filter(|cost| (cost["shop"] == role.as_str()) == own);
            all.map(|cost| shown(cents(cost["amount"].as_str().unwrap()))).collect()
        };
        let total: i64 = costs
            .iter()
            .filter(|cost| cost["shop"] == role.as_str())
            .map(|cost| cents(cost["amount"].as_str().unwrap()))
            .sum();
        let total = shown(total);
        let reply = desk.get(&format!("/plan/{plan}/ticket/{role}")).await.is(200);
        let seen = money(&words(reply.text()));
        for amount in &seen {
            assert!(of(true).contains(amount) || *amount == total, "{plan} for {role} shows {amount}");
        }
        for amount in of(true) {
            assert!(seen.contains(&amount), "{plan} for {role} lacks its own {amount}: {seen:?}");
            own_amounts += 1;
        }
        others += of(false).len();
        for cost in costs.iter().filter(|cost| cost["shop"] != role.as_str()) {
            let what = cost["what"].as_str().unwrap();
            // A step or a heading may be called the same as a cost; the words beside its amount may not be there.
            let page = words(reply.text()).replace(',', "");
            for (at, _) in page.match_indices(what) {
                let amount = shown(cents(cost["amount"].as_str().unwrap()));
                let after: String = page[at + what.len()..].chars().take(amount.len() + 3).collect();
                assert!(!after.contains(&amount), "{plan} for {role}: {what} {amount}");
            }
        }
    }
    assert!(own_amounts > 20 && others > 80, "{own_amounts} own amounts and {others} of others were looked for");
}

#[tokio::test]
async fn a_ticket_names_its_shop_the_revision_and_the_day() {
    let desk = Desk::shipped();
    let mark = desk.mark("causeway-first-light").await;
    let text = desk.file("causeway-first-light.md").replace("A tidal road", "The tidal road");
    desk.put("causeway-first-light", &mark, &text).await.is(200);
    let page = words(desk.get("/plan/causeway-first-light/ticket/framer").await.is(200).text());
    for part in [
        "for Corner Joint",
        "revision 2, ",
        "25 November 2026",
        "Job ticket",
        "Causeway, First Light",
        "92 1/4 × 32 1/4 in",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    for other in ["Tidewater", "Heron", "Plane & Press"] {
        assert!(!page.contains(other), "{other} is none of the framer's business: {page}");
    }
}

#[tokio::test]
async fn a_ticket_with_weight_and_load_carries_the_cautions() {
    let desk = Desk::shipped();
    let page = words(desk.get("/plan/causeway-first-light/ticket/framer").await.is(200).text());
    assert!(page.contains("Handling and cautions") && page.contains("hardware is chosen by its rating"), "{page}");
}

#[tokio::test]
async fn the_sheet_of_paper_is_letter_or_a4_and_says_which_page_it_is() {
    let desk = Desk::shipped();
    for (asked, size, other) in [
        ("", "letter", "a4"),
        ("?paper=letter", "letter", "a4"),
        ("?paper=a4", "a4", "letter"),
        ("?paper=A4", "a4", "letter"),
    ] {
        let page = desk.get(&format!("/plan/causeway-first-light/ticket/lab{asked}")).await.is(200);
        let text = unescaped(page.text());
        assert!(text.contains(&format!("href=\"?paper={other}\"")), "{asked}");
        let css = format!("/plan/causeway-first-light/ticket/lab/paper.css?paper={size}");
        assert!(text.contains(&format!("href=\"{css}\"")), "{asked}");
        let css = desk.get(&css).await.is(200);
        for part in [
            format!("size: {size};"),
            "counter(page) \" of \" counter(pages)".to_owned(),
            "revision 1".to_owned(),
            "25 November 2026".to_owned(),
            "Causeway, First Light, for Tidewater Lab".to_owned(),
        ] {
            assert!(css.text().contains(&part), "{part}: {}", css.text());
        }
    }
}

#[tokio::test]
async fn no_title_can_end_the_style_of_a_ticket() {
    let desk = Desk::with(
        "+++\ntitle = '\"; } body { display: none } @import \"x'\n[shops]\nlab = \"shops/x\"\n+++\n# T\n## P {for=lab}\nx\n",
    );
    let css = desk.get("/plan/p/ticket/lab/paper.css").await.is(200);
    assert!(!css.text().contains("display: none") && !css.text().contains("@import"), "{}", css.text());
    assert_eq!(css.text().matches('{').count(), css.text().matches('}').count());
}

#[tokio::test]
async fn a_shop_the_plan_does_not_name_gets_nothing() {
    let desk = Desk::shipped();
    let page = words(desk.get("/plan/causeway-first-light/ticket/gardener").await.is(404).text());
    assert!(page.contains("This plan has no shop called gardener, and no trade is called so."), "{page}");
    assert!(page.contains("Ask for one of scanner, lab, mounter, framer"), "{page}");
    desk.get("/plan/causeway-first-light/ticket/gardener/paper.css").await.is(404);
}

#[tokio::test]
async fn money_of_another_shop_is_kept_back_in_whatever_form_it_is_asked_for() {
    let desk = Desk::with(concat!(
        "+++\ntitle = \"T\"\n[shops]\nlab = \"x\"\nframer = \"y\"\n+++\n# T\n\n## Work {private}\n\n```workings\n",
        "let own = cost(\"Print\", 111.usd, \"lab\");\nlet secret = cost(\"Frame\", 222.usd, \"framer\");\nlet words = \"it is \" + secret;\nlet list = [secret, own];\n```\n\n",
        "## Print {for=lab}\n\nOwn `? own`. A `? secret` B `? words` C `? list` D `? secret + own` E `? secret * 2` F `? total()` G `? secret / 1.usd * 1.usd`\n\n| a | b |\n|---|---|\n| `? secret` | `? own` |\n\n`? costs()`\n",
    ));
    assert_eq!(desk.values("p").await["problems"], serde_json::json!([]));
    let page = words(desk.get("/plan/p/ticket/lab").await.is(200).text());
    assert!(page.contains("$111.00"), "{page}");
    for amount in money(&page) {
        assert_eq!(amount, "111.00", "{page}");
    }
    for secret in ["222", "333", "444"] {
        assert!(!page.contains(secret), "{page}");
    }
}

/// A step that should be done and is not is late, ticked off or not, and the ticket does not ask for a day gone by.
#[tokio::test]
async fn what_should_be_done_by_now_is_late_and_says_by_how_much() {
    let plan = |head: &str, more: &str| {
        format!(
            "+++\ntitle = \"Salt\"\nstart = 2026-11-02\n{head}[shops]\nframer = \"Corner\"\n+++\n\n```workings\nstep(\"Scan\", 2.days);\nstep(\"Frame\", 5.days, \"framer\");\nstep(\"Hang\", 40.days);\n{more}```\n\n`? steps()`\n\n## Frame {{for=framer}}\n\nAsh.\n"
        )
    };
    // From Monday 2 November five working days end on Friday 6 November, 19 days before Wednesday 25 (calendar).
    let desk = Desk::with(&plan("", ""));
    let page = words(desk.get("/plan/p").await.is(200).text());
    assert!(page.contains("19 days late"), "{page}");
    assert_eq!(page.matches("days late").count(), 2, "the last step is not due yet: {page}");
    let ticket = words(desk.get("/plan/p/ticket/framer").await.is(200).text());
    assert!(ticket.contains("6 November 2026, 19 days late on 25 November 2026"), "{ticket}");
    assert!(!ticket.contains("to be ready by"), "{ticket}");
    // Once another step is ticked, the late one waits for today, and its lateness is counted from the plan.
    let desk = Desk::with(&plan("", "finished(\"Scan\", \"2026-11-03\");\n"));
    let page = words(desk.get("/plan/p").await.is(200).text());
    assert!(page.contains("19 days late"), "{page}");
    // What is done is not late, nor is any step of a piece that hangs.
    let desk = Desk::with(&plan("", "finished(\"Frame\", \"2026-11-09\");\nfinished(\"Scan\", \"2026-11-03\");\n"));
    let ticket = words(desk.get("/plan/p/ticket/framer").await.is(200).text());
    assert!(ticket.contains("9 November 2026, done") && !ticket.contains("late"), "{ticket}");
    let desk = Desk::with(&plan("hung = 2026-11-10\n", ""));
    let page = words(desk.get("/plan/p").await.is(200).text());
    assert!(!page.contains("days late"), "{page}");
    let ticket = words(desk.get("/plan/p/ticket/framer").await.is(200).text());
    assert!(ticket.contains("6 November 2026; the piece hangs since 10 November 2026"), "{ticket}");
    assert!(!ticket.contains("to be ready by"), "{ticket}");
}

/// How many each shop owes is what the plan makes: three frames in a row, four panels of a mural.
#[tokio::test]
async fn a_ticket_asks_for_as_many_as_the_plan_makes() {
    let desk = Desk::shipped();
    let ask =
        async |plan: &str, role: &str| words(desk.get(&format!("/plan/{plan}/ticket/{role}")).await.is(200).text());
    let framer = ask("mill-race-three-windows", "framer").await;
    for part in [
        "quantity 3 pieces",
        "weight of all 3 together (calculated)",
        "3 framed pieces, ready to hang",
        "moulding for one of them",
    ] {
        assert!(framer.contains(part), "`{part}` is not in {framer}");
    }
    assert!(!framer.contains("One framed piece"), "{framer}");
    let installer = ask("mill-race-three-windows", "installer").await;
    for part in ["quantity 3 pieces", "outside of the whole row", "outside of each"] {
        assert!(installer.contains(part), "`{part}` is not in {installer}");
    }
    let lab = ask("mill-race-three-windows", "lab").await;
    assert!(
        lab.contains("quantity 3 prints") && lab.contains("3 prints, face clean") && !lab.contains("One print,"),
        "{lab}"
    );
    let mural = desk.values("long-wall-flood-tide").await["names"]["mural.count"]["value"].as_u64().unwrap();
    let lab = ask("long-wall-flood-tide", "lab").await;
    assert!(mural > 1 && lab.contains(&format!("quantity {mural} panels")), "{lab}");
    assert!(lab.contains(&format!("{mural} panels, face clean")) && !lab.contains("One print,"), "{lab}");
    let framer = ask("boathouse-window", "framer").await;
    assert!(framer.contains("quantity 1 piece") && framer.contains("One framed piece"), "{framer}");
}

/// A drawing asked for by `on_the_wall()` hangs the piece as the plan's own workings do.
#[tokio::test]
async fn the_piece_on_the_wall_hangs_as_high_as_the_workings_say_on_the_hooks_they_name() {
    let ask = "\n\n`? on_the_wall()`\n";
    let plan = |workings: &str| format!("+++\ntitle = \"Salt\"\n+++\n\n```workings\n{workings}\n```{ask}");
    let seen = async |workings: &str| {
        let desk = Desk::with(&plan(workings));
        words(desk.get("/plan/p").await.is(200).text()).replace(['\u{a0}', '\u{202f}'], " ")
    };
    // 58 + 24 / 2 - 4 = 66 (identity).
    let own = "let size = [72.inch, 24.inch];\nhangs(size, 30.lb);\nlet hooks = hang_two_hooks(30.lb, 24.inch, 24.inch, 4);\nlet high = hook_height(size[1], 58.inch, 4.inch);";
    let page = seen(own).await;
    for part in ["its middle 58 in", "Hooks 66 in above the floor, 48 in apart"] {
        assert!(page.contains(part), "`{part}` is not in {page}");
    }
    assert!(!page.contains("59 in"), "{page}");
    // On a wire there is one hook; a plan that draws the wall itself is drawn the same by both.
    let page = seen(&own.replace("hang_two_hooks(30.lb, 24.inch, 24.inch, 4)", "wire(30.lb, 48.inch, 6.inch)")).await;
    assert!(page.contains("One hook 66 in above the floor"), "{page}");
    let page =
        seen("let size = [72.inch, 24.inch];\nhangs(size);\nlet on_wall = elevation(size, 57.inch, 63.inch, 40.inch);")
            .await;
    assert!(page.contains("its middle 57 in") && page.contains("Hooks 63 in above the floor, 40 in apart"), "{page}");
    // A plan that says nothing of it hangs at the usual height, and no hooks are made up.
    let page = seen("hangs([72.inch, 24.inch]);").await;
    assert!(page.contains("its middle 59 in") && !page.contains("ook"), "{page}");
}

/// A framer's glance names the wood and the stick; the sides and the ledge are two sticks.
#[tokio::test]
async fn the_glance_of_a_float_frame_names_its_wood_and_its_stick() {
    let text = "+++\ntitle = \"Salt\"\n[shops]\nframer = \"Corner\"\n+++\n\n## Frame {for=framer}\n\nAsh.\n\n```workings\nlet ash = moulding(\"float, white ash\", 0.75.inch, 1.75.inch, \"white ash\");\nlet ledge = moulding(\"ledge, poplar\", 1.5.inch, 0.5.inch, \"yellow-poplar\");\nlet frame = float_frame([72.inch, 24.inch], 0.25.inch, ash, 0.13.inch, ledge, 0.25.inch);\nhangs(frame.outside);\n```\n\n`? frame`\n";
    let desk = Desk::with(text);
    let ticket = words(desk.get("/plan/p/ticket/framer").await.is(200).text()).replace(['\u{a0}', '\u{202f}'], " ");
    for part in [
        "moulding float, white ash",
        "stick, face × depth 3/4 × 1 3/4 in",
        "ledge ledge, poplar",
        "ledge, wide × thick 1 1/2 × 1/2 in",
    ] {
        assert!(ticket.contains(part), "`{part}` is not in {ticket}");
    }
}
