//! Whether one length fits another: the one comparison of this program for sheets, rolls, sticks, doors and walls.

use super::Length;

impl Length {
    /// What a length may be over and still fit: a thousandth of a millimetre, a hundredth of what a tape shows.
    ///
    /// Inches and centimetres added in another order differ by less than a millionth of that. Source: own rule.
    pub const SLACK: Self = Self::um(1.0);

    /// Whether it fits a room of that length. What is exactly as long fits.
    ///
    /// ```
    /// use engine::measure::Length;
    /// assert!((Length::cm(58.42) + Length::inch(7.0)).fits(Length::inch(30.0)));
    /// assert!(!Length::inch(30.01).fits(Length::inch(30.0)));
    /// ```
    pub fn fits(self, room: Self) -> bool {
        self <= room + Self::SLACK
    }

    /// How many of them lie in a room with a gap between each two, at most `most`.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0..=most, a u32")]
    pub fn count_in(self, room: Self, gap: Self, most: u32) -> u32 {
        ((room + Self::SLACK + gap) / (self + gap)).floor().clamp(0.0, f64::from(most)) as u32
    }
}
