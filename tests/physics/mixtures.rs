//! Freezing points, densities and hydrometers against published rows.

use proptest::prelude::*;
use weephole::physics::mix::{Basis, Glycol, GravityScale, Mix};

use super::{near, numbers, reference};

fn pure(glycol: Glycol, percent: f64) -> Mix {
    Mix::new(glycol, Basis::Pure, percent / 100.0).unwrap()
}

fn concentrate(percent: f64) -> Mix {
    Mix::new(Glycol::Ethylene, Basis::Concentrate, percent / 100.0).unwrap()
}

/// facts.md section 3: pure ethylene glycol by volume, freezing point and SG 20/20 (`CoolProp` 8.0.0, Melinder 2010).
#[test]
fn pure_ethylene_glycol_rows() {
    for (percent, frost, gravity) in [
        (20.0, -9.0, 1.028),
        (25.0, -12.4, 1.036),
        (30.0, -16.5, 1.043),
        (33.0, -19.3, 1.048),
        (40.0, -26.7, 1.057),
        (45.0, -32.9, 1.064),
        (50.0, -39.8, 1.070),
        (55.0, -47.4, 1.076),
    ] {
        let mix = pure(Glycol::Ethylene, percent);
        near(percent, mix.freezing_celsius().unwrap(), frost, 0.06);
        near(percent, mix.gravity(20.0, GravityScale::Twenty).unwrap(), gravity, 0.000_6);
    }
}

/// facts.md section 3: makers' tables of ethylene-glycol concentrate by volume.
#[test]
fn concentrate_rows_of_makers_tables() {
    for (percent, frost) in [(40.0, -24.0), (50.0, -37.0), (60.0, -52.0)] {
        near(percent, concentrate(percent).freezing_celsius().unwrap(), frost, 0.05);
        let back = Mix::for_freezing(Glycol::Ethylene, Basis::Concentrate, frost).unwrap();
        near(frost, back.share(), percent / 100.0, 1e-4);
    }
    // The basis matters: the same number on the bottle and of the chemical are nearly 3 °C apart.
    let apart = concentrate(50.0).freezing_celsius().unwrap()
        - pure(Glycol::Ethylene, 50.0).freezing_celsius().unwrap();
    near("concentrate against pure", apart, 2.8, 0.2);
}

/// Lange's Handbook of Chemistry, 15th ed., table 5.13: propylene glycol by volume, freezing point and SG at 15.6 °C.
/// Melinder's tables, which the program uses, differ from Lange's by up to 0.9 °C and 0.005.
#[test]
fn propylene_glycol_rows_of_langes_handbook() {
    for (percent, frost, gravity) in
        [(20.0, -6.7, 1.017), (30.0, -12.8, 1.024), (40.0, -20.6, 1.032), (50.0, -33.3, 1.040)]
    {
        let mix = pure(Glycol::Propylene, percent);
        near(percent, mix.freezing_celsius().unwrap(), frost, 0.9);
        near(percent, mix.gravity(15.6, GravityScale::Sixty).unwrap(), gravity, 0.005);
    }
}

#[test]
fn mixtures_agree_with_coolprop_and_within_3_degrees_with_the_ashrae_handbook() {
    let mut worst = 0.0_f64;
    for row in reference()["mixtures"].as_array().unwrap() {
        let glycol = if row["glycol"] == "ethylene" { Glycol::Ethylene } else { Glycol::Propylene };
        let share = row["share"].as_f64().unwrap();
        let mix = Mix::new(glycol, Basis::Pure, share).unwrap();
        let what = format!("{} {share}", row["glycol"]);
        near(&what, mix.mass_share(), row["mass_share"].as_f64().unwrap(), 1e-9);
        let frost = mix.freezing_celsius().unwrap();
        // The reference holds eight digits.
        near(&what, frost, row["freezing"].as_f64().unwrap().min(0.0), 1e-6);
        for pair in row["density"].as_array().unwrap() {
            let [celsius, density] = numbers(pair)[..] else { panic!("two numbers") };
            near(format!("{what} at {celsius}"), mix.density(celsius).unwrap(), density, 1e-6);
        }
        if let Some(other) = row["handbook_freezing"].as_f64() {
            worst = worst.max((frost - other).abs());
            near(format!("{what}, ASHRAE"), frost, other, 3.1);
            // ASHRAE counts its volumes otherwise: densities differ by up to 0.6 %.
            near(
                format!("{what}, ASHRAE"),
                mix.density(20.0).unwrap(),
                row["handbook_density_20"].as_f64().unwrap(),
                6.0,
            );
        }
    }
    assert!(worst > 2.5, "the documented spread of sources is no longer there: {worst}");
}

#[test]
fn a_hydrometer_is_corrected_for_temperature() {
    // A 50 % mix reads 1.070 at 20 °C; hot, the same mix reads much lower and would be taken for a weaker one.
    let mix = pure(Glycol::Ethylene, 50.0);
    let hot = mix.gravity(60.0, GravityScale::Sixty).unwrap();
    let taken_cold = Mix::for_gravity(Glycol::Ethylene, Basis::Pure, hot, 20.0, GravityScale::Sixty).unwrap();
    assert!(taken_cold.share() < 0.37, "{taken_cold:?}");
    let corrected = Mix::for_gravity(Glycol::Ethylene, Basis::Pure, hot, 60.0, GravityScale::Sixty).unwrap();
    near("corrected", corrected.share(), 0.5, 1e-9);
}

#[test]
fn plain_water_reads_as_no_glycol() {
    for celsius in [5.0, 20.0, 60.0] {
        let reading = weephole::physics::water::density(celsius).unwrap() / 999.016;
        let mix =
            Mix::for_gravity(Glycol::Ethylene, Basis::Pure, reading, celsius, GravityScale::Sixty).unwrap();
        // Melinder's water is 0.9 kg/m³ too light: half a per cent of strength.
        near(celsius, mix.share(), 0.0, 0.008);
    }
}

#[test]
fn what_the_tables_do_not_hold_is_refused() {
    let strong = concentrate(75.0).freezing_celsius().unwrap_err().to_string();
    assert!(strong.contains("75 % concentrate is stronger than the tables go (60 %)"), "{strong}");
    assert!(strong.contains("protects less"), "{strong}");
    let cold = Mix::for_freezing(Glycol::Ethylene, Basis::Concentrate, -60.0).unwrap_err().to_string();
    assert!(cold.contains("-60 °C (-76 °F)") && cold.contains("-52 °C"), "{cold}");
    assert!(Mix::for_freezing(Glycol::Ethylene, Basis::Pure, 5.0).is_err());
    assert!(Mix::new(Glycol::Ethylene, Basis::Pure, 1.2).is_err());
    assert!(Mix::new(Glycol::Ethylene, Basis::Pure, f64::NAN).is_err());
    assert!(pure(Glycol::Ethylene, 30.0).density(-30.0).is_err(), "frozen");
    let heavy = Mix::for_gravity(Glycol::Ethylene, Basis::Pure, 1.2, 20.0, GravityScale::Twenty).unwrap_err();
    assert!(heavy.to_string().contains("a specific gravity of 1.2 is outside the known range"), "{heavy}");
}

fn any_mix() -> impl Strategy<Value = Mix> {
    (proptest::bool::ANY, proptest::bool::ANY, 0.0_f64..1.0).prop_map(|(ethylene, concentrate, part)| {
        let glycol = if ethylene { Glycol::Ethylene } else { Glycol::Propylene };
        let basis = if concentrate { Basis::Concentrate } else { Basis::Pure };
        Mix::new(glycol, basis, part * basis.highest(glycol)).unwrap()
    })
}

proptest! {
    #[test]
    fn freezing_points_lead_back_to_their_strength(mix in any_mix()) {
        let frost = mix.freezing_celsius().unwrap();
        let back = Mix::for_freezing(mix.glycol(), mix.basis(), frost).unwrap();
        prop_assert!((back.share() - mix.share()).abs() < 1e-3, "{mix:?} {frost} {back:?}");
        prop_assert!(back.freezing_celsius().unwrap() <= frost + 1e-9);
    }

    #[test]
    fn stronger_mixes_freeze_later(mix in any_mix(), part in 0.0_f64..1.0) {
        let weaker = Mix::new(mix.glycol(), mix.basis(), part * mix.share()).unwrap();
        prop_assert!(mix.freezing_celsius().unwrap() <= weaker.freezing_celsius().unwrap() + 1e-12);
        prop_assert!(mix.mass_share() >= weaker.mass_share() && mix.mole_share() >= weaker.mole_share());
    }

    #[test]
    fn hydrometers_lead_back_to_the_strength(mix in any_mix(), celsius in 1.0_f64..40.0, sixty in proptest::bool::ANY) {
        let scale = if sixty { GravityScale::Sixty } else { GravityScale::Twenty };
        let reading = mix.gravity(celsius, scale).unwrap();
        let back = Mix::for_gravity(mix.glycol(), mix.basis(), reading, celsius, scale).unwrap();
        // Propylene glycol hardly changes its density near its strongest mix.
        prop_assert!((back.gravity(celsius, scale).unwrap() - reading).abs() < 1e-9);
        if mix.glycol() == Glycol::Ethylene {
            prop_assert!((back.share() - mix.share()).abs() < 1e-9, "{mix:?} {back:?}");
        }
    }

    #[test]
    fn warm_coolant_is_lighter(mix in any_mix(), celsius in 5.0_f64..79.0, step in 0.01_f64..1.0) {
        prop_assert!(mix.density(celsius + step).unwrap() < mix.density(celsius).unwrap());
    }
}
