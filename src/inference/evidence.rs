//! What has been seen: hard answers, soft readings, and small tables over exclusive outcomes.

use std::collections::BTreeMap;

use thiserror::Error;

use super::network::{Network, NodeId};

/// A likelihood over the joint state of a few nodes: `P(what was read | states)`.
#[derive(Debug, Clone, PartialEq)]
pub struct TableEvidence {
    /// The nodes, each once.
    pub nodes: Vec<NodeId>,
    /// `2^nodes.len()` non-negative numbers; bit `i` of the index is set when `nodes[i]` is present.
    pub likelihoods: Vec<f64>,
}

/// Everything observed so far. Pieces of evidence on the same node multiply, in any order.
///
/// A likelihood pair `(P(seen | absent), P(seen | present))` is Pearl's virtual evidence: only the ratio
/// matters for chances, while `log_evidence` counts the numbers as they are.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Evidence {
    likelihoods: BTreeMap<NodeId, (f64, f64)>,
    tables: Vec<TableEvidence>,
}

/// Evidence that is not usable on the given network.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum EvidenceError {
    /// A node id beyond the network.
    #[error("evidence names node {node}, but the network has only {len} nodes")]
    UnknownNode {
        /// The id.
        node: NodeId,
        /// The number of nodes.
        len: usize,
    },
    /// A likelihood that is negative, infinite or not a number.
    #[error("evidence on node {node} has the likelihood {value}; it must be finite and not negative")]
    Likelihood {
        /// The node, or the first one of a table.
        node: NodeId,
        /// What was found.
        value: f64,
    },
    /// A table with the wrong number of entries, too many nodes, or a node twice.
    #[error("a table of evidence over {nodes:?} is wrong: {reason}")]
    Table {
        /// The nodes it names.
        nodes: Vec<NodeId>,
        /// What was found and what is allowed.
        reason: String,
    },
}

/// A table of evidence covers at most this many nodes.
pub const MAX_TABLE_NODES: usize = 10;

impl Evidence {
    /// Nothing observed.
    pub fn new() -> Self {
        Self::default()
    }

    /// The node was seen to be present.
    #[must_use]
    pub fn present(self, node: NodeId) -> Self {
        self.likelihood(node, 0.0, 1.0)
    }

    /// The node was seen to be absent.
    #[must_use]
    pub fn absent(self, node: NodeId) -> Self {
        self.likelihood(node, 1.0, 0.0)
    }

    /// The node was seen to be present or absent.
    #[must_use]
    pub fn observed(self, node: NodeId, present: bool) -> Self {
        if present { self.present(node) } else { self.absent(node) }
    }

    /// Something was seen that has chance `if_absent` when the node is absent and `if_present` when it is present.
    #[must_use]
    pub fn likelihood(mut self, node: NodeId, if_absent: f64, if_present: f64) -> Self {
        let pair = self.likelihoods.entry(node).or_insert((1.0, 1.0));
        *pair = (pair.0 * if_absent, pair.1 * if_present);
        self
    }

    /// Something was seen whose chance depends on several nodes at once, such as a reading over the exclusive
    /// outcomes of one check. Bit `i` of an index into `likelihoods` is set when `nodes[i]` is present.
    #[must_use]
    pub fn table(mut self, nodes: &[NodeId], likelihoods: Vec<f64>) -> Self {
        self.tables.push(TableEvidence { nodes: nodes.to_vec(), likelihoods });
        self
    }

    /// A soft reading over exclusive outcomes: `normal` is its likelihood when every node is absent,
    /// `outcomes[i]` when exactly `nodes[i]` is present; two at once are ruled out.
    #[must_use]
    pub fn exclusive(self, nodes: &[NodeId], normal: f64, outcomes: &[f64]) -> Self {
        if nodes.len() > MAX_TABLE_NODES {
            // Kept as it is, so that `check` refuses it with its own words.
            return self.table(nodes, Vec::new());
        }
        let mut likelihoods = vec![0.0; 1 << nodes.len()];
        likelihoods[0] = normal;
        for (i, &likelihood) in outcomes.iter().take(nodes.len()).enumerate() {
            likelihoods[1 << i] = likelihood;
        }
        self.table(nodes, likelihoods)
    }

    /// The same without what is known of some nodes. Tables that name one of them go too.
    #[must_use]
    pub fn without(&self, nodes: &[NodeId]) -> Self {
        let mut rest = self.clone();
        rest.likelihoods.retain(|node, _| !nodes.contains(node));
        rest.tables.retain(|table| !table.nodes.iter().any(|node| nodes.contains(node)));
        rest
    }

    /// The product of all likelihood pairs given for `node`: `(1, 1)` when nothing was.
    pub fn pair(&self, node: NodeId) -> (f64, f64) {
        self.likelihoods.get(&node).copied().unwrap_or((1.0, 1.0))
    }

    /// The observed nodes with their likelihood pairs, in id order.
    pub fn pairs(&self) -> impl Iterator<Item = (NodeId, (f64, f64))> + '_ {
        self.likelihoods.iter().map(|(&node, &pair)| (node, pair))
    }

    /// The tables in the order they were added.
    pub fn tables(&self) -> &[TableEvidence] {
        &self.tables
    }

    /// Whether nothing was observed.
    pub fn is_empty(&self) -> bool {
        self.likelihoods.is_empty() && self.tables.is_empty()
    }

    /// Checks that the evidence fits `network`.
    pub fn check(&self, network: &Network) -> Result<(), EvidenceError> {
        let len = network.len();
        let usable = |value: f64| value.is_finite() && value >= 0.0;
        for (&node, &(if_absent, if_present)) in &self.likelihoods {
            if node >= len {
                return Err(EvidenceError::UnknownNode { node, len });
            }
            if let Some(value) = [if_absent, if_present].into_iter().find(|&v| !usable(v)) {
                return Err(EvidenceError::Likelihood { node, value });
            }
        }
        for table in &self.tables {
            let fault = |reason: String| Err(EvidenceError::Table { nodes: table.nodes.clone(), reason });
            if let Some(&node) = table.nodes.iter().find(|&&node| node >= len) {
                return Err(EvidenceError::UnknownNode { node, len });
            }
            if table.nodes.is_empty() || table.nodes.len() > MAX_TABLE_NODES {
                return fault(format!("from 1 to {MAX_TABLE_NODES} nodes are allowed"));
            }
            let mut sorted = table.nodes.clone();
            sorted.sort_unstable();
            if let Some(&[twice, _]) = sorted.array_windows::<2>().find(|[a, b]| a == b) {
                return fault(format!("node {twice} is named twice"));
            }
            let wanted = 1_usize << table.nodes.len();
            if table.likelihoods.len() != wanted {
                return fault(format!("{} entries; {wanted} are needed", table.likelihoods.len()));
            }
            if let Some(&value) = table.likelihoods.iter().find(|&&v| !usable(v)) {
                return Err(EvidenceError::Likelihood { node: table.nodes[0], value });
            }
        }
        Ok(())
    }
}
