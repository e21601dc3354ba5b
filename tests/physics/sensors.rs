//! NTC sensors.

use proptest::prelude::*;
use weephole::physics::sensor::{Beta, Point, SteinhartHart, divider_volts};

use super::near;

fn point(celsius: f64, ohm: f64) -> Point {
    Point::new(celsius, ohm).unwrap()
}

/// facts.md section 2: one common family, 2.5 kohm at 20 °C (6 %) and 186 ohm at 100 °C (2 %) (maker manuals).
#[test]
fn the_common_two_point_check() {
    let line = Beta::through(point(20.0, 2500.0), point(100.0, 186.0)).unwrap();
    near("cold point", line.ohm(20.0).unwrap(), 2500.0, 1e-9);
    near("hot point", line.ohm(100.0).unwrap(), 186.0, 1e-9);
    // beta = ln(2500/186) / (1/293.15 - 1/373.15), worked by hand.
    near("beta", line.beta, 3552.6, 0.5);
    near("between", line.celsius(line.ohm(80.0).unwrap()).unwrap(), 80.0, 1e-9);
    // The family's tables print 2.0 to 2.2 % a degree near 80 °C and about 320 ohm there (trade figure, from memory).
    near("80 °C", line.ohm(80.0).unwrap(), 320.0, 32.0);
}

/// A published worked example of Steinhart and Hart's equation (calculator of a laboratory instrument maker, from
/// memory): 25 kohm at 5 °C, 10 kohm at 25 °C, 4 kohm at 45 °C.
#[test]
fn the_published_three_point_example() {
    let curve =
        SteinhartHart::through([point(5.0, 25_000.0), point(25.0, 10_000.0), point(45.0, 4_000.0)]).unwrap();
    near("a", curve.a, 2.108_508_173e-3, 1e-12);
    near("b", curve.b, 0.797_920_472_7e-4, 1e-13);
    near("c", curve.c, 6.535_076_315e-7, 1e-15);
}

#[test]
fn points_that_cannot_be_a_sensor_are_refused() {
    let rising = Beta::through(point(20.0, 186.0), point(100.0, 2500.0)).unwrap_err().to_string();
    assert!(rising.contains("must fall as the sensor warms"), "{rising}");
    let same = Beta::through(point(20.0, 2500.0), point(20.0, 186.0)).unwrap_err().to_string();
    assert!(same.contains("different temperatures"), "{same}");
    assert!(Point::new(20.0, 0.0).is_err());
    assert!(Point::new(20.0, -5.0).is_err());
    assert!(Point::new(f64::NAN, 100.0).is_err());
    let bent =
        SteinhartHart::through([point(0.0, 10_000.0), point(50.0, 9_900.0), point(100.0, 10.0)]).unwrap_err();
    assert!(bent.to_string().contains("no falling Steinhart-Hart curve"), "{bent}");
}

#[test]
fn a_divider_halves_between_equal_resistors() {
    near("half", divider_volts(2500.0, 2500.0, 5.0).unwrap(), 2.5, 1e-12);
    assert!(divider_volts(0.0, 2500.0, 5.0).is_err());
}

proptest! {
    #[test]
    fn beta_goes_there_and_back_and_falls(beta in 2500.0_f64..4800.0, r25 in 500.0_f64..50_000.0, celsius in -40.0_f64..150.0) {
        let at = |c: f64| r25 * (beta * (1.0 / (c + 273.15) - 1.0 / 298.15)).exp();
        let line = Beta::through(point(20.0, at(20.0)), point(100.0, at(100.0))).unwrap();
        prop_assert!((line.beta - beta).abs() < 1e-6);
        prop_assert!((line.celsius(line.ohm(celsius).unwrap()).unwrap() - celsius).abs() < 1e-8);
        prop_assert!(line.ohm(celsius).unwrap() > line.ohm(celsius + 1.0).unwrap());
    }

    #[test]
    fn three_points_of_a_beta_line_give_that_line(beta in 2500.0_f64..4800.0, r25 in 500.0_f64..50_000.0, celsius in -40.0_f64..150.0) {
        let at = |c: f64| r25 * (beta * (1.0 / (c + 273.15) - 1.0 / 298.15)).exp();
        let curve = SteinhartHart::through([point(0.0, at(0.0)), point(50.0, at(50.0)), point(100.0, at(100.0))]).unwrap();
        prop_assert!((curve.celsius(at(celsius)).unwrap() - celsius).abs() < 1e-5);
        prop_assert!((curve.ohm(celsius).unwrap() / at(celsius) - 1.0).abs() < 1e-6);
    }
}
