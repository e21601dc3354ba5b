//! Credit: how likely it is that a cause really brought an effect on, not merely that both are there.
//!
//! In a noisy-OR every link either fires or does not, on its own. The chance that the link `u -> v` fired,
//! given everything seen, is `w P(u, e | do(v)) / P(e)`: `do(v)` sets `v` present and cuts it off from its causes (Pearl
//! 2009), because once the link fired, `v` is present whatever its other causes do. One ranking of the cut network
//! gives the credit of all causes of `v` at once; the background's is `b P(e | do(v)) / P(e)`. It is what the
//! expectation step for a noisy-OR counts. Several causes may have fired, so credits may sum to more than the
//! chance of `v`.

use std::collections::BTreeMap;

use crate::inference::{Engine, Evidence, InferenceError, Network, Node, NodeId};

/// Who brought a node on.
#[derive(Debug, Clone, PartialEq)]
pub struct Credit {
    /// The node.
    pub node: NodeId,
    /// Chance that it is present.
    pub chance: f64,
    /// Chance that it is present and came of itself: its base or background fired.
    pub own: f64,
    /// Each cause with the chance that it is there and its link fired.
    pub causes: Vec<(NodeId, f64)>,
}

impl Credit {
    /// Share of the node's chance that goes to a cause: how likely the cause brought it on, if it is there.
    pub fn share(&self, cause: NodeId) -> f64 {
        let fired = self.causes.iter().find(|&&(node, _)| node == cause).map_or(0.0, |&(_, fired)| fired);
        share(fired, self.chance)
    }

    /// Share of the node's chance that no listed cause accounts for.
    pub fn own_share(&self) -> f64 {
        share(self.own, self.chance)
    }
}

fn share(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { (part / whole).clamp(0.0, 1.0) } else { 0.0 }
}

/// `network` with some nodes cut off from their causes and set: `true` present, `false` absent.
///
/// # Panics
/// Never: what is cut from a sound network is a sound network.
pub fn cut(network: &Network, set: &BTreeMap<NodeId, bool>) -> Network {
    let nodes = network
        .nodes()
        .iter()
        .enumerate()
        .map(|(id, node)| match set.get(&id) {
            Some(&present) => Node::root(f64::from(u8::from(present))),
            None => node.clone(),
        })
        .collect();
    let tables = (0..network.len())
        .filter(|id| !set.contains_key(id))
        .filter_map(|id| Some((id, network.table(id)?.to_vec())))
        .collect();
    Network::with_tables(nodes, tables).expect("cutting a sound network leaves it sound")
}

/// Credit for one node, whose chance is `chance` and the logarithm of whose evidence is `log_evidence`.
pub fn credit(
    engine: &Engine,
    network: &Network,
    evidence: &Evidence,
    (node, chance, log_evidence): (NodeId, f64, f64),
) -> Result<Credit, InferenceError> {
    let own = network.node(node);
    let parents: Vec<NodeId> = own.parents.iter().map(|&(parent, _)| parent).collect();
    let set = BTreeMap::from([(node, true)]);
    let swept = match engine.posterior(&cut(network, &set), evidence, &parents) {
        Ok(swept) => swept,
        // Seen to be absent: nothing brought it on.
        Err(InferenceError::Impossible) => {
            let causes = parents.into_iter().map(|parent| (parent, 0.0)).collect();
            return Ok(Credit { node, chance, own: 0.0, causes });
        }
        Err(other) => return Err(other),
    };
    let ratio = (swept.log_evidence - log_evidence).exp();
    let causes = own
        .parents
        .iter()
        .zip(&swept.marginals)
        .map(|(&(parent, weight), &present)| (parent, (weight * present * ratio).min(1.0)))
        .collect();
    Ok(Credit { node, chance, own: (own.background * ratio).min(1.0), causes })
}
