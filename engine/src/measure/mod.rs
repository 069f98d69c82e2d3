//! Numbers that know their unit, in the order a reader meets them.
//!
//! [`quantity`] holds the kinds of quantity with their units, [`show`] how they are written on a page,
//! [`money`] exact amounts in a currency, [`day`] civil dates and working days,
//! [`fraction`] the fractions of a tape measure, [`rounding`] steps to round to; `written` reads and writes them for later.

pub mod day;
pub(crate) mod digits;
mod fit;
pub mod fraction;
pub mod money;
pub mod quantity;
pub mod rounding;
pub mod show;
mod units;
mod written;

pub use day::{Calendar, Day};
pub use fraction::{Fraction, Sixteenths};
pub use money::{Currency, Money};
pub use quantity::{
    Angle, Area, Data, DataRate, Days, Density, Dims, Exposure, Grammage, Illuminance, Length, LinePairs,
    LinearDensity, Mass, Pixels, Quantity, Resolution, Time, Volume,
};
pub use units::Units;
