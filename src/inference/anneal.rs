//! A better elimination order for problems whose sweeps are dear, by simulated annealing (Kirkpatrick, Gelatt & Vecchi
//! 1983): variables are moved in the order, what makes it dearer being taken with a chance that falls as it goes on.
//!
//! Greedy orders are within a factor of two where tables are small. Where many signs are there at once they may be ten
//! times as dear as need be, or too wide for exact work at all.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::order::{Cost, count, gates, of_bucket, of_product, ones};
use super::reduce::Problem;

/// Standard deviation, about, of the logarithm of the cost that is taken at the start, and at the end.
const WARM: f64 = 0.1;
const COLD: f64 = 0.002;

/// Half the moves are no farther than this.
const NEAR: usize = 7;

/// The cheapest of `moves` orders near `order`, with its cost. The same input gives the same order.
pub(super) fn improve(problem: &Problem, order: &[usize], moves: usize) -> (Vec<usize>, Cost) {
    let mut pricer = Pricer::new(problem);
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let mut order = order.to_vec();
    let first = pricer.cost(&order);
    let (mut best, mut now) = ((order.clone(), first), first.operations.ln());
    if order.len() < 2 {
        return best;
    }
    for step in 0..moves {
        let left = 1.0 - step as f64 / moves as f64;
        let temperature = WARM * left * left + COLD;
        let from = random.random_range(0..order.len());
        let to = if random.random_bool(0.5) {
            random.random_range(0..order.len())
        } else {
            random.random_range(from.saturating_sub(NEAR)..=(from + NEAR).min(order.len() - 1))
        };
        if from == to {
            continue;
        }
        let var = order.remove(from);
        order.insert(to, var);
        let cost = pricer.cost(&order);
        let dearer = cost.operations.ln() - now;
        if dearer <= 0.0 || random.random::<f64>() < (-dearer / temperature).exp() {
            now += dearer;
            if cost.operations < best.1.operations {
                best = (order.clone(), cost);
            }
        } else {
            let var = order.remove(to);
            order.insert(from, var);
        }
    }
    best
}

/// What an order costs, by going through its buckets with scopes alone.
struct Pricer<'a> {
    problem: &'a Problem,
    /// A row of bits, as long as every row here.
    gates: Vec<u64>,
    position: Vec<usize>,
    /// For each place in the order: the scopes of the tables that wait there.
    waiting: Vec<Vec<Vec<u64>>>,
    /// For each place in the order: the other ends of the links that are worked off there.
    links: Vec<Vec<usize>>,
    /// Rows to use again.
    spare: Vec<Vec<u64>>,
}

impl<'a> Pricer<'a> {
    fn new(problem: &'a Problem) -> Self {
        let len = problem.kinds.len();
        Self {
            problem,
            gates: gates(problem),
            position: vec![0; len],
            waiting: vec![Vec::new(); len],
            links: vec![Vec::new(); len],
            spare: Vec::new(),
        }
    }

    fn row(&mut self) -> Vec<u64> {
        let mut row = self.spare.pop().unwrap_or_default();
        row.clear();
        row.resize(self.gates.len(), 0);
        row
    }

    fn cost(&mut self, order: &[usize]) -> Cost {
        for (at, &v) in order.iter().enumerate() {
            self.position[v] = at;
        }
        for factor in &self.problem.factors {
            let mut row = self.row();
            for &v in &factor.vars {
                row[v / 64] |= 1 << (v % 64);
            }
            let first = factor.vars.iter().map(|&v| self.position[v]).min().expect("factors have variables");
            self.waiting[first].push(row);
        }
        for link in &self.problem.links {
            let (cause, gate) = (self.position[link.cause], self.position[link.gate]);
            let other = if cause < gate { link.gate } else { link.cause };
            self.links[cause.min(gate)].push(other);
        }
        let mut cost = Cost::NOTHING;
        for (at, &v) in order.iter().enumerate() {
            let mut tables = std::mem::take(&mut self.waiting[at]);
            tables.sort_by_key(|row| count(row.iter().copied()));
            let mut scope = self.row();
            let mut operations = 0.0;
            for (number, row) in tables.iter().enumerate() {
                let shared = count(scope.iter().zip(row).zip(&self.gates).map(|((a, b), g)| a & b & g));
                scope.iter_mut().zip(row).for_each(|(a, b)| *a |= b);
                if number > 0 {
                    operations += of_product(count(scope.iter().copied()), shared);
                }
            }
            let links = std::mem::take(&mut self.links[at]);
            for &other in links.iter().chain([&v]) {
                scope[other / 64] |= 1 << (other % 64);
            }
            let width = count(scope.iter().copied());
            cost.add(width, operations + of_bucket(width, links.len()));
            scope[v / 64] &= !(1 << (v % 64));
            match self.first(&scope) {
                Some(next) => self.waiting[next].push(scope),
                None => self.spare.push(scope),
            }
            self.spare.append(&mut tables);
            self.waiting[at] = tables;
            self.links[at] = links;
            self.links[at].clear();
        }
        cost
    }

    /// The place of the variable of a scope that is eliminated first.
    fn first(&self, scope: &[u64]) -> Option<usize> {
        ones(scope).map(|v| self.position[v]).min()
    }
}

#[cfg(test)]
mod tests {
    use super::super::engine::Limits;
    use super::super::evidence::Evidence;
    use super::super::network::{Network, Node};
    use super::super::order::order;
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

    #[test]
    fn the_price_is_that_of_the_greedy_order_and_annealing_never_makes_it_dearer() {
        let problem = tangled();
        let (greedy, cost) = order(&problem, 1.0, &Limits::default());
        let priced = Pricer::new(&problem).cost(&greedy);
        assert_eq!(priced.width, cost.width);
        assert!((priced.entries - cost.entries).abs() < 1e-9);
        // Tables of one size may be multiplied in another order.
        assert!((priced.operations / cost.operations).ln().abs() < 0.2, "{priced:?} {cost:?}");
        let (better, improved) = improve(&problem, &greedy, 2000);
        assert!(improved.operations <= priced.operations);
        let mut all = better.clone();
        all.sort_unstable();
        let mut same = greedy.clone();
        same.sort_unstable();
        assert_eq!(all, same);
        assert_eq!(improve(&problem, &greedy, 2000).0, better);
    }
}
