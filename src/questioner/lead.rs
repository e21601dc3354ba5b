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

/// The check that casts the most doubt on the repair a plan starts with, for its own cost, among those that cost little beside
/// the repair. `results` say what each of the `offers` would tell.
pub(super) fn to_be_sure(
    plan: &Plan,
    reckoner: &Reckoner,
    now: &[f64],
    offers: &[Offer],
    results: &[CandidateResult],
) -> Option<String> {
    let Some(Step::Repair(done)) = plan.steps.first() else { return None };
    let repair = done[0];
    let cost = reckoner.remedies.repairs[repair].cost;
    let blame = reckoner.blame(now)[repair];
    // By how much a question is expected to lower the chance of the repair where it speaks against it.
    let lowered =
        |outcome: &Outcome| outcome.chance * (blame - reckoner.blame(&outcome.marginals)[repair]).max(0.0);
    let doubt = |result: &CandidateResult| result.outcomes.iter().map(lowered).sum::<f64>();
    offers
        .iter()
        .zip(results)
        .filter(|(offer, _)| {
            offer.question.kind == QuestionKind::Check && offer.outlay.total <= SMALL_SHARE * cost
        })
        .map(|(offer, result)| (offer, doubt(result)))
        .filter(|&(_, doubt)| doubt >= LEAST_DOUBT)
        .max_by(|a, b| (a.1 / a.0.outlay.total.max(1.0)).total_cmp(&(b.1 / b.0.outlay.total.max(1.0))))
        .map(|(offer, _)| offer.question.ask.clone())
}
