//! Sheets of paper read back with poppler's tools, word by word with the place of each.
#![allow(dead_code, reason = "each test file uses its own part")]

use std::process::Command;

/// One word on a sheet, in points from its upper left corner.
#[derive(Debug)]
pub struct Word {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
    pub text: String,
}

/// One printed sheet.
#[derive(Debug)]
pub struct Sheet {
    pub wide: f64,
    pub high: f64,
    pub words: Vec<Word>,
}

/// A printed ticket.
#[derive(Debug)]
pub struct Paper {
    pub sheets: Vec<Sheet>,
    file: tempfile::NamedTempFile,
}

impl Paper {
    /// Reads a PDF, word by word with the place of each.
    pub fn of(pdf: &[u8]) -> Self {
        assert!(pdf.starts_with(b"%PDF-"));
        let file = tempfile::Builder::new().suffix(".pdf").tempfile().unwrap();
        std::fs::write(file.path(), pdf).unwrap();
        let output = Command::new("pdftotext").arg("-bbox").arg(file.path()).arg("-").output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let mut sheets: Vec<Sheet> = Vec::new();
        for line in String::from_utf8(output.stdout).unwrap().lines().map(str::trim) {
            let number = |name: &str| -> f64 {
                let (_, rest) = line.split_once(&format!("{name}=\"")).unwrap_or_else(|| panic!("{name}: {line}"));
                rest.split('"').next().unwrap().parse().unwrap()
            };
            if line.starts_with("<page ") {
                sheets.push(Sheet { wide: number("width"), high: number("height"), words: Vec::new() });
            } else if line.starts_with("<word ") {
                let text = line.split_once('>').unwrap().1.trim_end_matches("</word>");
                let text = text
                    .replace("&lt;", "<")
                    .replace("&gt;", ">")
                    .replace("&quot;", "\"")
                    .replace("&apos;", "'")
                    .replace("&amp;", "&");
                let word = Word {
                    left: number("xMin"),
                    top: number("yMin"),
                    right: number("xMax"),
                    bottom: number("yMax"),
                    text,
                };
                sheets.last_mut().unwrap().words.push(word);
            }
        }
        assert!(!sheets.is_empty(), "the PDF has a page");
        Self { sheets, file }
    }

    /// Everything that can be read on it, spaces as one.
    pub fn words(&self) -> String {
        let all = self.sheets.iter().flat_map(|sheet| &sheet.words).map(|word| word.text.as_str());
        all.collect::<Vec<_>>()
            .join(" ")
            .replace(['\u{a0}', '\u{202f}'], " ")
            .replace("ﬁ", "fi")
            .replace("ﬂ", "fl")
            .replace("ﬀ", "ff")
    }

    /// What is written from bottom to top along a dimension line: the reader gives such words letter by letter, the last
    /// one first.
    pub fn upwards(&self) -> String {
        let mut letters: Vec<_> = self
            .sheets
            .iter()
            .enumerate()
            .flat_map(|(sheet, one)| one.words.iter().map(move |word| (sheet, word)))
            .filter(|(_, word)| word.text.chars().count() == 1)
            .collect();
        let place = |(sheet, word): &(usize, &Word)| (*sheet, word.left.round() as i64, -word.top.round() as i64);
        letters.sort_by_key(place);
        letters.iter().map(|(_, word)| word.text.as_str()).collect()
    }

    /// How colourful its most colourful point is, and how much of it is white: each sheet looked at as a picture.
    pub fn inks(&self) -> (u8, f64) {
        let folder = tempfile::tempdir().unwrap();
        let made = Command::new("pdftoppm")
            .args(["-r", "40"])
            .arg(self.file.path())
            .arg(folder.path().join("p"))
            .status()
            .unwrap();
        assert!(made.success());
        let (mut colour, mut white, mut all) = (0, 0_usize, 0_usize);
        for entry in std::fs::read_dir(folder.path()).unwrap().flatten() {
            let picture = std::fs::read(entry.path()).unwrap();
            // P6, size, 255, then three bytes a point.
            let mut fields = picture.splitn(4, |byte| *byte == b'\n');
            let _kind = fields.next().unwrap();
            let _size = fields.next().unwrap();
            let _depth = fields.next().unwrap();
            for point in fields.next().unwrap().chunks_exact(3) {
                colour = colour.max(point.iter().max().unwrap() - point.iter().min().unwrap());
                white += usize::from(point.iter().all(|part| *part > 245));
                all += 1;
            }
        }
        assert!(all > 0, "the sheets were drawn");
        (colour, white as f64 / all as f64)
    }
}

impl Paper {
    /// One sheet as a camera sees it, at so many points to the inch: width, height and the grey of each point.
    pub fn grey(&self, sheet: usize, resolution: usize) -> (usize, usize, Vec<u8>) {
        let number = sheet.to_string();
        let made = Command::new("pdftoppm")
            .args(["-gray", "-r", &resolution.to_string(), "-f", &number, "-l", &number])
            .arg(self.file.path())
            .output()
            .unwrap();
        assert!(made.status.success());
        let mut fields = made.stdout.splitn(4, |byte| *byte == b'\n');
        let _kind = fields.next().unwrap();
        let size = String::from_utf8(fields.next().unwrap().to_vec()).unwrap();
        let _depth = fields.next().unwrap();
        let (wide, high) = size.split_once(' ').unwrap();
        (wide.parse().unwrap(), high.parse().unwrap(), fields.next().unwrap().to_vec())
    }
}
