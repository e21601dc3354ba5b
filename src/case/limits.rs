//! Figures of one vehicle that limits of readings may refer to: ratings stamped on parts, and what physics
//! makes of its cap, mix and altitude.

use crate::physics::boiling;
use crate::physics::mix::{Basis, Glycol, Mix};
use crate::rulebook::entries::Vehicle;
use crate::units::{Kind, Quantity, Unit, parse_quantity};

/// Names a limit may be `of`.
pub const NAMES: [&str; 10] = [
    "cap-rating",
    "thermostat-rating",
    "thermostat-full",
    "boiling-point",
    "water-boiling-point",
    "wanted-freeze-point",
    "sensor-at-20",
    "sensor-hot",
    "fan-current",
    "battery",
];

/// The figure called `name` on this vehicle; `None` if the vehicle file does not say enough. Errors name the
/// line of the vehicle file that cannot be read, or the names there are.
pub fn of_vehicle(vehicle: &Vehicle, name: &str) -> Result<Option<Quantity>, String> {
    let ratings = &vehicle.ratings;
    match name {
        "cap-rating" => figure(ratings.cap.as_ref(), "ratings.cap", Kind::Pressure, Unit::KPA),
        "thermostat-rating" => {
            figure(ratings.thermostat.as_ref(), "ratings.thermostat", Kind::Temperature, Unit::CELSIUS)
        }
        "thermostat-full" => figure(
            ratings.thermostat_full.as_ref(),
            "ratings.thermostat-full",
            Kind::Temperature,
            Unit::CELSIUS,
        ),
        "fan-current" => {
            figure(ratings.fan_current.as_ref(), "ratings.fan-current", Kind::Current, Unit::AMPERE)
        }
        "wanted-freeze-point" => {
            figure(vehicle.coldest.as_ref(), "coldest", Kind::Temperature, Unit::CELSIUS)
        }
        "boiling-point" => boils(vehicle, mix_of(vehicle)?),
        "water-boiling-point" => boils(vehicle, Some(Mix::water())),
        // Measured on the day, never stamped on the vehicle: the check's usual figure holds.
        "battery" => Ok(None),
        "sensor-at-20" => sensor(vehicle, 20.0),
        "sensor-hot" => sensor(vehicle, 100.0),
        _ => Err(format!(
            "there is no figure `{name}`; a limit may be of {}",
            NAMES.map(|n| format!("`{n}`")).join(", ")
        )),
    }
}

fn figure(text: Option<&String>, line: &str, kind: Kind, unit: Unit) -> Result<Option<Quantity>, String> {
    text.map(|text| {
        parse_quantity(text, kind, unit).map_err(|error| format!("the vehicle's `{line}`: {error}"))
    })
    .transpose()
}

/// The coolant of a vehicle, where the file says enough: kind and share of concentrate.
pub fn mix_of(vehicle: &Vehicle) -> Result<Option<Mix>, String> {
    let coolant = &vehicle.coolant;
    let glycol = match coolant.kind.as_deref() {
        Some("water") => return Ok(Some(Mix::water())),
        Some("propylene-glycol") => Glycol::Propylene,
        Some("ethylene-glycol") => Glycol::Ethylene,
        Some(other) => {
            return Err(format!(
                "the vehicle's `coolant.kind` is `{other}`; it takes `ethylene-glycol`, `propylene-glycol` or `water`"
            ));
        }
        None => return Ok(None),
    };
    let share = figure(coolant.mix.as_ref(), "coolant.mix", Kind::Ratio, Unit::PERCENT)?;
    let mix = share.map(|share| Mix::new(glycol, Basis::Concentrate, share.base()));
    mix.transpose().map_err(|error| format!("the vehicle's `coolant.mix`: {error}"))
}

/// Altitude of a vehicle in metres; sea level if unknown.
pub fn altitude_of(vehicle: &Vehicle) -> Result<f64, String> {
    let altitude = figure(vehicle.altitude.as_ref(), "altitude", Kind::Altitude, Unit::METRE_ALTITUDE)?;
    Ok(altitude.map_or(0.0, Quantity::base))
}

/// Where `mix` boils under this vehicle's cap, at its altitude.
fn boils(vehicle: &Vehicle, mix: Option<Mix>) -> Result<Option<Quantity>, String> {
    let cap = of_vehicle(vehicle, "cap-rating")?;
    let (Some(mix), Some(cap)) = (mix, cap) else { return Ok(None) };
    let celsius =
        boiling::boiling_under_cap(mix, cap.base(), altitude_of(vehicle)?).map_err(|e| e.to_string())?;
    Quantity::new(celsius, Unit::CELSIUS).map(Some).map_err(|error| error.to_string())
}

/// Resistance of the vehicle's temperature sensor at a temperature: a listed point, or between points on
/// the straight line of ln R over 1/T that an NTC follows (two-point beta equation).
fn sensor(vehicle: &Vehicle, celsius: f64) -> Result<Option<Quantity>, String> {
    let mut points = Vec::new();
    for point in &vehicle.sensor {
        let at = parse_quantity(&point.at, Kind::Temperature, Unit::CELSIUS);
        let ohms = parse_quantity(&point.ohms, Kind::Resistance, Unit::OHM);
        let at = at.map_err(|error| format!("the vehicle's `sensor.at`: {error}"))?;
        let ohms = ohms.map_err(|error| format!("the vehicle's `sensor.ohms`: {error}"))?;
        points.push((at.base(), ohms.base()));
    }
    points.sort_by(|a, b| (a.0 - celsius).abs().total_cmp(&(b.0 - celsius).abs()));
    let ohms = match points.as_slice() {
        [] => return Ok(None),
        [(at, ohms), ..] if (at - celsius).abs() < 0.5 => *ohms,
        [_] => return Ok(None),
        [(t1, r1), (t2, r2), ..] => {
            let inverse = |t: f64| 1.0 / (t + 273.15);
            let slope = (r1.ln() - r2.ln()) / (inverse(*t1) - inverse(*t2));
            (r1.ln() + slope * (inverse(celsius) - inverse(*t1))).exp()
        }
    };
    Quantity::new(ohms, Unit::OHM).map(Some).map_err(|error| error.to_string())
}
