//! The tables of costs and of steps.

use std::fmt::Write as _;

use super::{Writer, escape};
use crate::document::plain::when;
use crate::script::actuals::Firm;
use crate::script::record::Step;

impl Writer<'_> {
    pub(super) fn costs(&self) -> String {
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

    pub(super) fn steps(&self) -> String {
        let mut out = "<ol class=\"steps\">".to_owned();
        let steps = &self.evaluation.record.steps;
        // Where every step waits for the one before it, none has a day to spare, and nothing is said of it.
        let some_wait_idle = steps.iter().any(|step| step.spare > Some(0));
        for step in steps {
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
                beside(step, some_wait_idle),
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
}

/// What stands beside the dates of a step: done, late, what was planned, and the working days it may be put off.
fn beside(step: &Step, some_wait_idle: bool) -> String {
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
    let spare = step.spare.filter(|_| some_wait_idle).map(|days| match days {
        0 => "no day to spare".to_owned(),
        1 => "1 day to spare".to_owned(),
        days => format!("{days} days to spare"),
    });
    let words: Vec<_> = [state, planned, spare].into_iter().flatten().collect();
    if words.is_empty() {
        return String::new();
    }
    let late = if step.late { " late" } else { "" };
    format!(" <span class=\"was{late}\">{}</span>", escape(&words.join(", ")))
}
