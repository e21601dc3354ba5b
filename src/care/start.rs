//! What a case says about a failure that the book may lack: the way in to adding it.

use crate::case::said::{Said, interpret};
use crate::case::{Case, reading};
use crate::graph::CauseGraph;
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{Expected, KnownAnswer, KnownCase};

/// The findings and history of a case, by what was said.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CaseStart {
    /// The case's name.
    pub name: String,
    /// Symptoms and outcomes that are there: `symptom` or `check/outcome`.
    pub there: Vec<String>,
    /// Those that are not.
    pub absent: Vec<String>,
    /// History facts that hold.
    pub history: Vec<String>,
    /// Findings that nothing in the book explains well; set by who worked out the fit.
    pub unexplained: Vec<String>,
    /// Conflict of the answers in bits (see [`CaseFit`](super::fit::CaseFit)); set likewise.
    pub conflict: f64,
}

impl CaseStart {
    /// Reads a case. Answers the book does not understand are left out.
    pub fn of(book: &RuleBook, graph: &CauseGraph, name: &str, case: &Case) -> Self {
        let mut start = Self { name: name.to_owned(), ..Self::default() };
        for answer in &case.answers {
            let ask = &answer.ask;
            let outcome = match interpret(book, answer) {
                Ok(Said::Yes) if book.history.contains_key(ask) => {
                    start.history.push(ask.clone());
                    continue;
                }
                Ok(Said::Yes) => {
                    start.there.push(ask.clone());
                    continue;
                }
                Ok(Said::No) => {
                    if !book.history.contains_key(ask) {
                        start.absent.push(ask.clone());
                    }
                    continue;
                }
                Ok(Said::Normal) => None,
                Ok(Said::Outcome(outcome)) => Some(outcome),
                Ok(Said::Reading(quantity)) => {
                    let Some(check) = book.checks.get(ask) else { continue };
                    let Ok(likelihoods) = reading::likelihoods(check, &case.vehicle, quantity) else {
                        continue;
                    };
                    let most =
                        (0..likelihoods.len()).max_by(|&a, &b| likelihoods[a].total_cmp(&likelihoods[b]));
                    let at = most.unwrap_or(0);
                    at.checked_sub(1).and_then(|at| check.outcomes.get_index(at)).map(|(id, _)| id.clone())
                }
                Ok(Said::DontKnow | Said::Cannot) | Err(_) => continue,
            };
            for &node in graph.outcomes(ask) {
                let key = graph.key(node);
                let there = outcome.as_ref().is_some_and(|outcome| key == format!("{ask}/{outcome}"));
                if there { &mut start.there } else { &mut start.absent }.push(key.to_owned());
            }
        }
        for (fact, &holds) in &case.vehicle.history {
            if holds && book.history.contains_key(fact) && !start.history.contains(fact) {
                start.history.push(fact.clone());
            }
        }
        start
    }
}

/// A saved case as a known case of the book that expects `failure` first.
pub fn as_known(case: &Case, failure: &str, reason: &str) -> KnownCase {
    let answers = case
        .answers
        .iter()
        .filter(|answer| !matches!(answer.answer.as_deref(), Some("dont-know" | "cannot")))
        .map(|answer| KnownAnswer {
            ask: answer.ask.clone(),
            answer: answer.answer.clone(),
            reading: answer.reading.clone(),
        })
        .collect();
    KnownCase {
        title: case.title.clone().unwrap_or_else(|| format!("Case that taught {failure}")),
        vehicle: None,
        facts: case.vehicle.facts.iter().map(|(fact, option)| (fact.clone(), option.clone())).collect(),
        answers,
        expect: Expected { first: Some(failure.to_owned()), ..Expected::default() },
        reason: reason.to_owned(),
        source: Some("a case of this workshop".to_owned()),
        tags: Vec::new(),
    }
}
