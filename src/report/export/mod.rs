//! The cause graph for other eyes and other programs: pictures, tables, and open Bayesian-network formats.

mod bif;
mod csv;
mod dot;
mod dump;
mod layout;
mod svg;
pub mod tables;
mod xmlbif;

use std::collections::BTreeSet;

pub use bif::bif;
pub use csv::csv;
pub use dot::dot;
pub use dump::json;
pub use svg::svg;
pub use tables::{Table, tables};
pub use xmlbif::xmlbif;

use super::plain;
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::NodeId;
use crate::rulebook::RuleBook;

/// What is drawn or listed: a graph, and which of its nodes.
pub struct View<'a> {
    /// The book.
    pub book: &'a RuleBook,
    /// The graph of one vehicle.
    pub graph: &'a CauseGraph,
    /// The nodes shown, in the graph's order.
    pub nodes: Vec<NodeId>,
    /// The node it was drawn around.
    pub centre: Option<NodeId>,
    /// What it is a picture of.
    pub title: String,
}

impl<'a> View<'a> {
    /// Everything but the parts, which are only "any of its failures".
    pub fn whole(book: &'a RuleBook, graph: &'a CauseGraph) -> Self {
        let nodes = (0..graph.len()).filter(|&node| graph.get(node).kind != NodeKind::Part).collect();
        Self { book, graph, nodes, centre: None, title: plain(&book.head.title) }
    }

    /// A node with what brings it on and what it brings on, `steps` links up and down; for a part, around its failures.
    pub fn around(book: &'a RuleBook, graph: &'a CauseGraph, centre: NodeId, steps: usize) -> Self {
        let is_part = |node: NodeId| graph.get(node).kind == NodeKind::Part;
        let mut shown = BTreeSet::from([centre]);
        let from: Vec<NodeId> = if is_part(centre) {
            graph.causes(centre).into_iter().map(|(node, _)| node).collect()
        } else {
            vec![centre]
        };
        shown.extend(&from);
        for up in [true, false] {
            let mut edge = from.clone();
            for _ in 0..steps {
                let next =
                    edge.iter().flat_map(|&node| if up { graph.causes(node) } else { graph.effects(node) });
                edge = next.map(|(node, _)| node).filter(|&node| !is_part(node)).collect();
                edge.sort_unstable();
                edge.dedup();
                shown.extend(&edge);
            }
        }
        let title = format!("{} and what is near it", name(book, graph, centre));
        Self { book, graph, nodes: shown.into_iter().collect(), centre: Some(centre), title }
    }

    /// The links among the nodes shown, by effect, then by cause.
    pub fn links(&self) -> Vec<(NodeId, NodeId, f64)> {
        let shown: BTreeSet<NodeId> = self.nodes.iter().copied().collect();
        let into = |&effect: &NodeId| {
            let causes = self.graph.causes(effect).into_iter().filter(|(cause, _)| shown.contains(cause));
            causes.map(move |(cause, weight)| (cause, effect, weight)).collect::<Vec<_>>()
        };
        self.nodes.iter().flat_map(into).collect()
    }

    /// A node's name in words.
    pub fn name(&self, node: NodeId) -> String {
        name(self.book, self.graph, node)
    }

    /// A weight as it is said: the number, and the word if the book has one for it.
    pub fn weight(&self, cause: NodeId, effect: NodeId, weight: f64) -> String {
        match self.word(cause, effect) {
            Some(word) => format!("{} ({weight})", plain(word)),
            None => weight.to_string(),
        }
    }

    /// The word of the scale a link's weight is written as.
    pub fn word(&self, cause: NodeId, effect: NodeId) -> Option<&str> {
        let cause = self.graph.key(cause);
        let link = self.book.links_to(self.graph.key(effect)).find(|link| link.from == cause)?;
        link.weight.word.as_deref()
    }
}

/// A node's name in words; for an outcome that of its check, and the outcome.
fn name(book: &RuleBook, graph: &CauseGraph, node: NodeId) -> String {
    let key = graph.key(node);
    plain(&match key.split_once('/') {
        Some((check, outcome)) => format!("{}: {}", book.name_of(check), outcome.replace('-', " ")),
        None => book.name_of(key).to_owned(),
    })
}

/// What a kind of node is called.
pub fn noun(kind: NodeKind) -> &'static str {
    match kind {
        NodeKind::History => "history",
        NodeKind::Failure => "failure",
        NodeKind::State => "state",
        NodeKind::Symptom => "symptom",
        NodeKind::Outcome => "outcome",
        NodeKind::Part => "part",
    }
}

/// Fill and line colour of a kind of node, told apart by lightness too. Words stand beside them everywhere.
fn colours(kind: NodeKind) -> (&'static str, &'static str) {
    match kind {
        NodeKind::History => ("#f3ead7", "#7a5c1e"),
        NodeKind::Failure => ("#f6d5cf", "#8c2f1d"),
        NodeKind::State => ("#dcd8f0", "#463a8a"),
        NodeKind::Symptom => ("#d6e9f5", "#1d5a80"),
        NodeKind::Outcome => ("#dcefdc", "#2c6b2f"),
        NodeKind::Part => ("#e6e6e6", "#444444"),
    }
}
