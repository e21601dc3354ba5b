//! The chances a plan asks for, each an exact query on the case's own network and kept once it is known.

use std::collections::{BTreeMap, BTreeSet};

use crate::explain::comeback::{Repair as Sound, comeback};
use crate::graph::{CauseGraph, NodeKind};
use crate::inference::{Engine, Evidence, InferenceError, NodeId};

/// A path of causes counts if its weights multiplied come to at least this: what would bring on a complaint one time
/// in ten. Weaker paths tie everything to everything.
const LEAST_PATH: f64 = 0.1;

/// Chances under the evidence of one case.
pub struct Chances<'a> {
    graph: &'a CauseGraph,
    engine: &'a Engine,
    evidence: &'a Evidence,
    /// Chance of every node that is not a finding.
    marginals: Vec<f64>,
    /// `ln P(evidence)`, and below whether it is exact.
    log: f64,
    exact: bool,
    log_exact: bool,
    none: BTreeMap<BTreeSet<NodeId>, f64>,
    brought: BTreeMap<Vec<(NodeId, u64)>, f64>,
    stays: BTreeMap<BTreeSet<NodeId>, f64>,
    complaint: Vec<NodeId>,
    could_cause: BTreeSet<NodeId>,
    failures: BTreeSet<NodeId>,
    /// How the chance that the complaint stays is worked out.
    two_worlds: bool,
}

impl<'a> Chances<'a> {
    /// Ranks everything once.
    pub fn new(
        graph: &'a CauseGraph,
        engine: &'a Engine,
        evidence: &'a Evidence,
    ) -> Result<Self, InferenceError> {
        let hidden = graph.hidden();
        let posterior = engine.posterior(graph.network(), evidence, &hidden)?;
        let mut marginals = vec![0.0; graph.len()];
        for (node, &chance) in hidden.iter().zip(&posterior.marginals) {
            marginals[*node] = chance;
        }
        let alone = engine.posterior(graph.network(), evidence, &[])?;
        Ok(Self {
            graph,
            engine,
            evidence,
            marginals,
            log: alone.log_evidence,
            exact: posterior.method.is_exact(),
            log_exact: alone.method.is_exact(),
            none: BTreeMap::new(),
            brought: BTreeMap::new(),
            stays: BTreeMap::new(),
            complaint: complaint(graph, evidence),
            could_cause: could_cause(graph, evidence),
            failures: graph.of_kind(NodeKind::Failure).into_iter().collect(),
            two_worlds: true,
        })
    }

    /// The findings that the plan must do away with: symptoms that are there, or outcomes of checks if there are none.
    pub fn complaint(&self) -> &[NodeId] {
        &self.complaint
    }

    /// In words, what [`Self::stays`] gives.
    pub fn what_stays(&self) -> &'static str {
        if self.two_worlds {
            "chance that a sign of the complaint is still there after the work: the repair as an intervention, in one \
             network that holds the engine before and after it"
        } else {
            "chance that another failure able to cause the complaint is there too: one joint query, as the network is too \
             tangled to hold the engine before and after the work"
        }
    }

    /// Chance that the complaint is still there once the failures, states and history of `cured` are absent. Exact unless [`Self::exact`]
    /// says otherwise; never a sum of chances.
    pub fn stays(&mut self, cured: &BTreeSet<NodeId>) -> Result<f64, InferenceError> {
        if self.complaint.is_empty() {
            return Ok(0.0);
        }
        if let Some(&known) = self.stays.get(cured) {
            return Ok(known);
        }
        if self.two_worlds && self.log_exact {
            let repair = Sound {
                sound: cured.clone(),
                lasting: self.failures.clone(),
                complaint: self.complaint.clone(),
                ..Sound::default()
            };
            let known = (self.evidence, self.log);
            if let Some(found) = comeback(self.engine, self.graph.network(), known, &repair)? {
                self.stays.insert(cured.clone(), found.stays);
                return Ok(found.stays);
            }
            // One measure for all sets: those weighed so far are asked for anew.
            self.two_worlds = false;
            self.stays.clear();
        }
        let left: BTreeSet<NodeId> = self.could_cause.difference(cured).copied().collect();
        let chance = self.any(&left)?;
        self.stays.insert(cured.clone(), chance);
        Ok(chance)
    }

    /// Whether every chance given so far is exact.
    pub fn exact(&self) -> bool {
        self.exact
    }

    /// Queries made so far.
    pub fn asked(&self) -> usize {
        self.none.len() + self.brought.len() + self.stays.len()
    }

    /// Chance that a node is present.
    pub fn of(&self, node: NodeId) -> f64 {
        self.marginals[node]
    }

    /// Chance that any of these nodes is present: one joint query, never a sum of chances.
    pub fn any(&mut self, nodes: &BTreeSet<NodeId>) -> Result<f64, InferenceError> {
        if nodes.len() == 1 {
            return Ok(nodes.iter().map(|&node| self.of(node)).sum());
        }
        Ok(1.0 - self.none_of(nodes)?)
    }

    fn none_of(&mut self, nodes: &BTreeSet<NodeId>) -> Result<f64, InferenceError> {
        if nodes.is_empty() {
            return Ok(1.0);
        }
        if let Some(&known) = self.none.get(nodes) {
            return Ok(known);
        }
        let independent = || nodes.iter().map(|&node| 1.0 - self.marginals[node]).product();
        let all = nodes.iter().fold(self.evidence.clone(), |all, &node| all.absent(node));
        let chance = match self.engine.posterior(self.graph.network(), &all, &[]) {
            Ok(after) if self.log_exact && after.method.is_exact() => {
                (after.log_evidence - self.log).exp().min(1.0)
            }
            Ok(_) => {
                self.exact = false;
                independent()
            }
            Err(InferenceError::Impossible) => 0.0,
            Err(other) => return Err(other),
        };
        self.none.insert(nodes.clone(), chance);
        Ok(chance)
    }

    /// Chance that these causes, each with its weight, would bring their effect on anew, without background. That it stays
    /// away is the mean of the product of `1 - w` over the causes that are there: soft evidence on each of them.
    pub fn brought_on(&mut self, causes: &BTreeMap<NodeId, f64>) -> Result<f64, InferenceError> {
        if causes.is_empty() {
            return Ok(0.0);
        }
        let key: Vec<(NodeId, u64)> = causes.iter().map(|(&node, weight)| (node, weight.to_bits())).collect();
        if let Some(&known) = self.brought.get(&key) {
            return Ok(known);
        }
        let away = causes
            .iter()
            .fold(self.evidence.clone(), |away, (&node, weight)| away.likelihood(node, 1.0, 1.0 - weight));
        let found = self.engine.posterior(self.graph.network(), &away, &[])?;
        let chance = if self.log_exact && found.method.is_exact() {
            1.0 - (found.log_evidence - self.log).exp().min(1.0)
        } else {
            self.exact = false;
            1.0 - causes.iter().map(|(&node, weight)| 1.0 - weight * self.marginals[node]).product::<f64>()
        };
        self.brought.insert(key, chance);
        Ok(chance)
    }
}

/// The failures that could have brought on what was found: those from which a chain of weights of at least one in ten
/// leads to a finding that is there. Empty if nothing was found.
fn could_cause(graph: &CauseGraph, evidence: &Evidence) -> BTreeSet<NodeId> {
    let mut strength: BTreeMap<NodeId, f64> = found(evidence).into_iter().map(|n| (n, 1.0)).collect();
    let mut failures = BTreeSet::new();
    // Causes have smaller numbers than their effects, so one sweep downwards meets every path.
    for node in (0..graph.len()).rev() {
        let Some(&own) = strength.get(&node) else { continue };
        if graph.get(node).kind == NodeKind::Failure && own >= LEAST_PATH {
            failures.insert(node);
        }
        for (cause, weight) in graph.causes(node) {
            let path = strength.entry(cause).or_insert(0.0);
            *path = path.max(own * weight);
        }
    }
    failures
}

fn complaint(graph: &CauseGraph, evidence: &Evidence) -> Vec<NodeId> {
    let of = |kind: NodeKind| -> Vec<NodeId> {
        found(evidence).into_iter().filter(|&node| graph.get(node).kind == kind).collect()
    };
    let symptoms = of(NodeKind::Symptom);
    if symptoms.is_empty() { of(NodeKind::Outcome) } else { symptoms }
}

/// Findings that are there, or that a reading makes at least three times as likely as not.
fn found(evidence: &Evidence) -> Vec<NodeId> {
    const LEANS: f64 = 3.0;
    let mut found: Vec<NodeId> = evidence
        .pairs()
        .filter(|&(_, (without, with))| with > LEANS * without)
        .map(|(node, _)| node)
        .collect();
    for table in evidence.tables() {
        let normal = table.likelihoods.first().copied().unwrap_or(1.0);
        for (bit, &node) in table.nodes.iter().enumerate() {
            if table.likelihoods.get(1 << bit).is_some_and(|&with| with > LEANS * normal) {
                found.push(node);
            }
        }
    }
    found
}
