//! One elimination order, compiled: which tables are combined in which bucket, down to index lists.
//!
//! Tables that share a plain variable multiply. Tables that share a gate combine by OR (Zhang & Poole 1996): as long
//! as both say "brought on so far or not" (supply), `r(0) = f(0) g(0)` and `r(1) = f(0) g(1) + f(1) (g(0) + g(1))`. The one
//! table of a gate that says what each final state is worth (demand) takes a supply in by
//! `h'(0) = g(0) h(0) + g(1) h(1)` and `h'(1) = (g(0) + g(1)) h(1)`. Every gate may thus be eliminated before or after anything
//! else, and no step subtracts.

use std::ops::Range;

use super::product::{Block, SHARED, Shape, Shared, Triple};
use super::reduce::{Kind, Problem};

/// A table's place in the arena. Bit `i` of an index is the state of the `i`-th variable of its scope, and
/// later eliminated variables take lower bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Table {
    pub id: u32,
    pub offset: usize,
    pub len: usize,
}

impl Table {
    pub(super) fn range(self) -> Range<usize> {
        self.offset..self.offset + self.len
    }
}

/// One step of a bucket.
#[derive(Debug, Clone)]
pub(super) enum Step {
    /// Widens a table of supplies: digit 2 of a spread variable is the sum of digits 0 and 1. Bit `i` of
    /// `spread` marks the `i`-th of `vars` variables.
    Spread { from: Table, to: Table, spread: u64, vars: u32 },
    /// `out = a * b` over `plan.triples`, a block at each.
    Multiply { out: Table, a: Table, b: Table, triples: Range<usize>, block: Block },
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
    /// What is left without the variable.
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
    pub triples: Vec<Triple>,
    pub pairs: Vec<(u32, u32)>,
    pub scopes: Vec<usize>,
    /// One table a factor, with the index into the factor's values for each entry.
    pub constants: Vec<(Table, Vec<usize>)>,
    /// Entries of the arena.
    pub arena: usize,
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
    pub(super) fn shape(&self, triples: &Range<usize>, block: Block) -> Shape<'_> {
        Shape { triples: &self.triples[triples.clone()], block }
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

/// A table while compiling: with its scope and, bit by bit, whether it holds the variable's demand.
#[derive(Debug, Clone)]
struct Scoped {
    table: Table,
    scope: Vec<usize>,
    demand: u64,
}

struct Compiler<'a> {
    problem: &'a Problem,
    position: Vec<usize>,
    plan: Plan,
}

/// Compiles `order`, which lists every variable of `problem` that a link or a factor names, once.
pub(super) fn compile(problem: &Problem, order: &[usize]) -> Plan {
    let mut position = vec![usize::MAX; problem.kinds.len()];
    for (i, &v) in order.iter().enumerate() {
        position[v] = i;
    }
    let isolated = (0..position.len()).filter(|&v| position[v] == usize::MAX).collect();
    let plan = Plan { isolated, bucket_of: vec![None; position.len()], ..Plan::default() };
    let mut compiler = Compiler { problem, position, plan };
    compiler.run(order);
    compiler.plan
}

/// A variable of a product's scope: its strides in the operands that have it, and how it is shared if it is a gate of both.
struct Dimension {
    a: Option<u32>,
    b: Option<u32>,
    shared: Option<Shared>,
}

impl Dimension {
    /// Strides in a and b when the variable may be part of a run.
    fn run(&self) -> Option<(usize, usize)> {
        match self.shared {
            None => Some((usize::from(self.a.is_some()), usize::from(self.b.is_some()))),
            Some(_) => None,
        }
    }

    /// How the variable moves the three offsets, besides not at all.
    fn moves(&self, out: u32) -> ([Triple; 2], usize) {
        let (a, b) = (self.a.unwrap_or(0), self.b.unwrap_or(0));
        match self.shared {
            None => ([(out, a, b), (0, 0, 0)], 1),
            Some(shared) => {
                let by = |(o, i, j): (usize, usize, usize)| (out * o as u32, a * i as u32, b * j as u32);
                let [_, second, third] = SHARED[shared as usize];
                ([by(second), by(third)], 2)
            }
        }
    }
}

/// The lowest variables of a product as one block, and how many they are.
fn block(dimensions: &[Dimension]) -> (Block, usize) {
    match dimensions {
        [Dimension { shared: Some(low), .. }, Dimension { shared: Some(high), .. }, ..] => {
            (Block::Gates(*low, *high), 2)
        }
        [Dimension { shared: Some(low), .. }, ..] => (Block::Gate(*low), 1),
        [first, ..] => {
            let strides = first.run();
            let count = dimensions.iter().take_while(|d| d.run() == strides).count();
            (Block::Run(1 << count, strides.unwrap_or((1, 1))), count)
        }
        [] => (Block::Run(1, (1, 1)), 0),
    }
}

impl Compiler<'_> {
    fn run(&mut self, order: &[usize]) {
        let count = order.len();
        let mut waiting: Vec<Vec<(Scoped, Option<usize>)>> = vec![Vec::new(); count];
        let mut links: Vec<Vec<usize>> = vec![Vec::new(); count];
        for factor in &self.problem.factors {
            let table = self.constant(&factor.vars);
            let at = self.position[*table.scope.last().expect("factors have variables")];
            waiting[at].push((table, None));
        }
        for (i, link) in self.problem.links.iter().enumerate() {
            links[self.position[link.cause].min(self.position[link.gate])].push(i);
        }
        for (at, &var) in order.iter().enumerate() {
            let tables = std::mem::take(&mut waiting[at]);
            for from in tables.iter().filter_map(|&(_, from)| from) {
                self.plan.buckets[from].next = Some(at);
            }
            let tables = tables.into_iter().map(|(table, _)| table).collect();
            let message = self.bucket(var, tables, &links[at]);
            self.plan.bucket_of[var] = Some(at);
            if let Some(&next) = message.scope.last() {
                waiting[self.position[next]].push((message, Some(at)));
            }
        }
        for at in (0..count).rev() {
            self.plan.buckets[at].component = match self.plan.buckets[at].next {
                Some(next) => self.plan.buckets[next].component,
                None => {
                    self.plan.components += 1;
                    self.plan.components - 1
                }
            };
        }
    }

    fn space(&mut self, len: usize) -> Table {
        let table = Table { id: self.plan.tables, offset: self.plan.arena, len };
        self.plan.arena += len;
        self.plan.tables += 1;
        table
    }

    /// Sorts into arena order: later eliminated is lower.
    fn sort(&self, scope: &mut Vec<usize>) {
        scope.sort_unstable_by_key(|&v| std::cmp::Reverse(self.position[v]));
        scope.dedup();
    }

    fn constant(&mut self, vars: &[usize]) -> Scoped {
        let mut scope = vars.to_vec();
        self.sort(&mut scope);
        let bits: Vec<usize> =
            scope.iter().map(|v| vars.iter().position(|u| u == v).expect("same variables")).collect();
        let sources = (0..1_usize << scope.len())
            .map(|index| bits.iter().enumerate().map(|(to, &from)| (index >> to & 1) << from).sum())
            .collect();
        // A gate's demand is always given by a factor.
        let demand = |(i, &v): (usize, &usize)| u64::from(self.problem.kinds[v] == Kind::Gate) << i;
        let demand = scope.iter().enumerate().map(demand).sum();
        let table = self.space(1 << scope.len());
        self.plan.constants.push((table, sources));
        Scoped { table, scope, demand }
    }

    fn bucket(&mut self, var: usize, mut tables: Vec<Scoped>, links: &[usize]) -> Scoped {
        let first_step = self.plan.steps.len();
        let mut scope = vec![var];
        scope.extend(tables.iter().flat_map(|t| t.scope.iter().copied()));
        for &link in links {
            let link = self.problem.links[link];
            scope.extend([link.cause, link.gate]);
        }
        self.sort(&mut scope);
        // Small ones first keeps what lies between small.
        tables.sort_by_key(|t| t.table.len);
        let mut tables = tables.into_iter();
        let mut last = tables.next();
        let mut own = false;
        for table in tables {
            last = last.map(|before| self.product(&before, &table));
            own = true;
        }
        // A product over the whole scope is the bucket's to change; anything else is copied into one.
        let made = match last {
            Some(product) if own && product.scope.len() == scope.len() => product,
            other => self.widen(other.as_ref(), scope),
        };
        for &index in links {
            let link = self.problem.links[index];
            let cause_on_top = link.cause == var;
            let other = if cause_on_top { link.gate } else { link.cause };
            let bit = |v| made.scope.iter().position(|&u| u == v).expect("in scope");
            let demand = made.demand >> bit(link.gate) & 1 == 1;
            let bit = u32::try_from(bit(other)).expect("a scope is short");
            self.plan.steps.push(Step::Link { table: made.table, bit, cause_on_top, demand, link: index });
        }
        let select = self.problem.kinds[var] == Kind::Gate;
        let Scoped { table, mut scope, mut demand } = made;
        let message = self.space(table.len / 2);
        let start = self.plan.scopes.len();
        self.plan.scopes.extend(&scope);
        self.plan.buckets.push(Bucket {
            var,
            select,
            steps: first_step..self.plan.steps.len(),
            table,
            message,
            next: None,
            component: 0,
            scope: start..self.plan.scopes.len(),
        });
        scope.pop();
        demand &= (1 << scope.len()) - 1;
        Scoped { table: message, scope, demand }
    }

    /// The product of two tables, OR where they share a gate.
    fn product(&mut self, a: &Scoped, b: &Scoped) -> Scoped {
        let mut scope = a.scope.clone();
        scope.extend(&b.scope);
        self.sort(&mut scope);
        let place = |t: &Scoped, v: usize| t.scope.iter().position(|&u| u == v);
        let places: Vec<_> = scope.iter().map(|&v| (place(a, v), place(b, v))).collect();
        let (mut spread_a, mut spread_b, mut demand) = (0_u64, 0_u64, 0_u64);
        for (bit, (&v, &places)) in scope.iter().zip(&places).enumerate() {
            let holds = |t: &Scoped, place: Option<usize>| place.map_or(0, |i| t.demand >> i & 1);
            let (demand_a, demand_b) = (holds(a, places.0), holds(b, places.1));
            demand |= (demand_a | demand_b) << bit;
            if let ((Some(i), Some(j)), Kind::Gate) = (places, self.problem.kinds[v]) {
                if demand_b == 1 {
                    spread_a |= 1 << i;
                } else {
                    spread_b |= 1 << j;
                }
            }
        }
        let (from_a, strides_a) = self.spread(a, spread_a);
        let (from_b, strides_b) = self.spread(b, spread_b);
        let out = self.space(1 << scope.len());
        let dimensions: Vec<Dimension> = scope
            .iter()
            .zip(&places)
            .map(|(&v, &(in_a, in_b))| {
                let shared = match (in_a, in_b) {
                    (Some(i), Some(_)) if self.problem.kinds[v] == Kind::Gate => {
                        Some(if a.demand >> i & 1 == 1 {
                            Shared::DemandFirst
                        } else if spread_a >> i & 1 == 1 {
                            Shared::DemandSecond
                        } else {
                            Shared::Supplies
                        })
                    }
                    _ => None,
                };
                Dimension { a: in_a.map(|i| strides_a[i]), b: in_b.map(|j| strides_b[j]), shared }
            })
            .collect();
        let (block, low) = block(&dimensions);
        let start = self.plan.triples.len();
        self.plan.triples.push((0, 0, 0));
        for (bit, dimension) in dimensions.iter().enumerate().skip(low) {
            let (moves, count) = dimension.moves(1 << bit);
            let end = self.plan.triples.len();
            for m in &moves[..count] {
                for i in start..end {
                    let t = self.plan.triples[i];
                    self.plan.triples.push((t.0 + m.0, t.1 + m.1, t.2 + m.2));
                }
            }
        }
        let triples = start..self.plan.triples.len();
        self.plan.steps.push(Step::Multiply { out, a: from_a, b: from_b, triples, block });
        Scoped { table: out, scope, demand }
    }

    /// The table with the marked variables given a third digit, and the stride of each variable in it.
    fn spread(&mut self, from: &Scoped, spread: u64) -> (Table, Vec<u32>) {
        let mut strides = Vec::with_capacity(from.scope.len());
        let mut len = 1_u32;
        for i in 0..from.scope.len() {
            strides.push(len);
            len *= if spread >> i & 1 == 1 { 3 } else { 2 };
        }
        if spread == 0 {
            return (from.table, strides);
        }
        let to = self.space(len as usize);
        let vars = u32::try_from(from.scope.len()).expect("a scope is short");
        self.plan.steps.push(Step::Spread { from: from.table, to, spread, vars });
        (to, strides)
    }

    /// A table over the whole `scope`: a gate not seen before starts at "not brought on", a plain variable
    /// not seen before leaves the table as it is.
    fn widen(&mut self, from: Option<&Scoped>, scope: Vec<usize>) -> Scoped {
        let out = self.space(1 << scope.len());
        let start = self.plan.pairs.len();
        self.plan.pairs.push((0, 0));
        let mut demand = 0;
        for (bit, &v) in scope.iter().enumerate() {
            let place = from.and_then(|t| t.scope.iter().position(|&u| u == v));
            let step = match place {
                Some(i) => {
                    demand |= from.map_or(0, |t| t.demand >> i & 1) << bit;
                    1 << i
                }
                None if self.problem.kinds[v] == Kind::Plain => 0,
                None => continue,
            };
            for i in start..self.plan.pairs.len() {
                let pair = self.plan.pairs[i];
                self.plan.pairs.push((pair.0 + (1 << bit), pair.1 + step));
            }
        }
        let pairs = start..self.plan.pairs.len();
        self.plan.steps.push(Step::Widen { out, from: from.map(|t| t.table), pairs });
        Scoped { table: out, scope, demand }
    }
}
