//! When a problem is too tangled for exact work: weighted samples with a stated error.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::evidence::Evidence;
use super::network::{Network, NodeId};

/// What sampling found.
pub(super) struct Sampled {
    pub log_evidence: f64,
    pub marginals: Vec<f64>,
    /// Standard error of each marginal.
    pub errors: Vec<f64>,
    /// Kish's effective number of samples.
    pub effective: f64,
}

/// Likelihood weighting: hidden nodes are drawn from their causes, observed ones only weigh. None when every
/// sample had weight zero.
pub(super) fn sample(
    network: &Network,
    evidence: &Evidence,
    targets: &[NodeId],
    samples: usize,
    seed: u64,
) -> Option<Sampled> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut states = vec![false; network.len()];
    let (mut total, mut squares) = (0.0_f64, 0.0_f64);
    let mut present = vec![(0.0_f64, 0.0_f64); targets.len()];
    for _ in 0..samples {
        let mut weight = 1.0;
        for id in 0..network.len() {
            let chance = network.chance_given(id, |parent| states[parent]);
            let (if_absent, if_present) = evidence.pair(id);
            let worth = (1.0 - chance) * if_absent + chance * if_present;
            weight *= worth;
            states[id] = worth > 0.0 && random.random::<f64>() * worth < chance * if_present;
        }
        for table in evidence.tables() {
            let bits = table.nodes.iter().enumerate();
            weight *= table.likelihoods[bits.fold(0, |i, (bit, &node)| i | usize::from(states[node]) << bit)];
        }
        total += weight;
        squares += weight * weight;
        for (sum, &target) in present.iter_mut().zip(targets) {
            if states[target] {
                *sum = (sum.0 + weight, sum.1 + weight * weight);
            }
        }
    }
    if total <= 0.0 {
        return None;
    }
    let marginals: Vec<f64> = present.iter().map(|&(w, _)| w / total).collect();
    // Delta method for a ratio of weighted sums: sum w^2 (x - p)^2 / (sum w)^2.
    let errors = present
        .iter()
        .zip(&marginals)
        .map(|(&(_, w2), &p)| {
            let spread = (1.0 - p) * (1.0 - p) * w2 + p * p * (squares - w2);
            spread.max(0.0).sqrt() / total
        })
        .collect();
    Some(Sampled {
        log_evidence: (total / samples as f64).ln(),
        marginals,
        errors,
        effective: total * total / squares,
    })
}
