//! A limited edition: which numbers are gone, which is next, and how many remain.

use std::collections::BTreeMap;

use crate::{Found, Trouble};

/// The share of an edition made besides as artist's proofs. Source: common practice, no source.
pub const PROOFS: f64 = 0.1;

/// What became of a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Event {
    /// Sold.
    Sold,
    /// Promised to someone.
    Reserved,
    /// Given away, or kept by the artist.
    Given,
    /// Destroyed; its number is not used again.
    Destroyed,
    /// The entry before, for the same number, never happened.
    Voided,
}

/// One line of the edition's ledger.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Entry {
    /// The number of the print.
    pub number: u32,
    /// What became of it.
    pub what: Event,
}

/// An edition of so many numbered prints and so many proofs, with its ledger read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edition {
    size: u32,
    proofs: u32,
    gone: BTreeMap<u32, Event>,
}

impl Edition {
    /// Reads a ledger, oldest entry first. A reserved number may be sold, given or destroyed, and a sold or given one
    /// destroyed; anything else must first be voided.
    ///
    /// # Errors
    /// When the edition has no numbers, an entry names a number outside it, a number is used twice, or nothing is there
    /// to void.
    pub fn new(size: u32, proofs: u32, entries: &[Entry]) -> Result<Self, Trouble> {
        if size == 0 {
            return Err(Trouble::new("an edition of 0 has no prints", "give the edition a size of 1 or more"));
        }
        if size.checked_add(proofs).is_none() {
            return Err(Trouble::new("the edition and its proofs are too many to count", "check the digits"));
        }
        let mut states: BTreeMap<u32, Vec<Event>> = BTreeMap::new();
        for Entry { number, what } in entries.iter().copied() {
            if !(1..=size).contains(&number) {
                return Err(Trouble::new(
                    format!("number {number} is not in an edition of {size}"),
                    format!("use a number from 1 to {size}"),
                ));
            }
            let state = states.entry(number).or_default();
            if what == Event::Voided {
                if state.pop().is_none() {
                    return Err(Trouble::new(format!("number {number} has no entry to void"), "remove this entry"));
                }
                continue;
            }
            let free = matches!(
                (state.last(), what),
                (None, _)
                    | (Some(Event::Reserved), Event::Sold | Event::Given | Event::Destroyed)
                    | (Some(Event::Sold | Event::Given), Event::Destroyed)
            );
            if !free {
                return Err(Trouble::new(
                    format!("number {number} is already {}", state.last().map_or("used", |event| event.word())),
                    "void that entry first, or use the next free number",
                ));
            }
            state.push(what);
        }
        let gone = states.iter().filter_map(|(number, state)| Some((*number, *state.last()?))).collect();
        Ok(Self { size, proofs, gone })
    }

    /// Numbers in the edition, without proofs.
    pub fn size(&self) -> u32 {
        self.size
    }

    /// Numbers in the edition and proofs besides.
    pub fn total(&self) -> u32 {
        self.size.saturating_add(self.proofs)
    }

    /// How many numbers stand at this event.
    pub fn count(&self, what: Event) -> u32 {
        u32::try_from(self.gone.values().filter(|one| **one == what).count()).unwrap_or(u32::MAX)
    }

    /// What became of a number; nothing while it is free.
    pub fn state(&self, number: u32) -> Option<Event> {
        self.gone.get(&number).copied()
    }

    /// Numbers still free.
    pub fn remaining(&self) -> u32 {
        self.size.saturating_sub(u32::try_from(self.gone.len()).unwrap_or(u32::MAX))
    }

    /// The lowest free number; nothing when all are gone. No number is skipped and none is used again.
    pub fn next(&self) -> Option<u32> {
        (1..=self.size).find(|number| !self.gone.contains_key(number))
    }

    /// How the next print is numbered: `4/10`.
    pub fn label(&self) -> Option<String> {
        self.next().map(|number| format!("{number}/{}", self.size))
    }
}

impl Event {
    /// As in `number 4 is sold`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Sold => "sold",
            Self::Reserved => "reserved",
            Self::Given => "given away",
            Self::Destroyed => "destroyed",
            Self::Voided => "voided",
        }
    }
}

thing!(Edition, "an edition", |edition| vec![
    "edition of ".into(), edition.size.into(), ", ".into(), edition.remaining().into(), " left".into(),
], {
    size "Numbers in the edition, without proofs." => Found::stated(edition.size),
    proofs "Proofs made besides." => Found::stated(edition.proofs),
    sold "Numbers sold." => Found::stated(edition.count(Event::Sold)),
    reserved "Numbers promised to someone." => Found::stated(edition.count(Event::Reserved)),
    given "Numbers given away or kept." => Found::stated(edition.count(Event::Given)),
    destroyed "Numbers destroyed, never used again." => Found::stated(edition.count(Event::Destroyed)),
    remaining "Numbers still free." => Found::by(edition.remaining(), "{} − {} − {} − {} − {}", [
        edition.size.into(), edition.count(Event::Sold).into(), edition.count(Event::Reserved).into(),
        edition.count(Event::Given).into(), edition.count(Event::Destroyed).into(),
    ]),
    next "The lowest free number; none when all are gone." => edition.next().map(Found::stated),
    total "Numbers and proofs together." => Found::by(edition.total(), "{} + {}", [edition.size.into(), edition.proofs.into()]),
    label "How the next print is numbered." => edition.label().map(Found::stated),
    sold_out "Whether all numbers are gone." => Found::stated(edition.remaining() == 0),
});

/// How a share of an edition becomes whole proofs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// To the whole proof below.
    Down,
    /// To the nearest, a half upwards.
    Nearest,
    /// To the whole proof above.
    Up,
}

/// How many proofs a share of an edition makes.
///
/// # Errors
/// When the share is not from 0 to 1.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a u32 is a u32")]
pub fn proofs(size: u32, share: f64, rule: Rule) -> Result<Found, Trouble> {
    if !(0.0..=1.0).contains(&share) {
        return Err(Trouble::new(
            format!("{share} of an edition is not a share from 0 to 1"),
            "write 10 percent as `0.1`",
        ));
    }
    // A billionth of slack, so that a tenth of 15 is one and a half.
    let exact = f64::from(size) * share;
    let (count, words) = match rule {
        Rule::Down => ((exact + 1e-9).floor(), "{} × {}, rounded down"),
        Rule::Nearest => ((exact + 0.5 + 1e-9).floor(), "{} × {}, to the nearest"),
        Rule::Up => ((exact - 1e-9).ceil().max(0.0), "{} × {}, rounded up"),
    };
    Ok(Found::by(count as u32, words, [size.into(), share.into()]))
}
