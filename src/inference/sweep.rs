//! Running a compiled plan: forward for P(evidence), backward for every marginal at once (Darwiche 2003).

use super::kernels::{Collect, Scatter, SumBack, SumOut, apart, fold, link, multiplied, widened, widest};
use super::lane::Lane;
use super::plan::{Bucket, Operand, Plan, Step};
use super::product::{MultiplyBack, multiply};
use super::reduce::Problem;

/// Messages and adjoints whose largest entry is below this (or above its inverse) are brought back to about 1.
const SMALL: f64 = 1e-100;

/// The state of a plan's evaluation: the numbers it runs on, all tables, and their adjoints.
#[derive(Debug, Clone)]
pub(super) struct Sweep<L: Lane> {
    /// Own factor of each variable.
    pub unary: Vec<[L; 2]>,
    /// `(1 - weight, weight)` of each link.
    pub links: Vec<(f64, f64)>,
    pub values: Vec<L>,
    /// Of tables that are not kept, only as long as their bucket is at work.
    pub adjoints: Vec<L>,
    /// Room for the two sides of a product where they are spread.
    sides: [Vec<L>; 2],
    /// Room for their adjoints.
    side_adjoints: [Vec<L>; 2],
    /// What each bucket's message, then what its adjoint was multiplied by: powers of two.
    pub scales: Vec<[f64; 2]>,
    /// P(absent | evidence) and P(present | evidence), in variable order, for plain variables.
    pub marginals: Vec<[L; 2]>,
    /// See [`Sweep::total`]; not for gates.
    totals: Vec<L>,
    /// The last number of each component, after all scales.
    pub roots: Vec<L>,
}

impl<L: Lane> Drop for Sweep<L> {
    fn drop(&mut self) {
        L::recycle(std::mem::take(&mut self.values));
        L::recycle(std::mem::take(&mut self.adjoints));
    }
}

impl<L: Lane> Sweep<L> {
    pub(super) fn new(plan: &Plan, problem: &Problem) -> Self {
        let mut values = L::buffer(plan.values);
        for (factor, (table, sources)) in problem.factors.iter().zip(&plan.constants) {
            for (value, &source) in values[table.range()].iter_mut().zip(sources) {
                *value = L::splat(factor.values[source]);
            }
        }
        Self {
            unary: problem.unary.iter().map(|pair| pair.map(L::splat)).collect(),
            links: problem.links.iter().map(|link| (1.0 - link.weight, link.weight)).collect(),
            values,
            adjoints: Vec::new(),
            sides: [const { Vec::new() }; 2],
            side_adjoints: [const { Vec::new() }; 2],
            scales: vec![[1.0; 2]; plan.buckets.len()],
            marginals: vec![[L::ZERO; 2]; problem.kinds.len()],
            totals: vec![L::ZERO; plan.buckets.len()],
            roots: vec![L::ZERO; plan.components],
        }
    }

    /// Sums everything out. `keep` says which buckets to run; `fresh` chooses the scales anew.
    pub(super) fn forward(&mut self, plan: &Plan, fresh: bool, keep: impl Fn(usize) -> bool) {
        for (at, bucket) in plan.buckets.iter().enumerate().filter(|&(at, _)| keep(at)) {
            for step in &plan.steps[bucket.steps.clone()] {
                self.step(plan, step);
            }
            self.message(at, bucket, fresh);
            if bucket.next.is_none() {
                self.roots[bucket.component] = self.values[bucket.message.range().start];
            }
        }
    }

    fn message(&mut self, at: usize, bucket: &Bucket, fresh: bool) {
        if bucket.select {
            // It is the lower half of the table. The next sum brings it back to about 1, if need be.
            return;
        }
        let [message, table] = apart(&mut self.values, [bucket.message.range(), bucket.table.range()]);
        widest(SumOut { out: message, table, unary: self.unary[bucket.var] });
        if fresh {
            self.scales[at][0] = rescale(message);
        }
        scale(message, self.scales[at][0]);
    }

    /// `ln` of everything summed out, in one lane; minus infinity when the evidence cannot happen.
    pub(super) fn log(&self, plan: &Plan, lane: usize) -> f64 {
        let roots: f64 = self.roots.iter().map(|root| root.get(lane).ln()).sum();
        let scales: f64 = self.scales.iter().map(|s| -s[0].log2()).sum();
        let isolated = plan.isolated.iter().map(|&v| {
            let [zero, one] = self.unary[v];
            (zero + one).get(lane).ln()
        });
        roots + scales * std::f64::consts::LN_2 + isolated.sum::<f64>()
    }

    /// P(evidence of the component) times the scales at a bucket, as read there after both sweeps.
    pub(super) fn total(&self, plan: &Plan, at: usize) -> L {
        let Bucket { select, message, .. } = plan.buckets[at];
        if select {
            multiplied(&self.values[message.range()], &self.adjoints[message.adjoints()])
        } else {
            self.totals[at]
        }
    }

    fn step(&mut self, plan: &Plan, step: &Step) {
        match *step {
            Step::Multiply { out, a, b, ref places } => {
                // Products lie above both operands.
                let (read, write) = self.values.split_at_mut(out.range().start);
                let ([for_a, for_b], [most_a, most_b]) = (&mut self.sides, plan.sides);
                let a = widened(&read[a.table.range()], a.spread, (for_a, most_a));
                let b = widened(&read[b.table.range()], b.spread, (for_b, most_b));
                multiply(&mut write[..out.len], a, b, plan.shape(places), |a, b| a * b);
            }
            Step::Widen { out, from, ref pairs } => {
                let pairs = &plan.pairs[pairs.clone()];
                let (read, write) = self.values.split_at_mut(out.range().start);
                let write = &mut write[..out.len];
                if pairs.len() < out.len {
                    write.fill(L::ZERO);
                }
                if let Some(from) = from {
                    widest(Scatter { to: write, from: &read[from.range()], pairs });
                } else {
                    for &(o, _) in pairs {
                        write[o as usize] = L::splat(1.0);
                    }
                }
            }
            Step::Link { table, bit, cause_on_top, demand, link: at } => {
                link(&mut self.values[table.range()], (bit, cause_on_top), !demand, self.links[at]);
            }
        }
    }

    /// Finds the marginals of all plain variables after [`Sweep::forward`] with the same `fresh`. `keep` says which
    /// components to run.
    pub(super) fn backward(&mut self, plan: &Plan, fresh: bool, keep: impl Fn(usize) -> bool) {
        if self.adjoints.is_empty() {
            self.adjoints = L::buffer(plan.adjoints);
        }
        for (at, bucket) in plan.buckets.iter().enumerate().rev().filter(|(_, b)| keep(b.component)) {
            if bucket.next.is_none() {
                self.adjoints[bucket.message.adjoints()].fill(L::splat(1.0));
            }
            // Adjoints matter only up to a factor: every marginal is normalised where it is read.
            let message = &mut self.adjoints[bucket.message.adjoints()];
            if fresh {
                self.scales[at][1] = rescale(message);
            }
            scale(message, self.scales[at][1]);
            self.unmessage(at, bucket);
            for step in plan.steps[bucket.steps.clone()].iter().rev() {
                self.step_back(plan, step);
            }
        }
        for &var in &plan.isolated {
            let [zero, one] = self.unary[var];
            self.marginals[var] = [zero.over(zero + one), one.over(zero + one)];
        }
    }

    /// The adjoint of a bucket's message, and the marginal of its variable.
    fn unmessage(&mut self, at: usize, bucket: &Bucket) {
        let half = bucket.message.len;
        let values = &self.values[bucket.table.range()];
        let places = [bucket.table.adjoints(), bucket.message.adjoints()];
        let [table, message] = apart(&mut self.adjoints, places);
        if bucket.select {
            table[..half].copy_from_slice(message);
            table[half..].fill(L::ZERO);
            return;
        }
        let [absent, present] = widest(SumBack { values, table, message, unary: self.unary[bucket.var] });
        self.totals[at] = absent + present;
        self.marginals[bucket.var] = [absent.over(self.totals[at]), present.over(self.totals[at])];
    }

    fn step_back(&mut self, plan: &Plan, step: &Step) {
        match *step {
            Step::Multiply { out, a, b, ref places } => {
                let ways = [out.adjoints(), a.table.adjoints(), b.table.adjoints()];
                let [out, to_a, to_b] = apart(&mut self.adjoints, ways);
                let ([for_a, for_b], [most_a, most_b]) = (&mut self.sides, plan.sides);
                let values = [
                    widened(&self.values[a.table.range()], a.spread, (for_a, most_a)),
                    widened(&self.values[b.table.range()], b.spread, (for_b, most_b)),
                ];
                let [wide_a, wide_b] = &mut self.side_adjoints;
                let adjoints = [spread_room(a, to_a, wide_a, most_a), spread_room(b, to_b, wide_b, most_b)];
                widest(MultiplyBack { values, adjoints, out, shape: plan.shape(places) });
                fold_back(a, wide_a, to_a);
                fold_back(b, wide_b, to_b);
            }
            Step::Widen { out, from, ref pairs } => {
                let Some(from) = from else { return };
                let [to, from] = apart(&mut self.adjoints, [from.adjoints(), out.adjoints()]);
                widest(Collect { to, from, pairs: &plan.pairs[pairs.clone()] });
            }
            Step::Link { table, bit, cause_on_top, demand, link: at } => {
                link(&mut self.adjoints[table.adjoints()], (bit, cause_on_top), demand, self.links[at]);
            }
        }
    }
}

/// Where the adjoint of a side of a product goes: to that of its table, or to room for the spread one, which takes no more than `most`.
fn spread_room<'a, L: Lane>(
    side: Operand,
    table: &'a mut [L],
    room: &'a mut Vec<L>,
    most: usize,
) -> &'a mut [L] {
    let Some(spread) = side.spread else { return table };
    if room.len() < spread.len {
        *room = vec![L::ZERO; most];
    }
    &mut room[..spread.len]
}

/// Brings the adjoint of a spread side back to its table.
fn fold_back<L: Lane>(side: Operand, room: &mut [L], table: &mut [L]) {
    if let Some(spread) = side.spread {
        fold(&mut room[..spread.len], table, spread.marked, spread.vars);
    }
}

/// What to multiply numbers by so that the largest is about 1: a power of two, so that no digit changes, and
/// 1 as long as nothing is near the end of the range.
fn rescale<L: Lane>(values: &[L]) -> f64 {
    let most = values.iter().fold(L::ZERO, |most, &v| most.max(v)).get(0);
    if most > 0.0 && !(SMALL..1.0 / SMALL).contains(&most) {
        (-most.log2().floor().clamp(-1000.0, 1000.0)).exp2()
    } else {
        1.0
    }
}

#[allow(clippy::float_cmp)] // exactly 1 means that there is nothing to do
fn scale<L: Lane>(values: &mut [L], by: f64) {
    if by != 1.0 {
        let by = L::splat(by);
        for value in values {
            *value *= by;
        }
    }
}
