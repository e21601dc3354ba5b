//! Comeback: the chance that the complaint is there again after a repair.
//!
//! A repair is an intervention, not an observation: it makes a part sound without telling anything about what else
//! is wrong. Pearl's three steps (*Causality*, 2009, section 7.1): the evidence settles what happened (abduction), the
//! repaired failures are set absent (action), and what they brought on is worked out anew while every link
//! and background that fired still fires, and the rest still does not (prediction). For noisy-ORs that is exact in
//! one network that holds both worlds. Repair only turns things off, so each changed node `v` splits:
//!
//! - `v'`, after the repair: the noisy-OR of the causes that remain;
//! - `x`, what the repaired causes alone brought on: the noisy-OR of the causes that are gone;
//! - `v = v' or x`, before the repair, which is what was seen; and "gone now" = `x` and not `v'`.
//!
//! A link is drawn once: its cause is either still there (then it counts in `v'`) or gone (then in `x`). Other
//! failures are damage already done and keep their state: flushing the coolant heals no seal. Beside the complaint
//! that stays, the renewed part can fail again from a cause that nobody put right: each of its failures gets a
//! fresh draw of the links from what raises it (its own base is left out: the part is new; so is what is over).

use std::collections::{BTreeMap, BTreeSet};

use crate::inference::{Engine, Evidence, InferenceError, Limits, Network, Node, NodeId};

/// What is repaired, and what would count as the complaint coming back.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Repair {
    /// Nodes set absent: the failures of the parts renewed, history put right.
    pub sound: BTreeSet<NodeId>,
    /// Failures that a lasting cause may bring on again in the new part.
    pub renewed: BTreeSet<NodeId>,
    /// Nodes that keep their state whatever is repaired: damage done.
    pub lasting: BTreeSet<NodeId>,
    /// What is over and acts no more on a new part: the work of last week, a knock.
    pub past: BTreeSet<NodeId>,
    /// The complaint: findings that were seen.
    pub complaint: Vec<NodeId>,
}

/// What to expect after a repair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comeback {
    /// Chance that at least one finding of the complaint is still there.
    pub stays: f64,
    /// Chance that a lasting cause brings on the repaired failure again.
    pub again: f64,
    /// Chance of the one or the other.
    pub either: f64,
}

/// The two worlds in one network.
struct Worlds {
    nodes: Vec<Node>,
    tables: BTreeMap<NodeId, Vec<f64>>,
    /// Node before the repair, by its old number.
    before: Vec<NodeId>,
    /// Node after the repair; `None` where it is surely absent.
    after: Vec<Option<NodeId>>,
    /// There before the repair, gone after it; `None` where the repair changes nothing.
    gone: Vec<Option<NodeId>>,
}

impl Worlds {
    fn push(&mut self, node: Node) -> NodeId {
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    /// The causes as they are after the repair, numbered anew.
    fn remaining(&self, node: &Node) -> Vec<(NodeId, f64)> {
        let after = |&(parent, weight): &(NodeId, f64)| Some((self.after[parent]?, weight));
        node.parents.iter().filter_map(after).collect()
    }

    fn build(network: &Network, repair: &Repair) -> Self {
        let changed = changed(network, repair);
        let len = network.len();
        let mut worlds = Self {
            nodes: Vec::with_capacity(len + 3 * changed.len()),
            tables: BTreeMap::new(),
            before: Vec::with_capacity(len),
            after: Vec::with_capacity(len),
            gone: Vec::with_capacity(len),
        };
        for (id, node) in network.nodes().iter().enumerate() {
            if changed.contains(&id) && !repair.sound.contains(&id) {
                worlds.split(node);
                continue;
            }
            let parents = node.parents.iter().map(|&(parent, weight)| (worlds.before[parent], weight));
            let copy = Node::noisy_or(node.background, parents.collect());
            let copy = worlds.push(copy);
            if let Some(table) = network.table(id) {
                worlds.tables.insert(copy, table.to_vec());
            }
            let sound = repair.sound.contains(&id);
            worlds.before.push(copy);
            worlds.after.push((!sound).then_some(copy));
            worlds.gone.push(sound.then_some(copy));
        }
        worlds
    }

    fn split(&mut self, node: &Node) {
        let after = Node::noisy_or(node.background, self.remaining(node));
        let lost = node.parents.iter().filter_map(|&(parent, weight)| Some((self.gone[parent]?, weight)));
        let lost = Node::noisy_or(0.0, lost.collect());
        let after = self.push(after);
        let lost = self.push(lost);
        let before = self.push(Node::any_of([after, lost]));
        let gone = self.push(Node::noisy_or(0.0, vec![(after, 0.0), (lost, 0.0)]));
        // Bit 0 is `after`, bit 1 is `lost`: only "lost and not there any more" is gone.
        self.tables.insert(gone, vec![0.0, 0.0, 1.0, 0.0]);
        self.before.push(before);
        self.after.push(Some(after));
        self.gone.push(Some(gone));
    }
}

/// The nodes whose state a repair can change and that matter for the complaint or for a renewed failure: below
/// something repaired, above something asked about, reached without passing through damage that lasts.
fn changed(network: &Network, repair: &Repair) -> BTreeSet<NodeId> {
    let mut below = repair.sound.clone();
    for id in 0..network.len() {
        // A node given by a table is no noisy-OR and cannot be split; it keeps its state.
        let keeps = repair.lasting.contains(&id) || network.table(id).is_some();
        if !keeps && network.node(id).parents.iter().any(|(parent, _)| below.contains(parent)) {
            below.insert(id);
        }
    }
    let mut above: BTreeSet<NodeId> = repair.complaint.iter().copied().collect();
    for &failure in &repair.renewed {
        above.extend(network.node(failure).parents.iter().map(|&(parent, _)| parent));
    }
    for id in (0..network.len()).rev() {
        if above.contains(&id) {
            above.extend(network.node(id).parents.iter().map(|&(parent, _)| parent));
        }
    }
    below.intersection(&above).copied().chain(repair.sound.iter().copied()).collect()
}

/// Both worlds with the evidence in place, and what would count as the complaint coming back.
struct Question {
    network: Network,
    seen: Evidence,
    signs: Vec<NodeId>,
    again: Vec<NodeId>,
}

impl Question {
    fn of(network: &Network, evidence: &Evidence, repair: &Repair) -> Self {
        let mut worlds = Worlds::build(network, repair);
        let signs = repair.complaint.iter().filter_map(|&sign| worlds.after[sign]).collect();
        let mut again = Vec::new();
        for &failure in &repair.renewed {
            let mut lasting = network.node(failure).clone();
            lasting.parents.retain(|(parent, _)| !repair.past.contains(parent));
            let causes = worlds.remaining(&lasting);
            if !causes.is_empty() {
                again.push(worlds.push(Node::noisy_or(0.0, causes)));
            }
        }
        let seen = evidence.pairs().fold(Evidence::new(), |seen, (node, (absent, present))| {
            seen.likelihood(worlds.before[node], absent, present)
        });
        let seen = evidence.tables().iter().fold(seen, |seen, table| {
            let nodes: Vec<NodeId> = table.nodes.iter().map(|&node| worlds.before[node]).collect();
            seen.table(&nodes, table.likelihoods.clone())
        });
        let network =
            Network::with_tables(worlds.nodes, worlds.tables).expect("two sound worlds make a sound one");
        Self { network, seen, signs, again }
    }

    /// Chance that at least one of `nodes` is there; `None` if it cannot be worked out exactly.
    fn any(
        &self,
        engine: &Engine,
        log_evidence: f64,
        nodes: impl Iterator<Item = NodeId>,
    ) -> Result<Option<f64>, InferenceError> {
        let nodes: Vec<NodeId> = nodes.collect();
        if nodes.is_empty() {
            return Ok(Some(0.0));
        }
        let absent = nodes.into_iter().fold(self.seen.clone(), Evidence::absent);
        match engine.posterior(&self.network, &absent, &[]) {
            // A ratio of two estimates of rare events would be noise.
            Ok(found) => Ok(found
                .method
                .is_exact()
                .then(|| (1.0 - (found.log_evidence - log_evidence).exp()).clamp(0.0, 1.0))),
            Err(InferenceError::Impossible) => Ok(Some(1.0)),
            Err(other) => Err(other),
        }
    }
}

/// An engine that gives up instead of drawing samples.
fn exact_only(engine: &Engine) -> Engine {
    Engine::new(Limits { samples: 0, ..engine.limits })
}

/// What to expect after `repair`, given `evidence` from before it, whose chance is `exp(log_evidence)`. `None` if the
/// two worlds together are too tangled for exact work.
pub fn comeback(
    engine: &Engine,
    network: &Network,
    (evidence, log_evidence): (&Evidence, f64),
    repair: &Repair,
) -> Result<Option<Comeback>, InferenceError> {
    let asked = Question::of(network, evidence, repair);
    let engine = exact_only(engine);
    let Some(stays) = asked.any(&engine, log_evidence, asked.signs.iter().copied())? else { return Ok(None) };
    let Some(again) = asked.any(&engine, log_evidence, asked.again.iter().copied())? else { return Ok(None) };
    if asked.again.is_empty() {
        return Ok(Some(Comeback { stays, again, either: stays }));
    }
    let both = asked.signs.iter().chain(&asked.again).copied();
    let either = asked.any(&engine, log_evidence, both)?;
    Ok(either.map(|either| Comeback { stays, again, either }))
}

/// As [`comeback`], only the chance of the one or the other.
pub fn comes_back(
    engine: &Engine,
    network: &Network,
    (evidence, log_evidence): (&Evidence, f64),
    repair: &Repair,
) -> Result<Option<f64>, InferenceError> {
    let asked = Question::of(network, evidence, repair);
    asked.any(&exact_only(engine), log_evidence, asked.signs.iter().chain(&asked.again).copied())
}
