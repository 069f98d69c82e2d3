//! The passphrase that lets people in over the network: how it is kept, and how often it may be guessed.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use argon2::{Algorithm, Argon2, Params, Version};
use engine::Trouble;
use tokio::sync::Semaphore;

use crate::trouble::Refusal;

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

/// A passphrase as it is kept: never itself, only what is worked out from it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Random, so that two equal passphrases are kept differently.
    pub salt: String,
    /// What Argon2id makes of passphrase and salt, in hexadecimal digits.
    pub hash: String,
}

impl Kept {
    /// What is kept of a new passphrase.
    ///
    /// # Errors
    /// When it is too short, too long, or too easily guessed.
    pub fn of(passphrase: &str) -> Result<Self, Refusal> {
        is_hard(passphrase).map_err(Refusal::Unusable)?;
        let salt = random()?;
        Ok(Self { hash: hash(passphrase, &salt)?, salt })
    }

    /// Whether this is the passphrase.
    ///
    /// # Errors
    /// When the computer has no memory left for the calculation.
    pub fn is(&self, passphrase: &str) -> Result<bool, Refusal> {
        if passphrase.len() > LONGEST {
            return Ok(false);
        }
        let tried = hash(passphrase, &self.salt)?;
        // All of both is compared, so that the time taken tells nothing.
        let apart = tried.bytes().zip(self.hash.bytes()).fold(0, |apart, (a, b)| apart | (a ^ b));
        Ok(apart == 0 && tried.len() == self.hash.len())
    }
}

fn is_hard(passphrase: &str) -> Result<(), Trouble> {
    let letters = passphrase.chars().count();
    let mut different: Vec<_> = passphrase.to_lowercase().chars().collect();
    different.sort_unstable();
    different.dedup();
    let next = "take four or five words that do not belong together";
    if letters < SHORTEST {
        return Err(Trouble::new(
            format!("a passphrase has at least {SHORTEST} letters, and this one has {letters}"),
            next,
        ));
    }
    if passphrase.len() > LONGEST || passphrase.chars().any(char::is_control) {
        return Err(Trouble::new("a passphrase is one line of at most 1024 bytes", next));
    }
    let steps = passphrase.chars().zip(passphrase.chars().skip(1));
    let in_a_row = steps.filter(|(a, b)| u32::from(*a).abs_diff(u32::from(*b)) <= 1).count();
    if different.len() < 6 || in_a_row * 2 > letters || passphrase.to_lowercase().contains("makeready") {
        return Err(Trouble::new("this passphrase is one of the first anyone would try", next));
    }
    Ok(())
}

fn hash(passphrase: &str, salt: &str) -> Result<String, Refusal> {
    let failed = |_| Refusal::unable("the passphrase could not be worked out", "close other programs and try again");
    let (memory, passes, lanes) = COST;
    let params = Params::new(memory, passes, lanes, Some(32)).map_err(failed)?;
    let mut out = [0_u8; 32];
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
        .hash_password_into(passphrase.as_bytes(), salt.as_bytes(), &mut out)
        .map_err(failed)?;
    Ok(out.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// 256 random bits, as 43 signs that can stand in an address.
///
/// # Errors
/// When the system gives no random numbers.
pub fn random() -> Result<String, Refusal> {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes)
        .map_err(|_| Refusal::unable("this computer gives no random numbers", "start it again and try once more"))?;
    let signs = bytes.chunks(3).flat_map(|part| {
        let all = part.iter().fold(0_u32, |all, byte| (all << 8) | u32::from(*byte)) << (8 * (3 - part.len()));
        [18, 12, 6, 0].into_iter().take(part.len() + 1).map(move |shift| (all >> shift) & 63)
    });
    Ok(signs.filter_map(|sign| SIGNS.get(sign as usize).map(|sign| char::from(*sign))).collect())
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
    pub async fn turn(&self, from: IpAddr, known: bool) -> Result<tokio::sync::SemaphorePermit<'_>, Refusal> {
        self.count(network(from), known, Instant::now())?;
        self.room.acquire().await.map_err(|_| too_often())
    }

    fn count(&self, from: IpAddr, known: bool, now: Instant) -> Result<(), Refusal> {
        let mut tried = self.tried.lock().unwrap_or_else(PoisonError::into_inner);
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

fn too_often() -> Refusal {
    Refusal::Often(Trouble::new("the passphrase was tried too often", "wait a minute and try again"))
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
        assert_ne!((again.salt, again.hash), (kept.salt, kept.hash), "two equal passphrases are kept alike");
    }

    #[test]
    fn argon2id_gives_what_its_reference_gives() {
        // Source: RFC 9106 section 5.3 gives a vector with secret and data; the same library without them is checked
        // against the reference program: echo -n password | argon2 somesalt -id -t 2 -m 16 -p 1 (from memory of its README
        // test list, version 0x13).
        let mut out = [0_u8; 32];
        let params = Params::new(1 << 16, 2, 1, Some(32)).unwrap();
        Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
            .hash_password_into(b"password", b"somesalt", &mut out)
            .unwrap();
        let hex: String = out.iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(hex, "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7");
        // What is kept is that function's, with 64 MiB and three passes.
        let params = Params::new(65_536, 3, 1, Some(32)).unwrap();
        Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
            .hash_password_into(b"heron under wet plaster", b"somesalt", &mut out)
            .unwrap();
        let hex: String = out.iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(hash("heron under wet plaster", "somesalt").unwrap(), hex);
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
