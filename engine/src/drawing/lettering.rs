//! How much room words take in the face the sheets are set in.

/// Height of the letters of a drawing, in millimetres of paper: about 9.5 points.
pub(super) const SIZE: f64 = 3.3;

/// From the baseline up to the top of the tallest letter, as a share of the size.
pub(super) const ABOVE: f64 = 0.76;
/// From the baseline down to the foot of the deepest letter.
pub(super) const BELOW: f64 = 0.25;

/// Advance widths of the letters from space to tilde in thousandths of the size.
///
/// Source: the `hmtx` table of LibertinusSerif-Regular.otf, the face shipped in `static/fonts`; a test reads it again.
const WIDTHS: [u16; 95] = [
    250, 288, 336, 465, 465, 637, 705, 190, 298, 298, 369, 550, 220, 338, 220, 323, 465, 465, 465, 465, 465, 465, 465,
    465, 465, 465, 236, 236, 550, 550, 550, 435, 895, 695, 588, 646, 701, 557, 485, 685, 730, 297, 322, 637, 528, 839,
    699, 702, 541, 702, 587, 485, 597, 661, 652, 951, 660, 575, 604, 356, 287, 356, 518, 486, 392, 457, 493, 428, 506,
    447, 310, 500, 538, 271, 272, 512, 264, 790, 542, 504, 519, 503, 372, 390, 316, 531, 497, 747, 490, 515, 424, 277,
    205, 277, 449,
];

/// The width of words set in one line, in millimetres of paper. Signs the table does not know count as a whole square and
/// a third, the widest there is in the face.
pub(super) fn width(words: &str) -> f64 {
    let thousandths: u32 = words
        .chars()
        .map(|c| match c {
            ' '..='~' => {
                (u32::from(c) - 32).try_into().ok().and_then(|at: usize| WIDTHS.get(at)).map_or(1300, |w| u32::from(*w))
            }
            '\u{a0}' => 250,
            '\u{202f}' => 125,
            '\u{d7}' | '\u{2212}' | '\u{b1}' | '\u{f7}' | '\u{2013}' => 550,
            '\u{b7}' | '\u{b0}' | '\u{2019}' => 268,
            '\u{bc}'..='\u{be}' | '\u{2153}'..='\u{215e}' => 660,
            '\u{b2}' | '\u{b3}' => 307,
            '\u{2044}' => 323,
            'à'..='ü' => 760,
            _ => 1300,
        })
        .sum();
    f64::from(thousandths) / 1000.0 * SIZE
}

/// Words broken into lines no wider than `room`; a word that is wider stands alone on its line and is cut.
pub(super) fn lines(words: &str, room: f64) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in words.split(' ').filter(|word| !word.is_empty()) {
        let longer = out.last().map(|line| format!("{line} {word}")).filter(|line| width(line) <= room);
        match (longer, out.last_mut()) {
            (Some(longer), Some(last)) => *last = longer,
            _ => out.push(cut(word, room)),
        }
    }
    out
}

/// As much of the words as fits, with a mark where more is left out.
pub(super) fn cut(words: &str, room: f64) -> String {
    if width(words) <= room {
        return words.to_owned();
    }
    let mut out = String::new();
    for c in words.chars() {
        if width(&out) + width(&format!("{c}...")) > room {
            break;
        }
        out.push(c);
    }
    out + "..."
}
