//! What a question is worth: how much less getting the vehicle right is expected to cost once it is
//! answered, after its own cost.

use super::cost::Remedies;
use super::getting_right::{Attempt, Plan, Stakes, plan};
use crate::case::Shop;
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{CandidateResult, Engine, Evidence, InferenceError};

/// Everything that turns chances into money.
#[derive(Debug, Clone)]
pub struct Reckoner<'a> {
    /// The repairs.
    pub remedies: &'a Remedies,
    /// What a wrong guess costs.
    pub stakes: Stakes,
    /// Chance of every failure from the vehicle and its history alone.
    usual: Vec<f64>,
}

/// Minutes in which a sound vehicle is explained and handed back.
const LEAVE_MINUTES: f64 = 5.0;

impl<'a> Reckoner<'a> {
    /// A reckoner for a vehicle whose history is `history` (evidence on history facts and on repaired
    /// failures only).
    pub fn new(
        graph: &CauseGraph,
        engine: &Engine,
        shop: &Shop,
        remedies: &'a Remedies,
        history: &Evidence,
    ) -> Result<Self, InferenceError> {
        let usual = engine.posterior(graph.network(), history, &remedies.failures)?.marginals;
        let stakes =
            Stakes { comeback: shop.comeback, hand_on: shop.hand_on, leave: shop.labour(LEAVE_MINUTES) };
        Ok(Self { remedies, stakes, usual })
    }

    /// The same reckoner with other usual chances: what they are once a history question is answered.
    #[must_use]
    pub fn with_usual(&self, usual: &[f64]) -> Self {
        Self { remedies: self.remedies, stakes: self.stakes, usual: usual.to_vec() }
    }

    /// Chance that each repair is what the complaint calls for, from the chances of the failures.
    ///
    /// A failure that has nothing to do with the complaint is as likely as on any vehicle of this kind and
    /// history. So of its chance `p` only what goes beyond the usual `u` speaks for it as the culprit:
    /// `p = r + (1 - r) u`, hence `r = (p - u) / (1 - u)`. A repair that mends several failures is called for by the
    /// sum of theirs, at most 1: they mostly exclude one another as the culprit, and where one brought the other
    /// on, both are likely and the sum is near 1 all the same.
    pub fn blame(&self, marginals: &[f64]) -> Vec<f64> {
        let blame = |at: usize| {
            let (p, u) = (marginals[at], self.usual[at]);
            if p > u { ((p - u) / (1.0 - u)).min(1.0) } else { 0.0 }
        };
        let repairs = self.remedies.repairs.iter();
        repairs.map(|remedy| remedy.failures.iter().map(|&at| blame(at)).sum::<f64>().min(1.0)).collect()
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

    /// Expected money from here once a question is answered.
    pub fn once_answered(&self, result: &CandidateResult) -> f64 {
        result.outcomes.iter().map(|outcome| outcome.chance * self.plan(&outcome.marginals).cost).sum()
    }

    /// The same for a history question, whose answer also moves what is usual.
    pub fn once_told(&self, result: &CandidateResult, usual: &CandidateResult) -> f64 {
        let both = result.outcomes.iter().zip(&usual.outcomes);
        both.map(|(outcome, usual)| {
            outcome.chance * self.with_usual(&usual.marginals).plan(&outcome.marginals).cost
        })
        .sum()
    }
}

/// The part of the evidence that speaks of the vehicle's history and of what was repaired, not of what is
/// wrong now.
pub fn history_alone(graph: &CauseGraph, evidence: &Evidence) -> Evidence {
    evidence
        .pairs()
        .filter(|&(node, _)| matches!(graph.get(node).kind, NodeKind::History | NodeKind::Failure))
        .fold(Evidence::new(), |all, (node, (absent, present))| all.likelihood(node, absent, present))
}
