//! The strongest causal story: the chain from what started it to what was noticed.
//!
//! Among the things that are probably there, every arrow of the graph is as long as the surprise (`-ln`) of
//! "this cause brought that effect on" ([`Credit`](super::credit::Credit)); the strongest chain is the
//! shortest way through the suspect. Multiplying the shares along the chain treats each link as settled by its own two
//! ends, so `strength` orders chains; the share of each single link is exact.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::astar;
use petgraph::graph::{DiGraph, NodeIndex};

use super::credit::{Credit, credit};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, InferenceError, NodeId};

/// Things less likely than this have no place in a story.
const THERE: f64 = 0.08;

/// One step of a chain.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The node.
    pub node: NodeId,
    /// Chance that it is there.
    pub chance: f64,
    /// How likely the step before brought it on, if it is there; for the first step: how likely it came of
    /// itself.
    pub share: f64,
}

/// A chain from a root to a sign, through one suspect failure.
#[derive(Debug, Clone, PartialEq)]
pub struct Story {
    /// The failure it is about.
    pub failure: NodeId,
    /// The chain, causes first. It ends at a sign that was seen, or at the failure when none is explained by it.
    pub steps: Vec<Step>,
    /// Product of the shares.
    pub strength: f64,
    /// Other signs that were seen and that the failure probably brought on, with the strength of the way there.
    pub also: Vec<(NodeId, f64)>,
}

/// The credits of everything that is probably there.
#[derive(Debug, Clone)]
pub struct Credits {
    by_node: BTreeMap<NodeId, Credit>,
}

impl Credits {
    /// Works out who brought on each sign and each of `failures`, and whatever lies above them and is probably
    /// there: at most `most` nodes, the likeliest first, and the signs in any case.
    ///
    /// `chances` are those of all nodes by number (signs included), `signs` the findings that were seen.
    pub fn of(
        graph: &CauseGraph,
        engine: &Engine,
        evidence: &Evidence,
        (chances, log_evidence): (&[f64], f64),
        (signs, failures): (&[NodeId], &[NodeId]),
        most: usize,
    ) -> Result<Self, InferenceError> {
        let mut wanted: BTreeSet<NodeId> = signs.iter().chain(failures).copied().collect();
        let mut open: Vec<NodeId> = wanted.iter().copied().collect();
        while let Some(node) = open.pop() {
            for (cause, _) in graph.causes(node) {
                if chances[cause] >= THERE && wanted.insert(cause) {
                    open.push(cause);
                }
            }
        }
        let mut wanted: Vec<NodeId> =
            wanted.into_iter().filter(|&node| !graph.causes(node).is_empty()).collect();
        let is_sign = |node: &NodeId| signs.contains(node) || failures.contains(node);
        wanted.sort_by(|a, b| {
            is_sign(b).cmp(&is_sign(a)).then(chances[*b].total_cmp(&chances[*a])).then(a.cmp(b))
        });
        wanted.truncate(most.max(signs.len() + failures.len()));
        let by_node = wanted
            .into_iter()
            .map(|node| {
                let asked = (node, chances[node], log_evidence);
                Ok((node, credit(engine, graph.network(), evidence, asked)?))
            })
            .collect::<Result<_, InferenceError>>()?;
        Ok(Self { by_node })
    }

    /// Who brought on a node, if it was worked out. Nodes without causes came of themselves.
    pub fn get(&self, node: NodeId) -> Option<&Credit> {
        self.by_node.get(&node)
    }

    /// All of them, by node.
    pub fn all(&self) -> impl Iterator<Item = &Credit> {
        self.by_node.values()
    }

    fn own_share(&self, graph: &CauseGraph, node: NodeId) -> f64 {
        match self.get(node) {
            Some(credit) => credit.own_share(),
            None => f64::from(u8::from(graph.causes(node).is_empty())),
        }
    }
}

/// Distances as petgraph wants them: a surprise that is never negative.
fn surprise(share: f64) -> f64 {
    if share > 0.0 { -share.min(1.0).ln() } else { f64::INFINITY }
}

/// The strongest story of each failure in `failures`.
pub fn stories(
    graph: &CauseGraph,
    credits: &Credits,
    chances: &[f64],
    signs: &[NodeId],
    failures: &[NodeId],
) -> Vec<Story> {
    // Node `len` is the start, from which everything can come of itself.
    let start = NodeIndex::new(graph.len());
    let mut ways: DiGraph<(), f64> = DiGraph::new();
    for _ in 0..=graph.len() {
        ways.add_node(());
    }
    let there = |node: NodeId| chances[node] >= THERE;
    for node in (0..graph.len()).filter(|&node| there(node) && graph.get(node).kind != NodeKind::Part) {
        let own = credits.own_share(graph, node);
        if own > 0.0 {
            ways.add_edge(start, NodeIndex::new(node), surprise(own));
        }
        let Some(credit) = credits.get(node) else { continue };
        for &(cause, _) in &credit.causes {
            let share = credit.share(cause);
            if there(cause) && share > 0.0 {
                ways.add_edge(NodeIndex::new(cause), NodeIndex::new(node), surprise(share));
            }
        }
    }
    let shortest = |from: NodeIndex, to: NodeId| {
        let goal = NodeIndex::new(to);
        astar(&ways, from, |node| node == goal, |edge| *edge.weight(), |_| 0.0)
    };
    failures
        .iter()
        .map(|&failure| {
            let at = NodeIndex::new(failure);
            let (up, root) = shortest(start, failure).unwrap_or((0.0, vec![start, at]));
            let mut down: Vec<(NodeId, f64, Vec<NodeIndex>)> = signs
                .iter()
                .filter_map(|&sign| shortest(at, sign).map(|(length, way)| (sign, length, way)))
                .collect();
            // A sign that the failure hardly accounts for is not part of its story.
            down.retain(|&(_, length, _)| length <= surprise(0.15));
            down.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
            // Of signs about as strongly tied to it, the one farther down the chain tells more.
            let nearest = down.first().map_or(0.0, |&(_, length, _)| length);
            let main = down
                .iter()
                .enumerate()
                .filter(|(_, (_, length, _))| *length <= nearest + surprise(0.7))
                .max_by_key(|(at, (_, _, way))| (way.len(), std::cmp::Reverse(*at)))
                .map(|(at, _)| at);
            let main = main.map(|at| down.remove(at));
            let way = root[1..].iter().chain(main.iter().flat_map(|(_, _, way)| &way[1..]));
            let mut steps: Vec<Step> = Vec::new();
            for node in way.map(|node| node.index()) {
                let share = match steps.last() {
                    None => credits.own_share(graph, node),
                    Some(before) => credits.get(node).map_or(1.0, |credit| credit.share(before.node)),
                };
                steps.push(Step { node, chance: chances[node], share });
            }
            Story {
                failure,
                strength: (-up - main.as_ref().map_or(0.0, |&(_, length, _)| length)).exp(),
                steps,
                also: down.into_iter().map(|(sign, length, _)| (sign, (-length).exp())).collect(),
            }
        })
        .collect()
}
