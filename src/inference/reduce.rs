//! Network and evidence to the smallest factor problem with the same answers.
//!
//! What is left after this step is a set of two-state variables, their own factors (`unary`), links from causes to gates, and
//! a few small tables. Barren nodes are gone, known nodes are folded into their neighbours, negative findings
//! and findings with a single cause are folded into the causes' own factors, so they never couple causes.

use super::evidence::{Evidence, TableEvidence};
use super::network::{Network, NodeId};

/// What a variable of the factor problem stands for, and so how tables that share it combine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// The state of a node. Tables that share it multiply.
    Plain,
    /// "Some cause has brought the effect on": tables that share it combine by OR, and one table (the demand)
    /// says what each final state is worth.
    Gate,
}

/// A cause's link into a gate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Link {
    pub cause: usize,
    pub gate: usize,
    pub weight: f64,
}

/// A table over a few variables; bit `i` of an index is the state of `vars[i]`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Factor {
    pub vars: Vec<usize>,
    pub values: Vec<f64>,
}

/// A target nothing was seen below: its chance follows from its causes once everything else is done.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Derived {
    pub background: f64,
    /// Variables with their weights.
    pub causes: Vec<(usize, f64)>,
}

/// Where a node's chance is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// Not part of the problem.
    Out,
    /// Known from the evidence.
    Known(bool),
    /// The marginal of a variable.
    Variable(usize),
    /// One of [`Problem::derived`].
    Derived(usize),
    /// A leaf folded away; its own state is not kept.
    Folded,
}

/// The factor problem.
#[derive(Debug, Clone, Default)]
pub(super) struct Problem {
    pub kinds: Vec<Kind>,
    pub unary: Vec<[f64; 2]>,
    pub links: Vec<Link>,
    pub factors: Vec<Factor>,
    pub derived: Vec<Derived>,
    /// Factors that depend on nothing any more. Zero means that the evidence cannot happen.
    pub constants: Vec<f64>,
    pub places: Vec<Place>,
}

/// The state a node is known to have, if its likelihood pair leaves only one.
fn known(pair: (f64, f64)) -> Option<bool> {
    match pair {
        (a, p) if a > 0.0 && p > 0.0 => None,
        (_, p) => Some(p > 0.0),
    }
}

struct Reducer<'a> {
    network: &'a Network,
    pairs: Vec<(f64, f64)>,
    known: Vec<Option<bool>>,
    in_tables: Vec<u32>,
    problem: Problem,
}

/// Builds the factor problem for `targets` under `evidence`, both already checked against `network`.
pub(super) fn reduce(network: &Network, evidence: &Evidence, targets: &[NodeId]) -> Problem {
    let mut pairs = vec![(1.0, 1.0); network.len()];
    for (node, pair) in evidence.pairs() {
        pairs[node] = pair;
    }
    let mut in_tables = vec![0; network.len()];
    for table in evidence.tables() {
        for &node in &table.nodes {
            in_tables[node] += 1;
        }
    }
    let known: Vec<Option<bool>> = pairs.iter().map(|&pair| known(pair)).collect();
    let mut reducer = Reducer { network, pairs, known, in_tables, problem: Problem::default() };
    reducer.run(evidence, targets);
    reducer.problem
}

impl Reducer<'_> {
    fn run(&mut self, evidence: &Evidence, targets: &[NodeId]) {
        let len = self.network.len();
        let mut is_target = vec![false; len];
        for &target in targets {
            is_target[target] = true;
        }
        // Ancestors of evidence and targets; everything else is barren. Parents precede children.
        let mut relevant = vec![false; len];
        let mut seen_below = vec![false; len];
        let mut has_child = vec![false; len];
        for id in (0..len).rev() {
            #[allow(clippy::float_cmp)] // an exactly even pair says nothing about the node
            let informative = self.pairs[id].0 != self.pairs[id].1;
            seen_below[id] |= informative || self.in_tables[id] > 0;
            relevant[id] |= is_target[id] || seen_below[id];
            if !relevant[id] {
                self.problem.constants.push(self.pairs[id].0);
                continue;
            }
            for &(parent, _) in &self.network.node(id).parents {
                relevant[parent] = true;
                seen_below[parent] |= seen_below[id];
                has_child[parent] = true;
            }
        }
        self.problem.places = vec![Place::Out; len];
        let mut table_places: Vec<Option<usize>> = vec![None; len];
        for id in (0..len).filter(|&id| relevant[id]) {
            let tables = self.in_tables[id];
            if let Some(state) = self.known[id] {
                self.problem.places[id] = Place::Known(state);
                self.known_node(id, state);
            } else if has_child[id] || tables > 1 || self.network.table(id).is_some() {
                table_places[id] = Some(self.plain(id));
            } else if !seen_below[id] {
                // A target only; its pair is even, or it would count as seen.
                self.problem.constants.push(self.pairs[id].0);
                let derived = self.fold(id);
                self.problem.places[id] = Place::Derived(self.problem.derived.len());
                self.problem.derived.push(derived);
            } else if is_target[id] {
                table_places[id] = Some(self.plain(id));
            } else if tables == 1 {
                self.problem.places[id] = Place::Folded;
                table_places[id] = Some(self.table_leaf(id));
            } else {
                self.problem.places[id] = Place::Folded;
                let folded = self.fold(id);
                let (absent, present) = self.pairs[id];
                self.demand(&folded, absent, present);
            }
        }
        for table in evidence.tables() {
            self.table(table, &table_places);
        }
    }

    fn variable(&mut self, kind: Kind, unary: [f64; 2]) -> usize {
        self.problem.kinds.push(kind);
        self.problem.unary.push(unary);
        self.problem.kinds.len() - 1
    }

    /// Keeps a node as a variable.
    fn plain(&mut self, id: NodeId) -> usize {
        let (absent, present) = self.pairs[id];
        let var = self.variable(Kind::Plain, [absent, present]);
        self.problem.places[id] = Place::Variable(var);
        self.define(id, var);
        var
    }

    fn scale(&mut self, var: usize, by: [f64; 2]) {
        let unary = &mut self.problem.unary[var];
        *unary = [unary[0] * by[0], unary[1] * by[1]];
    }

    /// The node's noisy-OR with known parents folded into the background.
    fn fold(&self, id: NodeId) -> Derived {
        let node = self.network.node(id);
        let mut background = node.background;
        let mut causes = Vec::with_capacity(node.parents.len());
        for &(parent, weight) in &node.parents {
            match self.problem.places[parent] {
                Place::Known(true) => background += (1.0 - background) * weight,
                Place::Variable(var) if weight > 0.0 => causes.push((var, weight)),
                _ => {}
            }
        }
        Derived { background, causes }
    }

    fn gate(&mut self, causes: &[(usize, f64)]) -> usize {
        let gate = self.variable(Kind::Gate, [1.0, 1.0]);
        for &(cause, weight) in causes {
            self.problem.links.push(Link { cause, gate, weight });
        }
        gate
    }

    /// A node whose state is known: a factor on its parents.
    fn known_node(&mut self, id: NodeId, state: bool) {
        let (absent, present) = self.pairs[id];
        if self.network.table(id).is_some() {
            self.full_table(id, None, [absent, present]);
            return;
        }
        let folded = self.fold(id);
        if state {
            self.demand(&folded, 0.0, present);
        } else {
            self.problem.constants.push(absent * (1.0 - folded.background));
            for (cause, weight) in folded.causes {
                self.scale(cause, [1.0, 1.0 - weight]);
            }
        }
    }

    /// A leaf worth `absent` or `present`, as a factor on its causes: their own for one cause, a pair table
    /// for two, a gate for more.
    fn demand(&mut self, folded: &Derived, absent: f64, present: f64) {
        let b = folded.background;
        let worth = |chance: f64, rest: f64| rest * absent + chance * present;
        match folded.causes[..] {
            [] => self.problem.constants.push(worth(b, 1.0 - b)),
            [(cause, w)] => {
                let with = worth(b + (1.0 - b) * w, (1.0 - b) * (1.0 - w));
                self.scale(cause, [worth(b, 1.0 - b), with]);
            }
            [(first, v), (second, w)] => {
                let mut values = Vec::with_capacity(4);
                for state in 0..4_u32 {
                    let (mut chance, mut rest) = (b, 1.0 - b);
                    for (bit, weight) in [(1, v), (2, w)] {
                        if state & bit != 0 {
                            chance += rest * weight;
                            rest *= 1.0 - weight;
                        }
                    }
                    values.push(worth(chance, rest));
                }
                self.problem.factors.push(Factor { vars: vec![first, second], values });
            }
            _ => {
                let gate = self.gate(&folded.causes);
                let values = vec![worth(b, 1.0 - b), present];
                self.problem.factors.push(Factor { vars: vec![gate], values });
            }
        }
    }

    /// The node's own distribution given its parents, for a node kept as the variable `var`.
    fn define(&mut self, id: NodeId, var: usize) {
        if self.network.table(id).is_some() {
            self.full_table(id, Some(var), [1.0, 1.0]);
            return;
        }
        let Derived { background: b, causes } = self.fold(id);
        match causes[..] {
            [] => self.scale(var, [1.0 - b, b]),
            [(cause, w)] => {
                let rest = (1.0 - b) * (1.0 - w);
                let values = vec![1.0 - b, rest, b, b + (1.0 - b) * w];
                self.problem.factors.push(Factor { vars: vec![cause, var], values });
            }
            _ => {
                let gate = self.gate(&causes);
                let values = vec![1.0 - b, 0.0, b, 1.0];
                self.problem.factors.push(Factor { vars: vec![gate, var], values });
            }
        }
    }

    /// A leaf seen only through one table: its gate is the table's variable.
    fn table_leaf(&mut self, id: NodeId) -> usize {
        let folded = self.fold(id);
        self.gate(&folded.causes)
    }

    /// A table of evidence, with known nodes sliced out, folded leaves' pairs and backgrounds put in.
    fn table(&mut self, table: &TableEvidence, places: &[Option<usize>]) {
        let mut vars: Vec<usize> = Vec::new();
        let mut values = table.likelihoods.clone();
        // From the last node down, so that bit positions below stay put while one is handled.
        for (bit, &node) in table.nodes.iter().enumerate().rev() {
            let step = 1_usize << bit;
            let low = |index: usize| index & (step - 1) | (index & !(step - 1)) << 1;
            match self.problem.places[node] {
                Place::Known(state) => {
                    let offset = if state { step } else { 0 };
                    values = (0..values.len() / 2).map(|i| values[low(i) + offset]).collect();
                }
                Place::Folded => {
                    let Derived { background: b, .. } = self.fold(node);
                    let (absent, present) = self.pairs[node];
                    for i in 0..values.len() / 2 {
                        let (zero, one) = (values[low(i)] * absent, values[low(i) + step] * present);
                        values[low(i)] = (1.0 - b) * zero + b * one;
                        values[low(i) + step] = one;
                    }
                    vars.push(places[node].expect("a folded table leaf has a gate"));
                }
                _ => vars.push(places[node].expect("a kept node has a variable")),
            }
        }
        vars.reverse();
        if vars.is_empty() {
            self.problem.constants.push(values[0]);
        } else {
            self.problem.factors.push(Factor { vars, values });
        }
    }

    /// A node with a full table, as one factor over its unknown parents and itself (or its worth, if known).
    fn full_table(&mut self, id: NodeId, var: Option<usize>, worth: [f64; 2]) {
        let network = self.network;
        let parents = &network.node(id).parents;
        let mut vars = Vec::new();
        let mut slots = Vec::new();
        for &(parent, _) in parents {
            slots.push(match self.problem.places[parent] {
                Place::Known(state) => Err(state),
                Place::Variable(v) => {
                    vars.push(v);
                    Ok(vars.len() - 1)
                }
                Place::Out | Place::Folded | Place::Derived(_) => {
                    unreachable!("parents of relevant nodes are kept")
                }
            });
        }
        let free = vars.len();
        vars.extend(var);
        let mut values = vec![0.0; 1 << vars.len()];
        for (index, value) in values.iter_mut().enumerate() {
            let chance = network.chance_given(id, |parent| {
                let slot = parents.iter().position(|&(p, _)| p == parent).expect("asked about a parent");
                slots[slot].map_or_else(|state| state, |bit| index >> bit & 1 == 1)
            });
            *value = match var {
                Some(_) if index >> free & 1 == 1 => chance,
                Some(_) => 1.0 - chance,
                None => (1.0 - chance) * worth[0] + chance * worth[1],
            };
        }
        if vars.is_empty() {
            self.problem.constants.push(values[0]);
        } else {
            self.problem.factors.push(Factor { vars, values });
        }
    }
}
