//! All answers of a case together, as evidence on the cause graph.

use super::file::{Answer, Case};
use super::reading;
use super::said::{Said, SaidError, interpret};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Evidence, NodeId};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Vehicle;

/// An answer that could not be used, and why. It stays in the case.
#[derive(Debug, Clone, PartialEq)]
pub struct Ignored {
    /// The question.
    pub ask: String,
    /// Why its answer says nothing here.
    pub why: String,
}

/// The evidence of a case, and what of it could not be used.
#[derive(Debug, Clone)]
pub struct Gathered {
    /// The evidence.
    pub evidence: Evidence,
    /// Answers that were used, in the order of the case.
    pub used: Vec<(String, Said)>,
    /// Answers that were not.
    pub ignored: Vec<Ignored>,
}

/// Turns a case into evidence: its answers, the history its vehicle file states, and the failures that
/// have been repaired since.
pub fn gather(book: &RuleBook, graph: &CauseGraph, case: &Case) -> Gathered {
    let mut gathered = gather_answers(book, graph, &case.vehicle, &case.answers);
    for repaired in &case.repaired {
        match graph.node(&repaired.failure) {
            Some(node) => gathered.evidence = gathered.evidence.absent(node),
            None => gathered.ignored.push(Ignored {
                ask: repaired.failure.clone(),
                why: "this vehicle cannot have that failure, or the book no longer has it".to_owned(),
            }),
        }
    }
    gathered
}

/// The part of the evidence that speaks of the vehicle's history and of what was repaired, not of what is
/// wrong now.
pub fn history_alone(graph: &CauseGraph, evidence: &Evidence) -> Evidence {
    evidence
        .pairs()
        .filter(|&(node, _)| matches!(graph.get(node).kind, NodeKind::History | NodeKind::Failure))
        .fold(Evidence::new(), |all, (node, (absent, present))| all.likelihood(node, absent, present))
}

/// Turns answers alone into evidence, with the history that the vehicle file states (an answer goes before
/// the file where both speak).
pub fn gather_answers(
    book: &RuleBook,
    graph: &CauseGraph,
    vehicle: &Vehicle,
    answers: &[Answer],
) -> Gathered {
    let mut evidence = Evidence::new();
    let (mut used, mut ignored) = (Vec::new(), Vec::new());
    for (fact, &there) in &vehicle.history {
        if answers.iter().any(|answer| &answer.ask == fact) {
            continue;
        }
        match graph.node(fact) {
            Some(node) => evidence = evidence.observed(node, there),
            None => ignored.push(Ignored {
                ask: fact.clone(),
                why: "the book has no such history fact for this vehicle".to_owned(),
            }),
        }
    }
    for answer in answers {
        match interpret(book, answer) {
            Ok(said) => match apply(book, graph, vehicle, &mut evidence, &answer.ask, &said) {
                Ok(()) => used.push((answer.ask.clone(), said)),
                Err(why) => ignored.push(Ignored { ask: answer.ask.clone(), why }),
            },
            Err(error) => ignored.push(Ignored { ask: answer.ask.clone(), why: error.to_string() }),
        }
    }
    Gathered { evidence, used, ignored }
}

/// Refuses the first answer that the book cannot understand: for input that is typed rather than kept.
pub fn require_understood(book: &RuleBook, answers: &[Answer]) -> Result<(), SaidError> {
    answers.iter().try_for_each(|answer| interpret(book, answer).map(|_| ()))
}

/// Adds what was said to one question to the evidence.
pub fn apply(
    book: &RuleBook,
    graph: &CauseGraph,
    vehicle: &Vehicle,
    evidence: &mut Evidence,
    ask: &str,
    said: &Said,
) -> Result<(), String> {
    let unsuited = || "this vehicle cannot have it, by the facts given".to_owned();
    let before = std::mem::take(evidence);
    let (after, result) = match said {
        Said::DontKnow | Said::Cannot => (before, Ok(())),
        Said::Yes => match graph.node(ask) {
            Some(node) => (before.present(node), Ok(())),
            None => (before, Err(unsuited())),
        },
        Said::No => match graph.node(ask) {
            Some(node) => (before.absent(node), Ok(())),
            None => (before, Ok(())),
        },
        Said::Normal => (graph.outcomes(ask).iter().fold(before, |seen, &node| seen.absent(node)), Ok(())),
        Said::Outcome(outcome) => match graph.node(&format!("{ask}/{outcome}")) {
            Some(there) => {
                let observe = |seen: Evidence, &node: &NodeId| seen.observed(node, node == there);
                (graph.outcomes(ask).iter().fold(before, observe), Ok(()))
            }
            None => (before, Err(unsuited())),
        },
        Said::Reading(quantity) => {
            let nodes = graph.outcomes(ask);
            let check = book.checks.get(ask).filter(|_| !nodes.is_empty()).ok_or_else(unsuited);
            match check.and_then(|check| reading::likelihoods(check, vehicle, *quantity)) {
                Ok(likelihoods) => (exclusive(before, nodes, &likelihoods), Ok(())),
                Err(why) => (before, Err(why)),
            }
        }
    };
    *evidence = after;
    result
}

/// Soft evidence over outcomes that exclude one another: `likelihoods[0]` is that of the normal result,
/// `likelihoods[i]` that of outcome `i`. Outcomes out of the question are plainly absent, so that only
/// those in the balance are tied together.
fn exclusive(evidence: Evidence, nodes: &[NodeId], likelihoods: &[f64]) -> Evidence {
    let (mut open, mut chances) = (Vec::new(), Vec::new());
    let mut seen = evidence;
    for (&node, &likelihood) in nodes.iter().zip(&likelihoods[1..]) {
        if likelihood > 0.0 {
            open.push(node);
            chances.push(likelihood);
        } else {
            seen = seen.absent(node);
        }
    }
    match (open.as_slice(), chances.as_slice()) {
        ([], _) => seen,
        ([node], [chance]) => seen.likelihood(*node, likelihoods[0], *chance),
        _ => seen.exclusive(&open, likelihoods[0], &chances),
    }
}
