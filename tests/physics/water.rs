//! Water and air against the printed standards.

use proptest::prelude::*;
use weephole::physics::{atmosphere, water};

use super::{near, numbers, reference};

/// IAPWS R7-97(2012), table 35: saturation pressure in `MPa` at 300, 500 and 600 K (rows from memory).
#[test]
fn if97_table_35_saturation_pressure() {
    for (kelvin, mpa) in [(300.0, 0.353_658_941e-2), (500.0, 0.263_889_776e1), (600.0, 0.123_443_146e2)] {
        let found = water::saturation_kpa(kelvin - 273.15).unwrap() / 1000.0;
        // Nine printed digits.
        near(kelvin, found / mpa, 1.0, 2e-9);
    }
}

/// IAPWS R7-97(2012), table 36 (also facts.md section 3): saturation temperature in K at 0.1, 1 and 10 `MPa`.
#[test]
fn if97_table_36_saturation_temperature() {
    for (mpa, kelvin) in [(0.1, 372.755_919), (1.0, 453.035_632), (10.0, 584.149_488)] {
        near(mpa, water::saturation_celsius(1000.0 * mpa).unwrap() + 273.15, kelvin, 5e-7);
    }
}

#[test]
fn saturation_and_density_agree_with_a_second_implementation() {
    let reference = reference();
    for row in reference["saturation_kpa"].as_array().unwrap() {
        let [celsius, kpa] = numbers(row)[..] else { panic!("two numbers") };
        near(celsius, water::saturation_kpa(celsius).unwrap() / kpa, 1.0, 1e-8);
        near(kpa, water::saturation_celsius(kpa).unwrap(), celsius, 1e-6);
    }
    for row in reference["water_density"].as_array().unwrap() {
        let [celsius, density] = numbers(row)[..] else { panic!("two numbers") };
        near(celsius, water::density(celsius).unwrap(), density, 1e-5);
    }
}

/// ISO 2533:1975, table of pressure against geopotential altitude, Pa (rows from memory).
#[test]
fn iso_2533_pressure_rows() {
    for (metres, pascal, tolerance) in [
        (0.0, 101_325.0, 0.5),
        (500.0, 95_461.0, 1.0),
        (1000.0, 89_874.6, 0.5),
        (2000.0, 79_495.2, 0.5),
        (3000.0, 70_108.5, 0.5),
        (4000.0, 61_640.2, 0.5),
        (5000.0, 54_019.9, 0.5),
        (11_000.0, 22_632.0, 1.0),
    ] {
        near(metres, 1000.0 * atmosphere::pressure_kpa(metres).unwrap(), pascal, tolerance);
    }
}

#[test]
fn water_outside_the_formulation_is_refused_in_both_units() {
    let error = water::saturation_celsius(0.1).unwrap_err().to_string();
    assert!(error.contains("0.1 kPa abs") && error.contains("22064 kPa abs"), "{error}");
    let error = water::saturation_kpa(400.0).unwrap_err().to_string();
    assert!(error.contains("400 °C (752 °F)") && error.contains("373.9 °C"), "{error}");
    assert!(water::saturation_kpa(f64::NAN).is_err());
    assert!(atmosphere::pressure_kpa(12_000.0).is_err());
    assert!(atmosphere::altitude_metres(0.0).is_err());
}

proptest! {
    #[test]
    fn saturation_goes_there_and_back(celsius in 0.1_f64..373.0) {
        let back = water::saturation_celsius(water::saturation_kpa(celsius).unwrap()).unwrap();
        prop_assert!((back - celsius).abs() < 1e-6);
    }

    #[test]
    fn pressure_rises_with_temperature(celsius in 0.1_f64..372.0, step in 0.001_f64..1.0) {
        prop_assert!(water::saturation_kpa(celsius + step).unwrap() > water::saturation_kpa(celsius).unwrap());
    }

    #[test]
    fn altitude_goes_there_and_back(metres in -1999.0_f64..10_999.0) {
        let back = atmosphere::altitude_metres(atmosphere::pressure_kpa(metres).unwrap()).unwrap();
        prop_assert!((back - metres).abs() < 1e-6);
    }
}
