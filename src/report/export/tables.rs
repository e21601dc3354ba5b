//! Noisy-OR nodes as small full tables, for programs that know only tables.
//!
//! A table grows as 2 to the number of causes, and a finding may have thirty. So a node with many causes becomes a chain
//! of helper nodes ("parent divorcing", Olesen and others 1989): the first helper is the noisy-OR of the background
//! and the first causes, each further one the OR of the helper before it and a few more causes, the last one the node
//! itself. Chances of the named nodes are exactly those of the network; helpers mean nothing to a reader and end in
//! `___1`, `___2`, ...

use std::collections::BTreeSet;

use crate::graph::{CauseGraph, NodeKind};
use crate::inference::NodeId;

/// Most parents of one table.
const MOST: usize = 3;

/// One node with a full table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Its name: letters, digits and underscores.
    pub name: String,
    /// What it stands for; none for a helper.
    pub node: Option<NodeId>,
    /// Places of its parents in the list; all smaller than its own.
    pub parents: Vec<usize>,
    /// Chance that it is present; bit `i` of the index is set when `parents[i]` is.
    pub present: Vec<f64>,
}

/// A key as a name every reader takes: `coolant-low` becomes `coolant_low`, `gauge/hot` becomes `gauge__hot`. Ids have no
/// underscores of their own, so no two keys share a name.
pub fn name_of(key: &str) -> String {
    key.replace('/', "__").replace('-', "_")
}

/// All nodes of a graph as small tables, causes first.
pub fn tables(graph: &CauseGraph) -> Vec<Table> {
    let mut made: Vec<Table> = Vec::new();
    let mut place = vec![0; graph.len()];
    for node in 0..graph.len() {
        let name = name_of(graph.key(node));
        let own = graph.network().node(node);
        let causes: Vec<(usize, f64)> =
            own.parents.iter().map(|&(cause, weight)| (place[cause], weight)).collect();
        let mut background = own.background;
        let mut rest = causes.as_slice();
        let mut before: Option<usize> = None;
        let mut helpers = 0;
        loop {
            let room = MOST - usize::from(before.is_some());
            let (now, later) = rest.split_at(rest.len().min(room));
            let links: Vec<(usize, f64)> =
                before.map(|at| (at, 1.0)).into_iter().chain(now.iter().copied()).collect();
            let last = later.is_empty();
            helpers += 1;
            made.push(Table {
                name: if last { name.clone() } else { format!("{name}___{helpers}") },
                node: last.then_some(node),
                present: present(background, &links),
                parents: links.iter().map(|&(at, _)| at).collect(),
            });
            before = Some(made.len() - 1);
            (background, rest) = (0.0, later);
            if last {
                break;
            }
        }
        place[node] = made.len() - 1;
    }
    debug_assert_eq!(made.iter().map(|table| &table.name).collect::<BTreeSet<_>>().len(), made.len());
    made
}

/// The full table of a noisy-OR, built up from below so that small chances keep their digits.
fn present(background: f64, links: &[(usize, f64)]) -> Vec<f64> {
    (0..1_usize << links.len())
        .map(|state| {
            let on = links.iter().enumerate().filter(|(bit, _)| state >> bit & 1 == 1);
            on.fold(background, |chance, (_, &(_, weight))| chance + (1.0 - chance) * weight)
        })
        .collect()
}

/// The kind of a table's node in words.
pub fn kind_of(graph: &CauseGraph, table: &Table) -> Option<NodeKind> {
    table.node.map(|node| graph.get(node).kind)
}
