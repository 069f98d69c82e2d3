//! Colour and density: how far two patches are apart, and how dark a black is.

use super::above_zero;
use crate::measure::Quantity;
use crate::{Found, Message};

/// A colour in L\*a\*b\*: lightness, red against green, yellow against blue.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lab {
    lightness: f64,
    a: f64,
    b: f64,
}

// Source: CIE 15 (216/24389 and 24389/27 are the exact forms; from memory).
const EPSILON: f64 = 216.0 / 24_389.0;
const KAPPA: f64 = 24_389.0 / 27.0;

// Source: IEC 61966-2-1, linear sRGB to XYZ (from memory).
const SRGB_TO_XYZ: [[f64; 3]; 3] = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];

/// The white of sRGB, D65 of chromaticity 0.3127, 0.3290. Source: IEC 61966-2-1 (from memory).
const WHITE: [f64; 3] = [0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290];

impl Lab {
    /// A colour as an instrument gives it.
    ///
    /// # Errors
    /// When lightness is not from 0 to 100 or a or b not within ± 1000.
    pub fn new(lightness: f64, a: f64, b: f64) -> Result<Self, Message> {
        if (0.0..=100.0).contains(&lightness) && (-1000.0..=1000.0).contains(&a) && (-1000.0..=1000.0).contains(&b) {
            return Ok(Self { lightness, a, b });
        }
        Err(Message::new("these are no L*, a* and b* of a print", "give L* from 0 to 100, and a* and b* as measured"))
    }

    /// The colour of an sRGB pixel of 8 bits, seen under D65.
    ///
    /// Source: IEC 61966-2-1 (transfer and matrix), ISO/CIE 11664-4 (from memory).
    pub fn of_srgb(rgb: [u8; 3]) -> Self {
        let [x, y, z] = to_xyz(linear(rgb));
        let [white_x, white_y, white_z] = WHITE;
        let (fx, fy, fz) = (cube_root(x / white_x), cube_root(y / white_y), cube_root(z / white_z));
        Self { lightness: 116.0 * fy - 16.0, a: 500.0 * (fx - fy), b: 200.0 * (fy - fz) }
    }

    /// Lightness, a and b.
    pub fn numbers(self) -> [f64; 3] {
        [self.lightness, self.a, self.b]
    }

    /// The difference of 1976: the distance of the two points. Source: ISO/CIE 11664-4 (from memory).
    pub fn difference_76(self, other: Self) -> f64 {
        (self.lightness - other.lightness).hypot(self.a - other.a).hypot(self.b - other.b)
    }

    /// The difference of 2000, all weights 1. Source: CIE 142-2001, ISO/CIE 11664-6 (from memory; checked against the
    /// test data of Sharma, Wu and Dalal 2005).
    pub fn difference_2000(self, other: Self) -> f64 {
        let mean_chroma = f64::midpoint(self.a.hypot(self.b), other.a.hypot(other.b));
        let grey = 0.5 * (1.0 - seventh(mean_chroma));
        let (a1, a2) = (self.a * (1.0 + grey), other.a * (1.0 + grey));
        let (chroma1, chroma2) = (a1.hypot(self.b), a2.hypot(other.b));
        let (hue1, hue2) = (hue(a1, self.b), hue(a2, other.b));
        let coloured = chroma1 * chroma2 != 0.0;

        // A billionth of a degree of slack: opposite hues must count as just 180° apart however they are rounded.
        let apart = hue2 - hue1;
        let near = apart.abs() <= 180.0 + 1e-9;
        let turn = if !coloured {
            0.0
        } else if near {
            apart
        } else {
            apart - 360.0_f64.copysign(apart)
        };
        let mean_hue = if !coloured {
            hue1 + hue2
        } else if near {
            f64::midpoint(hue1, hue2)
        } else if hue1 + hue2 < 360.0 {
            f64::midpoint(hue1, hue2) + 180.0
        } else {
            f64::midpoint(hue1, hue2) - 180.0
        };
        let (d_light, d_chroma) = (other.lightness - self.lightness, chroma2 - chroma1);
        let d_hue = 2.0 * (chroma1 * chroma2).sqrt() * (turn / 2.0).to_radians().sin();
        let (light, chroma) = (f64::midpoint(self.lightness, other.lightness), f64::midpoint(chroma1, chroma2));

        let cos = |degrees: f64| degrees.to_radians().cos();
        let t = 1.0 - 0.17 * cos(mean_hue - 30.0) + 0.24 * cos(2.0 * mean_hue) + 0.32 * cos(3.0 * mean_hue + 6.0)
            - 0.20 * cos(4.0 * mean_hue - 63.0);
        let far = (light - 50.0).powi(2);
        let (s_light, s_chroma, s_hue) =
            (1.0 + 0.015 * far / (20.0 + far).sqrt(), 1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma * t);
        let rotation = 30.0 * (-((mean_hue - 275.0) / 25.0).powi(2)).exp();
        let cross = -2.0 * seventh(chroma) * (2.0 * rotation).to_radians().sin();
        let (l, c, h) = (d_light / s_light, d_chroma / s_chroma, d_hue / s_hue);
        (l * l + c * c + h * h + cross * c * h).max(0.0).sqrt()
    }
}

/// The light of an sRGB pixel of 8 bits, 0 to 1 each. Source: IEC 61966-2-1 (from memory).
pub fn linear(rgb: [u8; 3]) -> [f64; 3] {
    rgb.map(|value| {
        let value = f64::from(value) / 255.0;
        if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    })
}

/// X, Y and Z of linear sRGB. Source: IEC 61966-2-1 (from memory).
pub fn to_xyz(linear: [f64; 3]) -> [f64; 3] {
    SRGB_TO_XYZ.map(|row| row.iter().zip(linear).map(|(by, value)| by * value).sum::<f64>())
}

/// √(C⁷ ÷ (C⁷ + 25⁷))
fn seventh(chroma: f64) -> f64 {
    let power = chroma.powi(7);
    (power / (power + 25.0_f64.powi(7))).sqrt()
}

fn hue(a: f64, b: f64) -> f64 {
    if a == 0.0 && b == 0.0 { 0.0 } else { b.atan2(a).to_degrees().rem_euclid(360.0) }
}

fn cube_root(value: f64) -> f64 {
    if value > EPSILON { value.cbrt() } else { (KAPPA * value + 16.0) / 116.0 }
}

/// Lightness L\* of a reflectance. Source: ISO/CIE 11664-4 (from memory).
///
/// # Errors
/// When the reflectance is not from 0 to 1.
pub fn lightness(reflectance: f64) -> Result<Found, Message> {
    if !(0.0..=1.0).contains(&reflectance) {
        return Err(no_reflectance(reflectance));
    }
    Ok(Found::stated(116.0 * cube_root(reflectance) - 16.0))
}

/// Density of a reflectance: −log10 R. Source: ISO 5-1, ISO 5-4 (from memory).
///
/// # Errors
/// When the reflectance is not above 0 and at most 1.
pub fn density(reflectance: f64) -> Result<Found, Message> {
    above_zero("reflectance", Quantity::plain(reflectance))?;
    if reflectance > 1.0 {
        return Err(no_reflectance(reflectance));
    }
    Ok(Found::by(0.0 - reflectance.log10(), "−log10({})", [reflectance.into()]))
}

/// Reflectance of a density: 10 to the power of −D. Source: ISO 5-1 (from memory).
///
/// # Errors
/// When the density is not from 0 to 10.
pub fn reflectance(density: f64) -> Result<Found, Message> {
    if !(0.0..=10.0).contains(&density) {
        return Err(Message::new(
            format!("a density of {density} is not one of a print"),
            "give a density from 0 to 10, such as 2.3",
        ));
    }
    Ok(Found::by(10.0_f64.powf(-density), "10^−{}", [density.into()]))
}

fn no_reflectance(value: f64) -> Message {
    Message::new(format!("{value} is not a reflectance"), "give the share of light thrown back, from 0 to 1: `0.18`")
}

/// The chromaticity x, y of a daylight white seen by the 2° observer.
///
/// Source: CIE 15; D50 is also the light of ISO 3664 and D65 that of IEC 61966-2-1: (0.3457, 0.3585) and (0.3127, 0.3290),
/// four places (read in the documentation of a colour science library, which rounds the CIE's own 0.34567, 0.35851 and
/// 0.31272, 0.32903).
///
/// # Errors
/// When the white is neither D50 nor D65.
pub fn white_point(name: &str) -> Result<(f64, f64), Message> {
    match name.trim().to_uppercase().as_str() {
        "D50" => Ok((0.3457, 0.3585)),
        "D65" => Ok((0.3127, 0.3290)),
        _ => Err(Message::new(
            format!("no white is called `{name}` here"),
            "use D50, the light of the print, or D65, the white of sRGB",
        )),
    }
}

/// The difference allowed between a patch as measured and as wanted, by default. Source: common practice, no source.
pub const TOLERANCE: f64 = 2.0;

/// Patches of a proof, measured and wanted, compared by the difference of 2000.
#[derive(Clone, Debug, PartialEq)]
pub struct Patches {
    differences: Vec<f64>,
    tolerance: f64,
}

impl Patches {
    /// Compares each measured patch with the one wanted in its place.
    ///
    /// # Errors
    /// When there are none, not as many of one as of the other, or the tolerance is zero or less.
    pub fn new(measured: &[Lab], wanted: &[Lab], tolerance: f64) -> Result<Self, Message> {
        above_zero("tolerance", Quantity::plain(tolerance))?;
        if measured.is_empty() || measured.len() != wanted.len() {
            return Err(Message::new(
                format!("{} patches measured and {} wanted", measured.len(), wanted.len()),
                "list as many patches measured as wanted, in one order",
            ));
        }
        let differences = measured.iter().zip(wanted).map(|(a, b)| a.difference_2000(*b)).collect();
        Ok(Self { differences, tolerance })
    }

    /// The largest difference.
    pub fn worst(&self) -> f64 {
        self.differences.iter().copied().fold(0.0, f64::max)
    }

    /// The mean of the differences.
    #[expect(clippy::cast_precision_loss, reason = "a list of a plan has at most a thousand patches")]
    pub fn mean(&self) -> f64 {
        self.differences.iter().sum::<f64>() / self.differences.len() as f64
    }
}

thing!(Patches, "a comparison of patches", |all| vec![
    "mean ".into(), all.mean().into(), ", worst ".into(), all.worst().into(),
    if all.worst() <= all.tolerance { ", within ".into() } else { ", beyond ".into() }, all.tolerance.into(),
], {
    mean "The mean difference." => Found::stated(all.mean()),
    worst "The largest difference." => Found::stated(all.worst()),
    differences "The difference of each patch." => Found::stated(crate::Value::List(all.differences.iter().map(|one| (*one).into()).collect())),
    within "Whether no patch is further off than the tolerance." =>
        Found::by(all.worst() <= all.tolerance, "{} ≤ {}", [all.worst().into(), all.tolerance.into()]),
    tolerance "The difference allowed." => Found::stated(all.tolerance),
});
