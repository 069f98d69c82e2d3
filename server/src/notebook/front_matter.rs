//! The head of a document with one thing in it changed: every other letter stays as its author wrote it.

use engine::document::front;
use engine::measure::Day;
use toml_edit::{DocumentMut, Item, Table, Value, value};

use crate::error::Error;

/// The text with a quote held in its head, or let go.
pub(super) fn held_to(text: &str, role: &str, day: Option<Day>) -> Result<String, Error> {
    changed(text, |toml| {
        let Some(day) = day else {
            let quotes = toml.get_mut("quotes").and_then(|quotes| quotes.as_table_like_mut());
            let empty = quotes.is_some_and(|quotes| {
                quotes.remove(role);
                quotes.is_empty()
            });
            if empty {
                toml.remove("quotes");
            }
            return Some(());
        };
        let date: toml_edit::Datetime = day.iso().parse().ok()?;
        let quotes = toml.entry("quotes").or_insert_with(|| Item::Table(Table::new()));
        quotes.as_table_like_mut()?.insert(role, value(date));
        Some(())
    })
}

/// The text with a day in its head, or without it.
pub(super) fn dated(text: &str, key: &str, day: Option<Day>) -> Result<String, Error> {
    changed(text, |toml| {
        let Some(day) = day else {
            toml.remove(key);
            return Some(());
        };
        let mut new = Value::from(day.iso());
        if let Some(old) = toml.get(key).and_then(Item::as_value) {
            if old.is_datetime() {
                new = Value::from(day.iso().parse::<toml_edit::Datetime>().ok()?);
            }
            *new.decor_mut() = old.decor().clone();
        }
        toml.insert(key, Item::Value(new));
        Some(())
    })
}

fn changed(text: &str, change: impl FnOnce(&mut DocumentMut) -> Option<()>) -> Result<String, Error> {
    let head = front::head_of(text);
    let unread = || {
        Error::unusable(
            "the head of this document cannot be read",
            "put the head right first: its problem is told at the top of the page",
        )
    };
    let lines: Vec<&str> = head.split_inclusive('\n').collect();
    let (Some((first, rest)), true) = (lines.split_first(), lines.len() >= 2) else { return Err(unread()) };
    let (last, inside) = rest.split_last().ok_or_else(unread)?;
    let mut toml: DocumentMut = inside.concat().parse().map_err(|_| unread())?;
    change(&mut toml).ok_or_else(unread)?;
    let written = toml.to_string();
    let gap = if written.is_empty() || written.ends_with('\n') { "" } else { "\n" };
    let before = text.find(head).unwrap_or(0);
    let (bom, body) = (text.get(..before).unwrap_or_default(), text.get(before + head.len()..).unwrap_or_default());
    Ok(format!("{bom}{first}{written}{gap}{last}{body}"))
}

#[cfg(test)]
mod tests {
    use engine::measure::Day;

    use super::{dated, held_to};

    #[test]
    fn a_quote_is_held_and_let_go_and_the_rest_of_the_head_keeps_every_letter() {
        let text = "+++\ntitle = \"A\"   # mine\n\n[shops]\nlab = \"shops/lab\"\n+++\n\n# A\n";
        let day = Day::parse("2026-11-02");
        let held = held_to(text, "lab", day).expect("held");
        assert_eq!(
            held,
            "+++\ntitle = \"A\"   # mine\n\n[shops]\nlab = \"shops/lab\"\n\n[quotes]\nlab = 2026-11-02\n+++\n\n# A\n"
        );
        assert_eq!(held_to(&held, "lab", None).expect("let go"), text);
    }

    #[test]
    fn a_day_is_written_as_the_one_before_it_was() {
        let text = "+++\nquoted = \"2026-10-12\"  # by mail\nuntil = 2027-01-31\nkind = \"rate sheet\"\n+++\n";
        let day = Day::parse("2026-11-25");
        let now = dated(&dated(text, "quoted", day).expect("dated"), "until", day).expect("dated");
        assert_eq!(now, text.replace("2026-10-12", "2026-11-25").replace("2027-01-31", "2026-11-25"));
        let without = dated(text, "until", None).expect("dated");
        assert_eq!(without, text.replace("until = 2027-01-31\n", ""));
        let added = dated(&without, "until", day).expect("dated");
        assert!(added.contains("kind = \"rate sheet\"\nuntil = \"2026-11-25\"\n+++\n"), "{added}");
    }
}
