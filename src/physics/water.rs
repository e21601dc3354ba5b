//! Water: saturation and density, by IAPWS-IF97 (R7-97(2012), region 4 equations 30 and 31, region 1 equation 7).
//!
//! The formulation comes from the `seuif97` crate; tests/physics holds it to the check values printed in the
//! release itself (tables 35 and 36) and to a second implementation.

use crate::units::Kind;

use super::PhysicsError;
use super::error::within;

/// Lowest temperature of the formulation, °C.
pub const LOWEST_CELSIUS: f64 = 0.0;
/// Critical temperature of water, °C: above it nothing boils.
pub const CRITICAL_CELSIUS: f64 = 373.946;
/// Saturation pressure at 0 °C, kPa absolute (equation 30).
pub const LOWEST_KPA: f64 = 0.611_213;
/// Critical pressure of water, kPa absolute.
pub const CRITICAL_KPA: f64 = 22_064.0;

/// Pressure at which water boils at `celsius`, in kPa absolute. Range 0 to 373.946 °C.
pub fn saturation_kpa(celsius: f64) -> Result<f64, PhysicsError> {
    let celsius =
        within("a water temperature", Kind::Temperature, celsius, LOWEST_CELSIUS, CRITICAL_CELSIUS)?;
    Ok(1000.0 * seuif97::tx(celsius, 0.0, seuif97::OP))
}

/// Temperature at which water boils under `kpa` absolute, in °C. Range 0.611213 to 22,064 kPa.
pub fn saturation_celsius(kpa: f64) -> Result<f64, PhysicsError> {
    let kpa = within("a pressure over water", Kind::AbsolutePressure, kpa, LOWEST_KPA, CRITICAL_KPA)?;
    Ok(seuif97::px(kpa / 1000.0, 0.0, seuif97::OT))
}

/// Density of liquid water under one standard atmosphere, kg/m³. Range 0 to 99 °C.
pub fn density(celsius: f64) -> Result<f64, PhysicsError> {
    let celsius = within("a water temperature", Kind::Temperature, celsius, LOWEST_CELSIUS, 99.0)?;
    Ok(1.0 / seuif97::pt(0.101_325, celsius, seuif97::OV))
}
