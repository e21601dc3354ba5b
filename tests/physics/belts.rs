//! Belts and pulleys: geometry that can be checked by hand.

use std::f64::consts::PI;

use proptest::prelude::*;
use weephole::physics::belt;

use super::near;

#[test]
fn speeds_follow_the_diameters() {
    near("no slip", belt::driven_rpm(800.0, 160.0, 120.0, 0.0).unwrap(), 1_066.666_666_666_7, 1e-9);
    near("10 % slip", belt::driven_rpm(800.0, 160.0, 120.0, 0.1).unwrap(), 960.0, 1e-9);
    near("measured", belt::slip(800.0, 960.0, 160.0, 120.0).unwrap(), 0.1, 1e-12);
    let error = belt::slip(800.0, 1500.0, 160.0, 120.0).unwrap_err().to_string();
    assert!(error.contains("1500 rpm") && error.contains("1067 rpm"), "{error}");
    assert!(belt::driven_rpm(800.0, 0.0, 120.0, 0.0).unwrap_err().to_string().contains("above zero"));
    assert!(belt::driven_rpm(800.0, 160.0, 120.0, 1.5).is_err());
    assert!(belt::slip(0.0, 100.0, 160.0, 120.0).is_err());
    near("belt speed", belt::belt_metres_a_second(100.0, 6000.0).unwrap(), PI * 10.0, 1e-12);
}

#[test]
fn equal_pulleys_touch_half_the_belt_each() {
    let belt = belt::open_belt(100.0, 100.0, 300.0).unwrap();
    near("length", belt.length_mm, 600.0 + PI * 100.0, 1e-9);
    near("wrap", belt.first_wrap_degrees, 180.0, 1e-9);
    near("span", belt.span_mm, 300.0, 1e-9);
    assert!(belt::open_belt(100.0, 100.0, 100.0).unwrap_err().to_string().contains("touch"));
}

#[test]
fn misalignment_is_an_angle() {
    near("3 mm over 300 mm", belt::misalignment_degrees(3.0, 300.0).unwrap(), 0.572_938_7, 1e-6);
    assert!(belt::misalignment_degrees(3.0, 0.0).is_err());
}

proptest! {
    /// The usual approximation `2 C + pi (D + d) / 2 + (D - d)^2 / (4 C)` is close when the pulleys are far apart.
    #[test]
    fn length_is_near_the_usual_approximation(d1 in 60.0_f64..200.0, d2 in 60.0_f64..200.0, gap in 100.0_f64..500.0) {
        let centres = 0.5 * (d1 + d2) + gap;
        let belt = belt::open_belt(d1, d2, centres).unwrap();
        let usual = 2.0 * centres + PI * (d1 + d2) / 2.0 + (d1 - d2).powi(2) / (4.0 * centres);
        prop_assert!((belt.length_mm - usual).abs() < 1e-3 * usual);
        prop_assert!((belt.first_wrap_degrees + belt.second_wrap_degrees - 360.0).abs() < 1e-9);
        let swapped = belt::open_belt(d2, d1, centres).unwrap();
        prop_assert!((belt.length_mm - swapped.length_mm).abs() < 1e-9);
    }

    #[test]
    fn slip_goes_there_and_back(rpm in 500.0_f64..6000.0, d1 in 60.0_f64..200.0, d2 in 60.0_f64..200.0, slip in 0.0_f64..0.99) {
        let driven = belt::driven_rpm(rpm, d1, d2, slip).unwrap();
        prop_assert!((belt::slip(rpm, driven, d1, d2).unwrap() - slip).abs() < 1e-9);
    }
}
