//! Live values in the prose: the number in its place, and its working in the margin.

use pulldown_cmark::{Event, TagEnd};

use super::{Writer, said};
use crate::Value;
use crate::document::reading::is_ask;
use crate::drawing;
use crate::markup::{Name, Tag};
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
            Err(problem) => {
                let unknown = self.out.open(Tag::Span).class("unknown");
                let words = format_args!("{}; {}", problem.what, problem.next);
                unknown.attr(Name::Title, words).says("not known yet");
                self.note(|out| said(out, "remark", problem));
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
                let mut working = String::new();
                let trace = answer.trace.as_deref();
                evaluation.write_working(&ask.expression, found, trace, &mut |words| working.push_str(words));
                if !working.is_empty() {
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
        match thing.get::<Shown>() {
            Some(Shown::Costs) => self.costs(),
            Some(Shown::Steps) => self.steps(),
            Some(Shown::Wall) => match evaluation.record.hung {
                Some(hung) => drawing::wall::hung(&hung, &document.title(), evaluation.units).figure(&mut self.out),
                None => _ = self.out.fixed("<p class=\"problem\">No piece hangs yet. <span class=\"next\">State <span class=\"nb\">hangs(frame.outside, weight)</span> in the workings.</span></p>"),
            },
            None => drawing::of(thing, evaluation.units)?.figure(&mut self.out),
        }
        self.next_ask += 1;
        self.caution(found);
        if self.depth == 0 {
            self.margin();
        }
        Some(index + 3)
    }
}
