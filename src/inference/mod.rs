//! Exact chances on a leaky noisy-OR network: the engine knows nodes, links and evidence, nothing of engines.
//!
//! A [`Network`] is a list of yes/no nodes, parents first. [`Evidence`] says what was seen, hard or soft. An
//! [`Engine`] answers: the chance of every target, of several states at once, and what each answer to
//! each candidate question would tell. Every number comes from sums and products of numbers that are not
//! negative, so many rare findings together cost no digits; docs/model.md has the mathematics and its sources.
//!
//! ```
//! use weephole::inference::{Engine, Evidence, Network, Node};
//!
//! // Russell & Norvig's fever with the priors and background of the checks in tests/inference.
//! let fever = Node::noisy_or(0.02, vec![(0, 0.4), (1, 0.8), (2, 0.9)]);
//! let network = Network::new(vec![Node::root(0.1), Node::root(0.05), Node::root(0.001), fever])?;
//! let seen = Evidence::new().present(3);
//! let answer = Engine::default().posterior(&network, &seen, &[0, 1, 2])?;
//! assert!((answer.marginals[1] - 0.415_797_317_534).abs() < 1e-12);
//! assert!((answer.log_evidence.exp() - 0.097_644_851_2).abs() < 1e-12);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod anneal;
mod bits;
mod candidates;
mod compile;
mod cores;
mod engine;
mod evidence;
mod exchange;
mod kernels;
mod lane;
mod narrow;
mod network;
mod order;
mod plan;
mod prepared;
mod product;
mod reduce;
mod runner;
mod sampling;
mod sharing;
mod side;
mod solve;
mod sweep;

pub(crate) use cores::spread_out;
pub use engine::{Candidate, CandidateResult, Engine, InferenceError, Limits, Method, Outcome, Posterior};
pub use evidence::{Evidence, EvidenceError, MAX_TABLE_NODES, TableEvidence};
pub use network::{Network, NetworkError, Node, NodeId};
pub use order::Cost;
pub use prepared::Prepared;
