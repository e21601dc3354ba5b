//! Findings that forbid driving or running, as long as no later check has lifted them.

use super::file::{Answer, Case};
use super::reading::likelihoods;
use super::said::{Said, interpret};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Severe;

/// A reading counts as an outcome where at least this share of its likelihood speaks for it.
const AS_GOOD_AS_READ: f64 = 0.5;

/// A severe finding of a case.
#[derive(Debug, Clone)]
pub struct SevereFinding<'a> {
    /// The symptom, or `check/outcome`.
    pub id: String,
    /// Why it is severe.
    pub severe: &'a Severe,
}

/// The severe findings that still hold, in the order of the answers. Every answer counts, also one that says nothing about
/// this vehicle's graph: what was seen was seen.
pub fn severe_findings<'a>(book: &'a RuleBook, case: &Case) -> Vec<SevereFinding<'a>> {
    let holds = |found: &SevereFinding<'_>| !is_lifted(book, case, found.severe);
    case.answers.iter().flat_map(|answer| of_answer(book, case, answer)).filter(holds).collect()
}

/// Whether every check that lifts a severe finding has had a result that is not severe itself.
pub fn is_lifted(book: &RuleBook, case: &Case, severe: &Severe) -> bool {
    let harmless = |check: &String| {
        let answers = case.answers.iter().filter(|answer| answer.ask == *check);
        let mut results = answers.filter(|answer| is_result(book, answer)).peekable();
        results.peek().is_some() && results.all(|answer| of_answer(book, case, answer).is_empty())
    };
    !severe.until.is_empty() && severe.until.iter().all(harmless)
}

/// Whether an answer says how a check came out.
fn is_result(book: &RuleBook, answer: &Answer) -> bool {
    matches!(interpret(book, answer), Ok(Said::Normal | Said::Outcome(_) | Said::Reading(_)))
}

fn of_answer<'a>(book: &'a RuleBook, case: &Case, answer: &Answer) -> Vec<SevereFinding<'a>> {
    let ask = &answer.ask;
    let of_outcome = |name: &str| {
        let severe = book.checks.get(ask)?.outcomes.get(name)?.severe.as_ref()?;
        Some(SevereFinding { id: format!("{ask}/{name}"), severe })
    };
    match interpret(book, answer) {
        Ok(Said::Yes) => {
            let severe = book.symptoms.get(ask).and_then(|symptom| symptom.severe.as_ref());
            severe.map(|severe| SevereFinding { id: ask.clone(), severe }).into_iter().collect()
        }
        Ok(Said::Outcome(name)) => of_outcome(&name).into_iter().collect(),
        Ok(Said::Reading(value)) => {
            let Some(check) = book.checks.get(ask) else { return Vec::new() };
            let Ok(shares) = likelihoods(check, &case.vehicle, value) else { return Vec::new() };
            let total: f64 = shares.iter().sum();
            let outcomes = check.outcomes.keys().zip(shares.iter().skip(1));
            let read = outcomes.filter(|&(_, &share)| share >= AS_GOOD_AS_READ * total);
            read.filter_map(|(name, _)| of_outcome(name)).collect()
        }
        Ok(Said::No | Said::Normal | Said::DontKnow | Said::Cannot) | Err(_) => Vec::new(),
    }
}
