//! The passphrase that lets people in over the network: how it is kept, and how often it may be guessed.

use std::collections::HashMap;
use std::net::IpAddr;
use std::time::{Duration, Instant};

use argon2::password_hash::phc::{Output, PasswordHash, Salt};
use argon2::password_hash::{self, PasswordHasher as _, PasswordVerifier as _};
use argon2::{Argon2, Params};
use data_encoding::{BASE64URL_NOPAD, HEXLOWER};
use engine::Message;
use parking_lot::Mutex;
use tokio::sync::Semaphore;

use crate::error::Error;

/// The shortest passphrase, in letters.
pub const SHORTEST: usize = 12;
/// The longest, in bytes: nobody types more.
const LONGEST: usize = 1024;
/// Memory in KiB, passes and lanes of Argon2id; 155 ms on the computer it was chosen on.
/// Source: OWASP Password Storage Cheat Sheet, Argon2id, asks for at least 19456 KiB and 2 passes (read).
const COST: (u32, u32, u32) = (65_536, 3, 1);
/// Passphrases worked on at once, at 64 MiB each.
const AT_ONCE: usize = 2;
/// Guesses a minute from one address, and from all that were never let in.
const OF_ONE: usize = 5;
const OF_ALL: usize = 30;
const MINUTE: Duration = Duration::from_secs(60);

/// A passphrase as it is kept: never itself, only its hash as a PHC string, which names the algorithm and its cost.
/// Source: github.com/P-H-C/phc-string-format (read through the documentation of the crate `phc`).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept(pub(crate) String);

impl Kept {
    /// What is kept of a new passphrase.
    ///
    /// # Errors
    /// When it is too short, too long, or too easily guessed.
    pub fn of(passphrase: &str) -> Result<Self, Error> {
        is_hard(passphrase).map_err(Error::Unusable)?;
        Self::at(passphrase, COST)
    }

    /// What is kept of a passphrase at a cost: memory in KiB, passes and lanes.
    fn at(passphrase: &str, (memory, passes, lanes): (u32, u32, u32)) -> Result<Self, Error> {
        let mut salt = [0_u8; 16];
        getrandom::fill(&mut salt).map_err(no_random)?;
        let params = Params::new(memory, passes, lanes, Some(32)).map_err(|error| failed(error.into()))?;
        let hash = Argon2::from(params).hash_password_with_salt(passphrase.as_bytes(), &salt);
        Ok(Self(hash.map_err(failed)?.to_string()))
    }

    /// One kept by an earlier version: the salt's letters, and what Argon2id made of them in hexadecimal digits, at the one
    /// cost there was.
    pub(crate) fn of_earlier(salt: &str, hash: &str) -> Option<Self> {
        let salt = Salt::new(salt.as_bytes()).ok()?;
        let hash = Output::new(&HEXLOWER.decode(hash.as_bytes()).ok()?).ok()?;
        Some(Self(format!("$argon2id$v=19$m=65536,t=3,p=1${salt}${hash}")))
    }

    /// Whether this is the passphrase, at the cost it was kept at.
    ///
    /// # Errors
    /// When the computer has no memory left for the calculation, or what is kept cannot be read.
    pub fn is(&self, passphrase: &str) -> Result<bool, Error> {
        if passphrase.len() > LONGEST {
            return Ok(false);
        }
        let hash = PasswordHash::new(&self.0).map_err(|error| failed(error.into()))?;
        match Argon2::default().verify_password(passphrase.as_bytes(), &hash) {
            Ok(()) => Ok(true),
            Err(password_hash::Error::PasswordInvalid) => Ok(false),
            Err(error) => Err(failed(error)),
        }
    }

    /// The same passphrase at today's cost, when it was kept at another.
    ///
    /// # Errors
    /// When the computer has no memory left for the calculation.
    pub(crate) fn renewed(&self, passphrase: &str) -> Result<Option<Self>, Error> {
        self.renewed_at(passphrase, COST)
    }

    fn renewed_at(&self, passphrase: &str, cost: (u32, u32, u32)) -> Result<Option<Self>, Error> {
        let params = PasswordHash::new(&self.0).ok().and_then(|hash| Params::try_from(&hash).ok());
        let at = params.map(|params| (params.m_cost(), params.t_cost(), params.p_cost()));
        if at == Some(cost) { Ok(None) } else { Self::at(passphrase, cost).map(Some) }
    }
}

fn failed(cause: password_hash::Error) -> Error {
    Error::storage("the passphrase could not be calculated", "close other programs and try again").because(cause)
}

fn no_random(cause: getrandom::Error) -> Error {
    Error::internal("this computer gives no random numbers", "start it again and try once more").because(cause)
}

fn is_hard(passphrase: &str) -> Result<(), Message> {
    let letters = passphrase.chars().count();
    let mut different: Vec<_> = passphrase.to_lowercase().chars().collect();
    different.sort_unstable();
    different.dedup();
    let next = "take four or five words that do not belong together";
    if letters < SHORTEST {
        return Err(Message::new(
            format!("a passphrase has at least {SHORTEST} letters, and this one has {letters}"),
            next,
        ));
    }
    if passphrase.len() > LONGEST || passphrase.chars().any(char::is_control) {
        return Err(Message::new("a passphrase is one line of at most 1024 bytes", next));
    }
    let steps = passphrase.chars().zip(passphrase.chars().skip(1));
    let in_a_row = steps.filter(|(a, b)| u32::from(*a).abs_diff(u32::from(*b)) <= 1).count();
    if different.len() < 6 || in_a_row * 2 > letters || passphrase.to_lowercase().contains("makeready") {
        return Err(Message::new("this passphrase is one of the first anyone would try", next));
    }
    Ok(())
}

/// 256 random bits, as 43 signs that can stand in an address.
///
/// # Errors
/// When the system gives no random numbers.
pub fn random() -> Result<String, Error> {
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes).map_err(no_random)?;
    Ok(BASE64URL_NOPAD.encode(&bytes))
}

/// Counts guesses, and lets only so many be tried.
#[derive(Debug)]
pub struct Guesses {
    tried: Mutex<HashMap<Option<IpAddr>, Vec<Instant>>>,
    room: Semaphore,
}

impl Default for Guesses {
    fn default() -> Self {
        Self { tried: Mutex::default(), room: Semaphore::new(AT_ONCE) }
    }
}

impl Guesses {
    /// Waits for the turn of one guess from an address, or refuses it. Strangers cannot use up the guesses of an address that
    /// was let in before, a `known` one.
    ///
    /// # Errors
    /// When this address, or all strangers together, guessed too often within a minute.
    pub async fn turn(&self, from: IpAddr, known: bool) -> Result<tokio::sync::SemaphorePermit<'_>, Error> {
        self.count(network(from), known, Instant::now())?;
        self.room.acquire().await.map_err(|_| too_often())
    }

    fn count(&self, from: IpAddr, known: bool, now: Instant) -> Result<(), Error> {
        let mut tried = self.tried.lock();
        tried.retain(|_, times| {
            times.retain(|time| now.duration_since(*time) < MINUTE);
            !times.is_empty()
        });
        let count = |who: Option<IpAddr>| tried.get(&who).map_or(0, Vec::len);
        if count(Some(from)) >= OF_ONE || (!known && count(None) >= OF_ALL) {
            return Err(too_often());
        }
        tried.entry(Some(from)).or_default().push(now);
        if !known {
            tried.entry(None).or_default().push(now);
        }
        Ok(())
    }
}

/// What counts as one address: whoever has one of IPv6 has the 2^64 beside it.
pub(crate) fn network(from: IpAddr) -> IpAddr {
    match from {
        IpAddr::V4(_) => from,
        IpAddr::V6(address) => IpAddr::V6(std::net::Ipv6Addr::from_bits(address.to_bits() & (u128::MAX << 64))),
    }
}

fn too_often() -> Error {
    Error::Often(Message::new("the passphrase was tried too often", "wait a minute and try again"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_passphrase_itself_is_the_passphrase() {
        let kept = Kept::of("heron under wet plaster").unwrap();
        assert!(kept.is("heron under wet plaster").unwrap());
        for wrong in ["", "heron under wet plaste", "Heron under wet plaster", "heron under wet plaster "] {
            assert!(!kept.is(wrong).unwrap(), "{wrong:?} was taken");
        }
        let again = Kept::of("heron under wet plaster").unwrap();
        assert_ne!(again, kept, "two equal passphrases are kept alike");
        assert_eq!(kept.renewed("heron under wet plaster").unwrap(), None, "kept at today's cost");
    }

    #[test]
    fn argon2id_gives_what_its_reference_gives() {
        // Source: the reference program: echo -n password | argon2 somesalt -id -t 2 -m 16 -p 1 (from memory of its README
        // test list, version 0x13), which also writes the PHC string.
        let kept =
            Kept::of_earlier("somesalt", "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7").unwrap();
        let kept = Kept(kept.0.replace("t=3", "t=2"));
        assert_eq!(kept.0, "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc");
        assert!(kept.is("password").unwrap() && !kept.is("passwords").unwrap());
    }

    #[test]
    fn a_passphrase_kept_by_an_earlier_version_is_accepted() {
        // As it was made: the salt's letters as they stand, 64 MiB, three passes, one lane.
        let (salt, mut hash) = ("Qk3_x8pLw0aZr5tYv2uNf7sDhJ4gMbCe1oIiXyWzT9-", [0_u8; 32]);
        let params = Params::new(65_536, 3, 1, Some(32)).unwrap();
        Argon2::from(params).hash_password_into(b"heron under wet plaster", salt.as_bytes(), &mut hash).unwrap();
        let kept = Kept::of_earlier(salt, &HEXLOWER.encode(&hash)).unwrap();
        assert!(kept.is("heron under wet plaster").unwrap() && !kept.is("heron under wet plastex").unwrap());
        assert_eq!(Kept::of_earlier(salt, "no digits"), None);
    }

    #[test]
    fn a_raised_cost_is_taken_up_and_what_was_kept_at_a_lower_one_is_accepted() {
        let cheap = Kept::at("heron under wet plaster", (1024, 1, 1)).unwrap();
        assert!(cheap.0.starts_with("$argon2id$v=19$m=1024,t=1,p=1$"), "{}", cheap.0);
        assert!(cheap.is("heron under wet plaster").unwrap() && !cheap.is("heron under wet plastex").unwrap());
        let dearer = cheap.renewed_at("heron under wet plaster", (2048, 2, 1)).unwrap().unwrap();
        assert!(dearer.0.starts_with("$argon2id$v=19$m=2048,t=2,p=1$"), "{}", dearer.0);
        assert!(dearer.is("heron under wet plaster").unwrap() && !dearer.is("heron under wet plastex").unwrap());
        assert_eq!(dearer.renewed_at("heron under wet plaster", (2048, 2, 1)).unwrap(), None);
    }

    #[test]
    fn a_passphrase_anyone_would_try_is_refused() {
        for easy in [
            "",
            "short",
            "heron, wet.",
            "aaaaaaaaaaaaaaaa",
            "123456789012",
            "abcdefghijklmnop",
            "makeready2026!",
            "ababababababab",
            "line\nbreak and more",
        ] {
            assert!(is_hard(easy).is_err(), "{easy:?} was taken");
        }
        assert!(is_hard("heron, wet, ").is_ok(), "twelve letters are allowed");
        assert!(is_hard(&"a long one, ".repeat(6)).is_ok(), "72 letters are allowed");
    }

    #[test]
    fn random_signs_are_43_and_never_twice_the_same() {
        let all: std::collections::BTreeSet<_> = (0..1000).map(|_| random().unwrap()).collect();
        assert_eq!(all.len(), 1000);
        assert!(
            all.iter()
                .all(|one| one.len() == 43 && one.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_".contains(&b)))
        );
    }

    #[test]
    fn of_a_thousand_guesses_in_a_minute_thirty_are_tried() {
        let (guesses, began) = (Guesses::default(), Instant::now());
        let tried = |from: [u8; 4], second: u64| {
            guesses.count(IpAddr::from(from), false, began + Duration::from_secs(second)).is_ok()
        };
        let first = (0..1000).filter(|n| tried([10, 0, 0, 1], n * 59 / 1000)).count();
        assert_eq!(first, 5, "one address gets five");
        assert!(tried([10, 0, 0, 2], 59), "another address still gets in");
        let more = (0..1000_u16).filter(|n| tried([10, 1, (n >> 8) as u8, *n as u8], 59)).count();
        assert_eq!(first + 1 + more, 30, "all together get thirty");
        assert!(tried([10, 0, 0, 1], 150), "a minute later it may be tried again");
    }

    #[test]
    fn strangers_do_not_use_up_the_guesses_of_an_address_that_was_let_in() {
        let (guesses, now) = (Guesses::default(), Instant::now());
        for n in 0..100 {
            let _ = guesses.count(IpAddr::from([10, 1, 0, n]), false, now);
        }
        assert!(guesses.count(IpAddr::from([10, 2, 0, 1]), false, now).is_err(), "strangers have used up theirs");
        let owner = IpAddr::from([10, 0, 0, 1]);
        let tried = (0..10).filter(|_| guesses.count(owner, true, now).is_ok()).count();
        assert_eq!(tried, 5, "the owner's address has its own, and no more than any");
    }

    #[test]
    fn one_home_of_ipv6_is_one_address() {
        let at = |text: &str| network(text.parse().unwrap());
        assert_eq!(at("2001:db8:1:2::3"), at("2001:db8:1:2:ffff::9"));
        assert_ne!(at("2001:db8:1:2::3"), at("2001:db8:1:3::3"));
        assert_eq!(at("10.0.0.1"), IpAddr::from([10, 0, 0, 1]));
    }
}
