//! Quantities, and what people type for them (`16 psi`, `190 F`, `9.5 L`).
//!
//! A [`Quantity`] is a number of a [`Kind`], held in the one base unit of that kind, so that quantities of a
//! kind compare without thinking of units. [`parse_quantity`] reads what people type and refuses what cannot
//! be meant; [`Quantity::display`] writes it in either [`UnitSystem`] with as many digits as make sense.

mod error;
mod kind;
mod number;
mod parse;
mod table;

use std::fmt;

pub use error::{Typed, UnitError};
pub use kind::{Kind, UnitSystem};
pub use parse::parse_quantity;
use table::Digits;
pub use table::Unit;

impl UnitSystem {
    /// The other system, for showing both.
    #[must_use]
    pub fn other(self) -> UnitSystem {
        match self {
            UnitSystem::Metric => UnitSystem::Imperial,
            UnitSystem::Imperial => UnitSystem::Metric,
        }
    }
}

impl Unit {
    /// The unit of `kind` spelt `name`, or an error that says what is allowed.
    pub fn parse(name: &str, kind: Kind) -> Result<Unit, UnitError> {
        parse::find_unit(kind, name).ok_or_else(|| {
            let unit = Typed::new(name);
            match Kind::ALL.into_iter().find(|other| parse::find_unit(*other, name).is_some()) {
                Some(found) => UnitError::WrongKind { text: unit, found, kind },
                None => UnitError::UnknownUnit { unit, kind },
            }
        })
    }

    /// What this unit measures.
    pub fn kind(self) -> Kind {
        self.0.kind
    }

    /// What is printed behind the number; empty for plain numbers.
    pub fn symbol(self) -> &'static str {
        self.0.symbol
    }

    /// What to call it where a bare number has no symbol: `°C`, `fraction`.
    pub fn name(self) -> &'static str {
        if self.0.symbol.is_empty() { self.0.names[0] } else { self.0.symbol }
    }

    /// From this unit to the base unit of its kind.
    pub fn to_base(self, value: f64) -> f64 {
        value * self.0.factor + self.0.offset
    }

    /// From the base unit of its kind to this unit.
    pub fn of_base(self, base: f64) -> f64 {
        (base - self.0.offset) / self.0.factor
    }

    /// `value`, given in this unit, as text with sensible digits but without the unit: `0.083`. Thousands are marked in
    /// distances, altitudes, times, speeds, concentrations and counts, from five digits on: `12,500`.
    pub fn number(self, value: f64) -> String {
        let digits = match self.0.digits {
            Digits::Fixed(digits) => digits,
            Digits::Significant(wanted) => behind_point(value, wanted),
        };
        let text = format!("{value:.digits$}");
        let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
        let text = if text == "-0" { "0" } else { text };
        if self.kind().counts_thousands() { group_thousands(text) } else { text.to_owned() }
    }

    /// `value`, given in this unit, as text with sensible digits and the unit: `121 °C`.
    pub fn format(self, value: f64) -> String {
        if self == Unit::FRACTION {
            return Unit::PERCENT.format(value * 100.0);
        }
        let number = self.number(value);
        if self.symbol().is_empty() { number } else { format!("{number} {}", self.symbol()) }
    }
}

/// Digits behind the point so that `wanted` digits carry meaning; at most nine.
fn behind_point(value: f64, wanted: usize) -> usize {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    let mut digits = wanted.saturating_sub(1);
    let mut size = value.abs();
    while size >= 10.0 && digits > 0 {
        size /= 10.0;
        digits -= 1;
    }
    while size < 1.0 && digits < 9 {
        size *= 10.0;
        digits += 1;
    }
    digits
}

/// Commas between thousands, from five digits on.
fn group_thousands(text: &str) -> String {
    let (sign, text) = text.strip_prefix('-').map_or(("", text), |rest| ("-", rest));
    let (whole, part) = text.split_once('.').map_or((text, ""), |(whole, part)| (whole, part));
    let mut grouped = String::from(sign);
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && whole.len() > 4 && (whole.len() - i) % 3 == 0 {
            grouped.push(',');
        }
        grouped.push(c);
    }
    if !part.is_empty() {
        grouped.push('.');
        grouped.push_str(part);
    }
    grouped
}

impl PartialEq for Unit {
    fn eq(&self, other: &Unit) -> bool {
        self.0.kind == other.0.kind && self.0.names[0] == other.0.names[0]
    }
}

impl Eq for Unit {}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Unit({} {})", self.0.kind.name(), self.0.names[0])
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0.symbol)
    }
}

/// A finite number of one kind, within the limits of that kind.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Quantity {
    kind: Kind,
    base: f64,
}

impl Quantity {
    /// `value` in `unit`. Refuses NaN, infinities and what lies outside [`Kind::limits`].
    pub fn new(value: f64, unit: Unit) -> Result<Quantity, UnitError> {
        let kind = unit.kind();
        let base = unit.to_base(value);
        if !value.is_finite() || !base.is_finite() {
            return Err(UnitError::NotFinite { kind });
        }
        let (low, high) = kind.limits();
        // Room for the rounding of one conversion, so that `-459.67 F` is still absolute zero.
        let slack = 1e-9 * low.abs().max(1.0);
        if base < low - slack || base > high * (1.0 + 1e-9) {
            return Err(UnitError::out_of_range(value, unit));
        }
        Ok(Quantity { kind, base: base.clamp(low, high) })
    }

    /// What is measured.
    pub fn kind(self) -> Kind {
        self.kind
    }

    /// The value in the base unit of its kind (see [`Kind`]).
    pub fn base(self) -> f64 {
        self.base
    }

    /// The value in `unit`, or `None` if the unit is of another kind.
    pub fn value_in(self, unit: Unit) -> Option<f64> {
        (unit.kind() == self.kind).then(|| unit.of_base(self.base))
    }

    /// The unit of `system` that suits the size of this value: ml below half a litre, kohm from 1,000 ohm.
    pub fn fitting_unit(self, system: UnitSystem) -> Unit {
        let size = self.base.abs();
        let small = |limit: f64, unit: Unit| if size > 0.0 && size < limit { Some(unit) } else { None };
        let imperial = system == UnitSystem::Imperial;
        let fitted = match self.kind {
            Kind::Volume if imperial => small(0.9, Unit::FLUID_OUNCE_US).or(small(3.7, Unit::QUART_US)),
            Kind::Volume => small(0.5, Unit::MILLILITRE),
            Kind::Torque if imperial => small(20.0, Unit::INCH_POUND),
            Kind::Time if size >= 120.0 => Some(Unit::HOUR),
            Kind::Time => small(2.0, Unit::SECOND),
            Kind::Age => small(1.0, Unit::MONTH_AGE),
            Kind::Resistance if size >= 1e6 => Some(Unit::MEGA_OHM),
            Kind::Resistance if size >= 1e3 => Some(Unit::KILO_OHM),
            Kind::Voltage => small(0.1, Unit::MILLIVOLT),
            Kind::Current => small(0.1, Unit::MILLIAMPERE),
            _ => None,
        };
        fitted.unwrap_or_else(|| self.kind.unit(system))
    }

    /// With sensible digits and unit: `121 °C`, `16 psi`.
    pub fn display(self, system: UnitSystem) -> String {
        let unit = self.fitting_unit(system);
        unit.format(unit.of_base(self.base))
    }

    /// In `system`, with the other system in brackets where it differs: `121 °C (250 °F)`.
    pub fn display_both(self, system: UnitSystem) -> String {
        let (first, second) = (self.display(system), self.display(system.other()));
        if first == second { first } else { format!("{first} ({second})") }
    }
}
