//! Drains, refills and blends.

use proptest::prelude::*;
use weephole::physics::dilution;

use super::near;

/// Common practice: a gallon of water, one of concentrate and one of half-and-half make three of half-and-half.
#[test]
fn one_gallon_of_each_makes_three_of_half_and_half() {
    let gallon = 3.785_411_784;
    let (litres, strength) = dilution::blend(&[(gallon, 0.0), (gallon, 1.0), (gallon, 0.5)]).unwrap();
    near("volume", litres, 3.0 * gallon, 1e-12);
    near("strength", strength, 0.5, 1e-12);
}

/// facts.md section 3: keeping the share r, r^n is left after n times.
#[test]
fn halving_three_times_leaves_an_eighth() {
    near("left", dilution::left_after(0.5, 3).unwrap(), 0.125, 1e-15);
    assert_eq!(dilution::drains_needed(0.5, 0.125), Ok(3));
    assert_eq!(dilution::drains_needed(0.5, 0.124), Ok(4));
    assert_eq!(dilution::drains_needed(0.4, 1.0), Ok(0));
    assert_eq!(dilution::drains_needed(0.0, 0.01), Ok(1));
    assert!(dilution::drains_needed(1.0, 0.5).is_err(), "draining nothing never thins anything");
    assert!(dilution::drains_needed(0.5, 0.0).is_err(), "nothing is ever wholly gone");
}

#[test]
fn replacing_part_of_a_weak_filling() {
    // 10 L at 30 %: to reach 50 % with concentrate, x of 10 L: 3 - 0.3 x + x = 5.
    near("litres", dilution::to_replace(10.0, 0.3, 0.5, 1.0).unwrap(), 20.0 / 7.0, 1e-12);
    near("strength", dilution::after_refill(0.3, 2.0 / 7.0, 1.0).unwrap(), 0.5, 1e-12);
    near("weaker with water", dilution::to_replace(10.0, 0.6, 0.5, 0.0).unwrap(), 10.0 / 6.0, 1e-12);
    near("nothing to do", dilution::to_replace(10.0, 0.5, 0.5, 0.5).unwrap(), 0.0, 0.0);
    let never = dilution::to_replace(10.0, 0.3, 0.6, 0.5).unwrap_err().to_string();
    assert_eq!(
        never,
        "60 % cannot be reached from 30 % by filling in 50 %: fill with something stronger than 60 %"
    );
    assert!(dilution::to_replace(0.0, 0.3, 0.5, 1.0).unwrap_err().to_string().contains("above zero"));
    assert!(dilution::to_replace(10.0, 0.3, 0.5, f64::NAN).is_err());
}

#[test]
fn filling_onto_what_stayed_in_the_block() {
    let (concentrate, water) = dilution::to_fill(9.5, 0.5, 3.0, 0.0).unwrap();
    near("concentrate", concentrate, 4.75, 1e-12);
    near("water", water, 1.75, 1e-12);
    let error = dilution::to_fill(9.5, 0.5, 6.0, 0.0).unwrap_err().to_string();
    assert!(error.contains("filling up with concentrate alone gives 37 %, not 50 %"), "{error}");
    let error = dilution::to_fill(10.0, 0.3, 6.0, 0.6).unwrap_err().to_string();
    assert!(error.contains("filling up with water alone gives 36 %, not 30 %"), "{error}");
    assert!(dilution::blend(&[]).is_err());
    assert!(dilution::blend(&[(-1.0, 0.5)]).is_err());
}

proptest! {
    #[test]
    fn drains_needed_is_the_first_that_is_enough(keep in 0.0_f64..0.95, wanted in 1e-6_f64..1.0) {
        let times = dilution::drains_needed(keep, wanted).unwrap();
        prop_assert!(dilution::left_after(keep, times).unwrap() <= wanted * (1.0 + 1e-9));
        prop_assert!(times == 0 || dilution::left_after(keep, times - 1).unwrap() > wanted);
    }

    #[test]
    fn to_replace_reaches_its_target(now in 0.0_f64..1.0, fill in 0.0_f64..1.0, part in 0.0_f64..1.0, capacity in 1.0_f64..60.0) {
        let target = now + part * (fill - now);
        let litres = dilution::to_replace(capacity, now, target, fill).unwrap();
        prop_assert!((0.0..=capacity * (1.0 + 1e-9)).contains(&litres));
        let reached = dilution::after_refill(now, (litres / capacity).min(1.0), fill).unwrap();
        prop_assert!((reached - target).abs() < 1e-9);
    }

    #[test]
    fn to_fill_holds_what_it_promises(target in 0.0_f64..1.0, left in 0.0_f64..0.5, strength in 0.0_f64..1.0) {
        if let Ok((concentrate, water)) = dilution::to_fill(10.0, target, 10.0 * left, strength) {
            let (litres, reached) = dilution::blend(&[(10.0 * left, strength), (concentrate, 1.0), (water, 0.0)]).unwrap();
            prop_assert!((litres - 10.0).abs() < 1e-8 && (reached - target).abs() < 1e-8);
        }
    }

    #[test]
    fn repeated_refills_follow_the_power_law(keep in 0.05_f64..0.95, now in 0.0_f64..1.0, times in 1_u32..8) {
        let mut strength = now;
        for _ in 0..times {
            strength = dilution::after_refill(strength, 1.0 - keep, 0.0).unwrap();
        }
        prop_assert!((strength - now * dilution::left_after(keep, times).unwrap()).abs() < 1e-12);
    }
}
