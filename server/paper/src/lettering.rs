//! Words set in lines: which letters can be written and with which face, where lines break, where each glyph stands.

use std::borrow::Cow;
use std::collections::{BTreeSet, HashMap};
use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::ops::Range;
use std::rc::Rc;
use std::sync::{LazyLock, Mutex, PoisonError};

use krilla::text::{Font, Glyph, GlyphId};
use parley::fontique::{Blob, Collection, CollectionOptions, SourceCache};
use parley::layout::{Alignment, AlignmentOptions};
use parley::style::{FontFamily, FontFamilyName, FontStyle, FontWeight, OverflowWrap, StyleProperty};
use parley::{FontContext, Layout, LayoutContext};

use crate::content::{Look, Run, Scale, Side};
use crate::faces::{self, Region};

/// Stands for a letter no face has.
const SQUARE: char = '\u{25a1}';
/// The text's size, in points.
pub(crate) const TEXT: f32 = 10.4;
/// From the baseline to the top of capitals, as a share of the size. Source: the table OS/2 of the carried face.
pub(crate) const CAPITALS: f32 = 0.645;

/// How a whole piece of text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Base {
    pub(crate) size: f32,
    pub(crate) bold: bool,
    pub(crate) italic: bool,
    pub(crate) grey: bool,
    /// Between two lines, from baseline to the top of capitals, as a share of the size.
    pub(crate) leading: f32,
}

impl Base {
    pub(crate) const TEXT: Self = Self { size: TEXT, bold: false, italic: false, grey: false, leading: 0.58 };

    pub(crate) fn of(size: f32) -> Self {
        Self { size, ..Self::TEXT }
    }

    /// How large words of this look are.
    fn sized(self, look: Look) -> f32 {
        let scaled = match look.scale {
            Scale::Text => self.size,
            Scale::Small => self.size.min(9.2),
            Scale::Large => 13.0,
        };
        if look.label { scaled * 0.92 } else { scaled }
    }
}

/// One glyph, all measures as shares of the size.
#[derive(Clone, Debug)]
pub(crate) struct Pen {
    id: u32,
    from: u32,
    to: u32,
    advance: f32,
    dx: f32,
    dy: f32,
}

impl Pen {
    pub(crate) fn from(&self) -> u32 {
        self.from
    }

    pub(crate) fn wide(&self) -> f32 {
        self.advance
    }

    /// The same glyph for another range of a text.
    pub(crate) fn ranged(&self, from: u32, to: u32) -> Self {
        Self { from, to, ..self.clone() }
    }
}

impl Glyph for Pen {
    fn glyph_id(&self) -> GlyphId {
        GlyphId::new(self.id)
    }

    fn text_range(&self) -> Range<usize> {
        self.from as usize..self.to as usize
    }

    fn x_advance(&self, size: f32) -> f32 {
        self.advance * size
    }

    fn x_offset(&self, size: f32) -> f32 {
        self.dx * size
    }

    fn y_offset(&self, size: f32) -> f32 {
        self.dy * size
    }

    fn y_advance(&self, _: f32) -> f32 {
        0.0
    }

    fn location(&self) -> Option<krilla::surface::Location> {
        None
    }
}

/// Glyphs of one face and look beside each other.
#[derive(Debug)]
pub(crate) struct Strip {
    pub(crate) face: u16,
    pub(crate) size: f32,
    pub(crate) x: f32,
    pub(crate) wide: f32,
    pub(crate) grey: bool,
    pub(crate) struck: bool,
    /// Which of the text's links it belongs to.
    pub(crate) link: Option<u16>,
    pub(crate) pens: Box<[Pen]>,
}

/// A line.
#[derive(Debug)]
pub(crate) struct Line {
    pub(crate) strips: Box<[Strip]>,
    /// How high its tallest words are above the baseline, in points.
    pub(crate) rise: f32,
    pub(crate) wide: f32,
}

/// A text set in lines.
#[derive(Debug)]
pub(crate) struct Text {
    pub(crate) words: String,
    /// Letters for which a square stands, by their place.
    pub(crate) squares: Vec<(u32, char)>,
    pub(crate) links: Vec<String>,
    pub(crate) lines: Vec<Line>,
    pub(crate) leading: f32,
}

impl Text {
    /// How high the lines are together, from the top of the first capitals to the last baseline.
    pub(crate) fn height(&self) -> f32 {
        let between = self.leading * self.lines.len().saturating_sub(1) as f32;
        self.lines.iter().map(|line| line.rise).sum::<f32>() + between
    }

    pub(crate) fn wide(&self) -> f32 {
        self.lines.iter().map(|line| line.wide).fold(0.0, f32::max)
    }
}

/// A kept shaper of text: making one takes longer than a page. At most this many are kept.
const KEPT: usize = 4;

struct Shaper {
    fonts: FontContext,
    layouts: LayoutContext<u16>,
    layout: Layout<u16>,
}

static SHAPERS: Mutex<Vec<Shaper>> = Mutex::new(Vec::new());

static CARRIED: LazyLock<Vec<Font>> = LazyLock::new(|| faces::BLOBS.iter().filter_map(|blob| font(blob, 0)).collect());

fn font(blob: &Blob<u8>, index: u32) -> Option<Font> {
    let (data, _) = blob.clone().into_raw_parts();
    Font::new(data.into(), index)
}

impl Shaper {
    fn new() -> Self {
        let mut collection = Collection::new(CollectionOptions { shared: false, system_fonts: false });
        for blob in faces::BLOBS.iter() {
            collection.register_fonts(blob.clone(), None);
        }
        Self {
            fonts: FontContext { collection, source_cache: SourceCache::default() },
            layouts: LayoutContext::new(),
            layout: Layout::new(),
        }
    }
}

/// How many short texts are kept to be used again within one sheet.
const REUSED: usize = 2_000;

/// Sets the words of one sheet.
pub(crate) struct Setter {
    shaper: Option<Shaper>,
    families: Vec<FontFamilyName<'static>>,
    fonts: Vec<Font>,
    known: HashMap<(u64, u32), u16>,
    missing: BTreeSet<char>,
    /// Letters that no face has together with those beside them, like a Latin accent on a Hindi letter.
    apart: BTreeSet<char>,
    /// The faces of this computer that were needed.
    pub(crate) used: Vec<String>,
    again: HashMap<u64, Rc<Text>>,
}

impl Setter {
    /// Ready for texts with these letters.
    pub(crate) fn new(texts: &[&str]) -> Self {
        let mut foreign: BTreeSet<char> = BTreeSet::new();
        for text in texts {
            foreign.extend(written(text).filter(|c| !c.is_ascii() && !faces::is_carried(*c)));
        }
        let mut shaper = SHAPERS.lock().unwrap_or_else(PoisonError::into_inner).pop().unwrap_or_else(Shaper::new);
        let mut families = vec![FontFamilyName::Named(Cow::Borrowed(faces::FAMILY))];
        let (mut used, mut missing) = (Vec::new(), BTreeSet::new());
        if !foreign.is_empty() {
            let region = Region::of(foreign.iter().copied());
            let (own, sought): (Vec<char>, Vec<char>) = foreign.into_iter().partition(|c| is_private(*c));
            let (found, none) = faces::lookup(sought, region);
            missing.extend(none.into_iter().chain(own));
            for face in found {
                shaper.fonts.collection.register_fonts(face.data, None);
                families.push(FontFamilyName::Named(Cow::Owned(face.family.clone())));
                used.push(face.family);
            }
        }
        let known = faces::BLOBS.iter().enumerate().map(|(at, blob)| ((blob.id(), 0), at as u16)).collect();
        let (fonts, apart, again) = (CARRIED.clone(), BTreeSet::new(), HashMap::new());
        Self { shaper: Some(shaper), families, fonts, known, missing, apart, used, again }
    }

    /// Letters no face has.
    pub(crate) fn missing(&self) -> Vec<char> {
        self.missing.union(&self.apart).copied().collect()
    }

    pub(crate) fn font(&self, face: u16) -> Option<&Font> {
        self.fonts.get(usize::from(face))
    }

    /// A text that may stand on the sheet many times: set once.
    pub(crate) fn again(&mut self, runs: &[Run], base: Base, room: f32, side: Side) -> Rc<Text> {
        let mut hasher = DefaultHasher::new();
        (runs, base.size.to_bits(), base.bold, base.italic, base.grey, room.to_bits(), side).hash(&mut hasher);
        let key = hasher.finish();
        if let Some(text) = self.again.get(&key) {
            return text.clone();
        }
        let text = Rc::new(self.set(runs, base, Some(room), side));
        if self.again.len() < REUSED {
            self.again.insert(key, text.clone());
        }
        text
    }

    /// Sets words in lines no wider than the room.
    pub(crate) fn set(&mut self, runs: &[Run], base: Base, room: Option<f32>, side: Side) -> Text {
        let mut squared = BTreeSet::new();
        loop {
            let (text, starts) = self.set_with(runs, base, room, side, &squared);
            let pens = text.lines.iter().flat_map(|line| line.strips.iter()).flat_map(|strip| strip.pens.iter());
            let before = squared.len();
            for pen in pens.filter(|pen| pen.id == 0) {
                // The letters of a glyph that is none: those after the first when there are any, else the first itself.
                let place = |byte: u32| starts.partition_point(|start| *start < byte as usize);
                let (first, end) = (place(pen.from), place(pen.to));
                let whole = if squared.range(first + 1..end.max(first + 1)).next().is_some() || end < first + 2 {
                    first..end.max(first + 1)
                } else {
                    first + 1..end
                };
                squared.extend(whole);
            }
            if squared.len() == before {
                return text;
            }
        }
    }

    /// The same with squares for some letters, by their place among all; and where each letter begins.
    fn set_with(
        &mut self,
        runs: &[Run],
        base: Base,
        room: Option<f32>,
        side: Side,
        squared: &BTreeSet<usize>,
    ) -> (Text, Vec<usize>) {
        let (mut words, mut starts) = (String::new(), Vec::new());
        let (mut squares, mut links, mut ranges) = (Vec::new(), Vec::new(), Vec::new());
        for run in runs {
            let from = words.len();
            for c in written(&run.text) {
                let is_apart = squared.contains(&starts.len());
                starts.push(words.len());
                if is_apart {
                    self.apart.insert(c);
                }
                match c {
                    // A line's words end with a space, so that copied words do not run together.
                    '\n' => words.push_str(if words.ends_with(' ') || words.is_empty() { "\n" } else { " \n" }),
                    c if is_apart || self.missing.contains(&c) => {
                        // Copied it is the letter itself; one that means nothing elsewhere stays a square.
                        if !is_private(c) {
                            squares.push((words.len() as u32, c));
                        }
                        words.push(SQUARE);
                    }
                    c => words.push(c),
                }
            }
            let link = run.to.as_ref().map(|to| {
                links.push(to.clone());
                (links.len() - 1) as u16
            });
            ranges.push((from..words.len(), run.look, link));
        }
        let leading = base.size * base.leading;
        let mut text = Text { words, squares, links, lines: Vec::new(), leading };
        if text.words.is_empty() {
            return (text, starts);
        }
        let Some(mut shaper) = self.shaper.take() else { return (text, starts) };
        let mut builder = shaper.layouts.ranged_builder(&mut shaper.fonts, &text.words, 1.0, false);
        builder.push_default(StyleProperty::FontFamily(FontFamily::List(Cow::Borrowed(&self.families))));
        builder.push_default(StyleProperty::FontSize(base.size));
        builder.push_default(StyleProperty::OverflowWrap(OverflowWrap::Anywhere));
        builder.push_default(StyleProperty::Brush(0));
        if base.bold {
            builder.push_default(StyleProperty::FontWeight(FontWeight::BOLD));
        }
        if base.italic {
            builder.push_default(StyleProperty::FontStyle(FontStyle::Italic));
        }
        for (at, (range, look, _)) in ranges.iter().enumerate().filter(|(_, (range, ..))| !range.is_empty()) {
            builder.push(StyleProperty::Brush(at as u16), range.clone());
            if look.bold {
                builder.push(StyleProperty::FontWeight(FontWeight::BOLD), range.clone());
            }
            if look.italic {
                builder.push(StyleProperty::FontStyle(FontStyle::Italic), range.clone());
            }
            let size = base.sized(*look);
            if (size - base.size).abs() > f32::EPSILON {
                builder.push(StyleProperty::FontSize(size), range.clone());
            }
        }
        builder.build_into(&mut shaper.layout, &text.words);
        shaper.layout.break_all_lines(room);
        let alignment = match side {
            Side::Start => Alignment::Start,
            Side::Middle => Alignment::Center,
            Side::End => Alignment::Right,
        };
        shaper.layout.align(alignment, AlignmentOptions::default());
        for line in shaper.layout.lines() {
            let set = self.line(&line, &text.words, &ranges, base);
            text.lines.push(set);
        }
        self.shaper = Some(shaper);
        (text, starts)
    }

    fn line(
        &mut self,
        line: &parley::Line<'_, u16>,
        words: &str,
        ranges: &[(Range<usize>, Look, Option<u16>)],
        base: Base,
    ) -> Line {
        let metrics = line.metrics();
        let mut x = metrics.offset;
        let mut strips = Vec::new();
        let mut rise = base.size * CAPITALS;
        for run in line.runs() {
            let data = run.font();
            let size = run.font_size();
            let face = self.face(&data.data, data.index);
            rise = rise.max(size * if usize::from(face) < faces::BLOBS.len() { CAPITALS } else { 0.86 });
            let (mut pens, mut from, mut brush): (Vec<Pen>, f32, Option<u16>) = (Vec::new(), x, None);
            let mut flush = |pens: &mut Vec<Pen>, from: f32, to: f32, brush: Option<u16>| {
                if pens.is_empty() {
                    return;
                }
                let (look, link) = brush
                    .and_then(|at| ranges.get(usize::from(at)))
                    .map_or((Look::default(), None), |(_, look, link)| (*look, *link));
                strips.push(Strip {
                    face,
                    size,
                    x: from,
                    wide: to - from,
                    grey: base.grey || look.label,
                    struck: look.struck,
                    link,
                    pens: std::mem::take(pens).into_boxed_slice(),
                });
            };
            for cluster in run.visual_clusters() {
                let range = cluster.text_range();
                if cluster.is_ligature_continuation() {
                    if let Some(last) = pens.last_mut() {
                        last.from = last.from.min(range.start as u32);
                        last.to = last.to.max(range.end as u32);
                    }
                    continue;
                }
                if words.get(range.clone()).is_some_and(|text| text.starts_with('\n')) {
                    continue;
                }
                let own = cluster.style().brush;
                if brush.is_some_and(|brush| brush != own) {
                    flush(&mut pens, from, x, brush);
                    from = x;
                }
                brush = Some(own);
                for glyph in cluster.glyphs() {
                    pens.push(Pen {
                        id: glyph.id,
                        from: range.start as u32,
                        to: range.end as u32,
                        advance: glyph.advance / size,
                        dx: glyph.x / size,
                        dy: glyph.y / size,
                    });
                    x += glyph.advance;
                }
            }
            flush(&mut pens, from, x, brush);
        }
        Line { strips: strips.into_boxed_slice(), rise, wide: metrics.advance - metrics.hanging_advance }
    }

    /// The number of a face, which gets one when it has none yet.
    fn face(&mut self, blob: &Blob<u8>, index: u32) -> u16 {
        let key = (blob.id(), index);
        if let Some(face) = self.known.get(&key) {
            return *face;
        }
        let face = font(blob, index).map_or(0, |font| {
            self.fonts.push(font);
            (self.fonts.len() - 1) as u16
        });
        self.known.insert(key, face);
        face
    }

    /// As much of a text as goes on one line of the room, with a mark where some is left out.
    pub(crate) fn one_line(&mut self, text: &str, base: Base, room: f32) -> Text {
        let whole = self.set(&[Run::plain(text.replace('\n', " "))], base, Some(room), Side::Start);
        if whole.lines.len() < 2 {
            return whole;
        }
        let ends = |line: &Line| line.strips.iter().flat_map(|strip| strip.pens.iter().map(|pen| pen.to)).max();
        let end = whole.lines.first().and_then(ends).unwrap_or(0) as usize;
        let mut shown = whole.words.get(..end).unwrap_or_default().trim_end().to_owned();
        for _ in 0..8 {
            let cut = self.set(&[Run::plain(format!("{shown} …"))], base, Some(room), Side::Start);
            if cut.lines.len() < 2 {
                return cut;
            }
            shown.pop();
            shown = shown.trim_end().to_owned();
        }
        self.set(&[Run::plain("…")], base, Some(room), Side::Start)
    }
}

impl Drop for Setter {
    /// A shaper that knows only the carried face is kept for the next sheet.
    fn drop(&mut self) {
        let mut kept = SHAPERS.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(shaper) = self.shaper.take().filter(|_| self.used.is_empty() && kept.len() < KEPT) {
            kept.push(shaper);
        }
    }
}

/// The letters of a text that are set: without signs that only steer direction or order, which would change what stands there.
pub(crate) fn written(text: &str) -> impl Iterator<Item = char> + '_ {
    let mut before = ' ';
    text.chars().filter_map(move |c| {
        let c = match c {
            '\t' | '\u{2028}' | '\u{2029}' => ' ',
            '\r' => return None,
            c => c,
        };
        // Joiners belong to the writing of letters that join.
        let is_joiner = matches!(c, '\u{200c}' | '\u{200d}') && ('\u{590}'..='\u{1fff}').contains(&before);
        let is_left_out = (c.is_control() && c != '\n') || (is_unseen(c) && !is_joiner);
        if is_left_out {
            return None;
        }
        before = c;
        Some(c)
    })
}

/// A text without the signs that are not set.
pub(crate) fn clean(text: &str) -> String {
    written(text).map(|c| if c == '\n' { ' ' } else { c }).collect()
}

/// Letters that mean nothing outside one program, and places that are not letters.
fn is_private(c: char) -> bool {
    matches!(c, '\u{e000}'..='\u{f8ff}' | '\u{f0000}'..) || u32::from(c) & 0xfffe == 0xfffe
}

fn is_unseen(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff0}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::{Base, Setter, Side, clean, written};
    use crate::content::Run;

    #[test]
    fn signs_that_only_steer_are_left_out_and_joiners_of_letters_that_join_stay() {
        assert_eq!(clean("\u{202e}plain\u{ad} a\tb\u{feff}"), "plain a b");
        assert_eq!(
            written("\u{915}\u{94d}\u{200d}\u{937} a\u{200d}b").collect::<String>(),
            "\u{915}\u{94d}\u{200d}\u{937} ab"
        );
    }

    #[test]
    fn lines_are_no_wider_than_their_room_however_long_a_word_is() {
        let word = "w".repeat(300);
        let mut setter = Setter::new(&[&word]);
        let text = setter.set(&[Run::plain(word)], Base::TEXT, Some(200.0), Side::Start);
        assert!(text.lines.len() > 5);
        assert!(text.lines.iter().all(|line| line.wide <= 200.0), "{:?}", text.wide());
        let pens: usize = text.lines.iter().flat_map(|line| line.strips.iter()).map(|strip| strip.pens.len()).sum();
        assert_eq!(pens, 300);
    }

    #[test]
    fn a_line_that_is_too_long_for_the_foot_is_cut_with_a_mark() {
        let long = "many words ".repeat(40);
        let mut setter = Setter::new(&[&long]);
        let text = setter.one_line(&long, Base::TEXT, 150.0);
        assert!(text.lines.len() == 1 && text.words.ends_with('…'), "{}", text.words);
    }

    #[test]
    fn letters_no_face_has_together_stand_apart_as_squares_and_are_told() {
        for words in ["\u{926}\u{940}\u{301}", "\u{5d0}\u{94d}\u{301}"] {
            let mut setter = Setter::new(&[words]);
            let text = setter.set(&[Run::plain(words)], Base::TEXT, None, Side::Start);
            let pens = text.lines.iter().flat_map(|line| line.strips.iter()).flat_map(|strip| strip.pens.iter());
            assert_eq!(pens.filter(|pen| pen.id == 0).count(), 0, "{}", text.words);
            assert!(text.words.contains('□') && !setter.missing().is_empty(), "{}", text.words);
        }
    }

    #[test]
    fn letters_no_face_may_have_are_squares_and_told() {
        let mut setter = Setter::new(&["a \u{e000} Größe"]);
        let text = setter.set(&[Run::plain("a \u{e000} Größe")], Base::TEXT, None, Side::Start);
        assert_eq!(text.words, "a □ Größe");
        assert_eq!(text.squares, []);
        assert_eq!(setter.missing(), ['\u{e000}']);
    }
}
