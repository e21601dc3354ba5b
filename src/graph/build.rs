//! Building the cause graph of one vehicle from the rule book.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

use jiff::civil::Date;
use petgraph::graph::{DiGraph, NodeIndex};
use thiserror::Error;

use super::age::{Age, age_of};
use super::{CauseGraph, GraphNode, NodeKind, wear};
use crate::inference::{Network, Node, NodeId};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::{Failure, FitsIf, Vehicle};

/// Why no graph could be built. A checked book gives none of these.
#[derive(Debug, Error)]
pub enum GraphError {
    /// The links run in a ring.
    #[error("the causes run in a ring through `{0}`; run `weephole rules check` to see the loop")]
    Ring(String),
    /// Inference refused the numbers.
    #[error("the weights cannot be used: {0}")]
    Network(String),
}

/// A vehicle's ages and facts, as the graph needs them.
struct Fit<'a> {
    book: &'a RuleBook,
    vehicle: &'a Vehicle,
    today: Option<Date>,
}

impl Fit<'_> {
    /// Share of vehicles that meet both conditions: 0 if this one does not, 1 if it does, in between while a
    /// fact is unknown.
    fn share(&self, conditions: [&FitsIf; 2]) -> f64 {
        let mut allowed: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        for (fact, options) in conditions.into_iter().flatten() {
            let options: BTreeSet<&str> = options.iter().map(String::as_str).collect();
            allowed
                .entry(fact)
                .and_modify(|kept| kept.retain(|option| options.contains(option)))
                .or_insert(options);
        }
        allowed
            .into_iter()
            .map(|(fact, options)| match self.vehicle.facts.get(fact) {
                Some(value) => f64::from(u8::from(options.contains(value.as_str()))),
                None => self.book.facts.get(fact).map_or(1.0, |known| {
                    known
                        .options
                        .iter()
                        .filter(|(option, _)| options.contains(option.as_str()))
                        .map(|(_, option)| option.share)
                        .sum::<f64>()
                        .min(1.0)
                }),
            })
            .product()
    }

    /// How age scales a failure's base: `None` while nothing about the age is known.
    fn wear(&self, failure: &Failure) -> Option<f64> {
        let law = failure.wear.as_ref()?;
        match age_of(self.vehicle, &failure.part, law.by, self.today) {
            Age::Known(age) => Some(wear::factor_at_age(age, law.life, law.shape)),
            Age::UpTo(age) => Some(wear::factor_up_to(age, law.life, law.shape)),
            Age::Unknown => None,
        }
    }
}

/// Builds the cause graph of `vehicle`, for answers that are all true ([`super::asked`] for others). `today` is needed
/// only for ages in years; without it they are averaged.
pub fn build(book: &RuleBook, vehicle: &Vehicle, today: Option<Date>) -> Result<CauseGraph, GraphError> {
    let fit = Fit { book, vehicle, today };
    let (nodes, checks) = gather(&fit);
    let mut index: BTreeMap<&str, usize> = BTreeMap::new();
    for (at, node) in nodes.iter().enumerate() {
        index.insert(&node.key, at);
    }
    let mut links: Vec<(usize, usize, f64)> = Vec::new();
    for link in &book.links {
        let (Some(&from), Some(&to)) =
            (index.get(link.from.as_str()), index.get(link.to.to_string().as_str()))
        else {
            continue;
        };
        // A vehicle of which it is not known whether the link holds is a mixture of those where it does and those where it
        // does not: for one noisy-OR link that is the same link with its weight thinned.
        let weight = link.weight.value * fit.share([&link.fits_if, &FitsIf::new()]);
        if weight > 0.0 {
            links.push((from, to, weight));
        }
    }
    for (id, failure) in &book.failures {
        if let (Some(&from), Some(&to)) = (index.get(id.as_str()), index.get(failure.part.as_str())) {
            links.push((from, to, 1.0));
        }
    }
    let order = causes_first(nodes.len(), &links).map_err(|at| GraphError::Ring(nodes[at].key.clone()))?;
    assemble(&nodes, &links, &order, &checks)
}

type CheckOutcomes = Vec<(String, Vec<String>)>;

/// Every node this vehicle can have, in book order.
fn gather(fit: &Fit) -> (Vec<GraphNode>, CheckOutcomes) {
    let book = fit.book;
    let none = FitsIf::new();
    let mut nodes = Vec::new();
    let mut push = |key: &str, kind, background: f64, wear: Option<f64>, share: f64| {
        if share > 0.0 {
            nodes.push(GraphNode { key: key.to_owned(), kind, background, wear, share });
        }
    };
    for (id, history) in &book.history {
        let share = fit.share([&history.fits_if, &none]);
        push(id, NodeKind::History, history.base / 1000.0 * share, None, share);
    }
    let mut with_failures = BTreeSet::new();
    for (id, failure) in &book.failures {
        let Some(part) = book.parts.get(&failure.part) else { continue };
        let share = fit.share([&part.fits_if, &failure.fits_if]);
        let worn = fit.wear(failure);
        let base = wear::scale_chance(failure.base / 1000.0, worn.unwrap_or(1.0)) * share;
        push(id, NodeKind::Failure, base, worn, share);
        if share > 0.0 {
            with_failures.insert(failure.part.as_str());
        }
    }
    for (id, state) in &book.states {
        let share = fit.share([&state.fits_if, &none]);
        push(id, NodeKind::State, book.weight(&state.background).value, None, share);
    }
    for (id, symptom) in &book.symptoms {
        let share = fit.share([&symptom.fits_if, &none]);
        push(id, NodeKind::Symptom, book.weight(&symptom.background).value, None, share);
    }
    let mut checks = Vec::new();
    for (id, check) in &book.checks {
        let share = fit.share([&check.fits_if, &none]);
        let mut keys = Vec::new();
        for (outcome, entry) in &check.outcomes {
            let key = format!("{id}/{outcome}");
            push(&key, NodeKind::Outcome, book.weight(&entry.background).value, None, share);
            keys.push(key);
        }
        if share > 0.0 {
            checks.push((id.clone(), keys));
        }
    }
    for id in book.parts.keys().filter(|id| with_failures.contains(id.as_str())) {
        push(id, NodeKind::Part, 0.0, None, 1.0);
    }
    (nodes, checks)
}

/// An order in which causes stand before their effects, book order wherever causes leave the choice open;
/// on a ring, one node of it.
fn causes_first(count: usize, links: &[(usize, usize, f64)]) -> Result<Vec<usize>, usize> {
    let mut waiting = vec![0_usize; count];
    let mut effects = vec![Vec::new(); count];
    for &(from, to, _) in links {
        waiting[to] += 1;
        effects[from].push(to);
    }
    let mut ready: BinaryHeap<Reverse<usize>> =
        (0..count).filter(|&node| waiting[node] == 0).map(Reverse).collect();
    let mut order = Vec::with_capacity(count);
    while let Some(Reverse(node)) = ready.pop() {
        order.push(node);
        for &effect in &effects[node] {
            waiting[effect] -= 1;
            if waiting[effect] == 0 {
                ready.push(Reverse(effect));
            }
        }
    }
    if order.len() == count { Ok(order) } else { Err((0..count).find(|&n| waiting[n] > 0).unwrap_or(0)) }
}

fn assemble(
    nodes: &[GraphNode],
    links: &[(usize, usize, f64)],
    order: &[usize],
    checks: &CheckOutcomes,
) -> Result<CauseGraph, GraphError> {
    let mut graph = DiGraph::with_capacity(nodes.len(), links.len());
    let mut place: Vec<NodeId> = vec![0; nodes.len()];
    for &at in order {
        place[at] = graph.add_node(nodes[at].clone()).index();
    }
    let mut parents: Vec<Vec<(NodeId, f64)>> = vec![Vec::new(); nodes.len()];
    for &(from, to, weight) in links {
        graph.add_edge(NodeIndex::new(place[from]), NodeIndex::new(place[to]), weight);
        parents[place[to]].push((place[from], weight));
    }
    for list in &mut parents {
        list.sort_by_key(|&(parent, _)| parent);
    }
    let network = Network::new(
        graph
            .node_weights()
            .zip(parents)
            .map(|(node, parents)| Node::noisy_or(node.background, parents))
            .collect(),
    )
    .map_err(|error| GraphError::Network(error.to_string()))?;
    let by_key: BTreeMap<String, NodeId> =
        graph.node_weights().enumerate().map(|(at, node)| (node.key.clone(), at)).collect();
    let checks = checks
        .iter()
        .map(|(id, keys)| (id.clone(), keys.iter().filter_map(|key| by_key.get(key).copied()).collect()))
        .collect();
    Ok(CauseGraph {
        graph,
        by_key,
        checks,
        true_network: network.clone(),
        network,
        slips: super::Slips::NONE,
    })
}
