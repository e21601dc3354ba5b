//! What forbids driving: severe answers, and severe states and failures that have become likely.

use super::steps::Danger;
use crate::case::reading::likelihoods;
use crate::case::{Answer, Case, Said, Standing, interpret};
use crate::questioner::engine_state::AS_GOOD_AS_THERE;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Urgency;

/// What the answers and the ranking say against driving, answers first.
pub fn dangers(book: &RuleBook, case: &Case, standing: Option<&Standing>) -> Vec<Danger> {
    let mut found: Vec<Danger> =
        case.answers.iter().filter_map(|answer| of_answer(book, case, answer)).collect();
    let Some(standing) = standing else { return found };
    for likely in standing.states.iter().filter(|likely| likely.chance >= AS_GOOD_AS_THERE) {
        if let Some(why) = book.states.get(&likely.id).and_then(|state| state.severe.clone()) {
            found.push(Danger { id: likely.id.clone(), why });
        }
    }
    for likely in standing.failures.iter().filter(|likely| likely.chance >= AS_GOOD_AS_THERE) {
        if let Some(failure) = book.failures.get(&likely.id).filter(|f| f.urgency == Urgency::StopNow) {
            found.push(Danger { id: likely.id.clone(), why: failure.if_left.clone() });
        }
    }
    found
}

fn of_answer(book: &RuleBook, case: &Case, answer: &Answer) -> Option<Danger> {
    match interpret(book, answer).ok()? {
        Said::Yes => {
            let why = book.symptoms.get(&answer.ask)?.severe.clone()?;
            Some(Danger { id: answer.ask.clone(), why })
        }
        Said::Outcome(outcome) => {
            let why = book.checks.get(&answer.ask)?.outcomes.get(&outcome)?.severe.clone()?;
            Some(Danger { id: format!("{}/{outcome}", answer.ask), why })
        }
        Said::Reading(quantity) => {
            let check = book.checks.get(&answer.ask)?;
            let shares = likelihoods(check, &case.vehicle, quantity).ok()?;
            let total: f64 = shares.iter().sum();
            let ((id, outcome), _) =
                check.outcomes.iter().zip(shares.get(1..)?).find(|((_, outcome), share)| {
                    outcome.severe.is_some() && **share >= AS_GOOD_AS_THERE * total
                })?;
            Some(Danger { id: format!("{}/{id}", answer.ask), why: outcome.severe.clone()? })
        }
        Said::No | Said::Normal | Said::DontKnow | Said::Cannot => None,
    }
}
