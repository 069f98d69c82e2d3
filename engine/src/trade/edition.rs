//! A limited edition: what became of each print and proof, which numbers are gone, which is next, and how many remain.
//!
//! A ledger is read line by line through one small machine a print. What it allows: a print is made once and again only
//! to replace one that was destroyed; it has one owner at a time; what happened is undone only by a further line.

use std::collections::BTreeMap;
use std::fmt;

use crate::{Found, Message};

/// What stands for the next number when there is none.
const SOLD_OUT: &str = "none, the edition is sold out";

/// The share of an edition made besides as artist's proofs. Source: common practice, no source.
pub const PROOFS: f64 = 0.1;

/// One print of an edition.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Print {
    /// A numbered print, from 1.
    Number(u32),
    /// An artist's proof, from 1.
    Proof(u32),
}

/// What happened to a print.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Event {
    /// Printed.
    Printed,
    /// Looked at and found good.
    Approved,
    /// Signed.
    Signed,
    /// Numbered.
    Numbered,
    /// Framed.
    Framed,
    /// Promised to someone.
    Reserved,
    /// Sold.
    Sold,
    /// Given away, or kept by the artist.
    Given,
    /// Handed to a gallery to sell.
    Consigned,
    /// Come back, from a gallery or from its owner.
    Returned,
    /// Damaged.
    Damaged,
    /// Destroyed; its number is not used again, unless for its own replacement.
    Destroyed,
    /// Printed again under its own number, after it was destroyed.
    Replaced,
    /// The entry before, for the same print, never happened.
    Voided,
}

/// One line of the edition's ledger.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Entry {
    /// The print.
    pub print: Print,
    /// What happened to it.
    pub what: Event,
}

/// How a print stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    /// It exists: printed, and not destroyed since.
    pub made: bool,
    /// It was approved.
    pub approved: bool,
    /// It is signed.
    pub signed: bool,
    /// It is numbered.
    pub numbered: bool,
    /// It is framed.
    pub framed: bool,
    /// Reserved, sold or given away.
    pub held: Option<Event>,
    /// It is with a gallery.
    pub away: bool,
    /// It is damaged.
    pub damaged: bool,
    /// It was destroyed and not replaced.
    pub destroyed: bool,
}

impl Standing {
    /// What became of its number: destroyed, sold, given away or reserved; nothing while it is free.
    pub fn fate(self) -> Option<Event> {
        if self.destroyed { Some(Event::Destroyed) } else { self.held }
    }

    /// The standing after one more line.
    fn after(self, what: Event) -> Result<Self, (String, &'static str)> {
        use Event as E;
        let no = |words: &str, next: &'static str| Err((words.to_owned(), next));
        if self.destroyed && what != E::Replaced {
            return no("is already destroyed", "write that it was replaced when it has been printed again");
        }
        let mut to = self;
        match what {
            E::Printed if self.made => return no("is already printed", "a number is printed once; use the next one"),
            E::Printed => to.made = true,
            E::Approved | E::Signed | E::Numbered | E::Framed | E::Consigned | E::Damaged if !self.made => {
                return no("is not printed yet", "write first that it was printed");
            }
            E::Approved if self.approved => return no("is already approved", "one line says it"),
            E::Approved => to.approved = true,
            E::Signed if self.signed => return no("is already signed", "one line says it"),
            E::Signed => to.signed = true,
            E::Numbered if self.numbered => return no("is already numbered", "one line says it"),
            E::Numbered => to.numbered = true,
            E::Framed => to.framed = true,
            E::Reserved | E::Sold | E::Given => {
                let free = match self.held {
                    None => true,
                    Some(E::Reserved) => what != E::Reserved,
                    Some(_) => false,
                };
                if !free {
                    let held = self.held.map_or("used", Event::word);
                    return no(&format!("is already {held}"), "void that entry first, or use the next free number");
                }
                to.held = Some(what);
                to.away = self.away && what == E::Reserved;
            }
            E::Consigned if matches!(self.held, Some(E::Sold | E::Given)) => {
                let held = self.held.map_or("used", Event::word);
                return no(&format!("is already {held}"), "what its owner does with it is not in this ledger");
            }
            E::Consigned if self.away => {
                return no("is already with a gallery", "write first that it was returned");
            }
            E::Consigned => to.away = true,
            E::Returned if self.away => to.away = false,
            E::Returned if matches!(self.held, Some(E::Sold | E::Given)) => to.held = None,
            E::Returned => {
                return no("is nowhere it could return from", "it was neither consigned, sold nor given away");
            }
            E::Damaged => to.damaged = true,
            E::Destroyed => {
                to.destroyed = true;
                to.made = false;
            }
            E::Replaced if !self.destroyed => {
                return no("is not destroyed", "destroy it first: there is never a second print of one number");
            }
            // A new print of the same number, for the same owner; it is signed and framed again.
            E::Replaced => to = Self { made: true, held: self.held, ..Self::default() },
            // Undone by the caller, which keeps what stood before.
            E::Voided => {}
        }
        Ok(to)
    }
}

/// What is made of a picture besides its numbers and artist's proofs, and belongs to the total all the same.
///
/// Trial proofs are listed where a statute asks, and not counted. Source: Hawaii Revised Statutes 481F-4(5) (signed and
/// numbered, unsigned, proofs, outside commerce, and the total; read), Maryland Commercial Law 14-504 (trial proofs excepted;
/// read).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Besides {
    /// Printer's proofs.
    pub printers: u32,
    /// The prints approved as the pattern for the others.
    pub good_to_print: u32,
    /// Prints outside commerce.
    pub outside_commerce: u32,
}

/// An edition of so many numbered prints and so many proofs, with its ledger read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edition {
    size: u32,
    proofs: u32,
    besides: Besides,
    prints: BTreeMap<Print, Standing>,
}

impl Edition {
    /// Reads a ledger, oldest entry first.
    ///
    /// # Errors
    /// When the edition has no numbers, an entry names a print outside it, a number would have two owners or be printed
    /// twice, or nothing is there to void.
    pub fn new(size: u32, proofs: u32, entries: &[Entry]) -> Result<Self, Message> {
        if size == 0 {
            return Err(Message::new("an edition of 0 has no prints", "give the edition a size of 1 or more"));
        }
        if size.checked_add(proofs).is_none() {
            return Err(Message::new("the edition and its proofs are too many to count", "check the digits"));
        }
        let mut stories: BTreeMap<Print, Vec<Standing>> = BTreeMap::new();
        for Entry { print, what } in entries.iter().copied() {
            match print {
                Print::Number(number) if !(1..=size).contains(&number) => {
                    return Err(Message::new(
                        format!("number {number} is not in an edition of {size}"),
                        format!("use a number from 1 to {size}"),
                    ));
                }
                Print::Proof(number) if !(1..=proofs).contains(&number) => {
                    let next = match proofs {
                        0 => "write `proofs = 2` in the plan's head, with how many there are".to_owned(),
                        _ => format!("use AP 1 to AP {proofs}"),
                    };
                    return Err(Message::new(format!("{print} is not among {proofs} artist's proofs"), next));
                }
                _ => {}
            }
            let story = stories.entry(print).or_default();
            if what == Event::Voided {
                if story.pop().is_none() {
                    return Err(Message::new(format!("{print} has no entry to void"), "remove this entry"));
                }
                continue;
            }
            let now = story.last().copied().unwrap_or_default();
            let after = now.after(what).map_err(|(words, next)| Message::new(format!("{print} {words}"), next))?;
            story.push(after);
        }
        let prints = stories.iter().filter_map(|(print, story)| Some((*print, *story.last()?))).collect();
        Ok(Self { size, proofs, besides: Besides::default(), prints })
    }

    /// Numbers in the edition, without proofs.
    pub fn size(&self) -> u32 {
        self.size
    }

    /// Proofs besides.
    pub fn proofs(&self) -> u32 {
        self.proofs
    }

    /// The same edition with what is made besides its numbers and artist's proofs.
    #[must_use]
    pub fn with(self, besides: Besides) -> Self {
        Self { besides, ..self }
    }

    /// Everything made of the picture: numbers, and proofs and prints of every kind besides.
    pub fn total(&self) -> u32 {
        self.others().iter().fold(self.size, |sum, (count, ..)| sum.saturating_add(*count))
    }

    /// What is made besides the numbers: how many, how one and several are called, and in short.
    fn others(&self) -> [(u32, &'static str, &'static str, &'static str); 4] {
        let Besides { printers, good_to_print, outside_commerce } = self.besides;
        [
            (self.proofs, "artist’s proof", "artist’s proofs", "AP"),
            (printers, "printer’s proof", "printer’s proofs", "PP"),
            (good_to_print, "good-to-print proof", "good-to-print proofs", "BAT"),
            (outside_commerce, "print outside commerce", "prints outside commerce", "HC"),
        ]
    }

    /// What is made besides the numbers, in words: `2 artist’s proofs, one printer’s proof`.
    pub fn besides(&self) -> String {
        let all = self.others().into_iter().filter(|one| one.0 > 0);
        let words: Vec<_> = all
            .map(|(count, one, more, _)| if count == 1 { format!("one {one}") } else { format!("{count} {more}") })
            .collect();
        if words.is_empty() { "no artist’s proofs".to_owned() } else { words.join(", ") }
    }

    /// The edition in short, as it stands in a head: `25 + 2 AP + 1 PP`.
    pub fn brief(&self) -> String {
        let all = self.others().into_iter().filter(|one| one.0 > 0);
        all.fold(self.size.to_string(), |text, (count, .., short)| format!("{text} + {count} {short}"))
    }

    /// How a print stands.
    pub fn standing(&self, print: Print) -> Standing {
        self.prints.get(&print).copied().unwrap_or_default()
    }

    /// How many numbers became this: reserved, sold, given away or destroyed.
    pub fn count(&self, what: Event) -> u32 {
        self.numbers(|standing| standing.fate() == Some(what))
    }

    /// How many numbered prints stand so.
    fn numbers(&self, so: impl Fn(Standing) -> bool) -> u32 {
        let all = self.prints.iter().filter(|(print, standing)| matches!(print, Print::Number(_)) && so(**standing));
        u32::try_from(all.count()).unwrap_or(u32::MAX)
    }

    /// What became of a number; nothing while it is free.
    pub fn state(&self, number: u32) -> Option<Event> {
        self.standing(Print::Number(number)).fate()
    }

    /// Numbers still free.
    pub fn remaining(&self) -> u32 {
        self.size.saturating_sub(self.numbers(|standing| standing.fate().is_some()))
    }

    /// The lowest free number; nothing when all are gone. No number is skipped and none is used again.
    pub fn next(&self) -> Option<u32> {
        (1..=self.size).find(|number| self.state(*number).is_none())
    }

    /// How the next print is numbered: `4/10`.
    pub fn label(&self) -> Option<String> {
        self.next().map(|number| format!("{number}/{}", self.size))
    }
}

impl fmt::Display for Print {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => write!(f, "number {number}"),
            Self::Proof(number) => write!(f, "AP {number}"),
        }
    }
}

impl Print {
    /// A print as it is written on it: `4`, `AP 1`.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let proof = text.strip_prefix("AP").or_else(|| text.strip_prefix("ap"));
        let digits = proof.unwrap_or(text).trim_start_matches(['\u{a0}', '\u{202f}', ' ']);
        let number = Some(digits).filter(|digits| digits.bytes().all(|byte| byte.is_ascii_digit()))?.parse().ok()?;
        Some(if proof.is_some() { Self::Proof(number) } else { Self::Number(number) })
    }
}

impl Event {
    /// Every event, in the order of a print's life.
    pub const ALL: [Self; 14] = [
        Self::Printed,
        Self::Approved,
        Self::Signed,
        Self::Numbered,
        Self::Framed,
        Self::Reserved,
        Self::Sold,
        Self::Given,
        Self::Consigned,
        Self::Returned,
        Self::Damaged,
        Self::Destroyed,
        Self::Replaced,
        Self::Voided,
    ];

    /// As in `number 4 is sold`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Printed => "printed",
            Self::Approved => "approved",
            Self::Signed => "signed",
            Self::Numbered => "numbered",
            Self::Framed => "framed",
            Self::Reserved => "reserved",
            Self::Sold => "sold",
            Self::Given => "given away",
            Self::Consigned => "consigned",
            Self::Returned => "returned",
            Self::Damaged => "damaged",
            Self::Destroyed => "destroyed",
            Self::Replaced => "replaced",
            Self::Voided => "voided",
        }
    }

    /// An event by its word; `given` and `void` are taken as well.
    pub fn of(word: &str) -> Option<Self> {
        let word = match word {
            "given" => "given away",
            "void" => "voided",
            word => word,
        };
        Self::ALL.into_iter().find(|event| event.word() == word)
    }
}

thing!(Edition, "an edition", |edition| vec![
    "edition of ".into(), edition.size.into(), ", ".into(), edition.remaining().into(), " left".into(),
], {
    size "Numbers in the edition, without proofs." => Found::stated(edition.size),
    proofs "Proofs made besides." => Found::stated(edition.proofs),
    printed "Numbers printed and not destroyed." => Found::stated(edition.numbers(|one| one.made)),
    signed "Numbers signed." => Found::stated(edition.numbers(|one| one.made && one.signed)),
    framed "Numbers framed." => Found::stated(edition.numbers(|one| one.made && one.framed)),
    consigned "Numbers with a gallery." => Found::stated(edition.numbers(|one| one.away && !one.destroyed)),
    sold "Numbers sold." => Found::stated(edition.count(Event::Sold)),
    reserved "Numbers promised to someone." => Found::stated(edition.count(Event::Reserved)),
    given "Numbers given away or kept." => Found::stated(edition.count(Event::Given)),
    destroyed "Numbers destroyed and not replaced." => Found::stated(edition.count(Event::Destroyed)),
    remaining "Numbers still free." => Found::by(edition.remaining(), "{} − {} − {} − {} − {}", [
        edition.size.into(), edition.count(Event::Sold).into(), edition.count(Event::Reserved).into(),
        edition.count(Event::Given).into(), edition.count(Event::Destroyed).into(),
    ]),
    next "The lowest free number; words that it is sold out when all are gone." =>
        edition.next().map_or_else(|| Found::stated(SOLD_OUT), Found::stated),
    printers_proofs "Printer's proofs made besides." => Found::stated(edition.besides.printers),
    good_to_print "Prints approved as the pattern for the others." => Found::stated(edition.besides.good_to_print),
    outside_commerce "Prints outside commerce." => Found::stated(edition.besides.outside_commerce),
    total "Everything made of the picture: numbers, and proofs and prints of every kind besides." => match edition.besides {
        Besides { printers: 0, good_to_print: 0, outside_commerce: 0 } =>
            Found::by(edition.total(), "{} + {}", [edition.size.into(), edition.proofs.into()]),
        Besides { printers, good_to_print, outside_commerce } =>
            Found::by(edition.total(), "{} + {} AP + {} PP + {} BAT + {} HC", [
                edition.size.into(), edition.proofs.into(), printers.into(), good_to_print.into(), outside_commerce.into(),
            ]),
    },
    label "How the next print is numbered; words that it is sold out when all are gone." =>
        edition.label().map_or_else(|| Found::stated(SOLD_OUT), Found::stated),
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
pub fn proofs(size: u32, share: f64, rule: Rule) -> Result<Found, Message> {
    if !(0.0..=1.0).contains(&share) {
        return Err(Message::new(
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

/// Everything made of one picture: the numbers and all proofs besides, artist's, printer's, approved and out of commerce.
///
/// Source: the total a certificate states, as in Maryland Commercial Law 14-504(a)(2)(iv) (read).
///
/// # Errors
/// When the edition has no numbers.
pub fn total(numbers: u32, proofs: [u32; 4]) -> Result<Found, Message> {
    if numbers == 0 {
        return Err(Message::new("an edition of 0 has no prints", "give the edition a size of 1 or more"));
    }
    let [ap, pp, bat, hc] = proofs;
    let all = proofs.iter().fold(numbers, |sum, one| sum.saturating_add(*one));
    Ok(Found::by(
        all,
        "{} + {} AP + {} PP + {} BAT + {} HC",
        [numbers.into(), ap.into(), pp.into(), bat.into(), hc.into()],
    ))
}

/// The lowest number of an edition that is not among those gone.
///
/// # Errors
/// When the edition has no numbers, or a number gone is not in it or is gone twice.
pub fn next_number(size: u32, gone: &[u32]) -> Result<Found, Message> {
    if size == 0 {
        return Err(Message::new("an edition of 0 has no prints", "give the edition a size of 1 or more"));
    }
    for (place, number) in gone.iter().enumerate() {
        if !(1..=size).contains(number) {
            return Err(Message::new(
                format!("number {number} is not in an edition of {size}"),
                format!("use numbers from 1 to {size}"),
            ));
        }
        if gone.iter().take(place).any(|one| one == number) {
            return Err(Message::new(format!("number {number} is gone twice"), "a number is never used again"));
        }
    }
    let next = (1..=size).find(|number| !gone.contains(number));
    Ok(next.map_or_else(|| Found::stated(SOLD_OUT), Found::stated))
}

/// A number as it is written on the print: `4/10`.
///
/// # Errors
/// When the number is not in the edition.
pub fn label(number: u32, size: u32) -> Result<Found, Message> {
    if (1..=size).contains(&number) {
        return Ok(Found::stated(format!("{number}/{size}")));
    }
    Err(Message::new(
        format!("number {number} is not in an edition of {size}"),
        format!("use a number from 1 to {size}"),
    ))
}
