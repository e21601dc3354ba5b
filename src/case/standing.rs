//! The ranking that a set of answers leads to.

use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, InferenceError, Method, NodeId, Posterior};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Urgency;

/// One part in the ranking.
#[derive(Debug, Clone)]
pub struct Suspect {
    /// Id of the part.
    pub part: String,
    /// Chance that any of its failures is present.
    pub chance: f64,
    /// Its failures, likeliest first.
    pub failures: Vec<Likely>,
    /// Most urgent of its failures that is at least half as likely as its likeliest.
    pub urgency: Urgency,
}

/// One node with its chance.
#[derive(Debug, Clone)]
pub struct Likely {
    /// Id in the rule book.
    pub id: String,
    /// Chance that it is present.
    pub chance: f64,
}

/// Where things stand: every chance that matters, given the answers so far.
#[derive(Debug, Clone)]
pub struct Standing {
    /// Parts, likeliest first.
    pub suspects: Vec<Suspect>,
    /// Failures of all parts, likeliest first.
    pub failures: Vec<Likely>,
    /// States, likeliest first.
    pub states: Vec<Likely>,
    /// History facts, likeliest first.
    pub history: Vec<Likely>,
    /// Natural logarithm of the chance of these answers.
    pub log_evidence: f64,
    /// How the chances were worked out.
    pub method: Method,
}

impl Standing {
    /// The states with their chances, likeliest first.
    pub fn state_chances(&self) -> impl Iterator<Item = (&str, f64)> {
        self.states.iter().map(|likely| (likely.id.as_str(), likely.chance))
    }

    /// Chance of a part or failure; 0 if this vehicle cannot have it.
    pub fn chance(&self, id: &str) -> f64 {
        let failure = self.failures.iter().find(|likely| likely.id == id).map(|likely| likely.chance);
        let part = || self.suspects.iter().find(|suspect| suspect.part == id).map(|suspect| suspect.chance);
        failure.or_else(part).unwrap_or(0.0)
    }
}

/// The ranking given `evidence`: exact unless its method says otherwise.
pub fn standing(
    book: &RuleBook,
    graph: &CauseGraph,
    engine: &Engine,
    evidence: &Evidence,
) -> Result<Standing, InferenceError> {
    let targets = graph.hidden();
    let posterior = engine.posterior(graph.network(), evidence, &targets)?;
    Ok(from_posterior(book, graph, &posterior))
}

/// The ranking that a posterior over [`CauseGraph::hidden`] amounts to.
pub fn from_posterior(book: &RuleBook, graph: &CauseGraph, posterior: &Posterior) -> Standing {
    of_targets(book, graph, &graph.hidden(), posterior)
}

/// The same from a posterior over some nodes only; what is not among them stands at 0.
pub fn of_targets(
    book: &RuleBook,
    graph: &CauseGraph,
    targets: &[NodeId],
    posterior: &Posterior,
) -> Standing {
    let mut chances = vec![0.0; graph.len()];
    for (&node, &chance) in targets.iter().zip(&posterior.marginals) {
        chances[node] = chance;
    }
    let chance = |node: NodeId| chances[node];
    let listed = |kind: NodeKind| {
        let mut list: Vec<Likely> = graph
            .of_kind(kind)
            .into_iter()
            .map(|node| Likely { id: graph.key(node).to_owned(), chance: chance(node) })
            .collect();
        list.sort_by(likeliest_first);
        list
    };
    let mut suspects: Vec<Suspect> = graph
        .of_kind(NodeKind::Part)
        .into_iter()
        .map(|node| {
            let mut failures: Vec<Likely> = graph
                .causes(node)
                .into_iter()
                .map(|(failure, _)| Likely { id: graph.key(failure).to_owned(), chance: chance(failure) })
                .collect();
            failures.sort_by(likeliest_first);
            let urgency = most_urgent(book, &failures);
            Suspect { part: graph.key(node).to_owned(), chance: chance(node), failures, urgency }
        })
        .collect();
    suspects.sort_by(|a, b| larger(a.chance, b.chance).then_with(|| a.part.cmp(&b.part)));
    Standing {
        suspects,
        failures: listed(NodeKind::Failure),
        states: listed(NodeKind::State),
        history: listed(NodeKind::History),
        log_evidence: posterior.log_evidence,
        method: posterior.method,
    }
}

fn likeliest_first(a: &Likely, b: &Likely) -> std::cmp::Ordering {
    larger(a.chance, b.chance).then_with(|| a.id.cmp(&b.id))
}

/// The larger chance first. What differs by rounding only is a tie, so that the order does not hang on the order of sums.
fn larger(a: f64, b: f64) -> std::cmp::Ordering {
    let digits = |chance: f64| (chance * 1e12).round();
    digits(b).total_cmp(&digits(a))
}

fn most_urgent(book: &RuleBook, failures: &[Likely]) -> Urgency {
    let floor = failures.first().map_or(0.0, |likely| likely.chance / 2.0);
    failures
        .iter()
        .take_while(|likely| likely.chance >= floor)
        .filter_map(|likely| book.failures.get(&likely.id))
        .map(|failure| failure.urgency)
        .max()
        .unwrap_or(Urgency::Plan)
}
