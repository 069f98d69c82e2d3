//! The year at a glance: every step of every plan by week, the money by plan and month, editions nearly sold out.

use std::collections::{BTreeMap, BTreeSet};

use axum::extract::State;
use axum::response::Html;
use engine::measure::{Currency, Day, Money};
use engine::script::actuals::Firm;
use engine::script::record::{CostLine, Step};
use minijinja::{Value, context};

use super::page;
use crate::app::App;
use crate::notebook::Summary;
use crate::trouble::Refusal;

/// An edition with this share of its numbers left, or less, is nearly sold out.
const NEARLY: f64 = 0.25;
/// Weeks shown before this one and after it.
const WEEKS: (i64, i64) = (4, 52);

/// The page.
pub(crate) async fn get(State(app): State<App>) -> Result<Html<String>, Refusal> {
    let today = app.notebook.today();
    let all = app.with(|notebook| notebook.summaries()).await?;
    let plans: Vec<(String, &Summary)> =
        all.iter().filter_map(|plan| Some((plan.name.in_url(), plan.summary.as_ref().ok()?.as_ref()))).collect();
    let weeks = weeks(&plans, today);
    let due = plans.iter().filter(|(_, plan)| plan.finished.is_none()).flat_map(|(_, plan)| &plan.steps);
    let this =
        due.filter(|step| step.done.is_none() && monday(step.start) <= monday(today) && step.end >= today).count();
    let (months, rows, sums) = money(&plans);
    let nearly = nearly(&plans);
    page(
        &app,
        "year.html",
        context! {
            today => today.to_string(), week => week_words(today), this => this,
            weeks, months, rows, sums, nearly => nearly.clone(),
            anew => all.iter().filter(|plan| plan.anew).count(),
            plans => plans.len(), nearly_count => nearly.len(),
        },
    )
}

/// Monday of the week of a day.
fn monday(day: Day) -> Day {
    // 1 January 2024 was a Monday (calendar).
    let Some(first) = Day::new(2024, 1, 1) else { return day };
    day.plus(-first.until(day).rem_euclid(7)).unwrap_or(day)
}

fn week_words(day: Day) -> String {
    day.week().get(6..8).map(|number| format!("week {}", number.trim_start_matches('0'))).unwrap_or_default()
}

/// Steps by the week they begin in, or this week while they last; those long past and those far off are counted out.
fn weeks(plans: &[(String, &Summary)], today: Day) -> Vec<Value> {
    let now = monday(today);
    let mut weeks: BTreeMap<Day, Vec<(Step, String, String, String)>> = BTreeMap::new();
    for (slug, plan) in plans {
        for step in &plan.steps {
            let begins = monday(step.start);
            let under_way = step.done.is_none() && plan.finished.is_none() && begins < now && step.end >= today;
            let week = if under_way { now } else { begins };
            let away = now.until(week) / 7;
            if away < -WEEKS.0 || away > WEEKS.1 {
                continue;
            }
            let who = step.who.as_ref().map(|who| {
                plan.shops.iter().find(|(role, _)| role == who).map_or_else(|| who.clone(), |(_, shop)| shop.clone())
            });
            weeks.entry(week).or_default().push((
                step.clone(),
                slug.clone(),
                plan.title.clone(),
                who.unwrap_or_default(),
            ));
        }
    }
    // This week is shown even when nothing is due.
    weeks.entry(now).or_default();
    weeks
        .into_iter()
        .map(|(week, mut steps)| {
            steps.sort_by_key(|(step, _, title, _)| (step.start, step.end, title.clone()));
            let friday = week.plus(4).unwrap_or(week);
            context! {
                words => week_words(week), days => format!("{} to {}", week.brief(), friday.brief()), now => week == now, past => week < now,
                steps => steps.into_iter().map(|(step, slug, title, who)| context! {
                    what => step.what.clone(), slug, title, who, done => step.done.is_some(), late => step.late,
                    dates => if step.start == step.end { step.end.brief() } else { format!("{} to {}", step.start.brief(), step.end.brief()) },
                }).collect::<Vec<_>>(),
            }
        })
        .collect()
}

/// The month a cost falls into: that of its invoice or quote, else the last step of its shop, else of the plan.
fn month(plan: &Summary, line: &CostLine) -> Option<String> {
    let own = plan.steps.iter().filter(|step| line.shop.is_some() && step.who == line.shop).map(|step| step.end).max();
    let day = line.day.or(own).or_else(|| plan.steps.iter().map(|step| step.end).max())?;
    day.iso().get(..7).map(str::to_owned)
}

/// Money by plan and month: what is spent, and what is still to be paid.
fn money(plans: &[(String, &Summary)]) -> (Vec<String>, Vec<Value>, Vec<Value>) {
    type Both = (Money, Money);
    let mut months: BTreeSet<String> = BTreeSet::new();
    let mut table: Vec<(String, String, Currency, BTreeMap<String, Both>)> = Vec::new();
    for (slug, plan) in plans.iter().filter(|(_, plan)| !plan.costs.is_empty()) {
        let Some(currency) = plan.costs.first().map(|line| line.amount.currency) else { continue };
        let mut row: BTreeMap<String, Both> = BTreeMap::new();
        for line in &plan.costs {
            let month = month(plan, line).unwrap_or_else(|| "no date".to_owned());
            months.insert(month.clone());
            let (spent, committed) = row.entry(month).or_insert((Money::zero(currency), Money::zero(currency)));
            // A finished piece is paid for; a snag is paid when it is noted.
            let paid = matches!(line.firm, Firm::Invoiced | Firm::Snag) || plan.finished.is_some();
            let sum = if paid { &mut *spent } else { &mut *committed };
            *sum = sum.plus(line.amount).unwrap_or(*sum);
        }
        table.push((slug.clone(), plan.title.clone(), currency, row));
    }
    let months: Vec<String> = months.into_iter().collect();
    let add = |all: &mut Vec<(Currency, Both)>, currency: Currency, both: Both| match all
        .iter_mut()
        .find(|(one, _)| *one == currency)
    {
        Some((_, sum)) => *sum = (sum.0.plus(both.0).unwrap_or(sum.0), sum.1.plus(both.1).unwrap_or(sum.1)),
        None => all.push((currency, both)),
    };
    let cell = |both: Option<&Both>| {
        let shown = |money: &Money| (!money.amount.is_zero()).then(|| money.to_string());
        context! { spent => both.and_then(|both| shown(&both.0)), committed => both.and_then(|both| shown(&both.1)) }
    };
    let rows = table
        .iter()
        .map(|(slug, title, currency, row)| {
            let mut whole = (Money::zero(*currency), Money::zero(*currency));
            for both in row.values() {
                whole = (whole.0.plus(both.0).unwrap_or(whole.0), whole.1.plus(both.1).unwrap_or(whole.1));
            }
            context! { slug, title, cells => months.iter().map(|month| cell(row.get(month))).collect::<Vec<_>>(), whole => cell(Some(&whole)) }
        })
        .collect();
    // One line of sums a currency: dollars and crowns are never added up.
    let mut currencies: Vec<(Currency, Vec<Option<Both>>, Both)> = Vec::new();
    for (_, _, currency, _) in &table {
        if currencies.iter().any(|(one, ..)| one == currency) {
            continue;
        }
        let mut cells = Vec::new();
        let mut whole: Vec<(Currency, Both)> = Vec::new();
        for month in &months {
            let mut sum: Vec<(Currency, Both)> = Vec::new();
            for (_, _, own, row) in table.iter().filter(|(_, _, own, _)| own == currency) {
                if let Some(both) = row.get(month) {
                    add(&mut sum, *own, *both);
                    add(&mut whole, *own, *both);
                }
            }
            cells.push(sum.first().map(|(_, both)| *both));
        }
        let whole = whole.first().map_or((Money::zero(*currency), Money::zero(*currency)), |(_, both)| *both);
        currencies.push((*currency, cells, whole));
    }
    let sums = currencies
        .iter()
        .map(|(currency, cells, whole)| {
            context! { code => currency.code, cells => cells.iter().map(|both| cell(both.as_ref())).collect::<Vec<_>>(), whole => cell(Some(whole)) }
        })
        .collect();
    let names = months
        .iter()
        .map(|month| {
            let first = Day::parse(&format!("{month}-01"));
            first.map_or_else(|| month.clone(), short)
        })
        .collect();
    (names, rows, sums)
}

/// A month as the head of a column: `Nov 2026`.
fn short(first: Day) -> String {
    let (year, ..) = first.numbers();
    let month = first.brief().rsplit(' ').next().unwrap_or_default().to_owned();
    format!("{month} {year}")
}

/// Editions with few numbers left, fewest first.
fn nearly(plans: &[(String, &Summary)]) -> Vec<Value> {
    let mut all: Vec<_> = plans
        .iter()
        .filter_map(|(slug, plan)| {
            let edition = plan.edition.as_ref()?;
            let few = f64::from(edition.remaining()) <= f64::from(edition.size()) * NEARLY;
            (few && edition.size() > 1).then_some((edition.remaining(), edition.size(), slug, &plan.title))
        })
        .collect();
    all.sort();
    all.into_iter().map(|(left, size, slug, title)| context! { left, size, slug, title }).collect()
}
