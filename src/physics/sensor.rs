//! NTC temperature sensors: resistance falls as they warm. The curve belongs to the sensor family, so it is always
//! drawn through given points (the vehicle file's, or the maker's).
//!
//! Two points give the beta line, `ln R = ln R1 + beta (1/T - 1/T1)`; three give Steinhart and Hart's
//! `1/T = a + b ln R + c (ln R)^3` (Deep-Sea Research 15, 1968), T in kelvin.

use crate::units::Kind;

use super::PhysicsError;
use super::error::within;

const ZERO: f64 = 273.15;

/// A point of a sensor's table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Temperature, °C.
    pub celsius: f64,
    /// Resistance, ohm.
    pub ohm: f64,
}

impl Point {
    /// A point within -60 to 300 °C and 0.01 ohm to 100 Mohm.
    pub fn new(celsius: f64, ohm: f64) -> Result<Point, PhysicsError> {
        Ok(Point { celsius: sensible_celsius(celsius)?, ohm: sensible_ohm(ohm)? })
    }
}

fn sensible_celsius(celsius: f64) -> Result<f64, PhysicsError> {
    within("a sensor temperature", Kind::Temperature, celsius, -60.0, 300.0)
}

fn sensible_ohm(ohm: f64) -> Result<f64, PhysicsError> {
    within("a sensor resistance", Kind::Resistance, ohm, 0.01, 1e8)
}

/// The two-point line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beta {
    /// Kelvin; 3,000 to 4,500 for most engine sensors.
    pub beta: f64,
    from: Point,
}

impl Beta {
    /// Through two points at different temperatures; the warmer one must have the lower resistance.
    pub fn through(first: Point, second: Point) -> Result<Beta, PhysicsError> {
        ordered(&[first, second])?;
        let inverse = 1.0 / (second.celsius + ZERO) - 1.0 / (first.celsius + ZERO);
        Ok(Beta { beta: (second.ohm / first.ohm).ln() / inverse, from: first })
    }

    /// Resistance in ohm at `celsius`, -60 to 300 °C.
    pub fn ohm(self, celsius: f64) -> Result<f64, PhysicsError> {
        let celsius = sensible_celsius(celsius)?;
        let inverse = 1.0 / (celsius + ZERO) - 1.0 / (self.from.celsius + ZERO);
        Ok(self.from.ohm * (self.beta * inverse).exp())
    }

    /// Temperature in °C at `ohm`. Refused where the line leaves -60 to 300 °C.
    pub fn celsius(self, ohm: f64) -> Result<f64, PhysicsError> {
        let ohm = sensible_ohm(ohm)?;
        let inverse = 1.0 / (self.from.celsius + ZERO) + (ohm / self.from.ohm).ln() / self.beta;
        sensible_celsius(1.0 / inverse - ZERO)
    }
}

/// The three-point curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteinhartHart {
    /// 1/K.
    pub a: f64,
    /// 1/K.
    pub b: f64,
    /// 1/K.
    pub c: f64,
}

impl SteinhartHart {
    /// Through three points at different temperatures, each warmer one with a lower resistance, from which a curve
    /// follows that falls everywhere.
    pub fn through(points: [Point; 3]) -> Result<SteinhartHart, PhysicsError> {
        ordered(&points)?;
        let l = points.map(|point| point.ohm.ln());
        let y = points.map(|point| 1.0 / (point.celsius + ZERO));
        let g2 = (y[1] - y[0]) / (l[1] - l[0]);
        let g3 = (y[2] - y[0]) / (l[2] - l[0]);
        let c = (g3 - g2) / (l[2] - l[1]) / (l[0] + l[1] + l[2]);
        let b = g2 - c * (l[0] * l[0] + l[0] * l[1] + l[1] * l[1]);
        let a = y[0] - (b + l[0] * l[0] * c) * l[0];
        // The slope b + 3 c L^2 must stay positive from 1 ohm to 100 Mohm, or two temperatures share a resistance.
        let widest = 1e8_f64.ln();
        let falls = b > 0.0 && b + 3.0 * c * widest * widest > 0.0;
        if [a, b, c].iter().all(|v| v.is_finite()) && falls {
            Ok(SteinhartHart { a, b, c })
        } else {
            Err(PhysicsError::NoAnswer(
                "no falling Steinhart-Hart curve goes through these three points: check them, or give only two"
                    .to_owned(),
            ))
        }
    }

    /// Temperature in °C at `ohm`. Refused where the curve leaves -60 to 300 °C.
    pub fn celsius(self, ohm: f64) -> Result<f64, PhysicsError> {
        let l = sensible_ohm(ohm)?.ln();
        sensible_celsius(1.0 / (self.a + self.b * l + self.c * l * l * l) - ZERO)
    }

    /// Resistance in ohm at `celsius`, -60 to 300 °C.
    pub fn ohm(self, celsius: f64) -> Result<f64, PhysicsError> {
        let wanted = 1.0 / (sensible_celsius(celsius)? + ZERO);
        let (mut low, mut high) = (0.01_f64.ln(), 1e8_f64.ln());
        let inverse = |l: f64| self.a + self.b * l + self.c * l * l * l;
        if inverse(low) > wanted || inverse(high) < wanted {
            return Err(PhysicsError::NoAnswer(format!("the curve gives no resistance for {celsius:.0} °C")));
        }
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if inverse(middle) < wanted { low = middle } else { high = middle }
        }
        Ok((0.5 * (low + high)).exp())
    }
}

/// Ohms between the sensor and what the control unit sees: the voltage at the middle of a pull-up of `pull_up_ohm`
/// fed with `supply` volts and the sensor to earth.
pub fn divider_volts(sensor_ohm: f64, pull_up_ohm: f64, supply: f64) -> Result<f64, PhysicsError> {
    let (sensor, pull_up) = (sensible_ohm(sensor_ohm)?, sensible_ohm(pull_up_ohm)?);
    within("a supply voltage", Kind::Voltage, supply, 0.1, 60.0)?;
    Ok(supply * sensor / (sensor + pull_up))
}

/// The warmer of any two points must have the lower resistance.
fn ordered(points: &[Point]) -> Result<(), PhysicsError> {
    for (i, first) in points.iter().enumerate() {
        for second in &points[i + 1..] {
            let warmer = second.celsius - first.celsius;
            if warmer.abs() < 0.1 {
                return Err(PhysicsError::NoAnswer(format!(
                    "two points lie at {:.1} °C: a curve needs different temperatures",
                    first.celsius
                )));
            }
            if (second.ohm < first.ohm) != (warmer > 0.0) || (second.ohm - first.ohm).abs() < f64::EPSILON {
                return Err(PhysicsError::NoAnswer(
                    "the resistance must fall as the sensor warms: check which figure belongs to which temperature"
                        .to_owned(),
                ));
            }
        }
    }
    Ok(())
}
