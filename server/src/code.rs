//! A square code a camera reads. Source: ISO/IEC 18004, level M, four modules of quiet zone (drawn with the crate `qrcode`,
//! chosen because it is small, needs nothing else and gives the bare modules).

use std::fmt::Write as _;

use paper::content::Code;
use qrcode::{Color, EcLevel, QrCode};

/// Modules of white kept free round the code.
const QUIET: usize = 4;

/// The code's dark runs, for paper; nothing when there are too many words for one.
pub(crate) fn modules(words: &str) -> Option<Code> {
    let code = QrCode::with_error_correction_level(words, EcLevel::M).ok()?;
    let wide = code.width();
    let small = |number: usize| u16::try_from(number).ok();
    let mut dark = Vec::new();
    for (row, colors) in code.to_colors().chunks(wide.max(1)).enumerate() {
        let mut column = 0;
        for run in colors.chunk_by(|a, b| a == b) {
            if run.first() == Some(&Color::Dark) {
                dark.push((small(column + QUIET)?, small(row + QUIET)?, small(run.len())?));
            }
            column += run.len();
        }
    }
    Some(Code { wide: small(wide + QUIET * 2)?, dark, words: words.to_owned() })
}

/// The code as SVG, black on white in any light; nothing when there are too many words for one.
pub(crate) fn svg(words: &str) -> Option<String> {
    let code = modules(words)?;
    let (all, mut path) = (code.wide, String::new());
    for (column, row, run) in code.dark {
        let _ = write!(path, "M{column} {row}h{run}v1h-{run}z");
    }
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {all} {all}\" width=\"{all}mm\" height=\"{all}mm\"><rect width=\"{all}\" height=\"{all}\" fill=\"#fff\"/><path fill=\"#000\" d=\"{path}\"/></svg>"
    ))
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        clippy::indexing_slicing,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a test may stop at once"
    )]

    use super::{QUIET, svg};

    /// Read back by another crate, which knows nothing of how it was drawn.
    #[test]
    fn an_independent_reader_reads_the_code_back() {
        for words in ["causeway-first-light framer r12 3fa85f6400", "ä ö ü 漢字 \u{1f600}", &"x".repeat(400)] {
            let drawn = svg(words).unwrap();
            let size: usize = drawn.split("viewBox=\"0 0 ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
            assert!(size > QUIET * 2);
            let mut dark = vec![false; size * size];
            for run in drawn.split("d=\"").nth(1).unwrap().split('M').skip(1) {
                let numbers: Vec<usize> = run
                    .split(|c: char| !c.is_ascii_digit())
                    .filter(|part| !part.is_empty())
                    .map(|part| part.parse().unwrap())
                    .collect();
                for x in numbers[0]..numbers[0] + numbers[2] {
                    dark[numbers[1] * size + x] = true;
                }
            }
            let mut picture = rqrr::PreparedImage::prepare_from_greyscale(size * 4, size * 4, |x, y| {
                if dark[(y / 4) * size + x / 4] { 0 } else { 255 }
            });
            let (_, read) = picture.detect_grids()[0].decode().unwrap();
            assert_eq!(read, words);
        }
    }
}
