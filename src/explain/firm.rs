//! Firmness: does the order hold if the weights were meant a little differently?
//!
//! Every weight and background is redrawn evenly between the ends of its word's range (a number has a range
//! of 0.4 in log-odds to either side), every base within the same 0.4, each on its own, and the suspects are
//! ranked again. The same seed gives the same draws on any machine.

use std::collections::BTreeMap;

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rayon::prelude::*;

use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, InferenceError, Network, Node, NodeId};
use crate::rulebook::RuleBook;

/// Spread of a base in log-odds, to either side: that of a weight written as a number.
const BASE_SPREAD: f64 = 0.4;

/// How one part fared over the redraws.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// The part.
    pub part: String,
    /// Redraws in which it was first.
    pub first: usize,
    /// Its chance in the redraw at the fifth and at the ninety-fifth hundredth.
    pub from: f64,
    /// See `from`.
    pub to: f64,
}

/// How firm the order is.
#[derive(Debug, Clone, PartialEq)]
pub struct Firmness {
    /// Redraws made.
    pub redraws: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Every part that was first at least once or is among the suspects asked about, most often first.
    pub parts: Vec<Spread>,
}

/// Ranges of all numbers of one network.
struct Ranges {
    background: Vec<(f64, f64)>,
    parents: Vec<Vec<(NodeId, f64, f64)>>,
}

/// A chance moved in log-odds.
fn moved(chance: f64, by: f64) -> f64 {
    if chance <= 0.0 || chance >= 1.0 {
        return chance;
    }
    let odds = chance / (1.0 - chance) * by.exp();
    odds / (1.0 + odds)
}

impl Ranges {
    fn of(book: &RuleBook, graph: &CauseGraph) -> Self {
        let mut weights = BTreeMap::new();
        for link in &book.links {
            if let (Some(from), Some(to)) = (graph.node(&link.from), graph.node(&link.to.to_string())) {
                weights.insert((from, to), (link.weight.from, link.weight.to));
            }
        }
        let background = (0..graph.len()).map(|node| background(book, graph, node)).collect();
        let parents = (0..graph.len())
            .map(|node| {
                let parents = graph.causes(node).into_iter();
                parents
                    .map(|(parent, weight)| {
                        let &(from, to) = weights.get(&(parent, node)).unwrap_or(&(weight, weight));
                        (parent, from.min(weight), to.max(weight))
                    })
                    .collect()
            })
            .collect();
        Self { background, parents }
    }

    fn draw(&self, graph: &CauseGraph, random: &mut ChaCha8Rng) -> Network {
        let mut even =
            |from: f64, to: f64| if from < to { from + (to - from) * random.random::<f64>() } else { from };
        let nodes = self
            .background
            .iter()
            .zip(&self.parents)
            .map(|(&(from, to), parents)| {
                let background = even(from, to);
                let parents = parents.iter().map(|&(parent, from, to)| (parent, even(from, to)));
                Node::noisy_or(background, parents.collect())
            })
            .collect();
        graph.slipped(nodes)
    }
}

fn background(book: &RuleBook, graph: &CauseGraph, node: NodeId) -> (f64, f64) {
    let entry = graph.get(node);
    let (key, now) = (entry.key.as_str(), entry.background);
    let spec = match entry.kind {
        NodeKind::State => book.states.get(key).map(|state| &state.background),
        NodeKind::Symptom => book.symptoms.get(key).map(|symptom| &symptom.background),
        NodeKind::Outcome => key
            .split_once('/')
            .and_then(|(check, outcome)| book.checks.get(check)?.outcomes.get(outcome))
            .map(|outcome| &outcome.background),
        NodeKind::History | NodeKind::Failure => {
            return (moved(now, -BASE_SPREAD), moved(now, BASE_SPREAD));
        }
        NodeKind::Part => None,
    };
    spec.map_or((now, now), |spec| {
        let weight = book.weight(spec);
        (weight.from.min(now), weight.to.max(now))
    })
}

/// Redraws every number `redraws` times and ranks the parts anew. `suspects` are always listed.
pub fn firmness(
    book: &RuleBook,
    graph: &CauseGraph,
    engine: &Engine,
    evidence: &Evidence,
    suspects: &[String],
    (redraws, seed): (usize, u64),
) -> Result<Firmness, InferenceError> {
    let ranges = Ranges::of(book, graph);
    let parts = graph.of_kind(NodeKind::Part);
    let draws: Vec<Vec<f64>> = (0..redraws)
        .into_par_iter()
        .map(|draw| {
            let mut random = ChaCha8Rng::seed_from_u64(seed);
            random.set_stream(draw as u64);
            let network = ranges.draw(graph, &mut random);
            match engine.posterior(&network, evidence, &parts) {
                Ok(found) => Ok(found.marginals),
                Err(other) => Err(other),
            }
        })
        .collect::<Result<_, _>>()?;
    let mut first = vec![0_usize; parts.len()];
    for chances in &draws {
        let leader = (0..parts.len()).min_by(|&a, &b| {
            chances[b].total_cmp(&chances[a]).then_with(|| graph.key(parts[a]).cmp(graph.key(parts[b])))
        });
        if let Some(leader) = leader {
            first[leader] += 1;
        }
    }
    let mut spreads: Vec<Spread> = (0..parts.len())
        .filter(|&at| first[at] > 0 || suspects.iter().any(|part| part == graph.key(parts[at])))
        .map(|at| {
            let mut chances: Vec<f64> = draws.iter().map(|draw| draw[at]).collect();
            chances.sort_by(f64::total_cmp);
            let place = |hundredths: usize| {
                chances.get((chances.len().saturating_sub(1)) * hundredths / 100).copied().unwrap_or(0.0)
            };
            Spread { part: graph.key(parts[at]).to_owned(), first: first[at], from: place(5), to: place(95) }
        })
        .collect();
    spreads.sort_by(|a, b| b.first.cmp(&a.first).then_with(|| a.part.cmp(&b.part)));
    Ok(Firmness { redraws, seed, parts: spreads })
}
