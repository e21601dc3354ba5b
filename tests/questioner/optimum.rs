//! How far from the true optimum the questioner's way of choosing is, on problems small enough to try
//! everything.

use std::collections::BTreeMap;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use super::small::{Policy, Problem};

/// Mean excess over the optimum, and the worst, in per cent, over seeded random problems.
fn excess(policy: Policy, problems: u64, failures: usize, checks: usize) -> (f64, f64) {
    let (mut ours, mut best, mut worst) = (0.0, 0.0, 0.0_f64);
    for seed in 0..problems {
        let problem = Problem::random(&mut ChaCha8Rng::seed_from_u64(seed), failures, checks);
        let cost = problem.cost_of(policy, &problem.start(), &mut BTreeMap::new());
        let optimum = problem.optimum(&problem.start(), &mut BTreeMap::new());
        assert!(cost > optimum - 1e-9, "seed {seed}: {policy:?} costs {cost}, below the optimum {optimum}");
        ours += cost;
        best += optimum;
        worst = worst.max(cost / optimum - 1.0);
    }
    (100.0 * (ours / best - 1.0), 100.0 * worst)
}

#[test]
#[ignore = "prints a table for docs/questioner.md"]
fn table() {
    for policy in Policy::ALL {
        let (mean, worst) = excess(policy, 200, 4, 4);
        eprintln!("{policy:?}: {mean:.2} % worst {worst:.1} %");
    }
}

/// The bar of the project is 1 %. Measured over 200 problems (see `table`): saving per cost with two steps
/// where none saves 0.60 %, two steps among the three best 0.51 %, bits 0.78 %, the list 3.1 %, no checks
/// 23 %. The questioner uses the first, which is nearly as good and needs no second look at every question.
#[test]
fn the_questioner_stays_within_one_per_cent_of_the_optimum() {
    let (mean, worst) = excess(Policy::SearchAtTheEnd, 60, 4, 4);
    assert!(mean < 1.0, "mean {mean:.2} %");
    assert!(worst < 10.0, "worst {worst:.1} %");
}

#[test]
fn asking_at_all_is_what_saves_most() {
    let (ours, _) = excess(Policy::SearchAtTheEnd, 30, 4, 3);
    let (none, _) = excess(Policy::None, 30, 4, 3);
    assert!(none > 10.0 * ours, "without checks {none:.1} %, with {ours:.1} %");
}
