//! The engine: questions about chances, answered exactly within limits and by sampling beyond them.

use thiserror::Error;

use super::evidence::{Evidence, EvidenceError};
use super::network::{Network, NodeId};
use super::order::{Cost, better, greedy, order};
use super::prepared::Prepared;
use super::reduce::{Problem, reduce};
use super::sampling;
use super::solve::{log_evidence, solve};

/// When to stop trying for an exact answer, and what to do then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Most variables in one table; a table has `2^width` entries.
    pub width: usize,
    /// Most entries of all tables together; about 20 bytes each.
    pub entries: f64,
    /// Samples to draw when a problem is over the limits. None: give up, with chances that are no numbers.
    pub samples: usize,
    /// Seed of those samples: the same seed gives the same digits.
    pub seed: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { width: 22, entries: 16e6, samples: 200_000, seed: 1 }
    }
}

impl Limits {
    /// Whether exact work at this cost is out of the question.
    pub(super) fn are_passed_by(&self, cost: Cost) -> bool {
        cost.width > self.width || cost.entries > self.entries
    }
}

/// Forward sweeps that an order should be good for when one posterior is wanted, and when many candidates are to be weighed.
const ONE_POSTERIOR: f64 = 5.0;
const MANY_CANDIDATES: f64 = 100.0;

/// Two eliminations pay where the second takes at most this share of the first one's operations.
const CLEARLY_CHEAPER: f64 = 0.7;

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
        Ok(self.prepare_for(network, evidence, targets, ONE_POSTERIOR)?.into_posterior())
    }

    /// As [`Engine::posterior`], kept so that candidates can be weighed on the same elimination order.
    pub fn prepare<'a>(
        &self,
        network: &'a Network,
        evidence: &Evidence,
        targets: &[NodeId],
    ) -> Result<Prepared<'a>, InferenceError> {
        self.prepare_for(network, evidence, targets, MANY_CANDIDATES)
    }

    /// As [`Engine::prepare`], for candidates that are weighed on some of the targets only: `weighed` names them by their places
    /// among the targets. Where what nothing was seen below costs most of the work, and those targets can do without it, they
    /// get an elimination of their own.
    ///
    /// # Panics
    ///
    /// If a place is beyond the targets.
    pub fn prepare_to_weigh<'a>(
        &self,
        network: &'a Network,
        evidence: &Evidence,
        targets: &[NodeId],
        weighed: &[usize],
    ) -> Result<Prepared<'a>, InferenceError> {
        evidence.check(network)?;
        known(network, targets)?;
        let all = reduce(network, evidence, targets);
        let greedy_all = greedy(&all);
        let few: Vec<NodeId> = weighed.iter().map(|&at| targets[at]).collect();
        let some = reduce(network, evidence, &few);
        let greedy_some = greedy(&some);
        if greedy_some.1.operations > CLEARLY_CHEAPER * greedy_all.1.operations {
            let order = better(&all, greedy_all, MANY_CANDIDATES, &self.limits);
            return self.solved(network, evidence, targets, all, &order);
        }
        let order = better(&all, greedy_all, ONE_POSTERIOR, &self.limits);
        let wide = self.solved(network, evidence, targets, all, &order)?;
        let order = better(&some, greedy_some, MANY_CANDIDATES, &self.limits);
        let narrow = self.solved(network, evidence, &few, some, &order)?;
        Ok(wide.with_narrow(narrow, weighed))
    }

    /// As [`Engine::prepare`], with an order good enough for about so many forward sweeps.
    fn prepare_for<'a>(
        &self,
        network: &'a Network,
        evidence: &Evidence,
        targets: &[NodeId],
        sweeps: f64,
    ) -> Result<Prepared<'a>, InferenceError> {
        evidence.check(network)?;
        known(network, targets)?;
        let problem = reduce(network, evidence, targets);
        let order = order(&problem, sweeps, &self.limits);
        self.solved(network, evidence, targets, problem, &order)
    }

    /// A problem solved along an order, or sampled where that is over the limits.
    fn solved<'a>(
        &self,
        network: &'a Network,
        evidence: &Evidence,
        targets: &[NodeId],
        problem: Problem,
        &(ref order, cost): &(Vec<usize>, Cost),
    ) -> Result<Prepared<'a>, InferenceError> {
        if self.limits.are_passed_by(cost) {
            let posterior = self.sampled(network, evidence, targets, cost)?;
            return Ok(Prepared::new(*self, network, evidence, targets, posterior, None));
        }
        let solved = solve(problem, order, targets).ok_or(InferenceError::Impossible)?;
        let posterior = Posterior {
            log_evidence: solved.log_evidence,
            marginals: solved.marginals.clone(),
            errors: vec![0.0; targets.len()],
            method: Method::Exact { cost },
        };
        Ok(Prepared::new(*self, network, evidence, targets, posterior, Some(solved)))
    }

    /// P(all of `states` | evidence): "is anything else wrong?" is one minus the chance that all else is absent.
    pub fn joint(
        &self,
        network: &Network,
        evidence: &Evidence,
        states: &[(NodeId, bool)],
    ) -> Result<f64, InferenceError> {
        let nodes: Vec<NodeId> = states.iter().map(|&(node, _)| node).collect();
        known(network, &nodes)?;
        let before = self.log_evidence(network, evidence)?;
        let all = states.iter().fold(evidence.clone(), |all, &(node, state)| all.observed(node, state));
        match self.log_evidence(network, &all) {
            Ok(after) => Ok((after - before).exp().min(1.0)),
            Err(InferenceError::Impossible) => Ok(0.0),
            Err(other) => Err(other),
        }
    }

    /// `ln P(evidence)`.
    pub fn log_evidence(&self, network: &Network, evidence: &Evidence) -> Result<f64, InferenceError> {
        evidence.check(network)?;
        let problem = reduce(network, evidence, &[]);
        let (order, cost) = order(&problem, 1.0, &self.limits);
        if self.limits.are_passed_by(cost) {
            return Ok(self.sampled(network, evidence, &[], cost)?.log_evidence);
        }
        match log_evidence(&problem, &order) {
            f64::NEG_INFINITY => Err(InferenceError::Impossible),
            log => Ok(log),
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
        self.prepare(network, evidence, targets)?.candidates(candidates)
    }

    fn sampled(
        &self,
        network: &Network,
        evidence: &Evidence,
        targets: &[NodeId],
        cost: Cost,
    ) -> Result<Posterior, InferenceError> {
        let Limits { samples, seed, .. } = self.limits;
        if samples == 0 {
            let nothing = vec![f64::NAN; targets.len()];
            let method = Method::Sampled { samples, effective: 0.0, cost };
            return Ok(Posterior {
                log_evidence: f64::NAN,
                marginals: nothing.clone(),
                errors: nothing,
                method,
            });
        }
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

/// Refuses nodes beyond the network.
pub(super) fn known(network: &Network, nodes: &[NodeId]) -> Result<(), InferenceError> {
    let len = network.len();
    match nodes.iter().find(|&&node| node >= len) {
        Some(&node) => Err(InferenceError::UnknownNode { node, len }),
        None => Ok(()),
    }
}
