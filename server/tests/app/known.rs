//! A notebook opened again knows what it knew, and what changed meanwhile; and its plans are found by any word in them.

use engine::measure::Day;
use engine::trade::edition::{Event, Print};
use server::clock::Clock;
use server::notebook::{Listed, Notebook};
use server::store::{NewLine, Store, Which};

use crate::desk::{Desk, TODAY, words};

const SHEET: &str = "+++\ntitle = \"Weir Lab\"\nkind = \"rate sheet\"\nquoted = \"2026-11-01\"\n+++\n\n# Weir Lab\n\n```workings\nlet large = 90.usd;\n```\n";

fn plan(number: usize) -> String {
    let draws = if number.is_multiple_of(2) {
        "import \"shops/weir-lab\" as lab;\ncost(\"Print\", lab::large, \"lab\");"
    } else {
        "cost(\"Print\", 20.usd);"
    };
    let shops = if number.is_multiple_of(2) { "[shops]\nlab = \"shops/weir-lab\"\n" } else { "" };
    format!(
        "+++\ntitle = \"Weir {number}\"\n{shops}+++\n\n# Weir {number}\n\nHeron number {number} stands still, `? wide` wide.\n\n```workings\nlet wide = {}.inch;\n{draws}\n```\n",
        10 + number
    )
}

/// Thirty plans, every other one drawing on a rate sheet.
fn thirty() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("shops")).unwrap();
    std::fs::write(folder.path().join("shops/weir-lab.md"), SHEET).unwrap();
    for number in 0..30 {
        std::fs::write(folder.path().join(format!("weir-{number}.md")), plan(number)).unwrap();
    }
    // Older than the moment in which a file may still be being written.
    std::thread::sleep(std::time::Duration::from_millis(80));
    folder
}

/// The plans that are not known as they stand.
fn stale(notebook: &Notebook) -> Vec<String> {
    let all = notebook.summaries.all().unwrap().into_iter();
    all.filter(|one| one.stale).map(|one| one.name.as_str().to_owned()).collect()
}

fn opened(folder: &std::path::Path, day: &str) -> Notebook {
    let clock = Clock::Fixed(Day::parse(day).unwrap());
    Notebook::open(folder.to_path_buf(), Store::open(folder).unwrap(), clock).unwrap()
}

/// Opened, everything calculated, and ended in good order.
fn once(folder: &std::path::Path) {
    let notebook = opened(folder, TODAY);
    assert_eq!(stale(&notebook).len(), 30);
    notebook.summaries.catch_up().unwrap();
    assert_eq!(stale(&notebook).len(), 0);
    notebook.settle();
}

#[test]
fn a_notebook_opened_again_works_nothing_out_that_did_not_change() {
    let folder = thirty();
    once(folder.path());
    let notebook = opened(folder.path(), TODAY);
    assert_eq!(stale(&notebook), [""; 0], "all is known before anything was calculated");
    assert_eq!(notebook.summaries.catch_up().unwrap(), 0);
    let listed = notebook.summaries.all().unwrap();
    assert_eq!(listed.len(), 30);
    let first = listed[0].summary.as_ref().unwrap();
    assert_eq!((first.title.as_str(), first.costs[0].amount.to_string().as_str()), ("Weir 0", "$90.00"));
    notebook.settle();
    // The same numbers as from nothing.
    for entry in std::fs::read_dir(folder.path()).unwrap().flatten() {
        if entry.file_name().to_string_lossy().contains("makeready") {
            std::fs::remove_file(entry.path()).unwrap();
        }
    }
    let fresh = opened(folder.path(), TODAY);
    fresh.summaries.catch_up().unwrap();
    for (known, fresh) in listed.iter().zip(fresh.summaries.all().unwrap()) {
        assert_eq!(known.name, fresh.name);
        assert_eq!(**known.summary.as_ref().unwrap(), **fresh.summary.as_ref().unwrap());
    }
}

#[test]
fn what_changed_while_the_program_was_away_is_seen_and_only_that() {
    let folder = thirty();
    once(folder.path());
    // As another program writes: same length, other words.
    std::fs::write(folder.path().join("weir-3.md"), plan(3).replace("20.usd", "21.usd")).unwrap();
    std::fs::remove_file(folder.path().join("weir-4.md")).unwrap();
    std::fs::write(folder.path().join("weir-99.md"), plan(99)).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(80));
    let notebook = opened(folder.path(), TODAY);
    let listed = notebook.summaries.all().unwrap();
    let cost = |name: &str| {
        let found = listed.iter().find(|one| one.name.as_str() == name).unwrap();
        found.summary.as_ref().unwrap().costs[0].amount.to_string()
    };
    assert_eq!((cost("weir-3").as_str(), cost("weir-99").as_str()), ("$21.00", "$20.00"));
    assert!(!listed.iter().any(|one| one.name.as_str() == "weir-4"));
    let changed = server::names::Name::new("weir-3").unwrap();
    assert_eq!(notebook.store().revisions(&changed).unwrap().len(), 2, "and it is in the record");
    notebook.settle();

    // Another price: only the plans that draw on that sheet are recalculated.
    std::fs::write(folder.path().join("shops/weir-lab.md"), SHEET.replace("90.usd", "95.usd")).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(80));
    let notebook = opened(folder.path(), TODAY);
    let open = stale(&notebook);
    assert_eq!(open.len(), 14, "{open:?}");
    assert!(open.iter().all(|name| name.trim_start_matches("weir-").parse::<usize>().unwrap() % 2 == 0));
    assert_eq!(notebook.summaries.catch_up().unwrap(), 14);
}

#[test]
fn on_another_day_the_wall_shows_what_was_known_until_all_is_calculated() {
    let folder = thirty();
    once(folder.path());
    let notebook = opened(folder.path(), "2026-11-26");
    let listed = notebook.summaries.all().unwrap();
    assert!(listed.iter().all(|one| one.stale && one.summary.as_ref().unwrap().costs.len() == 1));
    assert_eq!(notebook.summaries.catch_up().unwrap(), 30);
    assert_eq!(stale(&notebook).len(), 0);
}

/// What is calculated in passing is what a page works out while it waits: the numbers that are left among it.
#[test]
fn many_plans_calculated_at_once_give_what_each_gives_alone() {
    let folder = thirty();
    for number in 0..30 {
        let text = plan(number).replacen("\n[shops]", "\nedition = 12\n[shops]", 1).replacen(
            "\n+++\n\n",
            "\nedition = 12\n+++\n\n",
            usize::from(!number.is_multiple_of(2)),
        );
        std::fs::write(folder.path().join(format!("weir-{number}.md")), text).unwrap();
    }
    std::thread::sleep(std::time::Duration::from_millis(80));
    let notebook = opened(folder.path(), TODAY);
    for number in [2, 7] {
        let name = server::names::Name::new(&format!("weir-{number}")).unwrap();
        for what in [Event::Printed, Event::Sold] {
            let (which, when) = (Which::Print(Print::Number(1)), Day::parse(TODAY).unwrap());
            let line = NewLine { which, what, when, words: "me".into(), amount: String::new(), place: String::new() };
            notebook.add_line(&name, line).unwrap();
        }
    }
    assert_eq!(notebook.summaries.catch_up().unwrap(), 30);
    let all = notebook.summaries.all().unwrap();
    let left = |one: &Listed| one.summary.as_ref().unwrap().edition.unwrap().remaining;
    let sold: Vec<_> = all.iter().filter(|one| left(one) == 11).map(|one| one.name.as_str()).collect();
    assert_eq!(sold, ["weir-2", "weir-7"]);
    assert!(all.iter().all(|one| left(one) == 12 || sold.contains(&one.name.as_str())));
    notebook.settle();
    drop(notebook);
    // A few at a time, as pages do.
    let _ = std::fs::remove_file(folder.path().join("makeready-index.db"));
    let moved: Vec<_> = (8..30).map(|number| format!("weir-{number}.md")).collect();
    let aside = tempfile::tempdir().unwrap();
    for file in &moved {
        std::fs::rename(folder.path().join(file), aside.path().join(file)).unwrap();
    }
    let alone = opened(folder.path(), TODAY).summaries.all().unwrap();
    assert_eq!(alone.len(), 8);
    for one in &alone {
        let other = all.iter().find(|other| other.name == one.name).unwrap();
        assert!(!one.stale && one.summary == other.summary, "{one:?} {other:?}");
    }
}

#[test]
fn a_start_after_the_power_failed_knows_less_and_shows_the_same() {
    let folder = thirty();
    {
        let notebook = opened(folder.path(), TODAY);
        notebook.summaries.catch_up().unwrap();
        let name = server::names::Name::new("weir-1").unwrap();
        let kept = notebook.text(&name).unwrap();
        notebook.save(&name, &plan(1).replace("20.usd", "23.usd"), &kept.hash).unwrap();
        // No good order: nothing more is written down.
    }
    let notebook = opened(folder.path(), TODAY);
    let listed = notebook.summaries.all().unwrap();
    let one = listed.iter().find(|one| one.name.as_str() == "weir-1").unwrap();
    assert_eq!(one.summary.as_ref().unwrap().costs[0].amount.to_string(), "$23.00");
}

#[tokio::test]
async fn plans_are_found_by_any_word_of_their_text_and_by_their_values() {
    let desk = Desk::on(thirty());
    desk.notebook.summaries.catch_up().unwrap();
    let found = async |words: &str| {
        let page = desk.get(&format!("/?find={}", words.replace(' ', "+").replace('"', "%22"))).await.is(200);
        let mut all: Vec<String> =
            page.text().split("id=\"hung-").skip(1).map(|part| part.split('"').next().unwrap().to_owned()).collect();
        all.sort();
        all
    };
    assert_eq!(found("heron").await.len(), 30);
    assert_eq!(found("heron 9").await, ["weir-9"]);
    assert_eq!(found("39 in").await, ["weir-29"], "29 more than 10 inches, found by the value in the sentence");
    assert_eq!(found("stork").await, [""; 0]);
    assert_eq!(found("\"heron OR").await, [""; 0], "a word like any other");
    // A change is found at once.
    let mark = desk.mark("weir-5").await;
    desk.put("weir-5", &mark, &plan(5).replace("Heron", "Stork")).await.is(200);
    assert_eq!(found("stork").await, ["weir-5"]);
    assert_eq!(found("heron").await.len(), 29);
    std::fs::remove_file(desk.path("weir-5.md")).unwrap();
    desk.notebook.look();
    assert_eq!(found("stork").await, [""; 0]);
}

#[tokio::test]
async fn a_long_wall_hangs_in_parts_and_each_work_hangs_in_one() {
    let folder = tempfile::tempdir().unwrap();
    for number in 0..250 {
        std::fs::write(folder.path().join(format!("w{number:03}.md")), format!("# Work {number}\n")).unwrap();
    }
    let desk = Desk::on(folder);
    desk.notebook.summaries.catch_up().unwrap();
    let mut seen = Vec::new();
    let mut next = Some("/".to_owned());
    while let Some(path) = next {
        let page = desk.get(&path).await.is(200);
        let text = page.text();
        seen.extend(text.split("id=\"hung-").skip(1).map(|part| part.split('"').next().unwrap().to_owned()));
        assert!(words(text).contains("of 250"), "{path}");
        next = text
            .split_once("\">those after</a>")
            .map(|(before, _)| before.rsplit("href=\"").next().unwrap().to_owned());
    }
    assert_eq!(seen, (0..250).map(|number| format!("w{number:03}")).collect::<Vec<_>>());
    // What is looked for stays in the address of the next part.
    let page = desk.get("/?find=work%20%26%20w").await.is(200);
    assert!(words(page.text()).contains("1 to 120 of 250"), "{}", words(page.text()));
    assert!(page.text().contains("/?from=120&amp;find=work%20%26%20w\">those after"), "{}", page.text());
    for odd in ["/?from=99999999", "/?from=-1", "/?from=x"] {
        let status = desk.get(odd).await.status.as_u16();
        assert!(status == 200 || status == 400, "{odd}: {status}");
    }
}
