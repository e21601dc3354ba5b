//! Does anything cause itself?

use std::collections::{BTreeMap, VecDeque};

use petgraph::algo::tarjan_scc;
use petgraph::graph::{DiGraph, NodeIndex};

use super::BookCheck;
use crate::rulebook::fault::{Spot, code};
use crate::rulebook::{Code, Effect, Fault, RuleBook};

code! {
    /// Links run in a circle: something brings itself on.
    ///
    /// Chances are worked out along the links from causes to effects; in a circle there is no first. In the trade
    /// circles are real (a hot engine kills the gasket, and a dead gasket makes the engine hot): say what was there
    /// before by a history fact such as `overheated-before`, and let that lead on.
    ///
    /// The message spells the circle out. Take one of its links out.
    pub static CYCLE = Error "cycle", "links that run in a circle";
}

pub(super) struct Cycles;

impl BookCheck for Cycles {
    fn code(&self) -> &'static Code {
        &CYCLE
    }

    fn run(&self, book: &RuleBook) -> Vec<Fault> {
        let mut graph = DiGraph::<&str, usize>::new();
        let mut nodes: BTreeMap<&str, NodeIndex> = BTreeMap::new();
        for (number, link) in book.links.iter().enumerate() {
            let Effect::Node(to) = &link.to else { continue };
            let from = *nodes.entry(&link.from).or_insert_with(|| graph.add_node(&link.from));
            let to = *nodes.entry(to).or_insert_with(|| graph.add_node(to));
            graph.add_edge(from, to, number);
        }
        let mut knots: Vec<Vec<NodeIndex>> = tarjan_scc(&graph)
            .into_iter()
            .filter(|knot| knot.len() > 1 || graph.contains_edge(knot[0], knot[0]))
            .collect();
        // Nodes were numbered in the order of the links, so the lowest number is the first in the book.
        for knot in &mut knots {
            knot.sort();
        }
        knots.sort();
        knots.iter().map(|knot| describe(book, &graph, knot)).collect()
    }
}

/// The shortest circle through the first entry of a knot of entries that all lead to one another.
fn describe(book: &RuleBook, graph: &DiGraph<&str, usize>, knot: &[NodeIndex]) -> Fault {
    let start = knot[0];
    let mut came_from: BTreeMap<NodeIndex, NodeIndex> = BTreeMap::new();
    let mut waiting = VecDeque::from([start]);
    let mut ring = vec![start];
    'search: while let Some(node) = waiting.pop_front() {
        let mut next: Vec<NodeIndex> =
            graph.neighbors(node).filter(|n| knot.binary_search(n).is_ok()).collect();
        next.sort();
        for to in next {
            if to == start {
                let mut back = node;
                while back != start {
                    ring.insert(1, back);
                    back = came_from[&back];
                }
                break 'search;
            }
            if to != start && !came_from.contains_key(&to) {
                came_from.insert(to, node);
                waiting.push_back(to);
            }
        }
    }
    ring.push(start);
    let names: Vec<&str> = ring.iter().map(|&node| graph[node]).collect();
    let links: Vec<usize> = ring
        .windows(2)
        .filter_map(|pair| {
            graph.find_edge(pair[0], pair[1]).and_then(|edge| graph.edge_weight(edge)).copied()
        })
        .collect();
    let place = |number: usize| Spot::key(&book.links[links[number]].place);
    let mut fault = Fault::at(&CYCLE, place(0), format!("links run in a circle: {}", names.join(" -> ")))
        .label(format!("from `{}` to `{}`", names[0], names[1]));
    for number in 1..links.len() {
        fault = fault.also(place(number), format!("from `{}` to `{}`", names[number], names[number + 1]));
    }
    if knot.len() + 1 > names.len() {
        fault = fault.help(format!("{} entries in all are tied up in circles with these", knot.len()));
    }
    fault.help("take one of these links out; what was there before can be a history fact")
}
