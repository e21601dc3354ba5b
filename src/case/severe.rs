//! What forbids driving or running: findings, as long as no later check has lifted them, and states that show.

use super::file::{Answer, Case};
use super::reading::likelihoods;
use super::said::{Said, interpret};
use super::standing::Standing;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{Forbids, Severe, Urgency};

/// A state or failure at least this likely is treated as being there when it comes to safety; so is an outcome with at least this
/// share of a reading's likelihood.
const AS_GOOD_AS_THERE: f64 = 0.5;

/// Something that forbids driving or running.
#[derive(Debug, Clone)]
pub struct Danger<'a> {
    /// The symptom, state, failure, or `check/outcome`.
    pub id: String,
    /// Why, and what not to do.
    pub why: &'a str,
    /// What it forbids.
    pub forbids: Forbids,
}

/// What forbids driving or running: severe findings that still hold, then severe states that show and stop-now failures, where
/// either is as good as there.
pub fn dangers<'a>(book: &'a RuleBook, case: &Case, standing: Option<&Standing>) -> Vec<Danger<'a>> {
    let danger =
        |(id, severe): (String, &'a Severe)| Danger { id, why: &severe.say, forbids: severe.forbids };
    let mut found: Vec<Danger<'a>> = severe_findings(book, case).into_iter().map(danger).collect();
    let Some(standing) = standing else { return found };
    found.extend(severe_states(book, case, standing.state_chances()).into_iter().map(danger));
    for likely in standing.failures.iter().filter(|likely| likely.chance >= AS_GOOD_AS_THERE) {
        if let Some(failure) = book.failures.get(&likely.id).filter(|f| f.urgency == Urgency::StopNow) {
            let (id, why) = (likely.id.clone(), failure.if_left.as_str());
            found.push(Danger { id, why, forbids: Forbids::Driving });
        }
    }
    found
}

/// The severe findings that still hold, in the order of the answers. Every answer counts, also one that says nothing about
/// this vehicle's graph: what was seen was seen.
pub fn severe_findings<'a>(book: &'a RuleBook, case: &Case) -> Vec<(String, &'a Severe)> {
    let signs = case.answers.iter().flat_map(|answer| signs_of(book, case, answer));
    let severe = signs.filter_map(|id| severe_sign(book, &id).map(|severe| (id, severe)));
    severe.filter(|(_, severe)| !is_lifted(book, case, severe)).collect()
}

/// The severe states that are as good as there and of which a sign has been seen, in the order of `chances`, which names
/// states with their chances. A state that is likely by what is usual alone says nothing about this minute.
pub fn severe_states<'a, 's>(
    book: &'a RuleBook,
    case: &Case,
    chances: impl IntoIterator<Item = (&'s str, f64)>,
) -> Vec<(String, &'a Severe)> {
    let signs: Vec<String> = case.answers.iter().flat_map(|answer| signs_of(book, case, answer)).collect();
    let shows = |state: &str| book.links_from(state).any(|link| signs.contains(&link.to.to_string()));
    let likely = chances.into_iter().filter(|&(_, chance)| chance >= AS_GOOD_AS_THERE);
    let severe = likely.filter_map(|(state, _)| {
        let severe = book.states.get(state)?.severe.as_ref()?;
        shows(state).then(|| (state.to_owned(), severe))
    });
    severe.collect()
}

/// Why a sign (a symptom, or `check/outcome`) is severe, if it is.
fn severe_sign<'a>(book: &'a RuleBook, sign: &str) -> Option<&'a Severe> {
    match sign.split_once('/') {
        Some((check, outcome)) => book.checks.get(check)?.outcomes.get(outcome)?.severe.as_ref(),
        None => book.symptoms.get(sign)?.severe.as_ref(),
    }
}

/// Whether every check that lifts a severe finding has had a result that is not severe itself.
fn is_lifted(book: &RuleBook, case: &Case, severe: &Severe) -> bool {
    let is_severe =
        |answer: &Answer| signs_of(book, case, answer).iter().any(|sign| severe_sign(book, sign).is_some());
    let harmless = |check: &String| {
        let answers = case.answers.iter().filter(|answer| answer.ask == *check);
        let mut results = answers.filter(|answer| is_result(book, answer)).peekable();
        results.peek().is_some() && !results.any(is_severe)
    };
    !severe.until.is_empty() && severe.until.iter().all(harmless)
}

/// Whether an answer says how a check came out.
fn is_result(book: &RuleBook, answer: &Answer) -> bool {
    matches!(interpret(book, answer), Ok(Said::Normal | Said::Outcome(_) | Said::Reading(_)))
}

/// What an answer says is there: a symptom, or outcomes of a check as `check/outcome`.
fn signs_of(book: &RuleBook, case: &Case, answer: &Answer) -> Vec<String> {
    let ask = &answer.ask;
    match interpret(book, answer) {
        Ok(Said::Yes) => vec![ask.clone()],
        Ok(Said::Outcome(name)) => vec![format!("{ask}/{name}")],
        Ok(Said::Reading(value)) => {
            let Some(check) = book.checks.get(ask) else { return Vec::new() };
            let Ok(shares) = likelihoods(check, &case.vehicle, value) else { return Vec::new() };
            let total: f64 = shares.iter().sum();
            let outcomes = check.outcomes.keys().zip(shares.iter().skip(1));
            let read = outcomes.filter(|&(_, &share)| share >= AS_GOOD_AS_THERE * total);
            read.map(|(name, _)| format!("{ask}/{name}")).collect()
        }
        Ok(Said::No | Said::Normal | Said::DontKnow | Said::Cannot) | Err(_) => Vec::new(),
    }
}
