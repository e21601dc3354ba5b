//! The expectation step: how often each number of the network is to be credited in one case.
//!
//! In a noisy-OR every link fires or does not, on its own. With the causes known, the credit of link `i` of an effect
//! that is there is `x_i w_i / P(effect)`; with causes or effect hidden it is the chance, given everything seen,
//! that the cause was there and the link fired: `w P(cause, e | do(effect)) / P(e)`, where `do` cuts the effect from its
//! causes and sets it present (as in `explain::credit`). One exact sweep an effect gives the credits of all its causes.
//!
//! An effect that is hardly there has hardly any credit to give: below a stated chance it is shared out in proportion to
//! weight times chance of each cause. The sum is kept; no single credit is off by more than that chance.
//!
//! A case says nothing about a node below which nothing was seen; counting it there would only confirm the number
//! that is already in the book, so it is left out.

use thiserror::Error;

use super::sheet::{Sheet, Slot};
use crate::inference::{
    Engine, Evidence, InferenceError, Method, Network, NetworkError, Node, NodeId, Posterior, TableEvidence,
};

/// Why a case cannot be learnt from.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ExpectError {
    /// Its answers and verdict cannot all be true under the book, or inference refused them.
    #[error(transparent)]
    Inference(#[from] InferenceError),
    /// Exact work is out of reach, and estimates do not count.
    #[error("it is too tangled for exact work: tables of up to 2^{width} entries")]
    TooTangled {
        /// Variables of the largest table.
        width: usize,
    },
    /// The numbers are no network.
    #[error(transparent)]
    Network(#[from] NetworkError),
}

/// What one case says about one parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// The parameter, and how it counts on this vehicle.
    pub slot: Slot,
    /// Chance that it fired: for a link, that the cause was there and brought the effect on.
    pub fired: f64,
    /// Chance that it could have: for a link, that the cause was there; 1 for a base or background.
    pub could: f64,
}

impl Term {
    /// The parameter's number.
    pub fn parameter(&self) -> usize {
        self.slot.parameter.unwrap_or(usize::MAX)
    }

    /// Times it could have fired, in ordinary vehicles.
    pub fn chances(&self, values: &[f64]) -> f64 {
        self.could * values.get(self.parameter()).map_or(1.0, |&value| self.slot.exposure(value))
    }

    /// The likelihood of the case with this parameter at `other`, over that at `now`, everything else the same.
    /// Exact, because a likelihood is a straight line in each single number of the network.
    pub fn ratio(&self, now: f64, other: f64) -> f64 {
        let (now, other) = (self.slot.at(now), self.slot.at(other));
        if now <= 0.0 || now >= 1.0 {
            return 1.0;
        }
        // Where it could not have fired, the case says nothing about whether it would have.
        let on = (self.fired + now * (1.0 - self.could)).clamp(0.0, 1.0);
        other / now * on + (1.0 - other) / (1.0 - now) * (1.0 - on)
    }
}

/// What one case says about all parameters.
#[derive(Debug, Clone, PartialEq)]
pub struct Expectation {
    /// `ln P(answers and verdict)`.
    pub log_evidence: f64,
    /// Every parameter it says something about.
    pub terms: Vec<Term>,
}

/// Credits of one case under these numbers. Effects less likely than `slight` in this case share their little credit out
/// in proportion; 0 works everything out exactly.
pub fn expect(
    engine: &Engine,
    sheet: &Sheet,
    values: &[f64],
    slight: f64,
) -> Result<Expectation, ExpectError> {
    let all = sheet.all();
    let seen = seen(sheet, &all);
    let gone = |node: NodeId| all.pair(node).1 <= 0.0;
    let mut place = vec![NodeId::MAX; sheet.nodes.len()];
    let mut nodes: Vec<Node> = Vec::new();
    for (id, node) in sheet.nodes.iter().enumerate().filter(|&(id, _)| seen[id]) {
        // A cause that was seen to be absent brings on nothing, and says nothing about its links.
        let causes = node.causes.iter().filter(|&&(cause, _)| !gone(cause));
        let links = causes.map(|(cause, slot)| (place[*cause], slot.chance(values))).collect();
        place[id] = nodes.len();
        nodes.push(Node::noisy_or(node.own.chance(values), links));
    }
    let evidence = moved(&all, &place);
    let swept =
        sweep(engine, Network::new(nodes.clone())?, &evidence, &(0..nodes.len()).collect::<Vec<_>>())?;
    let there = &swept.marginals;
    let mut terms = Vec::new();
    for (id, node) in sheet.nodes.iter().enumerate().filter(|&(id, _)| seen[id]) {
        let slots: Vec<Slot> =
            node.causes.iter().filter(|&&(cause, _)| !gone(cause)).map(|&(_, slot)| slot).collect();
        let counts = !sheet.uncounted.contains(&id)
            && slots.iter().chain([&node.own]).any(|slot| slot.parameter.is_some());
        if !counts {
            continue;
        }
        let at = place[id];
        let (own, links) = (nodes[at].background, nodes[at].parents.clone());
        let (mut by_itself, mut by_cause) = (0.0, vec![0.0; links.len()]);
        if gone(id) || there[at] <= 0.0 {
            // Nothing brought it on: seen to be absent, or ruled out by what was seen below, as a link learnt to be certain does.
        } else if links.is_empty() {
            by_itself = there[at];
        } else if links.iter().all(|&(cause, _)| there[cause] >= 1.0) {
            // Every cause that could have is known to be there: no sweep is needed.
            let whole = links.iter().fold(own, |chance, &(_, weight)| chance + (1.0 - chance) * weight);
            if whole > 0.0 {
                by_itself = there[at] * own / whole;
                by_cause = links.iter().map(|&(_, weight)| there[at] * weight / whole).collect();
            }
        } else if there[at] >= slight {
            let mut cut = nodes.clone();
            cut[at] = Node::root(1.0);
            let causes: Vec<NodeId> = links.iter().map(|&(cause, _)| cause).collect();
            let set = sweep(engine, Network::new(cut)?, &evidence, &causes)?;
            let ratio = (set.log_evidence - swept.log_evidence).exp();
            by_itself = own * ratio;
            let causes = links.iter().zip(&set.marginals);
            by_cause = causes.map(|(&(_, weight), &present)| weight * present * ratio).collect();
        } else {
            let shares: Vec<f64> = links.iter().map(|&(cause, weight)| weight * there[cause]).collect();
            let whole = own + shares.iter().sum::<f64>();
            if whole > 0.0 {
                by_itself = there[at] * own / whole;
                by_cause = shares.iter().map(|share| there[at] * share / whole).collect();
            }
        }
        if node.own.parameter.is_some() {
            terms.push(Term { slot: node.own, fired: by_itself.min(1.0), could: 1.0 });
        }
        for ((slot, &(cause, _)), fired) in slots.iter().zip(&links).zip(by_cause) {
            if slot.parameter.is_some() {
                terms.push(Term { slot: *slot, fired: fired.min(there[cause]), could: there[cause] });
            }
        }
    }
    Ok(Expectation { log_evidence: swept.log_evidence, terms })
}

/// One exact sweep, or why there is none.
fn sweep(
    engine: &Engine,
    network: Network,
    evidence: &Evidence,
    targets: &[NodeId],
) -> Result<Posterior, ExpectError> {
    let swept = engine.posterior(&network, evidence, targets)?;
    match swept.method {
        Method::Sampled { cost, .. } => Err(ExpectError::TooTangled { width: cost.width }),
        Method::Exact { .. } => Ok(swept),
    }
}

/// Whether each node, or anything below it, was seen.
fn seen(sheet: &Sheet, evidence: &Evidence) -> Vec<bool> {
    let mut seen = vec![false; sheet.nodes.len()];
    #[allow(clippy::float_cmp)] // an exactly even pair says nothing
    for (node, pair) in evidence.pairs() {
        seen[node] |= pair.0 != pair.1;
    }
    for table in evidence.tables() {
        table.nodes.iter().for_each(|&node| seen[node] = true);
    }
    for id in (0..sheet.nodes.len()).rev() {
        if seen[id] {
            sheet.nodes[id].causes.iter().for_each(|&(cause, _)| seen[cause] = true);
        }
    }
    seen
}

/// The evidence on the nodes' new places. What was seen always has one.
fn moved(evidence: &Evidence, place: &[NodeId]) -> Evidence {
    let mut moved = Evidence::new();
    for (node, (absent, present)) in evidence.pairs().filter(|&(node, _)| place[node] != NodeId::MAX) {
        moved = moved.likelihood(place[node], absent, present);
    }
    for TableEvidence { nodes, likelihoods } in evidence.tables() {
        let nodes: Vec<NodeId> = nodes.iter().map(|&node| place[node]).collect();
        moved = moved.table(&nodes, likelihoods.clone());
    }
    moved
}
