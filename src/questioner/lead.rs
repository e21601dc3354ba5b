//! What a careful hand makes sure of before parts are bought.
//!
//! A check that hardly ever changes the plan does not pay on the average, so the questioner does not ask for it. But where a
//! pump is to be bought for its bearing, rocking the pulley takes three minutes, and nobody who has done the job leaves it out.

use super::getting_right::{Plan, Step};
use super::offers::Offer;
use super::questions::QuestionKind;
use super::worth::Reckoner;
use crate::inference::{CandidateResult, Outcome};

/// A check that is done to be sure costs at most this share of the repair, and lowers its chance by at least so much on the
/// average.
const SMALL_SHARE: f64 = 0.05;
const LEAST_DOUBT: f64 = 0.02;

/// The repair that a plan starts with.
pub(super) struct Lead {
    repair: usize,
    /// Chance now that it is called for.
    blame: f64,
    /// What it costs.
    cost: f64,
}

impl Lead {
    pub(super) fn of(plan: &Plan, reckoner: &Reckoner, now: &[f64]) -> Option<Self> {
        let Some(Step::Repair(done)) = plan.steps.first() else { return None };
        let repair = done[0];
        let cost = reckoner.remedies.repairs[repair].cost;
        Some(Self { repair, blame: reckoner.blame(now)[repair], cost })
    }

    /// By how much a question is expected to lower the chance of the repair where it speaks against it.
    pub(super) fn doubt(&self, reckoner: &Reckoner, result: &CandidateResult) -> f64 {
        let lowered = |outcome: &Outcome| {
            outcome.chance * (self.blame - reckoner.blame(&outcome.marginals)[self.repair]).max(0.0)
        };
        result.outcomes.iter().map(lowered).sum()
    }

    /// The check that casts the most doubt for its cost, among those that cost little beside the repair.
    pub(super) fn cheapest_doubt(&self, offers: &[Offer], doubts: &[f64]) -> Option<String> {
        let able = |(offer, doubt): &(&Offer, &f64)| {
            offer.question.kind == QuestionKind::Check
                && offer.outlay.total <= SMALL_SHARE * self.cost
                && **doubt >= LEAST_DOUBT
        };
        let rate = |(offer, doubt): &(&Offer, &f64)| **doubt / offer.outlay.total.max(1.0);
        let best = offers.iter().zip(doubts).filter(able).max_by(|a, b| rate(a).total_cmp(&rate(b)));
        best.map(|(offer, _)| offer.question.ask.clone())
    }
}
