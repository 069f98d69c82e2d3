//! Whatever a plan's texts hold, paper shows it as text and nothing runs.

use crate::desk::Desk;
use crate::reader::read;
use crate::sheets::Paper;
use crate::shipped::{is_sound, pdf};

/// Marks of the typesetting language, of HTML, of TeX, of PDF itself, and of what spreadsheets take for calculations.
const HOSTILE: &[&str] = &[
    "#panic(\"x\") done",
    "#read(\"/etc/passwd\") done",
    "#eval(\"1 + 1\") done",
    "#import \"@preview/thing:0.1.0\": x",
    "#include \"sheet.typ\" done",
    "#set page(width: 1pt) done",
    "#sys.version done",
    "$1/0$ @ref <label>",
    "= not a heading",
    "/* open // open",
    "\\input{/etc/passwd} \\write18{ls}",
    "<script>alert(1)</script>",
    "<svg onload=alert(1)>",
    "endstream endobj /OpenAction /JS (app.alert)",
    "(unbalanced ) ) ( parens",
    "=cmd|' /C calc'!A0",
    "{{ 7 * 7 }} {% include x %}",
    "\u{202e}reversed\u{202c} plain",
    "a\u{301}ccents",
];

fn bare(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// What the page may leave out: signs that only steer direction.
fn seen(text: &str) -> String {
    bare(&text.replace(['\u{202e}', '\u{202c}'], ""))
}

/// Markdown's own signs, so that the text stands as it is.
fn plain(text: &str) -> String {
    text.chars().flat_map(|c| if c.is_ascii_punctuation() { vec!['\\', c] } else { vec![c] }).collect()
}

#[tokio::test]
async fn marks_of_any_language_come_out_letter_by_letter_in_every_field() {
    for (number, hostile) in HOSTILE.iter().enumerate() {
        let quoted = serde_json::to_string(hostile).unwrap();
        let plain = plain(hostile);
        let desk = Desk::with(&format!(
            "+++\ntitle = {quoted}\nabout = {quoted}\nedition = 3\ncontact = {{ name = {quoted}, phone = {quoted} }}\n[shops]\nlab = {quoted}\n+++\n\n# {plain}\n\n## {plain} {{for=lab}}\n\n{plain}\n\n- {plain}\n- [x] **{plain}**\n\n> {plain}\n\n| {plain} | b |\n|---|--:|\n| {plain} | *{plain}* |\n\n    {hostile}\n\n```workings\nlet what = {quoted};\ncost({quoted}, 5.usd, \"lab\");\nstep({quoted}, 3.days, \"lab\");\n```\n\nAnd `? what`.\n"
        ));
        let mut files = Vec::new();
        for path in ["/plan/p/paper.pdf", "/plan/p/ticket/lab/paper.pdf"] {
            let made = pdf(&desk, path).await;
            let said = bare(&Paper::of(&made).words());
            let times = said.matches(&seen(hostile)).count();
            assert!(times >= 7, "{number} {hostile:?} stands {times} times on {path}:\n{said}");
            assert!(!said.contains("root:x:0"), "{hostile:?}");
            files.push((format!("{hostile:?} on {path}"), made));
        }
        for (what, found) in read(&files) {
            is_sound(&what, &found, 612.0, 792.0);
        }
    }
}

#[tokio::test]
async fn links_lead_to_the_web_and_to_mail_and_nowhere_else() {
    let desk = Desk::with(
        "+++\ntitle = \"One\"\n+++\n\n# One\n\n[a](https://lab.example/x) [b](mailto:a@b.example) [c](javascript:alert(1)) [d](file:///etc/passwd) [e](/plan/other) [f](data:text/html,x) [g](JaVaScRiPt:x)\n",
    );
    let made = pdf(&desk, "/plan/p/paper.pdf").await;
    let (_, found) = read(&[("links".to_owned(), made)]).remove(0);
    let mut links = found.links.clone();
    links.sort();
    assert_eq!(links, ["https://lab.example/x", "mailto:a@b.example"]);
}

/// A letter no typeface has (a place for private use) is a square, and the sheet says so once and by its number; letters the
/// carried face has stay. What is copied of letters that some typeface of the computer has is what the plan says.
#[tokio::test]
async fn letters_no_face_has_are_squares_and_the_sheet_says_which_once() {
    let desk = Desk::with(
        "+++\ntitle = \"Weir \u{e123}\"\n[shops]\nlab = \"A\"\n+++\n\n# Weir\n\n## Größe {for=lab}\n\nnaïve – \u{e123} and \u{e123}\n",
    );
    for path in ["/plan/p/paper.pdf", "/plan/p/ticket/lab/paper.pdf"] {
        let made = pdf(&desk, path).await;
        let (what, found) = read(&[(path.to_owned(), made.clone())]).remove(0);
        is_sound(&what, &found, 612.0, 792.0);
        let said = Paper::of(&made).words();
        assert!(said.contains('□') && said.contains("Größe") && said.contains("naïve"), "{said}");
        assert_eq!(said.matches("U+E123").count(), 1, "{said}");
    }
}

/// Scripts of the small set of typefaces that the tests install, right to left and mixed; copied in the order they are read.
#[tokio::test]
async fn other_alphabets_are_set_in_faces_of_the_computer_and_named_on_the_sheet() {
    let desk = Desk::with(
        "+++\ntitle = \"Weir שלום\"\n[shops]\nlab = \"A\"\n+++\n\n# Weir שלום\n\n## Words {for=lab}\n\nLatin שלום עולם and مرحبا and नमस्ते.\n\nשלום 60 in עולם\n",
    );
    for path in ["/plan/p/paper.pdf", "/plan/p/ticket/lab/paper.pdf?paper=a4"] {
        let made = pdf(&desk, path).await;
        assert!(made == pdf(&desk, path).await, "the same bytes again");
        let (what, found) = read(&[(path.to_owned(), made.clone())]).remove(0);
        assert_eq!(found.problems, [""; 0], "{what}");
        assert!(found.fonts.iter().all(|font| font.embedded && font.unicode), "{what}: {:?}", found.fonts);
        assert!(found.fonts.iter().any(|font| !font.name.contains("LibertinusSerif")), "{what}: {:?}", found.fonts);
        assert!(found.standards["dc:title"].contains("שלום"), "{what}");
        let said = Paper::of(&made).words();
        assert!(!said.contains('□'), "{what}: {said}");
        assert!(said.contains("typefaces of the computer"), "{what}: {said}");
        // As a reader copies it: in the order in which it is read, from the right where it is written so.
        let copied = copied(&made);
        for word in ["שלום", "עולם", "مرحبا", "Latin"] {
            assert!(copied.contains(word), "{what}: {word} in {copied}");
        }
    }
}

/// The words of a file as they are copied out of it.
fn copied(pdf: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.pdf");
    std::fs::write(&path, pdf).unwrap();
    let said = std::process::Command::new("pdftotext").arg(&path).arg("-").output().expect("poppler is there");
    String::from_utf8(said.stdout).unwrap()
}

/// A letter of a script that this computer may or may not have a typeface for is either set or told of, never lost.
#[tokio::test]
async fn letters_of_a_script_that_may_be_lacking_are_set_or_told_of() {
    let desk = Desk::with("+++\ntitle = \"Weir 日\"\n+++\n\n# Weir\n\nSay 日.\n");
    let said = Paper::of(&pdf(&desk, "/plan/p/paper.pdf").await).words();
    let is_set = said.contains('日') && said.contains("typefaces of the computer");
    let is_told = said.contains('□') && said.contains("U+65E5");
    assert!(is_set != is_told, "{said}");
}

/// The big-endian number of four bytes.
fn four(number: u32) -> [u8; 4] {
    number.to_be_bytes()
}

/// A PNG of these sizes and depth, three colours, with this much packed behind its head. Source: ISO/IEC 15948 (from memory).
fn png(wide: u32, high: u32, deep: u8, packed: &[u8]) -> Vec<u8> {
    let chunk = |kind: &[u8; 4], data: &[u8]| {
        let body = [kind.as_slice(), data].concat();
        let crc = body.iter().fold(u32::MAX, |crc, byte| {
            (0..8).fold(crc ^ u32::from(*byte), |crc, _| (crc >> 1) ^ if crc & 1 == 1 { 0xedb8_8320 } else { 0 })
        });
        [four(data.len() as u32).as_slice(), &body, &four(!crc)].concat()
    };
    let head = [four(wide).as_slice(), &four(high), &[deep, 2, 0, 0, 0]].concat();
    [b"\x89PNG\r\n\x1a\n".as_slice(), &chunk(b"IHDR", &head), &chunk(b"IDAT", packed), &chunk(b"IEND", &[])].concat()
}

/// Bytes as a stream of zlib without packing. Source: RFC 1950 and RFC 1951, 3.2.4.
fn stored(bytes: &[u8]) -> Vec<u8> {
    let long = u16::try_from(bytes.len()).unwrap();
    let (a, b) = bytes.iter().fold((1_u32, 0_u32), |(a, b), byte| {
        let a = (a + u32::from(*byte)) % 65521;
        (a, (b + a) % 65521)
    });
    [[0x78, 0x01, 1].as_slice(), &long.to_le_bytes(), &(!long).to_le_bytes(), bytes, &four((b << 16) | a)].concat()
}

/// A JPEG that says it is so large, its picture whole or cut off. Source: ITU-T T.81, annex B (from memory).
fn jpeg(wide: u16, high: u16, end: &[u8]) -> Vec<u8> {
    let frame =
        [[0xff, 0xc0, 0, 11, 8].as_slice(), &high.to_be_bytes(), &wide.to_be_bytes(), &[1, 1, 0x11, 0]].concat();
    [[0xff, 0xd8].as_slice(), &frame, &[0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0, 1, 2, 3], end].concat()
}

/// A picture that is whole is one; a broken one, or one that would unpack to more than a sheet takes, is its words.
#[tokio::test]
async fn a_hostile_picture_is_its_words_and_a_whole_one_is_a_picture() {
    let cut = |mut file: Vec<u8>| {
        file.truncate(file.len() - 20);
        file
    };
    let (eight, sixteen) = (stored(&[0, 1, 2, 3, 4, 5, 6, 0, 1, 2, 3, 4, 5, 6]), stored(&[0, 1, 2, 3, 4, 5, 6]));
    let all: [(&str, Vec<u8>, bool); 8] = [
        ("whole.png", png(2, 2, 8, &eight), true),
        ("deep.png", png(1, 1, 16, &sixteen), true),
        ("cut.png", cut(png(2, 2, 8, &eight)), false),
        ("empty.png", png(2, 2, 8, &stored(&[])), false),
        ("bomb.png", png(19_999, 19_999, 8, &eight), false),
        ("none.png", png(0, 0, 8, &eight), false),
        ("cut.jpg", jpeg(20, 20, &[]), false),
        ("text.jpg", b"not a picture".to_vec(), false),
    ];
    for (name, file, is_shown) in all {
        let desk = Desk::with(&format!("+++\ntitle = \"Weir\"\n+++\n\n# Weir\n\n![the weir at noon]({name})\n"));
        desk.outside(name, &file);
        let made = pdf(&desk, "/plan/p/paper.pdf").await;
        let said = Paper::of(&made).words();
        let (what, found) = read(&[(name.to_owned(), made)]).remove(0);
        is_sound(&what, &found, 612.0, 792.0);
        assert_eq!(said.contains("picture: the weir at noon"), !is_shown, "{name}: {said}");
        assert_eq!(found.figures.iter().any(|alt| alt == "the weir at noon"), is_shown, "{name}: {:?}", found.figures);
    }
}

/// A text that is too much is refused by its counts, at once and in a sentence; a large one that is not is set.
#[tokio::test]
async fn a_plan_of_tables_is_refused_and_nobody_waits_for_it() {
    let head = "+++\ntitle = \"Long\"\n[shops]\nlab = \"A\"\n+++\n\n# Long\n\n## Rows {for=lab}\n\n";
    let table = |bytes: usize| {
        let mut text = format!("{head}| a | b |\n|---|---|\n");
        while text.len() < bytes {
            text.push_str("| 1 | 2 |\n");
        }
        text
    };
    let desk = Desk::with(&table(78_000));
    let rows = Paper::of(&pdf(&desk, "/plan/p/paper.pdf").await).sheets.len();
    assert!(rows > 100, "{rows} sheets");
    // The link is made while the plan is short.
    let desk = Desk::with(&table(500));
    let link = desk.post("/plan/p/links", "", serde_json::json!({ "role": "lab" })).await.is(200);
    let link = link.json()["address"].as_str().unwrap().rsplit('/').next().unwrap().to_owned();
    let through_link = format!("/t/{link}/paper.pdf");
    pdf(&desk, &through_link).await;
    desk.outside("p.md", table(859_000));
    for path in ["/plan/p/paper.pdf", "/plan/p/ticket/lab/paper.pdf", through_link.as_str()] {
        let began = std::time::Instant::now();
        let reply = desk.get(path).await.is(413);
        let said = reply.text().to_lowercase();
        assert!(said.contains("over 100000 pieces of text") && said.contains("divide the plan"), "{path}: {said}");
        // Read and counted only: nothing is calculated for a sheet that cannot be.
        assert!(began.elapsed().as_secs() < 10, "{path}: {:?}", began.elapsed());
    }
}

/// Long words, deep lists and wide tables stay inside the frame.
#[tokio::test]
async fn nothing_leaves_the_sheet_however_long_or_deep_it_is() {
    let word = "w".repeat(300);
    let deep: String = (0..40).map(|depth| format!("{}- level {depth} {word}\n", "  ".repeat(depth))).collect();
    let wide = format!(
        "| {} |\n|{}\n| {} |\n",
        vec!["head"; 14].join(" | "),
        "---|".repeat(14),
        vec!["Hexaflumptious"; 14].join(" | ")
    );
    let desk = Desk::with(&format!(
        "+++\ntitle = \"{word}\"\n[shops]\nlab = \"{word}\"\n+++\n\n# {word}\n\n## {word} {{for=lab}}\n\n{word}\n\n{deep}\n\n{wide}\n\n    {word}\n\n> {word}\n"
    ));
    for path in ["/plan/p/paper.pdf", "/plan/p/ticket/lab/paper.pdf?paper=a4"] {
        for (number, sheet) in Paper::of(&pdf(&desk, path).await).sheets.iter().enumerate() {
            for word in &sheet.words {
                assert!(word.left >= 20.0 && word.right <= sheet.wide - 20.0, "{path}, sheet {number}: {word:?}");
            }
        }
    }
}

/// Five thousand rows are set, each once and in order, with the head of the table on every sheet.
#[tokio::test]
async fn a_table_of_five_thousand_rows_is_set_whole() {
    let mut text = "+++\ntitle = \"Long\"\n+++\n\n# Long\n\n## Rows\n\n| strip | what |\n|---|---|\n".to_owned();
    for row in 1..=5000 {
        text.push_str(&format!("| Strip{row} | from the left |\n"));
    }
    let desk = Desk::with(&text);
    let paper = Paper::of(&pdf(&desk, "/plan/p/paper.pdf").await);
    let rows: Vec<usize> = paper
        .sheets
        .iter()
        .flat_map(|sheet| &sheet.words)
        .filter_map(|word| word.text.strip_prefix("Strip")?.parse().ok())
        .collect();
    assert!(rows.iter().copied().eq(1..=5000), "{} rows", rows.len());
    let headed = paper.sheets.iter().filter(|sheet| sheet.words.iter().any(|word| word.text == "strip")).count();
    assert!(headed >= paper.sheets.len() - 1, "{headed} of {}", paper.sheets.len());
}
