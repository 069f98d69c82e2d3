//! What a plan says that can be calculated and is most likely a slip: told where it stands, and changing no number.

use super::worker::Worker;
use crate::document::{Kind, Problem};
use crate::measure::{Length, Mass};
use crate::script::bindings;
use crate::syntax::nearest::nearest;
use crate::trade::roles::ROLES;

/// Doubts of one plan that are told one by one.
const MOST: usize = 100;

/// Names looked at for values that are beyond belief.
const MOST_NAMES: usize = 5_000;

/// Nothing for a wall is longer or heavier; common practice, no source.
const LONGEST: Length = Length::m(1_000.0);
const HEAVIEST: Mass = Mass::kg(100_000.0);

/// Who a photographer is in a plan of their own.
const OWNER: &str = "me";

impl Worker<'_> {
    /// What is doubted, in the order of the text.
    pub(super) fn doubts(&self) -> Vec<Problem> {
        let mut all = self.document.doubts.clone();
        if self.document.front.kind == Kind::Plan {
            all.extend(self.sheets_missing());
            all.extend(self.shops_unknown());
            all.extend(self.quotes_unknown());
        }
        all.extend(self.below_zero());
        all.extend(self.beyond_belief());
        all.extend(self.not_asked());
        all.sort_by_key(|doubt| (doubt.line, doubt.column));
        all.truncate(MOST);
        all
    }

    /// Shops of the head whose rate sheet is not there.
    fn sheets_missing(&self) -> impl Iterator<Item = Problem> {
        let (front, sheets) = (&self.document.front, &self.sheets.texts);
        // A shop without a rate sheet may be given by its name alone; an empty name is a shop still to be found.
        let is_there = |sheet: &str| {
            sheet.is_empty() || sheets.contains_key(sheet) || (!sheet.contains('/') && sheet.contains(' '))
        };
        let missing = front.shops.iter().zip(&front.shops_at).filter(move |((_, sheet), _)| !is_there(sheet));
        missing.map(|((role, sheet), at)| {
            let next = nearest(sheet, sheets.keys().map(String::as_str)).map_or_else(
                || {
                    "write the path of its rate sheet, like `shops/tidewater-lab`, or its name in several words"
                        .to_owned()
                },
                |near| format!("was `{near}` meant?"),
            );
            self.document.problem_at(*at, format!("the {role} is `{sheet}`, and there is no such rate sheet"), next)
        })
    }

    /// Steps and costs of shops the head does not name.
    fn shops_unknown(&self) -> impl Iterator<Item = Problem> {
        let (front, record) = (&self.document.front, &self.out.record);
        let is_known = |who: &str| who == OWNER || front.shops.iter().any(|(role, _)| role == who);
        let steps = record.steps.iter().map(|step| (&step.what, step.who.as_deref(), step.line));
        let costs = record.costs.iter().map(|line| (&line.what, line.shop.as_deref(), line.line));
        let all = steps.chain(costs).filter_map(|(what, who, line)| Some((what, who?, line)));
        // A plan that names no shop has none to mistake another for, and several words are a name of their own.
        let all = all.filter(move |(_, who, _)| !front.shops.is_empty() && !who.contains(' ') && !is_known(who));
        all.map(|(what, who, line)| {
            let roles = || front.shops.iter().map(|(role, _)| role.as_str());
            let next = nearest(who, roles()).map_or_else(
                || {
                    let kind =
                        ROLES.iter().find(|one| one.name == who).map_or("its rate sheet or name", |_| "its rate sheet");
                    format!(
                        "name it in the head below `[shops]` with {kind}, or write \"{OWNER}\" for what you do yourself"
                    )
                },
                |near| format!("was `{near}` meant?"),
            );
            let at = self.document.lines.start(line);
            self.document.problem_at(at, format!("`{what}` is for `{who}`, and the head names no such shop"), next)
        })
    }

    /// Quotes the head holds to that no shop gave.
    fn quotes_unknown(&self) -> impl Iterator<Item = Problem> {
        let front = &self.document.front;
        front.quotes.iter().zip(&front.quotes_at).filter_map(|((role, day), at)| {
            let names = || front.shops.iter().map(|(role, _)| role.as_str());
            if !names().any(|one| one == role) {
                let next = nearest(role, names()).map_or_else(
                    || format!("take it out, or name the shop below `[shops]`: `{role} = \"shops/…\"`"),
                    |near| format!("was `{near}` meant?"),
                );
                let what = format!("the plan holds to a quote of `{role}`, and the head names no such shop");
                return Some(self.document.problem_at(*at, what, next));
            }
            let mut drawn = self.out.quotes.iter().filter(|one| one.role.as_ref() == Some(role) && one.held);
            let other = drawn.find(|one| one.quoted != Some(*day))?;
            let what = format!("the plan holds to a quote of {} of {day}, and no such quote is kept", other.shop);
            let next = match other.quoted {
                Some(quoted) => format!("write the day of a quote that is: the last is `{role} = {}`", quoted.iso()),
                None => "take it out: its rate sheet says no day it was quoted on".to_owned(),
            };
            Some(self.document.problem_at(*at, what, next))
        })
    }

    /// Lengths and weights of the plan beyond anything that is made, moved or hung.
    fn beyond_belief(&self) -> impl Iterator<Item = Problem> {
        let names = self.out.blocks.iter().flat_map(|block| &block.gives);
        names.take(MOST_NAMES).filter_map(|named| {
            let crate::Value::Quantity(quantity) = &named.found.value else { return None };
            let is_long =
                Length::of(*quantity).is_some_and(|length| length.quantity().value.abs() > LONGEST.quantity().value);
            let is_heavy =
                Mass::of(*quantity).is_some_and(|mass| mass.quantity().value.abs() > HEAVIEST.quantity().value);
            if !is_long && !is_heavy {
                return None;
            }
            let limit = if is_long { "a kilometre" } else { "a hundred tonnes" };
            let shown = named.found.value.shown(self.out.units);
            let at = self.out.sources.get(&named.name).map_or(0, |source| self.document.lines.start(source.line));
            let what = format!("`{}` is {shown}, which is more than {limit}", named.name);
            Some(self.document.problem_at(at, what, "look for zeros too many, or for another unit"))
        })
    }

    /// Givens below zero that measure or count something there cannot be less than none of.
    fn below_zero(&self) -> impl Iterator<Item = Problem> {
        self.out.record.givens.iter().filter(|given| given.is_below_zero()).map(|given| {
            let block = self.document.blocks.get(given.block).map_or(0, |block| block.range.start);
            let at = given.place.as_ref().map_or(block, |place| place.value.start);
            let what = format!(
                "`{}` is {}, and there is no less than none of it",
                given.label,
                given.value.shown(self.out.units)
            );
            self.document.problem_at(at, what, "write a number from zero up")
        })
    }

    /// Code that names something of the plan behind a question mark without a space.
    fn not_asked(&self) -> impl Iterator<Item = Problem> {
        let part = |c: char| !(c.is_ascii_alphanumeric() || c == '_');
        self.document.unasked.iter().take(MOST).filter_map(move |(expression, at)| {
            let name = expression.split(part).next().unwrap_or_default();
            let is_known = self.out.names.contains_key(name) || bindings::listed(name).is_some();
            is_known.then(|| {
                let what = format!("`?{expression}` is shown as it is written, and nothing is asked");
                self.document.problem_at(*at, what, format!("put a space behind the question mark: `? {expression}`"))
            })
        })
    }
}
