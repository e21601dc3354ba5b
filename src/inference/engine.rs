//! The engine: questions about chances, answered exactly within limits and by sampling beyond them.

use thiserror::Error;

use super::evidence::{Evidence, EvidenceError};
use super::network::{Network, NodeId};
use super::plan::{self, Cost};
use super::reduce::{Place, Problem, reduce};
use super::sampling;
use super::sweep::{Numbers, sweep};

/// When to stop trying for an exact answer, and what to do then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Most variables in one table; a table has `2^width` entries.
    pub width: usize,
    /// Most entries of all tables together; about 20 bytes each.
    pub entries: f64,
    /// Samples to draw when a problem is over the limits.
    pub samples: usize,
    /// Seed of those samples: the same seed gives the same digits.
    pub seed: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { width: 22, entries: 16e6, samples: 200_000, seed: 1 }
    }
}

/// How an answer was obtained.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Method {
    /// Exact up to floating point.
    Exact {
        /// What the elimination cost.
        cost: Cost,
    },
    /// Estimated from weighted samples, because the problem was over the limits.
    Sampled {
        /// Samples drawn.
        samples: usize,
        /// Kish's effective number of samples: how many unweighted ones would tell as much.
        effective: f64,
        /// What exact work would have cost.
        cost: Cost,
    },
}

impl Method {
    /// Whether the answer is exact up to floating point.
    pub fn is_exact(&self) -> bool {
        matches!(self, Self::Exact { .. })
    }
}

/// Chances under the evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// `ln P(evidence)`.
    pub log_evidence: f64,
    /// P(target present | evidence), in the order the targets were asked for.
    pub marginals: Vec<f64>,
    /// Standard error of each marginal; zero when exact.
    pub errors: Vec<f64>,
    /// How the chances were obtained.
    pub method: Method,
}

/// A question that could be asked next: nodes whose presence are its exclusive outcomes.
///
/// Outcome 0 is "all absent" (a normal reading, a "no"); outcome `i` is "`nodes[i - 1]` present, the others absent".
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    /// The outcome nodes, each once.
    pub nodes: Vec<NodeId>,
}

impl Candidate {
    /// A question answered yes (present) or no (absent).
    pub fn yes_no(node: NodeId) -> Self {
        Self { nodes: vec![node] }
    }

    /// A question whose non-normal outcomes exclude each other.
    pub fn exclusive(nodes: impl Into<Vec<NodeId>>) -> Self {
        Self { nodes: nodes.into() }
    }
}

/// One answer a candidate may get.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// P(this outcome | evidence), normalised over the candidate's outcomes.
    pub chance: f64,
    /// P(target present | evidence, this outcome). For an outcome that cannot happen (`chance` 0): the
    /// marginals as they are now.
    pub marginals: Vec<f64>,
}

/// What each answer to a candidate question would tell.
#[derive(Debug, Clone, PartialEq)]
pub struct CandidateResult {
    /// Outcome 0 (all absent) first, then one outcome a node.
    pub outcomes: Vec<Outcome>,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum InferenceError {
    /// The evidence does not fit the network.
    #[error(transparent)]
    Evidence(#[from] EvidenceError),
    /// A target, candidate or queried node beyond the network.
    #[error("node {node} was asked about, but the network has only {len} nodes")]
    UnknownNode {
        /// The id.
        node: NodeId,
        /// The number of nodes.
        len: usize,
    },
    /// The evidence has probability zero: answers that contradict each other.
    #[error("the answers contradict each other: together they cannot happen under this network")]
    Impossible,
    /// A candidate without nodes or with a node twice.
    #[error("candidate {nodes:?} must name at least one node, and none twice")]
    Candidate {
        /// Its nodes.
        nodes: Vec<NodeId>,
    },
}

/// Answers questions about chances. Holds nothing but its limits; every call is independent and repeatable.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Engine {
    /// What may be spent on exact answers.
    pub limits: Limits,
}

/// A problem solved forward: its constants and everything summed out.
fn log_evidence(problem: &Problem, log: f64) -> f64 {
    problem.constants.iter().map(|c| c.ln()).sum::<f64>() + log
}

impl Engine {
    /// An engine with the given limits.
    pub fn new(limits: Limits) -> Self {
        Self { limits }
    }

    /// The chance of every target under the evidence, and the chance of the evidence itself.
    pub fn posterior(
        &self,
        network: &Network,
        evidence: &Evidence,
        targets: &[NodeId],
    ) -> Result<Posterior, InferenceError> {
        evidence.check(network)?;
        self.known(network, targets)?;
        let problem = reduce(network, evidence, targets);
        let order = plan::order(&problem);
        let cost = plan::cost(&problem, &order);
        if cost.width > self.limits.width || cost.entries > self.limits.entries {
            return self.sampled(network, evidence, targets, cost);
        }
        let plan = plan::compile(&problem, &order);
        let swept = sweep::<f64>(&plan, &problem, &Numbers::of(&problem), !targets.is_empty());
        let log_evidence = log_evidence(&problem, swept.log[0]);
        if log_evidence == f64::NEG_INFINITY {
            return Err(InferenceError::Impossible);
        }
        let marginals = targets
            .iter()
            .map(|&target| match problem.places[target] {
                Place::Known(state) => f64::from(u8::from(state)),
                Place::Variable(var) => swept.marginals[var],
                Place::Out | Place::Folded => unreachable!("targets are kept"),
            })
            .collect();
        let errors = vec![0.0; targets.len()];
        Ok(Posterior { log_evidence, marginals, errors, method: Method::Exact { cost } })
    }

    /// P(all of `states` | evidence): "is anything else wrong?" is one minus the chance that all else is absent.
    pub fn joint(
        &self,
        network: &Network,
        evidence: &Evidence,
        states: &[(NodeId, bool)],
    ) -> Result<f64, InferenceError> {
        let nodes: Vec<NodeId> = states.iter().map(|&(node, _)| node).collect();
        self.known(network, &nodes)?;
        let before = self.posterior(network, evidence, &[])?;
        let all = states.iter().fold(evidence.clone(), |all, &(node, state)| all.observed(node, state));
        match self.posterior(network, &all, &[]) {
            Ok(after) => Ok((after.log_evidence - before.log_evidence).exp().min(1.0)),
            Err(InferenceError::Impossible) => Ok(0.0),
            Err(other) => Err(other),
        }
    }

    /// What every answer to every candidate question would tell about the targets.
    pub fn candidates(
        &self,
        network: &Network,
        evidence: &Evidence,
        targets: &[NodeId],
        candidates: &[Candidate],
    ) -> Result<Vec<CandidateResult>, InferenceError> {
        let now = self.posterior(network, evidence, targets)?;
        candidates
            .iter()
            .map(|candidate| {
                self.known(network, &candidate.nodes)?;
                let mut sorted = candidate.nodes.clone();
                sorted.sort_unstable();
                if sorted.is_empty() || sorted.windows(2).any(|pair| pair[0] == pair[1]) {
                    return Err(InferenceError::Candidate { nodes: candidate.nodes.clone() });
                }
                self.candidate(network, evidence, targets, candidate, &now)
            })
            .collect()
    }

    fn candidate(
        &self,
        network: &Network,
        evidence: &Evidence,
        targets: &[NodeId],
        candidate: &Candidate,
        now: &Posterior,
    ) -> Result<CandidateResult, InferenceError> {
        let mut answers = Vec::new();
        for outcome in 0..=candidate.nodes.len() {
            let answer = candidate.nodes.iter().enumerate();
            let answer =
                answer.fold(evidence.clone(), |all, (i, &node)| all.observed(node, i + 1 == outcome));
            answers.push(match self.posterior(network, &answer, targets) {
                Ok(posterior) => Some(posterior),
                Err(InferenceError::Impossible) => None,
                Err(other) => return Err(other),
            });
        }
        let logs = answers.iter().flatten().map(|p| p.log_evidence);
        let most = logs.fold(f64::NEG_INFINITY, f64::max);
        if most == f64::NEG_INFINITY {
            return Err(InferenceError::Impossible);
        }
        let weight = |p: &Option<Posterior>| p.as_ref().map_or(0.0, |p| (p.log_evidence - most).exp());
        let total: f64 = answers.iter().map(weight).sum();
        let outcomes = answers
            .into_iter()
            .map(|answer| Outcome {
                chance: weight(&answer) / total,
                marginals: answer.map_or_else(|| now.marginals.clone(), |p| p.marginals),
            })
            .collect();
        Ok(CandidateResult { outcomes })
    }

    fn known(&self, network: &Network, nodes: &[NodeId]) -> Result<(), InferenceError> {
        let len = network.len();
        match nodes.iter().find(|&&node| node >= len) {
            Some(&node) => Err(InferenceError::UnknownNode { node, len }),
            None => Ok(()),
        }
    }

    fn sampled(
        &self,
        network: &Network,
        evidence: &Evidence,
        targets: &[NodeId],
        cost: Cost,
    ) -> Result<Posterior, InferenceError> {
        let Limits { samples, seed, .. } = self.limits;
        let found =
            sampling::sample(network, evidence, targets, samples, seed).ok_or(InferenceError::Impossible)?;
        Ok(Posterior {
            log_evidence: found.log_evidence,
            marginals: found.marginals,
            errors: found.errors,
            method: Method::Sampled { samples, effective: found.effective, cost },
        })
    }
}
