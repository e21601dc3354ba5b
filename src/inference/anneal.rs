//! A better elimination order for problems whose sweeps are dear, by simulated annealing (Kirkpatrick, Gelatt & Vecchi
//! 1983): neighbours in the forest of buckets change places, what makes the order dearer being taken with a chance that falls as it
//! goes on.
//!
//! Greedy orders are within a factor of two where tables are small. Where many signs are there at once they may be ten
//! times as dear as need be, or too wide for exact work at all.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::exchange::Forest;
use super::order::Cost;
use super::reduce::Problem;

/// How much dearer, as a share of the whole, an order is still taken with a chance of 1/e, at the start and at the end. Tried on
/// the problems of simulated visits, as is [`RIVALS`].
const WARM: f64 = 0.05;
const COLD: f64 = 5e-4;

/// Of so many variables drawn, the one whose bucket and the next cost the most is tried: most buckets cost next to nothing.
const RIVALS: usize = 3;

/// In the end every exchange that makes the order cheaper by more than this share is taken, in at most so many rounds.
const LEAST_GAIN: f64 = 1e-6;
const ROUNDS: usize = 20;

/// An order near `order` that costs less, if there is one to be found in so many moves, and what it costs. The same input gives
/// the same order.
pub(super) fn improve(problem: &Problem, order: &[usize], moves: usize) -> (Vec<usize>, Cost) {
    let mut forest = Forest::new(problem, order);
    let named = forest.named().to_vec();
    if named.len() > 1 {
        let mut random = ChaCha8Rng::seed_from_u64(1);
        let mut heat = WARM;
        let cooling = (COLD / WARM).powf(1.0 / moves.max(1) as f64);
        for _ in 0..moves {
            let mut draw = || named[random.random_range(0..named.len())];
            let drawn: [u32; RIVALS] = std::array::from_fn(|_| draw());
            let dearest =
                |best: u32, other: u32| if forest.pair(other) > forest.pair(best) { other } else { best };
            let var = drawn.into_iter().reduce(dearest).expect("some are drawn");
            let (limit, all) = (random.random::<f64>(), forest.operations());
            forest.exchange(var, |added| added <= 0.0 || limit < (-added / (heat * all)).exp());
            heat *= cooling;
        }
        settle(&mut forest);
    }
    forest.order()
}

/// Takes whatever makes the order cheaper, until nothing does.
fn settle(forest: &mut Forest) {
    let named = forest.named().to_vec();
    for _ in 0..ROUNDS {
        let mut changed = false;
        for &var in &named {
            let least = LEAST_GAIN * forest.operations();
            if forest.pair(var) > least {
                changed |= forest.exchange(var, |added| added < -least);
            }
        }
        if !changed {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::evidence::Evidence;
    use super::super::network::{Network, Node};
    use super::super::order::greedy;
    use super::super::reduce::reduce;
    use super::*;

    /// Thirty causes, twelve findings of five causes each, all of them there.
    fn tangled() -> Problem {
        let mut random = ChaCha8Rng::seed_from_u64(3);
        let mut nodes: Vec<Node> = (0..30).map(|_| Node::root(0.05)).collect();
        for _ in 0..12 {
            let mut causes: Vec<usize> = (0..5).map(|_| random.random_range(0..30)).collect();
            causes.sort_unstable();
            causes.dedup();
            nodes.push(Node::noisy_or(0.01, causes.into_iter().map(|cause| (cause, 0.6)).collect()));
        }
        let network = Network::new(nodes).expect("parents first");
        let evidence = (30..42).fold(Evidence::new(), Evidence::present);
        reduce(&network, &evidence, &(0..30).collect::<Vec<_>>())
    }

    fn close(a: Cost, b: Cost) {
        assert_eq!(a.width, b.width);
        assert!((a.entries / b.entries - 1.0).abs() < 1e-9, "{a:?} {b:?}");
        assert!((a.operations / b.operations - 1.0).abs() < 1e-9, "{a:?} {b:?}");
    }

    #[test]
    fn the_price_is_that_of_the_greedy_order() {
        let problem = tangled();
        let (order, cost) = greedy(&problem);
        close(Forest::new(&problem, &order).order().1, cost);
    }

    /// After any exchanges the buckets, one by one, cost what they cost when built anew from the order they stand for.
    #[test]
    fn an_exchange_changes_no_other_bucket() {
        let problem = tangled();
        let mut forest = Forest::new(&problem, &greedy(&problem).0);
        let named = forest.named().to_vec();
        let mut random = ChaCha8Rng::seed_from_u64(8);
        let mut taken = 0;
        for _ in 0..200 {
            let var = named[random.random_range(0..named.len())];
            let before = forest.operations();
            let mut told = 0.0;
            let done = forest.exchange(var, |added| {
                told = added;
                random.random_bool(0.7)
            });
            taken += u32::from(done);
            let (order, cost) = forest.order();
            assert!((cost.operations - before - if done { told } else { 0.0 }).abs() < 1e-6 * before);
            close(Forest::new(&problem, &order).order().1, cost);
        }
        assert!(taken > 50, "{taken}");
    }

    #[test]
    fn annealing_makes_a_tangled_order_cheaper_and_the_same_each_time() {
        let problem = tangled();
        let (order, cost) = greedy(&problem);
        let (better, improved) = improve(&problem, &order, 2000);
        assert!(improved.operations < 0.95 * cost.operations, "{improved:?} {cost:?}");
        let sorted = |order: &[usize]| {
            let mut all = order.to_vec();
            all.sort_unstable();
            all
        };
        assert_eq!(sorted(&better), sorted(&order));
        assert_eq!(improve(&problem, &order, 2000).0, better);
    }
}
