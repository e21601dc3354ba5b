//! Elimination order: min-fill, ties broken by what the step would really cost, then fixed.

use super::anneal::improve;
use super::bits::{Bits, count, ones, put};
use super::engine::Limits;
use super::reduce::{Kind, Problem};

/// What an order would cost, known before any memory is spent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// Variables in the widest table.
    pub width: usize,
    /// Entries of all tables together.
    pub entries: f64,
    /// Multiplications of one forward sweep, about.
    pub operations: f64,
}

/// `2^width`, without the detour over logarithms.
fn power(width: u32) -> f64 {
    f64::from_bits(u64::from(1023 + width.min(1023)) << 52)
}

/// The gates of a problem, as a row of bits.
pub(super) fn gates(problem: &Problem) -> Vec<u64> {
    let mut gates = vec![0; problem.kinds.len().div_ceil(64)];
    for (v, _) in problem.kinds.iter().enumerate().filter(|(_, kind)| **kind == Kind::Gate) {
        put(&mut gates, v);
    }
    gates
}

/// Multiplications of a product over `width` variables, of which so many are gates that both tables have: such a gate takes
/// three products where anything else takes two.
pub(super) fn of_product(width: u32, shared: u32) -> f64 {
    const HALF_MORE: [f64; 8] = [1.0, 1.5, 2.25, 3.375, 5.0625, 7.593_75, 11.390_625, 17.085_937_5];
    let more = HALF_MORE.get(shared as usize).copied();
    power(width) * more.unwrap_or_else(|| 1.5_f64.powi(shared.cast_signed()))
}

impl Cost {
    pub(super) const NOTHING: Self = Self { width: 0, entries: 0.0, operations: 0.0 };

    /// Adds a bucket whose table has `width` variables.
    pub(super) fn add(&mut self, width: u32, operations: f64) {
        self.width = self.width.max(width as usize);
        self.entries += 1.5 * power(width);
        self.operations += operations;
    }
}

/// Multiplications for summing out of a table over `width` variables, after so many links.
pub(super) fn of_bucket(width: u32, links: usize) -> f64 {
    power(width) * (1.0 + 0.5 * links as f64)
}

/// Everything about elimination but the numbers: who is joined to whom, and by which tables and links.
#[derive(Debug)]
struct Game {
    graph: Bits,
    /// Scopes of tables: the factors, then the message of each eliminated variable.
    scopes: Bits,
    /// Tables that hold each variable, not always without the used ones.
    holds: Vec<Vec<u32>>,
    used: Vec<bool>,
    /// Variables in each table.
    sizes: Vec<u32>,
    degrees: Vec<u32>,
    /// Other ends of the links of each variable.
    links: Vec<Vec<u32>>,
    gone: Vec<bool>,
    gates: Vec<u64>,
    /// A scratch row.
    union: Vec<u64>,
}

impl Game {
    fn new(problem: &Problem) -> Self {
        let len = problem.kinds.len();
        let tables = problem.factors.len() + len;
        let mut game = Self {
            graph: Bits::new(len, len),
            scopes: Bits::new(tables, len),
            holds: vec![Vec::new(); len],
            used: vec![false; tables],
            sizes: problem.factors.iter().map(|factor| factor.vars.len() as u32).collect(),
            degrees: Vec::new(),
            links: vec![Vec::new(); len],
            gone: vec![false; len],
            gates: gates(problem),
            union: Vec::new(),
        };
        game.sizes.resize(tables, 0);
        for link in &problem.links {
            game.graph.set(link.cause, link.gate);
            game.graph.set(link.gate, link.cause);
            game.links[link.cause].push(link.gate as u32);
            game.links[link.gate].push(link.cause as u32);
        }
        for (table, factor) in problem.factors.iter().enumerate() {
            for &a in &factor.vars {
                game.scopes.set(table, a);
                game.holds[a].push(table as u32);
                for &b in factor.vars.iter().filter(|&&b| b != a) {
                    game.graph.set(a, b);
                }
            }
        }
        game.degrees = (0..len).map(|v| count(game.graph.row(v).iter().copied())).collect();
        game
    }

    /// How many edges eliminating `v` would add.
    fn fill(&self, v: usize) -> u32 {
        let own = self.graph.row(v);
        let missing = |u: usize| count(own.iter().zip(self.graph.row(u)).map(|(a, b)| a & !b)) - 1;
        ones(own).map(missing).sum::<u32>() / 2
    }

    /// Multiplications that eliminating `v` would take.
    fn operations(&mut self, v: usize) -> f64 {
        let Self { holds, used, sizes, scopes, gates, union, links, gone, .. } = self;
        let found = &mut holds[v];
        found.retain(|&table| !used[table as usize]);
        found.sort_unstable_by_key(|&table| (sizes[table as usize], table));
        let mut operations = 0.0;
        union.clear();
        for &table in &*found {
            let scope = scopes.row(table as usize);
            if union.is_empty() {
                union.extend(scope);
                continue;
            }
            let shared = count(union.iter().zip(scope).zip(&*gates).map(|((a, b), g)| a & b & g));
            union.iter_mut().zip(scope).for_each(|(a, b)| *a |= b);
            operations += of_product(count(union.iter().copied()), shared);
        }
        let width = self.degrees[v] + 1;
        let links = links[v].iter().filter(|&&end| !gone[end as usize]).count();
        operations + of_bucket(width, links)
    }

    /// Takes `v` out; its neighbours are put into `neighbours`, and `fills` follows.
    fn eliminate(&mut self, v: usize, factors: usize, neighbours: &mut Vec<usize>, fills: &mut [u32]) {
        neighbours.clear();
        neighbours.extend(ones(self.graph.row(v)));
        self.union.clear();
        self.union.extend(self.graph.row(v));
        if fills[v] > 0 {
            for &a in &*neighbours {
                self.join(a, fills);
            }
        }
        let message = factors + v;
        let all = neighbours.len() as u32;
        for &u in &*neighbours {
            // It is next to all the others now; what else is next to it was not next to `v`.
            fills[u] -= self.degrees[u] - all;
            self.degrees[u] -= 1;
            self.graph.clear(u, v);
            self.holds[u].push(message as u32);
        }
        self.graph.row_mut(v).fill(0);
        for table in std::mem::take(&mut self.holds[v]) {
            self.used[table as usize] = true;
        }
        self.sizes[message] = all;
        self.scopes.row_mut(message).copy_from_slice(&self.union);
        self.gone[v] = true;
    }

    /// Joins `a` to those of `union` that come after it, as far as they are not.
    fn join(&mut self, a: usize, fills: &mut [u32]) {
        for word in a / 64..self.union.len() {
            let mut missing = self.union[word] & !self.graph.row(a)[word];
            if word == a / 64 {
                missing &= !1 << (a % 64);
            }
            while missing != 0 {
                let b = word * 64 + missing.trailing_zeros() as usize;
                missing &= missing - 1;
                // Whatever is next to both lacks an edge less; all else next to either now lacks one to the other.
                let mut common = 0;
                for (at, (a, b)) in self.graph.row(a).iter().zip(self.graph.row(b)).enumerate() {
                    let mut both = a & b;
                    while both != 0 {
                        fills[at * 64 + both.trailing_zeros() as usize] -= 1;
                        both &= both - 1;
                        common += 1;
                    }
                }
                for (one, other) in [(a, b), (b, a)] {
                    fills[one] += self.degrees[one] - common;
                    self.degrees[one] += 1;
                    self.graph.set(one, other);
                }
            }
        }
    }
}

/// Min-fill order of the variables that a link or a factor names, with its cost.
pub(super) fn greedy(problem: &Problem) -> (Vec<usize>, Cost) {
    let mut game = Game::new(problem);
    let len = problem.kinds.len();
    let factors = problem.factors.len();
    let named = |v: &usize| !game.links[*v].is_empty() || !game.holds[*v].is_empty();
    let mut left: Vec<usize> = (0..len).filter(named).collect();
    let mut fills = vec![0_u32; len];
    for &v in &left {
        fills[v] = game.fill(v);
    }
    // What each variable's step costs, as far as it is known; it decides between variables of the same fill.
    let mut operations: Vec<Option<f64>> = vec![None; len];
    let mut order = Vec::with_capacity(left.len());
    let mut cost = Cost::NOTHING;
    let mut neighbours = Vec::new();
    while let Some(least) = left.iter().map(|&v| fills[v]).min() {
        let tied = left.iter().enumerate().filter(|&(_, &v)| fills[v] == least);
        let keys = tied.map(|(at, &v)| {
            let known = *operations[v].get_or_insert_with(|| game.operations(v));
            (known.to_bits(), v, at)
        });
        let (_, v, at) = keys.min().expect("one has the least");
        left.swap_remove(at);
        order.push(v);
        cost.add(game.degrees[v] + 1, operations[v].expect("found for the key"));
        game.eliminate(v, factors, &mut neighbours, &mut fills);
        for &u in &neighbours {
            operations[u] = None;
        }
    }
    (order, cost)
}

/// A move while annealing costs about as much as so many operations, and as many for each word of a row of bits.
const MOVE: f64 = 100.0;
const MOVE_WORD: f64 = 60.0;

/// The share of the sweeps' cost that annealing may take.
const SHARE: f64 = 0.03;

/// Fewer moves than this are not worth starting for.
const LEAST_MOVES: f64 = 300.0;

/// Most moves: a third of a second, beyond which little is gained.
const MOST_MOVES: f64 = 1e6;

/// A good order for a problem that will be swept `sweeps` times, with its cost.
pub(super) fn order(problem: &Problem, sweeps: f64, limits: &Limits) -> (Vec<usize>, Cost) {
    better(problem, greedy(problem), sweeps, limits)
}

/// At least as good an order as `best`: anneals it for as long as that is small against the sweeps, and without stint where it is
/// over the limits and could not be swept at all.
pub(super) fn better(
    problem: &Problem,
    best: (Vec<usize>, Cost),
    sweeps: f64,
    limits: &Limits,
) -> (Vec<usize>, Cost) {
    let words = problem.kinds.len().div_ceil(64) as f64;
    let affordable = SHARE * sweeps * best.1.operations / (MOVE + MOVE_WORD * words);
    let moves = if limits.are_passed_by(best.1) { MOST_MOVES } else { affordable.min(MOST_MOVES) };
    if moves < LEAST_MOVES {
        return best;
    }
    // Between three hundred and a million, so the cast is safe.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let other = improve(problem, &best.0, moves as usize);
    // One that can be swept at all comes before a cheaper one.
    let key = |cost: Cost| (limits.are_passed_by(cost), cost.operations);
    if key(other.1) < key(best.1) { other } else { best }
}

#[cfg(test)]
mod tests {
    use super::super::evidence::Evidence;
    use super::super::network::{Network, Node};
    use super::super::reduce::reduce;
    use super::*;

    /// What is kept up step by step is what counting anew says, and so is the number of neighbours.
    #[test]
    fn fills_follow_every_elimination() {
        // Eighty causes, thirty findings of three to six of them: more than fits into one word of bits.
        let mut nodes: Vec<Node> = (0..80).map(|_| Node::root(0.05)).collect();
        for finding in 0..30_usize {
            let mut causes: Vec<usize> =
                (0..3 + finding % 4).map(|i| (finding * 17 + i * i * 11) % 80).collect();
            causes.sort_unstable();
            causes.dedup();
            nodes.push(Node::noisy_or(0.01, causes.into_iter().map(|cause| (cause, 0.6)).collect()));
        }
        let network = Network::new(nodes).expect("parents first");
        let evidence = (80..110).fold(Evidence::new(), Evidence::present);
        let problem = reduce(&network, &evidence, &(0..80).collect::<Vec<_>>());
        let mut game = Game::new(&problem);
        let mut left: Vec<usize> = (0..problem.kinds.len()).collect();
        let mut fills: Vec<u32> = left.iter().map(|&v| game.fill(v)).collect();
        let mut neighbours = Vec::new();
        let mut joined = 0;
        // Not the least fill: the middle one, so that many edges are added.
        while let Some(&v) = left.get(left.len() / 2) {
            joined += fills[v];
            game.eliminate(v, problem.factors.len(), &mut neighbours, &mut fills);
            left.retain(|&u| u != v);
            for &u in &left {
                assert_eq!(fills[u], game.fill(u), "after {v} of {u}");
                assert_eq!(game.degrees[u], count(game.graph.row(u).iter().copied()), "after {v} of {u}");
            }
        }
        assert!(joined > 200, "{joined}");
    }
}
