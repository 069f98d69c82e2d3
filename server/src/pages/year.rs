//! The year at a glance: every step of every plan by week, the money by plan and month, editions nearly sold out.

use std::collections::{BTreeMap, HashMap};

use axum::extract::{Query, State};
use axum::response::Html;
use engine::measure::{Currency, Day, Money};
use serde::Serialize;

use super::page;
use crate::error::Error;
use crate::names::Name;
use crate::notebook::{Due, Summary};
use crate::state::App;

/// An edition with this share of its numbers left, or less, is nearly sold out.
const NEARLY: f64 = 0.25;
/// Weeks shown before this one and after it.
const WEEKS: (i64, i64) = (4, 52);
/// Steps written out of one week.
const STEPS: usize = 24;
/// Months of money shown at once, and how many of them lie before this one.
const MONTHS: (u32, u32) = (12, 4);
/// Plans written out under the money, those with most of it first.
const PLANS: usize = 60;
/// Editions nearly sold out that are written out.
const EDITIONS: usize = 60;

/// What the page is asked for.
#[derive(Debug, Default, serde::Deserialize)]
pub(crate) struct YearQuery {
    /// The first month of money shown, like `2026-08`.
    from: Option<String>,
}

/// The page.
pub(crate) async fn get(State(app): State<App>, Query(asked): Query<YearQuery>) -> Result<Html<String>, Error> {
    let today = app.notebook.today();
    let all = app.with(|notebook| notebook.summaries.all()).await?;
    let plans: Vec<(&Name, &Summary)> =
        all.iter().filter_map(|plan| Some((&plan.name, plan.summary.as_ref().ok()?.as_ref()))).collect();
    let (weeks, this) = weeks(&plans, today);
    let here = months_from(today, -i64::from(MONTHS.1));
    let first = asked.from.and_then(|from| Day::parse(&format!("{}-01", from.trim()))).unwrap_or(here);
    let money = Table::of(&plans, first, first == here);
    let (nearly, nearly_count) = nearly(&plans);
    let own = YearPage {
        today: today.to_string(),
        week: week_words(today),
        this,
        weeks,
        nearly,
        nearly_count,
        months: money.heads(),
        rows: money.rows(),
        sums: money.sums(),
        more_rows: money.plans.len().saturating_sub(PLANS),
        earlier: in_url(months_from(first, -i64::from(MONTHS.0))),
        later: in_url(months_from(first, i64::from(MONTHS.0))),
        is_here: first == here,
        stale: all.iter().filter(|plan| plan.stale).count(),
        plans: plans.len(),
    };
    page(&app, "year.html", &own)
}

#[derive(Serialize)]
struct YearPage<'a> {
    today: String,
    week: String,
    /// How many steps are due in this week.
    this: usize,
    weeks: Vec<WeekRow<'a>>,
    nearly: Vec<EditionRow<'a>>,
    nearly_count: usize,
    /// The heads of the columns of money.
    months: Vec<String>,
    rows: Vec<MoneyRow<'a>>,
    sums: Vec<SumRow>,
    more_rows: usize,
    /// The first months of the tables before and after this one.
    earlier: String,
    later: String,
    is_here: bool,
    /// How many plans are being calculated again.
    stale: usize,
    plans: usize,
}

#[derive(Serialize)]
struct WeekRow<'a> {
    words: String,
    days: String,
    /// It is this week.
    now: bool,
    steps: Vec<StepRow<'a>>,
    /// How many are not written out.
    more: usize,
}

#[derive(Serialize)]
struct StepRow<'a> {
    what: &'a str,
    slug: String,
    title: &'a str,
    who: &'a str,
    done: bool,
    late: bool,
    dates: String,
}

/// Money of one plan.
#[derive(Serialize)]
struct MoneyRow<'a> {
    slug: String,
    title: &'a str,
    cells: Vec<MoneyCell>,
    whole: MoneyCell,
}

/// Money of all plans in one currency.
#[derive(Serialize)]
struct SumRow {
    code: &'static str,
    cells: Vec<MoneyCell>,
    whole: MoneyCell,
}

#[derive(Serialize)]
struct MoneyCell {
    spent: Option<String>,
    committed: Option<String>,
}

/// An edition nearly sold out.
#[derive(Serialize)]
struct EditionRow<'a> {
    left: u32,
    size: u32,
    slug: String,
    title: &'a str,
}

/// The first day of the month so many months away.
fn months_from(day: Day, months: i64) -> Day {
    let (year, month, _) = day.numbers();
    let count = i64::from(year) * 12 + i64::from(month) - 1 + months;
    let made = i16::try_from(count.div_euclid(12)).ok().zip(i8::try_from(count.rem_euclid(12) + 1).ok());
    made.and_then(|(year, month)| Day::new(year, month, 1)).unwrap_or(day)
}

/// A month as an address has it.
fn in_url(first: Day) -> String {
    first.iso().get(..7).unwrap_or_default().to_owned()
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

/// One step of one plan.
type Of<'a> = (&'a Due, &'a Name, &'a str);

/// Steps by the week they begin in, or this week while they last; those long past and those far off are counted out. And how
/// many are due in this week.
fn weeks<'a>(plans: &[(&'a Name, &'a Summary)], today: Day) -> (Vec<WeekRow<'a>>, usize) {
    let now = monday(today);
    let mut weeks: BTreeMap<Day, Vec<Of<'a>>> = BTreeMap::new();
    let mut due = 0;
    for (slug, plan) in plans {
        for step in &plan.steps {
            let begins = monday(step.start);
            let open = step.done.is_none() && plan.finished.is_none() && step.end >= today;
            due += usize::from(open && begins <= now);
            let week = if open && begins < now { now } else { begins };
            let away = now.until(week) / 7;
            if (-WEEKS.0..=WEEKS.1).contains(&away) {
                weeks.entry(week).or_default().push((step, slug, &plan.title));
            }
        }
    }
    // This week is shown even when nothing is due.
    weeks.entry(now).or_default();
    let shown = weeks.into_iter().map(|(week, mut steps)| {
        steps.sort_by_key(|(step, slug, title)| (step.start, step.end, *title, *slug));
        let friday = week.plus(4).unwrap_or(week);
        let more = steps.len().saturating_sub(STEPS);
        let steps = steps.into_iter().take(STEPS).map(|(step, slug, title)| StepRow {
            what: &step.what,
            slug: slug.in_url(),
            title,
            who: step.who.as_deref().unwrap_or_default(),
            done: step.done.is_some(),
            late: step.late,
            dates: span(step.start, step.end),
        });
        WeekRow { words: week_words(week), days: span(week, friday), now: week == now, steps: steps.collect(), more }
    });
    (shown.collect(), due)
}

/// One day, or the first and the last of several.
fn span(start: Day, end: Day) -> String {
    if start == end { end.brief() } else { format!("{} to {}", start.brief(), end.brief()) }
}

/// What is spent, and what is still to be paid.
type Both = (Money, Money);

/// Money by plan and month, within some months.
struct Table<'a> {
    /// The first day of each month; nothing for costs without a date.
    months: Vec<Option<Day>>,
    /// Plans with money in these months, those with most of it first: address, title, a cell a month, and all of them.
    plans: Vec<(&'a Name, &'a str, Vec<Option<Both>>, Both)>,
}

impl<'a> Table<'a> {
    /// The table of the months from one on, with a place for costs without a date when that is wanted.
    fn of(plans: &[(&'a Name, &'a Summary)], first: Day, with_undated: bool) -> Self {
        let mut months: Vec<Option<Day>> =
            (0..MONTHS.0).map(|month| Some(months_from(first, i64::from(month)))).collect();
        if with_undated {
            months.push(None);
        }
        let place: HashMap<Option<Day>, usize> = months.iter().enumerate().map(|(at, month)| (*month, at)).collect();
        let mut table = Vec::new();
        for (slug, plan) in plans {
            let mut cells: Vec<Option<Both>> = vec![None; months.len()];
            let mut whole: Option<Both> = None;
            for line in &plan.costs {
                let Some(cell) = place.get(&line.month).and_then(|at| cells.get_mut(*at)) else { continue };
                for sum in [cell, &mut whole] {
                    let zero = Money::zero(line.amount.currency);
                    let (spent, committed) = sum.get_or_insert((zero, zero));
                    let part = if line.spent { spent } else { committed };
                    *part = part.plus(line.amount).unwrap_or(*part);
                }
            }
            if let Some(whole) = whole {
                table.push((*slug, plan.title.as_str(), cells, whole));
            }
        }
        table
            .sort_by_key(|(slug, title, _, whole)| (std::cmp::Reverse(whole.0.amount + whole.1.amount), *title, *slug));
        // A month at either end in which nothing is paid is not shown, unless the whole table is empty.
        let used = |at: usize| table.iter().any(|(_, _, cells, _)| cells.get(at).is_some_and(Option::is_some));
        let from = (0..months.len()).find(|at| used(*at)).unwrap_or(0);
        let to = (0..months.len()).rfind(|at| used(*at)).map_or(0, |at| at + 1);
        let months = months.get(from..to).unwrap_or_default().to_vec();
        for (_, _, cells, _) in &mut table {
            *cells = cells.get(from..to).unwrap_or_default().to_vec();
        }
        Self { months, plans: table }
    }

    fn heads(&self) -> Vec<String> {
        self.months.iter().map(|month| month.map_or_else(|| "no date".to_owned(), short)).collect()
    }

    fn rows(&self) -> Vec<MoneyRow<'a>> {
        let shown = self.plans.iter().take(PLANS).map(|(slug, title, cells, whole)| MoneyRow {
            slug: slug.in_url(),
            title,
            cells: cells.iter().map(|both| cell(both.as_ref())).collect(),
            whole: cell(Some(whole)),
        });
        shown.collect()
    }

    /// One line of sums a currency: dollars and crowns are never added up.
    fn sums(&self) -> Vec<SumRow> {
        let mut sums: Vec<(Currency, Vec<Both>)> = Vec::new();
        for (_, _, cells, whole) in &self.plans {
            let currency = whole.0.currency;
            let at = sums.iter().position(|(one, _)| *one == currency).unwrap_or_else(|| {
                let zero = Money::zero(currency);
                sums.push((currency, vec![(zero, zero); self.months.len() + 1]));
                sums.len() - 1
            });
            let Some((_, line)) = sums.get_mut(at) else { continue };
            for (sum, both) in line.iter_mut().zip(cells.iter().map(Option::as_ref).chain([Some(whole)])) {
                if let Some((spent, committed)) = both {
                    *sum = (sum.0.plus(*spent).unwrap_or(sum.0), sum.1.plus(*committed).unwrap_or(sum.1));
                }
            }
        }
        let shown = sums.iter().map(|(currency, line)| {
            let (whole, months) =
                line.split_last().map_or((None, line.as_slice()), |(whole, months)| (Some(whole), months));
            SumRow {
                code: currency.code,
                cells: months.iter().map(|both| cell(Some(both))).collect(),
                whole: cell(whole),
            }
        });
        shown.collect()
    }
}

fn cell(both: Option<&Both>) -> MoneyCell {
    let shown = |money: &Money| (!money.amount.is_zero()).then(|| money.to_string());
    MoneyCell { spent: both.and_then(|both| shown(&both.0)), committed: both.and_then(|both| shown(&both.1)) }
}

/// A month as the head of a column: `Nov 2026`.
fn short(first: Day) -> String {
    let (year, ..) = first.numbers();
    let month = first.brief().rsplit(' ').next().unwrap_or_default().to_owned();
    format!("{month} {year}")
}

/// Editions with few numbers left, fewest first, and how many there are.
fn nearly<'a>(plans: &[(&'a Name, &'a Summary)]) -> (Vec<EditionRow<'a>>, usize) {
    let mut all: Vec<_> = plans
        .iter()
        .filter_map(|(slug, plan)| {
            let edition = plan.edition.as_ref()?;
            let few = f64::from(edition.remaining) <= f64::from(edition.size) * NEARLY;
            // Those sold out have nothing left to decide; they come last.
            (few && edition.size > 1).then_some((
                edition.remaining == 0,
                edition.remaining,
                edition.size,
                slug,
                &plan.title,
            ))
        })
        .collect();
    all.sort();
    let count = all.len();
    let shown = all.into_iter().take(EDITIONS);
    let shown = shown.map(|(_, left, size, slug, title)| EditionRow { left, size, slug: slug.in_url(), title });
    (shown.collect(), count)
}
