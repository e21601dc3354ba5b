//! One elimination order, compiled: which tables are combined in which bucket, down to index lists.

use std::ops::Range;

use super::product::{Group, Places, Shape, Term};

/// A table's places in the arenas of values and of adjoints. Bit `i` of an index is the state of the `i`-th variable of its
/// scope, and later eliminated variables take lower bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Table {
    pub id: u32,
    pub len: usize,
    pub offset: usize,
    pub adjoint: usize,
    /// Its adjoint outlives its bucket. All others share the room of the largest bucket, which so stays in the cache.
    pub kept: bool,
}

impl Table {
    /// Where its values lie.
    pub(super) fn range(self) -> Range<usize> {
        self.offset..self.offset + self.len
    }

    /// Where its adjoint lies.
    pub(super) fn adjoints(self) -> Range<usize> {
        self.adjoint..self.adjoint + self.len
    }
}

/// Variables of a table that are given a third digit, the sum of the other two, before it is multiplied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Spread {
    /// Bit `i` marks the `i`-th variable.
    pub marked: u64,
    pub vars: u32,
    /// Entries afterwards.
    pub len: usize,
}

/// One side of a product.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Operand {
    pub table: Table,
    pub spread: Option<Spread>,
}

/// One step of a bucket.
#[derive(Debug, Clone)]
pub(super) enum Step {
    /// `out = a * b`, a block at each of its places.
    Multiply { out: Table, a: Operand, b: Operand, places: Places },
    /// A table over more variables than `from` (ones, if nothing): `plan.pairs` lists `(to, from)` offsets.
    Widen { out: Table, from: Option<Table>, pairs: Range<usize> },
    /// A link between the bucket's variable, the highest bit of `table`, and the variable at `bit`.
    Link { table: Table, bit: u32, cause_on_top: bool, demand: bool, link: usize },
}

/// One variable's elimination.
#[derive(Debug, Clone)]
pub(super) struct Bucket {
    pub var: usize,
    /// A gate: its demand is read at "nothing has brought it on yet". Otherwise the variable is summed out.
    pub select: bool,
    /// Which of `plan.steps` make the table.
    pub steps: Range<usize>,
    /// The finished table; the bucket's variable is its highest bit.
    pub table: Table,
    /// What is left without the variable. For a gate it is the lower half of the table itself.
    pub message: Table,
    /// The bucket that takes the message in; none for a root.
    pub next: Option<usize>,
    /// Which independent component the bucket belongs to.
    pub component: usize,
    /// Where the scope of the table, lowest bit first, lies in `plan.scopes`.
    pub scope: Range<usize>,
}

/// The compiled elimination.
#[derive(Debug, Clone, Default)]
pub(super) struct Plan {
    pub buckets: Vec<Bucket>,
    pub steps: Vec<Step>,
    pub groups: Vec<Group>,
    pub terms: Vec<Term>,
    pub pairs: Vec<(u32, u32)>,
    pub scopes: Vec<usize>,
    /// One table a factor, with the index into the factor's values for each entry.
    pub constants: Vec<(Table, Vec<usize>)>,
    /// Entries of the arena of values, and of that of adjoints.
    pub values: usize,
    pub adjoints: usize,
    /// The most entries of the tables of one bucket that do not outlive it, and of the two sides of a product where they are spread.
    pub room: usize,
    pub sides: [usize; 2],
    /// How many tables there are; their ids run from 0.
    pub tables: u32,
    pub components: usize,
    /// Variables with nothing but their own factor; they have no bucket.
    pub isolated: Vec<usize>,
    /// The bucket of each variable that has one.
    pub bucket_of: Vec<Option<usize>>,
}

impl Plan {
    /// The index work of a product.
    pub(super) fn shape(&self, places: &Places) -> Shape<'_> {
        let Places { groups, terms, block } = places;
        Shape { groups: &self.groups[groups.clone()], terms: &self.terms[terms.clone()], block: *block }
    }

    /// For each bucket its component and its place in a walk that goes through one branch after the other.
    pub(super) fn places(&self) -> Vec<(usize, usize)> {
        let count = self.buckets.len();
        let mut sizes = vec![1_usize; count];
        for (at, bucket) in self.buckets.iter().enumerate() {
            if let Some(next) = bucket.next {
                sizes[next] += sizes[at];
            }
        }
        // Later buckets are nearer to the end of their component; a branch takes as many places as it has buckets.
        let mut places = vec![(0, 0); count];
        let mut free = vec![1_usize; count];
        for (at, bucket) in self.buckets.iter().enumerate().rev() {
            let place = bucket.next.map_or(0, |next| {
                let place = places[next].1 + free[next];
                free[next] += sizes[at];
                place
            });
            places[at] = (bucket.component, place);
        }
        places
    }

    /// The scope of a bucket's table, lowest bit first.
    pub(super) fn scope(&self, bucket: usize) -> &[usize] {
        &self.scopes[self.buckets[bucket].scope.clone()]
    }
}
