//! A document as a whole: its text, its head, and what its Markdown comes apart into.

use super::Problem;
use super::front::{self, Front, Kind};
use super::lines::Lines;
use super::markdown::{MOST_EVENTS, Markdown};
use super::parts::{Ask, Block, Section};
use super::tree::{Node, Nodes, Part};

/// The longest text a document may have, in bytes.
pub const LONGEST: usize = 1 << 20;
/// Sections for shops the head does not name that are told one by one.
const MOST_TOLD: usize = 100;

/// A document as read.
#[derive(Debug)]
pub struct Document {
    /// The whole text, without a byte-order mark.
    pub text: String,
    /// Where its lines begin.
    pub lines: Lines,
    /// Its head.
    pub front: Front,
    /// Where its body begins.
    pub body: usize,
    /// Its blocks of workings, in order.
    pub blocks: Vec<Block>,
    /// Its asks, in order.
    pub asks: Vec<Ask>,
    /// Its sections, in order.
    pub sections: Vec<Section>,
    /// What is wrong with it before anything is calculated.
    pub problems: Vec<Problem>,
    /// What is read as it stands and is most likely a slip.
    pub doubts: Vec<Problem>,
    /// Code that would be an ask with a space behind its question mark: the expression, and where the code stands.
    pub(crate) unasked: Vec<(String, usize)>,
    /// Its body as a tree, see [`Document::nodes`].
    nodes: Vec<Node>,
    pieces: usize,
}

impl Document {
    /// Reads a document. Never fails: what cannot be read is a problem, and the text is kept as it is.
    pub fn read(text: &str) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text).to_owned();
        let lines = Lines::of(&text);
        let mut problems = Vec::new();
        let split = front::split(&text);
        let mut doubts = Vec::new();
        let front = front::read(&text, &lines, &split, (&mut problems, &mut doubts));
        let is_too_long = text.len() > LONGEST;
        let read = if is_too_long { Ok(Markdown::default()) } else { Markdown::read(&text, split.body, &lines) };
        let too_many = read.as_ref().err().copied();
        let Markdown { nodes, blocks, asks, sections, unasked, misnamed, pieces, unclosed } = read.unwrap_or_default();
        let body = split.body;
        let mut document =
            Self { text, lines, front, body, blocks, asks, sections, problems, doubts, unasked, nodes, pieces };
        let too_long = is_too_long.then(|| {
            let what = format!("this document is {} kB long, and at most 1024 kB are read", document.text.len() / 1024);
            document.problem_at(0, what, "cut it into two plans, or take long notes out into a file of their own")
        });
        let too_many = too_many.map(|at| {
            let what = format!(
                "this document comes apart into more than {MOST_EVENTS} pieces up to here, too many to be shown"
            );
            let next = "cut it into two plans, or take long lists and tables out into a file of their own";
            document.problem_at(at, what, next)
        });
        let unclosed = unclosed.map(|at| {
            let what = "these workings begin with ``` and never end, so the rest of the text is taken as workings";
            document.problem_at(at, what, "write a line ``` where the workings end")
        });
        document.doubts.extend(document.other_head());
        let misnamed = misnamed.into_iter().take(MOST_TOLD).map(|(word, at)| {
            let what = format!("this block is marked `{word}`, and is shown as it is and not calculated");
            document.problem_at(at, what, "mark it `workings` behind its three backticks")
        });
        let misnamed: Vec<_> = misnamed.collect();
        document.doubts.extend(misnamed);
        let unknown = document.unknown_shops();
        document.problems.extend(too_long.into_iter().chain(too_many).chain(unknown).chain(unclosed));
        document
    }

    /// The title: of the head, else the first heading.
    pub fn title(&self) -> String {
        let heading = || self.sections.iter().find(|one| one.level == 1).map(|one| one.title.clone());
        self.front.title.clone().or_else(heading).unwrap_or_default()
    }

    /// What it is made of, from top to bottom.
    pub(crate) fn nodes(&self) -> Nodes<'_> {
        Nodes::of(&self.nodes)
    }

    /// The words of a node that is text or code; nothing for all others.
    pub(crate) fn words<'a>(&'a self, node: &'a Node) -> &'a str {
        match &node.part {
            Part::Text(Some(words)) | Part::Html(Some(words)) | Part::Code(words) => words,
            Part::Text(None) | Part::Html(None) => self.text.get(node.range.clone()).unwrap_or_default(),
            _ => "",
        }
    }

    /// How many beginnings, ends and pieces of text its Markdown comes apart into.
    pub fn pieces(&self) -> usize {
        self.pieces
    }

    /// Whether the text came apart into more pieces than are shown, so that nothing of it is.
    #[must_use]
    pub fn is_too_much(&self) -> bool {
        self.nodes.is_empty() && self.text.get(self.body..).is_some_and(|body| !body.trim().is_empty())
    }

    /// Line and column of an offset.
    pub fn place(&self, offset: usize) -> (usize, usize) {
        self.lines.place(&self.text, offset)
    }

    /// A problem at an offset.
    pub(crate) fn problem_at(&self, offset: usize, what: impl Into<String>, next: impl Into<String>) -> Problem {
        let (line, column) = self.place(offset);
        Problem { line, column, what: what.into(), next: next.into() }
    }

    /// A head between lines `---`, which do not mark a head here.
    fn other_head(&self) -> Option<Problem> {
        let mut lines = self.text.lines();
        lines.next().filter(|line| line.trim_end() == "---")?;
        let inside: Vec<_> = lines.take(60).take_while(|line| line.trim_end() != "---").collect();
        let named = |line: &str| {
            let (name, value) = line.split_once(':')?;
            let is_name = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
            is_name.then(|| format!("`{name} = \"{}\"`", value.trim().trim_matches(['"', '\''])))
        };
        let first = inside.iter().find_map(|line| named(line))?;
        let what = "the head of this document stands between lines `---`, and is taken for text";
        Some(self.problem_at(0, what, format!("write `+++` in the place of each `---`, and its lines like {first}")))
    }

    /// Sections for shops the head does not name.
    fn unknown_shops(&self) -> Vec<Problem> {
        let roles: Vec<_> = self.front.shops.iter().map(|(role, _)| role.as_str()).collect();
        let given = self.sections.iter().filter_map(|section| Some((section, section.shop.as_deref()?)));
        let unknown = given.filter(|(_, shop)| self.front.kind == Kind::Plan && !roles.contains(shop));
        let told = unknown.take(MOST_TOLD).map(|(section, shop)| {
            let next = if roles.is_empty() {
                format!("name it in the head, below `[shops]`: `{shop} = \"shops/…\"`")
            } else {
                format!("the head names {}; write one of them, or add this one below `[shops]`", roles.join(", "))
            };
            let what = format!("the section `{}` is for `{shop}`, and the head names no such shop", section.title);
            self.problem_at(section.range.start, what, next)
        });
        told.collect()
    }

    /// The section an offset stands in: the innermost.
    pub fn section_at(&self, offset: usize) -> Option<&Section> {
        self.sections.iter().rev().find(|one| one.range.contains(&offset))
    }
}
