//! Every world of a small network, one by one: which backgrounds and links fire, and what comes of it. Nothing
//! here is shared with the engine.

use rand::Rng;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use weephole::inference::{Network, Node, NodeId};

/// One world: its chance, which background fired for each node, which of its links fired.
pub struct World {
    pub chance: f64,
    pub background: Vec<bool>,
    pub links: Vec<Vec<bool>>,
}

impl World {
    /// The state of every node when those in `absent` are set absent and those in `fixed` keep a given state.
    pub fn states(&self, network: &Network, absent: &[NodeId], fixed: &[(NodeId, bool)]) -> Vec<bool> {
        let mut states: Vec<bool> = Vec::new();
        for (id, node) in network.nodes().iter().enumerate() {
            let fired = node.parents.iter().zip(&self.links[id]).any(|(&(p, _), &link)| link && states[p]);
            let free = self.background[id] || fired;
            let kept = fixed.iter().find(|(node, _)| *node == id).map_or(free, |&(_, state)| state);
            states.push(!absent.contains(&id) && kept);
        }
        states
    }
}

/// All worlds of a network; their number doubles with every background and link.
pub fn all(network: &Network) -> Vec<World> {
    let mut switches: Vec<f64> = Vec::new();
    for node in network.nodes() {
        switches.push(node.background);
        switches.extend(node.parents.iter().map(|&(_, weight)| weight));
    }
    assert!(switches.len() <= 20, "{} switches are too many to enumerate", switches.len());
    (0..1_usize << switches.len())
        .map(|bits| {
            let chance = switches
                .iter()
                .enumerate()
                .map(|(at, p)| if bits >> at & 1 == 1 { *p } else { 1.0 - p })
                .product();
            let mut at = 0;
            let mut next = || {
                at += 1;
                bits >> (at - 1) & 1 == 1
            };
            let mut world = World { chance, background: Vec::new(), links: Vec::new() };
            for node in network.nodes() {
                world.background.push(next());
                world.links.push(node.parents.iter().map(|_| next()).collect());
            }
            world
        })
        .filter(|world| world.chance > 0.0)
        .collect()
}

/// A random network of `len` nodes, each with at most two parents, from one seed.
pub fn random(len: usize, seed: u64) -> Network {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let nodes = (0..len)
        .map(|id| {
            let mut parents: Vec<(NodeId, f64)> = Vec::new();
            for _ in 0..id.min(2) {
                let parent = random.random_range(0..id);
                if parents.iter().all(|&(known, _)| known != parent) && random.random::<f64>() < 0.85 {
                    parents.push((parent, random.random_range(0.1..0.95)));
                }
            }
            parents.sort_by_key(|&(parent, _)| parent);
            Node::noisy_or(random.random_range(0.02..0.3), parents)
        })
        .collect();
    Network::new(nodes).unwrap()
}
