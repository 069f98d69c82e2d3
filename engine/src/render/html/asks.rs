//! Live values in the prose: the number in its place, and its working in the margin.

use super::{Writer, said};
use crate::Value;
use crate::markup::{Name, Tag};
use crate::render::exhibit::{Exhibit, UNKNOWN};

impl Writer<'_> {
    pub(super) fn ask(&mut self, index: usize) {
        let (document, evaluation) = (self.document, self.evaluation);
        let (Some(ask), Some(answer)) = (document.asks.get(index), evaluation.answers.get(index)) else {
            return;
        };
        let units = evaluation.units;
        match &answer.result {
            Err(problem) => {
                let unknown = self.out.open(Tag::Span).class("unknown");
                let words = format_args!("{}; {}", problem.what, problem.next);
                unknown.attr(Name::Title, words).says(UNKNOWN);
                self.note(|out| said(out, "remark", problem));
            }
            Ok(found) => {
                self.caution(found);
                let given = self.givens.get(&*ask.expression).filter(|_| !self.in_heading);
                let given = given.and_then(|number| Some((*number, evaluation.record.givens.get(*number)?)));
                if let Some((number, given)) = given {
                    self.control(number, given);
                } else {
                    self.found(&ask.expression, &found.value);
                }
                if let Some(working) = evaluation.working(&ask.expression, found, answer.trace.as_deref()) {
                    self.note(|out| {
                        out.open(Tag::P).holds(|out| {
                            out.open(Tag::B).holds(|out| _ = out.value(&found.value, units));
                            out.text(" = ").text(&working);
                        });
                    });
                }
            }
        }
    }

    /// A value in the text, marked where it breaks a rule.
    fn found(&mut self, expression: &str, value: &Value) {
        let units = self.evaluation.units;
        let broken = self.broken.iter().find(|(path, _)| *path == expression).map(|(_, rule)| *rule);
        let class = match (broken.is_some_and(|rule| rule.must), value) {
            (true, _) => "marked",
            // A number keeps its unit beside it; a sentence goes on to the next line.
            (false, Value::Text(_)) => "found words",
            (false, _) => "found",
        };
        self.out.open(Tag::Span).class(class).holds(|out| _ = out.value(value, units));
        if let Some(rule) = broken {
            let (class, verb) =
                if rule.must { ("remark", " breaks a rule: ") } else { ("state slack", " goes against advice: ") };
            self.note(|out| {
                out.open(Tag::P).class(class).holds(|out| _ = out.value(value, units).text(verb).text(&rule.text));
            });
        }
    }

    /// Writes the table or the drawing an ask alone becomes; false where it is words like any other.
    pub(super) fn exhibit(&mut self, ask: usize) -> bool {
        let Some((exhibit, found)) = Exhibit::of(self.document, self.evaluation, ask) else { return false };
        match exhibit {
            Exhibit::Costs => self.costs(),
            Exhibit::Steps => self.steps(),
            Exhibit::Drawing(drawing) => drawing.figure(&mut self.out),
            Exhibit::NothingHangs => _ = self.out.fixed("<p class=\"problem\">No piece hangs yet. <span class=\"next\">State <span class=\"nb\">hangs(frame.outside, weight)</span> in the workings.</span></p>"),
        }
        self.caution(found);
        true
    }
}
