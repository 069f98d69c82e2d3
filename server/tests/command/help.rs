//! What the program says about itself reads well.

use crate::program::{copied, run};

const COMMANDS: [&str; 8] = ["serve", "check", "values", "ask", "copy", "ticket", "ledger", "reference"];

#[test]
fn the_help_names_every_command_in_a_sentence() {
    let folder = copied();
    let help = run(&["--help"], folder.path()).ends_with(0);
    assert!(help.err.is_empty());
    assert!(
        help.out.starts_with(
            "Plans for very large photographic prints, each a Markdown document that calculates its numbers"
        ),
        "{}",
        help.out
    );
    for name in COMMANDS {
        let line = help
            .out
            .lines()
            .find(|line| line.strip_prefix("  ").is_some_and(|line| line.starts_with(&format!("{name} "))));
        let line = line.unwrap_or_else(|| panic!("{name} is missing: {}", help.out));
        assert!(line.trim_start().len() > name.len() + 20, "{name} is explained: {line}");
    }
    assert!(
        help.out.contains("Exit codes: 0 done; 1 a plan has problems; 2 the command could not be done;\n3 stored record altered, or results differ."),
        "{}",
        help.out
    );
}

#[test]
fn the_help_of_each_command_explains_everything_it_takes() {
    let folder = copied();
    for name in COMMANDS {
        let help = run(&[name, "--help"], folder.path()).ends_with(0);
        let first = help.out.lines().next().unwrap();
        assert!(first.len() > 20 && first.starts_with(char::is_uppercase), "{name}: {first}");
        assert!(help.out.contains(&format!("Usage: makeready {name}")), "{name}: {}", help.out);
        // A taken word or option with nothing said about it would stand alone on its line.
        let mut lines = help.out.lines().peekable();
        while let Some(line) = lines.next() {
            let trimmed = line.trim_start();
            let is_item = line.starts_with("  ")
                && (trimmed.starts_with('-') || trimmed.starts_with('<') || trimmed.starts_with('['));
            if is_item && !trimmed.starts_with("[env") && !trimmed.starts_with("[default") {
                let said = trimmed.split("  ").filter(|part| !part.trim().is_empty()).count() > 1;
                let below = lines.peek().is_some_and(|next| next.starts_with("          ") && !next.trim().is_empty());
                assert!(said || below, "{name}: nothing is said about {trimmed}");
            }
        }
        for stray in ["TODO", "FIXME", "<COMMAND>\n"] {
            assert!(!help.out.contains(stray), "{name}: {stray}");
        }
    }
}

#[test]
fn the_version_is_told() {
    let folder = copied();
    let told = run(&["--version"], folder.path()).ends_with(0);
    assert_eq!(told.out, format!("makeready {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn a_command_or_an_option_that_is_none_ends_with_two() {
    let folder = copied();
    for arguments in [
        &["values"][..],
        &["ticket", "first-plan.md"],
        &["values", "first-plan.md", "--jsno"],
        &["serve", "--port", "99999"],
    ] {
        let told = run(arguments, folder.path()).ends_with(2);
        assert!(
            told.out.is_empty() && (told.err.contains("--help") || told.err.contains("meant?")),
            "{arguments:?}: {}",
            told.err
        );
    }
}
