//! Quantities in rule files: what a unit's name fixes, and the figures of a vehicle that limits may refer to.

use super::entries::{Check, Limit};
use crate::units::{Kind, Quantity, Unit, parse_quantity};

/// Figures of a vehicle that a limit may be `of`, with what they measure.
pub const VEHICLE_FIGURES: [(&str, Kind); 10] = [
    ("cap-rating", Kind::Pressure),
    ("thermostat-rating", Kind::Temperature),
    ("thermostat-full", Kind::Temperature),
    ("boiling-point", Kind::Temperature),
    ("water-boiling-point", Kind::Temperature),
    ("wanted-freeze-point", Kind::Temperature),
    ("sensor-at-20", Kind::Resistance),
    ("sensor-hot", Kind::Resistance),
    ("fan-current", Kind::Current),
    ("battery", Kind::Voltage),
];

/// The unit a rule file names, with the kind it fixes. `K` is a difference of temperatures; any other name means the
/// first kind that knows it.
pub fn unit_named(name: &str) -> Option<Unit> {
    if name == "K" {
        return Some(Unit::KELVINS);
    }
    Kind::ALL.into_iter().find_map(|kind| Unit::parse(name, kind).ok())
}

/// Kind of a tolerance or step on a scale of `kind`: on the temperature scale a difference.
pub fn step_kind(kind: Kind) -> Kind {
    if kind == Kind::Temperature { Kind::TemperatureDifference } else { kind }
}

/// A figure in base units, a bare number taken in the reading's own unit.
pub fn figure(text: &str, unit: Unit) -> Result<f64, String> {
    parse_quantity(text, unit.kind(), unit).map(Quantity::base).map_err(|error| error.to_string())
}

/// A tolerance or step in base units, a bare number taken in the reading's own unit.
pub fn step(text: &str, unit: Unit) -> Result<f64, String> {
    let kind = step_kind(unit.kind());
    if kind == Kind::SpecificGravity {
        // A specific gravity is 0.5 to 2; a step on its scale is a small part of that.
        let number = text.trim().trim_end_matches("SG").trim_end();
        return number.parse::<f64>().map_err(|_| format!("`{text}` is not a step of specific gravity"));
    }
    let default = if kind == unit.kind() { unit } else { kind.base_unit() };
    parse_quantity(text, kind, default).map(Quantity::base).map_err(|error| error.to_string())
}

/// Where a limit lies, in base units, on a vehicle that says nothing of itself; `None` if any figure of it cannot be
/// read, which is a fault of its own.
pub(super) fn limit_unknown_vehicle(limit: &Limit, unit: Unit) -> Option<f64> {
    let start = match (&limit.at, &limit.of) {
        (Some(text), None) => figure(text, unit).ok()?,
        (None, Some(_)) => return figure(limit.otherwise.as_ref()?, unit).ok(),
        _ => return None,
    };
    let by = |text: &Option<String>| text.as_deref().map_or(Some(0.0), |text| step(text, unit).ok());
    Some(start * limit.times.unwrap_or(1.0) + by(&limit.plus)? - by(&limit.less)?)
}

/// The unit of a check's reading, if it has one that is known.
pub(super) fn unit_of(check: &Check) -> Option<Unit> {
    unit_named(&check.reading.as_ref()?.unit)
}
