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

/// A product of weights smaller than this is taken as its logarithm before it can come to nothing.
const SMALL: f64 = 1e-200;

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
    // Weights are relative to `e^scale`, the largest so far: those of many rare signs are smaller than any number.
    let mut scale = f64::NEG_INFINITY;
    let (mut total, mut squares) = (0.0_f64, 0.0_f64);
    let mut present = vec![(0.0_f64, 0.0_f64); targets.len()];
    for _ in 0..samples {
        let (mut log, mut weight) = (0.0, 1.0_f64);
        for id in 0..network.len() {
            let chance = network.chance_given(id, |parent| states[parent]);
            let (if_absent, if_present) = evidence.pair(id);
            let worth = (1.0 - chance) * if_absent + chance * if_present;
            weight *= worth;
            if weight < SMALL {
                log += weight.ln();
                weight = 1.0;
            }
            states[id] = worth > 0.0 && random.random::<f64>() * worth < chance * if_present;
        }
        for table in evidence.tables() {
            let bits = table.nodes.iter().enumerate();
            let at = bits.fold(0, |i, (bit, &node)| i | usize::from(states[node]) << bit);
            log += table.likelihoods[at].ln();
        }
        log += weight.ln();
        if log == f64::NEG_INFINITY {
            continue;
        }
        if log > scale {
            let by = (scale - log).exp();
            scale = log;
            total *= by;
            squares *= by * by;
            for sum in &mut present {
                *sum = (sum.0 * by, sum.1 * by * by);
            }
        }
        let weight = (log - scale).exp();
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
        log_evidence: scale + (total / samples as f64).ln(),
        marginals,
        errors,
        effective: total * total / squares,
    })
}

#[cfg(test)]
mod tests {
    use super::super::engine::{Engine, Limits};
    use super::super::network::Node;
    use super::*;

    /// Causes of two findings each, most of them shared.
    fn network(background: f64) -> Network {
        let mut nodes: Vec<Node> = (0..6).map(|i| Node::root(0.1 + 0.05 * f64::from(i))).collect();
        for finding in 0..6_usize {
            let causes = [finding, (finding + 1) % 6, (finding + 3) % 6].map(|cause| (cause, 0.5));
            nodes.push(Node::noisy_or(background, causes.to_vec()));
        }
        Network::new(nodes).expect("parents first")
    }

    #[test]
    fn estimates_lie_within_their_errors_and_are_the_same_each_time() {
        let network = network(0.05);
        let evidence = Evidence::new().present(6).present(8).absent(9);
        let targets: Vec<NodeId> = (0..6).collect();
        let exact = Engine::default().posterior(&network, &evidence, &targets).expect("possible");
        let draw = || sample(&network, &evidence, &targets, 20_000, 1).expect("some fit");
        let found = draw();
        assert!(exact.method.is_exact() && found.effective > 1000.0);
        for at in 0..6 {
            let (error, off) = (found.errors[at], (found.marginals[at] - exact.marginals[at]).abs());
            assert!(error > 0.0 && error < 0.05, "{error}");
            assert!(off < 4.0 * error, "{at}: {off} with an error of {error}");
        }
        assert!((found.log_evidence - exact.log_evidence).abs() < 0.1);
        assert_eq!(draw().marginals, found.marginals);
    }

    /// Three hundred findings that a sample makes as good as impossible: as plain numbers their weights would be zero.
    #[test]
    fn weights_too_small_for_a_number_still_count() {
        let mut nodes = vec![Node::root(0.5), Node::root(0.5)];
        nodes.extend((0..300).map(|_| Node::noisy_or(1e-3, vec![(0, 0.002), (1, 0.002)])));
        let network = Network::new(nodes).expect("parents first");
        let evidence = (2..302).fold(Evidence::new(), Evidence::present);
        // With so many of the two causes present a finding is there with this chance; relative to both of them.
        let chance = |causes: i32| 1.0 - 0.999 * 0.998_f64.powi(causes);
        let relative = |causes: i32| 300.0 * (chance(causes) / chance(2)).ln();
        let [none, one, both] = [0, 1, 2].map(|causes| relative(causes).exp() / 4.0);
        let whole = none + 2.0 * one + both;
        let found = sample(&network, &evidence, &[0], 4_000, 1).expect("some fit");
        assert!(found.effective > 500.0, "{}", found.effective);
        assert!(found.log_evidence < -745.0, "{}", found.log_evidence);
        assert!((found.log_evidence - 300.0 * chance(2).ln() - whole.ln()).abs() < 0.15);
        assert!((found.marginals[0] - (one + both) / whole).abs() < 1e-6);
    }

    #[test]
    fn no_samples_is_to_give_up() {
        let evidence = Evidence::new().present(6).present(8).present(9);
        let engine = Engine::new(Limits { width: 1, samples: 0, ..Limits::default() });
        let found = engine.posterior(&network(0.0), &evidence, &[0]).expect("gives up");
        assert!(!found.method.is_exact() && found.log_evidence.is_nan() && found.marginals[0].is_nan());
    }
}
