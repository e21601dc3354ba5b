//! The slow, certain way: every state of the network, in exact rationals.

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, ToPrimitive, Zero};
use weephole::inference::{Evidence, Network, NodeId};

/// The joint weight of every state of every node with the evidence, in exact rationals.
pub struct Enumeration {
    weights: Vec<BigRational>,
}

fn exact(value: f64) -> BigRational {
    BigRational::from_float(value).expect("finite")
}

/// A rational as a float, also when numerator and denominator are beyond the range of one.
pub fn float(value: &BigRational) -> f64 {
    if value.is_zero() {
        return 0.0;
    }
    // Scale to about 2^80 / 1, divide as integers, scale back.
    let shift = value.denom().bits() as i64 - value.numer().bits() as i64 + 80;
    let scaled: BigInt = if shift >= 0 {
        (value.numer() << shift as u64) / value.denom()
    } else {
        value.numer() / (value.denom() << (-shift) as u64)
    };
    let mantissa = scaled.to_f64().expect("about 2^80");
    // Two factors, as the power of two alone may lie outside the range.
    mantissa * (-(shift / 2) as f64).exp2() * (-(shift - shift / 2) as f64).exp2()
}

impl Enumeration {
    pub fn new(network: &Network, evidence: &Evidence) -> Self {
        let one = BigRational::one();
        let weights = (0..1_usize << network.len())
            .map(|states| {
                let is_present = |node: NodeId| states >> node & 1 == 1;
                let mut weight = BigRational::one();
                for (id, node) in network.nodes().iter().enumerate() {
                    let present = if let Some(table) = network.table(id) {
                        let bits = node.parents.iter().enumerate();
                        let row = bits.fold(0, |row, (i, &(p, _))| row | usize::from(is_present(p)) << i);
                        exact(table[row])
                    } else {
                        let mut absent = &one - exact(node.background);
                        for &(parent, w) in &node.parents {
                            if is_present(parent) {
                                absent *= &one - exact(w);
                            }
                        }
                        &one - absent
                    };
                    weight *= if is_present(id) { present } else { &one - present };
                    let (if_absent, if_present) = evidence.pair(id);
                    weight *= exact(if is_present(id) { if_present } else { if_absent });
                    if weight.is_zero() {
                        return weight;
                    }
                }
                for table in evidence.tables() {
                    let bits = table.nodes.iter().enumerate();
                    let row = bits.fold(0, |row, (i, &node)| row | usize::from(is_present(node)) << i);
                    weight *= exact(table.likelihoods[row]);
                }
                weight
            })
            .collect();
        Self { weights }
    }

    /// P(evidence and all of `states`).
    pub fn weight(&self, states: &[(NodeId, bool)]) -> BigRational {
        let fits = |index: usize| states.iter().all(|&(node, state)| (index >> node & 1 == 1) == state);
        let terms = self.weights.iter().enumerate().filter(|&(index, _)| fits(index));
        terms.fold(BigRational::zero(), |sum, (_, weight)| sum + weight)
    }

    /// P(all of `states` | evidence).
    pub fn chance(&self, states: &[(NodeId, bool)]) -> f64 {
        float(&(self.weight(states) / self.weight(&[])))
    }
}
