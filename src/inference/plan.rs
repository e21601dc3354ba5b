//! One elimination order, compiled: which tables are combined in which bucket, down to index lists.
//!
//! Tables that share a plain variable multiply. Tables that share a gate combine by OR (Zhang & Poole 1996): as long
//! as both say "brought on so far or not" (supply), `r(0) = f(0) g(0)` and `r(1) = f(0) g(1) + f(1) (g(0) + g(1))`. The one
//! table of a gate that says what each final state is worth (demand) takes a supply in by
//! `h'(0) = g(0) h(0) + g(1) h(1)` and `h'(1) = (g(0) + g(1)) h(1)`. Every gate may thus be eliminated before or after anything
//! else, and no step subtracts.

use std::ops::Range;

use super::kernels::spread_len;
use super::product::{Block, Group, Places, Shape, Shared, Term};
use super::reduce::{Kind, Problem};

/// A table's places in the arenas of values and of adjoints. Bit `i` of an index is the state of the `i`-th variable of its
/// scope, and later eliminated variables take lower bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Table {
    pub id: u32,
    pub len: usize,
    offset: usize,
    adjoint: usize,
    /// Its adjoint outlives its bucket. All others share the room of the largest bucket, which so stays in the cache.
    kept: bool,
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
    /// Entries of the largest spread table.
    pub spread: usize,
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
    /// Entries of adjoints that outlive their buckets, and of those of the bucket at hand.
    kept: usize,
    local: usize,
    /// The most of the latter.
    room: usize,
    /// Lists to use again.
    spare: (Vec<Group>, Vec<Term>),
}

/// Compiles `order`, which lists every variable of `problem` that a link or a factor names, once.
pub(super) fn compile(problem: &Problem, order: &[usize]) -> Plan {
    let mut position = vec![usize::MAX; problem.kinds.len()];
    for (i, &v) in order.iter().enumerate() {
        position[v] = i;
    }
    let isolated = (0..position.len()).filter(|&v| position[v] == usize::MAX).collect();
    let plan = Plan { isolated, bucket_of: vec![None; position.len()], ..Plan::default() };
    let spare = (Vec::new(), Vec::new());
    let mut compiler = Compiler { problem, position, plan, kept: 0, local: 0, room: 0, spare };
    compiler.run(order);
    compiler.settle();
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
}

/// The lowest variables of a product as one block, and how many they are.
fn block(dimensions: &[Dimension]) -> (Block, usize) {
    match dimensions {
        [Dimension { shared: Some(gate), .. }, ..] => (Block::Gate(*gate), 1),
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

    /// A new table.
    fn space(&mut self, len: usize, kept: bool) -> Table {
        let offset = self.plan.values;
        self.plan.values += len;
        self.table(len, offset, kept)
    }

    /// A table whose values lie at `offset`.
    fn table(&mut self, len: usize, offset: usize, kept: bool) -> Table {
        let place = if kept { &mut self.kept } else { &mut self.local };
        let table = Table { id: self.plan.tables, len, offset, adjoint: *place, kept };
        *place += len;
        self.plan.tables += 1;
        table
    }

    /// Lays the adjoints that are kept above the room of the others.
    fn settle(&mut self) {
        let room = self.room;
        let lift = |table: &mut Table| {
            if table.kept {
                table.adjoint += room;
            }
        };
        for bucket in &mut self.plan.buckets {
            lift(&mut bucket.message);
        }
        for step in &mut self.plan.steps {
            match step {
                Step::Multiply { a, b, .. } => [&mut a.table, &mut b.table].into_iter().for_each(lift),
                Step::Widen { from, .. } => from.iter_mut().for_each(lift),
                Step::Link { .. } => {}
            }
        }
        self.plan.adjoints = room + self.kept;
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
        let table = self.space(1 << scope.len(), true);
        self.plan.constants.push((table, sources));
        Scoped { table, scope, demand }
    }

    fn bucket(&mut self, var: usize, mut tables: Vec<Scoped>, links: &[usize]) -> Scoped {
        let first_step = self.plan.steps.len();
        self.local = 0;
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
        let half = table.len / 2;
        let message = if select { self.table(half, table.offset, true) } else { self.space(half, true) };
        self.room = self.room.max(self.local);
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
        let mut shared: Vec<Option<Shared>> = vec![None; scope.len()];
        let (mut marked_a, mut marked_b, mut demand) = (0_u64, 0_u64, 0_u64);
        for (bit, (&v, &places)) in scope.iter().zip(&places).enumerate() {
            let holds = |t: &Scoped, place: Option<usize>| place.map_or(0, |i| t.demand >> i & 1);
            let (demand_a, demand_b) = (holds(a, places.0), holds(b, places.1));
            demand |= (demand_a | demand_b) << bit;
            if let ((Some(i), Some(j)), Kind::Gate) = (places, self.problem.kinds[v]) {
                shared[bit] = Some(match (demand_a, demand_b) {
                    (1, _) => Shared::DemandFirst,
                    (_, 1) => Shared::DemandSecond,
                    _ => Shared::Supplies,
                });
                // The lowest is the block's, which makes its sums on the way.
                if bit > 0 && demand_b == 1 {
                    marked_a |= 1 << i;
                } else if bit > 0 {
                    marked_b |= 1 << j;
                }
            }
        }
        let (a, strides_a) = self.operand(a, marked_a);
        let (b, strides_b) = self.operand(b, marked_b);
        let out = self.space(1 << scope.len(), false);
        let dimensions: Vec<Dimension> = places
            .iter()
            .zip(shared)
            .map(|(&(in_a, in_b), shared)| Dimension {
                a: in_a.map(|i| strides_a[i]),
                b: in_b.map(|j| strides_b[j]),
                shared,
            })
            .collect();
        let places = self.places(&dimensions);
        self.plan.steps.push(Step::Multiply { out, a, b, places });
        Scoped { table: out, scope, demand }
    }

    /// Where the blocks of a product go, those that add up to one block of the result next to each other.
    fn places(&mut self, dimensions: &[Dimension]) -> Places {
        let (block, low) = block(dimensions);
        let (first_group, first_term) = (self.plan.groups.len(), self.plan.terms.len());
        self.plan.groups.push(Group { out: 0, terms: 1 });
        self.plan.terms.push((0, 0));
        for (bit, dimension) in dimensions.iter().enumerate().skip(low) {
            let step = 1 << bit;
            let (a, b) = (dimension.a.unwrap_or(0), dimension.b.unwrap_or(0));
            let Some(shared) = dimension.shared else {
                // All of it once more, moved.
                let (groups, terms) = (&mut self.plan.groups, &mut self.plan.terms);
                let (last_group, last_term) = (groups.len(), terms.len());
                groups.extend_from_within(first_group..);
                groups[last_group..].iter_mut().for_each(|group| group.out += step);
                terms.extend_from_within(first_term..);
                terms[last_term..].iter_mut().for_each(|term| *term = (term.0 + a, term.1 + b));
                continue;
            };
            let (groups, terms) = &mut self.spare;
            groups.clear();
            groups.extend(self.plan.groups.drain(first_group..));
            terms.clear();
            terms.extend(self.plan.terms.drain(first_term..));
            let products = shared.products().map(|(out, i, j)| (out, i * a, j * b));
            for state in 0..2 {
                let moves = products.iter().filter(|product| product.0 == state);
                let mut left = &terms[..];
                for &Group { out, terms: count } in &*groups {
                    let (now, later) = left.split_at(count as usize);
                    left = later;
                    let before = self.plan.terms.len();
                    for &(_, a, b) in moves.clone() {
                        self.plan.terms.extend(now.iter().map(|&(i, j)| (i + a, j + b)));
                    }
                    let terms = u32::try_from(self.plan.terms.len() - before).expect("a product is short");
                    self.plan.groups.push(Group { out: out + state * step, terms });
                }
            }
        }
        let (groups, terms) = (first_group..self.plan.groups.len(), first_term..self.plan.terms.len());
        Places { groups, terms, block }
    }

    /// A table as one side of a product, the marked variables given a third digit, and the stride of each variable.
    fn operand(&mut self, from: &Scoped, marked: u64) -> (Operand, Vec<u32>) {
        let vars = u32::try_from(from.scope.len()).expect("a scope is short");
        let stride = |len: &mut u32, i: u32| {
            let own = *len;
            *len *= if marked >> i & 1 == 1 { 3 } else { 2 };
            Some(own)
        };
        let strides = (0..vars).scan(1, stride).collect();
        let spread = (marked != 0).then(|| Spread { marked, vars, len: spread_len(marked, vars) });
        self.plan.spread = self.plan.spread.max(spread.map_or(0, |spread| spread.len));
        (Operand { table: from.table, spread }, strides)
    }

    /// A table over the whole `scope`: a gate not seen before starts at "not brought on", a plain variable
    /// not seen before leaves the table as it is.
    fn widen(&mut self, from: Option<&Scoped>, scope: Vec<usize>) -> Scoped {
        let out = self.space(1 << scope.len(), false);
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
