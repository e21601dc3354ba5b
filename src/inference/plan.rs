//! One elimination order, compiled: which tables are combined in which bucket, down to index lists.
//!
//! Tables that share a plain variable multiply. Tables that share a gate combine by OR (Zhang & Poole 1996): as long
//! as both say "brought on so far or not" (supply), `r(0) = f(0) g(0)` and `r(1) = f(0) g(1) + f(1) (g(0) + g(1))`. The one
//! table of a gate that says what each final state is worth (demand) takes a supply in by
//! `h'(0) = g(0) h(0) + g(1) h(1)` and `h'(1) = (g(0) + g(1)) h(1)`. Every gate may thus be eliminated before or after anything
//! else, and no step subtracts.

use super::order::{Graph, min_fill};
use super::reduce::{Kind, Problem};

/// A table's place in the arena. Bit `i` of an index is the state of `scope[i]`; later eliminated is lower.
#[derive(Debug, Clone)]
pub(super) struct Table {
    pub offset: usize,
    pub scope: Vec<usize>,
    /// For each variable of the scope: whether this table holds its demand.
    demand: Vec<bool>,
}

impl Table {
    pub(super) fn len(&self) -> usize {
        1 << self.scope.len()
    }
}

/// Offsets `(out, a, b)` of the runs of a product.
pub(super) type Triple = (u32, u32, u32);

/// One step of a bucket. Offsets are into the arena.
#[derive(Debug, Clone)]
pub(super) enum Step {
    /// Widens a table of supplies: digit 2 of a spread variable is the sum of digits 0 and 1.
    Spread { from: usize, to: usize, from_len: usize, bits: Vec<bool> },
    /// `out += a * b` over index lists, in runs of `run` with the given strides of a and b (0 or 1).
    Multiply {
        out: usize,
        out_len: usize,
        a: usize,
        b: usize,
        triples: Vec<Triple>,
        run: usize,
        strides: (usize, usize),
    },
    /// The table of a bucket from its only incoming table (or from nothing): widened to the whole scope.
    Widen { out: usize, out_len: usize, from: Option<usize>, pairs: Vec<(u32, u32)> },
    /// A cause's link taken into the table.
    Link { table: usize, len: usize, cause_bit: u32, gate_bit: u32, demand: bool, link: usize },
    /// A variable's own factor.
    Unary { table: usize, len: usize, var: usize },
}

/// One variable's elimination.
#[derive(Debug, Clone)]
pub(super) struct Bucket {
    pub var: usize,
    pub kind: Kind,
    pub steps: Vec<Step>,
    /// Offset of the finished table; the bucket's variable is its highest bit.
    pub table: usize,
    /// Offset of the outgoing message.
    pub message: usize,
    /// Entries of the message: half the table's.
    pub len: usize,
    /// The bucket that takes the message in; none for a root.
    pub next: Option<usize>,
}

/// The compiled elimination.
#[derive(Debug, Clone, Default)]
pub(super) struct Plan {
    pub buckets: Vec<Bucket>,
    /// Arena offset of each factor's values, and for each entry there the index into the factor's own values.
    pub constants: Vec<(usize, Vec<usize>)>,
    /// Entries of the arena.
    pub arena: usize,
    /// The widest table, as a number of variables.
    pub width: usize,
}

/// What an order would cost, known before any memory is spent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// Variables in the widest table.
    pub width: usize,
    /// Entries of all tables together.
    pub entries: f64,
}

pub(super) fn graph(problem: &Problem) -> Graph {
    let mut graph = Graph::new(problem.kinds.len());
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

pub(super) fn order(problem: &Problem) -> Vec<usize> {
    min_fill(graph(problem))
}

/// Cost of `order` by elimination on the graph alone.
pub(super) fn cost(problem: &Problem, order: &[usize]) -> Cost {
    let mut graph = graph(problem);
    let mut cost = Cost { width: 0, entries: 0.0 };
    for &v in order {
        let width = graph.eliminate(v).len() + 1;
        cost.width = cost.width.max(width);
        cost.entries += 1.5 * (width as f64).exp2();
    }
    cost
}

struct Compiler<'a> {
    problem: &'a Problem,
    position: Vec<usize>,
    plan: Plan,
}

/// Compiles `order`, which must list every variable of `problem` once.
pub(super) fn compile(problem: &Problem, order: &[usize]) -> Plan {
    let mut position = vec![0; order.len()];
    for (i, &v) in order.iter().enumerate() {
        position[v] = i;
    }
    let mut compiler = Compiler { problem, position, plan: Plan::default() };
    compiler.run(order);
    compiler.plan
}

/// How one variable of a product's scope moves the three offsets: one entry a combination.
fn moves(kind: Kind, out: u32, a: Option<(u32, bool)>, b: Option<(u32, bool)>) -> Vec<Triple> {
    match (a, b) {
        (Some((a, _)), None) => vec![(0, 0, 0), (out, a, 0)],
        (None, Some((b, _))) => vec![(0, 0, 0), (out, 0, b)],
        (Some((a, _)), Some((b, _))) if kind == Kind::Plain => vec![(0, 0, 0), (out, a, b)],
        (Some((a, true)), Some((b, false))) => vec![(0, 0, 0), (0, a, b), (out, a, 2 * b)],
        (Some((a, false)), Some((b, true))) => vec![(0, 0, 0), (0, a, b), (out, 2 * a, b)],
        (Some((a, false)), Some((b, false))) => vec![(0, 0, 0), (out, 0, b), (out, a, 2 * b)],
        (Some((_, true)), Some((_, true))) => unreachable!("a gate has one demand"),
        (None, None) => unreachable!("a scope lists only variables of its operands"),
    }
}

impl Compiler<'_> {
    fn run(&mut self, order: &[usize]) {
        let count = order.len();
        let mut waiting: Vec<Vec<(Table, Option<usize>)>> = vec![Vec::new(); count];
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
            for &(_, from) in &tables {
                if let Some(from) = from {
                    self.plan.buckets[from].next = Some(at);
                }
            }
            let tables = tables.into_iter().map(|(table, _)| table).collect();
            let message = self.bucket(var, tables, &links[at]);
            if let Some(&next) = message.scope.last() {
                waiting[self.position[next]].push((message, Some(at)));
            }
        }
    }

    fn space(&mut self, len: usize) -> usize {
        let offset = self.plan.arena;
        self.plan.arena += len;
        offset
    }

    /// Sorts into arena order: later eliminated is lower.
    fn sort(&self, scope: &mut [usize]) {
        scope.sort_unstable_by_key(|&v| std::cmp::Reverse(self.position[v]));
    }

    fn constant(&mut self, vars: &[usize]) -> Table {
        let mut scope = vars.to_vec();
        self.sort(&mut scope);
        let bits: Vec<usize> =
            scope.iter().map(|v| vars.iter().position(|u| u == v).expect("same variables")).collect();
        let sources = (0..1_usize << scope.len())
            .map(|index| bits.iter().enumerate().map(|(to, &from)| (index >> to & 1) << from).sum())
            .collect();
        // A gate's demand is always given as a factor; a free gate's background is one more supply.
        let demand = scope.iter().map(|&v| self.problem.kinds[v] == Kind::Gate).collect();
        let offset = self.space(1 << scope.len());
        self.plan.constants.push((offset, sources));
        Table { offset, scope, demand }
    }

    fn bucket(&mut self, var: usize, mut tables: Vec<Table>, links: &[usize]) -> Table {
        let mut steps = Vec::new();
        let mut scope = vec![var];
        scope.extend(tables.iter().flat_map(|t| t.scope.iter().copied()));
        for &link in links {
            let link = self.problem.links[link];
            scope.extend([link.cause, link.gate]);
        }
        self.sort(&mut scope);
        scope.dedup();
        tables.sort_by_key(Table::len);
        let mut tables = tables.into_iter();
        let mut last = tables.next();
        for table in tables {
            last = last.map(|before| self.product(&mut steps, before, table));
        }
        let table = self.widen(&mut steps, last, scope);
        for &index in links {
            let link = self.problem.links[index];
            let bit = |v| table.scope.iter().position(|&u| u == v).expect("in scope");
            let (cause, gate) = (bit(link.cause), bit(link.gate));
            steps.push(Step::Link {
                table: table.offset,
                len: table.len(),
                cause_bit: cause as u32,
                gate_bit: gate as u32,
                demand: table.demand[gate],
                link: index,
            });
        }
        let kind = self.problem.kinds[var];
        if kind != Kind::Gate {
            steps.push(Step::Unary { table: table.offset, len: table.len(), var });
        }
        self.plan.width = self.plan.width.max(table.scope.len());
        let len = table.len() / 2;
        let message = self.space(len);
        let Table { offset, mut scope, mut demand } = table;
        scope.pop();
        demand.pop();
        self.plan.buckets.push(Bucket { var, kind, steps, table: offset, message, len, next: None });
        Table { offset: message, scope, demand }
    }

    /// The product of two tables, OR where they share a gate.
    fn product(&mut self, steps: &mut Vec<Step>, a: Table, b: Table) -> Table {
        let mut scope = a.scope.clone();
        scope.extend(&b.scope);
        self.sort(&mut scope);
        scope.dedup();
        let place = |t: &Table, v: usize| t.scope.iter().position(|&u| u == v);
        let mut spread_a = vec![false; a.scope.len()];
        let mut spread_b = vec![false; b.scope.len()];
        let mut demand = Vec::with_capacity(scope.len());
        for &v in &scope {
            let (in_a, in_b) = (place(&a, v), place(&b, v));
            demand.push(in_a.is_some_and(|i| a.demand[i]) || in_b.is_some_and(|i| b.demand[i]));
            if let (Some(i), Some(j)) = (in_a, in_b)
                && self.problem.kinds[v] != Kind::Plain
            {
                if b.demand[j] {
                    spread_a[i] = true;
                } else {
                    spread_b[j] = true;
                }
            }
        }
        let (a_offset, a_strides) = self.spread(steps, &a, spread_a);
        let (b_offset, b_strides) = self.spread(steps, &b, spread_b);
        let out_len = 1 << scope.len();
        let out = self.space(out_len);
        let mut run = 1;
        let mut strides = None;
        let mut triples = vec![(0, 0, 0)];
        for (bit, &v) in scope.iter().enumerate() {
            let in_a = place(&a, v).map(|i| (a_strides[i], a.demand[i]));
            let in_b = place(&b, v).map(|j| (b_strides[j], b.demand[j]));
            let both = in_a.is_some() && in_b.is_some();
            let shape = (usize::from(in_a.is_some()), usize::from(in_b.is_some()));
            // The lowest variables that move alike become the inner run.
            let plain = self.problem.kinds[v] == Kind::Plain || !both;
            if plain && run == 1 << bit && strides.is_none_or(|s| s == shape) {
                strides = Some(shape);
                run <<= 1;
                continue;
            }
            let moves = moves(self.problem.kinds[v], 1 << bit, in_a, in_b);
            triples = moves
                .iter()
                .flat_map(|m| triples.iter().map(|t| (t.0 + m.0, t.1 + m.1, t.2 + m.2)))
                .collect();
        }
        let strides = strides.unwrap_or((1, 1));
        steps.push(Step::Multiply { out, out_len, a: a_offset, b: b_offset, triples, run, strides });
        Table { offset: out, scope, demand }
    }

    /// The table with the marked variables given a third digit, and the stride of each variable in it.
    fn spread(&mut self, steps: &mut Vec<Step>, table: &Table, bits: Vec<bool>) -> (usize, Vec<u32>) {
        let mut strides = Vec::with_capacity(bits.len());
        let mut len = 1;
        for &spread in &bits {
            strides.push(len);
            len *= if spread { 3 } else { 2 };
        }
        if !bits.contains(&true) {
            return (table.offset, strides);
        }
        let to = self.space(len as usize);
        steps.push(Step::Spread { from: table.offset, to, from_len: table.len(), bits });
        (to, strides)
    }

    /// A table of its own for the bucket, over the whole scope: a gate not seen before starts at "not
    /// brought on", a plain variable not seen before leaves the table as it is.
    fn widen(&mut self, steps: &mut Vec<Step>, from: Option<Table>, scope: Vec<usize>) -> Table {
        let out_len = 1 << scope.len();
        let out = self.space(out_len);
        let mut pairs = vec![(0_u32, 0_u32)];
        let mut demand = Vec::with_capacity(scope.len());
        for (bit, &v) in scope.iter().enumerate() {
            let place = from.as_ref().and_then(|t| t.scope.iter().position(|&u| u == v));
            demand.push(place.is_some_and(|i| from.as_ref().is_some_and(|t| t.demand[i])));
            let step = match place {
                Some(i) => 1 << i,
                None if self.problem.kinds[v] == Kind::Plain => 0,
                None => continue,
            };
            for i in 0..pairs.len() {
                pairs.push((pairs[i].0 + (1 << bit), pairs[i].1 + step));
            }
        }
        steps.push(Step::Widen { out, out_len, from: from.map(|t| t.offset), pairs });
        Table { offset: out, scope, demand }
    }
}
