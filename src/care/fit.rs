//! How well a case fits the book, worked out for every case there is: the conflict between its answers, and the signs
//! that nothing in the book explains.

use super::start::CaseStart;
use crate::case::evidence::{apply, gather};
use crate::case::{Answer, Case};
use crate::explain::credit::credit;
use crate::explain::fit::{SMALL, UNEXPLAINED, conflict};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, InferenceError, NodeId};
use crate::rulebook::RuleBook;

/// A sign that nothing explains well.
#[derive(Debug, Clone, PartialEq)]
pub struct LoneSign {
    /// The finding: `symptom` or `check/outcome`.
    pub finding: String,
    /// Chance that none of its listed causes brought it on, 0 to 1.
    pub of_itself: f64,
}

/// How well one case fits.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseFit {
    /// Jensen's conflict of all its answers, in bits; above 0 they do not go together.
    pub conflict: f64,
    /// Signs that nothing explains well, worst first.
    pub unexplained: Vec<LoneSign>,
    /// How likely its first suspect is.
    pub first: f64,
}

impl CaseFit {
    /// Whether the book does not seem to know this pattern.
    pub fn is_poor(&self) -> bool {
        !self.unexplained.is_empty() || self.conflict > SMALL
    }
}

/// Works out the fit of one case.
pub fn fit_of(
    book: &RuleBook,
    graph: &CauseGraph,
    name: &str,
    case: &Case,
) -> Result<CaseFit, InferenceError> {
    let engine = Engine::default();
    // Whether the book explains the answers, not whether somebody slipped.
    let network = graph.true_network();
    let all = gather(book, graph, case);
    let unsaid = case.answers.iter().map(|answer| Answer::said(&answer.ask, "dont-know")).collect();
    let record = gather(book, graph, &Case { answers: unsaid, ..case.clone() }).evidence;
    let start = CaseStart::of(book, graph, name, case);
    let signs: Vec<NodeId> = start.there.iter().filter_map(|key| graph.node(key)).collect();
    let parts = graph.of_kind(NodeKind::Part);
    let targets: Vec<NodeId> = signs.iter().chain(&parts).copied().collect();
    let now = engine.posterior(network, &all.evidence, &targets)?;
    let log_record = engine.posterior(network, &record, &[])?.log_evidence;
    let mut alone = Vec::new();
    for (ask, said) in all.used.iter().filter(|(_, said)| said.tells()) {
        let mut with = record.clone();
        // It was applied once already, to the whole.
        let _ = apply(book, graph, &case.vehicle, &mut with, ask, said);
        alone.push(engine.posterior(network, &with, &[])?.log_evidence - log_record);
    }
    let mut unexplained = Vec::new();
    for (at, &sign) in signs.iter().enumerate() {
        if graph.causes(sign).is_empty() {
            unexplained.push(LoneSign { finding: graph.key(sign).to_owned(), of_itself: 1.0 });
            continue;
        }
        let found = credit(&engine, network, &all.evidence, (sign, now.marginals[at], now.log_evidence))?;
        if found.own_share() > UNEXPLAINED {
            unexplained.push(LoneSign { finding: graph.key(sign).to_owned(), of_itself: found.own_share() });
        }
    }
    unexplained.sort_by(|a, b| b.of_itself.total_cmp(&a.of_itself).then_with(|| a.finding.cmp(&b.finding)));
    let first = now.marginals[signs.len()..].iter().copied().fold(0.0, f64::max);
    Ok(CaseFit { conflict: conflict(&alone, now.log_evidence - log_record), unexplained, first })
}
