//! Elimination order: min-fill with fixed tie-breaks.

/// Undirected graph over the variables of a problem, one bit row a variable.
#[derive(Debug, Clone)]
pub(super) struct Graph {
    words: usize,
    rows: Vec<u64>,
    len: usize,
}

impl Graph {
    pub(super) fn new(len: usize) -> Self {
        let words = len.div_ceil(64);
        Self { words, rows: vec![0; words * len], len }
    }

    pub(super) fn connect(&mut self, a: usize, b: usize) {
        if a != b {
            self.rows[a * self.words + b / 64] |= 1 << (b % 64);
            self.rows[b * self.words + a / 64] |= 1 << (a % 64);
        }
    }

    fn row(&self, v: usize) -> &[u64] {
        &self.rows[v * self.words..(v + 1) * self.words]
    }

    fn neighbours(&self, v: usize) -> Vec<usize> {
        let mut out = Vec::new();
        for (w, &word) in self.row(v).iter().enumerate() {
            let mut left = word;
            while left != 0 {
                out.push(w * 64 + left.trailing_zeros() as usize);
                left &= left - 1;
            }
        }
        out
    }

    /// How many edges eliminating `v` would add, twice over.
    fn fill(&self, v: usize) -> u32 {
        let own = self.row(v);
        let mut missing = 0;
        for u in self.neighbours(v) {
            let other = self.row(u);
            missing += own.iter().zip(other).map(|(a, b)| (a & !b).count_ones()).sum::<u32>() - 1;
        }
        missing
    }

    /// Joins the neighbours of `v` pairwise and takes `v` out; returns them.
    pub(super) fn eliminate(&mut self, v: usize) -> Vec<usize> {
        let neighbours = self.neighbours(v);
        let own = self.row(v).to_vec();
        for &u in &neighbours {
            let row = &mut self.rows[u * self.words..(u + 1) * self.words];
            for (a, b) in row.iter_mut().zip(&own) {
                *a |= b;
            }
            row[u / 64] &= !(1 << (u % 64));
            row[v / 64] &= !(1 << (v % 64));
        }
        self.rows[v * self.words..(v + 1) * self.words].fill(0);
        neighbours
    }
}

/// Min-fill order: fewest new edges first, then fewest neighbours, then the smaller variable.
pub(super) fn min_fill(mut graph: Graph) -> Vec<usize> {
    let len = graph.len;
    let mut done = vec![false; len];
    let mut fills: Vec<u32> = (0..len).map(|v| graph.fill(v)).collect();
    let mut degrees: Vec<usize> = (0..len).map(|v| graph.neighbours(v).len()).collect();
    let mut order = Vec::with_capacity(len);
    for _ in 0..len {
        let left = (0..len).filter(|&v| !done[v]);
        let v = left.min_by_key(|&v| (fills[v], degrees[v], v)).expect("variables are left");
        let added = fills[v] > 0;
        let neighbours = graph.eliminate(v);
        done[v] = true;
        order.push(v);
        let mut stale = neighbours.clone();
        if added {
            for &u in &neighbours {
                stale.extend(graph.neighbours(u));
            }
            stale.sort_unstable();
            stale.dedup();
        }
        for u in stale {
            fills[u] = graph.fill(u);
            degrees[u] = graph.neighbours(u).len();
        }
    }
    order
}
