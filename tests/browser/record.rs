//! What the notebook remembers, walked as a person does: revisions, rate sheets, the next piece, what really happened, the
//! ledger, certificates, the year, and a plan out and in.

use fantoccini::key::Key;
use serde_json::json;
use server::names::Name;

use crate::page::Page;
use crate::studio::open;

const PLAN: &str = "/plan/causeway-first-light";
const FILE: &str = "causeway-first-light.md";
const LAB: &str = "/rates/shops%2Ftidewater-lab";
const LAB_FILE: &str = "shops/tidewater-lab.md";

/// Puts a day into a field: how it is typed differs from country to country.
async fn on(page: &Page, css: &str, day: &str) {
    let script = "const i = document.querySelector(arguments[0]); i.value = arguments[1]; i.dispatchEvent(new Event('change', { bubbles: true }))";
    page.js(script, &[json!(css), json!(day)]).await;
}

/// The whole cost a plan's page tells.
async fn total(page: &Page, plan: &str) -> String {
    page.go(&format!("/plan/{plan}")).await;
    page.text("#plan .costs tfoot").await
}

// --------------------------------------------------------------------------------------------------------- revisions

#[test]
fn two_revisions_stand_side_by_side_and_an_earlier_one_is_brought_back() {
    open(|studio, page| async move {
        let before = studio.file(FILE);
        page.go(PLAN).await;
        page.enter("p input[aria-label='Print width, in inches']", "84").await;
        page.until_says("#saved", "saved, revision 2").await;
        page.click("nav a[href$='/history']").await;
        page.until_says(".revisions", "current").await;
        page.until_says(".revisions tbody tr:first-child .what", "1 line added, 1 line removed").await;
        page.click("form.two button[type=submit]").await;
        page.until("both revisions", "return location.pathname.endsWith('/compare')").await;
        page.until_says(".two-texts del", "90").await;
        page.until_says(".two-texts ins", "84").await;
        // 90 and 84 in, and what follows from them, with the difference.
        let moved = page.text(".moved").await;
        assert!(moved.contains("Total") && moved.contains("90 in") && moved.contains("84 in"), "{moved}");
        page.click("[data-back='1']").await;
        page.until("the plan again", "return location.pathname === '/plan/causeway-first-light'").await;
        page.until_says("#saved", "saved, revision 3").await;
        assert_eq!((studio.file(FILE), studio.history("causeway-first-light").len()), (before, 3));
        page.is_quiet().await;
    });
}

#[test]
fn what_is_brought_back_over_a_newer_text_is_refused_and_said() {
    open(|studio, page| async move {
        let before = studio.file("first-plan.md");
        page.go("/plan/first-plan").await;
        page.enter("p input[aria-label='Print width, in inches']", "48").await;
        page.until_says("#saved", "saved, revision 2").await;
        page.go("/plan/first-plan/history").await;
        studio.outside("first-plan.md", &before.replace("Winter", "Spring"));
        page.click("[data-back='1']").await;
        page.until_says("#alert", "changed elsewhere meanwhile").await;
        assert!(studio.file("first-plan.md").contains("Spring"));
        page.complains_only_of(&["412"]).await;
    });
}

// ------------------------------------------------------------------------------------------------------- rate sheets

#[test]
fn a_new_quote_is_filled_in_what_it_moves_is_shown_first_and_a_plan_holds_to_the_old_one() {
    open(|studio, page| async move {
        let (sheet, plan) = (studio.file(LAB_FILE), studio.file(FILE));
        let held = total(&page, "causeway-first-light").await;
        let other = total(&page, "boathouse-window").await;
        page.go(LAB).await;
        let foot = "#asks [data-line='chromogenic_foot']";
        assert_eq!(page.value(foot).await, "16.80");
        // What is not an amount is refused beside the field.
        page.enter(foot, "dear").await;
        page.until_says("#asks .problem.beside", "dear").await;
        page.enter(foot, "18.20").await;
        page.until_says("#moves", "Causeway, First Light").await;
        page.until_says("#moves-body", "Total").await;
        page.until_says("#moves-body", "Installed on 17 June 2026; keeps that day’s prices").await;
        page.until_says("#said", "Not saved yet. This moves").await;
        page.until_says("#moves", "It still bears the day of the old quote").await;
        page.enter("#asks [data-line='pigment_foot']", "21").await;
        page.until_says("#moves", "Boathouse Window").await;
        on(&page, "#asks [data-line='head.quoted']", "2026-11-25").await;
        page.until_gone("#moves .slack").await;
        assert_eq!(studio.file(LAB_FILE), sheet, "nothing is saved before it is accepted");
        page.click("[data-hold='causeway-first-light']").await;
        page.click("#accept").await;
        page.until_says("#saved", "saved, revision 2").await;
        let quoted = sheet.replace("16.80.usd", "18.20.usd").replace("19.50.usd", "21.usd");
        let quoted = quoted.replace("quoted = \"2026-10-12\"", "quoted = \"2026-11-25\"");
        assert_eq!(studio.file(LAB_FILE), quoted);
        // The plan that holds to the old quote stands as it was, the other has moved.
        assert!(studio.file(FILE).contains("[quotes]\nlab = 2026-10-12\n") && !plan.contains("[quotes]"));
        assert_eq!(total(&page, "causeway-first-light").await, held);
        page.until_says("#quotes", "keeps the quote of 12 October 2026").await;
        assert_ne!(total(&page, "boathouse-window").await, other);
        // Let go, it moves too, and its text is as it was.
        page.go(PLAN).await;
        page.click("#quotes [data-hold='lab'][data-day='']").await;
        page.until_says("#saved", "saved, revision 3").await;
        assert_eq!(studio.file(FILE), plan);
        assert_ne!(total(&page, "causeway-first-light").await, held);
        page.complains_only_of(&["422"]).await;
    });
}

#[test]
fn a_new_quote_can_be_left_as_it_was() {
    open(|studio, page| async move {
        let sheet = studio.file(LAB_FILE);
        page.go(LAB).await;
        page.enter("#asks [data-line='proof_days']", "4").await;
        page.until_there("#moves").await;
        page.click("#put-back").await;
        page.until_gone("#moves").await;
        assert_eq!((page.value("#asks [data-line='proof_days']").await.as_str(), studio.file(LAB_FILE)), ("3", sheet));
        page.is_quiet().await;
    });
}

#[test]
fn a_quote_that_ran_out_is_flagged_on_the_plan_and_on_the_wall() {
    open(|studio, page| async move {
        page.go("/").await;
        studio.outside(LAB_FILE, &studio.file(LAB_FILE).replace("until = \"2027-01-31\"", "until = \"2026-10-31\""));
        page.until_says("#hung-causeway-first-light", "The quote of Tidewater Lab ran out on 31 October 2026").await;
        page.go(PLAN).await;
        page.until_says("#plan", "The quote of Tidewater Lab ran out on 31 October 2026").await;
        page.is_quiet().await;
    });
}

// --------------------------------------------------------------------------------------------------------- templates

#[test]
fn the_next_piece_leaves_behind_what_was_not_chosen_and_each_knows_the_other() {
    open(|studio, page| async move {
        page.go("/plan/boathouse-window").await;
        page.click("[data-copy]").await;
        page.until_there("#copy-title").await;
        page.keys("Boathouse Door").await;
        page.click("input[name=along][value='Light']").await;
        page.click("#copy-form button[type=submit]").await;
        page.until("the next piece", "return location.pathname === '/plan/boathouse-door'").await;
        let text = studio.file("boathouse-door.md");
        assert!(!text.contains("## Light") && !text.contains("light_dose") && text.contains("## Hanging"), "{text}");
        page.until_says("main", "Copied from Boathouse Window").await;
        page.click("section a[href='/plan/boathouse-window']").await;
        page.until_says("main", "Copied to Boathouse Door").await;
        page.is_quiet().await;
    });
}

#[test]
fn a_plan_is_begun_from_each_of_the_beginnings() {
    open(|studio, page| async move {
        page.go("/begin").await;
        let all =
            page.js("return [...document.querySelectorAll('[data-set]')].map(a => a.getAttribute('href'))", &[]).await;
        let all: Vec<String> = all.as_array().unwrap().iter().map(|one| one.as_str().unwrap().to_owned()).collect();
        assert!(all.len() >= 3, "{all:?}");
        for (number, beginning) in all.iter().enumerate() {
            page.go(&format!("/begin{beginning}")).await;
            page.until_says("#piece", "to come").await;
            page.type_into("#begin-title", &format!("Weir {number}")).await;
            page.click("#begin button[type=submit]").await;
            let path = format!("/plan/weir-{number}");
            page.until_with("the new plan", "return location.pathname === arguments[0]", &[json!(path)]).await;
            page.until_says("#title", &format!("Weir {number}")).await;
            assert!(!page.is_there("#plan .problem").await, "{beginning}");
            assert!(studio.file(&format!("weir-{number}.md")).contains(&format!("title = \"Weir {number}\"")));
        }
        page.is_quiet().await;
    });
}

// ----------------------------------------------------------------------------------------------------- what happened

#[test]
fn a_step_done_a_bill_and_a_snag_re_date_and_re_total_the_plan() {
    open(|studio, page| async move {
        let file = "boathouse-window.md";
        // Begun three weeks before the day of the tests.
        studio.outside(file, &studio.file(file).replace("start = 2027-01-04", "start = 2026-11-02"));
        page.go("/plan/boathouse-window").await;
        let done_by = "return [...document.querySelectorAll('#block div')].find(d => d.textContent.startsWith('done by')).textContent";
        let planned = page.js(done_by, &[]).await;
        page.click("[data-step='Flatbed scan']").await;
        page.until_there("#happened").await;
        assert_eq!(page.value("#happened-day").await, "2026-11-25", "the notebook's day");
        on(&page, "#happened-day", "2026-11-20").await;
        page.click("#happened-form button[type=submit]").await;
        page.until_gone("#happened").await;
        let text = studio.until_file(file, "the step", |text| text.contains("finished(")).await;
        assert!(text.contains("finished(\"Flatbed scan\", \"2026-11-20\");"), "{text}");
        page.until_with(
            "the rest to be dated again",
            &done_by.replace("return ", "return arguments[0] !== "),
            &[planned],
        )
        .await;
        assert!(
            page.js("return document.querySelector(\"[data-step='Flatbed scan']\").checked", &[]).await == json!(true)
        );

        // A quote, then the invoice; the total follows.
        let before = page.text("#plan .costs tfoot").await;
        page.click("[data-cost='Walnut frame']").await;
        page.until_there("#happened").await;
        page.type_into("#happened-amount", "lots").await;
        page.click("#happened-form button[type=submit]").await;
        page.until_says("#happened-alert", "is not an amount of money").await;
        page.enter("#happened-amount", "1,000").await;
        page.click("#happened-form button[type=submit]").await;
        page.until_gone("#happened").await;
        studio
            .until_file(file, "the quote", |text| text.contains("quoted(\"Walnut frame\", 1000.usd, \"2026-11-25\");"))
            .await;
        let quoted = page.text("#plan .costs tfoot").await;
        assert_ne!(quoted, before);
        page.click("[data-cost='Walnut frame']").await;
        page.until_there("#happened").await;
        page.click("#happened-form input[value=invoiced]").await;
        page.type_into("#happened-amount", "1040.50").await;
        page.click("#happened-form button[type=submit]").await;
        page.until_gone("#happened").await;
        studio
            .until_file(file, "the invoice", |text| {
                text.contains("invoiced(\"Walnut frame\", 1040.5.usd, \"2026-11-25\");")
            })
            .await;
        assert_ne!(page.text("#plan .costs tfoot").await, quoted);

        // A snag sends the plan back to an earlier step.
        page.click("[data-snag]").await;
        page.until_there("#happened").await;
        page.type_into("#happened-words", "Dust in the sky").await;
        page.type_into("#happened-amount", "40").await;
        page.choose("#happened-step", "Flatbed scan").await;
        page.click("#happened-form button[type=submit]").await;
        page.until_says("#plan", "Flatbed scan, again").await;
        page.until_says("#plan", "Dust in the sky").await;
        page.complains_only_of(&["422"]).await;
    });
}

#[test]
fn a_step_ticked_by_mistake_is_put_back() {
    open(|studio, page| async move {
        let file = "boathouse-window.md";
        studio.outside(file, &studio.file(file).replace("start = 2027-01-04", "start = 2026-11-02"));
        page.go("/plan/boathouse-window").await;
        let step = "[data-step='Flatbed scan']";
        let ticked = "return document.querySelector(\"[data-step='Flatbed scan']\").checked";
        // Left without an answer, the box is as it was.
        page.click(step).await;
        page.until_there("#happened").await;
        page.press(Key::Escape).await;
        page.until_gone("#happened").await;
        assert_eq!(page.js(ticked, &[]).await, json!(false));
        page.click(step).await;
        page.until_there("#happened").await;
        page.click("#happened-form button[type=submit]").await;
        page.until_gone("#happened").await;
        studio.until_file(file, "the step", |text| text.contains("finished(")).await;
        page.until("the tick", ticked).await;
        page.click(step).await;
        studio.until_file(file, "no step done", |text| !text.contains("finished(")).await;
        page.is_quiet().await;
    });
}

// ------------------------------------------------------------------------------------------------------------ ledger

/// Writes one line into the ledger through its sentence.
async fn happened(page: &Page, print: &str, what: &str, words: &str, place: &str) {
    page.choose("#entry [name=what]", what).await;
    page.choose("#entry [name=number]", print).await;
    page.enter("#entry [name=words]", words).await;
    page.enter("#entry [name=place]", place).await;
    page.click("#entry button[type=submit]").await;
}

#[test]
fn the_story_of_a_print_is_told_line_by_line_and_a_mistake_is_struck_by_a_further_line() {
    open(|studio, page| async move {
        page.go(PLAN).await;
        page.click("nav a[href$='/ledger']").await;
        page.until_there("#entry").await;
        assert_eq!(page.value("#entry [name=when]").await, "2026-11-25", "the notebook's day");
        happened(&page, "1, the next", "printed", "Tidewater Lab", "the studio").await;
        page.until_says("#lines tbody tr:first-child", "printed, Tidewater Lab").await;
        happened(&page, "1, the next", "consigned", "Lantern Street", "Lantern Street").await;
        page.until_says("#prints", "consigned to Lantern Street").await;
        happened(&page, "1, the next", "sold", "A. Reader", "Reader").await;
        page.until_says("#said", "Print 1 is in the ledger: sold.").await;
        page.until_says(".block", "9 of 10").await;
        // Sold twice is refused in words, and what was typed stays.
        happened(&page, "1, the next", "sold", "B. Reader", "").await;
        page.until_says("#alert", "1").await;
        assert_eq!(page.value("#entry [name=words]").await, "B. Reader");
        happened(&page, "1, the next", "voided", "sold by mistake", "").await;
        page.until_says("#lines tbody tr:first-child", "voided, sold by mistake").await;
        page.until_says(".block", "10 of 10").await;
        let name = Name::new("causeway-first-light").unwrap();
        let what: Vec<_> = studio.notebook.store().ledger(&name).unwrap().into_iter().map(|line| line.what).collect();
        assert_eq!(what, ["printed", "consigned", "sold", "voided"]);
        page.complains_only_of(&["409"]).await;
    });
}

// ------------------------------------------------------------------------------------------------------- certificate

const FACTS: &str = "[certificate]\nartist = \"A. Verrill\"\nyear = 2026\nunnumbered = \"none\"\nother_editions = \"none\"\nprocess = \"chromogenic print on polyester base, luster laminate\"\nreproduction = \"no\"\nsignature = \"by the artist, in pencil, on the label\"\nlifetime = \"yes\"\nmaster = \"the negative is kept\"\nseller = \"the artist\"\n\n";

#[test]
fn a_certificate_says_what_is_missing_is_handed_out_and_found_by_its_code() {
    open(|studio, page| async move {
        page.go(&format!("{PLAN}/certificate/1")).await;
        page.until_says("#missing-name", "What is missing").await;
        assert!(!page.is_there("#issue").await, "nothing is handed out while facts are missing");
        studio.outside(FILE, &studio.file(FILE).replacen("[shops]", &format!("{FACTS}[shops]"), 1));
        page.go(&format!("{PLAN}/ledger")).await;
        for what in ["printed", "signed", "numbered"] {
            happened(&page, "1, the next", what, "me", "the studio").await;
            page.until_says("#lines tbody tr:first-child", what).await;
        }
        page.click("a[href$='/certificate/1']").await;
        page.until_there("#issue").await;
        page.click("#issue").await;
        page.until("the certificate", "return location.pathname.startsWith('/certificate/')").await;
        let code = page.text(".certificate dd.code").await;
        page.until_says(".certificate", "A. Verrill").await;
        page.until_says(".certificate", "not legal advice").await;
        // Read out over the telephone and typed in small letters without its dashes.
        page.go("/year").await;
        page.type_into("#code", &code.to_lowercase().replace('-', " ")).await;
        page.press(Key::Enter).await;
        page.until_with(
            "the same certificate",
            "return location.pathname === arguments[0]",
            &[json!(format!("/certificate/{code}"))],
        )
        .await;
        page.go("/year").await;
        page.type_into("#code", "no such code").await;
        page.press(Key::Enter).await;
        page.until_says("main", "No certificate of this notebook has that code").await;
        page.complains_only_of(&["404"]).await;
    });
}

// -------------------------------------------------------------------------------------------------------------- year

#[test]
fn the_year_leads_from_a_week_to_its_plan_and_says_what_is_nearly_gone() {
    open(|studio, page| async move {
        let name = Name::new("causeway-first-light").unwrap();
        for number in 1..=8 {
            let line = server::store::NewLine {
                which: server::store::Which::Print(engine::trade::edition::Print::Number(number)),
                what: engine::trade::edition::Event::Sold,
                when: studio.notebook.today(),
                words: "A. Reader".into(),
                amount: String::new(),
                place: String::new(),
            };
            studio.notebook.add_line(&name, line).unwrap();
        }
        page.go("/").await;
        page.click("nav a[href='/year']").await;
        page.until_says(".weeks .now", "this week").await;
        // 30 November 2026 is the Monday of ISO week 49 (calendar).
        page.until_says(".weeks", "week 49").await;
        page.until_says("main", "2 of 10 left").await;
        page.until_says(".months", "Total, USD").await;
        page.click(".weeks a[href='/plan/causeway-first-light']").await;
        page.until_says("#title", "Causeway, First Light").await;
        page.is_quiet().await;
    });
}

// -------------------------------------------------------------------------------------------------------- out and in

#[test]
fn a_plan_goes_out_as_an_archive_and_comes_in_again_and_its_tables_are_tables() {
    open(|studio, page| async move {
        page.go(PLAN).await;
        let fetched = "const done = arguments[arguments.length - 1]; const all = [...document.querySelectorAll('.acts a')].map(a => a.href).filter(h => /archive|csv|ics/.test(h)); window.fetched = null; Promise.all(all.map(async h => { const r = await fetch(h); const b = await r.arrayBuffer(); return [h.split('/').pop(), r.status, r.headers.get('content-type'), b.byteLength]; })).then(f => window.fetched = f)";
        page.js(fetched, &[]).await;
        page.until("every file", "return !!window.fetched").await;
        let all = page.js("return window.fetched", &[]).await;
        let kinds: Vec<_> =
            all.as_array().unwrap().iter().map(|one| (one[0].as_str().unwrap(), one[2].as_str().unwrap())).collect();
        assert_eq!(kinds[0], ("archive", "application/zip"));
        assert_eq!(kinds[1], ("calendar.ics", "text/calendar; charset=utf-8"));
        let csv = "text/csv; charset=utf-8; header=present";
        assert_eq!(kinds[2..], [("costs.csv", csv), ("schedule.csv", csv), ("cuts.csv", csv), ("ledger.csv", csv)]);
        assert!(all.as_array().unwrap().iter().all(|one| one[1] == 200 && one[3].as_u64().unwrap() > 10), "{all}");

        let name = Name::new("causeway-first-light").unwrap();
        let archive = tempfile::Builder::new().suffix(".zip").tempfile().unwrap();
        studio.notebook.export(&name, server::notebook::Ledger::None, archive.reopen().unwrap()).unwrap();
        page.go("/begin").await;
        page.click("#bring").await;
        page.until_says("#bring-alert", "Choose an archive first.").await;
        page.type_into("#archive", archive.path().to_str().unwrap()).await;
        page.click("#bring").await;
        // Nothing is written over: it comes in beside the one that is there.
        page.until_says("main", "Causeway, First Light").await;
        let text = studio.until_file("causeway-first-light-2.md", "the plan", |text| !text.is_empty()).await;
        assert_eq!(text, studio.file(FILE));
        page.go("/plan/causeway-first-light-2").await;
        assert!(!page.is_there("#plan .problem").await);
        // What is not an archive is refused in words.
        let none = tempfile::Builder::new().suffix(".zip").tempfile().unwrap();
        std::fs::write(none.path(), "no archive").unwrap();
        page.go("/begin").await;
        page.type_into("#archive", none.path().to_str().unwrap()).await;
        page.click("#bring").await;
        page.until("words", "return document.getElementById('bring-alert').textContent.length > 20").await;
        page.complains_only_of(&["422"]).await;
    });
}

// -------------------------------------------------------------------------------------------------------------- wall

#[test]
fn the_wall_is_searched_by_what_stands_under_each_work() {
    open(|_, page| async move {
        page.go("/").await;
        let shown =
            "return [...document.querySelectorAll('#wall > li:not(.person)')].filter(e => !e.hidden).map(e => e.id)";
        assert_eq!(page.js(shown, &[]).await.as_array().unwrap().len(), 8);
        page.type_into("#find", "boathouse").await;
        page.until_says("#how-found", "One artwork is found.").await;
        assert_eq!(page.js(shown, &[]).await, json!(["hung-boathouse-window"]));
        page.click("#as-table").await;
        let rows =
            "return [...document.querySelectorAll('#list tbody tr')].filter(e => e.getClientRects().length).length";
        assert_eq!(page.js(rows, &[]).await, json!(1));
        page.enter("#find", "no such thing").await;
        page.until_says("#how-found", "No artworks are found.").await;
        page.is_quiet().await;
    });
}
