//! The cheapest set of repairs, against every set there is.

use std::convert::Infallible;

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use weephole::plan::choice::{Bill, RepairSet, cheapest, total};

/// Repairs that share steps, failures with a joint distribution written out in full.
struct Invented {
    steps: Vec<u64>,
    minutes: Vec<f64>,
    price: Vec<f64>,
    /// Failures each repair owns, and all it cures.
    own: Vec<u32>,
    cures: Vec<u32>,
    alone: Vec<f64>,
    due: Vec<f64>,
    /// Chance of every state of the failures.
    joint: Vec<f64>,
    comeback: f64,
    /// What ruins a new part, and which repair puts an end to it.
    root: Vec<Option<(f64, usize)>>,
}

impl Invented {
    fn new(random: &mut ChaCha8Rng, repairs: usize, failures: usize) -> Self {
        let steps: Vec<u64> =
            (0..repairs).map(|_| random.random::<u64>() & random.random::<u64>() & 0xfffff).collect();
        let minutes: Vec<f64> = (0..20).map(|_| random.random_range(1.0..40.0)).collect();
        let price: Vec<f64> = (0..repairs).map(|_| random.random_range(5.0..200.0)).collect();
        let own: Vec<u32> = (0..repairs).map(|at| 1 << (at % failures)).collect();
        let cures: Vec<u32> = own
            .iter()
            .map(|own| {
                own | (random.random::<u32>()
                    & random.random::<u32>()
                    & random.random::<u32>()
                    & ((1 << failures) - 1))
            })
            .collect();
        let mut joint: Vec<f64> =
            (0..1_usize << failures).map(|_| random.random_range(0.0..1.0_f64).powi(6)).collect();
        let sum: f64 = joint.iter().sum();
        for p in &mut joint {
            *p /= sum;
        }
        let alone = (0..repairs)
            .map(|at| {
                price[at] + (0..20).filter(|s| steps[at] >> s & 1 == 1).map(|s| minutes[s]).sum::<f64>()
            })
            .collect();
        let due = (0..repairs)
            .map(|_| if random.random_bool(0.4) { random.random_range(0.0..0.9) } else { 0.0 })
            .collect();
        let root = (0..repairs)
            .map(|_| {
                random
                    .random_bool(0.3)
                    .then(|| (random.random_range(0.0..0.6), random.random_range(0..repairs)))
            })
            .collect();
        let comeback = random.random_range(0.0..400.0);
        Self { steps, minutes, price, own, cures, alone, due, joint, comeback, root }
    }

    fn cured(&self, set: RepairSet) -> u32 {
        (0..self.own.len()).filter(|at| set >> at & 1 == 1).fold(0, |all, at| all | self.cures[at])
    }

    fn any(&self, failures: u32) -> f64 {
        self.joint
            .iter()
            .enumerate()
            .filter(|(state, _)| u32::try_from(*state).unwrap() & failures != 0)
            .map(|(_, p)| p)
            .sum()
    }
}

impl Bill for Invented {
    type Error = Infallible;

    fn len(&self) -> usize {
        self.own.len()
    }

    fn now(&self, set: RepairSet) -> f64 {
        let chosen = || (0..self.own.len()).filter(move |at| set >> at & 1 == 1);
        let steps = chosen().fold(0, |all, at| all | self.steps[at]);
        let minutes: f64 = (0..20).filter(|s| steps >> s & 1 == 1).map(|s| self.minutes[s]).sum();
        minutes + chosen().map(|at| self.price[at]).sum::<f64>()
    }

    fn later(&mut self, at: usize, set: RepairSet) -> Result<f64, Infallible> {
        let left = self.own[at] & !self.cured(set);
        if left == 0 {
            return Ok(0.0);
        }
        let chance = self.any(left);
        Ok((chance + (1.0 - chance) * self.due[at]) * self.alone[at])
    }

    fn missed(&mut self, set: RepairSet) -> Result<f64, Infallible> {
        let failures = u32::try_from(self.joint.len() - 1).unwrap();
        Ok(self.comeback * self.any(failures & !self.cured(set)))
    }

    fn again(&mut self, set: RepairSet, righted: RepairSet) -> Result<f64, Infallible> {
        let ruined = |at: usize| {
            self.root[at].filter(|(_, by)| righted >> by & 1 == 0).map_or(0.0, |(chance, _)| chance)
        };
        Ok((0..self.own.len())
            .filter(|at| set >> at & 1 == 1)
            .map(|at| ruined(at) * (self.alone[at] + self.comeback))
            .sum())
    }
}

fn by_enumeration(bill: &mut Invented, must: RepairSet) -> f64 {
    let Ok(least) = (0..1_u32 << bill.len())
        .filter(|set| set & must == must)
        .map(|set| total(bill, set))
        .try_fold(f64::INFINITY, |least, total| total.map(|total| least.min(total)));
    least
}

#[test]
fn no_set_of_up_to_ten_repairs_is_cheaper() {
    let mut random = ChaCha8Rng::seed_from_u64(66);
    let (mut mixed, mut looked_at, mut sets) = (0, 0, 0);
    for _ in 0..150 {
        let repairs = random.random_range(1..=10);
        let failures = random.random_range(1..=8);
        let mut bill = Invented::new(&mut random, repairs, failures);
        let must = random.random::<u32>() & random.random::<u32>() & ((1 << repairs) - 1);
        let Ok(best) = cheapest(&mut bill, must);
        assert_eq!(best.set & must, must);
        let least = by_enumeration(&mut bill, must);
        assert!((best.total - least).abs() < 1e-6, "found {} where {least} is least", best.total);
        mixed += usize::from(best.set != must && best.set != (1 << repairs) - 1);
        looked_at += best.looked_at;
        sets += 1 << repairs;
    }
    assert!(mixed > 50, "{mixed} of 150 best sets are neither the least nor all");
    assert!(looked_at < sets, "{looked_at} sets looked at of {sets}");
}

#[test]
fn no_set_of_sixteen_repairs_is_cheaper() {
    let mut random = ChaCha8Rng::seed_from_u64(616);
    let mut bill = Invented::new(&mut random, 16, 6);
    let Ok(best) = cheapest(&mut bill, 1);
    let least = by_enumeration(&mut bill, 1);
    assert!((best.total - least).abs() < 1e-6, "found {} where {least} is least", best.total);
}
