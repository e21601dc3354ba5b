//! Rule book and vehicle to a cause graph: what can happen on *this* vehicle, and how likely each cause
//! alone brings on each effect.
//!
//! The graph is a petgraph directed acyclic graph whose node indices run in topological order, so the same
//! numbers name a node in the graph and in the [`Network`] that inference works on. Parts, checks and
//! symptoms the vehicle cannot have are left out; a part that only some vehicles have is scaled by their
//! share while the fact is unknown; age scales a failure's base ([`wear`]).

pub mod age;
mod build;
mod slips;
pub mod wear;

use std::collections::BTreeMap;

use petgraph::Direction;
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::EdgeRef;

use crate::inference::{Network, NodeId};

pub use build::{GraphError, build};
pub use slips::{Slips, asked};

/// What a node of the graph stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum NodeKind {
    /// A fact about the vehicle's past or setting.
    History,
    /// One way in which a part fails.
    Failure,
    /// What the system does because of failures.
    State,
    /// A symptom.
    Symptom,
    /// One outcome of a check that is not normal; its key is `check/outcome`.
    Outcome,
    /// A part: it has failed if any of its failures is present.
    Part,
}

/// One node of the graph.
#[derive(Debug, Clone)]
pub struct GraphNode {
    /// The id in the rule book, or `check/outcome`.
    pub key: String,
    /// What it stands for.
    pub kind: NodeKind,
    /// Chance that it is there with none of its listed causes; for a node without causes, its prior.
    pub background: f64,
    /// How age scaled the base, if an age was known.
    pub wear: Option<f64>,
    /// Share of vehicles that have it at all, while a fact that decides it is unknown (else 1).
    pub share: f64,
}

/// The cause graph of one vehicle.
#[derive(Debug, Clone)]
pub struct CauseGraph {
    graph: DiGraph<GraphNode, f64>,
    by_key: BTreeMap<String, NodeId>,
    checks: Vec<(String, Vec<NodeId>)>,
    network: Network,
    /// What `network` is for answers that are all true.
    true_network: Network,
    /// Shares of answers that are wrong.
    slips: Slips,
}

impl CauseGraph {
    /// The network that inference works on; node numbers are the same as here.
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// The same for answers that are taken to be true, whatever share of slips the graph was given.
    pub fn true_network(&self) -> &Network {
        &self.true_network
    }

    /// The petgraph graph: weights on its edges run from cause to effect, as the book has them.
    pub fn graph(&self) -> &DiGraph<GraphNode, f64> {
        &self.graph
    }

    /// Number of nodes.
    pub fn len(&self) -> usize {
        self.graph.node_count()
    }

    /// Whether the graph is empty.
    pub fn is_empty(&self) -> bool {
        self.graph.node_count() == 0
    }

    /// The node of an id (or `check/outcome`), if this vehicle can have it.
    pub fn node(&self, key: &str) -> Option<NodeId> {
        self.by_key.get(key).copied()
    }

    /// What a node stands for.
    ///
    /// # Panics
    /// If `node` is not a number this graph gave out.
    pub fn get(&self, node: NodeId) -> &GraphNode {
        &self.graph[NodeIndex::new(node)]
    }

    /// The key of a node.
    pub fn key(&self, node: NodeId) -> &str {
        &self.get(node).key
    }

    /// All nodes of one kind, in book order within the topological order.
    pub fn of_kind(&self, kind: NodeKind) -> Vec<NodeId> {
        (0..self.len()).filter(|&node| self.get(node).kind == kind).collect()
    }

    /// Parts, failures, states and history: every node a ranking gives a chance for.
    pub fn hidden(&self) -> Vec<NodeId> {
        (0..self.len())
            .filter(|&node| !matches!(self.get(node).kind, NodeKind::Symptom | NodeKind::Outcome))
            .collect()
    }

    /// The checks that make sense on this vehicle, in book order, each with the nodes of its outcomes.
    pub fn checks(&self) -> &[(String, Vec<NodeId>)] {
        &self.checks
    }

    /// The outcomes of one check, in book order; empty if the check does not suit the vehicle.
    pub fn outcomes(&self, check: &str) -> &[NodeId] {
        self.checks.iter().find(|(id, _)| id == check).map_or(&[], |(_, nodes)| nodes)
    }

    /// Causes of a node with their weights as the book has them.
    pub fn causes(&self, node: NodeId) -> Vec<(NodeId, f64)> {
        self.neighbours(node, Direction::Incoming)
    }

    /// Effects of a node with their weights as the book has them.
    pub fn effects(&self, node: NodeId) -> Vec<(NodeId, f64)> {
        self.neighbours(node, Direction::Outgoing)
    }

    fn neighbours(&self, node: NodeId, direction: Direction) -> Vec<(NodeId, f64)> {
        let mut found: Vec<(NodeId, f64)> = self
            .graph
            .edges_directed(NodeIndex::new(node), direction)
            .map(|edge| {
                let other = if direction == Direction::Incoming { edge.source() } else { edge.target() };
                (other.index(), *edge.weight())
            })
            .collect();
        found.sort_by_key(|&(other, _)| other);
        found
    }

    /// The failures of a part that this vehicle can have.
    pub fn failures_of(&self, part: &str) -> Vec<NodeId> {
        self.node(part)
            .map_or_else(Vec::new, |node| self.causes(node).into_iter().map(|(failure, _)| failure).collect())
    }
}
