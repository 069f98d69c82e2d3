//! The functions a plan can call, one file a subject of the trade. Each translates and calls; none computes.

use super::args::Function;

/// Every function of the trade, in the order of the reference.
pub fn all() -> impl Iterator<Item = &'static Function> {
    [].into_iter()
}
