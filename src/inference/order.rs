//! Elimination order: min-fill with fixed tie-breaks.

use super::reduce::Problem;

/// What an order would cost, known before any memory is spent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// Variables in the widest table.
    pub width: usize,
    /// Entries of all tables together.
    pub entries: f64,
}

/// Undirected graph over the variables of a problem, one bit row a variable.
#[derive(Debug, Clone)]
struct Graph {
    words: usize,
    rows: Vec<u64>,
}

impl Graph {
    fn of(problem: &Problem) -> Self {
        let len = problem.kinds.len();
        let words = len.div_ceil(64);
        let mut graph = Self { words, rows: vec![0; words * len] };
        for link in &problem.links {
            graph.connect(link.cause, link.gate);
        }
        for factor in &problem.factors {
            for (i, &a) in factor.vars.iter().enumerate() {
                for &b in &factor.vars[..i] {
                    graph.connect(a, b);
                }
            }
        }
        graph
    }

    fn connect(&mut self, a: usize, b: usize) {
        self.rows[a * self.words + b / 64] |= 1 << (b % 64);
        self.rows[b * self.words + a / 64] |= 1 << (a % 64);
    }

    fn row(&self, v: usize) -> &[u64] {
        &self.rows[v * self.words..(v + 1) * self.words]
    }

    /// Puts the neighbours of `v` into `out`.
    fn neighbours(&self, v: usize, out: &mut Vec<usize>) {
        out.clear();
        out.extend(ones(self.row(v)));
    }

    fn degree(&self, v: usize) -> u32 {
        self.row(v).iter().map(|word| word.count_ones()).sum()
    }

    /// How many edges eliminating `v` would add, twice over.
    fn fill(&self, v: usize) -> u32 {
        let own = self.row(v);
        ones(own)
            .map(|u| own.iter().zip(self.row(u)).map(|(a, b)| (a & !b).count_ones()).sum::<u32>() - 1)
            .sum()
    }

    /// Joins `neighbours`, those of `v`, pairwise and takes `v` out.
    fn eliminate(&mut self, v: usize, neighbours: &[usize], own: &mut Vec<u64>) {
        own.clear();
        own.extend(self.row(v));
        for &u in neighbours {
            let row = &mut self.rows[u * self.words..(u + 1) * self.words];
            for (a, b) in row.iter_mut().zip(&*own) {
                *a |= b;
            }
            row[u / 64] &= !(1 << (u % 64));
            row[v / 64] &= !(1 << (v % 64));
        }
        self.rows[v * self.words..(v + 1) * self.words].fill(0);
    }
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

/// Min-fill order of the variables that a link or a factor names, with its cost: fewest new edges first, then fewest
/// neighbours, then the smaller variable.
pub(super) fn min_fill(problem: &Problem) -> (Vec<usize>, Cost) {
    let mut graph = Graph::of(problem);
    let len = problem.kinds.len();
    let mut named = vec![false; len];
    let linked = problem.links.iter().flat_map(|link| [link.cause, link.gate]);
    for v in linked.chain(problem.factors.iter().flat_map(|factor| factor.vars.iter().copied())) {
        named[v] = true;
    }
    // Fill, then degree, then the variable itself, packed so that the smallest key is the next variable.
    let key = |graph: &Graph, v: usize| {
        u128::from(graph.fill(v)) << 64 | u128::from(graph.degree(v)) << 32 | v as u128
    };
    let mut keys: Vec<u128> = (0..len).filter(|&v| named[v]).map(|v| key(&graph, v)).collect();
    let mut place = vec![usize::MAX; len];
    for (i, key) in keys.iter().enumerate() {
        place[*key as u32 as usize] = i;
    }
    let mut order = Vec::with_capacity(keys.len());
    let mut cost = Cost { width: 0, entries: 0.0 };
    let (mut neighbours, mut own, mut second) = (Vec::new(), Vec::new(), Vec::new());
    let mut stale = vec![false; len];
    while let Some((at, &least)) = keys.iter().enumerate().min_by_key(|&(_, key)| key) {
        let v = least as u32 as usize;
        keys.swap_remove(at);
        if let Some(&moved) = keys.get(at) {
            place[moved as u32 as usize] = at;
        }
        graph.neighbours(v, &mut neighbours);
        order.push(v);
        cost.width = cost.width.max(neighbours.len() + 1);
        cost.entries += 1.5 * ((neighbours.len() + 1) as f64).exp2();
        graph.eliminate(v, &neighbours, &mut own);
        for &u in &neighbours {
            stale[u] = true;
            if least >> 64 > 0 {
                // New edges change the count of everything next to their ends.
                graph.neighbours(u, &mut second);
                for &w in &second {
                    stale[w] = true;
                }
            }
        }
        for (u, stale) in stale.iter_mut().enumerate().filter(|(_, stale)| **stale) {
            *stale = false;
            keys[place[u]] = key(&graph, u);
        }
    }
    (order, cost)
}
