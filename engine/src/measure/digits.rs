//! Whole numbers as digits.

/// A whole number, grouped by a thin space from ten thousand up.
pub(crate) fn push_whole(out: &mut String, value: u64) {
    digits(out, value, if value >= 10_000 { Some('\u{202f}') } else { None });
}

/// A whole number as it is, in digits only.
pub(crate) fn push_digits(out: &mut String, value: u64) {
    digits(out, value, None);
}

fn digits(out: &mut String, value: u64, between: Option<char>) {
    let places = value.checked_ilog10().unwrap_or(0);
    let mut power = 10_u64.pow(places);
    for place in (0..=places).rev() {
        out.push(char::from(b'0' + u8::try_from(value / power % 10).unwrap_or(0)));
        power = (power / 10).max(1);
        if let Some(between) = between.filter(|_| place > 0 && place.is_multiple_of(3)) {
            out.push(between);
        }
    }
}
