//! What really happened, written into a plan's text, and taken out of the text of its next piece.

use std::ops::Range;

use super::parts::Block;
use super::reading::Document;
use crate::Message;
use crate::measure::{Day, Money};
use crate::record::Record;
use crate::syntax::calls::{Call, Calls};

/// The heading of the section such statements are written under when a plan has none yet.
const HEADING: &str = "As it went";
/// The statements of what happened.
const STATEMENTS: [&str; 4] = ["finished", "quoted", "invoiced", "snag"];

/// Something that happened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Actual {
    /// A step was done on a day, or was not done after all.
    Finished {
        /// The step.
        step: String,
        /// The day; nothing takes the statement out again.
        day: Option<Day>,
    },
    /// A shop quoted a line of cost.
    Quoted {
        /// The line of cost.
        what: String,
        /// How much.
        amount: Money,
        /// When.
        day: Day,
    },
    /// A shop invoiced a line of cost.
    Invoiced {
        /// The line of cost.
        what: String,
        /// How much.
        amount: Money,
        /// When.
        day: Day,
    },
    /// Something went wrong.
    Snag {
        /// What happened.
        what: String,
        /// What it cost.
        cost: Option<Money>,
        /// The step that is done again.
        step: Option<String>,
    },
}

impl Actual {
    fn statement(&self) -> Result<String, Message> {
        let money = |money: &Money| format!("{}.{}", money.amount.normalize(), money.currency.code.to_lowercase());
        Ok(match self {
            Self::Finished { step, day } => {
                format!("finished({}, \"{}\");", quoted(step)?, day.map(Day::iso).unwrap_or_default())
            }
            Self::Quoted { what, amount, day } => {
                format!("quoted({}, {}, \"{}\");", quoted(what)?, money(amount), day.iso())
            }
            Self::Invoiced { what, amount, day } => {
                format!("invoiced({}, {}, \"{}\");", quoted(what)?, money(amount), day.iso())
            }
            Self::Snag { what, cost, step } => {
                let mut all = vec![quoted(what)?];
                all.extend(cost.as_ref().map(money));
                if let Some(step) = step {
                    all.push(quoted(step)?);
                }
                format!("snag({});", all.join(", "))
            }
        })
    }

    /// Refuses what is said of a step or a cost the plan does not have. That a step is not done after all may always be said.
    ///
    /// # Errors
    /// When there is no such step or cost.
    pub fn belongs_to(&self, record: &Record) -> Result<(), Message> {
        match self {
            Self::Finished { step, day: Some(_) } | Self::Snag { step: Some(step), .. } => record.step_called(step),
            Self::Quoted { what, .. } | Self::Invoiced { what, .. } => record.cost_called(what),
            Self::Finished { day: None, .. } | Self::Snag { step: None, .. } => Ok(()),
        }
    }
}

/// A name as a text of the workings.
fn quoted(text: &str) -> Result<String, Message> {
    let text = text.trim();
    if text.is_empty()
        || text.chars().count() > 200
        || text.contains(['"', '\\', '`'])
        || text.contains(char::is_control)
    {
        return Err(Message::new(
            "what is written here is empty, longer than 200 letters, or holds a quote, a backslash or a line break",
            "write one short line without them",
        ));
    }
    Ok(format!("\"{text}\""))
}

/// Writes something that happened into the text: in the place of what said the same before, below the last such statement,
/// or in a section of its own at the end. The rest keeps every byte.
///
/// # Errors
/// When what is written holds a quote or a line break, or a step that was never said to be done is to be undone.
pub fn write(document: &Document, actual: &Actual) -> Result<String, Message> {
    let statement = actual.statement()?;
    if let Actual::Finished { step, day } = actual {
        let name = quoted(step)?;
        let found = document.blocks.iter().rev().find_map(|block| {
            let calls = Calls::of(&block.text);
            let call = calls.all().iter().rev().find(|call| {
                call.function == "finished"
                    && call.arguments.first().and_then(|range| calls.text(range)) == Some(name.clone())
            });
            call.map(|call| (block, call.clone()))
        });
        match (found, day) {
            (Some((block, call)), Some(_)) => {
                let range = within(block, &call.statement);
                return Ok(replaced(&document.text, range, &statement));
            }
            (Some((block, call)), None) => {
                return Ok(replaced(&document.text, whole_lines(&document.text, within(block, &call.statement)), ""));
            }
            (None, None) => {
                return Err(Message::new(
                    format!("the text does not say that `{step}` is done"),
                    "look at the page again: it may have changed",
                ));
            }
            (None, Some(_)) => {}
        }
    }
    let last = document.blocks.iter().rev().find(|block| Calls::of(&block.text).all().iter().any(happens));
    let Some(block) = last else {
        let gap = if document.text.ends_with("\n\n") || document.text.is_empty() {
            ""
        } else if document.text.ends_with('\n') {
            "\n"
        } else {
            "\n\n"
        };
        let text = &document.text;
        return Ok(format!("{text}{gap}## {HEADING} {{private}}\n\n```workings\n{statement}\n```\n"));
    };
    let calls = Calls::of(&block.text);
    let end = calls.all().iter().filter(|call| happens(call)).map(|call| call.statement.end).max().unwrap_or(0);
    let at = block.offset(end.saturating_sub(1)) + 1;
    let line = document.text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
    let indent: String =
        document.text.get(line..).unwrap_or_default().chars().take_while(|c| matches!(c, ' ' | '\t' | '>')).collect();
    Ok(replaced(&document.text, at..at, &format!("\n{indent}{statement}")))
}

/// Where everything that happened stands in the text, with the block or section that holds nothing else.
pub(super) fn places(document: &Document) -> Vec<Range<usize>> {
    let mut places = Vec::new();
    for block in &document.blocks {
        let calls = Calls::of(&block.text);
        let own: Vec<_> = calls.all().iter().filter(|call| happens(call)).map(|call| call.statement.clone()).collect();
        if own.is_empty() {
            continue;
        }
        let mut rest = block.text.clone();
        for range in own.iter().rev() {
            rest.replace_range(range.clone(), "");
        }
        if !rest.trim().is_empty() {
            places.extend(own.iter().map(|range| whole_lines(&document.text, within(block, range))));
            continue;
        }
        let section = block.section.and_then(|at| document.sections.get(at)).filter(|section| {
            let before = document.text.get(section.range.start..block.range.start).unwrap_or_default();
            let after = document.text.get(block.range.end..section.range.end).unwrap_or_default();
            before.trim().lines().count() == 1 && after.trim().is_empty()
        });
        let range = section.map_or(&block.range, |section| &section.range);
        places.push(whole_lines(&document.text, range.clone()));
    }
    places
}

fn happens(call: &Call) -> bool {
    STATEMENTS.contains(&call.function.as_str())
}

fn within(block: &Block, range: &Range<usize>) -> Range<usize> {
    block.offset(range.start)..block.offset(range.end.saturating_sub(1)) + 1
}

/// The range with its lines, when nothing else stands on them.
fn whole_lines(text: &str, range: Range<usize>) -> Range<usize> {
    let start = text.get(..range.start).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
    let rest = text.get(range.end..).unwrap_or_default();
    let end = rest.find('\n').map_or(text.len(), |at| range.end + at + 1);
    let alone = |part: Option<&str>| part.is_some_and(|part| part.trim().is_empty());
    if alone(text.get(start..range.start)) && alone(text.get(range.end..end)) { start..end } else { range }
}

fn replaced(text: &str, range: Range<usize>, new: &str) -> String {
    format!("{}{new}{}", text.get(..range.start).unwrap_or_default(), text.get(range.end..).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::{Actual, write};
    use crate::document::{Document, copy};
    use crate::measure::{Currency, Day, Money};
    use crate::{Evaluation, Facts, evaluate};

    const PLAN: &str = "+++\nstart = 2026-11-30\n+++\n# A\n\n```workings\nlet whole = cost(\"Scan\", 150.usd, \"scanner\") + cost(\"Print\", 430.usd, \"lab\");\nstep(\"Drum scan\", 3.days, \"scanner\");\nstep(\"Proof\", 2.days, after(\"Drum scan\"), \"lab\");\nlet last = step(\"Print\", 5.days, after(\"Proof\"), \"lab\");\n```\n\nDone `? last.end`, `? total()`.\n";

    fn day(text: &str) -> Day {
        Day::parse(text).expect("a day")
    }

    fn evaluated(text: &str, today: &str) -> Evaluation {
        evaluate(&Document::read(text), &Facts::on(day(today)), &Arc::default(), None)
    }

    fn usd(amount: i64) -> Money {
        Money::new(amount.into(), Currency::of("usd").expect("dollars"))
    }

    fn dates(evaluation: &Evaluation) -> Vec<(String, String, String)> {
        evaluation.record.steps.iter().map(|step| (step.what.clone(), step.start.iso(), step.end.iso())).collect()
    }

    fn row(what: &str, from: &str, to: &str) -> (String, String, String) {
        (what.to_owned(), from.to_owned(), to.to_owned())
    }

    #[test]
    fn a_step_done_late_moves_the_steps_that_wait_for_it_and_what_was_planned_stays() {
        // Working days counted on a calendar of December 2026, where the 1st is a Tuesday.
        let text =
            write(&Document::read(PLAN), &Actual::Finished { step: "Drum scan".into(), day: Some(day("2026-12-04")) });
        let evaluation = evaluated(&text.expect("written"), "2026-12-04");
        assert_eq!(evaluation.problems, Vec::new());
        assert_eq!(
            dates(&evaluation),
            [
                row("Drum scan", "2026-11-30", "2026-12-04"),
                row("Proof", "2026-12-07", "2026-12-08"),
                row("Print", "2026-12-09", "2026-12-15")
            ]
        );
        let print = evaluation.record.steps.last().expect("three steps");
        assert_eq!(print.planned, Some((day("2026-12-07"), day("2026-12-11"))));
        assert_eq!(evaluation.record.steps[0].done, Some(day("2026-12-04")));
    }

    #[test]
    fn a_failed_scan_is_done_again_and_costs_what_it_costs() {
        let document = Document::read(PLAN);
        let text = write(&document, &Actual::Finished { step: "Drum scan".into(), day: Some(day("2026-12-02")) })
            .expect("written");
        let snag = Actual::Snag {
            what: "Scan came back with a cast".into(),
            cost: Some(usd(165)),
            step: Some("Drum scan".into()),
        };
        let text = write(&Document::read(&text), &snag).expect("written");
        assert!(text.ends_with("## As it went {private}\n\n```workings\nfinished(\"Drum scan\", \"2026-12-02\");\nsnag(\"Scan came back with a cast\", 165.usd, \"Drum scan\");\n```\n"), "{text}");
        let evaluation = evaluated(&text, "2026-12-03");
        assert_eq!(evaluation.problems, Vec::new());
        assert_eq!(
            dates(&evaluation),
            [
                row("Drum scan", "2026-11-30", "2026-12-02"),
                row("Drum scan, again", "2026-12-03", "2026-12-07"),
                row("Proof", "2026-12-08", "2026-12-09"),
                row("Print", "2026-12-10", "2026-12-16")
            ]
        );
        assert_eq!(evaluation.cost(None), Some(usd(150 + 430 + 165)));
        assert_eq!(evaluation.record.planned(), Some(usd(580)));
        assert_eq!(evaluation.record.costs[2].shop.as_deref(), Some("scanner"));
    }

    #[test]
    fn an_invoice_stands_before_a_quote_and_a_quote_before_the_plan() {
        let at = day("2026-12-01");
        let quote = Actual::Quoted { what: "Print".into(), amount: usd(440), day: at };
        let text = write(&Document::read(PLAN), &quote).expect("written");
        assert_eq!(evaluated(&text, "2026-12-01").cost(None), Some(usd(590)));
        let bill = Actual::Invoiced { what: "Print".into(), amount: usd(200), day: at };
        let text = write(&Document::read(&text), &bill).expect("written");
        let rest = Actual::Invoiced { what: "Print".into(), amount: usd(245), day: at };
        let text = write(&Document::read(&text), &rest).expect("written");
        let evaluation = evaluated(&text, "2026-12-01");
        assert_eq!(evaluation.cost(None), Some(usd(595)));
        // What the workings named follows too, wherever the invoice is stated.
        assert_eq!(evaluation.value_of("whole").expect("named").value.shown(crate::measure::Units::Inch), "$595.00");
    }

    #[test]
    fn ticking_again_changes_the_day_and_unticking_takes_it_out() {
        let tick = |text: &str, at: Option<&str>| {
            write(&Document::read(text), &Actual::Finished { step: "Proof".into(), day: at.map(day) })
        };
        let once = tick(PLAN, Some("2026-12-08")).expect("written");
        let twice = tick(&once, Some("2026-12-09")).expect("written");
        assert_eq!(twice.matches("finished(").count(), 1);
        assert!(twice.contains("finished(\"Proof\", \"2026-12-09\");"));
        assert!(!tick(&twice, None).expect("taken out").contains("finished("));
        assert!(tick(PLAN, None).is_err());
    }

    #[test]
    fn a_step_not_done_by_today_is_late_and_the_rest_waits_for_it() {
        let text =
            write(&Document::read(PLAN), &Actual::Finished { step: "Drum scan".into(), day: Some(day("2026-12-02")) });
        let evaluation = evaluated(&text.expect("written"), "2026-12-11");
        assert!(evaluation.record.steps[1].late);
        assert_eq!(
            dates(&evaluation)[1..],
            [row("Proof", "2026-12-03", "2026-12-11"), row("Print", "2026-12-14", "2026-12-18")]
        );
    }

    #[test]
    fn what_names_no_step_or_cost_of_the_plan_is_a_problem_with_its_line() {
        let text =
            format!("{PLAN}\n```workings\nfinished(\"Poof\", \"2026-12-01\");\ninvoiced(\"Prints\", 3.usd);\n```\n");
        let problems = evaluated(&text, "2026-12-01").problems;
        assert_eq!(problems.len(), 2);
        assert!(problems[0].next.contains("`Proof`") && problems[0].line == 16, "{problems:?}");
        assert!(problems[1].what.contains("`Prints`"));
    }

    #[test]
    fn a_day_to_come_and_a_quote_in_a_name_are_refused() {
        let text = format!("{PLAN}\n```workings\nfinished(\"Proof\", \"2026-12-05\");\n```\n");
        assert!(evaluated(&text, "2026-12-01").problems[0].what.contains("still to come"));
        let bad = Actual::Snag { what: "a \"cast\"".into(), cost: None, step: None };
        assert!(write(&Document::read(PLAN), &bad).is_err());
    }

    #[test]
    fn no_day_and_no_amount_comes_along_to_the_next_piece() {
        let mut text = PLAN.replace("let last", "finished(\"Proof\", \"2026-12-08\");\nlet last");
        for actual in [
            Actual::Invoiced { what: "Print".into(), amount: usd(445), day: day("2026-12-09") },
            Actual::Snag { what: "Scratched".into(), cost: Some(usd(20)), step: None },
        ] {
            text = write(&Document::read(&text), &actual).expect("written");
        }
        let moved =
            format!("{text}\n## As it went {{private}}\n\n```workings\nfinished(\"Print\", \"2026-12-09\");\n```\n");
        let next = copy::next_piece(&Document::read(&moved), "a", "B", day("2027-02-01"), &[]).expect("copied");
        for gone in ["finished", "invoiced", "snag", "As it went", "2026-"] {
            assert!(!next.contains(gone), "{gone} came along: {next}");
        }
        assert!(next.contains("let last = step(\"Print\"") && evaluated(&next, "2027-02-01").problems.is_empty());
    }
}
