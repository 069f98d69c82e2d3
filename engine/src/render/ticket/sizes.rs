//! What a shop must know of the piece, gathered from the things the plan's workings gave, in both units.

use std::borrow::Cow;

use serde::Serialize;

use super::Need;
use crate::document::Document;
use crate::evaluate::Evaluation;
use crate::evaluate::limits::{all, last};
use crate::measure::Units;
use crate::render::plain::in_other_units;
use crate::trade::backside::Backside;
use crate::trade::crating::Crate;
use crate::trade::cutting::CutList;
use crate::trade::elevation::Elevation;
use crate::trade::film::{Crop, Film};
use crate::trade::frame::{FloatFrame, RabbetFrame};
use crate::trade::hanging::{Cleat, TwoHooks, Wire};
use crate::trade::mat::Mat;
use crate::trade::moulding::Moulding;
use crate::trade::mount::Sheet;
use crate::trade::mural::Mural;
use crate::trade::nesting::Nest;
use crate::trade::print::{Print, Resampled};
use crate::trade::roll::Layout;
use crate::trade::row::Row;
use crate::trade::scan::Scan;
use crate::trade::tube::Tube;
use crate::{Found, Trade, Value};

/// One size, weight or other number of the piece.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Size {
    /// What it is.
    pub what: Cow<'static, str>,
    /// As written in the plan's units.
    pub shown: String,
    /// In the other units, where they say it otherwise.
    pub other: Option<String>,
}

impl Size {
    pub(super) fn line(&self) -> String {
        format!("{}: {}", self.what, self.shown)
    }
}

/// All sizes for one trade.
pub(super) struct Sizes {
    pub(super) rows: Vec<Size>,
    pub(super) known: Vec<Need>,
    pub(super) cautions: Vec<String>,
    pub(super) count: u32,
    /// What several of them are called.
    pub(super) called: &'static str,
}

pub(super) fn of(document: &Document, evaluation: &Evaluation, role: &str) -> Sizes {
    let mut all = Gathering {
        document,
        evaluation,
        out: Sizes { rows: Vec::new(), known: Vec::new(), cautions: Vec::new(), count: 1, called: "pieces" },
    };
    match super::role(role).map(|one| one.name) {
        Some("scanner") => {
            all.film();
            all.scan();
        }
        Some("retoucher") => {
            all.scan();
            all.print();
            all.file();
        }
        Some("lab") => {
            all.print();
            all.file();
            all.paper();
        }
        Some("mounter") => {
            all.pieces();
            all.print();
            all.board();
        }
        Some("framer") => {
            all.pieces();
            all.frame();
            all.board();
            all.weight();
            all.back();
        }
        Some("installer") => {
            all.pieces();
            all.outside();
            all.weight();
            all.wall();
            all.hardware();
            all.back();
        }
        Some("carrier") => {
            all.pieces();
            all.outside();
            all.weight();
            all.packed();
        }
        _ => {}
    }
    all.out
}

struct Gathering<'a> {
    document: &'a Document,
    evaluation: &'a Evaluation,
    out: Sizes,
}

impl<'a> Gathering<'a> {
    fn last<T: Trade>(&self) -> Option<&'a T> {
        last(self.document, self.evaluation)
    }

    fn units(&self) -> Units {
        self.evaluation.units
    }

    fn say(&mut self, what: impl Into<Cow<'static, str>>, value: &Value) {
        let row =
            Size { what: what.into(), shown: value.shown(self.units()), other: in_other_units(value, self.units()) };
        if !self.out.rows.contains(&row) {
            self.out.rows.push(row);
        }
    }

    /// Parts of a thing, by what they are called on the ticket.
    fn parts<T: Trade>(&mut self, thing: &T, parts: &[(&'static str, &str)]) {
        for (what, part) in parts {
            let Some(Found { value, caution, .. }) = thing.part(part) else { continue };
            self.say(*what, &value);
            if let Some(caution) = caution.map(str::to_owned).filter(|one| !self.out.cautions.contains(one)) {
                self.out.cautions.push(caution);
            }
        }
    }

    fn know(&mut self, need: Need) {
        self.out.known.push(need);
    }

    /// How many pieces a row has.
    fn pieces(&mut self) {
        self.out.count = self.last::<Row>().map_or(1, Row::count);
    }

    fn film(&mut self) {
        if let Some(film) = self.last::<Film>() {
            self.know(Need::Film);
            self.say("film", &Value::from(film.name()));
            self.parts(film, &[("image on the film", "size")]);
        }
        if let Some(crop) = self.last::<Crop>() {
            self.parts(crop, &[("used of it", "size")]);
        }
    }

    fn scan(&mut self) {
        if let Some(scan) = self.last::<Scan>() {
            if self.last::<Film>().is_none() {
                self.know(Need::Film);
                self.parts(scan.film(), &[("image on the film", "size")]);
            }
            self.know(Need::Scan);
            self.parts(scan, &[("resolution", "resolution"), ("pixels", "pixels"), ("seen by the lens", "optical")]);
        } else if let Some(print) = self.last::<Print>().and_then(|print| print.part("ppi")) {
            // A print with pixels to the inch comes from a scan that has no name of its own.
            self.know(Need::Scan);
            self.say("pixels to the inch of print", &print.value);
        }
    }

    fn print(&mut self) {
        if let Some(print) = self.last::<Print>() {
            self.know(Need::Print);
            self.parts(print, &[("image", "size"), ("pixels to the inch", "ppi")]);
        }
    }

    fn file(&mut self) {
        if let Some(file) = self.last::<Resampled>() {
            self.parts(file, &[("pixels of the print file", "pixels"), ("its resolution", "ppi")]);
        }
    }

    fn paper(&mut self) {
        if let Some(mural) = self.last::<Mural>() {
            self.parts(mural, &[("panels", "count"), ("each panel", "panel"), ("overlap of two panels", "overlap")]);
        }
        self.out.called = "prints";
        if let Some(laid) = self.last::<Nest>() {
            self.out.count = u32::try_from(laid.placed().len()).unwrap_or(u32::MAX);
        }
        if let Some(laid) = self.last::<Layout>() {
            self.out.count = laid.count();
            self.parts(laid, &[("on the roll, across first", "print"), ("length of paper", "length")]);
        }
        if let Some(mural) = self.last::<Mural>() {
            (self.out.count, self.out.called) = (mural.count(), "panels");
        }
    }

    fn board(&mut self) {
        // A single sheet is one of the materials, not what the piece is made of.
        if let Some(board) = self.last::<Sheet>() {
            self.know(Need::Board);
            self.parts(board, &[("made of", "name"), ("total thickness", "thickness")]);
        }
    }

    fn frame(&mut self) {
        if let Some(frame) = self.last::<FloatFrame>() {
            self.know(Need::Frame);
            self.parts(
                frame,
                &[
                    ("piece", "piece"),
                    ("gap", "gap"),
                    ("opening", "opening"),
                    ("outside", "outside"),
                    ("depth", "depth"),
                    ("face", "face"),
                    ("set back", "setback"),
                    (self.moulding_length(), "moulding_length"),
                ],
            );
            self.sticks(frame);
        }
        if let Some(mat) = self.last::<Mat>() {
            self.parts(mat, &[("mat, outside", "outside"), ("window of the mat", "opening")]);
        }
        if let Some(frame) = self.last::<RabbetFrame>() {
            self.know(Need::Frame);
            self.parts(
                frame,
                &[
                    ("pane", "glazing"),
                    ("rabbet", "rabbet"),
                    ("sight", "sight"),
                    ("outside", "outside"),
                    ("depth", "depth"),
                    (self.moulding_length(), "moulding_length"),
                ],
            );
        }
        if let Some(list) = self.last::<CutList>() {
            self.parts(list, &[("sticks to buy", "bars")]);
        }
        if self.evaluation.record.hung.is_some() && !self.out.known.contains(&Need::Frame) {
            self.outside();
        }
    }

    /// What the length of moulding in the frame is called.
    fn moulding_length(&self) -> &'static str {
        if self.out.count > 1 {
            "moulding for one of them, total length, long point to long point"
        } else {
            "moulding, total length, long point to long point"
        }
    }

    /// The sticks a float frame is cut from, of those the plan names: the wood, and how large each is.
    fn sticks(&mut self, frame: &FloatFrame) {
        let sizes = frame.sizes();
        let sides = sizes.stick.map(|depth| (sizes.face, depth));
        let ledge = sizes.ledge_stick.map(|(width, _)| (width, sizes.ledge));
        for (section, name, size) in
            [(sides, "moulding", "stick, face × depth"), (ledge, "ledge", "ledge, wide × thick")]
        {
            let is_it = |stick: &&Moulding| Some((stick.face(), stick.depth())) == section;
            let Some(stick) = all(self.document, self.evaluation).rfind(is_it) else { continue };
            self.parts(stick, &[(name, "name"), (size, "section")]);
        }
    }

    fn outside(&mut self) {
        if let Some(hung) = self.evaluation.record.hung {
            self.know(Need::Frame);
            let outside = Value::List(vec![hung.width.into(), hung.height.into()]);
            match self.last::<Row>().filter(|row| row.count() > 1) {
                Some(row) => {
                    let (width, height) = row.piece();
                    self.say("outside of each", &Value::List(vec![width.into(), height.into()]));
                    self.say("outside of the whole row", &outside);
                }
                None => self.say("outside", &outside),
            }
        }
        let depth = self.last::<FloatFrame>().and_then(|frame| frame.part("depth"));
        if let Some(depth) = depth.or_else(|| self.last::<RabbetFrame>().and_then(|frame| frame.part("depth"))) {
            self.say("depth", &depth.value);
        }
    }

    fn weight(&mut self) {
        if let Some(weight) = self.evaluation.record.hung.and_then(|hung| hung.weight) {
            self.know(Need::Weight);
            let what = match self.out.count {
                1 => "weight (calculated)".to_owned(),
                count => format!("weight of all {count} together (calculated)"),
            };
            self.say(what, &weight.into());
            let caution = crate::trade::caution::WEIGHT.to_owned();
            if !self.out.cautions.contains(&caution) {
                self.out.cautions.push(caution);
            }
        }
    }

    fn wall(&mut self) {
        if let Some(piece) = self.last::<Elevation>() {
            self.know(Need::Height);
            self.parts(
                piece,
                &[
                    ("middle above the floor", "centre"),
                    ("upper edge above the floor", "top"),
                    ("hooks above the floor", "hooks"),
                    ("hooks apart", "apart"),
                ],
            );
        }
    }

    fn hardware(&mut self) {
        if let Some(hooks) = self.last::<TwoHooks>() {
            self.know(Need::Hardware);
            self.parts(
                hooks,
                &[
                    ("first hook carries", "first_load"),
                    ("second hook carries", "second_load"),
                    ("each rated for at least", "rating"),
                ],
            );
        }
        if let Some(wire) = self.last::<Wire>() {
            self.know(Need::Hardware);
            self.parts(wire, &[("wire and eyes rated for at least", "rating"), ("hook rated for at least", "hook")]);
        }
        if let Some(cleat) = self.last::<Cleat>() {
            self.know(Need::Hardware);
            self.parts(
                cleat,
                &[("fixings hold downwards, together", "rating"), ("and outwards, together", "pull_rating")],
            );
        }
    }

    fn back(&mut self) {
        if let Some(back) = self.last::<Backside>() {
            self.parts(
                back,
                &[("hangs by", "hardware"), ("hardware apart", "apart"), ("below the upper edge", "drop")],
            );
        }
    }

    fn packed(&mut self) {
        if let Some(packed) = self.last::<Crate>() {
            self.know(Need::Crate);
            self.parts(
                packed,
                &[("crate, outside", "outside"), ("crate, inside", "inside"), ("crate, empty", "empty")],
            );
        }
        if let Some(tube) = self.last::<Tube>() {
            self.know(Need::Crate);
            self.parts(tube, &[("tube, length", "length"), ("tube, diameter", "diameter")]);
        }
    }
}
