//! What an open page shows of a document, as data.

use engine::document::Document;
use serde_json::{Map, Value, json};

use super::Field;
use crate::evaluator::Worked;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::titles::{sentence, title};

/// What the page shows of a document, as data; with its revision and mark when it is saved.
pub(crate) fn whole(
    notebook: &Notebook,
    worked: &Worked,
    name: &Name,
    saved: Option<(u32, &str)>,
) -> Map<String, Value> {
    let mut answer = around(notebook, worked, name, saved);
    answer.insert("article".into(), worked.article().html.as_str().into());
    answer
}

/// The same but for the article.
pub(crate) fn around(
    notebook: &Notebook,
    worked: &Worked,
    name: &Name,
    saved: Option<(u32, &str)>,
) -> Map<String, Value> {
    let fields = fields(worked, saved.map_or(0, |(revision, _)| revision));
    let mut answer = Map::new();
    answer.insert("block".into(), json!(fields));
    answer.insert("problems".into(), json!(worked.evaluation.remarks()));
    answer.insert("title".into(), title(&worked.document, name).into());
    answer.insert("sentence".into(), sentence(&worked.document).into());
    answer.insert("frame".into(), frame(&worked.document).into());
    answer.insert("day".into(), notebook.today().iso().into());
    if let Some((revision, etag)) = saved {
        answer.insert("etag".into(), etag.into());
        answer.insert("revision".into(), revision.to_string().into());
        answer.insert("saved".into(), format!("saved, revision {revision}").into());
    }
    answer
}

/// What the page around the article depends on: whose tickets there are, and the size of the edition.
pub(crate) fn frame(document: &Document) -> String {
    let front = &document.front;
    let roles: Vec<_> = front.shops.iter().map(|(role, _)| role.as_str()).collect();
    format!("{} {} {}", roles.join(","), front.edition, front.proofs)
}

/// The title block, with the revision in front.
pub(crate) fn fields(worked: &Worked, revision: u32) -> Vec<Field> {
    let value = if revision == 0 { "not saved yet".to_owned() } else { revision.to_string() };
    std::iter::once(Field { label: "revision".to_owned(), value })
        .chain(worked.block.iter().map(|(label, value)| Field { label: (*label).to_owned(), value: value.clone() }))
        .collect()
}
