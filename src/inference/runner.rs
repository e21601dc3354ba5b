//! Walking the ways of derived targets over a finished sweep.

use super::kernels::{Scatter, SumOut, link, multiplied, widened, widest};
use super::lane::{Lane, Wide};
use super::plan::{Operand, Plan, Step};
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
    tables: Vec<S>,
    /// How much of it is taken.
    taken: usize,
    /// Where a table that has changed lies in `tables`, by table id.
    changed: Vec<Option<usize>>,
    touched: Vec<u32>,
    /// Room for the two sides of a product where they are spread: changed ones, and those of the sweep.
    sides: [Vec<S>; 2],
    unchanged_sides: [Vec<L>; 2],
}

impl<S: Side<L>, L: Lane> Drop for Runner<S, L> {
    fn drop(&mut self) {
        S::recycle(std::mem::take(&mut self.tables));
    }
}

impl<S: Side<L>, L: Lane> Runner<S, L> {
    pub(super) fn new(plan: &Plan) -> Self {
        Self {
            tables: S::room(),
            taken: 0,
            changed: vec![None; plan.tables as usize],
            touched: Vec::new(),
            sides: [const { Vec::new() }; 2],
            unchanged_sides: [const { Vec::new() }; 2],
        }
    }

    /// Space for a changed table, whatever it holds; what was there before lies below it.
    fn space(&mut self, id: u32, len: usize) -> usize {
        let start = self.taken;
        self.taken += len;
        if self.tables.len() < self.taken {
            self.tables.resize(self.taken.max(2 * start), S::NONE);
        }
        self.note(id, start);
        start
    }

    fn note(&mut self, id: u32, start: usize) {
        if self.changed[id as usize].replace(start).is_none() {
            self.touched.push(id);
        }
    }

    /// Makes the message of a bucket from its table, which lies at `start`.
    fn message(&mut self, plan: &Plan, sweep: &Sweep<L>, at: usize, start: usize) {
        let bucket = &plan.buckets[at];
        if bucket.select {
            self.note(bucket.message.id, start);
            return;
        }
        let scale = L::splat(sweep.scales[at][0]);
        let unary = sweep.unary[bucket.var].map(|u| u * scale);
        let message = self.space(bucket.message.id, bucket.message.len);
        let (read, write) = self.tables.split_at_mut(message);
        let (out, table) = (&mut write[..bucket.message.len], &read[start..start + bucket.table.len]);
        widest(SumOut { out, table, unary });
    }

    /// Makes the table of a bucket from what has changed; gives its place.
    fn table(&mut self, plan: &Plan, sweep: &Sweep<L>, at: usize) -> usize {
        let bucket = &plan.buckets[at];
        for step in &plan.steps[bucket.steps.clone()] {
            self.step(plan, sweep, step);
        }
        self.changed[bucket.table.id as usize].unwrap_or_else(|| {
            let start = self.space(bucket.table.id, bucket.table.len);
            let unchanged = &sweep.values[bucket.table.range()];
            for (to, &from) in self.tables[start..start + bucket.table.len].iter_mut().zip(unchanged) {
                *to = S::off(from);
            }
            start
        })
    }

    fn clear(&mut self) {
        self.taken = 0;
        for id in self.touched.drain(..) {
            self.changed[id as usize] = None;
        }
    }

    /// One step of a bucket on the way, if any table it reads has changed.
    fn step(&mut self, plan: &Plan, sweep: &Sweep<L>, step: &Step) {
        let place = |runner: &Self, id: u32| runner.changed[id as usize];
        match *step {
            Step::Multiply { out, a, b, ref places } => {
                let (in_a, in_b) = (place(self, a.table.id), place(self, b.table.id));
                if in_a.is_none() && in_b.is_none() {
                    return;
                }
                let start = self.space(out.id, out.len);
                let (read, write) = self.tables.split_at_mut(start);
                let (read, write) = (&*read, &mut write[..out.len]);
                let shape = plan.shape(places);
                let [for_a, for_b] = &mut self.sides;
                let [old_a, old_b] = &mut self.unchanged_sides;
                let is_a = in_a.map(move |i| widened(&read[i..i + a.table.len], a.spread, for_a));
                let is_b = in_b.map(move |j| widened(&read[j..j + b.table.len], b.spread, for_b));
                let was = |side: Operand| &sweep.values[side.table.range()];
                match (is_a, is_b) {
                    (Some(a), Some(b)) => multiply(write, a, b, shape, S::or),
                    (Some(is), None) => {
                        multiply(write, is, widened(was(b), b.spread, old_b), shape, |a, b| a * b);
                    }
                    (None, Some(is)) => {
                        multiply(write, widened(was(a), a.spread, old_a), is, shape, |a, b| b * a);
                    }
                    (None, None) => {}
                }
            }
            Step::Widen { out, from, ref pairs } => {
                let Some(from) = from else { return };
                let Some(source) = place(self, from.id) else { return };
                let start = self.space(out.id, out.len);
                let (read, write) = self.tables.split_at_mut(start);
                let (to, from) = (&mut write[..out.len], &read[source..source + from.len]);
                to.fill(S::NONE);
                widest(Scatter { to, from, pairs: &plan.pairs[pairs.clone()] });
            }
            Step::Link { table, bit, cause_on_top, demand, link: at } => {
                let Some(start) = place(self, table.id) else { return };
                let table = &mut self.tables[start..start + table.len];
                link(table, (bit, cause_on_top), !demand, sweep.links[at]);
            }
        }
    }

    /// What a bucket's table, which lies at `start`, comes to with everything beyond the bucket as it was.
    fn finish(&self, plan: &Plan, sweep: &Sweep<L>, at: usize, start: usize) -> S {
        let bucket = &plan.buckets[at];
        let (low, high) = self.tables[start..start + bucket.table.len].split_at(bucket.message.len);
        let message = &sweep.adjoints[bucket.message.adjoints()];
        if bucket.select {
            return multiplied(low, message);
        }
        let [zero, one] = sweep.unary[bucket.var];
        multiplied(low, message) * zero + multiplied(high, message) * one
    }
}

impl<S: Story<L>, L: Lane> Runner<S, L> {
    /// Walks `way` over the finished `sweep`: the shares at its end, times the scales of that bucket.
    pub(super) fn run(&mut self, plan: &Plan, sweep: &Sweep<L>, way: &Way) -> S {
        let mut result = S::NONE;
        for &(at, effect) in &way.visits {
            let bucket = &plan.buckets[at];
            let start = self.table(plan, sweep, at);
            let table = &mut self.tables[start..start + bucket.table.len];
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
            let table = &mut self.tables[start..start + bucket.table.len];
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
