//! Elimination order: min-fill, ties broken by what the step would really cost, then fixed.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

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

/// Rows of bits, one row a variable or table.
#[derive(Debug, Clone)]
struct Bits {
    words: usize,
    rows: Vec<u64>,
}

impl Bits {
    fn new(rows: usize, len: usize) -> Self {
        let words = len.div_ceil(64);
        Self { words, rows: vec![0; words * rows] }
    }

    fn row(&self, i: usize) -> &[u64] {
        &self.rows[i * self.words..(i + 1) * self.words]
    }

    fn row_mut(&mut self, i: usize) -> &mut [u64] {
        &mut self.rows[i * self.words..(i + 1) * self.words]
    }

    fn set(&mut self, i: usize, bit: usize) {
        self.rows[i * self.words + bit / 64] |= 1 << (bit % 64);
    }

    fn clear(&mut self, i: usize, bit: usize) {
        self.rows[i * self.words + bit / 64] &= !(1 << (bit % 64));
    }
}

fn count(row: impl Iterator<Item = u64>) -> u32 {
    row.map(u64::count_ones).sum()
}

/// The positions of the set bits.
fn ones(row: &[u64]) -> impl Iterator<Item = usize> + '_ {
    row.iter().enumerate().flat_map(|(w, &word)| {
        std::iter::successors((word != 0).then_some(word), |&left| {
            let rest = left & (left - 1);
            (rest != 0).then_some(rest)
        })
        .map(move |left| w * 64 + left.trailing_zeros() as usize)
    })
}

/// Everything about elimination but the numbers: who is joined to whom, and by which tables and links.
#[derive(Debug, Clone)]
struct Game {
    graph: Bits,
    /// Scopes of tables: the factors, then the message of each eliminated variable.
    scopes: Bits,
    /// Tables that hold each variable, used ones included.
    holds: Vec<Vec<u32>>,
    used: Vec<bool>,
    /// Other ends of the links of each variable.
    links: Vec<Vec<u32>>,
    gone: Vec<bool>,
    gates: Vec<u64>,
    /// Scratch rows.
    union: Vec<u64>,
    found: Vec<u32>,
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
            links: vec![Vec::new(); len],
            gone: vec![false; len],
            gates: vec![0; len.div_ceil(64)],
            union: Vec::new(),
            found: Vec::new(),
        };
        for (v, _) in problem.kinds.iter().enumerate().filter(|(_, kind)| **kind == Kind::Gate) {
            game.gates[v / 64] |= 1 << (v % 64);
        }
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
        game
    }

    /// How many edges eliminating `v` would add, twice over.
    fn fill(&self, v: usize) -> u32 {
        let own = self.graph.row(v);
        let missing = |u: usize| count(own.iter().zip(self.graph.row(u)).map(|(a, b)| a & !b)) - 1;
        ones(own).map(missing).sum()
    }

    /// Multiplications that eliminating `v` would take, and the width of its table.
    fn operations(&mut self, v: usize) -> (f64, usize) {
        let mut found = std::mem::take(&mut self.found);
        found.clear();
        found.extend(self.holds[v].iter().copied().filter(|&t| !self.used[t as usize]));
        let size = |t: &u32| count(self.scopes.row(*t as usize).iter().copied());
        found.sort_by_key(size);
        let mut operations = 0.0;
        self.union.clear();
        for &table in &found {
            let scope = self.scopes.row(table as usize);
            if self.union.is_empty() {
                self.union.extend(scope);
                continue;
            }
            // A shared gate takes three products where anything else takes two.
            let shared = count(self.union.iter().zip(scope).zip(&self.gates).map(|((a, b), g)| a & b & g));
            self.union.iter_mut().zip(scope).for_each(|(a, b)| *a |= b);
            let width = count(self.union.iter().copied());
            operations += f64::from(width).exp2() * 1.5_f64.powi(shared.cast_signed());
        }
        self.found = found;
        let width = count(self.graph.row(v).iter().copied()) + 1;
        let links = self.links[v].iter().filter(|&&end| !self.gone[end as usize]).count();
        operations += f64::from(width).exp2() * (1.0 + 0.5 * links as f64);
        (operations, width as usize)
    }

    /// Takes `v` out; its neighbours are put into `neighbours`.
    fn eliminate(&mut self, v: usize, factors: usize, neighbours: &mut Vec<usize>) {
        neighbours.clear();
        neighbours.extend(ones(self.graph.row(v)));
        self.union.clear();
        self.union.extend(self.graph.row(v));
        let message = factors + v;
        for &u in &*neighbours {
            self.graph.row_mut(u).iter_mut().zip(&self.union).for_each(|(a, b)| *a |= b);
            self.graph.clear(u, u);
            self.graph.clear(u, v);
            self.holds[u].push(message as u32);
        }
        self.graph.row_mut(v).fill(0);
        for table in std::mem::take(&mut self.holds[v]) {
            self.used[table as usize] = true;
        }
        self.scopes.row_mut(message).copy_from_slice(&self.union);
        self.gone[v] = true;
    }
}

/// How an order is chosen.
#[derive(Debug, Clone, Copy)]
enum Ties {
    /// By the operations of the step, then the smaller variable.
    Fixed,
    /// By the width of the step, then at random.
    Random(u64),
}

/// Min-fill order of the variables that a link or a factor names, with its cost.
fn min_fill(problem: &Problem, mut game: Game, ties: Ties) -> (Vec<usize>, Cost) {
    let len = problem.kinds.len();
    let factors = problem.factors.len();
    let mut random = match ties {
        Ties::Fixed => None,
        Ties::Random(seed) => Some(ChaCha8Rng::seed_from_u64(seed)),
    };
    // Fill, then the tie-break, then the variable itself, packed so that the smallest key is the next variable.
    let mut key = |game: &mut Game, v: usize| -> u128 {
        let tie = match &mut random {
            None => game.operations(v).0.to_bits(),
            Some(random) => {
                let width = count(game.graph.row(v).iter().copied());
                u64::from(width) << 32 | u64::from(random.random::<u32>())
            }
        };
        u128::from(game.fill(v)) << 96 | u128::from(tie) << 32 | v as u128
    };
    let named = |v: &usize| !game.links[*v].is_empty() || !game.holds[*v].is_empty();
    let left: Vec<usize> = (0..len).filter(named).collect();
    let mut keys: Vec<u128> = left.iter().map(|&v| key(&mut game, v)).collect();
    let mut place = vec![usize::MAX; len];
    for (i, &v) in left.iter().enumerate() {
        place[v] = i;
    }
    let variable = |key: u128| (key & 0xffff_ffff) as usize;
    let mut order = Vec::with_capacity(keys.len());
    let mut cost = Cost { width: 0, entries: 0.0, operations: 0.0 };
    let mut neighbours = Vec::new();
    let mut second = vec![0_u64; len.div_ceil(64)];
    while let Some((at, &least)) = keys.iter().enumerate().min_by_key(|&(_, key)| key) {
        let v = variable(least);
        keys.swap_remove(at);
        if let Some(&moved) = keys.get(at) {
            place[variable(moved)] = at;
        }
        let (operations, width) = game.operations(v);
        order.push(v);
        cost.width = cost.width.max(width);
        cost.entries += 1.5 * (width as f64).exp2();
        cost.operations += operations;
        game.eliminate(v, factors, &mut neighbours);
        second.fill(0);
        for &u in &neighbours {
            keys[place[u]] = key(&mut game, u);
            if least >> 96 > 0 {
                // New edges change the fill of everything next to their ends.
                second.iter_mut().zip(game.graph.row(u)).for_each(|(a, b)| *a |= b);
            }
        }
        for &u in &neighbours {
            second[u / 64] &= !(1 << (u % 64));
        }
        for u in ones(&second) {
            let rest = keys[place[u]] & (u128::MAX >> 32);
            keys[place[u]] = u128::from(game.fill(u)) << 96 | rest;
        }
    }
    (order, cost)
}

/// About how many operations one more try at an order costs, for each variable.
const TRY: f64 = 500.0;

/// A good order for a problem that will be swept `sweeps` times, with its cost: tries more orders, from fixed seeds, for
/// as long as that is small against the sweeps, at most `tries`.
pub(super) fn order(problem: &Problem, sweeps: f64, tries: u64) -> (Vec<usize>, Cost) {
    let game = Game::new(problem);
    let mut best = min_fill(problem, game.clone(), Ties::Fixed);
    let one = TRY * best.0.len() as f64;
    for seed in 1..tries {
        if one * seed as f64 > 0.2 * sweeps * best.1.operations {
            break;
        }
        let other = min_fill(problem, game.clone(), Ties::Random(seed));
        if other.1.operations < best.1.operations {
            best = other;
        }
    }
    best
}
