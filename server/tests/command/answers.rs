//! Commands that answer and end: check, values, ask, copy, ticket, ledger, reference.

use std::process::Command;

use serde_json::json;

use crate::program::{Program, copied, run};

/// The one thing the shipped notebook lets stand, and says why in its text.
const KNOWN: &str = "/quarry-upper-bench.md:116:1: a recommendation is missed: The lab's least is met by what the lens saw, not by filling in: 168 ppi ≥ 180 ppi; change a given, or the rule\n";

// ------------------------------------------------------------------------------------------------------- check

#[test]
fn the_shipped_notebook_has_no_problem() {
    let folder = copied();
    let told = run(&["check", "."], folder.path()).ends_with(0);
    assert_eq!(told.out, format!(".{KNOWN}"));
    assert_eq!(told.err, "14 documents: 0 problems, 0 broken rules, 1 recommendation missed\n");
    assert!(!folder.path().join("makeready.db").exists(), "a check writes nothing");
}

#[test]
fn a_problem_is_one_line_with_its_place_and_what_to_do() {
    let folder = copied();
    std::fs::write(
        folder.path().join("wrong.md"),
        "# Wrong\n\n```workings\nlet wide = 60.inch;\nmust(wide <= 50.inch, \"It fits the car\");\nlet heavy = wide + 3.lb;\n```\n\nIt is `? wied` wide.\n",
    )
    .unwrap();
    let told = run(&["check", "."], folder.path()).ends_with(1);
    let lines: Vec<_> = told.out.lines().filter(|line| !KNOWN.contains(&line[1..])).collect();
    assert_eq!(lines.len(), 3, "{lines:#?}");
    let file = "./wrong.md";
    assert!(lines[0].starts_with(&format!("{file}:6:")), "{}", lines[0]);
    assert!(lines[0].contains("a weight cannot be added to a length: 3 lb to 60 in; "), "{}", lines[0]);
    assert_eq!(lines[1], format!("{file}:9:10: nothing here is called `wied`; was `wide` meant?"));
    assert_eq!(
        lines[2],
        format!("{file}:5:1: a rule is broken: It fits the car: 60 in ≤ 50 in; change a given, or the rule")
    );
    for line in &lines {
        let mut parts = line.splitn(4, ':');
        assert!(parts.next().is_some());
        assert!(
            parts.next().unwrap().parse::<usize>().is_ok() && parts.next().unwrap().parse::<usize>().is_ok(),
            "{line}"
        );
        assert!(parts.next().unwrap().contains("; "), "{line}");
    }
    assert_eq!(told.err, "15 documents: 2 problems, 1 broken rule, 1 recommendation missed\n");
    let one = run(&["check", "wrong.md"], folder.path()).ends_with(1);
    assert_eq!(one.out.lines().count(), 3);
    run(&["check", "first-plan.md"], folder.path()).ends_with(0);
}

#[test]
fn a_slip_that_can_be_calculated_is_told_with_its_place_and_moves_no_history() {
    let folder = copied();
    let slips = "+++\nholidays = \"2026-12-25\"\n[shops]\nlab = \"shops/tidewater-lba\"\n+++\n# A\n\n```workings\nlet wide = given(\"W\", -5.inch);\nstep(\"Proof\", 1.day, \"labb\");\nfinished(\"Poof\", \"2026-01-02\");\nquoted(\"Print\", 3.usd);\ninvoiced(\"Print\", 3.usd);\n```\n\nIt is `?wide`.\n";
    std::fs::write(folder.path().join("slips.md"), slips).unwrap();
    let told = run(&["check", "slips.md"], folder.path()).ends_with(1);
    let places: Vec<_> =
        told.out.lines().map(|line| line.splitn(4, ':').take(3).collect::<Vec<_>>().join(":")).collect();
    let at = ["2:12", "4:1", "9:23", "10:1", "11:1", "12:1", "13:1", "16:7"];
    let file = folder.path().join("slips.md");
    assert_eq!(places, at.map(|at| format!("{}:{at}", file.display())), "{}", told.out);
    assert!(told.out.lines().all(|line| line.contains("; ")), "{}", told.out);
    assert!(told.out.contains("was `shops/tidewater-lab` meant?"), "{}", told.out);
    // A revision saved with the slips gives what it gave.
    drop(server::store::Store::open(folder.path()).unwrap());
    let told = run(&["check", "--history", "."], folder.path()).ends_with(0);
    assert!(told.err.contains(" 0 different"), "{}", told.err);
}

#[test]
fn a_file_that_is_no_text_is_a_problem_of_the_notebook() {
    let folder = copied();
    std::fs::write(folder.path().join("bad.md"), b"# A\n\xff\n").unwrap();
    let told = run(&["check", "."], folder.path()).ends_with(1);
    assert_eq!(
        told.out,
        format!(
            "./bad.md:1:1: `bad.md` is not plain text: line 2 holds bytes that are not UTF-8; open it in an editor and save it as UTF-8; the file is left as it is\n.{KNOWN}"
        )
    );
}

#[test]
fn a_notebook_that_is_not_there_cannot_be_checked() {
    let folder = copied();
    let told = run(&["check", "nowhere"], folder.path()).ends_with(2);
    assert_eq!(
        (told.out.as_str(), told.err.as_str()),
        ("", "makeready: there is no folder `nowhere`; give the folder of a notebook\n")
    );
}

#[test]
fn history_that_gives_the_same_ends_well_and_one_that_does_not_ends_with_three() {
    let folder = copied();
    std::fs::write(folder.path().join("wrong.md"), "# Wrong\n\n```workings\nlet heavy = 60.inch + 3.lb;\n```\n")
        .unwrap();
    drop(server::store::Store::open(folder.path()).unwrap());
    // A problem then that is the same problem now is not a fault of the history.
    let told = run(&["check", "--history", "."], folder.path()).ends_with(0);
    assert_eq!(told.out, "");
    assert_eq!(
        told.err,
        "15 revisions: 15 the same to the last digit, 0 different, 0 that cannot be calculated any more, 0 with nothing to compare\n"
    );
    let record = rusqlite::Connection::open(folder.path().join("makeready.db")).unwrap();
    let other = "(SELECT packed FROM results JOIN revision ON revision.id = revision WHERE plan = 'first-plan')";
    record.execute_batch(&format!("DROP TRIGGER results_stay_as_found; UPDATE results SET packed = {other} WHERE revision = (SELECT id FROM revision WHERE plan = 'wrong')")).unwrap();
    let told = run(&["check", "--history", "."], folder.path()).ends_with(3);
    assert!(told.out.lines().all(|line| line.starts_with("wrong, revision 1: ")), "{}", told.out);
    assert!(told.err.contains(" 1 different"), "{}", told.err);
}

#[test]
fn a_backup_is_noted_and_the_first_page_no_longer_asks_for_one() {
    let folder = copied();
    let served = Program::start(folder.path(), &[]);
    let asks = || served.get("/").text().contains("This notebook was never backed up.");
    assert!(!asks(), "nothing was saved yet");
    let plan = served.plan("first-plan");
    assert_eq!(served.save("first-plan", &plan.etag(), "# Mine\n").status, 200);
    assert!(asks());
    let outside = tempfile::tempdir().unwrap();
    let copy = outside.path().join("copy");
    let told = run(&["backup", copy.to_str().unwrap()], folder.path()).ends_with(0);
    assert!(told.out.contains("backed up and read back") && told.err.is_empty(), "{told:?}");
    assert!(!asks());
}

#[test]
fn a_ledger_line_changed_by_another_program_ends_with_three() {
    let folder = copied();
    let served = Program::start(folder.path(), &[]);
    let sale = json!({"number": 1, "when": "2026-11-25", "words": "A. Reader"}).to_string();
    assert_eq!(served.send("POST", "/plan/first-plan/ledger", &[], sale.as_bytes()).unwrap().status, 200);
    drop(served);
    let record = rusqlite::Connection::open(folder.path().join("makeready.db")).unwrap();
    record.execute_batch("DROP TRIGGER ledger_keeps_its_lines; UPDATE ledger SET words = 'B. Reader'").unwrap();
    let told = run(&["check", "."], folder.path()).ends_with(3);
    assert!(told.out.contains("ledger line 1 is not as it was written"), "{}", told.out);
}

// ------------------------------------------------------------------------------------------------------ values

#[test]
fn values_as_data_keep_the_stable_form() {
    let folder = copied();
    let told = run(&["values", "first-plan.md", "--json"], folder.path()).ends_with(0);
    assert_eq!(told.err, "");
    let values = told.json();
    assert_eq!(values["plan"], "first-plan");
    assert!(values["revision"].is_u64());
    // 56 × 112 mm would be 2 to 1; the 6x12 of the table is 56 × 118 mm. 60 in × 56 / 118 = 28.4746 in.
    let piece = &values["names"]["piece.height"];
    assert!((piece["value"].as_f64().unwrap() - 60.0 * 56.0 / 118.0).abs() < 1e-9, "{piece}");
    assert_eq!((&piece["unit"], &piece["shown"]), (&json!("in"), &json!("28.47 in")));
    assert_eq!(values["names"]["wide"], json!({"value": 60.0, "unit": "in", "shown": "60 in"}));
    for (name, value) in values["names"].as_object().unwrap() {
        assert!(
            value["shown"].is_string() && value["unit"].is_string() && value.get("value").is_some(),
            "{name}: {value}"
        );
    }
    assert_eq!(values["asks"][0], json!({"line": 8, "ask": "wide", "shown": "60 in"}));
    assert_eq!(values["rules"][0]["text"], "The lab wants 200 ppi at least");
    assert_eq!((&values["rules"][0]["kind"], &values["rules"][0]["kept"]), (&json!("must"), &json!(true)));
    assert_eq!(values["problems"], json!([]));
}

#[test]
fn values_with_a_problem_say_so_and_end_with_one() {
    let folder = copied();
    std::fs::write(folder.path().join("wrong.md"), "# W\n\n`? nothing_here`\n\n```workings\nlet x = 2;\n```\n")
        .unwrap();
    let told = run(&["values", "wrong.md", "--json"], folder.path()).ends_with(1);
    let values = told.json();
    let problem = &values["problems"][0];
    assert_eq!((&problem["line"], &problem["column"]), (&json!(3), &json!(4)));
    assert!(problem["what"].is_string() && problem["next"].is_string());
    assert_eq!(values["asks"][0]["shown"], json!(null));
    assert_eq!(values["names"]["x"]["value"], json!(2), "the rest stands");
    assert!(told.err.starts_with("wrong.md:3:4: "), "{}", told.err);
}

#[test]
fn values_read_as_text_and_in_other_units() {
    let folder = copied();
    let told = run(&["values", "first-plan.md"], folder.path()).ends_with(0);
    assert!(
        told.out.contains("wide = 60 in\n") && told.out.contains("8: ? piece.size = 60 × 28.47 in\n"),
        "{}",
        told.out
    );
    let metric = run(&["values", "first-plan.md", "--units", "metric"], folder.path()).ends_with(0);
    // 60 in × 25.4 = 1524 mm.
    assert!(metric.out.contains("wide = 1524 mm\n"), "{}", metric.out);
    let told = run(&["values", "first-plan.md", "--units", "cubits"], folder.path()).ends_with(2);
    assert_eq!(told.err, "makeready: `cubits` are not units a plan is shown in; write inch or metric\n");
    let told = run(&["values", "nowhere.md"], folder.path()).ends_with(2);
    assert_eq!(
        told.err,
        "makeready: there is no `nowhere.md`; give the path of a plan's file, like notebooks/first-plan.md\n"
    );
}

#[test]
fn the_same_values_come_from_the_page_and_from_the_command() {
    let folder = copied();
    let served = Program::start(folder.path(), &[]);
    for plan in ["causeway-first-light", "quarry-upper-bench", "first-plan"] {
        let page = served.get(&format!("/plan/{plan}/values")).json();
        assert_eq!(
            run(&["values", &format!("{plan}.md"), "--json"], folder.path()).ends_with(0).json(),
            page,
            "{plan}"
        );
    }
}

// --------------------------------------------------------------------------------------------------------- ask

#[test]
fn an_expression_is_calculated_as_on_a_page() {
    let folder = copied();
    // 7200 px over 24 in are 300 px to the inch.
    assert_eq!(run(&["ask", "7200.px / 24.inch"], folder.path()).ends_with(0).out, "300 ppi\n");
    assert_eq!(run(&["ask", "3/4"], folder.path()).ends_with(0).out, "0.75\n");
    // 63 in × 25.4 = 1600.2 mm.
    assert_eq!(run(&["ask", "63.inch", "--metric"], folder.path()).ends_with(0).out, "1600.2 mm\n");
    let told = run(&["ask", "7200.px / 24.inch", "--json"], folder.path()).ends_with(0);
    assert_eq!(told.json(), json!({"value": 300.0, "unit": "ppi", "shown": "300 ppi"}));
}

#[test]
fn an_expression_that_cannot_be_calculated_is_told_with_its_column() {
    let folder = copied();
    let told = run(&["ask", "24.inch + 3.lb"], folder.path()).ends_with(2);
    assert_eq!(told.out, "");
    assert!(
        told.err.starts_with("makeready: column 9: a weight cannot be added to a length: 3 lb to 24 in; "),
        "{}",
        told.err
    );
    for expression in ["", "loop {}", "sleep(3600)", "nothing", "1 +", "eval(\"1\")", "import \"x\" as y;"] {
        let told = run(&["ask", expression], folder.path()).ends_with(2);
        assert!(told.err.starts_with("makeready: column ") && told.err.contains("; "), "{expression}: {}", told.err);
    }
}

// -------------------------------------------------------------------------------------------------------- copy

#[test]
fn a_copy_begins_the_next_piece_and_prints_its_file() {
    let folder = copied();
    let told = run(&["copy", "grain-elevator-noon.md", "Silo, Evening"], folder.path()).ends_with(0);
    let made = folder.path().canonicalize().unwrap().join("silo-evening.md");
    assert_eq!(told.out, format!("{}\n", made.display()));
    let text = std::fs::read_to_string(&made).unwrap();
    assert!(
        text.contains("title = \"Silo, Evening\"")
            && text.contains("from = \"grain-elevator-noon\"")
            && !text.contains("[x]"),
        "{text}"
    );
    let told = run(&["copy", "grain-elevator-noon.md", "silo-night.md"], folder.path()).ends_with(0);
    assert!(told.out.ends_with("/silo-night.md\n"), "{}", told.out);
    assert!(std::fs::read_to_string(folder.path().join("silo-night.md")).unwrap().contains("title = \"Silo night\""));
    run(&["check", "."], folder.path()).ends_with(0);
}

#[test]
fn a_copy_overwrites_nothing() {
    let folder = copied();
    let before = std::fs::read(folder.path().join("first-plan.md")).unwrap();
    let told = run(&["copy", "grain-elevator-noon.md", "first-plan.md"], folder.path()).ends_with(2);
    assert_eq!(told.err, "makeready: `first-plan.md` is already there; choose another name; nothing was changed\n");
    assert_eq!(std::fs::read(folder.path().join("first-plan.md")).unwrap(), before);
    run(&["copy", "nowhere.md", "x.md"], folder.path()).ends_with(2);
}

// ------------------------------------------------------------------------------------------------------ ticket

#[test]
fn a_ticket_is_one_page_that_needs_nothing_else() {
    let folder = copied();
    let plan = "causeway-first-light.md";
    let told = run(&["ticket", plan, "--for", "lab"], folder.path()).ends_with(0);
    assert!(told.out.starts_with("<!doctype html>"), "{}", &told.out[..60]);
    assert!(told.out.contains("<style>") && told.out.contains("Job ticket"));
    for fetched in ["<script", "<link", "src=\"/", "@import"] {
        assert!(!told.out.contains(fetched), "{fetched}");
    }
    assert!(
        !told.out.contains("White ash") && told.out.contains("Chromogenic"),
        "the lab's sections and not the framer's"
    );
    let out = folder.path().join("lab.html");
    let written = run(&["ticket", plan, "--for", "lab", "--out", out.to_str().unwrap()], folder.path()).ends_with(0);
    assert_eq!(written.out, "");
    assert_eq!(std::fs::read_to_string(out).unwrap(), told.out);
}

#[test]
fn a_ticket_is_printed_on_letter_and_on_a4() {
    let folder = copied();
    // Letter is 612 × 792 points (ANSI A, 8.5 × 11 in); A4 is 595 × 842 (ISO 216, 210 × 297 mm, to the point).
    for (paper, wide, high) in [("letter", 612.0, 792.0), ("a4", 595.0, 842.0)] {
        let out = folder.path().join(format!("{paper}.pdf"));
        let out = out.to_str().unwrap();
        run(&["ticket", "causeway-first-light.md", "--for", "framer", "--paper", paper, "--out", out], folder.path())
            .ends_with(0);
        let about = Command::new("pdfinfo").arg(out).output().expect("poppler's `pdfinfo` is needed");
        let about = String::from_utf8(about.stdout).unwrap();
        let size = about.lines().find_map(|line| line.strip_prefix("Page size:")).unwrap_or_else(|| panic!("{about}"));
        let sides: Vec<f64> = size.split_whitespace().filter_map(|word| word.parse().ok()).collect();
        assert!((sides[0] - wide).abs() < 1.0 && (sides[1] - high).abs() < 1.0, "{paper}: {size}");
        let text =
            Command::new("pdftotext").args(["-layout", out, "-"]).output().expect("poppler's `pdftotext` is needed");
        let text = String::from_utf8(text.stdout).unwrap();
        assert!(text.contains("Job ticket") && text.contains("Corner Joint") && text.contains("page 1 of "), "{text}");
        assert!(!text.contains("Chromogenic"), "nothing of the lab's: {text}");
    }
}

#[test]
fn a_ticket_that_cannot_be_made_is_told() {
    let folder = copied();
    let told = run(&["ticket", "causeway-first-light.md", "--for", "gardener"], folder.path()).ends_with(2);
    let said =
        "makeready: this plan has no shop called `gardener`, and no trade is called so; ask for one of scanner, lab";
    assert!(told.err.starts_with(said), "{}", told.err);
    let told =
        run(&["ticket", "causeway-first-light.md", "--for", "lab", "--paper", "tabloid"], folder.path()).ends_with(2);
    assert_eq!(told.err, "makeready: `tabloid` is not a paper a sheet is made for; write letter or a4\n");
}

// -------------------------------------------------------------------------------------------- ledger, reference

#[test]
fn the_ledger_lists_what_was_sold_on_the_page() {
    let folder = copied();
    assert_eq!(run(&["ledger", "first-plan.md"], folder.path()).ends_with(0).out, "");
    assert_eq!(run(&["ledger", "first-plan.md", "--json"], folder.path()).ends_with(0).json(), json!([]));
    let served = Program::start(folder.path(), &[]);
    for number in [1, 2] {
        let sale = json!({"number": number, "when": "2026-11-25", "words": "A. Reader", "amount": "900"}).to_string();
        assert_eq!(served.send("POST", "/plan/first-plan/ledger", &[], sale.as_bytes()).unwrap().status, 200);
    }
    // Read beside the running server.
    let told = run(&["ledger", "first-plan.md"], folder.path()).ends_with(0);
    assert_eq!(
        told.out,
        "2026-11-25  print 1 sold  A. Reader  900.00 USD\n2026-11-25  print 2 sold  A. Reader  900.00 USD\n"
    );
    let data = run(&["ledger", "first-plan.md", "--json"], folder.path()).ends_with(0).json();
    for (field, value) in
        [("print", "2"), ("what", "sold"), ("when", "2026-11-25"), ("words", "A. Reader"), ("amount", "900.00 USD")]
    {
        assert_eq!(data[1][field], value, "{data}");
    }
}

#[test]
fn the_reference_lists_what_a_plan_can_say_with_worked_examples() {
    let folder = copied();
    let told = run(&["reference"], folder.path()).ends_with(0);
    for part in ["STATEMENTS\n", "UNITS\n", "  given(", "  must(", "  enlarge(", "money in USD"] {
        assert!(told.out.contains(part), "{part}");
    }
    assert!(told.out.lines().filter(|line| line.contains(" = ")).count() > 60, "the examples are calculated");
    assert!(!told.out.contains("nothing here is called"), "every example works");
}

#[test]
fn the_reference_is_looked_through_by_the_word_a_person_has_for_it() {
    let folder = copied();
    for (word, found) in [
        ("glazing", "  compare_glazing("),
        ("how heavy", "  weight("),
        ("french cleat", "  cleat("),
        ("business days", "  count_working_days("),
        ("sum", "  total("),
        ("35mm", "  film("),
        ("dpi", "  1.ppi "),
        ("united inches", "  .united\n"),
        ("working_days", "  add_working_days("),
        ("frame", "  rabbet_frame("),
        ("glazng", "  compare_glazing("),
    ] {
        let told = run(&["reference", word], folder.path()).ends_with(0);
        assert!(told.out.contains(found) && told.out.lines().count() < 40, "{word}: {}", told.out);
    }
    let told = run(&["reference", "weather"], folder.path()).ends_with(2);
    assert_eq!(
        told.err,
        "makeready: nothing is found under `weather`; try another word for it, or look through all of `makeready reference`\n"
    );
}

#[test]
fn a_command_mistyped_is_told_in_our_words() {
    let folder = copied();
    for (typed, said) in [
        (
            &["chek"][..],
            "there is no folder `chek`; was the command `check` meant? Write `makeready check`, or make the folder first",
        ),
        (&["chek", "."], "there is no command `chek`; was `check` meant? Write `makeready check .`"),
        (
            &["valeus", "first-plan.md", "--json"],
            "there is no command `valeus`; was `values` meant? Write `makeready values first-plan.md --json`",
        ),
        (&["check", "--histroy"], "`makeready check` does not take `--histroy`; was `--history` meant?"),
        (
            &["check", ".", "more"],
            "`makeready check` does not take `more`; `makeready check --help` tells what there is",
        ),
        (&["values"], "<PLAN> is missing; `makeready values --help` tells what there is"),
        (
            &["serve", "--port", "many"],
            "`many` is nothing that `--port <PORT>` can be; `makeready serve --help` tells what there is",
        ),
        (
            &["ticket", "first-plan.md", "--for"],
            "`--for <SHOP>` stands without its value; `makeready ticket --help` tells what there is",
        ),
        (&["wobble", "this"], "there is no command `wobble`; `makeready --help` tells what there is"),
    ] {
        let told = run(typed, folder.path()).ends_with(2);
        assert_eq!(told.err, format!("makeready: {said}\n"), "{typed:?}");
    }
}

#[test]
fn a_check_tells_what_is_beyond_belief_and_quotes_that_were_never_given() {
    let folder = copied();
    let text = "+++\n[shops]\nlab = \"shops/tidewater-lab\"\n[quotes]\nlab = 2020-01-01\nlabb = 2020-01-01\n+++\n# A\n\n```workings\nimport \"shops/tidewater-lab\" as lab;\nlet wide = given(\"W\", 6_000_000.inch);\nlet heavy = 300_000.lb;\n```\n";
    std::fs::write(folder.path().join("slips.md"), text).unwrap();
    let told = run(&["check", "slips.md"], folder.path()).ends_with(1);
    let file = folder.path().join("slips.md").display().to_string();
    let lines: Vec<_> = told.out.lines().map(|line| line.replace(&file, "").replace('\u{202f}', " ")).collect();
    assert!(
        lines[0].starts_with(":5:1: the plan holds to a quote of ")
            && lines[0].contains("no such quote is kept; write the day of a quote that is: the last is `lab = 20"),
        "{lines:#?}"
    );
    assert_eq!(
        lines[1],
        ":6:1: the plan holds to a quote of `labb`, and the head names no such shop; was `lab` meant?"
    );
    assert_eq!(
        lines[2],
        ":12:1: `wide` is 6 000 000 in, which is more than a kilometre; look for zeros too many, or for another unit"
    );
    assert_eq!(
        lines[3],
        ":13:1: `heavy` is 300 000 lb, which is more than a hundred tonnes; look for zeros too many, or for another unit"
    );
    assert_eq!(lines.len(), 4, "{lines:#?}");
}

#[test]
fn an_ask_tells_the_column_where_it_goes_wrong() {
    let folder = copied();
    for (ask, said) in [
        ("24.inch + wied", "column 11: nothing here is called `wied`; give it a value above: `let wied = …;`"),
        ("2 * 60\"", "column 5: a length in inches is written `60.inch`, and here stands `60\"`; write `2 * 60.inch`"),
        ("2 + frame(3)", "column 5: there is no function called `frame`; was `float_frame` or `rabbet_frame` meant?"),
    ] {
        assert_eq!(run(&["ask", ask], folder.path()).ends_with(2).err, format!("makeready: {said}\n"), "{ask}");
    }
}
