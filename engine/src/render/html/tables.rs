//! The tables of costs and of steps.

use super::Writer;
use crate::markup::{Html, Name, Tag};
use crate::record::Firm;
use crate::record::Step;
use crate::render::plain::{lateness, when};

impl Writer<'_> {
    pub(super) fn costs(&mut self) {
        let (view, evaluation) = (self.view, self.evaluation);
        let record = &evaluation.record;
        // What was planned stands beside its results, once anything was asked or went wrong.
        let both = record.costs.iter().any(|line| line.firm != Firm::Planned);
        let out = &mut self.out;
        out.fixed("<table class=\"costs\"><thead><tr><th scope=\"col\">what</th><th scope=\"col\">to</th>");
        if both {
            out.fixed("<th scope=\"col\" class=\"n\">planned</th><th scope=\"col\" class=\"n\">now</th>");
        } else {
            out.fixed("<th scope=\"col\" class=\"n\">cost</th>");
        }
        out.fixed("</tr></thead><tbody>");
        let number = |out: &mut Html, words: Option<String>| {
            out.open(Tag::Td).class("n").says(words.unwrap_or_default());
        };
        for line in &record.costs {
            out.open(Tag::Tr).holds(|out| {
                out.open(Tag::Th).attr(Name::Scope, "row").holds(|out| {
                    out.text(&line.what);
                    if line.firm != Firm::Planned {
                        let day = line.day.map(|day| format!(" {}", day.brief())).unwrap_or_default();
                        out.text(" ").open(Tag::Span).class("aside").says(format_args!("{}{day}", line.firm.word()));
                    }
                    if line.firm != Firm::Snag {
                        let bill = out.text(" ").open(Tag::Button).attr(Name::Type, "button").class("do happened");
                        let words = format_args!("quote or invoice for {}", line.what);
                        bill.attr(Name::DataCost, &line.what).attr(Name::AriaLabel, words).says("bill");
                    }
                });
                out.open(Tag::Td).says(line.shop.as_deref().map(|role| view.shop(role)).unwrap_or_default());
                if both {
                    number(out, line.planned.map(|money| money.to_string()));
                }
                number(out, Some(line.amount.to_string()));
            });
        }
        for open in &record.open {
            out.open(Tag::Tr).class("open").holds(|out| {
                out.open(Tag::Th).attr(Name::Scope, "row").says(&open.what);
                out.open(Tag::Td).says(open.shop.as_deref().map(|role| view.shop(role)).unwrap_or_default());
                if both {
                    number(out, None);
                }
                number(out, Some(open.shown().to_owned()));
            });
        }
        out.fixed("</tbody><tfoot><tr><td colspan=\"2\">Total</td>");
        if both {
            number(out, record.planned().map(|sum| sum.to_string()));
        }
        number(out, record.total(None));
        out.fixed("</tr></tfoot></table>\n");
    }

    pub(super) fn steps(&mut self) {
        let (document, evaluation) = (self.document, self.evaluation);
        let (view, steps, out) = (self.view, &evaluation.record.steps, &mut self.out);
        // Where every step waits for the one before it, none has a day to spare, and nothing is said of it.
        let some_wait_idle = steps.iter().any(|step| step.spare > Some(0));
        out.open(Tag::Ol).class("steps").holds(|out| {
            for step in steps {
                let item =
                    out.open(Tag::Li).attr(Name::DataStart, step.start.iso()).attr(Name::DataEnd, step.end.iso());
                let item = item.attr(Name::DataDays, step.days);
                let item = if step.done.is_some() { item.class("done") } else { item };
                item.holds(|out| {
                    out.open(Tag::Span).class("what").holds(|out| {
                        tick_off(out, step);
                        out.text(&step.what);
                    });
                    let who = step.who.as_deref().map(|role| view.shop(role)).unwrap_or_default();
                    out.text(" ").open(Tag::Span).class("who").says(who);
                    out.text(" ").open(Tag::Span).class("when").holds(|out| {
                        out.text(&when(step));
                        beside(out, step, lateness(document, evaluation, step), some_wait_idle);
                    });
                });
            }
        });
        out.text("\n");
        if !steps.is_empty() {
            out.open(Tag::P).class("screen").holds(|out| {
                let snag = out.open(Tag::Button).attr(Name::Type, "button").class("do happened");
                snag.flag(Name::DataSnag, true).says("note a snag");
            });
            out.text("\n");
        }
    }
}

/// The box that says a step is done.
fn tick_off(out: &mut Html, step: &Step) {
    let tick = out.open(Tag::Input).attr(Name::Type, "checkbox").attr(Name::DataStep, &step.what);
    let tick = tick.attr(Name::DataDay, step.done.map(|day| day.iso()).unwrap_or_default());
    drop(tick.attr(Name::AriaLabel, format_args!("{} is done", step.what)).flag(Name::Checked, step.done.is_some()));
    out.text(" ");
}

/// What stands beside the dates of a step: done, how late, what was planned, and the working days it may be put off.
fn beside(out: &mut Html, step: &Step, late: Option<String>, some_wait_idle: bool) {
    let planned = step.planned.filter(|(from, to)| (*from, *to) != (step.start, step.end)).map(|(from, to)| {
        if from == to {
            format!("planned {}", to.brief())
        } else {
            format!("planned {} to {}", from.brief(), to.brief())
        }
    });
    let is_late = late.is_some();
    let state = match (step.done, late, step.of == step.what) {
        (Some(_), ..) => Some("done".to_owned()),
        (None, Some(late), _) => Some(late),
        (None, None, false) => Some("not planned".to_owned()),
        _ => None,
    };
    let spare = step.spare.filter(|_| some_wait_idle).map(|days| match days {
        0 => "no day to spare".to_owned(),
        1 => "1 day to spare".to_owned(),
        days => format!("{days} days to spare"),
    });
    let words: Vec<_> = [state, planned, spare].into_iter().flatten().collect();
    if !words.is_empty() {
        let class = if is_late { "was late" } else { "was" };
        out.text(" ").open(Tag::Span).class(class).says(words.join(", "));
    }
}
