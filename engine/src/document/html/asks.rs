//! Live values in the prose: the number in its place, and its working in the margin.

use pulldown_cmark::{Event, TagEnd};

use super::ink::Ink as _;
use super::{Writer, is_ask, said};
use crate::Value;
use crate::drawing;
use crate::script::statements::Shown;

impl Writer<'_> {
    pub(super) fn ask(&mut self) {
        let index = self.next_ask;
        self.next_ask += 1;
        let (document, evaluation) = (self.document, self.evaluation);
        let (Some(ask), Some(answer)) = (document.asks.get(index), evaluation.answers.get(index)) else {
            return;
        };
        let units = evaluation.units;
        match &answer.result {
            // Words beside a picture are an attribute of it.
            Err(_) if self.picture > 0 => self.out.push_str("not known yet"),
            Ok(found) if self.picture > 0 => {
                self.out.value(&found.value, units);
            }
            Err(problem) => {
                self.out.raw("<span class=\"unknown\" title=\"").text(&problem.what).raw("; ").text(&problem.next);
                self.out.raw("\">not known yet</span>");
                self.note(format!("<p class=\"remark\">{}</p>", said(problem)));
            }
            Ok(found) => {
                self.caution(found);
                let given = self.givens.get(&*ask.expression).filter(|_| !self.heading);
                let given = given.and_then(|number| Some((*number, evaluation.record.givens.get(*number)?)));
                if let Some((number, given)) = given {
                    self.control(number, given);
                } else {
                    self.found(&ask.expression, &found.value);
                }
                let mut note = String::from("<p><b>");
                note.value(&found.value, units).raw("</b> = ");
                let empty = note.len();
                let trace = answer.trace.as_deref();
                evaluation.write_working(&ask.expression, found, trace, &mut |words| _ = note.text(words));
                if note.len() > empty {
                    note.raw("</p>");
                    self.note(note);
                }
            }
        }
    }

    /// A value in the text, marked where it breaks a rule.
    fn found(&mut self, expression: &str, value: &Value) {
        let units = self.evaluation.units;
        let broken = self.broken.iter().find(|(path, _)| *path == expression).map(|(_, rule)| *rule);
        let class = if broken.is_some_and(|rule| rule.must) { "marked" } else { "found" };
        self.out.raw("<span class=\"").raw(class).raw("\">").value(value, units).raw("</span>");
        if let Some(rule) = broken {
            let (class, verb) =
                if rule.must { ("remark", " breaks a rule: ") } else { ("state slack", " goes against advice: ") };
            let mut note = String::new();
            note.raw("<p class=\"").raw(class).raw("\">").value(value, units).raw(verb).text(&rule.text).raw("</p>");
            self.note(note);
        }
    }

    /// A paragraph that is one ask for a table or a drawing becomes it.
    pub(super) fn lone_ask(&mut self, index: usize) -> Option<usize> {
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
}
