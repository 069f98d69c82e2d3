//! A plan worked out, as the HTML of its page. Safe: raw HTML of the text is shown as text, links
//! lead only to the web, to mail and to the notebook itself, and pictures come only from the notebook.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use pulldown_cmark::{CodeBlockKind, CowStr, Event, HeadingLevel, LinkType, Tag, TagEnd, html};

use super::plain::when;
use super::reading::{Document, is_workings, number};
use super::{Kind, Problem, change};
use crate::drawing;
use crate::evaluate::{Evaluation, Outcome};
use crate::script::actuals::Firm;
use crate::script::record::{Given, Rule, Step};
use crate::script::statements::Shown;
use crate::script::trace::Piece;
use crate::{Found, Value};

/// The largest page, in bytes: beyond it the rest of the text is left out with a remark.
const LARGEST: usize = 2 << 20;

/// Problems of the text as a whole that are listed above it.
const SHOWN: usize = 40;

/// What the plan's own words are shown with.
#[derive(Clone, Debug, Default)]
pub struct View {
    /// What each shop of the plan is called.
    pub shops: Vec<(String, String)>,
}

impl View {
    fn shop(&self, role: &str) -> String {
        let name = self.shops.iter().find(|(one, _)| one == role).map(|(_, name)| name.clone());
        name.unwrap_or_else(|| role.to_owned())
    }
}

/// A page's article.
#[must_use]
pub fn article(document: &Document, evaluation: &Evaluation, view: &View) -> String {
    let mut writer = Writer::new(document, evaluation, view);
    writer.write();
    writer.out
}

/// Text with the marks of HTML escaped.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    let mut rest = text;
    // Every mark is one byte, so that the text between them is copied whole.
    while let Some(at) = rest.bytes().position(|byte| matches!(byte, b'&' | b'<' | b'>' | b'"' | b'\'')) {
        let (before, after) = rest.split_at(at);
        out.push_str(before);
        let mut marks = after.chars();
        out.push_str(match marks.next() {
            Some('&') => "&amp;",
            Some('<') => "&lt;",
            Some('>') => "&gt;",
            Some('"') => "&quot;",
            _ => "&#39;",
        });
        rest = marks.as_str();
    }
    out.push_str(rest);
    out
}

/// Those of one block, of entries that stand in the order of their blocks.
fn of_block<T>(all: &[T], block: usize, block_of: impl Fn(&T) -> usize) -> &[T] {
    let from = all.partition_point(|one| block_of(one) < block);
    let after = all.get(from..).unwrap_or_default();
    after.get(..after.partition_point(|one| block_of(one) == block)).unwrap_or_default()
}

struct Writer<'a> {
    document: &'a Document,
    evaluation: &'a Evaluation,
    view: &'a View,
    out: String,
    notes: Vec<String>,
    /// Parts of conditions that do not hold, with the words of the rule.
    broken: Vec<(String, &'a Rule)>,
    /// Names of headings, with the last number given behind each.
    ids: BTreeMap<String, usize>,
    next_ask: usize,
    next_block: usize,
    next_section: usize,
    depth: usize,
    picture: usize,
    heading: bool,
    seen_title: bool,
}

impl<'a> Writer<'a> {
    fn new(document: &'a Document, evaluation: &'a Evaluation, view: &'a View) -> Self {
        let broken = evaluation.record.rules.iter().filter(|rule| !rule.kept).flat_map(|rule| {
            rule.because.iter().flat_map(|trace| &trace.0).filter_map(move |piece| match piece {
                Piece::Path(path) => Some((path.clone(), rule)),
                Piece::Text(_) => None,
            })
        });
        Self {
            document,
            evaluation,
            view,
            out: String::with_capacity(document.text.len() * 3),
            notes: Vec::new(),
            broken: broken.collect(),
            ids: BTreeMap::new(),
            next_ask: 0,
            next_block: 0,
            next_section: 0,
            depth: 0,
            picture: 0,
            heading: false,
            seen_title: false,
        }
    }

    fn write(&mut self) {
        let document = self.document;
        self.head_problems();
        let first =
            document.sections.iter().find(|one| one.level > 1).map_or(document.text.len(), |one| one.range.start);
        let _ = write!(
            self.out,
            "<p class=\"write-top\"><button type=\"button\" class=\"do write\" data-from=\"{}\" data-to=\"{first}\">write here</button></p>",
            document.body
        );
        let mut index = 0;
        while let Some((event, range)) = document.events.get(index) {
            if self.out.len() > LARGEST {
                self.out.push_str("<p class=\"problem\">The page ends here: it would be larger than 2 MB. The text itself is kept whole.</p>");
                return;
            }
            if let Event::Start(Tag::Heading { .. }) = event {
                self.next_section += 1;
            }
            index = self.event(index, event, range.start);
        }
    }

    /// Counts what is left out, so that later answers are not mixed up.
    fn skip(&mut self, event: &Event<'_>) {
        match event {
            Event::Code(words) if is_ask(words) => self.next_ask += 1,
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) if is_workings(info) => self.next_block += 1,
            _ => {}
        }
    }

    /// Writes one event and gives the index of the next.
    fn event(&mut self, index: usize, event: &Event<'static>, at: usize) -> usize {
        let document = self.document;
        match event {
            Event::Start(Tag::Heading { level, .. }) => return self.open_heading(index, *level, at),
            Event::End(TagEnd::Heading(level)) => self.close_heading(*level),
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) if is_workings(info) => {
                let end = document
                    .events
                    .get(index..)
                    .and_then(|rest| rest.iter().position(|(event, _)| matches!(event, Event::End(TagEnd::CodeBlock))));
                self.workings();
                return index + end.unwrap_or(0) + 1;
            }
            Event::Start(Tag::Paragraph) => {
                if let Some(next) = self.lone_ask(index) {
                    return next;
                }
                self.open(&format!("<p{}>", self.line(at)));
            }
            Event::End(TagEnd::Paragraph) => self.close("</p>\n"),
            Event::Start(Tag::HtmlBlock) => self.open("<p>"),
            Event::End(TagEnd::HtmlBlock) => self.close("</p>\n"),
            Event::Start(Tag::Table(columns)) => {
                let line = self.line(at);
                self.depth += 1;
                self.html(Event::Start(Tag::Table(columns.clone())));
                if self.out.ends_with("<table>") {
                    self.out.truncate(self.out.len() - 1);
                    let _ = write!(self.out, "{line}>");
                }
                return self.table(index + 1);
            }
            Event::Start(Tag::Link { link_type, dest_url, title, .. }) => {
                self.depth += 1;
                self.link(*link_type, dest_url, title);
            }
            Event::End(TagEnd::Link) => {
                self.depth -= 1;
                self.out.push_str("</a>");
            }
            Event::Start(Tag::Image { dest_url, .. }) => {
                self.depth += 1;
                self.picture += 1;
                let source = if is_local_picture(dest_url) { escape(dest_url) } else { String::new() };
                let _ = write!(self.out, "<img src=\"{source}\" alt=\"");
            }
            Event::End(TagEnd::Image) => {
                self.depth -= 1;
                self.picture -= 1;
                self.out.push_str("\">");
            }
            Event::Start(tag) => {
                self.depth += 1;
                self.html(Event::Start(tag.clone()));
            }
            Event::End(tag) => {
                self.html(Event::End(*tag));
                self.depth = self.depth.saturating_sub(1);
                if self.depth == 0 {
                    self.margin();
                }
            }
            Event::Code(words) if is_ask(words) => self.ask(),
            Event::Html(text) | Event::InlineHtml(text) | Event::Text(text) => self.out.push_str(&escape(text)),
            Event::Code(text) if self.picture > 0 => self.out.push_str(&escape(text)),
            Event::SoftBreak if self.picture > 0 => self.out.push(' '),
            Event::TaskListMarker(done) => self.tick(index, *done, at),
            other => self.html(other.clone()),
        }
        index + 1
    }

    fn html(&mut self, event: Event<'static>) {
        // The library keeps the state of a table between events, so tables are written whole by `table`.
        html::push_html(&mut self.out, std::iter::once(event));
    }

    fn line(&self, at: usize) -> String {
        if self.depth == 0 { format!(" data-line=\"{}\"", self.document.lines.line(at)) } else { String::new() }
    }

    fn open(&mut self, tag: &str) {
        self.out.push_str(tag);
        self.depth += 1;
    }

    fn close(&mut self, tag: &str) {
        self.out.push_str(tag);
        self.depth = self.depth.saturating_sub(1);
        if self.depth == 0 {
            self.margin();
        }
    }

    /// What stands beside the passage just written.
    fn margin(&mut self) {
        let notes = std::mem::take(&mut self.notes);
        if !notes.is_empty() {
            let _ = writeln!(self.out, "<aside class=\"working\" aria-label=\"Workings\">{}</aside>", notes.concat());
        }
    }

    fn note(&mut self, note: String) {
        if !self.notes.contains(&note) {
            self.notes.push(note);
        }
    }

    fn caution(&mut self, found: &Found) {
        if let Some(caution) = found.caution {
            self.note(format!("<p class=\"caution\">{}</p>", escape(caution)));
        }
    }

    // ------------------------------------------------------------------------------------------------ headings

    fn open_heading(&mut self, index: usize, level: HeadingLevel, at: usize) -> usize {
        let section = self.document.sections.get(self.next_section - 1);
        if number(level) == 1 && !self.seen_title {
            self.seen_title = true;
            // The title block shows it.
            let end =
                self.document.events.get(index..).and_then(|rest| {
                    rest.iter().position(|(event, _)| matches!(event, Event::End(TagEnd::Heading(_))))
                });
            let end = index + end.unwrap_or(0) + 1;
            for (event, _) in self.document.events.get(index..end).unwrap_or_default() {
                self.skip(event);
            }
            return end;
        }
        let tag = number(level).max(2);
        let title = section.map(|one| one.title.clone()).unwrap_or_default();
        let id = self.id(&title);
        let (from, to) = section.map_or((at, at), |one| (one.range.start, one.range.end));
        let line = self.line(at);
        let _ = write!(self.out, "<h{tag} id=\"{id}\"{line} data-from=\"{from}\" data-to=\"{to}\">");
        self.depth += 1;
        self.heading = true;
        index + 1
    }

    fn close_heading(&mut self, level: HeadingLevel) {
        let tag = number(level).max(2);
        let section = self.document.sections.get(self.next_section - 1);
        self.heading = false;
        self.depth = self.depth.saturating_sub(1);
        let Some(section) = section else {
            let _ = writeln!(self.out, "</h{tag}>");
            return;
        };
        let _ = writeln!(
            self.out,
            " <button type=\"button\" class=\"do write\" data-from=\"{}\" data-to=\"{}\" aria-label=\"write the section {}\">write</button></h{tag}>",
            section.range.start,
            section.range.end,
            escape(&section.title)
        );
        if section.level == 2 || section.shop.is_some() || section.private {
            let words = match (&section.shop, section.private) {
                (_, true) => "private, on no ticket".to_owned(),
                (Some(role), _) => format!("on the ticket for {}", escape(&self.view.shop(role))),
                (None, _) if self.document.front.shops.is_empty() => String::new(),
                (None, _) => "on no ticket".to_owned(),
            };
            if !words.is_empty() {
                let _ = writeln!(self.out, "<p class=\"for aside\">{words}</p>");
            }
        }
        self.margin();
    }

    /// An id no form control or script could be mistaken for.
    fn id(&mut self, title: &str) -> String {
        let slug: String = title.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
        let slug: Vec<_> = slug.split('-').filter(|part| !part.is_empty()).collect();
        let base = format!("h-{}", slug.join("-"));
        // The number after the last one given for this name; another heading may have it as its own name.
        let mut count = self.ids.get(&base).copied().unwrap_or(0) + 1;
        let mut id = if count == 1 { base.clone() } else { format!("{base}-{count}") };
        while count > 1 && self.ids.contains_key(&id) {
            count += 1;
            id = format!("{base}-{count}");
        }
        self.ids.insert(base, count);
        self.ids.entry(id.clone()).or_insert(1);
        id
    }

    // ---------------------------------------------------------------------------------------------------- asks

    fn ask(&mut self) {
        let index = self.next_ask;
        self.next_ask += 1;
        let (Some(ask), Some(answer)) = (self.document.asks.get(index), self.evaluation.answers.get(index)) else {
            return;
        };
        let units = self.evaluation.units;
        if self.picture > 0 {
            let text =
                answer.result.as_ref().map_or_else(|_| "not known yet".to_owned(), |found| found.value.shown(units));
            self.out.push_str(&escape(&text));
            return;
        }
        match &answer.result {
            Err(problem) => {
                let _ = write!(
                    self.out,
                    "<span class=\"unknown\" title=\"{}\">not known yet</span>",
                    escape(&format!("{}; {}", problem.what, problem.next))
                );
                self.note(format!("<p class=\"remark\">{}</p>", said(problem)));
            }
            Ok(found) => {
                self.caution(found);
                let shown = found.value.shown(units);
                let given = self.evaluation.record.givens.iter().enumerate().find(|(_, given)| {
                    given.place.as_ref().is_some_and(|place| place.name.as_deref() == Some(&ask.expression))
                });
                if let Some((number, given)) = given.filter(|_| !self.heading) {
                    let control = self.control(number, given);
                    self.out.push_str(&control);
                } else {
                    let broken = self.broken.iter().find(|(path, _)| *path == ask.expression).map(|(_, rule)| *rule);
                    let class = if broken.is_some_and(|rule| rule.must) { "marked" } else { "found" };
                    let _ = write!(self.out, "<span class=\"{class}\">{}</span>", escape(&shown));
                    if let Some(rule) = broken {
                        let (class, verb) = if rule.must {
                            ("remark", "breaks a rule")
                        } else {
                            ("state slack", "goes against advice")
                        };
                        self.note(format!(
                            "<p class=\"{class}\">{} {verb}: {}</p>",
                            escape(&shown),
                            escape(&rule.text)
                        ));
                    }
                }
                if let Some(working) = self.evaluation.working(&ask.expression, found, answer.trace.as_deref()) {
                    self.note(format!("<p><b>{}</b> = {}</p>", escape(&shown), escape(&working)));
                }
            }
        }
    }

    /// A paragraph that is one ask for a table or a drawing becomes it.
    fn lone_ask(&mut self, index: usize) -> Option<usize> {
        let document = self.document;
        let (Some((Event::Code(words), _)), Some((Event::End(TagEnd::Paragraph), _))) =
            (document.events.get(index + 1), document.events.get(index + 2))
        else {
            return None;
        };
        if !is_ask(words) {
            return None;
        }
        let evaluation = self.evaluation;
        let Ok(found) = &evaluation.answers.get(self.next_ask)?.result else { return None };
        let Value::Thing(thing) = &found.value else { return None };
        let html = if let Some(shown) = thing.get::<Shown>() {
            match shown {
                Shown::Costs => self.costs(),
                Shown::Steps => self.steps(),
                Shown::Wall => evaluation.record.hung.map_or_else(
                    || "<p class=\"problem\">No piece hangs yet. <span class=\"next\">State `hangs(frame.outside, weight)` in the workings.</span></p>".to_owned(),
                    |hung| drawing::wall::hung(&hung, &document.title(), evaluation.units).figure(),
                ),
            }
        } else {
            drawing::of(thing, evaluation.units)?.figure()
        };
        self.next_ask += 1;
        self.out.push_str(&html);
        self.caution(found);
        if self.depth == 0 {
            self.margin();
        }
        Some(index + 3)
    }

    fn costs(&self) -> String {
        let record = &self.evaluation.record;
        // What was planned stands beside what it came to, once anything was asked or went wrong.
        let both = record.costs.iter().any(|line| line.firm != Firm::Planned);
        let planned = if both { "<th scope=\"col\" class=\"n\">planned</th>" } else { "" };
        let mut out = format!(
            "<table class=\"costs\"><thead><tr><th scope=\"col\">what</th><th scope=\"col\">to</th>{planned}<th scope=\"col\" class=\"n\">{}</th></tr></thead><tbody>",
            if both { "now" } else { "cost" }
        );
        for line in &record.costs {
            let shop = line.shop.as_deref().map(|role| self.view.shop(role)).unwrap_or_default();
            let what = escape(&line.what);
            let _ = write!(out, "<tr><th scope=\"row\">{what}");
            if line.firm != Firm::Planned {
                let day = line.day.map(|day| format!(" {}", day.brief())).unwrap_or_default();
                let _ = write!(out, " <span class=\"aside\">{}{day}</span>", line.firm.word());
            }
            if line.firm != Firm::Snag {
                let _ = write!(
                    out,
                    " <button type=\"button\" class=\"do happened\" data-cost=\"{what}\" aria-label=\"quote or invoice for {what}\">bill</button>"
                );
            }
            let _ = write!(out, "</th><td>{}</td>", escape(&shop));
            if both {
                let planned = line.planned.map(|money| money.to_string()).unwrap_or_default();
                let _ = write!(out, "<td class=\"n\">{planned}</td>");
            }
            let _ = write!(out, "<td class=\"n\">{}</td></tr>", line.amount);
        }
        let sum = self.evaluation.cost(None).map(|sum| sum.to_string()).unwrap_or_default();
        let planned = record.planned().map(|sum| sum.to_string()).unwrap_or_default();
        let planned = if both { format!("<td class=\"n\">{planned}</td>") } else { String::new() };
        let _ = writeln!(
            out,
            "</tbody><tfoot><tr><td colspan=\"2\">in all</td>{planned}<td class=\"n\">{sum}</td></tr></tfoot></table>"
        );
        out
    }

    fn steps(&self) -> String {
        let mut out = "<ol class=\"steps\">".to_owned();
        for step in &self.evaluation.record.steps {
            let who = step.who.as_deref().map(|role| self.view.shop(role)).unwrap_or_default();
            let _ = write!(
                out,
                "<li data-start=\"{}\" data-end=\"{}\" data-days=\"{}\"{}><span class=\"what\">{}{}</span> <span class=\"who\">{}</span> <span class=\"when\">{}{}</span></li>",
                step.start.iso(),
                step.end.iso(),
                step.days,
                if step.done.is_some() { " class=\"done\"" } else { "" },
                self.tick_off(step),
                escape(&step.what),
                escape(&who),
                when(step),
                beside(step),
            );
        }
        out.push_str("</ol>\n");
        if !self.evaluation.record.steps.is_empty() {
            out.push_str("<p class=\"screen\"><button type=\"button\" class=\"do happened\" data-snag>note a snag</button></p>\n");
        }
        out
    }

    /// The box that says a step is done.
    fn tick_off(&self, step: &Step) -> String {
        let what = escape(&step.what);
        let (checked, day) = step.done.map_or((String::new(), String::new()), |day| (" checked".to_owned(), day.iso()));
        format!(
            "<input type=\"checkbox\" data-step=\"{what}\" data-day=\"{day}\" aria-label=\"{what} is done\"{checked}> "
        )
    }

    // ------------------------------------------------------------------------------------------------ workings

    fn workings(&mut self) {
        let index = self.next_block;
        self.next_block += 1;
        let (Some(block), Some(outcome)) = (self.document.blocks.get(index), self.evaluation.blocks.get(index)) else {
            return;
        };
        let first = self.document.lines.line(block.place(1, 1));
        let wrong = !outcome.problems.is_empty();
        let lines = block.text.lines().count();
        let _ = write!(
            self.out,
            "<details class=\"workings{}\" id=\"w-{index}\" data-line=\"{}\"{}><summary><span class=\"label\">workings</span> {}{} <b class=\"unfold\">fold the text away</b><b class=\"shut\">show the text</b></summary><div class=\"written\" tabindex=\"0\" role=\"region\" aria-label=\"Text of workings {}\">",
            if wrong { " has-problem" } else { "" },
            block.line,
            if wrong { " open" } else { "" },
            counted(lines, "line"),
            match (outcome.gives.len(), outcome.problems.len()) {
                (0, 0) => String::new(),
                (names, 0) => format!(", {}", counted(names, "name")),
                (_, problems) => format!(", {}", counted(problems, "problem")),
            },
            index + 1
        );
        for (number, line) in block.text.lines().enumerate() {
            let number = first + number;
            let _ = write!(self.out, "<code data-line=\"{number}\">{}</code>", escape(line));
            for problem in outcome.problems.iter().filter(|problem| problem.line == number) {
                let _ = write!(self.out, "<p class=\"problem\">{}</p>", said(problem));
            }
        }
        for problem in
            outcome.problems.iter().filter(|problem| problem.line < first || problem.line >= first + lines.max(1))
        {
            let _ = write!(self.out, "<p class=\"problem\">{}</p>", said(problem));
        }
        self.out.push_str("</div></details>\n");
        self.stated(index);
        if self.depth == 0 {
            self.margin();
        }
        self.names(index, outcome);
    }

    /// Rules, costs and steps of a block, in the margin.
    fn stated(&mut self, block: usize) {
        let record = &self.evaluation.record;
        for rule in of_block(&record.rules, block, |rule| rule.block) {
            let class = match (rule.kept, rule.must) {
                (true, _) => "kept",
                (false, true) => "broken",
                (false, false) => "slack",
            };
            let because = rule.because.as_ref().and_then(|trace| self.evaluation.shown(trace));
            let words = match (rule.kept, because) {
                (true, Some(because)) => format!("{}: {}", escape(&rule.text), escape(&because)),
                (true, None) => escape(&rule.text),
                (false, Some(because)) => {
                    format!("{}, and this does not hold: {}", escape(&rule.text), escape(&because))
                }
                (false, None) => format!("{}, and this does not hold", escape(&rule.text)),
            };
            self.note(format!("<p class=\"state {class}\">{words}</p>"));
        }
        for line in of_block(&record.costs, block, |line| line.block) {
            let shop = line.shop.as_deref().map(|role| format!(", {}", self.view.shop(role))).unwrap_or_default();
            self.note(format!("<p><b>{}</b> {}{}</p>", line.amount, escape(&line.what), escape(&shop)));
        }
        for step in of_block(&record.steps, block, |step| step.block) {
            let who = step.who.as_deref().map(|role| format!(", {}", self.view.shop(role))).unwrap_or_default();
            self.note(format!("<p><b>{}</b> {}{}</p>", when(step), escape(&step.what), escape(&who)));
        }
    }

    fn names(&mut self, block: usize, outcome: &'a Outcome) {
        let units = self.evaluation.units;
        let givens: Vec<_> =
            self.evaluation.record.givens.iter().enumerate().filter(|(_, given)| given.block == block).collect();
        let mut rows = String::new();
        let bound = |name: &str| {
            givens
                .iter()
                .find(|(_, given)| given.place.as_ref().is_some_and(|place| place.name.as_deref() == Some(name)))
        };
        for named in outcome
            .gives
            .iter()
            .filter(|named| !named.name.starts_with('_') && !matches!(named.found.value, Value::Nothing))
        {
            let value = match bound(&named.name) {
                Some((number, given)) => {
                    format!("{} <span class=\"aside\">{}</span>", self.control(*number, given), escape(&given.label))
                }
                None => escape(&named.found.value.shown(units)),
            };
            let _ = write!(rows, "<tr><th scope=\"row\">{}</th><td>{value}</td></tr>", escape(&named.name));
        }
        for (number, given) in
            givens.iter().filter(|(_, given)| given.place.as_ref().is_none_or(|place| place.name.is_none()))
        {
            let _ = write!(
                rows,
                "<tr><th scope=\"row\" class=\"label\">{}</th><td>{}</td></tr>",
                escape(&given.label),
                self.control(*number, given)
            );
        }
        if !rows.is_empty() {
            let _ = writeln!(
                self.out,
                "<table class=\"names\"><caption class=\"unseen\">Names workings {} give</caption><thead class=\"unseen\"><tr><th scope=\"col\">name</th><th scope=\"col\">value</th></tr></thead><tbody>{rows}</tbody></table>",
                block + 1
            );
        }
    }

    /// What changes a given on the page.
    fn control(&self, number: usize, given: &Given) -> String {
        let units = self.evaluation.units;
        let Some(place) = &given.place else {
            return format!("<span class=\"found\">{}</span>", escape(&given.value.shown(units)));
        };
        let written = self.document.text.get(place.value.clone()).unwrap_or_default();
        let label = escape(&given.label);
        if !given.choices.is_empty() && given.choices.len() == place.choices.len() {
            let mut out =
                format!("<span class=\"given choice\"><select data-given=\"{number}\" aria-label=\"{label}\">");
            for (index, choice) in given.choices.iter().enumerate() {
                let same = crate::script::operators::order(choice, &given.value).is_ok_and(std::cmp::Ordering::is_eq);
                let _ = write!(
                    out,
                    "<option value=\"{index}\"{}>{}</option>",
                    if same { " selected" } else { "" },
                    escape(&choice.shown(units))
                );
            }
            out.push_str("</select></span>");
            return out;
        }
        match change::literal(written) {
            change::Literal::Number { number: digits, unit } => {
                let (shown, words) = unit.map_or((String::new(), String::new()), |unit| {
                    (format!("\u{a0}{}", unit.shown), format!(", in {}", unit.words))
                });
                format!(
                    "<span class=\"given\"><input data-given=\"{number}\" value=\"{}\" size=\"{}\" inputmode=\"decimal\" autocomplete=\"off\" aria-label=\"{label}{words}\">{shown}</span>",
                    escape(&digits),
                    digits.chars().count().max(1)
                )
            }
            change::Literal::Money { number: digits, currency } => format!(
                "<span class=\"given\">{}<input data-given=\"{number}\" value=\"{}\" size=\"{}\" inputmode=\"decimal\" autocomplete=\"off\" aria-label=\"{label}, in {}\"></span>",
                currency.sign,
                escape(&digits),
                digits.chars().count().max(1),
                currency.code
            ),
            change::Literal::Truth(truth) => format!(
                "<span class=\"given choice\"><select data-given=\"{number}\" aria-label=\"{label}\"><option value=\"yes\"{}>yes</option><option value=\"no\"{}>no</option></select></span>",
                if truth { " selected" } else { "" },
                if truth { "" } else { " selected" }
            ),
            change::Literal::Text(text) => format!(
                "<span class=\"given\"><input data-given=\"{number}\" value=\"{}\" size=\"{}\" autocomplete=\"off\" aria-label=\"{label}\"></span>",
                escape(&text),
                text.chars().count().clamp(1, 40)
            ),
            change::Literal::Calculation => {
                format!("<span class=\"found\">{}</span>", escape(&given.value.shown(units)))
            }
        }
    }

    // ---------------------------------------------------------------------------------------------------- rest

    /// A table, whole: the library that writes it keeps state from row to row.
    fn table(&mut self, from: usize) -> usize {
        let document = self.document;
        let mut index = from;
        let mut head = true;
        while let Some((event, range)) = document.events.get(index) {
            match event {
                Event::Start(Tag::TableHead) => self.out.push_str("<thead><tr>"),
                Event::End(TagEnd::TableHead) => {
                    head = false;
                    self.out.push_str("</tr></thead><tbody>");
                }
                Event::Start(Tag::TableRow) => self.out.push_str("<tr>"),
                Event::End(TagEnd::TableRow) => self.out.push_str("</tr>"),
                Event::Start(Tag::TableCell) => self.out.push_str(if head { "<th scope=\"col\">" } else { "<td>" }),
                Event::End(TagEnd::TableCell) => self.out.push_str(if head { "</th>" } else { "</td>" }),
                Event::End(TagEnd::Table) => {
                    self.close("</tbody></table>\n");
                    return index + 1;
                }
                event => {
                    index = self.event(index, event, range.start);
                    continue;
                }
            }
            index += 1;
        }
        index
    }

    fn tick(&mut self, index: usize, done: bool, at: usize) {
        let mut words = String::new();
        for (event, _) in self.document.events.get(index + 1..).unwrap_or_default() {
            match event {
                Event::Text(text) | Event::Code(text) => words.push_str(text),
                Event::End(TagEnd::Item | TagEnd::Paragraph) | Event::Start(Tag::List(_)) => break,
                _ => {}
            }
        }
        let _ = write!(
            self.out,
            "<input type=\"checkbox\" data-tick=\"{}\" aria-label=\"{}\"{}> ",
            self.document.lines.line(at),
            escape(words.trim()),
            if done { " checked" } else { "" }
        );
    }

    fn link(&mut self, kind: LinkType, to: &CowStr<'_>, title: &CowStr<'_>) {
        let to = if kind == LinkType::Email { format!("mailto:{to}") } else { to.to_string() };
        if is_safe_link(&to) {
            let _ = write!(self.out, "<a href=\"{}\" rel=\"noopener noreferrer\"", escape(&to));
            if !title.is_empty() {
                let _ = write!(self.out, " title=\"{}\"", escape(title));
            }
            self.out.push('>');
        } else {
            self.out.push_str("<a>");
        }
    }

    /// What is wrong with the head and the text as a whole, above everything else.
    fn head_problems(&mut self) {
        let document = self.document;
        let place = |problem: &'a Problem| (problem.line, problem.column, problem.what.as_str());
        let of_text: BTreeSet<_> = document.problems.iter().map(place).collect();
        let is_own = |problem: &&'a Problem| {
            of_text.contains(&place(problem)) || document.lines.start(problem.line) < document.body
        };
        let own: Vec<_> = self.evaluation.problems.iter().filter(is_own).collect();
        let quotes: Vec<_> = self.evaluation.quotes.iter().filter_map(|quote| quote.matter.as_ref()).collect();
        if own.is_empty() && quotes.is_empty() {
            return;
        }
        self.out.push_str("<div class=\"problems\">");
        for matter in quotes {
            let _ = write!(self.out, "<p class=\"state slack quote\">{}.</p>", escape(&capital(matter)));
        }
        for problem in own.iter().take(SHOWN) {
            let _ = write!(self.out, "<p class=\"problem\">{}</p>", said(problem));
        }
        if let Some(more) = own.len().checked_sub(SHOWN).filter(|more| *more > 0) {
            let _ = write!(self.out, "<p class=\"problem\">And {more} more like these.</p>");
        }
        self.out.push_str("</div>\n");
    }
}

/// What the title block of a plan or a rate sheet shows: label and value.
#[must_use]
pub fn title_block(document: &Document, evaluation: &Evaluation) -> Vec<(&'static str, String)> {
    let units = evaluation.units;
    let front = &document.front;
    let mut block = Vec::new();
    if front.kind == Kind::RateSheet {
        block.push(("quoted", front.quoted.map_or_else(|| "undated".to_owned(), |day| day.to_string())));
        if let Some(until) = front.until {
            block.push(("holds until", until.to_string()));
        }
        if let Some(trade) = &front.trade {
            block.push(("trade", trade.clone()));
        }
        block.push(("currency", front.currency.code.to_owned()));
        return block;
    }
    if let Some(edition) = &evaluation.edition {
        let proofs = if front.proofs > 0 { format!(" + {} AP", front.proofs) } else { String::new() };
        block.push(("edition", format!("{}{proofs}", front.edition)));
        block.push(("left", format!("{} of {}", edition.remaining(), front.edition)));
    }
    if let Some(hung) = &evaluation.record.hung {
        block.push(("size", Value::List(vec![hung.width.into(), hung.height.into()]).shown(units)));
        if let Some(weight) = hung.weight {
            block.push(("weight", Value::from(weight).shown(units)));
        }
    }
    if let Some(last) = evaluation.record.steps.iter().map(|step| step.end).max() {
        block.push(("done by", last.to_string()));
    }
    let rules = &evaluation.record.rules;
    let broken = rules.iter().filter(|rule| rule.must && !rule.kept).count();
    let missed = rules.iter().filter(|rule| !rule.must && !rule.kept).count();
    if !rules.is_empty() {
        let words = match (broken, missed) {
            (0, 0) => "all kept".to_owned(),
            (0, _) => format!("{missed} not kept"),
            (_, 0) => format!("{broken} broken"),
            (_, _) => format!("{broken} broken, {missed} not kept"),
        };
        block.push(("rules", words));
    }
    block
}

fn said(problem: &Problem) -> String {
    format!(
        "Line {}, column {}: {}. <span class=\"next\">{}.</span>",
        problem.line,
        problem.column,
        ticked(&problem.what),
        ticked(&capital(&problem.next))
    )
}

/// Text between back-ticks, set apart.
fn ticked(text: &str) -> String {
    let mut out = String::new();
    for (index, part) in text.split('`').enumerate() {
        if index % 2 == 0 {
            out.push_str(&escape(part));
        } else {
            let _ = write!(out, "<span class=\"nb\">{}</span>", escape(part));
        }
    }
    out
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What stands beside the dates of a step once anything has happened: done, late, and what was planned.
fn beside(step: &Step) -> String {
    let planned = step.planned.filter(|(from, to)| (*from, *to) != (step.start, step.end)).map(|(from, to)| {
        if from == to {
            format!("planned {}", to.brief())
        } else {
            format!("planned {} to {}", from.brief(), to.brief())
        }
    });
    let state = match (step.done, step.late, step.of == step.what) {
        (Some(_), ..) => Some("done".to_owned()),
        (None, true, _) => Some("late".to_owned()),
        (None, false, false) => Some("not planned".to_owned()),
        _ => None,
    };
    let words: Vec<_> = [state, planned].into_iter().flatten().collect();
    if words.is_empty() {
        return String::new();
    }
    let late = if step.late { " late" } else { "" };
    format!(" <span class=\"was{late}\">{}</span>", escape(&words.join(", ")))
}

/// `six lines`: numbers to twelve in words.
fn counted(count: usize, what: &str) -> String {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    let number = WORDS.get(count).map_or_else(|| count.to_string(), |word| (*word).to_owned());
    format!("{number} {what}{}", if count == 1 { "" } else { "s" })
}

pub(super) fn is_ask(words: &str) -> bool {
    words.strip_prefix('?').is_some_and(|rest| rest.starts_with([' ', '\u{a0}']))
}

/// A link to the web, to mail, or inside the notebook.
pub(super) fn is_safe_link(to: &str) -> bool {
    let plain: String = to.chars().filter(|c| !c.is_control() && !c.is_whitespace()).collect::<String>().to_lowercase();
    let scheme = plain.split_once(':').map(|(scheme, _)| scheme).filter(|scheme| !scheme.contains(['/', '?', '#']));
    match scheme {
        Some(scheme) => matches!(scheme, "http" | "https" | "mailto"),
        // A browser reads a backslash as a slash, and two of either lead to another server.
        None => !plain.contains('\\') && !plain.starts_with("//"),
    }
}

/// A picture of the notebook itself: never from the web, where its owner would see who looks.
pub(super) fn is_local_picture(to: &str) -> bool {
    let plain: String = to.chars().filter(|c| !c.is_control() && !c.is_whitespace()).collect();
    !plain.contains([':', '\\']) && !plain.starts_with("//") && !plain.contains("..")
}
