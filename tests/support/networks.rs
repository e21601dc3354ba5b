//! Seeded synthetic networks and evidence, the same for tests and benches.
//!
//! The shapes and numbers are made up to look like a rule book (or a far larger one); no figure here is a measurement.

use rand::seq::SliceRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use weephole::inference::{Evidence, Network, Node, NodeId};

/// A network with its nodes by what they stand for.
pub struct Synthetic {
    pub network: Network,
    pub history: Vec<NodeId>,
    pub failures: Vec<NodeId>,
    pub states: Vec<NodeId>,
    pub parts: Vec<NodeId>,
    pub findings: Vec<NodeId>,
}

/// How large a rule book to make up.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    pub history: usize,
    pub parts: usize,
    pub failures: usize,
    pub states: usize,
    pub findings: usize,
}

/// About the largest rule book we mean to ship.
pub const SHIPPED: Size = Size { history: 20, parts: 40, failures: 100, states: 20, findings: 250 };

/// Ten times that.
pub const TENFOLD: Size = Size { history: 200, parts: 400, failures: 1000, states: 200, findings: 2500 };

fn weight(random: &mut ChaCha8Rng) -> f64 {
    [0.05, 0.15, 0.25, 0.5, 0.75, 0.85, 0.95][random.random_range(0..7)]
}

/// `count` different picks, mostly close to `near` (a share of the whole, 0..1), the odd one from anywhere.
fn picks(random: &mut ChaCha8Rng, from: &[NodeId], near: f64, span: f64, count: usize) -> Vec<NodeId> {
    let mut picked = Vec::new();
    for _ in 0..count * 4 {
        let place = if random.random_bool(0.12) {
            random.random::<f64>()
        } else {
            near + (random.random::<f64>() - 0.5) * span
        };
        let index = (place.rem_euclid(1.0) * from.len() as f64) as usize;
        let node = from[index.min(from.len() - 1)];
        if !picked.contains(&node) {
            picked.push(node);
        }
        if picked.len() == count {
            break;
        }
    }
    picked
}

/// History to failures to states to findings, with links among failures and among states, and parts as OR of
/// their failures. Neighbours in number are neighbours in the engine bay: most links are local.
pub fn rule_book(seed: u64, size: Size) -> Synthetic {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let r = &mut random;
    let mut nodes: Vec<Node> = Vec::new();
    let mut made = Synthetic {
        network: Network::new(Vec::new()).unwrap(),
        history: Vec::new(),
        failures: Vec::new(),
        states: Vec::new(),
        parts: Vec::new(),
        findings: Vec::new(),
    };
    // One corner of the system is about a tenth of the shipped book, whatever the size of this one.
    let span = 0.1 * SHIPPED.failures as f64 / size.failures as f64;
    for _ in 0..size.history {
        made.history.push(nodes.len());
        nodes.push(Node::root(r.random_range(0.02..0.4)));
    }
    let link = |r: &mut ChaCha8Rng, to: &mut Vec<(NodeId, f64)>, from: Vec<NodeId>| {
        to.extend(from.into_iter().map(|p| (p, weight(r))));
    };
    for i in 0..size.failures {
        let near = i as f64 / size.failures as f64;
        let mut parents = Vec::new();
        if r.random_bool(0.5) {
            let count = r.random_range(1..=2);
            let from = picks(r, &made.history, near, 3.0 * span, count);
            link(r, &mut parents, from);
        }
        if i > 3 && r.random_bool(0.3) {
            let back = made.failures[i - r.random_range(1..=3)];
            parents.push((back, weight(r)));
        }
        made.failures.push(nodes.len());
        nodes.push(Node::noisy_or(r.random_range(0.001..0.03), parents));
    }
    for i in 0..size.states {
        let near = i as f64 / size.states as f64;
        let mut parents = Vec::new();
        let count = r.random_range(3..=8);
        let from = picks(r, &made.failures, near, 1.5 * span, count);
        link(r, &mut parents, from);
        if i > 2 && r.random_bool(0.4) {
            let back = made.states[i - r.random_range(1..=2)];
            parents.push((back, weight(r)));
        }
        made.states.push(nodes.len());
        nodes.push(Node::noisy_or(r.random_range(0.001..0.02), parents));
    }
    // Failures in turn, so that a part's failures sit together.
    for i in 0..size.parts {
        let (from, to) = (i * size.failures / size.parts, (i + 1) * size.failures / size.parts);
        made.parts.push(nodes.len());
        nodes.push(Node::any_of(made.failures[from..to].iter().copied()));
    }
    for i in 0..size.findings {
        let near = i as f64 / size.findings as f64;
        let mut parents = Vec::new();
        let count = r.random_range(1..=4);
        let from = picks(r, &made.failures, near, span, count);
        link(r, &mut parents, from);
        if r.random_bool(0.45) {
            let count = r.random_range(1..=2);
            let from = picks(r, &made.states, near, 2.0 * span, count);
            link(r, &mut parents, from);
        }
        made.findings.push(nodes.len());
        nodes.push(Node::noisy_or(r.random_range(0.002..0.05), parents));
    }
    made.network = Network::new(nodes).unwrap();
    made
}

/// Two layers without structure: rare failures, many findings, every link anywhere.
pub fn two_layers(seed: u64, failures: usize, findings: usize, links: usize) -> Synthetic {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let r = &mut random;
    let mut nodes: Vec<Node> = (0..failures).map(|_| Node::root(r.random_range(0.001..0.02))).collect();
    let mut parents = vec![Vec::new(); findings];
    let mut left = links;
    while left > 0 {
        let list: &mut Vec<(NodeId, f64)> = &mut parents[r.random_range(0..findings)];
        let cause = r.random_range(0..failures);
        if list.iter().all(|&(c, _)| c != cause) {
            list.push((cause, weight(r)));
            left -= 1;
        }
    }
    let made_findings = (failures..failures + findings).collect();
    nodes.extend(parents.into_iter().map(|list| Node::noisy_or(r.random_range(0.0005..0.01), list)));
    Synthetic {
        network: Network::new(nodes).unwrap(),
        history: Vec::new(),
        failures: (0..failures).collect(),
        states: Vec::new(),
        parts: Vec::new(),
        findings: made_findings,
    }
}

impl Synthetic {
    /// Answers drawn from a vehicle with `broken` failures for certain: up to `present` findings that are
    /// there and `absent` that are not, picked at random.
    pub fn answers(&self, seed: u64, broken: usize, present: usize, absent: usize) -> Evidence {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut failures = self.failures.clone();
        failures.shuffle(&mut random);
        let broken = &failures[..broken];
        let mut states: Vec<bool> = Vec::new();
        for id in 0..self.network.len() {
            let chance = self.network.chance_given(id, |p| states[p]);
            states.push(broken.contains(&id) || random.random::<f64>() < chance);
        }
        let mut order = self.findings.clone();
        order.shuffle(&mut random);
        let (mut there, mut gone) = (0, 0);
        let mut evidence = Evidence::new();
        for node in order {
            if states[node] && there < present {
                there += 1;
                evidence = evidence.present(node);
            } else if !states[node] && gone < absent {
                gone += 1;
                evidence = evidence.absent(node);
            }
        }
        evidence
    }

    /// Everything a ranking reports: parts, failures, states, history.
    pub fn targets(&self) -> Vec<NodeId> {
        [&self.parts, &self.failures, &self.states, &self.history].into_iter().flatten().copied().collect()
    }

    /// Findings without an answer yet.
    pub fn unanswered(&self, evidence: &Evidence) -> Vec<NodeId> {
        self.findings.iter().copied().filter(|&f| evidence.pair(f) == (1.0, 1.0)).collect()
    }
}
