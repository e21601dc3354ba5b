//! The abstract network: yes/no nodes, each a leaky noisy-OR of its parents (or, rarely, a full table).

use std::collections::BTreeMap;

use rand::Rng;
use thiserror::Error;

/// A node's place in its [`Network`]. Parents always have smaller ids than their children.
pub type NodeId = usize;

/// One yes/no node: a leaky noisy-OR of its parents.
///
/// With net weights (Díez 1993) the background and every weight act independently:
/// `P(absent | causes) = (1 - background) * product over present parents of (1 - weight)`.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// The chance, 0..=1, that the node is present with none of its parents present. A root's prior.
    pub background: f64,
    /// Each parent with the chance, 0..=1, that it alone brings this node on.
    pub parents: Vec<(NodeId, f64)>,
}

impl Node {
    /// A node without parents, present with chance `prior`.
    pub fn root(prior: f64) -> Self {
        Self { background: prior, parents: Vec::new() }
    }

    /// A node with parents and net weights.
    pub fn noisy_or(background: f64, parents: Vec<(NodeId, f64)>) -> Self {
        Self { background, parents }
    }

    /// A node that is present exactly when any of `parents` is: a part and its failures.
    pub fn any_of(parents: impl IntoIterator<Item = NodeId>) -> Self {
        Self { background: 0.0, parents: parents.into_iter().map(|p| (p, 1.0)).collect() }
    }
}

/// What is wrong with the numbers or the order of a network.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NetworkError {
    /// A background outside 0..=1, or not a number.
    #[error("node {node} has background {value}; it must be a number from 0 to 1")]
    Background {
        /// The node.
        node: NodeId,
        /// What was found.
        value: f64,
    },
    /// A weight outside 0..=1, or not a number.
    #[error("the link {parent} -> {node} has weight {value}; it must be a number from 0 to 1")]
    Weight {
        /// The child.
        node: NodeId,
        /// The parent.
        parent: NodeId,
        /// What was found.
        value: f64,
    },
    /// A parent that does not come before its child.
    #[error("node {node} lists parent {parent}; parents must have smaller ids than their children")]
    Order {
        /// The child.
        node: NodeId,
        /// The parent.
        parent: NodeId,
    },
    /// The same parent twice.
    #[error("node {node} lists parent {parent} more than once")]
    Duplicate {
        /// The child.
        node: NodeId,
        /// The parent.
        parent: NodeId,
    },
    /// A table that does not fit its node.
    #[error("the table of node {node} is wrong: {reason}")]
    Table {
        /// The node.
        node: NodeId,
        /// What was found and what is allowed.
        reason: String,
    },
}

/// A checked network of yes/no nodes in topological order.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    nodes: Vec<Node>,
    children: Vec<Vec<NodeId>>,
    tables: BTreeMap<NodeId, Vec<f64>>,
}

/// Nodes given by a full table have at most this many parents.
const MAX_TABLE_PARENTS: usize = 16;

impl Network {
    /// Checks `nodes` and builds the network.
    ///
    /// Errors name the first node with a number that is not within 0..=1, a parent that is not smaller than
    /// its child, or a parent listed twice.
    pub fn new(nodes: Vec<Node>) -> Result<Self, NetworkError> {
        Self::with_tables(nodes, BTreeMap::new())
    }

    /// As [`Network::new`], with some nodes given by a full table instead of a noisy-OR.
    ///
    /// A table lists `P(present | parents)` for every state of the node's parents: bit `i` of the index is set
    /// when `parents[i]` is present. The node's own background and weights are then not used (but still
    /// checked). Meant for textbook networks and the odd AND; at most 16 parents.
    pub fn with_tables(nodes: Vec<Node>, tables: BTreeMap<NodeId, Vec<f64>>) -> Result<Self, NetworkError> {
        let is_chance = |p: f64| (0.0..=1.0).contains(&p);
        let mut children = vec![Vec::new(); nodes.len()];
        for (id, node) in nodes.iter().enumerate() {
            if !is_chance(node.background) {
                return Err(NetworkError::Background { node: id, value: node.background });
            }
            let mut seen: Vec<NodeId> = node.parents.iter().map(|&(parent, _)| parent).collect();
            seen.sort_unstable();
            if let Some(pair) = seen.windows(2).find(|pair| pair[0] == pair[1]) {
                return Err(NetworkError::Duplicate { node: id, parent: pair[0] });
            }
            for &(parent, weight) in &node.parents {
                if parent >= id {
                    return Err(NetworkError::Order { node: id, parent });
                }
                if !is_chance(weight) {
                    return Err(NetworkError::Weight { node: id, parent, value: weight });
                }
                children[parent].push(id);
            }
        }
        for (&node, table) in &tables {
            let fault = |reason: String| Err(NetworkError::Table { node, reason });
            let Some(parents) = nodes.get(node).map(|n| n.parents.len()) else {
                return fault(format!("there are only {} nodes", nodes.len()));
            };
            if parents > MAX_TABLE_PARENTS {
                return fault(format!("{parents} parents; at most {MAX_TABLE_PARENTS} are allowed"));
            }
            if table.len() != 1 << parents {
                return fault(format!(
                    "{} entries; {parents} parents need {}",
                    table.len(),
                    1_u32 << parents
                ));
            }
            if let Some(value) = table.iter().find(|&&p| !is_chance(p)) {
                return fault(format!("it holds {value}; every entry must be from 0 to 1"));
            }
        }
        Ok(Self { nodes, children, tables })
    }

    /// How many nodes there are; ids run from 0 to one below.
    pub fn len(&self) -> usize {
        self.nodes.len()
    }

    /// Whether there are no nodes at all.
    pub fn is_empty(&self) -> bool {
        self.nodes.is_empty()
    }

    /// One node. Panics when `id` is not in the network.
    pub fn node(&self, id: NodeId) -> &Node {
        &self.nodes[id]
    }

    /// All nodes in id order.
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// The nodes that list `id` as a parent, in id order.
    pub fn children(&self, id: NodeId) -> &[NodeId] {
        &self.children[id]
    }

    /// The full table of a node, when it has one in place of a noisy-OR.
    pub fn table(&self, id: NodeId) -> Option<&[f64]> {
        self.tables.get(&id).map(Vec::as_slice)
    }

    /// The chance that `id` is present when `present(parent)` tells the state of each parent.
    pub fn chance_given(&self, id: NodeId, mut present: impl FnMut(NodeId) -> bool) -> f64 {
        let node = &self.nodes[id];
        if let Some(table) = self.tables.get(&id) {
            let states = node.parents.iter().enumerate();
            return table[states.fold(0, |index, (i, &(p, _))| index | usize::from(present(p)) << i)];
        }
        // Built up from below, never as `1 - product`, so that small chances keep their digits.
        let mut chance = node.background;
        for &(parent, weight) in &node.parents {
            if present(parent) {
                chance += (1.0 - chance) * weight;
            }
        }
        chance
    }

    /// Draws the state of every node, causes before effects. The same generator state gives the same draw.
    pub fn sample(&self, random: &mut impl Rng) -> Vec<bool> {
        let mut states = Vec::with_capacity(self.len());
        for id in 0..self.len() {
            let chance = self.chance_given(id, |parent| states[parent]);
            states.push(random.random::<f64>() < chance);
        }
        states
    }
}
