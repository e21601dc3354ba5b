//! A search for the culprit, question after question.
//!
//! A single question may save nothing although several would: where twenty repairs are about as likely, no one answer
//! makes any of them worth trying, and handing the vehicle on looks best to whoever looks one question ahead. What the plan
//! costs beyond mending the culprit is there to be saved, and it is gone once all is known; so each bit (Shannon 1948)
//! about who the culprit is is worth a part of it. The pure arithmetic, apart from rule books and graphs.

use super::getting_right::{Plan, Step};

/// The part of what all bits together would save that the bits to be had now are worth: the last ones are dearer, and
/// not all can be had. Judgement, tried by `trial`: at one half so many more questions were asked that nothing was saved.
const SHARE: f64 = 0.25;

/// What is left to be found out, and what it is worth.
#[derive(Debug, Clone)]
pub struct Search {
    /// Chance of each repair, then of none, to be the one called for; they sum to 1.
    culprits: Vec<f64>,
    /// Money that a bit is worth.
    per_bit: f64,
}

impl Search {
    /// A search under a plan, from the chance that each repair is called for and what it costs. Only where the plan is to
    /// hand the vehicle on is there anything to be searched for: where it starts with a repair, or with none at all,
    /// questions save by themselves.
    pub fn new(blames: &[f64], costs: impl Iterator<Item = f64>, plan: &Plan) -> Self {
        let mending: f64 = blames.iter().zip(costs).map(|(blame, cost)| blame * cost).sum();
        let culprits = culprits(blames);
        let open: f64 = culprits.iter().map(|&p| if p > 0.0 { -p * p.log2() } else { 0.0 }).sum();
        let lost = plan.steps.first() == Some(&Step::HandOn);
        let per_bit = if lost && open > 0.0 { SHARE * (plan.cost - mending).max(0.0) / open } else { 0.0 };
        Self { culprits, per_bit }
    }

    /// Whether anything is to be gained by it.
    pub fn pays(&self) -> bool {
        self.per_bit > 0.0
    }

    /// What one answer is worth that leaves these chances of the repairs; the mean over the answers of a question is what
    /// the question is worth, before its own cost.
    pub fn found(&self, blames: &[f64]) -> f64 {
        // What was ruled out before stays so.
        let told = |(p, &q): (f64, &f64)| if p > 0.0 && q > 0.0 { p * (p / q).log2() } else { 0.0 };
        let bits: f64 = culprits(blames).into_iter().zip(&self.culprits).map(told).sum();
        bits * self.per_bit
    }
}

/// Blames as chances that exclude each other, with "none" at the end.
fn culprits(blames: &[f64]) -> Vec<f64> {
    let all: f64 = blames.iter().sum();
    let whole = all.max(1.0);
    blames.iter().map(|blame| blame / whole).chain([(1.0 - all).max(0.0)]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four repairs at 100, each as likely: two bits. Handing on costs 400 more, so a bit is worth a quarter of 200, and
    /// an answer that leaves one of them tells two.
    #[test]
    fn a_bit_is_worth_its_part_of_what_the_plan_loses() {
        let plan = Plan { cost: 500.0, steps: vec![Step::HandOn], first_enough: 1.0 };
        let search = Search::new(&[0.25; 4], [100.0; 4].into_iter(), &plan);
        assert!((search.found(&[1.0, 0.0, 0.0, 0.0]) - 100.0).abs() < 1e-9);
        assert!((search.found(&[0.5, 0.5, 0.0, 0.0]) - 50.0).abs() < 1e-9);
        assert!(search.found(&[0.25; 4]).abs() < 1e-9);
    }

    #[test]
    fn where_a_repair_comes_first_there_is_nothing_to_search_for() {
        let plan = Plan { cost: 500.0, steps: vec![Step::Repair(vec![0]), Step::HandOn], first_enough: 0.5 };
        assert!(!Search::new(&[0.5; 2], [100.0; 2].into_iter(), &plan).pays());
    }
}
