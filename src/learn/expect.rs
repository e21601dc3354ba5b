//! The expectation step: how often each number of the network is to be credited in one case.
//!
//! In a noisy-OR every link fires or does not, on its own. With the causes known, the credit of link `i` of an effect
//! that is there is `x_i w_i / P(effect)`; with causes or effect hidden it is the chance, given everything seen,
//! that the cause was there and the link fired. To read all of them off one exact sweep, every link becomes a node of
//! its own ("it fired"), and the effect is there exactly when any of them did: the same network, spelt out.
//!
//! A case says nothing about a node below which nothing was seen; counting it there would only confirm the number
//! that is already in the book, so it is left out.

use thiserror::Error;

use super::sheet::{Sheet, Slot};
use crate::inference::{
    Engine, Evidence, InferenceError, Network, NetworkError, Node, NodeId, TableEvidence,
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

/// Where the numbers of a term are found in the sweep.
struct Wanted {
    slot: Slot,
    /// Node of the spelt-out network whose chance is the credit; none if it cannot have fired.
    fired: Option<NodeId>,
    /// The cause in the spelt-out network; none for a base or background.
    cause: Option<NodeId>,
}

/// The network of one case, its links spelt out as nodes as far as the case says anything about them.
struct Spelt {
    nodes: Vec<Node>,
    place: Vec<NodeId>,
    wanted: Vec<Wanted>,
}

/// Credits of one case under these numbers.
pub fn expect(engine: &Engine, sheet: &Sheet, values: &[f64]) -> Result<Expectation, ExpectError> {
    let all = sheet.all();
    let spelt = spell_out(sheet, &all, values);
    let evidence = moved(&all, &spelt.place);
    let network = Network::new(spelt.nodes)?;
    let mut targets: Vec<NodeId> =
        spelt.wanted.iter().flat_map(|wanted| [wanted.fired, wanted.cause]).flatten().collect();
    targets.sort_unstable();
    targets.dedup();
    let swept = engine.posterior(&network, &evidence, &targets)?;
    if let crate::inference::Method::Sampled { cost, .. } = swept.method {
        return Err(ExpectError::TooTangled { width: cost.width });
    }
    let mut chances = vec![0.0; network.len()];
    for (&target, &chance) in targets.iter().zip(&swept.marginals) {
        chances[target] = chance;
    }
    let terms = spelt
        .wanted
        .iter()
        .map(|wanted| {
            let could = wanted.cause.map_or(1.0, |cause| chances[cause]);
            let fired = wanted.fired.map_or(0.0, |fired| chances[fired]).min(could);
            Term { slot: wanted.slot, fired, could }
        })
        .collect();
    Ok(Expectation { log_evidence: swept.log_evidence, terms })
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

fn spell_out(sheet: &Sheet, evidence: &Evidence, values: &[f64]) -> Spelt {
    let seen = seen(sheet, evidence);
    let gone = |node: NodeId| evidence.pair(node).1 <= 0.0;
    let mut spelt =
        Spelt { nodes: Vec::new(), place: vec![NodeId::MAX; sheet.nodes.len()], wanted: Vec::new() };
    for (id, node) in sheet.nodes.iter().enumerate().filter(|&(id, _)| seen[id]) {
        let counted = !sheet.uncounted.contains(&id);
        let own = node.own.chance(values);
        let learnt = |slot: &Slot| counted && slot.parameter.is_some();
        // A cause that was seen to be absent brings on nothing, and says nothing about its links.
        let causes: Vec<(NodeId, Slot)> = node
            .causes
            .iter()
            .filter(|&&(cause, _)| !gone(cause))
            .map(|&(c, slot)| (spelt.place[c], slot))
            .collect();
        if gone(id) {
            if learnt(&node.own) {
                spelt.wanted.push(Wanted { slot: node.own, fired: None, cause: None });
            }
            let silent = causes.iter().filter(|(_, slot)| learnt(slot));
            spelt.wanted.extend(silent.map(|&(c, slot)| Wanted { slot, fired: None, cause: Some(c) }));
            let links = causes.iter().map(|(cause, slot)| (*cause, slot.chance(values))).collect();
            spelt.place[id] = spelt.add(Node::noisy_or(own, links));
            continue;
        }
        if causes.is_empty() {
            spelt.place[id] = spelt.add(Node::root(own));
            if learnt(&node.own) {
                spelt.wanted.push(Wanted { slot: node.own, fired: Some(spelt.place[id]), cause: None });
            }
            continue;
        }
        let (mut background, mut links) = (own, Vec::new());
        if learnt(&node.own) && own > 0.0 {
            let fired = spelt.add(Node::root(own));
            spelt.wanted.push(Wanted { slot: node.own, fired: Some(fired), cause: None });
            links.push((fired, 1.0));
            background = 0.0;
        }
        for (cause, slot) in causes {
            let weight = slot.chance(values);
            if learnt(&slot) {
                let fired = spelt.add(Node::noisy_or(0.0, vec![(cause, weight)]));
                spelt.wanted.push(Wanted { slot, fired: Some(fired), cause: Some(cause) });
                links.push((fired, 1.0));
            } else {
                links.push((cause, weight));
            }
        }
        links.sort_by_key(|&(from, _)| from);
        spelt.place[id] = spelt.add(Node::noisy_or(background, links));
    }
    spelt
}

impl Spelt {
    fn add(&mut self, node: Node) -> NodeId {
        self.nodes.push(node);
        self.nodes.len() - 1
    }
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
