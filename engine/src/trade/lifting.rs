//! Lifting: how much a person should lift, from where to where, how often.
//!
//! Source: Applications Manual for the Revised NIOSH Lifting Equation, DHHS (NIOSH) Publication 94-110, revised 9/2021
//! (tables read in a transcription of the manual). It is not legal limit.

use super::{above_zero, caution, zero_or_more};
use crate::measure::{Angle, Length, Mass, Quantity, Time};
use crate::{Found, Message};

/// The load of a perfect lift. Source: NIOSH 94-110, p. 7 (read): 51 lb, or 23 kg in its metric form.
pub const LOAD_CONSTANT: Mass = Mass::lb(51.0);

/// How well the hands hold the load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coupling {
    /// Handles or cut-outs that the hands close round.
    Good,
    /// Poor handles, or fingers bent under a rigid edge.
    Fair,
    /// Bulky, slippery, sagging or sharp.
    Poor,
}

/// One end of a lift, as it is measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lift {
    /// The weight lifted.
    pub load: Mass,
    /// From between the ankles out to the hands (H).
    pub reach: Length,
    /// From the floor up to the hands, at the end that is judged (V).
    pub height: Length,
    /// From the floor up to the hands where the lift begins; it chooses the column of the frequency table.
    pub start_height: Length,
    /// How far up or down the hands travel (D).
    pub travel: Length,
    /// How far the load is to the side of straight ahead (A).
    pub twist: Angle,
    /// Lifts in a minute (F).
    pub per_minute: f64,
    /// How long the work goes on, up to 8 hours.
    pub lasts: Time,
    /// How well the hands hold the load.
    pub coupling: Coupling,
}

/// Lifts a minute, then the multiplier for up to 1, 2 and 8 hours, each below and from 30 in of height.
struct FrequencyRow(f64, [f64; 6]);

// Source: NIOSH 94-110, Table 5, p. 15 (read).
const FREQUENCY: &[FrequencyRow] = &[
    FrequencyRow(0.2, [1.00, 1.00, 0.95, 0.95, 0.85, 0.85]),
    FrequencyRow(0.5, [0.97, 0.97, 0.92, 0.92, 0.81, 0.81]),
    FrequencyRow(1.0, [0.94, 0.94, 0.88, 0.88, 0.75, 0.75]),
    FrequencyRow(2.0, [0.91, 0.91, 0.84, 0.84, 0.65, 0.65]),
    FrequencyRow(3.0, [0.88, 0.88, 0.79, 0.79, 0.55, 0.55]),
    FrequencyRow(4.0, [0.84, 0.84, 0.72, 0.72, 0.45, 0.45]),
    FrequencyRow(5.0, [0.80, 0.80, 0.60, 0.60, 0.35, 0.35]),
    FrequencyRow(6.0, [0.75, 0.75, 0.50, 0.50, 0.27, 0.27]),
    FrequencyRow(7.0, [0.70, 0.70, 0.42, 0.42, 0.22, 0.22]),
    FrequencyRow(8.0, [0.60, 0.60, 0.35, 0.35, 0.18, 0.18]),
    FrequencyRow(9.0, [0.52, 0.52, 0.30, 0.30, 0.00, 0.15]),
    FrequencyRow(10.0, [0.45, 0.45, 0.26, 0.26, 0.00, 0.13]),
    FrequencyRow(11.0, [0.41, 0.41, 0.00, 0.23, 0.00, 0.00]),
    FrequencyRow(12.0, [0.37, 0.37, 0.00, 0.21, 0.00, 0.00]),
    FrequencyRow(13.0, [0.00, 0.34, 0.00, 0.00, 0.00, 0.00]),
    FrequencyRow(14.0, [0.00, 0.31, 0.00, 0.00, 0.00, 0.00]),
    FrequencyRow(15.0, [0.00, 0.28, 0.00, 0.00, 0.00, 0.00]),
];

impl Lift {
    /// The same lift when every measure makes sense.
    ///
    /// # Errors
    /// When the load is zero or less, a measure below zero, or the work lasts longer than 8 hours.
    pub fn checked(self) -> Result<Self, Message> {
        above_zero("load", self.load)?;
        above_zero("time the work lasts", self.lasts)?;
        zero_or_more("reach", self.reach)?;
        zero_or_more("height of the hands", self.height)?;
        zero_or_more("height of the hands at the start", self.start_height)?;
        zero_or_more("travel", self.travel)?;
        zero_or_more("twist", self.twist)?;
        zero_or_more("number of lifts a minute", Quantity::plain(self.per_minute))?;
        if self.lasts.to_hours() > 8.0 {
            return Err(Message::new("the equation ends at 8 hours of lifting a day", "give 8 hours or less"));
        }
        Ok(self)
    }

    /// Reach: 10 ÷ H in inches; nothing is gained nearer than 10 in, and nothing allowed past 25 in.
    pub fn horizontal(&self) -> f64 {
        let reach = self.reach.to_inch();
        if reach > 25.0 { 0.0 } else { 10.0 / reach.max(10.0) }
    }

    /// Height: 1 − 0.0075 × |V − 30| in inches; nothing is allowed past 70 in.
    pub fn vertical(&self) -> f64 {
        let height = self.height.to_inch();
        if height > 70.0 { 0.0 } else { 1.0 - 0.0075 * (height - 30.0).abs() }
    }

    /// Travel: 0.82 + 1.8 ÷ D in inches; nothing is gained below 10 in, and nothing allowed past 70 in.
    pub fn distance(&self) -> f64 {
        let travel = self.travel.to_inch();
        if travel > 70.0 { 0.0 } else { 0.82 + 1.8 / travel.max(10.0) }
    }

    /// Twist: 1 − 0.0032 × A in degrees; nothing is allowed past 135°.
    pub fn asymmetry(&self) -> f64 {
        let twist = self.twist.to_degrees();
        if twist > 135.0 { 0.0 } else { 1.0 - 0.0032 * twist }
    }

    /// Frequency, from the table, linear between its rows; nothing is allowed past 15 lifts a minute.
    pub fn frequency(&self) -> f64 {
        let hours = self.lasts.to_hours();
        let long = if hours <= 1.0 {
            0
        } else if hours <= 2.0 {
            2
        } else {
            4
        };
        let column = long + usize::from(self.start_height.to_inch() >= 30.0);
        let at = |row: &FrequencyRow| (row.0, row.1.get(column).copied().unwrap_or(0.0));
        let often = self.per_minute.max(0.2);
        let below = FREQUENCY.iter().rev().find(|row| row.0 <= often).map(at);
        let above = FREQUENCY.iter().find(|row| row.0 >= often).map(at);
        match (below, above) {
            (Some(below), Some(above)) if above.0 > below.0 => {
                below.1 + (above.1 - below.1) * (often - below.0) / (above.0 - below.0)
            }
            (Some(exact), Some(_)) => exact.1,
            _ => 0.0,
        }
    }

    /// Hold. Source: NIOSH 94-110, Table 7, p. 18 (read).
    pub fn coupling(&self) -> f64 {
        match (self.coupling, self.height.to_inch() >= 30.0) {
            (Coupling::Good, _) | (Coupling::Fair, true) => 1.0,
            (Coupling::Fair, false) => 0.95,
            (Coupling::Poor, _) => 0.9,
        }
    }

    /// The recommended weight limit: 51 lb × all six multipliers.
    pub fn limit(&self) -> Mass {
        LOAD_CONSTANT
            * (self.horizontal()
                * self.vertical()
                * self.distance()
                * self.asymmetry()
                * self.frequency()
                * self.coupling())
    }

    /// The load divided by the limit; nothing when no load at all is recommended.
    pub fn index(&self) -> Option<f64> {
        let limit = self.limit();
        limit.is_positive().then(|| self.load / limit).filter(|index| index.is_finite())
    }
}

thing!(Lift, "a lift", |lift| vec![
    "lift of ".into(), lift.load.into(), ", recommended at most ".into(), lift.limit().into(),
], {
    limit "The recommended weight limit: 51 lb times the six multipliers." =>
        Found::by(lift.limit(), "{} × {} × {} × {} × {} × {} × {}", [
            LOAD_CONSTANT.into(), lift.horizontal().into(), lift.vertical().into(), lift.distance().into(),
            lift.asymmetry().into(), lift.frequency().into(), lift.coupling().into(),
        ]).beware(caution::LIFTING),
    index "The load divided by the limit; above 1 the load is shared or lifting gear used. None where no lift is recommended." =>
        lift.index().map(|index| Found::by(index, "{} ÷ {}", [lift.load.into(), lift.limit().into()]).beware(caution::LIFTING)),
    advised "Whether the load is within the limit." => Found::stated(lift.load <= lift.limit()).beware(caution::LIFTING),
    hm "Multiplier for the reach." => Found::stated(lift.horizontal()),
    vm "Multiplier for the height." => Found::stated(lift.vertical()),
    dm "Multiplier for the travel." => Found::stated(lift.distance()),
    am "Multiplier for the twist." => Found::stated(lift.asymmetry()),
    fm "Multiplier for how often and how long." => Found::stated(lift.frequency()),
    cm "Multiplier for the hold." => Found::stated(lift.coupling()),
});

impl Lift {
    /// The other end of the same lift: where the hands come to, at its own reach and height. How often is still judged by
    /// the height the lift began at.
    ///
    /// # Errors
    /// When a measure is below zero.
    pub fn to(self, reach: Length, height: Length) -> Result<Self, Message> {
        Self { reach, height, ..self }.checked()
    }
}

/// Shares of what its members could lift one by one that a team can lift together.
///
/// Source: guidance to the Manual Handling Operations Regulations 1992, Health and Safety Executive L23 (read where it is
/// quoted): two people two thirds of the sum, three people half of it. The lifting equation itself is for one person.
const TEAMS: &[(u32, f64)] = &[(1, 1.0), (2, 2.0 / 3.0), (3, 0.5)];

/// One load lifted by several people, each as in a lift of their own.
#[derive(Clone, Debug, PartialEq)]
pub struct Team {
    one: Lift,
    people: u32,
    share: f64,
}

impl Team {
    /// `people` who each stand and lift as in `one`, whose load is the whole load.
    ///
    /// # Errors
    /// When there is nobody, or more people than the guidance speaks of.
    pub fn new(one: Lift, people: u32) -> Result<Self, Message> {
        let found = TEAMS.iter().find(|(count, _)| *count == people);
        let (_, share) = found.ok_or_else(|| {
            Message::new(
                format!("no guidance says what {people} people lift together"),
                "give 1, 2 or 3 people; for more, use lifting gear or share the load out",
            )
        })?;
        Ok(Self { one, people, share: *share })
    }

    /// The most the team should lift: what each should lift at most × people × share.
    pub fn limit(&self) -> Mass {
        self.one.limit() * (f64::from(self.people) * self.share)
    }

    fn index(&self) -> Option<f64> {
        let limit = self.limit();
        limit.is_positive().then(|| self.one.load / limit).filter(|index| index.is_finite())
    }
}

thing!(Team, "a lift by a team", |team| vec![
    team.people.into(), " people, recommended at most ".into(), team.limit().into(),
], {
    limit "The most the team should lift together." => Found::by(team.limit(), "{} × {} × {}", [
        team.people.into(), team.one.limit().into(), team.share.into(),
    ]).beware(caution::LIFTING),
    index "The load divided by that; above 1 more hands or lifting gear are needed. None where no lift is recommended." =>
        team.index().map(|index| Found::by(index, "{} ÷ {}", [team.one.load.into(), team.limit().into()]).beware(caution::LIFTING)),
    advised "Whether the load is within what the team should lift." => Found::stated(team.one.load <= team.limit()).beware(caution::LIFTING),
    share "The share of what they could lift one by one." => Found::stated(team.share),
});
