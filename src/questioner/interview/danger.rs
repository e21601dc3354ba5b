//! What forbids driving: severe answers that no check has lifted, severe states that show, and failures that have become likely.

use super::steps::Danger;
use crate::case::{AS_GOOD_AS_THERE, Case, Standing, severe_findings, severe_states};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Urgency;

/// What the answers and the ranking say against driving, answers first.
pub fn dangers(book: &RuleBook, case: &Case, standing: Option<&Standing>) -> Vec<Danger> {
    let states = standing.map(|standing| severe_states(book, case, standing)).unwrap_or_default();
    let severe = severe_findings(book, case).into_iter().chain(states);
    let mut found: Vec<Danger> =
        severe.map(|found| Danger { id: found.id, why: found.severe.say.clone() }).collect();
    let Some(standing) = standing else { return found };
    for likely in standing.failures.iter().filter(|likely| likely.chance >= AS_GOOD_AS_THERE) {
        if let Some(failure) = book.failures.get(&likely.id).filter(|f| f.urgency == Urgency::StopNow) {
            found.push(Danger { id: likely.id.clone(), why: failure.if_left.clone() });
        }
    }
    found
}
