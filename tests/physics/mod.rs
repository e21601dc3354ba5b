//! Tests of: quantities as people type them, and the physics behind `reckon`.

mod belts;
mod boiling;
mod dilution;
mod mixtures;
mod quantities;
mod sensors;
mod torques;
mod water;

use serde_json::Value;

/// The frozen values that `coolprop_reference.py` writes (`CoolProp` 8.0.0).
fn reference() -> Value {
    serde_json::from_str(include_str!("coolprop_reference.json")).unwrap()
}

/// A list of numbers out of the reference.
fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

/// Fails with both figures when they differ by more than `tolerance`.
#[track_caller]
fn near(what: impl std::fmt::Display, found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() <= tolerance, "{what}: {found}, not {wanted} within {tolerance}");
}
