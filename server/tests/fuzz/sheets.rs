//! Sheets of any blocks and any letters: set within their bounds, the same twice, and whole as another reader sees them.

use std::sync::Arc;
use std::time::Duration;

use paper::content::{Block, Code, Column, Drawing, Item, Picture, Place, Row, Run, Shape, Side, Step, Stroke, Table};
use paper::{Bounds, Sheet, Size, Unset, pdf};

use crate::calculated;
use crate::tries::{Tries, text};

/// The first letter of a line says what block it becomes, the rest what stands in it.
const LINES: &[&str] = &[
    "\n#",
    "\np",
    "\n-",
    "\nx",
    "\n|",
    "\n>",
    "\nc",
    "\nd",
    "\ni",
    "\nm",
    "\nr",
    "\ne",
    "\ns",
    "\nf",
    "\n_",
    "\nh",
    " words in a line",
    " 72 x 24 in",
    "a",
    " ",
    "\u{a0}",
    "|",
    "||||",
    "é",
    "e\u{301}",
    "\u{301}",
    "ﬁ",
    "𝔘",
    "木版画",
    "עברית",
    "العربية",
    "हिन्दी",
    "👩‍👩‍👧",
    "\u{202e}",
    "\u{200b}",
    "\u{200d}",
    "\u{feff}",
    "\u{0}",
    "\u{7}",
    "\u{fffe}",
    "\u{e000}",
    "\t",
    "\r",
    "(",
    ")",
    "\\",
    "%PDF",
    "endstream",
    "<",
    "&",
    "https://a.example/",
    "javascript:x",
    "/\u{0}",
    "99999999999",
    "-1",
    "unbrokenunbrokenunbrokenunbrokenunbrokenunbrokenunbrokenunbrokenunbrokenunbroken",
];

fn runs(words: &str) -> Vec<Run> {
    words.split_inclusive(' ').enumerate().map(|(at, word)| run(at, word)).collect()
}

fn run(at: usize, word: &str) -> Run {
    let mut run = Run::plain(word);
    run.look.bold = at % 5 == 1;
    run.look.italic = at % 5 == 2;
    run.look.struck = at % 7 == 3;
    run.to = word.contains(':').then(|| word.to_owned());
    run
}

fn table(words: &str) -> Table {
    let cells: Vec<_> = words.split('|').map(runs).collect();
    let columns = cells.len().clamp(1, 6);
    let sides = [Side::Start, Side::Middle, Side::End];
    Table {
        columns: (0..columns).map(|at| Column { side: sides[at % 3], share: (at % 3) as u8 }).collect(),
        head: if words.len().is_multiple_of(2) { cells.iter().take(columns).cloned().collect() } else { Vec::new() },
        rows: cells
            .chunks(columns)
            .map(|cells| Row { cells: cells.to_vec(), bar: (words.len().is_multiple_of(5)).then_some((100, 900)) })
            .collect(),
        total: (words.len().is_multiple_of(3)).then(|| (runs("Total"), runs(words))),
        is_named: words.len().is_multiple_of(7),
        widest: None,
    }
}

/// Numbers that a line gives, also such as no drawing has.
fn number(words: &str, at: usize) -> f64 {
    let byte = words.as_bytes().get(at).copied().unwrap_or(7);
    match byte {
        b'9' => f64::NAN,
        b'-' => f64::INFINITY,
        b'(' => -1e300,
        other => f64::from(other) - 60.0,
    }
}

fn drawing(words: &str) -> Drawing {
    let place = |at: usize| Place(number(words, at), number(words, at + 1));
    Drawing {
        alt: words.to_owned(),
        caption: words.to_owned(),
        size: Place(number(words, 3).abs(), number(words, 4).abs()),
        shapes: vec![
            Shape::Path {
                steps: vec![
                    Step::Move(place(0)),
                    Step::Line(place(2)),
                    Step::Curve(place(1), place(3), place(5)),
                    Step::Close,
                ],
                stroke: Some(Stroke { width: words.len() as u16, grey: 90, dash: vec![words.len() as u16 % 9; 2] }),
                fill: Some(words.len() as u8),
            },
            Shape::Words {
                at: place(2),
                anchor: Side::Middle,
                turned: words.len() % 2 == 1,
                size: words.len() as u16 * 7,
                words: words.to_owned(),
            },
        ],
    }
}

/// A picture's beginning and then whatever the words are.
fn picture(words: &str) -> Picture {
    let mut file: Vec<u8> = match words.len() % 3 {
        0 => b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec(),
        1 => b"\xff\xd8\xff\xe0".to_vec(),
        _ => Vec::new(),
    };
    file.extend(words.bytes());
    Picture { file: Arc::new(file), alt: words.to_owned() }
}

fn block(line: &str, inner: &[Block]) -> Option<Block> {
    let mut letters = line.chars();
    let (kind, words) = (letters.next()?, letters.as_str());
    Some(match kind {
        '#' => Block::Heading { level: words.len() as u8, runs: runs(words) },
        '-' => Block::List {
            first: words.contains('9').then_some(u64::MAX - 1),
            items: words
                .split('|')
                .map(|item| Item {
                    tick: item.contains('a').then_some(true),
                    blocks: vec![Block::Paragraph(runs(item))],
                })
                .collect(),
        },
        'x' => Block::Checks(words.split('|').map(str::to_owned).collect()),
        '|' => Block::Table(table(words)),
        '>' => Block::Quote(inner.to_vec()),
        'm' => Block::Marked(inner.to_vec()),
        'e' => Block::Closing(inner.to_vec()),
        'r' => Block::Revised { revision: words.to_owned(), block: Box::new(inner.first()?.clone()) },
        'c' => Block::Code(words.replace('|', "\n")),
        'd' => Block::Drawing(drawing(words)),
        'i' => Block::Picture(picture(words)),
        's' => Block::Sign {
            agreed: Some(words.to_owned()),
            lines: words.split('|').map(str::to_owned).collect(),
            code: Some(Code {
                wide: words.len() as u16,
                dark: vec![(0, 0, 3), (60_000, 2, 60_000)],
                words: words.to_owned(),
            }),
        },
        'f' => Block::Fields(words.split('|').map(|one| (one.to_owned(), words.to_owned())).collect()),
        '_' => Block::Space(words.len() as u8),
        'h' => Block::Head { title: words.to_owned(), subtitle: words.to_owned(), beside: vec![runs(words)] },
        _ => Block::Paragraph(runs(line)),
    })
}

fn sheet(text: &str) -> Sheet {
    let mut body = Vec::new();
    for line in text.lines() {
        let from = body.len().saturating_sub(2);
        // Blocks in blocks, not deeper than a plan's sheet has them.
        let inner: Vec<Block> = body[from..].iter().filter(|one| !is_nested(one)).cloned().collect();
        body.extend(block(line, &inner));
    }
    Sheet {
        size: if text.len().is_multiple_of(2) { Size::Letter } else { Size::A4 },
        title: text.chars().take(90).collect(),
        author: text.chars().rev().take(30).collect(),
        day: (2026, 11, 25),
        running: text.chars().take(200).collect(),
        ident: "sheet".to_owned(),
        body,
        foot: vec![Block::Fields(vec![("title".to_owned(), text.chars().take(60).collect())])],
    }
}

fn is_nested(block: &Block) -> bool {
    matches!(block, Block::Quote(_) | Block::Marked(_) | Block::Closing(_) | Block::Revised { .. })
}

#[test]
fn sheets_of_any_blocks_are_set_or_refused_in_a_sentence() {
    let (mut tries, mut longest, mut set) = (Tries::of("paper", 13, LINES, 250), Duration::ZERO, 0);
    while let Some(text) = tries.next(|dice| text(dice, LINES, 60)) {
        let (sheet, began) = (sheet(&text), calculated());
        let set_it = || pdf(&sheet, &Bounds::default(), &|| true);
        let made = std::panic::catch_unwind(set_it).unwrap_or_else(|_| panic!("it broke: {text:?}"));
        longest = longest.max(calculated() - began);
        assert!(longest < Duration::from_secs(3), "it took {longest:?}: {text:?}");
        match made {
            Ok(made) => {
                set += 1;
                assert!(made.pdf.starts_with(b"%PDF-1.") && made.pdf.ends_with(b"%%EOF"), "{text:?}");
                assert_eq!(
                    made.pdf,
                    pdf(&sheet, &Bounds::default(), &|| true).unwrap().pdf,
                    "not the same twice: {text:?}"
                );
                let letters = made.unwritten.iter().map(|letter| format!("without {letter:?}"));
                tries.showed(&text, letters.chain([format!("{} pages", pages(&made.pdf))]));
            }
            // The writer refuses only what a standard forbids, and nothing a plan holds may come to that.
            Err(Unset::Refused(why)) => panic!("{why}: {text:?}"),
            Err(unset) => tries.showed(&text, [format!("{unset:?}")]),
        }
    }
    println!("{set} were set; longest: {longest:?}");
    assert!(set > 100, "only {set} were set");
}

/// How many pages a file has.
fn pages(file: &[u8]) -> usize {
    file.windows(11).filter(|part| part == b"/Type /Page" || part == b"/Type/Page/").count()
}
