//! Changes of the head that touch one line of it and leave every other byte as it is.

use toml_edit::{DocumentMut, Item, Table, value};

use super::{Document, front};
use crate::Message;

/// Names the shop that does something for the plan, by its rate sheet; an empty name is a shop still to be found. A quote that
/// was kept of the shop before is let go.
///
/// # Errors
/// When the head cannot be read, or the role is not a name.
pub fn set_shop(document: &Document, role: &str, sheet: &str) -> Result<String, Message> {
    let is_name =
        !role.is_empty() && role.len() <= 60 && role.chars().all(|c| c.is_alphanumeric() || c == '_' || c == '-');
    if !is_name || sheet.chars().any(char::is_control) || sheet.len() > 400 {
        return Err(Message::new(format!("`{role}` is not the name of a trade"), "choose a shop from the list"));
    }
    let split = front::split(&document.text);
    let range = split.head.clone().unwrap_or(0..0);
    let head = document.text.get(range.clone()).unwrap_or_default();
    let mut toml: DocumentMut = head.parse().map_err(|_| {
        Message::new(
            "the head of this plan cannot be read",
            "put it right first: its problem is told at the top of the page",
        )
    })?;
    let shops = toml.entry("shops").or_insert_with(|| Item::Table(Table::new()));
    let shops = shops.as_table_like_mut().ok_or_else(|| {
        Message::new("`shops` in the head is not a list of shops", "write a line `[shops]` and below it each shop")
    })?;
    match shops.get_mut(role).and_then(Item::as_value_mut) {
        // What stands behind it on its line stays.
        Some(old) => {
            let mut new = toml_edit::Value::from(sheet);
            *new.decor_mut() = old.decor().clone();
            *old = new;
        }
        None => _ = shops.insert(role, value(sheet)),
    }
    if let Some(quotes) = toml.get_mut("quotes").and_then(Item::as_table_like_mut) {
        quotes.remove(role);
    }
    let head = toml.to_string();
    Ok(match split.head {
        Some(range) => {
            let (before, after) = (document.text.get(..range.start), document.text.get(range.end..));
            format!("{}{head}{}", before.unwrap_or_default(), after.unwrap_or_default())
        }
        None => format!("+++\n{head}+++\n\n{}", document.text),
    })
}
