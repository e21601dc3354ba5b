//! Whether a failure that is there is to blame for what the vehicle was brought in for.
//!
//! Finding something wrong is not yet finding what it was brought in for: a hose clamp may well be loose on an engine that
//! grinds. In a noisy-OR, a cause that alone brings an effect on with chance `reach`, beside others that bring it on
//! with chance `other`, has brought it on, if both are there, with chance `reach / (reach + (1 - reach) other)`: Bayes'
//! rule, as the link acts independently of everything else.

use crate::case::{Case, Gathered, Said};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, InferenceError, NodeId};
use crate::rulebook::RuleBook;

use super::cost::Remedies;

/// The findings that the vehicle is to be rid of: the symptoms it was brought in for; where the case does not say which
/// those are, all symptoms that are there; without any, all that checks have found.
pub fn complaint(book: &RuleBook, graph: &CauseGraph, case: &Case, gathered: &Gathered) -> Vec<NodeId> {
    let there = |ask: &String| {
        let yes = |(asked, said): &(String, Said)| asked == ask && *said == Said::Yes;
        if gathered.used.iter().any(yes) { graph.node(ask) } else { None }
    };
    let brought: Vec<NodeId> = case.brought.iter().filter_map(there).collect();
    if !brought.is_empty() {
        return brought;
    }
    let asked = gathered.used.iter().map(|(ask, _)| ask);
    let symptoms: Vec<NodeId> =
        asked.filter(|ask| book.symptoms.contains_key(*ask)).filter_map(there).collect();
    if !symptoms.is_empty() {
        return symptoms;
    }
    let found = |&(node, (absent, present)): &(NodeId, (f64, f64))| {
        present > absent && !matches!(graph.get(node).kind, NodeKind::History | NodeKind::Failure)
    };
    gathered.evidence.pairs().filter(found).map(|(node, _)| node).collect()
}

/// For each failure, in the order of the remedies: how likely it is to blame for one of the `complaint`, if it is there.
///
/// `other` is put together from the chances of the other failures as they are without the complaint, taken as
/// independent of each other. A failure that brings the complaint on only through another one is not to blame itself:
/// mending it would leave the other. Without a complaint every failure is to blame.
pub fn shares(
    graph: &CauseGraph,
    engine: &Engine,
    remedies: &Remedies,
    evidence: &Evidence,
    complaint: &[NodeId],
) -> Result<Vec<f64>, InferenceError> {
    let count = remedies.failures.len();
    if complaint.is_empty() {
        return Ok(vec![1.0; count]);
    }
    let without = evidence.without(complaint);
    let usual = engine.posterior(graph.network(), &without, &remedies.failures)?.marginals;
    let ways = Ways::new(graph, remedies, complaint);
    let reach: Vec<Vec<f64>> = remedies.failures.iter().map(|&failure| ways.from(failure)).collect();
    let by_itself = ways.by_itself(&without);
    let mut shares = vec![0.0_f64; count];
    for (k, itself) in by_itself.into_iter().enumerate() {
        let absent = |at: usize| 1.0 - usual[at] * reach[at][k];
        for (at, share) in shares.iter_mut().enumerate() {
            let others = (0..count).filter(|&other| other != at).map(absent).product::<f64>();
            let other = 1.0 - (1.0 - itself) * others;
            let reach = reach[at][k];
            if reach > 0.0 {
                *share = share.max(reach / (reach + (1.0 - reach) * other));
            }
        }
    }
    Ok(shares)
}

/// The ways from failures to the complaint.
struct Ways<'a> {
    graph: &'a CauseGraph,
    complaint: &'a [NodeId],
    /// Whether a node is a failure with a repair of its own: ways end there.
    ends: Vec<bool>,
    last: NodeId,
}

impl<'a> Ways<'a> {
    fn new(graph: &'a CauseGraph, remedies: &Remedies, complaint: &'a [NodeId]) -> Self {
        let mut ends = vec![false; graph.len()];
        for &failure in &remedies.failures {
            ends[failure] = true;
        }
        for &at in &remedies.harmless {
            ends[remedies.failures[at]] = false;
        }
        Self { graph, complaint, ends, last: complaint.iter().copied().max().unwrap_or(0) }
    }

    /// The chance that a failure, alone, brings on each of the complaint.
    fn from(&self, failure: NodeId) -> Vec<f64> {
        let mut there = vec![0.0; self.graph.len()];
        there[failure] = 1.0;
        for node in failure + 1..=self.last {
            if !self.ends[node] {
                there[node] = self.noisy_or(node, 0.0, &there);
            }
        }
        self.complaint.iter().map(|&node| there[node]).collect()
    }

    /// The chance of each of the complaint with no failure that has a repair; history as it is known.
    fn by_itself(&self, evidence: &Evidence) -> Vec<f64> {
        let mut there = vec![0.0; self.graph.len()];
        for node in 0..=self.last {
            if self.ends[node] {
                continue;
            }
            let (absent, present) = evidence.pair(node);
            let known = self.graph.get(node).kind == NodeKind::History && (absent == 0.0) != (present == 0.0);
            there[node] = if known {
                f64::from(u8::from(present > 0.0))
            } else {
                self.noisy_or(node, self.graph.network().node(node).background, &there)
            };
        }
        self.complaint.iter().map(|&node| there[node]).collect()
    }

    fn noisy_or(&self, node: NodeId, background: f64, there: &[f64]) -> f64 {
        let causes = &self.graph.network().node(node).parents;
        let absent: f64 = causes.iter().map(|&(cause, weight)| 1.0 - weight * there[cause]).product();
        1.0 - (1.0 - background) * absent
    }
}
