//! What a question is worth: how much less getting the vehicle right is expected to cost once it is
//! answered, after its own cost.

use super::cost::Remedies;
use super::getting_right::{Attempt, Plan, Stakes, plan};
use super::search::Search;
use crate::case::Shop;
use crate::inference::CandidateResult;

/// Everything that turns chances into money.
#[derive(Debug, Clone)]
pub struct Reckoner<'a> {
    /// The repairs.
    pub remedies: &'a Remedies,
    /// What a wrong guess costs.
    pub stakes: Stakes,
    /// For each failure: how likely it is to blame for the complaint, if it is there.
    shares: Vec<f64>,
}

/// Chance that no repair is called for though something is wrong: an answer was wrong that ruled the culprit out, or
/// the book does not know it. Judgement: one answer in thirty wrong, and two or three that a fault hangs on.
const UNSEEN: f64 = 0.1;

/// Minutes in which a sound vehicle is explained and handed back.
const LEAVE_MINUTES: f64 = 5.0;

impl<'a> Reckoner<'a> {
    /// A reckoner for a complaint; `shares` are those of [`super::blame::shares`], and `sound` is whether nothing may be
    /// wrong at all.
    pub fn new(shop: &Shop, remedies: &'a Remedies, shares: Vec<f64>, sound: bool) -> Self {
        let leave = shop.labour(LEAVE_MINUTES);
        let stakes = Stakes { comeback: shop.comeback, hand_on: shop.hand_on, leave, sound };
        Self { remedies, stakes, shares }
    }

    /// Chance that each repair is what the complaint calls for, from the chances of the failures: the chance that a
    /// failure is there times its share. A repair that mends several failures is called for by the
    /// sum of theirs, at most 1: they mostly exclude one another as the culprit, and where one brought the other
    /// on, both are likely and the sum is near 1 all the same.
    ///
    /// Where something is wrong for certain, the chance that nothing is (what the blame of all repairs lacks to 1) goes to
    /// them and to "none of these" in proportion, the latter starting from [`UNSEEN`].
    pub fn blame(&self, marginals: &[f64]) -> Vec<f64> {
        let blame = |&at: &usize| marginals[at] * self.shares[at];
        let repairs = self.remedies.repairs.iter();
        let mut blames: Vec<f64> =
            repairs.map(|remedy| remedy.failures.iter().map(blame).sum::<f64>().min(1.0)).collect();
        let all: f64 = blames.iter().sum();
        if !self.stakes.sound && all + UNSEEN < 1.0 {
            for blame in &mut blames {
                *blame /= all + UNSEEN;
            }
        }
        blames
    }

    /// The plan under these chances of the failures.
    pub fn plan(&self, marginals: &[f64]) -> Plan {
        let attempts: Vec<Attempt> = self
            .blame(marginals)
            .into_iter()
            .zip(&self.remedies.repairs)
            .map(|(chance, remedy)| Attempt { chance, cost: remedy.cost })
            .collect();
        plan(&attempts, &self.stakes)
    }

    /// What searching on may save under a plan.
    pub fn search(&self, marginals: &[f64], plan: &Plan) -> Search {
        Search::new(&self.blame(marginals), self.remedies.repairs.iter().map(|remedy| remedy.cost), plan)
    }

    /// What a question is worth to a search, before its own cost.
    pub fn found(&self, search: &Search, result: &CandidateResult) -> f64 {
        if !search.pays() {
            return 0.0;
        }
        let outcomes = result.outcomes.iter();
        outcomes.map(|outcome| outcome.chance * search.found(&self.blame(&outcome.marginals))).sum()
    }

    /// Expected money from here once a question is answered.
    pub fn once_answered(&self, result: &CandidateResult) -> f64 {
        result.outcomes.iter().map(|outcome| outcome.chance * self.plan(&outcome.marginals).cost).sum()
    }
}
