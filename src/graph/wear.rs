//! Wear: how age moves a failure's base, by a Weibull hazard.
//!
//! The hazard of a Weibull life with characteristic life L and shape k is `h(a) = (k/L)(a/L)^(k-1)`
//! (Weibull 1951). A base is a figure for the mixed fleet that comes in; that fleet's parts are taken to be
//! evenly spread over ages 0 to 1.5 L (judgement: few parts survive longer), so the fleet's mean hazard is
//! `(k/L) 1.5^(k-1) / k` and a known age scales the base by the ratio of the two. A quarter of failures is
//! taken to come at any age, from bad parts and poor fitting (judgement), so a new part is never beyond
//! suspicion. Chances are scaled as proportional hazards, `1 - (1 - p)^m`, which never leaves 0..1.

/// Oldest age of the fleet a base stands for, in characteristic lives.
const FLEET_SPAN: f64 = 1.5;

/// Share of failures that come at any age.
const AT_ANY_AGE: f64 = 0.25;

/// A known age never makes a failure likelier than this factor: beyond it the life itself is in doubt.
const MOST: f64 = 6.0;

/// How many times the fleet's usual hazard a part of a known `age` has. `age` and `life` share one count
/// (km, hours or years) and are positive; `shape` is 1 or more.
pub fn factor_at_age(age: f64, life: f64, shape: f64) -> f64 {
    let worn = shape * (age / (life * FLEET_SPAN)).powf(shape - 1.0);
    (AT_ANY_AGE + (1.0 - AT_ANY_AGE) * worn).min(MOST)
}

/// The same for a part of unknown age on a vehicle whose own age is known: averaged over ages from new up
/// to the vehicle's, never guessed.
pub fn factor_up_to(vehicle_age: f64, life: f64, shape: f64) -> f64 {
    let worn = (vehicle_age / (life * FLEET_SPAN)).min(1.0).powf(shape - 1.0);
    AT_ANY_AGE + (1.0 - AT_ANY_AGE) * worn
}

/// Chance that a part of this `age` fails within the next `span`, by the Weibull law: one minus the ratio of the
/// survivals at the two ages. All in one count (km, hours or years).
pub fn chance_within(age: f64, span: f64, life: f64, shape: f64) -> f64 {
    let cumulated = |at: f64| (at / life).powf(shape);
    1.0 - (cumulated(age) - cumulated(age + span)).exp()
}

/// The same for a part of unknown age on something that is itself `oldest` old: averaged over ages from new up to that,
/// each weighted by the chance that a part lives so long. What is in service now has survived; in a renewal process its
/// age has the density of the survivals (Cox 1962).
pub fn chance_within_up_to(oldest: f64, span: f64, life: f64, shape: f64) -> f64 {
    const STEPS: u32 = 400;
    // Beyond three characteristic lives nothing that ages is left.
    let top = oldest.min(3.0 * life);
    if top <= 0.0 {
        return chance_within(0.0, span, life, shape);
    }
    let at = |i: u32| top * (f64::from(i) + 0.5) / f64::from(STEPS);
    let survives = |age: f64| (-(age / life).powf(shape)).exp();
    let (fails, lives) = (0..STEPS).map(at).fold((0.0, 0.0), |(fails, lives), age| {
        (fails + survives(age) * chance_within(age, span, life, shape), lives + survives(age))
    });
    fails / lives
}

/// A chance scaled by `factor` as a proportional hazard.
pub fn scale_chance(chance: f64, factor: f64) -> f64 {
    1.0 - (1.0 - chance).powf(factor)
}

/// The factor in words: "about 3 times the usual".
pub fn in_words(factor: f64) -> String {
    if factor >= 1.75 {
        format!("about {factor:.0} times the usual")
    } else if factor >= 1.2 {
        "somewhat more than usual".to_owned()
    } else if factor > 0.8 {
        "about the usual".to_owned()
    } else if factor > 0.45 {
        "less than usual".to_owned()
    } else {
        "much less than usual".to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The mean of the factor over the fleet the base stands for is 1, or the base would change its meaning.
    #[test]
    fn the_factor_averages_to_one_over_the_fleet() {
        for shape in [1.5, 2.0, 3.0, 4.0] {
            let steps = 200_000;
            let mean: f64 = (0..steps)
                .map(|i| {
                    let age = FLEET_SPAN * (f64::from(i) + 0.5) / f64::from(steps);
                    factor_at_age(age, 1.0, shape)
                })
                .sum::<f64>()
                / f64::from(steps);
            assert!((mean - 1.0).abs() < 1e-3, "shape {shape}: {mean}");
        }
    }

    /// By hand: age 1, span 1, life 1, shape 2 gives 1 - exp(1 - 4).
    #[test]
    fn the_chance_to_fail_soon_is_a_ratio_of_survivals() {
        assert!((chance_within(1.0, 1.0, 1.0, 2.0) - (1.0 - (-3.0_f64).exp())).abs() < 1e-15);
        // Without ageing the past does not count: any age, and so any mean over ages, gives the same.
        let fresh = 1.0 - (-0.1_f64).exp();
        assert!((chance_within(7.0, 1.0, 10.0, 1.0) - fresh).abs() < 1e-12);
        assert!((chance_within_up_to(25.0, 1.0, 10.0, 1.0) - fresh).abs() < 1e-12);
        // In a renewal process the chance is the integral of the survivals over the span by the mean life: with shape 2
        // and life 1 the mean is sqrt(pi)/2, and the integral of exp(-x^2) from 0 to 0.1 is 0.0996676643.
        let mean = std::f64::consts::PI.sqrt() / 2.0;
        assert!((chance_within_up_to(9.0, 0.1, 1.0, 2.0) - 0.099_667_664_3 / mean).abs() < 1e-4);
    }

    #[test]
    fn no_ageing_leaves_the_base_alone() {
        assert!((factor_at_age(10.0, 100.0, 1.0) - 1.0).abs() < 1e-12);
        assert!((factor_up_to(10.0, 100.0, 1.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn an_old_part_is_likelier_to_fail_than_a_new_one() {
        assert!(factor_at_age(200_000.0, 170_000.0, 3.0) > 1.0);
        assert!(factor_at_age(20_000.0, 170_000.0, 3.0) < 0.3);
        assert!((scale_chance(0.05, 3.0) - (1.0 - 0.95_f64.powi(3))).abs() < 1e-15);
    }
}
