//! Walking the ways of derived targets over a finished sweep.

use super::kernels::{dot, link, spread};
use super::lane::Lane;
use super::plan::{Plan, Step, Table};
use super::product::{multiply, weigh};
use super::side::{Effect, Side, Way};
use super::sweep::Sweep;

/// Takes a cause into a table; its state is the bit worth `size`.
fn apply<L: Lane, S: Side<L>>(table: &mut [S], size: usize, effect: Effect) {
    for chunk in table.chunks_exact_mut(2 * size) {
        let (absent, present) = chunk.split_at_mut(size);
        if effect.on {
            for value in absent {
                *value = value.without(effect);
            }
        }
        for value in present {
            *value = value.with(effect);
        }
    }
}

/// Reusable memory for [`Runner::run`].
#[derive(Debug)]
pub(super) struct Runner<S> {
    tables: Vec<S>,
    /// Where a table that has changed lies in `tables`, by table id.
    changed: Vec<Option<usize>>,
    touched: Vec<u32>,
}

impl<S> Runner<S> {
    pub(super) fn new(plan: &Plan) -> Self {
        Self { tables: Vec::new(), changed: vec![None; plan.tables as usize], touched: Vec::new() }
    }
}

impl<S: Copy> Runner<S> {
    /// Space for a changed table; what was there before lies below it.
    fn space(&mut self, id: u32, len: usize, none: S) -> usize {
        let start = self.tables.len();
        self.tables.resize(start + len, none);
        if self.changed[id as usize].replace(start).is_none() {
            self.touched.push(id);
        }
        start
    }

    /// Walks `way` over the finished `sweep`: the shares at its end, times the scales of that bucket.
    pub(super) fn run<L: Lane>(&mut self, plan: &Plan, sweep: &Sweep<L>, way: &Way) -> S
    where
        S: Side<L>,
    {
        let mut result = S::NONE;
        let last = way.visits.len() - 1;
        for (i, &(at, effect)) in way.visits.iter().enumerate() {
            let bucket = &plan.buckets[at];
            for step in &plan.steps[bucket.steps.clone()] {
                self.step(plan, sweep, step);
            }
            let start = match self.changed[bucket.table.id as usize] {
                Some(start) => start,
                None => {
                    let start = self.space(bucket.table.id, bucket.table.len, S::NONE);
                    let base = &sweep.values[bucket.table.range()];
                    for (to, &from) in self.tables[start..].iter_mut().zip(base) {
                        *to = S::off(from);
                    }
                    start
                }
            };
            let half = bucket.table.len / 2;
            if let Some(effect) = effect {
                apply(&mut self.tables[start..start + 2 * half], half, effect);
            }
            if i == last {
                result = self.finish(plan, sweep, at, start, &way.rest);
                break;
            }
            let scale = L::splat(sweep.scales[at][0]);
            let [zero, one] = sweep.unary[bucket.var].map(|u| u * scale);
            let message = self.space(bucket.message.id, half, S::NONE);
            let (read, write) = self.tables.split_at_mut(message);
            let (low, high) = read[start..start + 2 * half].split_at(half);
            for ((out, &low), &high) in write.iter_mut().zip(low).zip(high) {
                *out = if bucket.select { low * scale } else { low * zero + high * one };
            }
        }
        self.clear();
        result
    }

    fn finish<L: Lane>(
        &mut self,
        plan: &Plan,
        sweep: &Sweep<L>,
        at: usize,
        start: usize,
        rest: &[(u32, Effect)],
    ) -> S
    where
        S: Side<L>,
    {
        let bucket = &plan.buckets[at];
        let half = bucket.table.len / 2;
        let table = &mut self.tables[start..start + 2 * half];
        for &(bit, effect) in rest {
            apply(table, 1 << bit, effect);
        }
        let [zero, one] = sweep.unary[bucket.var];
        let adjoints = &sweep.adjoints[bucket.message.range()];
        let (low, high) = table.split_at(half);
        let mut sum = S::NONE;
        for ((&low, &high), &adjoint) in low.iter().zip(high).zip(adjoints) {
            let message = if bucket.select { low } else { low * zero + high * one };
            sum += message * adjoint;
        }
        sum
    }

    /// As [`Runner::run`] for plain numbers, where the last product need not be written down.
    pub(super) fn run_numbers(&mut self, plan: &Plan, sweep: &Sweep<S>, way: &Way) -> S
    where
        S: Lane,
    {
        let last = way.visits.len() - 1;
        for &(at, effect) in &way.visits[..last] {
            let bucket = &plan.buckets[at];
            for step in &plan.steps[bucket.steps.clone()] {
                self.step(plan, sweep, step);
            }
            let (of_zero, of_one) = effect.map_or((S::splat(1.0), S::splat(1.0)), Effect::factors);
            let scale = S::splat(sweep.scales[at][0]);
            let [zero, one] = sweep.unary[bucket.var];
            let (zero, one) = (zero * scale * of_zero, one * scale * of_one);
            let half = bucket.message.len;
            let changed = self.changed[bucket.table.id as usize];
            let message = self.space(bucket.message.id, half, S::ZERO);
            let (read, write) = self.tables.split_at_mut(message);
            let table = match changed {
                Some(start) => &read[start..start + 2 * half],
                None => &sweep.values[bucket.table.range()],
            };
            let (low, high) = table.split_at(half);
            for ((out, &low), &high) in write.iter_mut().zip(low).zip(high) {
                *out = if bucket.select { low * scale } else { low * zero + high * one };
            }
        }
        let result = self.last(plan, sweep, way);
        self.clear();
        result
    }

    /// What a way ends with: its last table times the effects of the causes in it times its adjoint, summed.
    fn last(&mut self, plan: &Plan, sweep: &Sweep<S>, way: &Way) -> S
    where
        S: Lane,
    {
        let &(at, effect) = way.visits.last().expect("a way has an end");
        let bucket = &plan.buckets[at];
        let steps = &plan.steps[bucket.steps.clone()];
        let forms = |step: &Step| matches!(step, Step::Multiply { .. } | Step::Widen { .. });
        let forming = steps.iter().rposition(forms).expect("a bucket's table is made");
        for step in &steps[..forming] {
            self.step(plan, sweep, step);
        }
        let top = bucket.table.len / 2;
        let effects = effect.map(|effect| (top, effect)).into_iter();
        let effects = effects.chain(way.rest.iter().map(|&(bit, effect)| (1 << bit, effect)));
        // The adjoint of the table as it was made, before links; the causes' effects commute with those.
        let weights = self.tables.len();
        self.tables.extend_from_slice(&sweep.adjoints[bucket.table.range()]);
        for (size, effect) in effects.clone() {
            apply(&mut self.tables[weights..], size, effect);
        }
        let (tables, weights) = self.tables.split_at(weights);
        let table = |table: Table| match self.changed[table.id as usize] {
            Some(start) => (&tables[start..start + table.len], true),
            None => (&sweep.values[table.range()], false),
        };
        match steps[forming] {
            Step::Multiply { a, b, ref triples, block, .. } => {
                let ((a, a_changed), (b, b_changed)) = (table(a), table(b));
                if a_changed || b_changed {
                    return weigh(weights, a, b, plan.shape(triples, block));
                }
            }
            Step::Widen { from: Some(from), ref pairs, .. } => {
                if let (from, true) = table(from) {
                    let mut sum = S::ZERO;
                    for &(o, i) in &plan.pairs[pairs.clone()] {
                        sum += from[i as usize] * weights[o as usize];
                    }
                    return sum;
                }
            }
            _ => {}
        }
        // Nothing on the way has changed this bucket: its finished table is at hand, with the adjoint of its message.
        let start = self.tables.len();
        self.tables.extend_from_slice(&sweep.values[bucket.table.range()]);
        for (size, effect) in effects {
            apply(&mut self.tables[start..], size, effect);
        }
        let (low, high) = self.tables[start..].split_at(top);
        let message = &sweep.adjoints[bucket.message.range()];
        if bucket.select {
            return dot(low, message);
        }
        let [zero, one] = sweep.unary[bucket.var];
        zero * dot(low, message) + one * dot(high, message)
    }

    fn clear(&mut self) {
        self.tables.clear();
        for id in self.touched.drain(..) {
            self.changed[id as usize] = None;
        }
    }

    /// One step of a bucket on the way, if any table it reads has changed.
    fn step<L: Lane>(&mut self, plan: &Plan, sweep: &Sweep<L>, step: &Step)
    where
        S: Side<L>,
    {
        let place = |runner: &Self, id: u32| runner.changed[id as usize];
        match *step {
            Step::Spread { from, to, spread: marked, vars } => {
                let Some(source) = place(self, from.id) else { return };
                let out = self.space(to.id, to.len, S::NONE);
                let (read, write) = self.tables.split_at_mut(out);
                spread(&read[source..source + from.len], write, marked, vars);
            }
            Step::Multiply { out, a, b, ref triples, block } => {
                let (in_a, in_b) = (place(self, a.id), place(self, b.id));
                if in_a.is_none() && in_b.is_none() {
                    return;
                }
                let start = self.space(out.id, out.len, S::NONE);
                let (read, write) = self.tables.split_at_mut(start);
                let shape = plan.shape(triples, block);
                let (base_a, base_b) = (&sweep.values[a.range()], &sweep.values[b.range()]);
                match (in_a, in_b) {
                    (Some(i), Some(j)) => {
                        multiply(write, &read[i..i + a.len], &read[j..j + b.len], shape, S::or);
                    }
                    (Some(i), None) => multiply(write, &read[i..i + a.len], base_b, shape, |a, b| a * b),
                    (None, Some(j)) => multiply(write, base_a, &read[j..j + b.len], shape, |a, b| b * a),
                    (None, None) => {}
                }
            }
            Step::Widen { out, from, ref pairs } => {
                let Some(from) = from else { return };
                let Some(source) = place(self, from.id) else { return };
                let start = self.space(out.id, out.len, S::NONE);
                let (read, write) = self.tables.split_at_mut(start);
                for &(o, i) in &plan.pairs[pairs.clone()] {
                    write[o as usize] = read[source + i as usize];
                }
            }
            Step::Link { table, bit, cause_on_top, demand, link: at } => {
                let Some(start) = place(self, table.id) else { return };
                let table = &mut self.tables[start..start + table.len];
                link(table, (bit, cause_on_top), !demand, sweep.links[at]);
            }
        }
    }
}
