//! One confirmed case as learning sees it: its network with the numbers left open, and what was seen.

use crate::graph::wear::scale_chance;
use crate::inference::{Evidence, Network, NetworkError, Node, NodeId};

/// A number of the network: fixed, or one of the parameters that are learnt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slot {
    /// Which parameter; none for a number that holds by definition.
    pub parameter: Option<usize>,
    /// The number, if it is no parameter.
    pub fixed: f64,
    /// How age scales the parameter on this vehicle (a proportional hazard); 1 for links and backgrounds.
    pub wear: f64,
    /// Share of vehicles like this one that have the thing at all.
    pub share: f64,
}

impl Slot {
    /// A number that is not learnt.
    pub fn fixed(chance: f64) -> Self {
        Self { parameter: None, fixed: chance, wear: 1.0, share: 1.0 }
    }

    /// A parameter as it stands.
    pub fn of(parameter: usize) -> Self {
        Self { parameter: Some(parameter), fixed: 0.0, wear: 1.0, share: 1.0 }
    }

    /// The chance on this vehicle.
    pub fn chance(&self, values: &[f64]) -> f64 {
        self.parameter.map_or(self.fixed, |parameter| self.at(values[parameter]))
    }

    /// The chance on this vehicle if the parameter were `value`.
    #[allow(clippy::float_cmp)] // exactly 1 is what a vehicle without known ages has
    pub fn at(&self, value: f64) -> f64 {
        let scaled = if self.wear == 1.0 { value } else { scale_chance(value, self.wear) };
        (scaled * self.share).clamp(0.0, 1.0)
    }

    /// How many ordinary vehicles this one counts for: the chance here over the parameter.
    pub fn exposure(&self, value: f64) -> f64 {
        if value > 0.0 { self.at(value) / value } else { self.wear * self.share }
    }
}

/// One node: its own base or background, and its causes.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetNode {
    /// Base or background.
    pub own: Slot,
    /// Causes with their weights.
    pub causes: Vec<(NodeId, Slot)>,
}

/// One confirmed case.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Its name.
    pub name: String,
    /// The network, causes first.
    pub nodes: Vec<SheetNode>,
    /// What was seen and read before the verdict.
    pub answers: Evidence,
    /// What was looked at in the end, and whether it was there. The rest was not looked at.
    pub verdict: Vec<(NodeId, bool)>,
    /// Nodes whose own numbers this case must not move, such as the complaint without which there would be no case.
    pub uncounted: Vec<NodeId>,
    /// How many such cases there are: 1, unless equal ones are taken together.
    pub times: f64,
}

impl Sheet {
    /// Answers and verdict together.
    pub fn all(&self) -> Evidence {
        self.verdict.iter().fold(self.answers.clone(), |all, &(node, there)| all.observed(node, there))
    }

    /// The network with these numbers put in.
    pub fn network(&self, values: &[f64]) -> Result<Network, NetworkError> {
        let node = |node: &SheetNode| {
            let causes = node.causes.iter().map(|(cause, slot)| (*cause, slot.chance(values))).collect();
            Node::noisy_or(node.own.chance(values), causes)
        };
        Network::new(self.nodes.iter().map(node).collect())
    }
}
