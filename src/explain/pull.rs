//! Weight of evidence: how hard each answer pulls for or against a suspect, in decibans.
//!
//! I. J. Good (*Probability and the Weighing of Evidence*, 1950): the weight that `e` lends to `h` is
//! `10 log10 O(h | e) / O(h)`. Weights taken one after another, each given those before it, sum to the whole,
//! but each depends on the order. Four readings of the same answer are therefore given:
//!
//! - `alone`: it is the first answer;
//! - `in_order`: it comes where it came in the case; these sum to the whole;
//! - `last`: it comes after all the others;
//! - `fair`: its mean over every order in which the answers could have come (Shapley's value, 1953). It does
//!   not depend on the order, and it too sums to the whole. Over many answers the mean is taken over seeded
//!   orders, each with its reverse: the sum stays exact and `fair_error` says how well each part is known.

use std::collections::BTreeMap;

use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::inference::{Engine, Evidence, InferenceError, Network, NodeId, Posterior};

/// Odds are not told apart beyond this many decibans to either side of evens (one in 10^15).
pub const MOST: f64 = 150.0;

/// Most answers that are weighed one by one; a case has far fewer.
pub const MOST_ANSWERS: usize = 60;

/// The odds of a chance in decibans: 0 at one half, 10 at ten to one on. At most [`MOST`] to either side.
pub fn decibans(chance: f64) -> f64 {
    (10.0 * (chance / (1.0 - chance)).log10()).clamp(-MOST, MOST)
}

/// The chance that odds in decibans stand for.
pub fn chance_of(decibans: f64) -> f64 {
    let odds = 10.0_f64.powf(decibans / 10.0);
    odds / (1.0 + odds)
}

/// All evidence of `b` added to `a`.
pub fn merged(a: Evidence, b: &Evidence) -> Evidence {
    let both = b.pairs().fold(a, |all, (node, (absent, present))| all.likelihood(node, absent, present));
    b.tables().iter().fold(both, |all, table| all.table(&table.nodes, table.likelihoods.clone()))
}

/// How one answer pulls on one suspect, in decibans: positive is for, negative against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// As the first answer.
    pub alone: f64,
    /// Where it came in the case.
    pub in_order: f64,
    /// After all the others.
    pub last: f64,
    /// Mean over all orders: the order-free weight.
    pub fair: f64,
    /// Standard error of `fair`; 0 when every order was counted.
    pub fair_error: f64,
}

/// Two answers that matter together for one suspect.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interplay {
    /// The first answer of the pair, by its place.
    pub first: usize,
    /// The second.
    pub second: usize,
    /// Weight of the first among all answers but the second, in decibans.
    pub first_without: f64,
    /// Weight of the first among all answers.
    pub first_with: f64,
    /// Weight of the second among all answers but the first.
    pub second_without: f64,
    /// Weight of the second among all answers.
    pub second_with: f64,
}

impl Interplay {
    /// How much more (positive) or less (negative) the two say together than apart, in decibans.
    pub fn together(&self) -> f64 {
        self.first_with - self.first_without
    }
}

/// Every answer's pull on every suspect.
#[derive(Debug, Clone, PartialEq)]
pub struct Pulls {
    /// The odds of each target before the first answer, in decibans.
    pub start: Vec<f64>,
    /// The odds of each target after all answers, in decibans.
    pub end: Vec<f64>,
    /// `pulls[target][answer]`.
    pub pulls: Vec<Vec<Pull>>,
    /// Orders over which `fair` was averaged; `None` when all of them were counted.
    pub orders: Option<usize>,
    /// `ln P(answers)` given the record, and `ln P(answer)` for each answer alone: what the fit is judged by.
    pub log_all: f64,
    /// See `log_all`.
    pub log_alone: Vec<f64>,
}

/// Rankings of subsets of the answers, each worked out once.
#[derive(Debug)]
pub struct Subsets<'a> {
    engine: &'a Engine,
    network: &'a Network,
    record: &'a Evidence,
    answers: &'a [Evidence],
    targets: &'a [NodeId],
    known: BTreeMap<u64, (f64, Vec<f64>)>,
}

impl<'a> Subsets<'a> {
    /// Rankings of `targets` under `record` (what is known before the first answer) and any of `answers`.
    pub fn new(
        engine: &'a Engine,
        network: &'a Network,
        record: &'a Evidence,
        answers: &'a [Evidence],
        targets: &'a [NodeId],
    ) -> Self {
        let answers = &answers[..answers.len().min(MOST_ANSWERS)];
        Self { engine, network, record, answers, targets, known: BTreeMap::new() }
    }

    /// How many answers there are.
    pub fn len(&self) -> usize {
        self.answers.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.answers.is_empty()
    }

    /// The set of all answers.
    pub fn all(&self) -> u64 {
        (1 << self.answers.len()) - 1
    }

    /// The ranking under one set of answers (bit `i` for answer `i`), with everything the engine says.
    pub fn posterior(&self, set: u64) -> Result<Posterior, InferenceError> {
        let evidence = self
            .answers
            .iter()
            .enumerate()
            .filter(|(at, _)| set >> at & 1 == 1)
            .fold(self.record.clone(), |all, (_, answer)| merged(all, answer));
        self.engine.posterior(self.network, &evidence, self.targets)
    }

    /// `ln P` of one set of answers, and the odds of each target under it in decibans.
    pub fn odds(&mut self, set: u64) -> Result<(f64, &[f64]), InferenceError> {
        if !self.known.contains_key(&set) {
            let found = self.posterior(set)?;
            let odds = found.marginals.iter().map(|&chance| decibans(chance)).collect();
            self.known.insert(set, (found.log_evidence, odds));
        }
        let (log, odds) = &self.known[&set];
        Ok((*log, odds))
    }

    fn weight(&mut self, answer: usize, others: u64) -> Result<Vec<f64>, InferenceError> {
        let without = self.odds(others)?.1.to_vec();
        let with = self.odds(others | 1 << answer)?.1;
        Ok(with.iter().zip(&without).map(|(with, without)| with - without).collect())
    }

    /// Weighs every answer for every target. About `budget` rankings are spent on the order-free weights: all orders
    /// are counted when that takes no more, otherwise seeded orders are drawn.
    pub fn pulls(&mut self, budget: usize, seed: u64) -> Result<Pulls, InferenceError> {
        let (count, all) = (self.len(), self.all());
        let targets = self.targets.len();
        let log_record = self.odds(0)?.0;
        let start = self.odds(0)?.1.to_vec();
        let log_all = self.odds(all)?.0 - log_record;
        let end = self.odds(all)?.1.to_vec();
        let zero = Pull { alone: 0.0, in_order: 0.0, last: 0.0, fair: 0.0, fair_error: 0.0 };
        let mut pulls = vec![vec![zero; count]; targets];
        let mut log_alone = Vec::with_capacity(count);
        let mut before = 0;
        for answer in 0..count {
            log_alone.push(self.odds(1 << answer)?.0 - log_record);
            let alone = self.weight(answer, 0)?;
            let in_order = self.weight(answer, before)?;
            let last = self.weight(answer, all & !(1 << answer))?;
            before |= 1 << answer;
            for target in 0..targets {
                let pull = &mut pulls[target][answer];
                (pull.alone, pull.in_order, pull.last) = (alone[target], in_order[target], last[target]);
            }
        }
        let every_order = count < 16 && 1_usize << count <= budget;
        let orders = if every_order {
            self.count_all_orders(&mut pulls)?;
            None
        } else {
            Some(self.draw_orders(&mut pulls, budget, seed)?)
        };
        Ok(Pulls { start, end, pulls, orders, log_all, log_alone })
    }

    /// Shapley's value by its formula: a set of `k` others comes first in `k! (n - k - 1)! / n!` of the orders.
    fn count_all_orders(&mut self, pulls: &mut [Vec<Pull>]) -> Result<(), InferenceError> {
        let count = self.len();
        // Shares by the size of the set: 1 / (n * C(n - 1, k)), built up without factorials.
        let mut shares = vec![1.0 / count as f64; count.max(1)];
        for size in 1..count {
            shares[size] = shares[size - 1] * size as f64 / (count - size) as f64;
        }
        for answer in 0..count {
            for set in (0..=self.all()).filter(|set| set >> answer & 1 == 0) {
                let weight = self.weight(answer, set)?;
                for (pull, weight) in pulls.iter_mut().zip(weight) {
                    pull[answer].fair += shares[set.count_ones() as usize] * weight;
                }
            }
        }
        Ok(())
    }

    /// The mean over seeded orders and their reverses; returns how many.
    fn draw_orders(
        &mut self,
        pulls: &mut [Vec<Pull>],
        budget: usize,
        seed: u64,
    ) -> Result<usize, InferenceError> {
        let count = self.len();
        let pairs = (budget / (2 * count.max(1))).max(2);
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut order: Vec<usize> = (0..count).collect();
        let mut squares = vec![vec![0.0; count]; pulls.len()];
        for pair in 0..pairs {
            if pair > 0 {
                order.shuffle(&mut random);
            }
            let mut means = vec![vec![0.0; count]; pulls.len()];
            for reverse in [false, true] {
                let mut before = 0;
                for step in 0..count {
                    let answer = order[if reverse { count - 1 - step } else { step }];
                    for (mean, weight) in means.iter_mut().zip(self.weight(answer, before)?) {
                        mean[answer] += weight / 2.0;
                    }
                    before |= 1 << answer;
                }
            }
            for ((target, mean), square) in pulls.iter_mut().zip(&means).zip(&mut squares) {
                for answer in 0..count {
                    target[answer].fair += mean[answer] / pairs as f64;
                    square[answer] += mean[answer] * mean[answer] / pairs as f64;
                }
            }
        }
        for (target, square) in pulls.iter_mut().zip(&squares) {
            for (pull, square) in target.iter_mut().zip(square) {
                let variance = (square - pull.fair * pull.fair).max(0.0);
                pull.fair_error = (variance / (pairs - 1) as f64).sqrt();
            }
        }
        Ok(2 * pairs)
    }

    /// The pairs of answers that matter together for `target` by at least `least` decibans, strongest first.
    pub fn interplay(&mut self, target: usize, least: f64) -> Result<Vec<Interplay>, InferenceError> {
        let all = self.all();
        let mut found = Vec::new();
        for second in 0..self.len() {
            for first in 0..second {
                let (i, j) = (1 << first, 1 << second);
                let neither = self.odds(all & !i & !j)?.1[target];
                let only_first = self.odds(all & !j)?.1[target];
                let only_second = self.odds(all & !i)?.1[target];
                let both = self.odds(all)?.1[target];
                let pair = Interplay {
                    first,
                    second,
                    first_without: only_first - neither,
                    first_with: both - only_second,
                    second_without: only_second - neither,
                    second_with: both - only_first,
                };
                if pair.together().abs() >= least {
                    found.push(pair);
                }
            }
        }
        found.sort_by(|a, b| b.together().abs().total_cmp(&a.together().abs()));
        Ok(found)
    }
}

#[cfg(test)]
mod tests {
    use super::{chance_of, decibans};

    /// Turing's rows, General Report on Tunny, page 71: +13 db is 20 to 1 on, +4 db is 5 to 2 on (both rounded there).
    #[test]
    fn decibans_are_ten_times_the_common_logarithm_of_the_odds() {
        assert!((decibans(20.0 / 21.0) - 13.010_299_956_639_8).abs() < 1e-9);
        assert!((decibans(5.0 / 7.0) - 3.979_400_086_720_4).abs() < 1e-9);
        assert!((chance_of(decibans(0.3)) - 0.3).abs() < 1e-15);
        assert!(decibans(1.0).is_finite() && decibans(0.0).is_finite());
    }
}
