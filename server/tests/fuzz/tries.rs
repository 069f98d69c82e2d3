//! The tries of one target: kept texts first, then new ones and kept ones with changes.

use std::collections::{BTreeSet, HashSet};
use std::path::PathBuf;
use std::time::{Duration, Instant};

use crate::program::{Dice, long_form};

/// More than these are not kept for one target, nor longer ones.
const KEPT: usize = 80;
const LONGEST: usize = 600;

/// How much is tried, and what it showed.
pub(crate) struct Tries {
    target: &'static str,
    pieces: &'static [&'static str],
    dice: Dice,
    kept: Vec<String>,
    shown: HashSet<String>,
    /// How many of them were kept before.
    old: usize,
    count: usize,
    short: usize,
    long: Option<Duration>,
    began: Instant,
}

impl Tries {
    /// So many tries in the short form, each made of these pieces.
    pub(crate) fn of(target: &'static str, salt: u64, pieces: &'static [&'static str], short: usize) -> Self {
        let kept: Vec<String> =
            std::fs::read(file(target)).map_or_else(|_| Vec::new(), |all| serde_json::from_slice(&all).unwrap());
        let seconds = long_form("MAKEREADY_FUZZ", 0) as u64;
        Self {
            target,
            pieces,
            dice: dice(salt),
            old: kept.len(),
            kept,
            shown: HashSet::new(),
            count: 0,
            short,
            long: (seconds > 0).then(|| Duration::from_secs(seconds)),
            began: Instant::now(),
        }
    }

    /// The next text, when there is one: a kept one, then a new one as `make` makes it or a kept one with changes.
    pub(crate) fn next(&mut self, make: impl FnOnce(&mut Dice) -> String) -> Option<String> {
        let new = self.count.checked_sub(self.old);
        let goes_on = |new| self.long.map_or(new < self.short, |long| self.began.elapsed() < long);
        if !new.is_none_or(goes_on) {
            return None;
        }
        self.count += 1;
        if new.is_none() {
            return Some(self.kept[self.count - 1].clone());
        }
        Some(if self.kept.is_empty() || self.dice.roll(2) == 0 { make(&mut self.dice) } else { self.changed() })
    }

    /// A kept text, changed in one to four places.
    fn changed(&mut self) -> String {
        let dice = &mut self.dice;
        let mut text: Vec<char> = self.kept[dice.roll(self.kept.len() as u64) as usize].chars().collect();
        for _ in 0..1 + dice.roll(4) {
            let from = dice.roll(text.len() as u64 + 1) as usize;
            let to = (from + dice.roll(12) as usize).min(text.len());
            let part: Vec<char> = match dice.roll(4) {
                0 => Vec::new(),
                1 => text[from..to].repeat(2 + dice.roll(3) as usize),
                2 => {
                    let other: Vec<char> = self.kept[dice.roll(self.kept.len() as u64) as usize].chars().collect();
                    let at = dice.roll(other.len() as u64 + 1) as usize;
                    other[at..(at + 30).min(other.len())].to_vec()
                }
                _ => self.pieces[dice.roll(self.pieces.len() as u64) as usize].chars().collect(),
            };
            text.splice(from..to, part);
        }
        text.into_iter().take(2 * LONGEST).collect()
    }

    /// What a text showed. When some of it was never shown before, the text is kept for the tries to come.
    pub(crate) fn showed(&mut self, text: &str, what: impl IntoIterator<Item = String>) {
        let mut new = false;
        for one in what {
            new |= self.shown.insert(shape(&one));
        }
        if new && text.len() <= LONGEST && self.kept.len() < KEPT && !self.kept.iter().any(|one| one == text) {
            self.kept.push(text.to_owned());
        }
    }
}

impl Drop for Tries {
    fn drop(&mut self) {
        println!(
            "{}: {} tries in {:.1?}; {} texts kept, {} of them new, {} things shown",
            self.target,
            self.count,
            self.began.elapsed(),
            self.kept.len(),
            self.kept.len() - self.old,
            self.shown.len()
        );
        if std::env::var_os("MAKEREADY_CORPUS").is_some() && self.kept.len() > self.old && !std::thread::panicking() {
            let lines = serde_json::to_string_pretty(&self.kept).unwrap();
            std::fs::write(file(self.target), lines + "\n").unwrap();
        }
    }
}

fn file(target: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(format!("{target}.json"))
}

/// What was said without its numbers and without what it quotes.
fn shape(words: &str) -> String {
    let is_quote = |letter: char| matches!(letter, '`' | '"' | '“' | '”');
    let (from, to) = (words.find(is_quote).unwrap_or(words.len()), words.rfind(is_quote).unwrap_or(words.len()));
    let mut shape = String::new();
    for letter in words[..from].chars().chain(words[to..].chars()) {
        let letter = if letter.is_ascii_digit() { '0' } else { letter };
        if !(letter == '0' && shape.ends_with('0')) {
            shape.push(letter);
        }
    }
    shape.chars().take(160).collect()
}

/// The elements a page is made of, with their classes.
pub(crate) fn elements(html: &str) -> BTreeSet<String> {
    let parts = html.split('<').skip(1).filter(|part| !part.starts_with('/'));
    parts
        .map(|part| {
            let element = part.split('>').next().unwrap_or(part);
            let class = element.split(" class=").nth(1).and_then(|rest| rest.split('"').nth(1)).unwrap_or("");
            format!("{} {class}", element.split(' ').next().unwrap_or(element))
        })
        .collect()
}

/// A text of up to so many pieces, some of them many times over.
pub(crate) fn text(dice: &mut Dice, pieces: &[&str], most: u64) -> String {
    let count = 1 + dice.roll(most);
    let mut text = String::new();
    for _ in 0..count {
        let piece = pieces[dice.roll(pieces.len() as u64) as usize];
        let times = if dice.roll(12) == 0 { 1 + dice.roll(40) } else { 1 };
        for _ in 0..times {
            text.push_str(piece);
        }
    }
    text
}

pub(crate) fn dice(salt: u64) -> Dice {
    Dice(long_form("MAKEREADY_SEED", 20_261_125) as u64 ^ (salt << 32) | 1)
}
