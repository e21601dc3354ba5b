//! How a number becomes soft evidence.
//!
//! A reading `x` of an instrument with standard deviation `s` leaves the true value normally distributed
//! about `x` (flat prior). The likelihood of an outcome is the share of that distribution inside the
//! outcome's limits: far from a limit it is as good as a plain answer, at the limit it is one half, and it
//! moves smoothly in between (Pearl 1988, virtual evidence).

use super::limits;
use crate::rulebook::entries::{Check, Limit, Reading, Vehicle};
use crate::units::{Kind, Quantity, Unit, parse_quantity};

pub use crate::rulebook::{step, step_kind, unit_named};

/// Likelihoods below this are none at all: the other outcomes are certain to nine digits.
const NEGLIGIBLE: f64 = 1e-9;

/// Reads what was typed for a reading, and refuses slips of the pen.
pub fn parse(reading: &Reading, text: &str) -> Result<Quantity, String> {
    let unit =
        unit_named(&reading.unit).ok_or_else(|| format!("the book's unit `{}` is unknown", reading.unit))?;
    let quantity = parse_quantity(text, unit.kind(), unit).map_err(|error| error.to_string())?;
    let bound = |text: &str| parse_quantity(text, unit.kind(), unit).map_err(|error| error.to_string());
    let (least, most) = (bound(&reading.least)?, bound(&reading.most)?);
    if quantity.base() < least.base() || quantity.base() > most.base() {
        return Err(format!(
            "`{}` cannot be right here; it lies between {} and {}. Read it again, and give its unit",
            text.trim(),
            reading.least,
            reading.most
        ));
    }
    Ok(quantity)
}

/// Standard deviation of a reading in base units: a figure with a unit, or a share of the reading itself.
fn deviation(reading: &Reading, unit: Unit, value: f64) -> Result<f64, String> {
    let text = reading.error.trim();
    let share = text.strip_suffix('%').filter(|_| unit.kind() != Kind::Ratio);
    let deviation = match share.map(|number| number.trim().parse::<f64>()) {
        Some(Ok(percent)) => (value * percent / 100.0).abs(),
        Some(Err(_)) => return Err(format!("the book's instrument error `{text}` is not a number")),
        None => step(text, unit)?,
    };
    Ok(deviation.max(1e-9))
}

/// A limit of a check on this vehicle, in base units.
pub fn resolve(limit: &Limit, unit: Unit, vehicle: &Vehicle) -> Result<f64, String> {
    let figure = |text: &str| {
        parse_quantity(text, unit.kind(), unit).map(Quantity::base).map_err(|error| error.to_string())
    };
    let start = match (&limit.at, &limit.of) {
        (Some(text), None) => figure(text)?,
        (None, Some(name)) => match limits::of_vehicle(vehicle, name)? {
            Some(quantity) if quantity.kind() == unit.kind() => quantity.base(),
            Some(quantity) => {
                return Err(format!(
                    "`{name}` is {}, but the reading is {}",
                    quantity.kind().described(),
                    unit.kind().described()
                ));
            }
            None => {
                let otherwise = limit.otherwise.as_ref();
                return figure(otherwise.ok_or_else(|| format!("this vehicle's `{name}` is not known"))?);
            }
        },
        _ => return Err("a limit takes either `at` or `of`".to_owned()),
    };
    let plus = limit.plus.as_deref().map_or(Ok(0.0), |text| step(text, unit))?;
    let less = limit.less.as_deref().map_or(Ok(0.0), |text| step(text, unit))?;
    Ok(start * limit.times.unwrap_or(1.0) + plus - less)
}

/// The limits between which a reading is each outcome, in base units, in the order of the outcomes.
pub fn bands(check: &Check, unit: Unit, vehicle: &Vehicle) -> Result<Vec<(f64, f64)>, String> {
    check
        .outcomes
        .values()
        .map(|outcome| {
            let limit = |limit: &Option<Limit>, none: f64| {
                limit.as_ref().map_or(Ok(none), |limit| resolve(limit, unit, vehicle))
            };
            if outcome.above.is_none() && outcome.below.is_none() {
                return Ok((f64::INFINITY, f64::INFINITY));
            }
            Ok((limit(&outcome.above, f64::NEG_INFINITY)?, limit(&outcome.below, f64::INFINITY)?))
        })
        .collect()
}

/// Likelihood of the normal result, then of each outcome in order, given a reading.
pub fn likelihoods(check: &Check, vehicle: &Vehicle, value: Quantity) -> Result<Vec<f64>, String> {
    let reading = check.reading.as_ref().ok_or("this check is not read as a number")?;
    let unit = unit_named(&reading.unit).ok_or_else(|| format!("unknown unit `{}`", reading.unit))?;
    let bands = bands(check, unit, vehicle)?;
    let deviation = deviation(reading, unit, value.base())?;
    let share = |low: f64, high: f64| {
        let share = normal_share((low - value.base()) / deviation, (high - value.base()) / deviation);
        if share < NEGLIGIBLE { 0.0 } else { share }
    };
    let mut sorted: Vec<(f64, f64)> = bands.iter().copied().filter(|&(low, high)| low < high).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut normal, mut from) = (0.0, f64::NEG_INFINITY);
    for &(low, high) in &sorted {
        if low > from {
            normal += share(from, low);
        }
        from = from.max(high);
    }
    if from < f64::INFINITY {
        normal += share(from, f64::INFINITY);
    }
    let mut all = vec![normal];
    all.extend(bands.iter().map(|&(low, high)| if low < high { share(low, high) } else { 0.0 }));
    Ok(all)
}

/// Share of the standard normal distribution between `low` and `high`, worked out on the side where its
/// digits are.
fn normal_share(low: f64, high: f64) -> f64 {
    let upper_tail = |x: f64| 0.5 * libm::erfc(x / std::f64::consts::SQRT_2);
    if low >= high {
        0.0
    } else if low > 0.0 {
        upper_tail(low) - upper_tail(high)
    } else {
        upper_tail(-high) - upper_tail(-low)
    }
}

#[cfg(test)]
mod tests {
    use super::normal_share;

    /// Standard normal table: 68.27 % within one, 95.45 % within two deviations; 2.275 % beyond two.
    #[test]
    fn shares_follow_the_normal_table() {
        assert!((normal_share(-1.0, 1.0) - 0.682_689_492_137).abs() < 1e-11);
        assert!((normal_share(-2.0, 2.0) - 0.954_499_736_104).abs() < 1e-11);
        assert!((normal_share(2.0, f64::INFINITY) - 0.022_750_131_948).abs() < 1e-11);
        assert!((normal_share(f64::NEG_INFINITY, 0.0) - 0.5).abs() < 1e-15);
    }
}
