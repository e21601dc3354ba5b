//! Why a computation was refused.

use crate::units::{Kind, Quantity, UnitSystem};

/// A computation refused: the number lies outside what the source covers, or no answer exists.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PhysicsError {
    /// A number outside the range of the formula. The range is shown in both systems of units.
    #[error("{what} of {} is outside the known range, {} to {}", show(*kind, *value), show(*kind, *low), show(*kind, *high))]
    OutOfRange {
        /// What the number is: `a freezing point`.
        what: &'static str,
        /// Its kind.
        kind: Kind,
        /// The number, in base units.
        value: f64,
        /// The least that is covered, in base units.
        low: f64,
        /// The greatest that is covered, in base units.
        high: f64,
    },
    /// The wish cannot be met, or the numbers contradict one another.
    #[error("{0}")]
    NoAnswer(String),
}

fn show(kind: Kind, value: f64) -> String {
    match Quantity::new(value, kind.base_unit()) {
        Ok(quantity) => quantity.display_both(UnitSystem::Metric),
        Err(_) => kind.base_unit().format(value),
    }
}

/// `value` if it lies in `low..=high`; NaN never does.
pub(super) fn within(
    what: &'static str,
    kind: Kind,
    value: f64,
    low: f64,
    high: f64,
) -> Result<f64, PhysicsError> {
    if value >= low && value <= high {
        Ok(value)
    } else {
        Err(PhysicsError::OutOfRange { what, kind, value, low, high })
    }
}

/// `value` if it is finite and above zero.
pub(super) fn positive(what: &'static str, kind: Kind, value: f64) -> Result<f64, PhysicsError> {
    let (_, high) = kind.limits();
    if value > 0.0 && value <= high {
        Ok(value)
    } else {
        Err(PhysicsError::NoAnswer(format!("{what} must be above zero, not {}", show(kind, value))))
    }
}
