//! Answers that are wrong whatever the vehicle does.
//!
//! A weight says how often a cause makes a sign *there to be seen*. Between the sign and the answer stands somebody who may
//! overlook, mishear, misread or mix up. With a share `e` of such slips, what is there is reported with chance `1 - e`, and what is
//! not there with chance `e`; of a check that has `k` outcomes besides the normal one, each is reported with `e / k`. Each cause is
//! taken to be missed by itself, so that the answer is a noisy-OR like the sign: weights and background thinned by
//! `1 - e`, and `e / k` beside the background. docs/model.md says what that leaves out.

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{CauseGraph, GraphError, NodeKind, build};
use crate::inference::{Network, Node, NodeId};
use crate::rulebook::RuleBook;
use crate::rulebook::entries::Vehicle;

/// Shares of answers that are wrong whatever the vehicle does, 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Slips {
    /// Of what people tell: symptoms.
    pub told: f64,
    /// Of what is looked at, tried or measured: checks.
    pub checked: f64,
}

impl Slips {
    /// Every answer is true.
    pub const NONE: Self = Self { told: 0.0, checked: 0.0 };
}

impl Default for Slips {
    /// One of a hundred things told is wrong: judgement. Of checks none, as their backgrounds count their false alarms.
    fn default() -> Self {
        Self { told: 0.01, ..Self::NONE }
    }
}

/// The cause graph of a vehicle as it is asked about, by people who slip now and then.
pub fn asked(
    book: &RuleBook,
    vehicle: &Vehicle,
    today: Option<Date>,
    slips: Slips,
) -> Result<CauseGraph, GraphError> {
    Ok(build(book, vehicle, today)?.with_slips(slips))
}

impl CauseGraph {
    /// The same graph with a network for answers some of which are wrong. The weights that the graph tells stay those of
    /// the book.
    #[must_use]
    pub fn with_slips(mut self, slips: Slips) -> Self {
        self.slips = slips;
        self.network = self.slipped(self.true_network.nodes().to_vec());
        self
    }

    /// A network of these nodes, weights as the book has them, for answers with the graph's share of slips.
    ///
    /// # Panics
    ///
    /// If the nodes are not numbered as those of the graph.
    pub fn slipped(&self, mut nodes: Vec<Node>) -> Network {
        assert_eq!(nodes.len(), self.len(), "as many nodes as the graph has");
        for (id, slips, others) in self.reported() {
            let node = &mut nodes[id];
            let kept = 1.0 - slips;
            let wrongly = slips / others as f64;
            node.background = wrongly + (1.0 - wrongly) * kept * node.background;
            for (_, weight) in &mut node.parents {
                *weight *= kept;
            }
        }
        Network::new(nodes).expect("thinned weights are weights")
    }

    /// What answers are about, each with the share of slips, and with the number of answers beside the plain one that its
    /// question has.
    fn reported(&self) -> impl Iterator<Item = (NodeId, f64, usize)> {
        let Slips { told, checked } = self.slips;
        let symptoms = self.of_kind(NodeKind::Symptom).into_iter().map(move |node| (node, told, 1));
        let outcomes = self
            .checks
            .iter()
            .flat_map(move |(_, nodes)| nodes.iter().map(move |&node| (node, checked, nodes.len())));
        symptoms.chain(outcomes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sign that its only cause always shows and nothing else does is reported in 98 of 100 cases where it is there, and
    /// in 2 where it is not; what is looked at is another matter.
    #[test]
    fn what_is_there_is_missed_and_what_is_not_is_reported() {
        let book = RuleBook::shipped();
        let plain = build(&book, &Vehicle::default(), None).expect("sound");
        let (symptom, causes) = plain
            .of_kind(NodeKind::Symptom)
            .into_iter()
            .map(|node| (node, plain.causes(node)))
            .find(|(_, causes)| causes.len() > 1)
            .expect("symptoms have causes");
        let background = plain.get(symptom).background;
        let asked = plain.clone().with_slips(Slips { told: 0.02, checked: 0.03 });
        let node = asked.network().node(symptom);
        assert!((1.0 - node.background - 0.98 * (1.0 - 0.98 * background)).abs() < 1e-15);
        for ((cause, weight), (from, thinned)) in causes.iter().zip(&node.parents) {
            assert_eq!(cause, from);
            assert!((thinned - 0.98 * weight).abs() < 1e-15);
        }
        let (check, outcomes) = &plain.checks()[0];
        let outcome = outcomes[0];
        let share = 0.03 / outcomes.len() as f64;
        let own = asked.network().node(outcome).background;
        assert!(own > share && own < share + plain.get(outcome).background, "{check}: {own}");
        for node in plain.hidden() {
            assert_eq!(plain.network().node(node), asked.network().node(node));
        }
    }
}
