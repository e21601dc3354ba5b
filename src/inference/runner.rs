//! Walking the ways of derived targets over a finished sweep.

use super::kernels::{Scatter, SumOut, link, multiplied, widened, widest};
use super::lane::{Lane, Wide};
use super::plan::{Operand, Plan, Step, Table};
use super::product::multiply;
use super::side::{Effect, Side, Story, Way};
use super::sweep::Sweep;

/// Takes a cause into a table; its state is the bit worth `size`.
fn apply<L: Lane, S: Story<L>>(table: &mut [S], size: usize, effect: Effect) {
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

/// Reusable memory for walks with tables of `S` over a sweep of `L`.
#[derive(Debug)]
pub(super) struct Runner<S: Side<L>, L: Lane> {
    /// Changed messages, and changed tables of the bucket at hand: those of the next take their place, so that they stay in the
    /// cache.
    messages: Arena<S>,
    local: Arena<S>,
    /// Where a table that has changed lies in one or the other, by table id.
    changed: Vec<Option<usize>>,
    touched: Vec<u32>,
    /// Room for the two sides of a product where they are spread: changed ones, and those of the sweep.
    sides: [Vec<S>; 2],
    unchanged_sides: [Vec<L>; 2],
}

/// Entries of messages on a way that there is room for at first.
const MESSAGES: usize = 4096;

/// Memory that only grows.
#[derive(Debug)]
struct Arena<S> {
    values: Vec<S>,
    taken: usize,
}

impl<S> Arena<S> {
    const EMPTY: Self = Self { values: Vec::new(), taken: 0 };

    /// Space for so many values, whatever they are; what was there before lies below it. The first time there is room for
    /// as many as expected.
    fn space<L>(&mut self, len: usize, expected: usize) -> usize
    where
        S: Side<L>,
    {
        let start = self.taken;
        self.taken += len;
        if self.values.is_empty() {
            self.values = S::room(expected);
        }
        if self.values.len() < self.taken {
            self.values.resize(self.taken.max(start + start / 2), S::NONE);
        }
        start
    }
}

impl<S: Side<L>, L: Lane> Drop for Runner<S, L> {
    fn drop(&mut self) {
        S::recycle(std::mem::take(&mut self.messages.values));
        S::recycle(std::mem::take(&mut self.local.values));
    }
}

impl<S: Side<L>, L: Lane> Runner<S, L> {
    pub(super) fn new(plan: &Plan) -> Self {
        Self {
            messages: Arena::EMPTY,
            local: Arena::EMPTY,
            changed: vec![None; plan.tables as usize],
            touched: Vec::new(),
            sides: [const { Vec::new() }; 2],
            unchanged_sides: [const { Vec::new() }; 2],
        }
    }

    /// Space for a changed table of the bucket at hand.
    fn space(&mut self, plan: &Plan, table: Table) -> usize {
        let start = self.local.space(table.len, plan.room);
        self.note(table.id, start);
        start
    }

    fn note(&mut self, id: u32, start: usize) {
        if self.changed[id as usize].replace(start).is_none() {
            self.touched.push(id);
        }
    }

    /// Makes the message of a bucket from its table, which lies at `start`; the bucket's own tables are given up.
    fn message(&mut self, plan: &Plan, sweep: &Sweep<L>, at: usize, start: usize) {
        let bucket = &plan.buckets[at];
        let len = bucket.message.len;
        let to = self.messages.space(len, MESSAGES);
        self.note(bucket.message.id, to);
        let out = &mut self.messages.values[to..to + len];
        let table = &self.local.values[start..start + bucket.table.len];
        if bucket.select {
            out.copy_from_slice(&table[..len]);
        } else {
            let scale = L::splat(sweep.scales[at][0]);
            let unary = sweep.unary[bucket.var].map(|u| u * scale);
            widest(SumOut { out, table, unary });
        }
        self.local.taken = 0;
    }

    /// Makes the table of a bucket from what has changed; gives its place.
    fn table(&mut self, plan: &Plan, sweep: &Sweep<L>, at: usize) -> usize {
        let bucket = &plan.buckets[at];
        for step in &plan.steps[bucket.steps.clone()] {
            self.step(plan, sweep, step);
        }
        self.changed[bucket.table.id as usize].unwrap_or_else(|| {
            let start = self.space(plan, bucket.table);
            let unchanged = &sweep.values[bucket.table.range()];
            for (to, &from) in self.local.values[start..start + bucket.table.len].iter_mut().zip(unchanged) {
                *to = S::off(from);
            }
            start
        })
    }

    fn clear(&mut self) {
        self.messages.taken = 0;
        self.local.taken = 0;
        for id in self.touched.drain(..) {
            self.changed[id as usize] = None;
        }
    }

    /// One step of a bucket on the way, if any table it reads has changed.
    fn step(&mut self, plan: &Plan, sweep: &Sweep<L>, step: &Step) {
        let place = |runner: &Self, table: Table| runner.changed[table.id as usize];
        match *step {
            Step::Multiply { out, a, b, ref places } => {
                let (in_a, in_b) = (place(self, a.table), place(self, b.table));
                if in_a.is_none() && in_b.is_none() {
                    return;
                }
                let start = self.space(plan, out);
                let (local, write) = self.local.values.split_at_mut(start);
                let (local, messages, write) = (&*local, &*self.messages.values, &mut write[..out.len]);
                let shape = plan.shape(places);
                let ([for_a, for_b], [most_a, most_b]) = (&mut self.sides, plan.sides);
                let [old_a, old_b] = &mut self.unchanged_sides;
                let is = |side: Operand, at: usize| of(side.table, local, messages, at);
                let is_a = in_a.map(move |at| widened(is(a, at), a.spread, (for_a, most_a)));
                let is_b = in_b.map(move |at| widened(is(b, at), b.spread, (for_b, most_b)));
                let was = |side: Operand| &sweep.values[side.table.range()];
                match (is_a, is_b) {
                    (Some(a), Some(b)) => multiply(write, a, b, shape, S::or),
                    (Some(is), None) => {
                        multiply(write, is, widened(was(b), b.spread, (old_b, most_b)), shape, |a, b| a * b);
                    }
                    (None, Some(is)) => {
                        multiply(write, widened(was(a), a.spread, (old_a, most_a)), is, shape, |a, b| b * a);
                    }
                    (None, None) => {}
                }
            }
            Step::Widen { out, from, ref pairs } => {
                let Some(from) = from else { return };
                let Some(source) = place(self, from) else { return };
                let start = self.space(plan, out);
                let (local, write) = self.local.values.split_at_mut(start);
                let to = &mut write[..out.len];
                let from = of(from, local, &self.messages.values, source);
                to.fill(S::NONE);
                widest(Scatter { to, from, pairs: &plan.pairs[pairs.clone()] });
            }
            Step::Link { table, bit, cause_on_top, demand, link: at } => {
                let Some(start) = place(self, table) else { return };
                let table = &mut self.local.values[start..start + table.len];
                link(table, (bit, cause_on_top), !demand, sweep.links[at]);
            }
        }
    }

    /// What a bucket's table, which lies at `start`, comes to with everything beyond the bucket as it was.
    fn finish(&self, plan: &Plan, sweep: &Sweep<L>, at: usize, start: usize) -> S {
        let bucket = &plan.buckets[at];
        let (low, high) = self.local.values[start..start + bucket.table.len].split_at(bucket.message.len);
        let message = &sweep.adjoints[bucket.message.adjoints()];
        if bucket.select {
            return multiplied(low, message);
        }
        let [zero, one] = sweep.unary[bucket.var];
        multiplied(low, message) * zero + multiplied(high, message) * one
    }
}

/// A changed table: one that outlives its bucket is a message.
fn of<'a, S>(table: Table, local: &'a [S], messages: &'a [S], start: usize) -> &'a [S] {
    let from = if table.kept { messages } else { local };
    &from[start..start + table.len]
}

impl<S: Story<L>, L: Lane> Runner<S, L> {
    /// Walks `way` over the finished `sweep`: the shares at its end, times the scales of that bucket.
    pub(super) fn run(&mut self, plan: &Plan, sweep: &Sweep<L>, way: &Way) -> S {
        let mut result = S::NONE;
        for &(at, effect) in &way.visits {
            let bucket = &plan.buckets[at];
            let start = self.table(plan, sweep, at);
            let table = &mut self.local.values[start..start + bucket.table.len];
            if let Some(effect) = effect {
                apply(table, bucket.message.len, effect);
            }
            if at == way.end() {
                for &(bit, effect) in &way.rest {
                    apply(table, 1 << bit, effect);
                }
                result = self.finish(plan, sweep, at, start);
            } else {
                self.message(plan, sweep, at, start);
            }
        }
        self.clear();
        result
    }
}

/// Takes a cause that is not on into a table of several ways; its state is the bit worth `size`.
fn apply_to_lane(table: &mut [Wide], size: usize, lane: usize, effect: Effect) {
    // The other lanes are multiplied by one.
    let mut by = Wide::splat(1.0);
    by.set(lane, 1.0 - effect.weight);
    for chunk in table.chunks_exact_mut(2 * size) {
        chunk[size..].iter_mut().for_each(|value| *value *= by);
    }
}

impl Runner<Wide, f64> {
    /// Walks several ways at once, a lane each, none of them with an effect that is on; each result is its own way's as of
    /// [`Runner::run`]. Ways that share buckets share the work.
    ///
    /// # Panics
    ///
    /// If there are more ways than lanes.
    pub(super) fn run_together(&mut self, plan: &Plan, sweep: &Sweep<f64>, ways: &[&Way]) -> Wide {
        assert!(ways.len() <= Wide::COUNT, "more ways than lanes");
        let each = ways.iter().enumerate();
        let mut visits: Vec<(usize, usize, Option<Effect>)> = each
            .flat_map(|(lane, way)| way.visits.iter().map(move |&(at, effect)| (at, lane, effect)))
            .collect();
        visits.sort_unstable_by_key(|&(at, lane, _)| (at, lane));
        let mut result = Wide::ZERO;
        for here in visits.chunk_by(|a, b| a.0 == b.0) {
            let at = here[0].0;
            let bucket = &plan.buckets[at];
            let start = self.table(plan, sweep, at);
            let table = &mut self.local.values[start..start + bucket.table.len];
            let (mut ending, mut going_on) = (Vec::new(), false);
            for &(_, lane, effect) in here {
                if let Some(effect) = effect {
                    apply_to_lane(table, bucket.message.len, lane, effect);
                }
                if ways[lane].end() == at {
                    ending.push(lane);
                    for &(bit, effect) in &ways[lane].rest {
                        apply_to_lane(table, 1 << bit, lane, effect);
                    }
                } else {
                    going_on = true;
                }
            }
            if !ending.is_empty() {
                let found = self.finish(plan, sweep, at, start);
                for lane in ending {
                    result.set(lane, found.get(lane));
                }
            }
            if going_on {
                self.message(plan, sweep, at, start);
            }
        }
        self.clear();
        result
    }
}
