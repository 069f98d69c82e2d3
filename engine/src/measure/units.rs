//! The two systems of units.

/// The units a plan is written in. Either is always one click away.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Units {
    /// Inches, pounds, square feet.
    #[default]
    Inch,
    /// Millimetres, kilograms, square metres.
    Metric,
}

impl Units {
    /// The word used in the head of a plan: `inch` or `metric`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Inch => "inch",
            Self::Metric => "metric",
        }
    }

    /// The other system.
    pub fn other(self) -> Self {
        match self {
            Self::Inch => Self::Metric,
            Self::Metric => Self::Inch,
        }
    }
}
