//! Numbers for tests that try much: how often, and what by chance.

/// A number from the environment for the long form of a test, else the short form's.
pub(crate) fn long_form(name: &str, short: usize) -> usize {
    std::env::var(name).ok().and_then(|number| number.parse().ok()).unwrap_or(short)
}

/// Numbers that look random and are the same every time.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn roll(&mut self, below: u64) -> u64 {
        // Source: Vigna, xorshift64* (from memory).
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) % below.max(1)
    }
}
