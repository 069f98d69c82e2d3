//! Draws what was laid out: frame, pieces, foot; and everything that is read under its tag.

use std::collections::HashMap;

use krilla::action::{Action, LinkAction};
use krilla::annotation::{Annotation, LinkAnnotation, Target};
use krilla::color::luma;
use krilla::geom::{Path, PathBuilder, Point, Quadrilateral, Rect, Size as Extent, Transform};
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, FillRule, LineCap, Stroke as Line, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, BBox, ContentTag, Placement, SpanTag, Tag};

use crate::content::{Code, Drawing, Shape, Side, Step, Stroke};
use crate::layout::{Bar, GREY, LINE, MM, Mark, Piece, tick_words};
use crate::lettering::{Pen, Setter, Strip, Text, clean};
use crate::pictures::Shown;
use crate::tags::{Node, Tags, figure};

/// What is drawn now.
#[derive(Clone, Copy, PartialEq)]
enum Open {
    Nothing,
    Artifact(ArtifactType),
    Node(Node),
}

/// Links of a page: their tag, where they stand, where they lead.
pub(crate) type Links = Vec<(Node, Vec<Quadrilateral>, String)>;

/// Draws one page.
pub(crate) struct Ink<'i, 'd> {
    pub(crate) surface: Surface<'d>,
    pub(crate) setter: &'i Setter,
    pub(crate) tags: &'i mut Tags,
    pub(crate) pictures: &'i [Shown],
    /// The tag of each link of each text.
    pub(crate) linked: &'i mut HashMap<(Node, u16), Node>,
    pub(crate) links: Links,
    pub(crate) page: usize,
    open: Open,
}

fn fill(grey: u8) -> Fill {
    Fill { paint: luma::Color::new(grey).into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }
}

fn line(width: f32, grey: u8) -> Line {
    Line { paint: luma::Color::new(grey).into(), width, line_cap: LineCap::Butt, ..Line::default() }
}

fn path(build: impl FnOnce(&mut PathBuilder)) -> Option<Path> {
    let mut builder = PathBuilder::new();
    build(&mut builder);
    builder.finish()
}

/// The link's annotation for a page.
pub(crate) fn annotation(quads: Vec<Quadrilateral>, to: String) -> Annotation {
    let words = format!("link to {}", clean(&to));
    let target = Target::Action(Action::Link(LinkAction::new(to)));
    Annotation::new_link(LinkAnnotation::new_with_quad_points(quads, target), Some(words))
}

impl<'i, 'd> Ink<'i, 'd> {
    pub(crate) fn new(
        surface: Surface<'d>,
        setter: &'i Setter,
        tags: &'i mut Tags,
        pictures: &'i [Shown],
        linked: &'i mut HashMap<(Node, u16), Node>,
        page: usize,
    ) -> Self {
        Self { surface, setter, tags, pictures, linked, links: Vec::new(), page, open: Open::Nothing }
    }

    /// Ends the page. Gives its links.
    pub(crate) fn finish(mut self) -> Links {
        self.enter(Open::Nothing);
        self.surface.finish();
        self.links
    }

    fn enter(&mut self, wanted: Open) {
        if self.open == wanted {
            return;
        }
        if self.open != Open::Nothing {
            self.surface.end_tagged();
        }
        self.open = wanted;
        match wanted {
            Open::Nothing => {}
            Open::Artifact(kind) => {
                let _ = self.surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(kind)));
            }
            Open::Node(node) => {
                let leaf = self.surface.start_tagged(ContentTag::Span(SpanTag::empty()));
                self.tags.leaf(node, leaf);
            }
        }
    }

    fn stroke(&mut self, from: (f32, f32), to: (f32, f32), width: f32, grey: u8) {
        let drawn = path(|path| {
            path.move_to(from.0, from.1);
            path.line_to(to.0, to.1);
        });
        if let Some(drawn) = drawn {
            self.surface.set_fill(None);
            self.surface.set_stroke(Some(line(width, grey)));
            self.surface.draw_path(&drawn);
        }
    }

    fn boxed(&mut self, (x, y): (f32, f32), (wide, high): (f32, f32), width: f32) {
        let drawn = Rect::from_xywh(x, y, wide, high).and_then(|rect| path(|path| path.push_rect(rect)));
        if let Some(drawn) = drawn {
            self.surface.set_fill(None);
            self.surface.set_stroke(Some(line(width, 0)));
            self.surface.draw_path(&drawn);
        }
    }

    fn filled(&mut self, (x, y): (f32, f32), (wide, high): (f32, f32), grey: u8) {
        let drawn = Rect::from_xywh(x, y, wide, high).and_then(|rect| path(|path| path.push_rect(rect)));
        if let Some(drawn) = drawn {
            self.surface.set_stroke(None);
            self.surface.set_fill(Some(fill(grey)));
            self.surface.draw_path(&drawn);
        }
    }

    /// The frame leaves 20 mm at the left for binding and 10 mm elsewhere, with marks at the middle of each side.
    /// Source: ISO 5457 (from memory).
    pub(crate) fn frame(&mut self, wide: f32, high: f32) {
        const HEAVY: f32 = 0.5 * MM;
        self.enter(Open::Artifact(ArtifactType::Page));
        self.boxed((20.0 * MM, 10.0 * MM), (wide - 30.0 * MM, high - 20.0 * MM), HEAVY);
        let (x, y) = (20.0 * MM + (wide - 30.0 * MM) / 2.0, high / 2.0);
        self.stroke((x, 5.0 * MM), (x, 10.0 * MM), HEAVY, 0);
        self.stroke((x, high - 10.0 * MM), (x, high - 5.0 * MM), HEAVY, 0);
        self.stroke((15.0 * MM, y), (20.0 * MM, y), HEAVY, 0);
        self.stroke((wide - 10.0 * MM, y), (wide - 5.0 * MM, y), HEAVY, 0);
    }

    /// The line at the foot of a page: what it is, and which page of how many.
    pub(crate) fn foot(&mut self, running: &Text, count: &Text, left: f32, right: f32, baseline: f32) {
        self.enter(Open::Artifact(ArtifactType::Footer));
        for (text, x) in [(running, left), (count, right - count.wide())] {
            for strip in text.lines.first().iter().flat_map(|line| line.strips.iter()) {
                self.strip(text, strip, x, baseline);
            }
        }
    }

    /// The head of a table on a page after its first: read once, so it is left out here.
    pub(crate) fn head(&mut self, marks: &[Mark<'_>], x: f32, y: f32) {
        self.enter(Open::Artifact(ArtifactType::PaginationOther));
        for mark in marks {
            match mark {
                Mark::Text { text, line, x: own, y: down, .. } => {
                    for strip in text.lines.get(*line as usize).iter().flat_map(|line| line.strips.iter()) {
                        self.strip(text, strip, x + own, y + down);
                    }
                }
                Mark::Rule { from, to, width, grey } => {
                    self.stroke((x + from.0, y + from.1), (x + to.0, y + to.1), *width, *grey);
                }
                _ => {}
            }
        }
    }

    /// A piece with its upper left corner at a place, `gap` below what stands above it.
    pub(crate) fn piece(&mut self, piece: &Piece<'_>, x: f32, y: f32, gap: f32) {
        for Bar { x: own, width, grey, begins } in &piece.bars {
            self.enter(Open::Artifact(ArtifactType::Layout));
            let over = if *begins { 0.0 } else { gap };
            self.filled((x + own - width / 2.0, y - over), (*width, piece.height + over + 0.5), *grey);
        }
        for mark in &piece.marks {
            self.mark(mark, x, y);
        }
    }

    fn mark(&mut self, mark: &Mark<'_>, left: f32, top: f32) {
        match mark {
            Mark::Text { node, text, line, x, y } => self.line(*node, text, *line, left + x, top + y),
            Mark::Rule { from, to, width, grey } => {
                self.enter(Open::Artifact(ArtifactType::Layout));
                self.stroke((left + from.0, top + from.1), (left + to.0, top + to.1), *width, *grey);
            }
            Mark::Filled { x, y, wide, high, grey } => {
                self.enter(Open::Artifact(ArtifactType::Layout));
                self.filled((left + x, top + y), (*wide, *high), *grey);
            }
            Mark::Outline { x, y, wide, high } => {
                self.enter(Open::Artifact(ArtifactType::Layout));
                self.boxed((left + x, top + y), (*wide, *high), crate::layout::THIN);
            }
            Mark::Tick { node, x, y, done } => self.tick(*node, left + x, top + y, *done),
            Mark::Drawing { node, x, y, drawing, words, scale } => {
                self.figure(
                    *node,
                    &drawing.alt,
                    left + x,
                    top + y,
                    drawing.size.0 as f32 * MM * scale,
                    drawing.size.1 as f32 * MM * scale,
                );
                self.drawing(drawing, words, left + x, top + y, *scale);
            }
            Mark::Picture { node, x, y, wide, high, at, alt } => {
                self.figure(*node, alt, left + x, top + y, *wide, *high);
                self.picture(*at, left + x, top + y, *wide, *high);
            }
            Mark::Code { node, x, y, wide, code } => {
                self.figure(*node, &format!("Code to read by camera: {}", code.words), left + x, top + y, *wide, *wide);
                self.code(code, left + x, top + y, *wide);
            }
        }
    }

    /// Begins a figure: its words, and the box it stands in.
    fn figure(&mut self, node: Node, alt: &str, x: f32, y: f32, wide: f32, high: f32) {
        let at = Rect::from_xywh(x, y, wide, high).map(|rect| BBox::new(self.page, rect));
        self.tags.retag(node, figure(alt).with_bbox(at).with_placement(Some(Placement::Block)));
        self.enter(Open::Node(node));
    }

    fn line(&mut self, node: Node, text: &Text, line: u32, x: f32, y: f32) {
        let Some(line) = text.lines.get(line as usize) else { return };
        for strip in &line.strips {
            let leads = strip.link.and_then(|link| text.links.get(usize::from(link)).map(|to| (link, to)));
            match leads {
                Some((link, to)) => {
                    let tags = &mut *self.tags;
                    let own = *self.linked.entry((node, link)).or_insert_with(|| tags.add(node, Tag::Link));
                    self.enter(Open::Node(own));
                    let (top, bottom) = (y - strip.size * 0.75, y + strip.size * 0.25);
                    let (left, right) = (x + strip.x, x + strip.x + strip.wide);
                    let at = |x: f32, y: f32| Point::from_xy(x, y);
                    let quad = Quadrilateral([at(left, bottom), at(right, bottom), at(right, top), at(left, top)]);
                    match self.links.iter_mut().find(|(link, ..)| *link == own) {
                        Some((_, quads, _)) => quads.push(quad),
                        None => self.links.push((own, vec![quad], to.clone())),
                    }
                }
                None => self.enter(Open::Node(node)),
            }
            self.strip(text, strip, x, y);
        }
    }

    fn strip(&mut self, text: &Text, strip: &Strip, x: f32, y: f32) {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(if strip.grey { GREY } else { 0 })));
        let Some(font) = self.setter.font(strip.face).cloned() else { return };
        if text.squares.is_empty() {
            self.surface.draw_glyphs(Point::from_xy(x + strip.x, y), &strip.pens, font, &text.words, strip.size, false);
        } else {
            let mut at = x + strip.x;
            for pen in &strip.pens {
                let place = Point::from_xy(at, y);
                match text.squares.iter().find(|(from, _)| *from == pen.from()) {
                    // Copied, the letter is the one of the plan.
                    Some((_, letter)) => {
                        let words = letter.to_string();
                        self.surface.draw_glyphs(
                            place,
                            &[pen.alone(words.len())],
                            font.clone(),
                            &words,
                            strip.size,
                            false,
                        );
                    }
                    None => self.surface.draw_glyphs(
                        place,
                        std::slice::from_ref(pen),
                        font.clone(),
                        &text.words,
                        strip.size,
                        false,
                    ),
                }
                at += pen.wide() * strip.size;
            }
        }
        if strip.struck {
            let over = y - strip.size * 0.24;
            self.stroke((x + strip.x, over), (x + strip.x + strip.wide, over), strip.size * 0.06, 0);
        }
    }

    fn tick(&mut self, node: Node, x: f32, baseline: f32, done: bool) {
        const WIDE: f32 = 3.4 * MM;
        self.enter(Open::Nothing);
        let said = ContentTag::Span(SpanTag::empty().with_actual_text(Some(tick_words(done))));
        let leaf = self.surface.start_tagged(said);
        self.tags.leaf(node, leaf);
        let top = baseline - WIDE + 0.5 * MM;
        self.boxed((x, top), (WIDE, WIDE), LINE);
        if done {
            let drawn = path(|path| {
                path.move_to(x + 0.7 * MM, top + 1.8 * MM);
                path.line_to(x + 1.4 * MM, top + 2.6 * MM);
                path.line_to(x + 2.8 * MM, top + 0.8 * MM);
            });
            if let Some(drawn) = drawn {
                self.surface.set_fill(None);
                self.surface.set_stroke(Some(line(0.35 * MM, 0)));
                self.surface.draw_path(&drawn);
            }
        }
        self.surface.end_tagged();
    }

    fn drawing(&mut self, drawing: &Drawing, words: &[Text], left: f32, top: f32, scale: f32) {
        let mut words = words.iter();
        let points = f64::from(MM) * f64::from(scale);
        let at = |place: crate::content::Place| {
            ((f64::from(left) + place.0 * points) as f32, (f64::from(top) + place.1 * points) as f32)
        };
        for shape in &drawing.shapes {
            match shape {
                Shape::Path { steps, stroke, fill: grey } => {
                    let drawn = path(|path| {
                        for step in steps {
                            match *step {
                                Step::Move(to) => path.move_to(at(to).0, at(to).1),
                                Step::Line(to) => path.line_to(at(to).0, at(to).1),
                                Step::Curve(a, b, to) => {
                                    path.cubic_to(at(a).0, at(a).1, at(b).0, at(b).1, at(to).0, at(to).1)
                                }
                                Step::Close => path.close(),
                            }
                        }
                    });
                    let Some(drawn) = drawn else { continue };
                    self.surface.set_fill(grey.map(fill));
                    self.surface.set_stroke(stroke.as_ref().map(|stroke| drawn_with(stroke, scale)));
                    if grey.is_some() || stroke.is_some() {
                        self.surface.draw_path(&drawn);
                    }
                }
                Shape::Words { at: place, anchor, turned, .. } => {
                    let Some(text) = words.next() else { continue };
                    let (x, y) = at(*place);
                    let back = match anchor {
                        Side::Start => 0.0,
                        Side::Middle => text.wide() / 2.0,
                        Side::End => text.wide(),
                    };
                    if *turned {
                        self.surface.push_transform(&Transform::from_rotate_at(-90.0, x, y));
                    }
                    for strip in text.lines.first().iter().flat_map(|line| line.strips.iter()) {
                        self.strip(text, strip, x - back, y);
                    }
                    if *turned {
                        self.surface.pop();
                    }
                }
            }
        }
    }

    fn picture(&mut self, at: usize, x: f32, y: f32, wide: f32, high: f32) {
        let Some(ready) = self.pictures.get(at).and_then(Shown::ready) else { return };
        let (own_wide, own_high) = if ready.turns % 2 == 1 { (high, wide) } else { (wide, high) };
        let Some(size) = Extent::from_wh(own_wide, own_high) else { return };
        // Turned about the middle of its place, then mirrored where its camera says so.
        self.surface.push_transform(&Transform::from_translate(x + wide / 2.0, y + high / 2.0));
        self.surface.push_transform(&Transform::from_rotate(90.0 * f32::from(ready.turns)));
        self.surface.push_transform(&Transform::from_scale(if ready.mirrored { -1.0 } else { 1.0 }, 1.0));
        self.surface.push_transform(&Transform::from_translate(-own_wide / 2.0, -own_high / 2.0));
        self.surface.draw_image(ready.image.clone(), size);
        for _ in 0..4 {
            self.surface.pop();
        }
    }

    fn code(&mut self, code: &Code, x: f32, y: f32, wide: f32) {
        let module = wide / f32::from(code.wide.max(1));
        let drawn = path(|path| {
            for (column, row, long) in &code.dark {
                let rect = Rect::from_xywh(
                    x + f32::from(*column) * module,
                    y + f32::from(*row) * module,
                    f32::from(*long) * module,
                    module,
                );
                if let Some(rect) = rect {
                    path.push_rect(rect);
                }
            }
        });
        if let Some(drawn) = drawn {
            self.surface.set_stroke(None);
            self.surface.set_fill(Some(fill(0)));
            self.surface.draw_path(&drawn);
        }
    }
}

fn drawn_with(stroke: &Stroke, scale: f32) -> Line {
    let mut drawn = line(f32::from(stroke.width) / 100.0 * MM * scale, stroke.grey);
    if !stroke.dash.is_empty() {
        let array = stroke.dash.iter().map(|long| f32::from(*long) / 10.0 * MM * scale).collect();
        drawn.dash = Some(StrokeDash { array, offset: 0.0 });
    }
    drawn
}

impl Pen {
    /// This glyph, standing for a text of its own.
    fn alone(&self, long: usize) -> Self {
        self.ranged(0, long as u32)
    }
}
