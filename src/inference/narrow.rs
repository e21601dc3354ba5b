//! An elimination of their own for the targets that candidates are weighed on.
//!
//! A ranking wants the chance of every state, also of those nothing was seen below, and such states may cost most of the work: after a
//! noise, all that has to do with heat. Questions are weighed on failures alone, most of which can do without those states; what a
//! question about an effect further down needs of them is a sum of a few changes (`candidates`).

use super::engine::{Candidate, CandidateResult, InferenceError, Method};
use super::prepared::Prepared;

/// A candidate is weighed on the narrow elimination where all its changes take at most so many times the operations of one
/// change of the whole; there a candidate takes two or so.
const CHANGES: f64 = 2.0;

/// Evidence prepared for some of the targets.
#[derive(Debug)]
pub(super) struct Narrow<'a> {
    prepared: Prepared<'a>,
    /// For each target of the whole its place here.
    places: Vec<Option<usize>>,
    /// A candidate that needs more changes than this is weighed on the whole.
    most_changes: f64,
}

impl Prepared<'_> {
    /// The same with candidates weighed on `narrow`, whose targets are those at the places `weighed`, wherever no others are
    /// wanted. Chances that are exact only there are so here too.
    pub(super) fn with_narrow(mut self, narrow: Self, weighed: &[usize]) -> Self {
        let mut places = vec![None; self.posterior.marginals.len()];
        for (here, &at) in weighed.iter().enumerate() {
            places[at] = Some(here);
            if narrow.posterior.method.is_exact() && !self.posterior.method.is_exact() {
                self.posterior.marginals[at] = narrow.posterior.marginals[here];
                self.posterior.errors[at] = 0.0;
            }
        }
        let most_changes = match (self.posterior.method, narrow.posterior.method) {
            (Method::Exact { cost: whole }, Method::Exact { cost }) => {
                CHANGES * whole.operations / cost.operations.max(1.0)
            }
            _ => f64::INFINITY,
        };
        self.narrow = Some(Box::new(Narrow { prepared: narrow, places, most_changes }));
        self
    }
}

impl Narrow<'_> {
    /// Weighs candidates here as far as that is cheaper than on the `whole`.
    pub(super) fn weigh(
        &self,
        whole: &Prepared,
        candidates: &[Candidate],
        wanted: &[usize],
    ) -> Result<Vec<CandidateResult>, InferenceError> {
        let Some(places) = wanted.iter().map(|&at| self.places[at]).collect::<Option<Vec<_>>>() else {
            return whole.weigh(candidates, wanted);
        };
        let mut found = self.prepared.weigh_by_changes(candidates, &places, self.most_changes)?;
        let left: Vec<usize> = (0..found.len()).filter(|&at| found[at].is_none()).collect();
        let there: Vec<Candidate> = left.iter().map(|&at| candidates[at].clone()).collect();
        for (at, result) in left.into_iter().zip(whole.weigh(&there, wanted)?) {
            found[at] = Some(result);
        }
        Ok(found.into_iter().flatten().collect())
    }
}
