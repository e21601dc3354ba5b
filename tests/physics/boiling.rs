//! Boiling under caps, at altitudes, in mixes.

use proptest::prelude::*;
use weephole::physics::boiling;
use weephole::physics::mix::{Basis, Glycol, Mix};

use super::{near, numbers, reference};

const PSI: f64 = 6.894_757_293_168_361;

fn fifty() -> Mix {
    Mix::new(Glycol::Ethylene, Basis::Pure, 0.5).unwrap()
}

/// facts.md section 3: water at sea level plus gauge psi (IAPWS-IF97, computed).
#[test]
fn water_under_a_cap_at_sea_level() {
    for (psi, celsius) in
        [(0.0, 100.0), (7.0, 111.3), (13.0, 118.8), (15.0, 121.0), (16.0, 122.0), (18.0, 124.0)]
    {
        near(psi, boiling::boiling_under_cap(Mix::water(), psi * PSI, 0.0).unwrap(), celsius, 0.06);
    }
}

/// facts.md section 3: water open and under 15 psi at altitude (ISO 2533 and IF97, computed).
#[test]
fn water_at_altitude() {
    for (metres, open, capped) in
        [(0.0, 100.0, 121.0), (1000.0, 96.7, 119.1), (2000.0, 93.3, 117.4), (3000.0, 90.0, 115.8)]
    {
        near(metres, boiling::boiling_under_cap(Mix::water(), 0.0, metres).unwrap(), open, 0.06);
        near(metres, boiling::boiling_under_cap(Mix::water(), 15.0 * PSI, metres).unwrap(), capped, 0.06);
    }
}

/// facts.md section 3: 50 % by ideal solution 107.8 °C open and 129.7 °C at 15 psi (computed); the trade prints
/// 108 °C and 128 to 129.5 °C.
#[test]
fn half_and_half() {
    let (open, capped) = (
        boiling::boiling_under_cap(fifty(), 0.0, 0.0).unwrap(),
        boiling::boiling_under_cap(fifty(), 15.0 * PSI, 0.0).unwrap(),
    );
    near("computed, open", open, 107.8, 0.15);
    near("computed, 15 psi", capped, 129.7, 0.15);
    near("trade, open", open, 108.0, 2.0);
    near("trade, 15 psi", capped, 128.75, 2.0);
    let concentrate = Mix::new(Glycol::Ethylene, Basis::Concentrate, 0.5).unwrap();
    near("trade, by concentrate", boiling::boiling_under_cap(concentrate, 0.0, 0.0).unwrap(), 108.0, 2.0);
}

#[test]
fn boiling_agrees_with_a_second_implementation() {
    let reference = reference();
    for row in reference["water_boiling"].as_array().unwrap() {
        let [metres, psi, celsius] = numbers(row)[..] else { panic!("three numbers") };
        near(
            format!("{metres} m, {psi} psi"),
            boiling::boiling_under_cap(Mix::water(), psi * PSI, metres).unwrap(),
            celsius,
            2e-5,
        );
    }
    // Neat propylene glycol against an equation of state: the Antoine line is within 0.5 %.
    let neat = Mix::new(Glycol::Propylene, Basis::Pure, 1.0).unwrap();
    for row in reference["propylene_vapour_kpa"].as_array().unwrap() {
        let [celsius, kpa] = numbers(row)[..] else { panic!("two numbers") };
        near(celsius, boiling::vapour_kpa(neat, celsius).unwrap() / kpa, 1.0, 0.005);
    }
}

/// Ethylene glycol boils at 197.3 °C (CRC Handbook of Chemistry and Physics, from memory).
#[test]
fn neat_ethylene_glycol_boils_where_the_handbook_says() {
    let neat = Mix::new(Glycol::Ethylene, Basis::Pure, 1.0).unwrap();
    near("neat", boiling::boiling_celsius(neat, 101.325).unwrap(), 197.3, 1.0);
}

#[test]
fn margin_and_caps() {
    near("margin", boiling::margin_kelvin(Mix::water(), 0.0, 0.0, 90.0).unwrap(), 9.974, 0.01);
    // A cap must make up for the air that is missing: 101.3 - 79.5 kPa at 2,000 m.
    near("same boiling point at 2,000 m", boiling::equivalent_cap(100.0, 0.0, 2000.0).unwrap(), 121.83, 0.01);
    assert!(boiling::cap_for_boiling(Mix::water(), 95.0, 0.0).unwrap() < 0.0);
    let error = boiling::boiling_under_cap(Mix::water(), 500.0, 0.0).unwrap_err().to_string();
    assert!(error.contains("a cap pressure of 500 kPa (72.5 psi)"), "{error}");
    assert!(boiling::boiling_under_cap(Mix::water(), -5.0, 0.0).is_err());
    assert!(boiling::boiling_under_cap(Mix::water(), f64::NAN, 0.0).is_err());
    assert!(boiling::margin_kelvin(Mix::water(), 0.0, 0.0, 5000.0).is_err());
}

proptest! {
    #[test]
    fn a_wanted_boiling_point_leads_back_to_its_cap(share in 0.0_f64..0.6, cap in 0.0_f64..200.0, metres in 0.0_f64..5000.0) {
        let mix = Mix::new(Glycol::Ethylene, Basis::Pure, share).unwrap();
        let celsius = boiling::boiling_under_cap(mix, cap, metres).unwrap();
        prop_assert!((boiling::cap_for_boiling(mix, celsius, metres).unwrap() - cap).abs() < 1e-5);
    }

    #[test]
    fn strength_and_cap_raise_and_altitude_lowers_the_boiling_point(
        share in 0.0_f64..0.55, cap in 0.0_f64..190.0, metres in 0.0_f64..4900.0, step in 0.01_f64..1.0,
        ethylene in proptest::bool::ANY,
    ) {
        let glycol = if ethylene { Glycol::Ethylene } else { Glycol::Propylene };
        let at = |share: f64, cap: f64, metres: f64| {
            boiling::boiling_under_cap(Mix::new(glycol, Basis::Concentrate, share).unwrap(), cap, metres).unwrap()
        };
        let here = at(share, cap, metres);
        prop_assert!(at(share + 0.05 * step, cap, metres) > here);
        prop_assert!(at(share, cap + 10.0 * step, metres) > here);
        prop_assert!(at(share, cap, metres + 100.0 * step) < here);
    }

    #[test]
    fn an_equivalent_cap_boils_at_the_same_temperature(cap in 0.0_f64..150.0, metres in 0.0_f64..5000.0) {
        let there = boiling::equivalent_cap(cap, 0.0, metres).unwrap();
        let low = boiling::boiling_under_cap(fifty(), cap, 0.0).unwrap();
        let high = boiling::boiling_under_cap(fifty(), there, metres).unwrap();
        prop_assert!((low - high).abs() < 1e-9);
    }
}
