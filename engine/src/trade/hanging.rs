//! Hanging: what each hook, wire or cleat must hold, and how high the hook goes.

use super::{above_zero, caution, said, zero_or_more};
use crate::measure::{Angle, Length, Mass, Quantity};
use crate::{Found, Message};

/// How many times the load hardware is rated for. Source: common practice for still art, no source.
pub const FACTOR: f64 = 4.0;
/// Newtons to the kilogram. Source: conventional value, 3rd CGPM 1901, NIST SP 811 B.8 (exact; from memory).
const NEWTONS_PER_KG: f64 = 9.806_65;

fn safe_factor(factor: f64) -> Result<(), Message> {
    above_zero("safety factor", Quantity::plain(factor))?;
    if factor >= 1.0 {
        return Ok(());
    }
    Err(Message::new(
        format!("a safety factor of {factor} asks for less than the load"),
        "give 4, the usual factor, or more",
    ))
}

/// The rating each of so many equally loaded hooks must have: weight ÷ hooks × factor.
///
/// # Errors
/// When the weight is zero or less, there are no hooks, or the factor is below 1.
pub fn rating(weight: Mass, hooks: u32, factor: f64) -> Result<Found, Message> {
    above_zero("weight", weight)?;
    safe_factor(factor)?;
    if hooks == 0 {
        return Err(Message::new("0 hooks hold nothing", "give 1 hook or more, 2 for a wide piece"));
    }
    let rating = weight * (factor / f64::from(hooks));
    Ok(Found::by(rating, "{} ÷ {} × {}", [weight.into(), hooks.into(), factor.into()]).beware(caution::HANGING))
}

/// A piece on two hooks, not always evenly.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoHooks {
    weight: Mass,
    a: Length,
    b: Length,
    factor: f64,
}

impl TwoHooks {
    /// Hooks `a` to the left and `b` to the right of the middle of the weight.
    ///
    /// Source: balance of moments (statics, identity).
    ///
    /// # Errors
    /// When the weight is zero or less, a distance below zero or both zero, or the factor below 1.
    pub fn new(weight: Mass, a: Length, b: Length, factor: f64) -> Result<Self, Message> {
        above_zero("weight", weight)?;
        zero_or_more("distance of the first hook", a)?;
        zero_or_more("distance of the second hook", b)?;
        above_zero("distance between the hooks", a + b)?;
        safe_factor(factor)?;
        Ok(Self { weight, a, b, factor })
    }

    /// From one hook to the other, where the middle of the weight is halfway between them.
    pub fn apart_evenly(&self) -> Option<Length> {
        (self.a == self.b).then(|| self.a + self.b)
    }

    /// What the first hook carries: W × b ÷ (a + b).
    pub fn first(&self) -> Mass {
        self.weight * (self.b / (self.a + self.b))
    }

    /// What the second hook carries: W × a ÷ (a + b).
    pub fn second(&self) -> Mass {
        self.weight * (self.a / (self.a + self.b))
    }
}

thing!(TwoHooks, "a piece on two hooks", |hooks| vec!["hooks that carry ".into(), hooks.first().into(), " and ".into(), hooks.second().into()], {
    first_load "What the first hook carries." => Found::by(hooks.first(), "{} × {} ÷ ({} + {})", [
        hooks.weight.into(), hooks.b.into(), hooks.a.into(), hooks.b.into(),
    ]).beware(caution::HANGING),
    second_load "What the second hook carries." => Found::by(hooks.second(), "{} × {} ÷ ({} + {})", [
        hooks.weight.into(), hooks.a.into(), hooks.a.into(), hooks.b.into(),
    ]).beware(caution::HANGING),
    rating "What each hook must be rated for: the larger load times the factor." =>
        Found::by(hooks.first().max(hooks.second()) * hooks.factor, "{} × {}", [
            hooks.first().max(hooks.second()).into(), hooks.factor.into(),
        ]).beware(caution::HANGING),
    weight "The weight of the piece." => Found::stated(hooks.weight),
});

/// A wire from side to side over one hook.
#[derive(Clone, Debug, PartialEq)]
pub struct Wire {
    weight: Mass,
    angle: Angle,
    factor: f64,
}

impl Wire {
    /// A wire between two points `span` apart that rises by `rise` to the hook.
    ///
    /// # Errors
    /// When the weight or a length is zero or less or the factor below 1.
    pub fn new(weight: Mass, span: Length, rise: Length, factor: f64) -> Result<Self, Message> {
        above_zero("span of the wire", span)?;
        above_zero("rise of the wire", rise)?;
        Self::at_angle(weight, Angle::radians((rise / (span / 2.0)).atan()), factor)
    }

    /// A wire that rises to the hook at this angle above the level.
    ///
    /// # Errors
    /// When the weight is zero or less, the angle not above 0° and up to 90°, or the factor below 1.
    pub fn at_angle(weight: Mass, angle: Angle, factor: f64) -> Result<Self, Message> {
        above_zero("weight", weight)?;
        above_zero("angle of the wire", angle)?;
        safe_factor(factor)?;
        if angle.to_degrees() > 90.0 {
            return Err(Message::new(
                "a wire cannot rise by more than 90°",
                "give the angle above the level, such as `30.deg`",
            ));
        }
        let wire = Self { weight, angle, factor };
        above_zero("pull in the wire", wire.tension())?;
        Ok(wire)
    }

    /// The angle of the wire above the level.
    pub fn angle(&self) -> Angle {
        self.angle
    }

    /// The pull in the wire: W ÷ (2 sin θ), as the weight that pulls as hard. Source: statics of two ropes (identity).
    pub fn tension(&self) -> Mass {
        self.weight / (2.0 * self.angle.to_radians().sin())
    }

    /// The pull in newtons.
    pub fn newtons(&self) -> f64 {
        self.tension().to_kg() * NEWTONS_PER_KG
    }
}

thing!(Wire, "a hanging wire", |wire| vec!["wire at ".into(), wire.angle.into(), " that pulls ".into(), wire.tension().into()], {
    angle "The angle of the wire above the level; below 30° the pull grows fast." => Found::stated(wire.angle),
    tension "The pull in the wire and at each point it hangs from." =>
        Found::by(wire.tension(), "{} ÷ (2 × sin {})", [wire.weight.into(), wire.angle.into()]).beware(caution::HANGING),
    newtons "The pull in newtons, a plain number." =>
        Found::by(wire.newtons(), "{} × 9.80665 m/s²", [wire.tension().into()]).beware(caution::HANGING),
    rating "What wire and points must be rated for: the pull times the factor." =>
        Found::by(wire.tension() * wire.factor, "{} × {}", [wire.tension().into(), wire.factor.into()]).beware(caution::HANGING),
    hook "What the one hook must be rated for: the weight times the factor." =>
        Found::by(wire.weight * wire.factor, "{} × {}", [wire.weight.into(), wire.factor.into()]).beware(caution::HANGING),
});

/// A piece on a wall cleat, leaning on the wall further down.
#[derive(Clone, Debug, PartialEq)]
pub struct Cleat {
    weight: Mass,
    out: Length,
    down: Length,
    factor: f64,
}

impl Cleat {
    /// A piece whose middle of weight stands `out` from the wall, on a cleat `down` above the point it leans on.
    ///
    /// # Errors
    /// When the weight or a length is zero or less or the factor below 1.
    pub fn new(weight: Mass, out: Length, down: Length, factor: f64) -> Result<Self, Message> {
        above_zero("weight", weight)?;
        above_zero("distance from the wall", out)?;
        above_zero("height of the cleat over its lower rest", down)?;
        safe_factor(factor)?;
        Ok(Self { weight, out, down, factor })
    }

    /// How hard the cleat pulls from the wall: W × e ÷ d. Source: balance of moments (statics, identity).
    pub fn pull(&self) -> Mass {
        self.weight * (self.out / self.down)
    }
}

thing!(Cleat, "a wall cleat", |cleat| vec!["cleat that carries ".into(), cleat.weight.into(), " and pulls ".into(), cleat.pull().into()], {
    load "What the cleat carries downwards." => Found::stated(cleat.weight).beware(caution::HANGING),
    pull "How hard it pulls away from the wall." => Found::by(cleat.pull(), "{} × {} ÷ {}", [
        cleat.weight.into(), cleat.out.into(), cleat.down.into(),
    ]).beware(caution::HANGING),
    rating "What its fixings together must hold downwards." =>
        Found::by(cleat.weight * cleat.factor, "{} × {}", [cleat.weight.into(), cleat.factor.into()]).beware(caution::HANGING),
    pull_rating "What its fixings together must hold against being pulled out." =>
        Found::by(cleat.pull() * cleat.factor, "{} × {}", [cleat.pull().into(), cleat.factor.into()]).beware(caution::HANGING),
});

/// How high the hook goes so that the middle of the piece hangs at `centre`: centre + outside height ÷ 2 − drop.
///
/// `drop` is from the top of the piece down to where the pulled hanger meets the hook.
///
/// # Errors
/// When a height is zero or less, the drop below zero or longer than the piece, or the piece would stand in the floor.
pub fn hook_height(outside: Length, centre: Length, drop: Length) -> Result<Found, Message> {
    above_zero("outside height", outside)?;
    above_zero("height of the centre", centre)?;
    zero_or_more("drop", drop)?;
    if !drop.fits(outside) {
        return Err(Message::new(
            format!("a drop of {} is longer than the piece, which is {} high", said(drop), said(outside)),
            "measure from its upper edge down to where the pulled hanger meets the hook",
        ));
    }
    if !(outside / 2.0).fits(centre) {
        return Err(Message::new(
            format!("a piece {} high with its middle at {} would stand in the floor", said(outside), said(centre)),
            format!("put its middle at {} or higher", said(outside / 2.0)),
        ));
    }
    let height = centre + outside / 2.0 - drop;
    Ok(Found::by(height, "{} + {} ÷ 2 − {}", [centre.into(), outside.into(), drop.into()]).beware(caution::HANGING))
}

/// The turning moment of a weight on an arm, as a fixing, a bracket or a hinge feels it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    weight: Mass,
    arm: Length,
}

impl Moment {
    /// A weight whose middle stands `arm` away from what it turns about.
    ///
    /// # Errors
    /// When either is zero or less.
    pub fn new(weight: Mass, arm: Length) -> Result<Self, Message> {
        above_zero("weight", weight)?;
        above_zero("arm", arm)?;
        Ok(Self { weight, arm })
    }

    /// In newton metres: weight × 9.80665 m/s² × arm.
    pub fn newton_metres(&self) -> f64 {
        self.weight.to_kg() * NEWTONS_PER_KG * self.arm.to_m()
    }
}

thing!(Moment, "a turning moment", |one| vec!["moment of ".into(), one.newton_metres().into(), " N m".into()], {
    newton_metres "In newton metres, a plain number." => Found::by(one.newton_metres(), "{} × 9.80665 m/s² × {}", [
        one.weight.into(), one.arm.into(),
    ]).beware(caution::HANGING),
    pound_feet "In pound-feet, a plain number." => Found::by(one.weight.to_lb() * one.arm.to_foot(), "{} × {}", [
        one.weight.into(), one.arm.into(),
    ]).beware(caution::HANGING),
});
