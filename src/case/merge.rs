//! Two states of one case put together, as when two people wrote to it at the same time.

use super::file::Case;

/// Both together: `theirs` with what only `ours` has. Where both answered the same question differently, the
/// later answer counts; an answer without a time counts as the earlier one. Nothing that only one of them has
/// is dropped. The second value names the questions that were answered differently.
pub fn merged(ours: &Case, theirs: &Case) -> (Case, Vec<String>) {
    let mut both = theirs.clone();
    let mut differed = Vec::new();
    for answer in &ours.answers {
        match theirs.answer_to(&answer.ask) {
            None => both.put(answer.clone()),
            Some(other) => {
                if (&other.answer, &other.reading) != (&answer.answer, &answer.reading) {
                    differed.push(answer.ask.clone());
                    if answer.when > other.when {
                        both.put(answer.clone());
                    }
                }
            }
        }
    }
    for (fact, option) in &ours.vehicle.facts {
        both.vehicle.facts.entry(fact.clone()).or_insert_with(|| option.clone());
    }
    both.vehicle.name = both.vehicle.name.or_else(|| ours.vehicle.name.clone());
    both.vehicle.km = both.vehicle.km.or(ours.vehicle.km);
    both.vehicle.hours = both.vehicle.hours.or(ours.vehicle.hours);
    both.vehicle.built = both.vehicle.built.or(ours.vehicle.built);
    both.complaint = match (&theirs.complaint, &ours.complaint) {
        (Some(theirs), Some(ours)) if theirs != ours && !theirs.contains(ours.as_str()) => {
            if ours.contains(theirs.as_str()) {
                Some(ours.clone())
            } else {
                Some(format!("{theirs}; {ours}"))
            }
        }
        (Some(theirs), _) => Some(theirs.clone()),
        (None, ours) => ours.clone(),
    };
    join(&mut both.missing_tools, &ours.missing_tools);
    join(&mut both.brought, &ours.brought);
    join(&mut both.repaired, &ours.repaired);
    join(&mut both.returned, &ours.returned);
    both.verdict = both.verdict.or_else(|| ours.verdict.clone());
    both.title = both.title.or_else(|| ours.title.clone());
    both.opened = both.opened.or_else(|| ours.opened.clone());
    (both, differed)
}

/// Adds what is not there yet.
fn join<T: Clone + PartialEq>(all: &mut Vec<T>, more: &[T]) {
    for one in more {
        if !all.contains(one) {
            all.push(one.clone());
        }
    }
}
