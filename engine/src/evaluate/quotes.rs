//! The quotes a plan draws on, and what is the matter with each.

use std::collections::BTreeSet;
use std::sync::PoisonError;

use super::Quote;
use super::worker::Worker;
use crate::document::prices;

impl Worker<'_> {
    /// The quotes drawn on, with what is the matter with each: run out, running out before the order, or held to a day that
    /// no kept quote has.
    pub(super) fn quotes(&mut self) -> Vec<Quote> {
        let front = &self.document.front;
        let (today, steps) = (self.run.today, &self.out.record.steps);
        let read = self.sheets.read.lock().unwrap_or_else(PoisonError::into_inner);
        let mut quotes = Vec::new();
        // Those drawn on by name, and those of the head whose price list is.
        let listed = front.shops.iter().map(|(_, sheet)| sheet);
        let listed = listed.filter(|sheet| {
            let text = self.sheets.texts.get(*sheet);
            text.is_some_and(|text| prices::table(&self.compiled.sheet(text)).is_some())
        });
        let drawn: BTreeSet<_> = read.keys().chain(listed).collect();
        for (sheet, text) in drawn.into_iter().filter_map(|sheet| Some((sheet, self.sheets.texts.get(sheet)?))) {
            let compiled = self.compiled.sheet(text);
            let head = &compiled.front;
            let role = front.shops.iter().find(|(_, one)| one == sheet).map(|(role, _)| role.clone());
            let wanted = role.as_ref().and_then(|role| front.quotes.iter().find(|(one, _)| one == role));
            let shop = head.title.clone().unwrap_or_else(|| sheet.clone());
            let order =
                steps.iter().filter(|step| step.done.is_none() && step.who == role).map(|step| step.start).min();
            let matter = match (wanted, head.until) {
                (Some((_, day)), _) if head.quoted != Some(*day) => {
                    Some(format!("this plan holds to a quote of {shop} of {day}, and no such quote is kept"))
                }
                (_, Some(_)) if front.hung.is_some() => None,
                (_, Some(until)) if until < today => {
                    Some(format!("the quote of {shop} ran out on {until}: ask for a new one"))
                }
                (_, Some(until)) => order
                    .filter(|order| *order > until)
                    .map(|order| format!("the quote of {shop} runs out on {until}, before {order}, when it is needed")),
                _ => None,
            };
            let (quoted, until, held) = (head.quoted, head.until, wanted.is_some());
            quotes.push(Quote { sheet: sheet.clone(), shop, role, quoted, until, held, matter });
        }
        quotes
    }
}
