//! An elimination order as a forest of buckets, in which two neighbours change places.
//!
//! Every order that respects the forest costs the same, and to eliminate a variable after the one that takes its message in,
//! instead of before it, changes the tables of those two alone. So a changed order is priced by two buckets, not all.

use super::bits::{Bits, count, has, ones, put, remove};
use super::order::{Cost, gates, of_bucket, of_product};
use super::reduce::Problem;

/// No table, or no bucket.
const NONE: u32 = u32::MAX;

/// One variable's elimination.
#[derive(Debug, Clone, Default)]
struct Bucket {
    /// Tables that are multiplied here: factors, then messages by the number of their variable.
    tables: Vec<u32>,
    /// Other ends of the links that are worked off here.
    links: Vec<u32>,
    /// The variable whose bucket takes the message in.
    next: u32,
    /// Variables of its table.
    width: u32,
    operations: f64,
}

/// The variables of each table, and how many they are.
#[derive(Debug)]
struct Scopes {
    rows: Bits,
    sizes: Vec<u32>,
}

impl Scopes {
    fn row(&self, table: u32) -> &[u64] {
        self.rows.row(table as usize)
    }

    fn set(&mut self, table: u32, row: &[u64]) {
        self.rows.row_mut(table as usize).copy_from_slice(row);
        self.sizes[table as usize] = count(row.iter().copied());
    }
}

/// The buckets of an order, with their costs.
#[derive(Debug)]
pub(super) struct Forest {
    /// Tables before this number are factors.
    factors: u32,
    gates: Vec<u64>,
    scopes: Scopes,
    buckets: Vec<Bucket>,
    /// The variables that have buckets.
    named: Vec<u32>,
    operations: f64,
    /// Memory for the exchange at hand: the buckets to be, and their scopes.
    early: Bucket,
    late: Bucket,
    early_scope: Vec<u64>,
    late_scope: Vec<u64>,
    sorted: Vec<(u32, u32)>,
}

impl Forest {
    pub(super) fn new(problem: &Problem, order: &[usize]) -> Self {
        let len = problem.kinds.len();
        let (words, factors) = (len.div_ceil(64), problem.factors.len());
        let mut position = vec![usize::MAX; len];
        for (at, &var) in order.iter().enumerate() {
            position[var] = at;
        }
        let tables = factors + len;
        let mut forest = Self {
            factors: small(factors),
            gates: gates(problem),
            scopes: Scopes { rows: Bits::new(tables, len), sizes: vec![0; tables] },
            buckets: vec![Bucket { next: NONE, ..Bucket::default() }; len],
            named: order.iter().map(|&var| small(var)).collect(),
            operations: 0.0,
            early: Bucket::default(),
            late: Bucket::default(),
            early_scope: vec![0; words],
            late_scope: vec![0; words],
            sorted: Vec::new(),
        };
        let mut row = vec![0; words];
        for (table, factor) in problem.factors.iter().enumerate() {
            row.fill(0);
            factor.vars.iter().for_each(|&var| put(&mut row, var));
            forest.scopes.set(small(table), &row);
            let first = factor.vars.iter().min_by_key(|&&var| position[var]).expect("factors have variables");
            forest.buckets[*first].tables.push(small(table));
        }
        for link in &problem.links {
            let early = position[link.cause] < position[link.gate];
            let (first, other) = if early { (link.cause, link.gate) } else { (link.gate, link.cause) };
            forest.buckets[first].links.push(small(other));
        }
        for &var in order {
            let mut bucket = std::mem::take(&mut forest.buckets[var]);
            forest.price(small(var), &mut bucket);
            forest.operations += bucket.operations;
            bucket.next = NONE;
            let mut message = std::mem::take(&mut forest.late_scope);
            remove(&mut message, var);
            let own = forest.message(small(var));
            if let Some(next) = ones(&message).min_by_key(|&other| position[other]) {
                bucket.next = small(next);
                forest.buckets[next].tables.push(own);
            }
            forest.scopes.set(own, &message);
            forest.late_scope = message;
            forest.buckets[var] = bucket;
        }
        forest
    }

    /// The table that a variable's bucket sends on.
    fn message(&self, var: u32) -> u32 {
        self.factors + var
    }

    /// Works out what a bucket costs; its scope is left in `late_scope`.
    fn price(&mut self, var: u32, bucket: &mut Bucket) {
        let Self { scopes, gates, late_scope: scope, sorted, .. } = self;
        sorted.clear();
        sorted.extend(bucket.tables.iter().map(|&table| (scopes.sizes[table as usize], table)));
        // Small ones first, as they will be multiplied.
        sorted.sort_unstable();
        let mut operations = 0.0;
        scope.fill(0);
        for (number, &(_, table)) in sorted.iter().enumerate() {
            let (mut shared, mut width) = (0, 0);
            for ((all, own), gate) in scope.iter_mut().zip(scopes.row(table)).zip(&*gates) {
                shared += (*all & own & gate).count_ones();
                *all |= own;
                width += all.count_ones();
            }
            if number > 0 {
                operations += of_product(width, shared);
            }
        }
        bucket.links.iter().for_each(|&other| put(scope, other as usize));
        put(scope, var as usize);
        bucket.width = count(scope.iter().copied());
        bucket.operations = operations + of_bucket(bucket.width, bucket.links.len());
    }

    /// Multiplications of one forward sweep, about.
    pub(super) fn operations(&self) -> f64 {
        self.operations
    }

    /// The variables that have buckets.
    pub(super) fn named(&self) -> &[u32] {
        &self.named
    }

    /// What a variable's bucket costs together with the one that takes its message in; nothing for a last one.
    pub(super) fn pair(&self, var: u32) -> f64 {
        let bucket = &self.buckets[var as usize];
        if bucket.next == NONE {
            0.0
        } else {
            bucket.operations + self.buckets[bucket.next as usize].operations
        }
    }

    /// Eliminates a variable after the one that takes its message in, if `take` accepts what that adds to the operations.
    /// Says whether it did.
    pub(super) fn exchange(&mut self, var: u32, take: impl FnOnce(f64) -> bool) -> bool {
        let parent = self.buckets[var as usize].next;
        if parent == NONE {
            return false;
        }
        let mut early = std::mem::take(&mut self.early);
        let mut late = std::mem::take(&mut self.late);
        self.deal(var, parent, &mut early, &mut late);
        self.price(parent, &mut early);
        // The message of the parent to be; its old one is put back if this comes to nothing.
        let (own, passed_on) = (self.message(var), self.message(parent));
        remove(&mut self.late_scope, parent as usize);
        self.early_scope.copy_from_slice(self.scopes.row(passed_on));
        self.scopes.set(passed_on, &self.late_scope);
        late.tables.push(passed_on);
        self.price(var, &mut late);
        let before = self.buckets[var as usize].operations + self.buckets[parent as usize].operations;
        let added = early.operations + late.operations - before;
        let taken = take(added);
        if taken {
            self.operations += added;
            let after = self.buckets[parent as usize].next;
            if after != NONE {
                let tables = &mut self.buckets[after as usize].tables;
                tables.iter_mut().filter(|table| **table == passed_on).for_each(|table| *table = own);
            }
            for &table in early.tables.iter().filter(|&&table| table >= self.factors) {
                self.buckets[(table - self.factors) as usize].next = parent;
            }
            (early.next, late.next) = (var, after);
            // What the two together send on is what it was.
            self.scopes.set(own, &self.early_scope);
            std::mem::swap(&mut self.buckets[parent as usize], &mut early);
            std::mem::swap(&mut self.buckets[var as usize], &mut late);
        } else {
            self.scopes.set(passed_on, &self.early_scope);
        }
        (self.early, self.late) = (early, late);
        taken
    }

    /// What the parent's bucket would take in if it came first, and what would be left for the variable's.
    fn deal(&self, var: u32, parent: u32, early: &mut Bucket, late: &mut Bucket) {
        let (own, above) = (&self.buckets[var as usize], &self.buckets[parent as usize]);
        for bucket in [&mut *early, &mut *late] {
            bucket.tables.clear();
            bucket.links.clear();
        }
        let message = self.message(var);
        early.tables.extend(above.tables.iter().filter(|&&table| table != message));
        for &table in &own.tables {
            let to = if has(self.scopes.row(table), parent as usize) { &mut *early } else { &mut *late };
            to.tables.push(table);
        }
        early.links.extend(&above.links);
        for &other in &own.links {
            if other == parent {
                early.links.push(var);
            } else {
                late.links.push(other);
            }
        }
    }

    /// An order of the forest, and its cost.
    pub(super) fn order(&self) -> (Vec<usize>, Cost) {
        let mut cost = Cost::NOTHING;
        let mut waits_for = vec![0_u32; self.buckets.len()];
        for &var in &self.named {
            let Bucket { next, width, operations, .. } = self.buckets[var as usize];
            cost.add(width, operations);
            if next != NONE {
                waits_for[next as usize] += 1;
            }
        }
        let mut order = Vec::with_capacity(self.named.len());
        let leaves: Vec<u32> =
            self.named.iter().copied().filter(|&var| waits_for[var as usize] == 0).collect();
        for mut var in leaves {
            // Up the branch for as long as nothing else has to come first.
            loop {
                order.push(var as usize);
                let next = self.buckets[var as usize].next;
                if next == NONE {
                    break;
                }
                waits_for[next as usize] -= 1;
                if waits_for[next as usize] > 0 {
                    break;
                }
                var = next;
            }
        }
        (order, cost)
    }
}

fn small(number: usize) -> u32 {
    u32::try_from(number).expect("a problem has fewer variables and factors than that")
}
