//! The scan of a film: how many pixels it has, and how many of them the scanner really sees.

use super::film::Film;
use super::{above_zero, on_film, pair};
use crate::measure::{Length, LinePairs, Pixels, Quantity, Resolution};
use crate::{Found, Message};

/// A film sampled so often to the inch.
#[derive(Clone, Debug, PartialEq)]
pub struct Scan {
    film: Film,
    resolution: Resolution,
    optical: Option<Resolution>,
}

impl Scan {
    /// A scan of all of `film` at `resolution`; `optical` is what the scanner's lens resolves, when it is known.
    ///
    /// Source: ISO 16067-2 measures the optical resolution from edges (from memory).
    ///
    /// # Errors
    /// When a resolution is zero or less, or so low that the scan has no pixels.
    pub fn new(film: &Film, resolution: Resolution, optical: Option<Resolution>) -> Result<Self, Message> {
        above_zero("resolution", resolution)?;
        if let Some(optical) = optical {
            above_zero("optical resolution", optical)?;
        }
        let scan = Self { film: film.clone(), resolution, optical };
        above_zero("width of the scan", scan.width())?;
        above_zero("height of the scan", scan.height())?;
        Ok(scan)
    }

    /// The film that was scanned.
    pub fn film(&self) -> &Film {
        &self.film
    }

    /// Samples to the inch.
    pub fn resolution(&self) -> Resolution {
        self.resolution
    }

    /// Pixels across: width of the film times the resolution, to the nearest whole pixel, half upwards.
    pub fn width(&self) -> Pixels {
        whole(self.film.width() * self.resolution)
    }

    /// Pixels from top to bottom, rounded as the width is.
    pub fn height(&self) -> Pixels {
        whole(self.film.height() * self.resolution)
    }

    /// Pixels across that the lens saw; as many as the scan has unless it made some up.
    pub fn seen(&self) -> Pixels {
        whole(self.film.width() * self.useful())
    }

    /// The resolution that counts: the smaller of the scan's and the lens's.
    pub fn useful(&self) -> Resolution {
        self.optical.map_or(self.resolution, |optical| optical.min(self.resolution))
    }

    /// Whether the scanner made up pixels that its lens did not see.
    pub fn interpolated(&self) -> bool {
        self.useful() < self.resolution
    }

    /// Millions of pixels.
    pub fn megapixels(&self) -> f64 {
        self.width().to_px() * self.height().to_px() / 1e6
    }

    /// The finest line pairs to the millimetre that the useful resolution can hold: two samples a pair.
    ///
    /// Source: sampling theorem; half the sampling frequency, as in ISO 16067-2 (clause from memory).
    pub fn nyquist(&self) -> LinePairs {
        LinePairs::lp_mm(self.useful().to_ppi() / (2.0 * 25.4))
    }
}

thing!(Scan, "a scan", |scan| vec![
    "scan at ".into(), scan.resolution.into(), ", ".into(), pair(scan.width(), scan.height()),
    if scan.interpolated() { ", interpolated".into() } else { "".into() },
], {
    pixels "Pixels across and down." => Found::by(pair(scan.width(), scan.height()), "{} × {}", [
        scan.film.size(), scan.resolution.into(),
    ]),
    width_px "Pixels across, to the nearest whole pixel." =>
        Found::by(scan.width(), "{} × {}", [on_film(scan.film.width()), scan.resolution.into()]),
    height_px "Pixels from top to bottom, to the nearest whole pixel." =>
        Found::by(scan.height(), "{} × {}", [on_film(scan.film.height()), scan.resolution.into()]),
    resolution "Samples to the inch of film." => Found::stated(scan.resolution),
    megapixels "Millions of pixels." =>
        Found::by(scan.megapixels(), "{} × {} ÷ 1 000 000", [scan.width().into(), scan.height().into()]),
    optical "The resolution that counts: the smaller of the scan's and the lens's." => Found::stated(scan.useful()),
    optical_pixels "Pixels across and down that the lens really sees." => Found::by(
        pair(whole(scan.film.width() * scan.useful()), whole(scan.film.height() * scan.useful())), "{} × {}",
        [scan.film.size(), scan.useful().into()],
    ),
    interpolated "Whether the scanner made up pixels that its lens did not see." => Found::stated(scan.interpolated()),
    nyquist "The finest line pairs to the millimetre that the useful resolution can hold." =>
        Found::by(scan.nyquist(), "{} ÷ 50.8", [scan.useful().into()]),
});

/// The most that so many bits can tell apart, as a density: log10(2^bits − 1).
///
/// A bound, not a measurement: ISO 21550 measures a scanner's own (from memory). Source: ISO 5-1, D = log10(1/T) (from
/// memory).
///
/// # Errors
/// When there are no bits or more than 32.
pub fn density_range(bits: u32) -> Result<Found, Message> {
    if !(1..=32).contains(&bits) {
        return Err(Message::new(
            format!("a sample of {bits} bits is not one a scanner gives"),
            "give 1 to 32 bits, such as 16",
        ));
    }
    let range = (f64::from(bits).exp2() - 1.0).log10();
    Ok(Found::by(range, "log10(2^{} − 1)", [bits.into()]))
}

/// The resolution at which a sharp eye just stops seeing pixels from that far: one pixel to a minute of arc.
///
/// Source: normal sight resolves one minute of arc, ISO 8596 (from memory).
///
/// # Errors
/// When the distance is zero or less.
pub fn ppi_for_distance(distance: Length) -> Result<Found, Message> {
    above_zero("viewing distance", distance)?;
    let ppi = Resolution::ppi(1.0 / (distance.to_inch() * minute_of_arc()));
    above_zero("resolution", ppi)?;
    Ok(Found::by(ppi, "1 px ÷ ({} × tan(1/60°))", [distance.into()]))
}

/// The distance from which a sharp eye no longer sees pixels of that size.
///
/// Source: as [`ppi_for_distance`].
///
/// # Errors
/// When the resolution is zero or less.
pub fn distance_for_ppi(ppi: Resolution) -> Result<Found, Message> {
    above_zero("resolution", ppi)?;
    let distance = Length::inch(1.0 / (ppi.to_ppi() * minute_of_arc()));
    above_zero("distance", distance)?;
    Ok(Found::by(distance, "1 px ÷ ({} × tan(1/60°))", [ppi.into()]))
}

/// The resolution a film must be scanned at for a print of that width to hold so many pixels to the inch: ppi × enlargement.
///
/// # Errors
/// When the width or the resolution is zero or less.
pub fn needed(film: &Film, width: Length, ppi: Resolution) -> Result<Found, Message> {
    above_zero("width of the print", width)?;
    above_zero("resolution", ppi)?;
    let enlargement = width / film.width();
    let needed = Resolution::ppi(ppi.to_ppi() * enlargement);
    above_zero("resolution of the scan", needed)?;
    Ok(Found::by(needed, "{} × {} ÷ {}", [ppi.into(), width.into(), on_film(film.width())]))
}

/// What a flatbed's lens really resolves, when no target says so. Source: common practice, no source (2000 to 2400 ppi).
pub const FLATBED: Resolution = Resolution::ppi(2400.0);

/// Whether a flatbed will do for a scan of that resolution or a drum is asked for: stated practice, no law.
///
/// # Errors
/// When a resolution is zero or less.
pub fn machine(needed: Resolution, flatbed: Resolution) -> Result<Found, Message> {
    above_zero("resolution", needed)?;
    above_zero("resolution of the flatbed", flatbed)?;
    let words = if needed <= flatbed { "a flatbed will do" } else { "a drum, or a smaller print" };
    Ok(Found::by(words, "{} against the flatbed's {}", [needed.into(), flatbed.into()]))
}

/// The finest line pairs to the millimetre that a resolution can hold: two samples a pair.
///
/// Source: sampling theorem; half the sampling frequency, as in ISO 16067-2 and ISO 12233 (clauses from memory).
///
/// # Errors
/// When the resolution is zero or less.
pub fn nyquist(resolution: Resolution) -> Result<Found, Message> {
    above_zero("resolution", resolution)?;
    Ok(Found::by(LinePairs::lp_mm(resolution.to_ppi() / 50.8), "{} ÷ 50.8", [resolution.into()]))
}

/// The fewest bits a sample needs to tell a density range apart: the least b with log10(2^b − 1) ≥ range.
///
/// Source: as [`density_range`].
///
/// # Errors
/// When the range is not above zero and within what 32 bits tell apart.
pub fn bits_for(range: f64) -> Result<Found, Message> {
    let bits = (1..=32_u32).find(|bits| (f64::from(*bits).exp2() - 1.0).log10() >= range - 1e-12);
    let bits = bits.filter(|_| range > 0.0).ok_or_else(|| {
        Message::new(
            format!(
                "a density range of {} is none a film has",
                Quantity::plain(range).shown(crate::measure::Units::Inch)
            ),
            "give a range above 0 and up to 9, such as 3.6",
        )
    })?;
    Ok(Found::by(bits, "least b with log10(2^b − 1) ≥ {}", [range.into()]))
}

fn minute_of_arc() -> f64 {
    (1.0_f64 / 60.0).to_radians().tan()
}

/// To the nearest whole pixel, half upwards.
pub(super) fn whole(pixels: Pixels) -> Pixels {
    Pixels::of(Quantity::new(pixels.to_px().round(), Pixels::DIMS)).unwrap_or(pixels)
}
