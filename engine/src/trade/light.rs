//! Light on the wall: how much falls on a print, how much it can take, and by which light it is judged.

use super::{above_zero, said, zero_or_more};
use crate::measure::{Angle, Exposure, Illuminance, Length, Quantity, Time};
use crate::{Found, Message};

/// How far from the vertical a lamp is aimed. Source: common practice, no source (30°).
pub const AIM: Angle = Angle::degrees(30.0);

/// How sensitive to light a work is, and what it may get.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sensitivity {
    name: &'static str,
    words: &'static str,
    most: Option<(Illuminance, Exposure)>,
}

const fn row(name: &'static str, words: &'static str, lux: f64, lux_hours: f64) -> Sensitivity {
    Sensitivity { name, words, most: Some((Illuminance::lux(lux), Exposure::lux_hours(lux_hours))) }
}

// Source: CIE 157:2004, section 3 (the four categories, and 50 lx with 150 000 lx h, read in a summary; the other
// numbers from memory). Colour photographs are R2 or R3 by process (from memory).
const SENSITIVITIES: &[Sensitivity] = &[
    Sensitivity { name: "R0", words: "irresponsive", most: None },
    row("R1", "low", 200.0, 600_000.0),
    row("R2", "medium", 50.0, 150_000.0),
    row("R3", "high", 50.0, 15_000.0),
];

impl Sensitivity {
    /// The category of a name, `R0` to `R3`.
    ///
    /// # Errors
    /// When there is no such category.
    pub fn named(name: &str) -> Result<Self, Message> {
        let found = SENSITIVITIES.iter().find(|one| one.name.eq_ignore_ascii_case(name.trim()));
        found.copied().ok_or_else(|| {
            Message::new(
                format!("no sensitivity to light is called `{name}`"),
                "use R0, R1, R2 or R3; colour photographs are R2 or R3",
            )
        })
    }

    /// The most light at once, and in a year; nothing where there is no limit.
    pub fn most(&self) -> Option<(Illuminance, Exposure)> {
        self.most
    }
}

thing!(Sensitivity, "a sensitivity to light", |one| vec![one.name.into(), ", ".into(), one.words.into()], {
    most "The most light that falls on it at once (CIE 157:2004); none for R0." => one.most.map(|most| Found::stated(most.0)),
    yearly "The most light dose in a year (CIE 157:2004); none for R0." => one.most.map(|most| Found::stated(most.1)),
    hours "Hours in a year at the most light, until the yearly dose is reached; none for R0." => one.most.map(|(lux, dose)| {
        Found::by(Time::hours(dose.to_lux_hours() / lux.to_lux()), "{} ÷ {}", [dose.into(), lux.into()])
    }),
});

/// Light on a wall from one lamp: candela × cos(angle) ÷ distance².
///
/// The angle is from straight on. Source: inverse-square law, CIE S 017 (identity).
///
/// # Errors
/// When candela or distance are zero or less, or the angle is not from 0° to below 90°.
pub fn illuminance(candela: f64, distance: Length, angle: Angle) -> Result<Found, Message> {
    above_zero("number of candela", Quantity::plain(candela))?;
    above_zero("distance", distance)?;
    zero_or_more("angle", angle)?;
    if angle.to_degrees() >= 90.0 {
        return Err(Message::new(
            "light at 90° or more does not reach the wall",
            "give the angle from straight on, such as `30.deg`",
        ));
    }
    let lux = Illuminance::lux(candela * angle.to_radians().cos() / distance.to_m().powi(2));
    above_zero("light on the wall", lux)?;
    Ok(if angle.to_degrees() > 0.0 {
        Found::by(lux, "{} cd × cos({}) ÷ ({})²", [candela.into(), angle.into(), distance.into()])
    } else {
        Found::by(lux, "{} cd ÷ ({})²", [candela.into(), distance.into()])
    })
}

/// Light over time: illuminance × hours a day × days.
///
/// # Errors
/// When one is zero or less, or a day has more than 24 hours.
pub fn dose(light: Illuminance, a_day: Time, days: f64) -> Result<Found, Message> {
    above_zero("light", light)?;
    above_zero("time a day", a_day)?;
    above_zero("number of days", Quantity::plain(days))?;
    if a_day.to_hours() > 24.0 {
        return Err(Message::new(format!("a day has no {} hours", a_day.to_hours()), "give 24 hours a day or less"));
    }
    Ok(Found::by(light * a_day * days, "{} × {} × {} days", [light.into(), a_day.into(), days.into()]))
}

/// The cone of a lamp and the spot it throws.
#[derive(Clone, Debug, PartialEq)]
pub struct Beam {
    angle: Angle,
    distance: Length,
    lumens: Option<f64>,
}

impl Beam {
    /// A beam of this full angle on a wall so far away; with its lumens it knows its mean candela.
    ///
    /// # Errors
    /// When the angle is not between 0° and 180°, or distance or lumens are zero or less.
    pub fn new(angle: Angle, distance: Length, lumens: Option<f64>) -> Result<Self, Message> {
        above_zero("angle of the beam", angle)?;
        above_zero("distance", distance)?;
        if let Some(lumens) = lumens {
            above_zero("number of lumens", Quantity::plain(lumens))?;
        }
        if angle.to_degrees() >= 180.0 {
            return Err(Message::new(
                "a beam of 180° or more throws no spot",
                "give the full angle of the beam, such as `36.deg`",
            ));
        }
        let beam = Self { angle, distance, lumens };
        above_zero("width of the spot", beam.spot())?;
        if let Some(mean) = beam.candela() {
            above_zero("number of candela", Quantity::plain(mean))?;
        }
        Ok(beam)
    }

    /// Width of the spot: 2 × distance × tan(angle ÷ 2).
    pub fn spot(&self) -> Length {
        self.distance * (2.0 * (self.angle.to_radians() / 2.0).tan())
    }

    /// Mean candela in the cone: lumens ÷ (2π × (1 − cos(angle ÷ 2))). Source: solid angle of a cone (identity).
    pub fn candela(&self) -> Option<f64> {
        let cone = std::f64::consts::TAU * (1.0 - (self.angle.to_radians() / 2.0).cos());
        self.lumens.map(|lumens| lumens / cone)
    }
}

thing!(Beam, "a beam", |beam| vec!["beam of ".into(), beam.angle.into(), ", spot ".into(), beam.spot().into(), " wide".into()], {
    spot "Width of the spot on the wall." =>
        Found::by(beam.spot(), "2 × {} × tan({} ÷ 2)", [beam.distance.into(), beam.angle.into()]),
    candela "Mean candela in the cone, a plain number; only with lumens." => beam.candela().zip(beam.lumens).map(|(mean, lumens)| {
        Found::by(mean, "{} lm ÷ (2π × (1 − cos({} ÷ 2)))", [lumens.into(), beam.angle.into()])
    }),
});

/// How far from the wall a lamp hangs that is aimed at the middle of a print: (lamp − centre) × tan(angle).
///
/// # Errors
/// When the lamp is not above the centre, or the angle is not between 0° and 90°.
pub fn lamp_offset(lamp: Length, centre: Length, angle: Angle) -> Result<Found, Message> {
    above_zero("height of the centre", centre)?;
    above_zero("angle", angle)?;
    if lamp <= centre || angle.to_degrees() >= 90.0 {
        return Err(Message::new(
            format!(
                "a lamp at {} aimed {}° from the vertical does not reach down to {}",
                said(lamp),
                angle.to_degrees(),
                said(centre)
            ),
            "hang the lamp above the centre of the print and aim it less than 90° from the vertical",
        ));
    }
    let offset = (lamp - centre) * angle.to_radians().tan();
    above_zero("distance of the lamp from the wall", offset)?;
    Ok(Found::by(offset, "({} − {}) × tan({})", [lamp.into(), centre.into(), angle.into()]))
}

/// The light prints are judged by: `P1` for comparing them closely, `P2` for judging them as they will hang.
///
/// Source: ISO 3664:2009, 4.2 and 4.3, D50 (values read in secondary pages; tolerances ± 500 and ± 125 lx from memory).
///
/// # Errors
/// When there is no such condition.
pub fn viewing(name: &str) -> Result<Illuminance, Message> {
    match name.trim().to_uppercase().as_str() {
        "P1" => Ok(Illuminance::lux(2000.0)),
        "P2" => Ok(Illuminance::lux(500.0)),
        _ => Err(Message::new(
            format!("no viewing condition is called `{name}`"),
            "use P1 (2000 lux, comparing) or P2 (500 lux, judging)",
        )),
    }
}

/// How many stops one light is brighter than another: log2(first ÷ second). Below zero it is darker.
///
/// Source: a stop is a factor of two (identity).
///
/// # Errors
/// When a light is zero or less.
pub fn stops(first: Illuminance, second: Illuminance) -> Result<Found, Message> {
    above_zero("light", first)?;
    above_zero("other light", second)?;
    Ok(Found::by((first / second).log2(), "log2({} ÷ {})", [first.into(), second.into()]))
}

/// A lamp over a print: how high it hangs, what it is aimed at, and the angle of its beam from the vertical.
///
/// The angle a lamp is aimed at is measured from the vertical, the angle light falls at from straight on the wall; both are
/// its parts, so that neither is taken for the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lamp {
    height: Length,
    centre: Length,
    aim: Angle,
}

impl Lamp {
    /// A lamp `height` above the floor, aimed at a print's middle, by this angle from the vertical.
    ///
    /// # Errors
    /// As [`lamp_offset`].
    pub fn new(height: Length, centre: Length, aim: Angle) -> Result<Self, Message> {
        lamp_offset(height, centre, aim)?;
        Ok(Self { height, centre, aim })
    }

    /// How far above the middle of the print it hangs.
    fn above(&self) -> Length {
        self.height - self.centre
    }

    /// How far from the wall it hangs.
    pub fn offset(&self) -> Length {
        self.above() * self.aim.to_radians().tan()
    }

    /// From the lamp to the middle of the print.
    pub fn distance(&self) -> Length {
        self.above() / self.aim.to_radians().cos()
    }

    /// The angle at which its light falls on the middle of the print, from straight on: 90° less the aim.
    pub fn falls(&self) -> Angle {
        Angle::degrees(90.0) - self.aim
    }
}

thing!(Lamp, "a lamp", |lamp| vec!["lamp ".into(), lamp.offset().into(), " from the wall, ".into(), lamp.distance().into(), " from the print".into()], {
    offset "How far from the wall it hangs." =>
        Found::by(lamp.offset(), "({} − {}) × tan({})", [lamp.height.into(), lamp.centre.into(), lamp.aim.into()]),
    distance "From the lamp to the middle of the print." =>
        Found::by(lamp.distance(), "({} − {}) ÷ cos({})", [lamp.height.into(), lamp.centre.into(), lamp.aim.into()]),
    aim "The angle it is aimed at, from the vertical." => Found::stated(lamp.aim),
    incidence "The angle its light falls at, from straight on the wall." => Found::by(lamp.falls(), "90° − {}", [lamp.aim.into()]),
});

/// Several like lamps in a row over a print, each straight before the wall, and how evenly they light it.
#[derive(Clone, Debug, PartialEq)]
pub struct Lamps {
    lamp: Lamp,
    size: (Length, Length),
    count: u32,
    least: f64,
    mean: f64,
    most: f64,
}

/// Points of the print that are looked at, across and down.
const GRID: (u32, u32) = (116, 39);

impl Lamps {
    /// So many lamps spread evenly over the print's width, each of this many candela; `beam` is the full angle at which half is
    /// left, none for a lamp that shines alike every way.
    ///
    /// E = I cos φ ÷ d² summed over the lamps, φ from the wall's normal; I = I₀ × 2^−(2θ ÷ beam)². Source: inverse-square law;
    /// beam model as in Interior Lighting for Designers (aim read, p. 239).
    ///
    /// # Errors
    /// When a size, the candela or the beam is zero or less, or the lamps are not 1 to 50.
    pub fn new(
        size: (Length, Length),
        lamp: Lamp,
        count: u32,
        candela: f64,
        beam: Option<Angle>,
    ) -> Result<Self, Message> {
        above_zero("width of the print", size.0)?;
        above_zero("height of the print", size.1)?;
        above_zero("number of candela", Quantity::plain(candela))?;
        if let Some(beam) = beam {
            above_zero("angle of the beam", beam)?;
        }
        if !(1..=50).contains(&count) {
            return Err(Message::new(format!("{count} lamps over one print"), "give 1 to 50 lamps"));
        }
        let (wide, high) = (size.0.to_m(), size.1.to_m());
        let (above, off) = (lamp.above().to_m(), lamp.offset().to_m());
        let at = |step: u32, of: u32, side: f64| (f64::from(step) / f64::from(of - 1) - 0.5) * side;
        let (mut sum, mut least, mut most) = (0.0, f64::INFINITY, 0.0_f64);
        for (x, y) in (0..GRID.0).flat_map(|x| (0..GRID.1).map(move |y| (x, y))) {
            let (x, y) = (at(x, GRID.0, wide), at(y, GRID.1, high));
            let lux: f64 = (0..count)
                .map(|one| {
                    let lamp_x = ((f64::from(one) + 0.5) / f64::from(count) - 0.5) * wide;
                    let (dx, dy) = (x - lamp_x, above - y);
                    let square = dx * dx + dy * dy + off * off;
                    // Between where it is aimed, straight down its own line to the middle, and this point.
                    let cos = (dy * above + off * off) / (square * (above * above + off * off)).sqrt();
                    let share = beam.map_or(1.0, |beam| {
                        (-(2.0 * cos.clamp(-1.0, 1.0).acos().to_degrees() / beam.to_degrees()).powi(2)).exp2()
                    });
                    candela * share * off / square.powf(1.5)
                })
                .sum();
            sum += lux;
            least = least.min(lux);
            most = most.max(lux);
        }
        let mean = sum / f64::from(GRID.0 * GRID.1);
        above_zero("least light on the print", Illuminance::lux(least))?;
        above_zero("most light on the print", Illuminance::lux(most))?;
        Ok(Self { lamp, size, count, least, mean, most })
    }

    /// From one lamp to the next.
    pub fn apart(&self) -> Length {
        self.size.0 / f64::from(self.count)
    }

    /// The fewest lamps of which no two hang farther apart than they hang from the wall.
    ///
    /// Source: Interior Lighting for Designers, p. 239 (read).
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a float cast stops at the ends of the range"
    )]
    pub fn least_count(&self) -> u32 {
        ((self.size.0 - Length::SLACK) / self.lamp.offset()).ceil().max(1.0) as u32
    }
}

thing!(Lamps, "a row of lamps", |row| vec![row.count.into(), " lamps ".into(), row.apart().into(), " apart, ".into(), row.lamp.offset().into(), " from the wall".into()], {
    apart "From one lamp to the next; the outer ones half as far from the edges of the print." => Found::by(row.apart(), "{} ÷ {}", [row.size.0.into(), row.count.into()]),
    offset "How far from the wall they hang." => Found::stated(row.lamp.offset()),
    least_count "The fewest lamps of which no two hang farther apart than from the wall." =>
        Found::by(row.least_count(), "{} ÷ {}, rounded up", [row.size.0.into(), row.lamp.offset().into()]),
    enough "Whether there are as many as that." => Found::stated(row.count >= row.least_count()),
    least "The least light on the print." => Found::stated(Illuminance::lux(row.least)),
    mean "The mean light on the print." => Found::stated(Illuminance::lux(row.mean)),
    most "The most light on the print." => Found::stated(Illuminance::lux(row.most)),
    least_over_mean "Evenness: the least light over the mean." => Found::by(row.least / row.mean, "{} ÷ {}", [
        Illuminance::lux(row.least).into(), Illuminance::lux(row.mean).into(),
    ]),
    least_over_most "Evenness: the least light over the most; 1 to 3 over flat work is asked for (from memory, no source read), and looking on found some unevenness preferred." =>
        Found::by(row.least / row.most, "{} ÷ {}", [Illuminance::lux(row.least).into(), Illuminance::lux(row.most).into()]),
});
