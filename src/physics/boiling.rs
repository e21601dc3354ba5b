//! Where coolant boils: the mix, the cap's gauge pressure and the altitude together.
//!
//! The mix is taken as an ideal solution (Raoult): the vapour pressures of water (IAPWS-IF97) and of the glycol,
//! each by its share of the molecules, add up to the absolute pressure over the liquid. Against the trade's
//! figures for 50 % (108 °C open, 128 to 129.5 °C under 15 psi) this is within 2 °C.

use crate::units::Kind;

use super::error::within;
use super::mix::{Glycol, Mix};
use super::{PhysicsError, atmosphere, water};

/// Greatest cap pressure taken for real, kPa gauge: twice that of any car.
pub const HIGHEST_CAP_KPA: f64 = 300.0;

/// Vapour pressure of the pure glycol, kPa, by Antoine lines: ethylene glycol as NIST prints it (from memory, 50 to
/// 200 °C); propylene glycol drawn through `CoolProp` 8.0.0's equation of state, 60 to 190 °C, within 0.5 %
/// (`tests/physics/coolprop_reference.py`). They carry less than 1 % of the pressure over a coolant.
fn glycol_kpa(glycol: Glycol, celsius: f64) -> f64 {
    let kelvin = celsius + 273.15;
    let (a, b, c) = match glycol {
        Glycol::Ethylene => (4.970_12, 1914.951, -84.996),
        Glycol::Propylene => (5.224_949, 2024.1869, -73.3196),
    };
    100.0 * 10_f64.powf(a - b / (kelvin + c))
}

/// Vapour pressure over the mix at `celsius` (0 to 200 °C), kPa absolute: it boils where this equals the pressure
/// over it.
pub fn vapour_kpa(mix: Mix, celsius: f64) -> Result<f64, PhysicsError> {
    within("a coolant temperature", Kind::Temperature, celsius, 0.0, 200.0)?;
    let glycol = mix.mole_share();
    Ok((1.0 - glycol) * water::saturation_kpa(celsius)? + glycol * glycol_kpa(mix.glycol(), celsius))
}

/// Boiling point of the mix under `kpa` absolute (5 to 500 kPa), °C. Meant for strengths up to 60 %; stronger
/// mixes are computed but no figure was found to check them with.
pub fn boiling_celsius(mix: Mix, kpa: f64) -> Result<f64, PhysicsError> {
    within("a pressure over the coolant", Kind::AbsolutePressure, kpa, 5.0, 500.0)?;
    let (mut low, mut high) = (0.0, 200.0);
    if vapour_kpa(mix, high)? < kpa {
        return Err(PhysicsError::NoAnswer(format!(
            "{:.0} % {} boils above 200 °C here: no coolant is that strong",
            100.0 * mix.share(),
            mix.basis().name()
        )));
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if vapour_kpa(mix, middle)? < kpa { low = middle } else { high = middle }
    }
    Ok(0.5 * (low + high))
}

/// Absolute pressure in a system whose cap has let it rise to `cap_kpa` gauge, at `metres` above sea level.
pub fn system_kpa(cap_kpa: f64, metres: f64) -> Result<f64, PhysicsError> {
    within("a cap pressure", Kind::Pressure, cap_kpa, 0.0, HIGHEST_CAP_KPA)?;
    Ok(cap_kpa + atmosphere::pressure_kpa(metres)?)
}

/// Boiling point of the mix under a cap of `cap_kpa` gauge (0 = open) at `metres` above sea level, °C.
pub fn boiling_under_cap(mix: Mix, cap_kpa: f64, metres: f64) -> Result<f64, PhysicsError> {
    boiling_celsius(mix, system_kpa(cap_kpa, metres)?)
}

/// Degrees between the coolant and its boiling point; negative when it boils.
pub fn margin_kelvin(mix: Mix, cap_kpa: f64, metres: f64, coolant_celsius: f64) -> Result<f64, PhysicsError> {
    within("a coolant temperature", Kind::Temperature, coolant_celsius, -60.0, 200.0)?;
    Ok(boiling_under_cap(mix, cap_kpa, metres)? - coolant_celsius)
}

/// Cap pressure, kPa gauge, with which the mix boils at `celsius` at `metres`. Zero or less: it boils there, or
/// later, with the cap off.
pub fn cap_for_boiling(mix: Mix, celsius: f64, metres: f64) -> Result<f64, PhysicsError> {
    Ok(vapour_kpa(mix, celsius)? - atmosphere::pressure_kpa(metres)?)
}

/// Cap pressure, kPa gauge, that gives at `there_metres` the boiling point that `cap_kpa` gives at `here_metres`.
pub fn equivalent_cap(cap_kpa: f64, here_metres: f64, there_metres: f64) -> Result<f64, PhysicsError> {
    Ok(system_kpa(cap_kpa, here_metres)? - atmosphere::pressure_kpa(there_metres)?)
}
