//! Goes through a plan once and leaves what a reader of paper is to have.

use std::collections::{BTreeSet, HashSet};

use super::{Block, Item, Read, Run, State, costs, in_other_units, runs_text, steps};
use crate::document::Document;
use crate::document::tree::{Node, Nodes, Part};
use crate::evaluate::Evaluation;
use crate::markup::{is_local_picture, is_safe_link};
use crate::measure::Money;
use crate::render::exhibit::{Exhibit, UNKNOWN};
use crate::render::shop_name;
use crate::{Found, Value};

/// How deep lists and quotations may stand in each other; what is deeper is written at this depth.
const DEEPEST: usize = 6;

pub(super) struct Reader<'a> {
    document: &'a Document,
    evaluation: &'a Evaluation,
    shops: &'a [(String, String)],
    role: Option<&'a str>,
    in_heading: bool,
    cautions: BTreeSet<&'static str>,
    unknown: Vec<String>,
    /// Values already written in both units since the last heading.
    shown: HashSet<String>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(
        document: &'a Document,
        evaluation: &'a Evaluation,
        shops: &'a [(String, String)],
        role: Option<&'a str>,
    ) -> Self {
        Self {
            document,
            evaluation,
            shops,
            role,
            in_heading: false,
            cautions: BTreeSet::new(),
            unknown: Vec::new(),
            shown: HashSet::new(),
        }
    }

    pub(super) fn read(mut self) -> Read {
        let (document, role) = (self.document, self.role);
        // What stands above the first heading is on no ticket.
        let mut shows = role.is_none();
        let passages = document.nodes().filter(|(node, _)| {
            if let (Part::Heading { section, .. }, Some(role)) = (&node.part, role) {
                let section = document.sections.get(*section);
                shows = section.is_some_and(|one| !one.private && one.shop.as_deref() == Some(role));
            }
            shows
        });
        let blocks = self.blocks(passages, 0);
        let cautions = self.cautions.into_iter().map(str::to_owned).collect();
        Read { blocks, cautions, unknown: self.unknown }
    }

    /// Passages, at most so deep in others.
    fn blocks(&mut self, nodes: impl Iterator<Item = (&'a Node, Nodes<'a>)>, depth: usize) -> Vec<Block> {
        let (mut out, mut stray) = (Vec::new(), Vec::new());
        for (node, inside) in nodes {
            let block = match &node.part {
                Part::List { .. } | Part::Item | Part::Quote if depth == DEEPEST => {
                    flush(&mut stray, &mut out);
                    out.extend(self.blocks(inside, depth));
                    None
                }
                Part::List { first } => Some(Block::List { first: *first, items: self.items(inside, depth + 1) }),
                Part::Quote => Some(Block::Quote { blocks: self.blocks(inside, depth + 1) }),
                Part::Heading { level, .. } => Some(self.heading(*level, inside)),
                Part::Paragraph { lone } => {
                    lone.and_then(|ask| self.exhibit(ask)).or_else(|| paragraph(self.runs(inside, 0)))
                }
                Part::HtmlBlock => paragraph(self.runs(inside, 0)),
                Part::Workings(block) => {
                    self.workings(*block);
                    None
                }
                Part::Typed { .. } => {
                    Some(Block::Code { text: inside.map(|(node, _)| self.document.words(node)).collect() })
                }
                Part::Table { columns } => Some(self.table(columns, inside)),
                Part::Rule => Some(Block::Line),
                _ => {
                    self.run(node, inside, 0, &mut stray);
                    continue;
                }
            };
            flush(&mut stray, &mut out);
            out.extend(block);
        }
        flush(&mut stray, &mut out);
        out
    }

    fn heading(&mut self, level: u8, inside: Nodes<'a>) -> Block {
        self.shown.clear();
        self.in_heading = true;
        let runs = self.runs(inside, 0);
        self.in_heading = false;
        Block::Heading { level, runs }
    }

    fn items(&mut self, items: Nodes<'a>, depth: usize) -> Vec<Item> {
        let item = |(_, inside): (&Node, Nodes<'a>)| {
            // Its box stands first in it or in its first paragraph.
            let tick = inside.all().iter().take(2).find_map(|node| match node.part {
                Part::Tick(done) => Some(done),
                _ => None,
            });
            Item { tick, blocks: self.blocks(inside, depth) }
        };
        items.map(item).collect()
    }

    fn table(&mut self, columns: &[&'static str], inside: Nodes<'a>) -> Block {
        let mut rows = inside.map(|(_, cells)| cells.map(|(_, words)| self.runs(words, 0)).collect());
        let head = rows.next().unwrap_or_default();
        Block::Table { columns: columns.to_vec(), head, rows: rows.collect() }
    }

    fn runs(&mut self, nodes: Nodes<'a>, depth: usize) -> Vec<Run> {
        let mut out = Vec::new();
        for (node, inside) in nodes {
            self.run(node, inside, depth, &mut out);
        }
        out
    }

    /// Words, marks in them at most so deep in others.
    fn run(&mut self, node: &'a Node, inside: Nodes<'a>, depth: usize, out: &mut Vec<Run>) {
        let words = self.document.words(node);
        match &node.part {
            Part::Ask(ask) => out.extend(self.ask(*ask)),
            Part::Code(_) => out.push(Run::Code { text: words.to_owned() }),
            Part::Text(_) | Part::Html(_) => add_text(out, words),
            Part::SoftBreak => add_text(out, " "),
            Part::HardBreak => out.push(Run::Break),
            Part::Emphasis if depth < DEEPEST => out.push(Run::Emphasis { runs: self.runs(inside, depth + 1) }),
            Part::Strong if depth < DEEPEST => out.push(Run::Strong { runs: self.runs(inside, depth + 1) }),
            Part::Struck if depth < DEEPEST => out.push(Run::Struck { runs: self.runs(inside, depth + 1) }),
            Part::Link { to, .. } if depth < DEEPEST => {
                out.push(Run::Link { to: outward(to), runs: self.runs(inside, depth + 1) });
            }
            Part::Picture { file } if depth < DEEPEST => {
                let words = runs_text(&self.runs(inside, depth + 1));
                out.push(Run::Picture { words, file: is_local_picture(file).then(|| file.to_string()) });
            }
            _ => {
                for (node, inside) in inside {
                    self.run(node, inside, depth, out);
                }
            }
        }
    }

    /// Workings stay off paper; the cautions of what they give do not.
    fn workings(&mut self, index: usize) {
        if let Some(outcome) = self.evaluation.blocks.get(index) {
            self.cautions.extend(outcome.gives.iter().filter_map(|named| named.found.caution));
        }
    }

    fn ask(&mut self, index: usize) -> Option<Run> {
        let (ask, answer) = (self.document.asks.get(index)?, self.evaluation.answers.get(index)?);
        let units = self.evaluation.units;
        Some(match &answer.result {
            Err(_) => {
                self.unknown.push(ask.expression.clone());
                Run::Value { shown: UNKNOWN.to_owned(), other: None, state: State::Unknown }
            }
            Ok(found) => {
                self.beware(found);
                let shown = found.value.shown(units);
                if self.role.is_some_and(|role| self.withheld(role, &found.value, &shown)) {
                    return Some(Run::Value {
                        shown: "not on this ticket".to_owned(),
                        other: None,
                        state: State::Withheld,
                    });
                }
                let wanted = self.role.is_some() && !self.in_heading && self.shown.insert(shown.clone());
                let other = if wanted { in_other_units(&found.value, units) } else { None };
                Run::Value { shown, other, state: State::Found }
            }
        })
    }

    fn beware(&mut self, found: &Found) {
        self.cautions.extend(found.caution);
    }

    /// Money that is not this shop's own stays off its ticket, in whatever form it is asked for.
    fn withheld(&self, role: &str, value: &Value, shown: &str) -> bool {
        let money = match value {
            Value::Money(_) => true,
            _ => crate::measure::Currency::all().iter().any(|one| {
                shown.match_indices(one.sign.trim_end()).any(|(at, sign)| {
                    shown
                        .get(at + sign.len()..)
                        .is_some_and(|rest| rest.trim_start().starts_with(|c: char| c.is_ascii_digit()))
                })
            }),
        };
        if !money {
            return false;
        }
        let own = self.evaluation.record.costs.iter().filter(|line| line.shop.as_deref() == Some(role));
        let all = own.map(|line| line.amount).chain(self.evaluation.cost(Some(role)));
        !all.into_iter().any(|amount: Money| amount.to_string() == shown)
    }

    /// The table or the drawing an ask alone becomes.
    fn exhibit(&mut self, ask: usize) -> Option<Block> {
        let (evaluation, role) = (self.evaluation, self.role);
        let (exhibit, found) = Exhibit::of(self.document, evaluation, ask)?;
        self.beware(found);
        let own = |shop: &Option<String>| role.is_none() || shop.as_deref() == role;
        let name = |role: &str| shop_name(self.shops, role);
        Some(match exhibit {
            Exhibit::Costs => {
                let total = evaluation.record.total(role).unwrap_or_default();
                Block::Costs { rows: costs(&evaluation.record, role, name), total }
            }
            Exhibit::Steps => Block::Steps {
                rows: steps(
                    evaluation.record.steps.iter().filter(|step| own(&step.who)),
                    (self.document, evaluation),
                    name,
                ),
            },
            Exhibit::Drawing(drawing) => Block::Drawing { drawing },
            Exhibit::NothingHangs => Block::Remark { text: "No piece hangs yet.".to_owned() },
        })
    }
}

fn paragraph(runs: Vec<Run>) -> Option<Block> {
    (!runs.is_empty()).then_some(Block::Paragraph { runs })
}

/// Words that stand in no paragraph become one.
fn flush(stray: &mut Vec<Run>, out: &mut Vec<Block>) {
    out.extend(paragraph(std::mem::take(stray)));
}

fn add_text(out: &mut Vec<Run>, words: &str) {
    match out.last_mut() {
        Some(Run::Text { text }) => text.push_str(words),
        _ => out.push(Run::Text { text: words.to_owned() }),
    }
}

/// Where a link leads on paper: to the web or to mail. A link inside the notebook leads nowhere there.
fn outward(to: &str) -> Option<String> {
    let lower = to.trim().to_lowercase();
    let leads = ["http://", "https://", "mailto:"].iter().any(|start| lower.starts_with(start));
    (leads && is_safe_link(to)).then(|| to.trim().to_owned())
}
