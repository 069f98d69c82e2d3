//! Rows as comma-separated values, for spreadsheets and other programs and from them. Source: RFC 4180 (written with the crate `csv`, chosen
//! because it quotes by that document and is read by everything).

use crate::error::Error;

/// Rows of cells, the first with what the columns hold.
pub(crate) type Rows = Vec<Vec<String>>;

/// A row as written in the program.
pub(crate) fn words<const N: usize>(all: [&str; N]) -> Vec<String> {
    all.map(str::to_owned).to_vec()
}

/// The rows as text that no spreadsheet takes for a calculation: a cell that begins like one gets an apostrophe in front.
/// Source: OWASP, CSV injection (from memory): `=`, `+`, `-`, `@`, tab, return, and the wide forms of the first four.
pub(crate) fn csv(rows: &Rows) -> Result<Vec<u8>, Error> {
    let broke = |cause: Box<dyn std::error::Error + Send + Sync>| {
        Error::internal("this table could not be written", "try again, and tell us which plan it was").because(cause)
    };
    let mut out = ::csv::WriterBuilder::new().terminator(::csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        out.write_record(row.iter().map(|cell| harmless(cell))).map_err(|error| broke(error.into()))?;
    }
    out.into_inner().map_err(|error| broke(error.to_string().into()))
}

/// The rows of a list from elsewhere, each with its line from 1: cells set apart by tabs, else by semicolons, else by commas.
pub(crate) fn read(text: &str) -> Vec<(usize, Vec<String>)> {
    let mark = [b'\t', b';'].into_iter().find(|mark| text.as_bytes().contains(mark)).unwrap_or(b',');
    let mut reader = ::csv::ReaderBuilder::new();
    let reader = reader.has_headers(false).delimiter(mark).trim(::csv::Trim::All);
    // Line by line, so that a quote that is never closed takes no other line along.
    let rows = text.lines().enumerate().filter_map(|(index, line)| {
        let row = reader.from_reader(line.as_bytes()).into_records().next()?.ok()?;
        Some((index + 1, row.iter().map(str::to_owned).collect()))
    });
    rows.collect()
}

fn harmless(cell: &str) -> String {
    let starts = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']);
    // Digits only: a name such as `-inf` is a number for this program and a calculation for a spreadsheet.
    let plain = |cell: &str| cell.chars().all(|letter| letter.is_ascii_digit() || matches!(letter, '.' | '+' | '-'));
    if starts && !(plain(cell) && cell.parse::<f64>().is_ok()) { format!("'{cell}") } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::{csv, read};

    #[test]
    fn a_list_is_read_by_the_mark_between_its_cells() {
        for (text, want) in [
            ("Proof\t28\n\nGloss, wet\t18,50 €\n", vec![(1, vec!["Proof", "28"]), (3, vec!["Gloss, wet", "18,50 €"])]),
            ("Proof; 28\r\nGloss, wet;18,50", vec![(1, vec!["Proof", "28"]), (2, vec!["Gloss, wet", "18,50"])]),
            ("\"Gloss, wet\", 18.50", vec![(1, vec!["Gloss, wet", "18.50"])]),
            ("\"Gloss\t1\nRag\t2", vec![(1, vec!["Gloss\t1"]), (2, vec!["Rag", "2"])]),
        ] {
            let rows = read(text);
            let rows: Vec<(usize, Vec<&str>)> =
                rows.iter().map(|(line, row)| (*line, row.iter().map(String::as_str).collect())).collect();
            assert_eq!(rows, want, "{text}");
        }
    }

    #[test]
    fn no_cell_starts_a_formula() {
        for (cell, want) in [
            ("=1+1", "'=1+1\r\n"),
            ("+1", "+1\r\n"),
            ("-3.50", "-3.50\r\n"),
            ("-3 off", "'-3 off\r\n"),
            ("-inf", "'-inf\r\n"),
            ("@a", "'@a\r\n"),
            ("\tx", "'\tx\r\n"),
            ("＝1", "'＝1\r\n"),
            ("a,b", "\"a,b\"\r\n"),
            ("he said \"so\"", "\"he said \"\"so\"\"\"\r\n"),
            ("plain", "plain\r\n"),
        ] {
            assert_eq!(csv(&vec![vec![cell.to_owned()]]).unwrap(), want.as_bytes(), "{cell:?}");
        }
    }
}
