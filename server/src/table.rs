//! Rows as comma-separated values, for spreadsheets and other programs. Source: RFC 4180 (written with the crate `csv`, chosen
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

fn harmless(cell: &str) -> String {
    let starts = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']);
    // Digits only: a name such as `-inf` is a number for this program and a calculation for a spreadsheet.
    let plain = |cell: &str| cell.chars().all(|letter| letter.is_ascii_digit() || matches!(letter, '.' | '+' | '-'));
    if starts && !(plain(cell) && cell.parse::<f64>().is_ok()) { format!("'{cell}") } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::csv;

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
