//! What can be wrong with a typed quantity, said so that the next try succeeds.

use std::fmt;

use super::{Kind, Unit};

/// Text as somebody typed it, cleaned for the terminal: control characters gone, cut at 40 characters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Typed(String);

impl Typed {
    const LONGEST: usize = 40;

    /// Cleans `text`.
    pub fn new(text: &str) -> Typed {
        let mut clean: String =
            text.trim().chars().filter(|c| !c.is_control()).take(Self::LONGEST + 1).collect();
        if clean.chars().count() > Self::LONGEST {
            clean.pop();
            clean.push('…');
        }
        Typed(clean)
    }
}

impl fmt::Display for Typed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // A backtick would close the quotes that messages put around the text.
        f.write_str(&self.0.replace('`', "'"))
    }
}

/// Why a text or a number is not a quantity of the wanted kind.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// Nothing but blanks.
    #[error("nothing was typed: {} is wanted, such as {}", kind.described(), kind.examples())]
    Empty {
        /// The wanted kind.
        kind: Kind,
    },
    /// The text does not start with a number, or the number is malformed.
    #[error("`{text}` has no readable number: type {} as {}", kind.described(), kind.examples())]
    NotANumber {
        /// What was typed.
        text: Typed,
        /// The wanted kind.
        kind: Kind,
    },
    /// Two figures, a range or a tolerance.
    #[error("`{text}` holds more than one figure: type one, such as {}", kind.examples())]
    MoreThanOne {
        /// What was typed.
        text: Typed,
        /// The wanted kind.
        kind: Kind,
    },
    /// A number without a unit where none can be assumed.
    #[error("`{text}` has no unit: type {} as {}", kind.described(), kind.examples())]
    NoUnit {
        /// What was typed.
        text: Typed,
        /// The wanted kind.
        kind: Kind,
    },
    /// A unit nobody knows.
    #[error("`{unit}` is not a unit of {}: type it as {}", kind.described().trim_start_matches("a ").trim_start_matches("an "), kind.examples())]
    UnknownUnit {
        /// The unit as typed.
        unit: Typed,
        /// The wanted kind.
        kind: Kind,
    },
    /// A unit of another kind.
    #[error("`{text}` is {}, where {} is wanted: type it as {}", found.described(), kind.described(), kind.examples())]
    WrongKind {
        /// What was typed.
        text: Typed,
        /// The kind of its unit.
        found: Kind,
        /// The wanted kind.
        kind: Kind,
    },
    /// Gallons, quarts, pints or fluid ounces without saying whose.
    #[error(
        "`{text}` may be US or imperial measure: type `{number} {measure} (US)` or `{number} {measure} (imp)`"
    )]
    WhoseGallon {
        /// What was typed.
        text: Typed,
        /// The number in it, as read.
        number: Typed,
        /// `gal`, `qt`, `pt` or `fl oz`.
        measure: &'static str,
    },
    /// A bare number of one or less where both a fraction and a per cent make sense.
    #[error("`{text}` may be a fraction or a per cent: type `{text} %`, or `{percent} %` for the fraction")]
    FractionOrPercent {
        /// What was typed.
        text: Typed,
        /// The fraction as a per cent.
        percent: String,
    },
    /// A comma before three digits, where thousands and thousandths both make sense.
    #[error("the comma in `{text}` may mark thousands or decimals: type `{large}` or `{small}`")]
    UnclearComma {
        /// What was typed.
        text: Typed,
        /// Read as a thousands mark.
        large: String,
        /// Read as a decimal comma.
        small: String,
    },
    /// Finite, but impossible or absurd.
    #[error("{value} is outside what {} can be, {low} to {high}", kind.described())]
    OutOfRange {
        /// The value in the unit it came in.
        value: String,
        /// The wanted kind.
        kind: Kind,
        /// Lower limit in the same unit.
        low: String,
        /// Upper limit in the same unit.
        high: String,
    },
    /// NaN or infinite.
    #[error("{} must be a finite number", kind.described())]
    NotFinite {
        /// The wanted kind.
        kind: Kind,
    },
}

impl UnitError {
    pub(super) fn out_of_range(value: f64, unit: Unit) -> UnitError {
        let kind = unit.kind();
        let (low, high) = kind.limits();
        let (a, b) = (unit.of_base(low), unit.of_base(high));
        // Limits are shown to the hundredth: -273.15, not -273.1.
        let limit = |v: f64| {
            if unit == Unit::FRACTION {
                return unit.format(v);
            }
            let number = super::group_thousands(&((v * 100.0).round() / 100.0).to_string());
            if unit.symbol().is_empty() { number } else { format!("{number} {}", unit.symbol()) }
        };
        let value = unit.format(value);
        UnitError::OutOfRange { value, kind, low: limit(a), high: limit(b) }
    }
}
