//! What forbids driving: severe answers that no check has lifted, and severe states and failures that have become likely.

use super::steps::Danger;
use crate::case::{Case, Standing, severe_findings};
use crate::questioner::engine_state::AS_GOOD_AS_THERE;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Urgency;

/// What the answers and the ranking say against driving, answers first.
pub fn dangers(book: &RuleBook, case: &Case, standing: Option<&Standing>) -> Vec<Danger> {
    let findings = severe_findings(book, case).into_iter();
    let mut found: Vec<Danger> =
        findings.map(|found| Danger { id: found.id, why: found.severe.say.clone() }).collect();
    let Some(standing) = standing else { return found };
    for likely in standing.states.iter().filter(|likely| likely.chance >= AS_GOOD_AS_THERE) {
        if let Some(severe) = book.states.get(&likely.id).and_then(|state| state.severe.as_ref()) {
            found.push(Danger { id: likely.id.clone(), why: severe.say.clone() });
        }
    }
    for likely in standing.failures.iter().filter(|likely| likely.chance >= AS_GOOD_AS_THERE) {
        if let Some(failure) = book.failures.get(&likely.id).filter(|f| f.urgency == Urgency::StopNow) {
            found.push(Danger { id: likely.id.clone(), why: failure.if_left.clone() });
        }
    }
    found
}
