//! From an elimination order to a plan.
//!
//! Tables that share a plain variable multiply. Tables that share a gate combine by OR (Zhang & Poole 1996): as long
//! as both say "brought on so far or not" (supply), `r(0) = f(0) g(0)` and `r(1) = f(0) g(1) + f(1) (g(0) + g(1))`. The one
//! table of a gate that says what each final state is worth (demand) takes a supply in by
//! `h'(0) = g(0) h(0) + g(1) h(1)` and `h'(1) = (g(0) + g(1)) h(1)`. Every gate may thus be eliminated before or after anything
//! else, and no step subtracts.

use super::kernels::spread_len;
use super::plan::{Bucket, Operand, Plan, Spread, Step, Table};
use super::product::{Block, Group, Places, Shared, Term, each};
use super::reduce::{Kind, Problem};

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
    /// Memory for the places of the inner and the outer half of a product's variables.
    halves: [Half; 2],
}

/// Compiles `order`, which lists every variable of `problem` that a link or a factor names, once.
pub(super) fn compile(problem: &Problem, order: &[usize]) -> Plan {
    let mut position = vec![usize::MAX; problem.kinds.len()];
    for (i, &v) in order.iter().enumerate() {
        position[v] = i;
    }
    let isolated = (0..position.len()).filter(|&v| position[v] == usize::MAX).collect();
    let plan = Plan { isolated, bucket_of: vec![None; position.len()], ..Plan::default() };
    let mut compiler = Compiler { problem, position, plan, kept: 0, local: 0, halves: Default::default() };
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

/// A table as one side of a product, the marked variables given a third digit, and the stride of each variable.
fn operand(from: &Scoped, marked: u64) -> (Operand, Vec<u32>) {
    let vars = u32::try_from(from.scope.len()).expect("a scope is short");
    let stride = |len: &mut u32, i: u32| {
        let own = *len;
        *len *= if marked >> i & 1 == 1 { 3 } else { 2 };
        Some(own)
    };
    let strides = (0..vars).scan(1, stride).collect();
    let spread = (marked != 0).then(|| Spread { marked, vars, len: spread_len(marked, vars) });
    (Operand { table: from.table, spread }, strides)
}

/// The places of some dimensions of a product.
#[derive(Debug, Default)]
struct Half {
    groups: Vec<Group>,
    terms: Vec<Term>,
    spare: (Vec<Group>, Vec<Term>),
}

impl Half {
    fn each(&self) -> impl Iterator<Item = (Group, &[Term])> {
        each(&self.groups, &self.terms)
    }

    /// The places of these dimensions, the first of which is this bit of the result.
    fn set(&mut self, dimensions: &[Dimension], first_bit: usize) {
        self.groups.clear();
        self.groups.push(Group { out: 0, terms: 1 });
        self.terms.clear();
        self.terms.push((0, 0));
        for (bit, dimension) in dimensions.iter().enumerate() {
            let step = 1 << (first_bit + bit);
            let (a, b) = (dimension.a.unwrap_or(0), dimension.b.unwrap_or(0));
            let alone = [(0, 0, 0), (1, 1, 1)];
            let shared = dimension.shared.map(Shared::products);
            let products = shared.as_ref().map_or(&alone[..], |products| &products[..]);
            let mut next = std::mem::take(&mut self.spare);
            for state in 0..2 {
                for (group, terms) in self.each() {
                    let before = next.1.len();
                    for &(_, i, j) in products.iter().filter(|product| product.0 == state) {
                        next.1.extend(terms.iter().map(|&(x, y)| (x + i * a, y + j * b)));
                    }
                    let terms = u32::try_from(next.1.len() - before).expect("a product is short");
                    next.0.push(Group { out: group.out + state * step, terms });
                }
            }
            std::mem::swap(&mut self.groups, &mut next.0);
            std::mem::swap(&mut self.terms, &mut next.1);
            next.0.clear();
            next.1.clear();
            self.spare = next;
        }
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
        let room = self.plan.room;
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
        self.plan.room = self.plan.room.max(self.local);
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
        let (a, strides_a) = operand(a, marked_a);
        let (b, strides_b) = operand(b, marked_b);
        for (most, side) in self.plan.sides.iter_mut().zip([a, b]) {
            *most = (*most).max(side.spread.map_or(0, |spread| spread.len));
        }
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
        let middle = low + (dimensions.len() - low) / 2;
        let [inner, outer] = &mut self.halves;
        inner.set(&dimensions[low..middle], low);
        outer.set(&dimensions[middle..], middle);
        let Plan { groups, terms, .. } = &mut self.plan;
        let (first_group, first_term) = (groups.len(), terms.len());
        for (far, far_terms) in outer.each() {
            for (near, near_terms) in inner.each() {
                let count = far.terms * near.terms;
                groups.push(Group { out: far.out + near.out, terms: count });
                for &(a, b) in far_terms {
                    terms.extend(near_terms.iter().map(|&(i, j)| (a + i, b + j)));
                }
            }
        }
        Places { groups: first_group..groups.len(), terms: first_term..terms.len(), block }
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
