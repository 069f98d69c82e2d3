//! Rounding a quantity to a step of its own kind: a length to the half inch, a weight to the pound.

use super::quantity::Quantity;

/// Which way a quantity is rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rounding {
    /// To the nearest step, a half away from zero.
    Nearest,
    /// To the step below.
    Down,
    /// To the step above.
    Up,
}

impl Quantity {
    /// The quantity as a whole number of steps; nothing when the step is of another kind, or zero or less.
    ///
    /// A billionth of a step is slack, so that 3 steps of 0.1 are 3 steps and not 4 when rounded up.
    ///
    /// Source: ISO 80000-1:2009 annex B, rule B for the nearest (from memory).
    pub fn rounded(self, way: Rounding, step: Self) -> Option<Self> {
        if self.dims != step.dims || !step.value.is_finite() || step.value <= 0.0 {
            return None;
        }
        let steps = self.value / step.value;
        let slack = 1e-9_f64.max(steps.abs() * 1e-12);
        let whole = match way {
            Rounding::Nearest => (steps + slack.copysign(steps)).round(),
            Rounding::Down => (steps + slack).floor(),
            Rounding::Up => (steps - slack).ceil(),
        };
        // Minus zero is zero.
        Some(Self { value: whole * step.value + 0.0, ..self })
    }

    /// The quantity as a whole number of steps, a half to the even one; nothing when the step is of another kind, or zero
    /// or less. What lies within a billionth of a half counts as one.
    ///
    /// Source: ISO 80000-1:2009 annex B, rule A (from memory).
    pub fn to_even(self, step: Self) -> Option<Self> {
        if self.dims != step.dims || !step.value.is_finite() || step.value <= 0.0 || !self.value.is_finite() {
            return None;
        }
        let steps = self.value / step.value;
        let half = (steps * 2.0).round() / 2.0;
        let steps = if (steps - half).abs() <= 1e-9_f64.max(steps.abs() * 1e-12) { half } else { steps };
        Some(Self { value: steps.round_ties_even() * step.value + 0.0, ..self }).filter(|one| one.value.is_finite())
    }
}
