//! The trades a piece goes through, and what each is handed as a matter of course: what to deliver, how close, what to check.
//!
//! Source of every line: common practice, no source. The plan's own words stand above them on the ticket and win.

/// A trade.
#[derive(Debug)]
pub struct Role {
    /// What the head of a plan calls it.
    pub name: &'static str,
    /// What its ticket is for.
    pub work: &'static str,
    /// What leaves its shop, and in which form.
    pub deliver: &'static [&'static str],
    /// How close it has to be: what, in millimetres and inches.
    pub close: &'static [(&'static str, &'static str)],
    /// What to look at before it leaves.
    pub ticks: &'static [&'static str],
    /// How it is handled.
    pub handling: &'static [&'static str],
    /// What the shop cannot work without.
    pub needs: &'static [Need],
}

/// How a line on what to deliver begins for one, and for several, which have their number at `{n}` and are called `{what}`.
const SEVERAL: &[(&str, &str)] = &[
    ("One print, face clean, its bleed", "{n} {what}, face clean, their bleed"),
    ("One mounted print, trimmed", "{n} mounted prints, each trimmed"),
    ("One framed piece, ready to hang, its label", "{n} framed pieces, ready to hang, each with its label"),
    ("The piece on the wall, level, its middle", "All {n} pieces on the wall, level, their middle"),
    (
        "The piece at its place, upright all the way, its papers with it",
        "All {n} pieces at their place, upright all the way, their papers with them",
    ),
];

/// What leaves a shop that owes so many.
pub(crate) fn deliver(role: &Role, count: u32, called: &str) -> Vec<String> {
    let line = |line: &&str| {
        let several = SEVERAL.iter().find(|(one, _)| count > 1 && line.starts_with(one));
        several.map_or_else(
            || (*line).to_owned(),
            |(one, several)| {
                line.replacen(one, several, 1).replace("{n}", &count.to_string()).replace("{what}", called)
            },
        )
    };
    role.deliver.iter().map(line).collect()
}

/// Something a shop cannot work without.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// Which film, and how large its image.
    Film,
    /// How finely it is scanned.
    Scan,
    /// How large the picture is printed.
    Print,
    /// What the finished piece is made of.
    Board,
    /// How large the frame is.
    Frame,
    /// What the piece weighs.
    Weight,
    /// How high it hangs.
    Height,
    /// What each hook or cleat must hold.
    Hardware,
    /// How large the crate is.
    Crate,
    /// Which number of the edition it is.
    Number,
}

/// Every standard trade, in the order a piece goes through them.
pub const ROLES: &[Role] = &[
    Role {
        name: "scanner",
        work: "The scan",
        deliver: &[
            "One TIFF, 16 bits a channel, RGB, profile embedded, unsharpened, uncompressed or losslessly compressed.",
            "The film back in its own sleeve, insured.",
            "With the file: its name, size and checksum, the machine, and the resolution its lens resolves.",
        ],
        close: &[
            ("pixels", "not fewer than stated, and none made up"),
            ("ends of the scale", "no channel clipped at either end"),
            ("squareness", "the frame within 0.2° of level"),
        ],
        ticks: &[
            "Frame number and sleeve agree with this sheet",
            "Right way round: the emulsion side is known",
            "The whole frame, with a little clear film all round",
            "No channel clipped, read from the histogram",
            "Sharpening and dust removal off",
            "Film looked at after, for scratches and fluid",
        ],
        handling: &["One of a kind: cotton gloves, by the edges; never cut a strip apart without asking."],
        needs: &[Need::Film, Need::Scan],
    },
    Role {
        name: "retoucher",
        work: "The file work",
        deliver: &[
            "The master: 16 bits a channel, profile embedded, flattened, not resized, not sharpened for print.",
            "The print file: at the size and resolution below, sharpened for it.",
            "A list of what was done, in order.",
        ],
        close: &[
            ("pixels of the print file", "exactly as stated"),
            ("greys", "neutral within 2 (ΔE 2000) from light to dark"),
        ],
        ticks: &[
            "Every part looked at, one pixel to a pixel",
            "Dust and hairs cleaned by hand, sky first",
            "No banding in even tones at full size",
            "Profile embedded, bit depth kept",
            "Master kept twice, in two places",
        ],
        handling: &["The file is not to be shown or passed on before the edition is."],
        needs: &[Need::Scan, Need::Print],
    },
    Role {
        name: "lab",
        work: "The print",
        deliver: &[
            "A proof first, where one is asked for; the print runs only when the proof is approved in writing.",
            "One print, face clean, its bleed untrimmed.",
            "Rolled face out on a core of 150 mm (6 in) or more, or flat and interleaved; said on the outside which.",
        ],
        close: &[
            ("size of the image", "± 1.5 mm (1/16 in), on the long side ± 0.2 %"),
            ("squareness", "diagonals within 1.5 mm (1/16 in)"),
            ("colour against the proof", "no difference seen side by side under D50 light (ISO 3664 P2)"),
        ],
        ticks: &[
            "File opened with its own profile, no resizing, no sharpening",
            "Proof approved, dated on its back, beside the machine",
            "Bleed on all four sides as stated",
            "Looked at whole, face up, before rolling",
            "No lines, dust, pressure marks or kinks",
            "Pigment prints dry before they are rolled",
        ],
        handling: &["By the edges, two people, clean cotton or nitrile gloves; a kink in the face is not mended."],
        needs: &[Need::Print, Need::Number],
    },
    Role {
        name: "mounter",
        work: "Mounting and laminate",
        deliver: &[
            "One mounted print, trimmed to the finished size through print and board together, face covered.",
            "Not rolled; standing on its long edge, corners guarded.",
        ],
        close: &[
            ("finished size", "± 1 mm (1/32 in)"),
            ("squareness", "diagonals within 1.5 mm (1/16 in)"),
            ("flatness", "no more than 3 mm in a metre (1/8 in in 40 in), laminated both sides"),
        ],
        ticks: &[
            "Print compared with this sheet before anything is glued",
            "Test strip laid on and pulled",
            "No silvering, dust or bubbles in a raking light",
            "Counter-laminate on the back",
            "Edges clean, no film lifting",
            "Size and diagonals measured and written here",
        ],
        handling: &["Two people, upright, by the long edges; not flat, it flexes. No tape on the face."],
        needs: &[Need::Print, Need::Board, Need::Number],
    },
    Role {
        name: "framer",
        work: "The frame",
        deliver: &[
            "One framed piece, ready to hang, its label on the back at the lower left.",
            "Face covered, corners boxed, stood on edge.",
        ],
        close: &[
            ("outside sizes", "± 1 mm (1/32 in)"),
            ("gap", "± 0.5 mm (1/64 in), even all round"),
            ("squareness", "diagonals within 1 mm (1/32 in)"),
            ("joints", "no gap seen at arm's length"),
        ],
        ticks: &[
            "Cut to the piece in hand, never to the drawing",
            "Outside size and diagonals measured and written here",
            "Gap by gauge on all four sides",
            "No glue or lint on the face",
            "Hardware rated for its load, screwed into the frame's own wood",
            "Bumpers on, label on, number on the label",
        ],
        handling: &[
            "Two people; the face touches nothing. Ask if the piece differs from this sheet by more than 1 mm (1/32 in).",
        ],
        needs: &[Need::Frame, Need::Weight, Need::Number],
    },
    Role {
        name: "installer",
        work: "Hanging",
        deliver: &[
            "The piece on the wall, level, its middle at the height below.",
            "A photograph of it hung, and of the fixings before it is.",
        ],
        close: &[("height of the middle", "± 3 mm (1/8 in)"), ("level", "within 1 mm in a metre (1/32 in in 40 in)")],
        ticks: &[
            "What is behind the wall is known: structure, pipes, wires",
            "Piece weighed before the hardware is chosen",
            "Fixings into structure, not into plasterboard alone",
            "Hardware rated for at least what is stated",
            "Lifted by two, a third guides",
            "Level checked, pull-tested by hand, looked at from the door",
        ],
        handling: &[
            "Where the house or the law asks for a licensed installer, it is one who hangs it. Local codes rule.",
        ],
        needs: &[Need::Frame, Need::Weight, Need::Height, Need::Hardware],
    },
    Role {
        name: "carrier",
        work: "Carrying",
        deliver: &[
            "The piece at its place, upright all the way, its papers with it.",
            "A note of anything seen on opening.",
        ],
        close: &[("upright", "never flat, never face down, never under another load")],
        ticks: &[
            "Crate closed with screws, arrows up, not nailed",
            "Photographed from all sides before loading",
            "Strapped upright to the wall of the van, blankets between",
            "Door, stair and lift measured before the day",
            "Opened only at the wall it hangs on",
        ],
        handling: &["Two people carry the piece, four the crate; wheels before backs."],
        needs: &[Need::Crate, Need::Weight],
    },
];

/// The trade of that name; a mounter may be called a laminator, a printer a lab.
#[must_use]
pub fn role(name: &str) -> Option<&'static Role> {
    let name = match name {
        "laminator" => "mounter",
        "printer" => "lab",
        "shipper" => "carrier",
        other => other,
    };
    ROLES.iter().find(|one| one.name == name)
}
