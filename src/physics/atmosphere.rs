//! The standard atmosphere, ISO 2533: lowest layer, -2,000 to 11,000 m.
//!
//! Weather moves the real pressure by about 3 % either way (1 °C of boiling point); altitude is taken as
//! geopotential, which differs from height over the sea by 0.05 % at 3,000 m.

use crate::units::Kind;

use super::PhysicsError;
use super::error::within;

/// Pressure at sea level, kPa.
pub const SEA_LEVEL_KPA: f64 = 101.325;
const SEA_LEVEL_KELVIN: f64 = 288.15;
const LAPSE_KELVIN_A_METRE: f64 = 0.0065;
/// Standard gravity over the lapse rate and the gas constant of air (287.05287 J/(kg·K)).
const EXPONENT: f64 = 9.806_65 / (LAPSE_KELVIN_A_METRE * 287.052_87);
const LOWEST: f64 = -2_000.0;
const HIGHEST: f64 = 11_000.0;

/// Air pressure at `metres` above sea level, kPa absolute.
pub fn pressure_kpa(metres: f64) -> Result<f64, PhysicsError> {
    let metres = within("an altitude", Kind::Altitude, metres, LOWEST, HIGHEST)?;
    Ok(SEA_LEVEL_KPA * (1.0 - LAPSE_KELVIN_A_METRE * metres / SEA_LEVEL_KELVIN).powf(EXPONENT))
}

/// Altitude in metres at which the standard air pressure is `kpa` absolute.
pub fn altitude_metres(kpa: f64) -> Result<f64, PhysicsError> {
    let (high, low) = (pressure_kpa(LOWEST)?, pressure_kpa(HIGHEST)?);
    let kpa = within("an air pressure", Kind::AbsolutePressure, kpa, low, high)?;
    Ok(SEA_LEVEL_KELVIN / LAPSE_KELVIN_A_METRE * (1.0 - (kpa / SEA_LEVEL_KPA).powf(1.0 / EXPONENT)))
}
