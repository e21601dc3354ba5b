//! Whether any question is still worth its cost, found without weighing all of them: what a strategy needs that
//! chooses by something else, such as the order of the book.

use super::advice::{Questioner, Strategy, shuffle};
use super::offers::{Offer, Offers};
use super::weigh::{places, weigh_each};
use crate::case::standing::of_targets;
use crate::case::{Case, gather};
use crate::graph::NodeKind;
use crate::inference::{InferenceError, NodeId};

/// How many questions are weighed at first: what was worth its cost before mostly still is. Each further portion is
/// four times as large.
const FIRST_PORTION: usize = 1;

impl Questioner<'_> {
    /// The questions that can be put, in the order of the strategy, if one of them is worth its cost by itself; none if
    /// asking may be at its end, which [`Questioner::advise`] then says for certain, with the reason. Only for
    /// strategies that need no weighing.
    ///
    /// `likely` names the questions found worth their cost before, the last one first: those are weighed first. Keep it
    /// from one answer to the next; it changes how long the search takes, never its result.
    pub fn going_on(
        &self,
        case: &Case,
        strategy: Strategy,
        likely: &mut Vec<String>,
    ) -> Result<Option<Offers>, InferenceError> {
        let gathered = gather(self.book, self.graph, case);
        // Failures and states are all that safety looks at; the chances of parts would take longer than the rest.
        let hidden: Vec<NodeId> = [NodeKind::Failure, NodeKind::State]
            .into_iter()
            .flat_map(|kind| self.graph.of_kind(kind))
            .collect();
        let wanted = places(&hidden, &self.remedies.failures);
        let prepared =
            self.engine.prepare_to_weigh(self.graph.network(), &gathered.evidence, &hidden, &wanted)?;
        let standing = of_targets(self.book, self.graph, &hidden, prepared.posterior());
        let mut offers = Offers::of(self.book, self.graph, self.shop, case, &standing);
        if !self.complained(&gathered) || offers.spent >= self.shop.patience {
            return Ok(None);
        }
        let reckoner = self.reckoner(case, &gathered)?;
        let now: Vec<f64> = wanted.iter().map(|&at| prepared.posterior().marginals[at]).collect();
        let plan = reckoner.plan(&now);
        let search = reckoner.search(&now, &plan);
        let rank = |offer: &&Offer| likely.iter().position(|ask| *ask == offer.question.ask);
        let mut left: Vec<&Offer> =
            offers.open.iter().filter(|offer| offer.outlay.total < plan.cost).collect();
        left.sort_by_key(|offer| rank(offer).unwrap_or(likely.len()));
        let mut size = FIRST_PORTION;
        while !left.is_empty() {
            let portion: Vec<&Offer> = left.drain(..size.min(left.len())).collect();
            size *= 4;
            let questions = portion.iter().map(|offer| offer.question.clone()).collect();
            let weighed = weigh_each(self.graph, &prepared, &wanted, questions)?;
            for ((weighed, result), offer) in weighed.into_iter().zip(portion) {
                let saved =
                    (plan.cost - reckoner.once_answered(&result)).max(reckoner.found(&search, &result));
                if saved > offer.outlay.total {
                    let ask = weighed.question.ask;
                    likely.retain(|known| *known != ask);
                    likely.insert(0, ask);
                    if let Strategy::Random(seed) = strategy {
                        shuffle(&mut offers.open, seed);
                    }
                    return Ok(Some(offers));
                }
            }
        }
        Ok(None)
    }
}
