//! Running a compiled plan: forward for P(evidence), backward for every marginal at once (Darwiche 2003).

use super::lane::Lane;
use super::plan::{Plan, Step};
use super::reduce::{Kind, Problem};

/// The numbers a plan runs on.
pub(super) struct Numbers<L> {
    pub unary: Vec<[L; 2]>,
    /// `(1 - weight, weight)` of each link.
    pub links: Vec<(f64, f64)>,
}

impl<L: Lane> Numbers<L> {
    pub(super) fn of(problem: &Problem) -> Self {
        let unary = problem.unary.iter().map(|pair| pair.map(L::splat)).collect();
        let links = problem.links.iter().map(|link| (1.0 - link.weight, link.weight)).collect();
        Self { unary, links }
    }
}

/// What the sweeps found.
pub(super) struct Swept<L> {
    /// `ln` of the product of everything summed out, without the problem's constants; minus infinity in a lane
    /// whose evidence cannot happen.
    pub log: Vec<f64>,
    /// P(variable = 1 | evidence) for variables that are not folded gates, in variable order.
    pub marginals: Vec<L>,
}

/// Messages whose largest entry is below this are scaled up.
const SMALL: f64 = 1e-100;

struct Sweep<'a, L> {
    plan: &'a Plan,
    numbers: &'a Numbers<L>,
    values: Vec<L>,
    adjoints: Vec<L>,
    log: Vec<f64>,
}

/// Evaluates `plan`. Marginals only when `backward` asks for them.
pub(super) fn sweep<L: Lane>(
    plan: &Plan,
    problem: &Problem,
    numbers: &Numbers<L>,
    backward: bool,
) -> Swept<L> {
    let mut sweep = Sweep {
        plan,
        numbers,
        values: vec![L::splat(0.0); plan.arena],
        adjoints: Vec::new(),
        log: vec![0.0; L::WIDTH],
    };
    for (factor, (offset, sources)) in problem.factors.iter().zip(&plan.constants) {
        for (i, &source) in sources.iter().enumerate() {
            sweep.values[offset + i] = L::splat(factor.values[source]);
        }
    }
    sweep.forward();
    let marginals = if backward { sweep.backward(problem.kinds.len()) } else { Vec::new() };
    Swept { log: sweep.log, marginals }
}

/// Two parts of one arena, `write` and `read`, that do not overlap; `read` may lie on either side.
fn two<L>(arena: &mut [L], write: (usize, usize), read: (usize, usize)) -> (&mut [L], &[L]) {
    if write.0 < read.0 {
        let (low, high) = arena.split_at_mut(read.0);
        (&mut low[write.0..write.0 + write.1], &high[..read.1])
    } else {
        let (low, high) = arena.split_at_mut(write.0);
        (&mut high[..write.1], &low[read.0..read.0 + read.1])
    }
}

impl<L: Lane> Sweep<'_, L> {
    fn forward(&mut self) {
        let plan = self.plan;
        for bucket in &plan.buckets {
            for step in &bucket.steps {
                self.step(step);
            }
            let len = bucket.len;
            let (message, table) = two(&mut self.values, (bucket.message, len), (bucket.table, 2 * len));
            let mut most = L::splat(0.0);
            for (i, out) in message.iter_mut().enumerate() {
                *out = table[i];
                if bucket.kind != Kind::Gate {
                    *out += table[len + i];
                }
                most = most.max(*out);
            }
            let scale = self.rescale(most);
            if let Some(scale) = scale {
                for out in &mut self.values[bucket.message..bucket.message + len] {
                    *out *= scale;
                }
            }
            if bucket.next.is_none() {
                for lane in 0..L::WIDTH {
                    self.log[lane] += self.values[bucket.message].get(lane).ln();
                }
            }
        }
    }

    /// What to multiply a message by when its largest entries have become small; takes note of it.
    fn rescale(&mut self, most: L) -> Option<L> {
        let mut scale = None;
        for lane in 0..L::WIDTH {
            let most = most.get(lane);
            if most < SMALL && most > 0.0 {
                // A power of two, so that no digit changes.
                let power = most.log2().floor().max(-1000.0);
                scale.get_or_insert(L::splat(1.0)).set(lane, (-power).exp2());
                self.log[lane] += power * std::f64::consts::LN_2;
            }
        }
        scale
    }

    fn step(&mut self, step: &Step) {
        match *step {
            Step::Spread { from, to, from_len, ref bits } => {
                let (out, source) = two(&mut self.values, (to, spread_len(bits)), (from, from_len));
                spread(source, out, bits);
            }
            Step::Multiply { out, out_len, a, b, ref triples, run, strides } => {
                // Products read two tables and write a third that was made after both.
                let (read, write) = self.values.split_at_mut(out);
                let write = &mut write[..out_len];
                for &(o, i, j) in triples {
                    let out = &mut write[o as usize..o as usize + run];
                    let (i, j) = (a + i as usize, b + j as usize);
                    for (k, out) in out.iter_mut().enumerate() {
                        *out += read[i + k * strides.0] * read[j + k * strides.1];
                    }
                }
            }
            Step::Widen { out, out_len, from, ref pairs } => match from {
                Some(from) => {
                    let (read, write) = self.values.split_at_mut(out);
                    let write = &mut write[..out_len];
                    for &(o, i) in pairs {
                        write[o as usize] = read[from + i as usize];
                    }
                }
                None => {
                    for &(o, _) in pairs {
                        self.values[out + o as usize] = L::splat(1.0);
                    }
                }
            },
            Step::Link { table, len, cause_bit, gate_bit, demand, link } => {
                let (stay, move_) = self.numbers.links[link];
                let (stay, move_) = (L::splat(stay), L::splat(move_));
                let gate = 1_usize << gate_bit;
                each_link(&mut self.values[table..table + len], cause_bit, gate_bit, |t, i| {
                    if demand {
                        t[i] = stay * t[i] + move_ * t[i + gate];
                    } else {
                        t[i + gate] += move_ * t[i];
                        t[i] *= stay;
                    }
                });
            }
            Step::Unary { table, len, var } => {
                let [zero, one] = self.numbers.unary[var];
                let (low, high) = self.values[table..table + len].split_at_mut(len / 2);
                low.iter_mut().for_each(|t| *t *= zero);
                high.iter_mut().for_each(|t| *t *= one);
            }
        }
    }

    fn backward(&mut self, variables: usize) -> Vec<L> {
        let plan = self.plan;
        self.adjoints = vec![L::splat(0.0); plan.arena];
        let mut marginals = vec![L::splat(0.0); variables];
        for bucket in plan.buckets.iter().rev() {
            let len = bucket.len;
            if bucket.next.is_none() {
                self.adjoints[bucket.message] = L::splat(1.0);
            }
            let (table, message) = two(&mut self.adjoints, (bucket.table, 2 * len), (bucket.message, len));
            let mut most = L::splat(0.0);
            for &m in message {
                most = most.max(m);
            }
            // Adjoints matter only up to a factor: every marginal is normalised where it is read.
            let mut scale = L::splat(1.0);
            for lane in 0..L::WIDTH {
                let most = most.get(lane);
                if most > 0.0 && !(SMALL..1.0 / SMALL).contains(&most) {
                    scale.set(lane, (-most.log2().floor().clamp(-1000.0, 1000.0)).exp2());
                }
            }
            for i in 0..len {
                table[i] = message[i] * scale;
                if bucket.kind != Kind::Gate {
                    table[len + i] = table[i];
                }
            }
            if bucket.kind != Kind::Gate {
                let values = &self.values[bucket.table..bucket.table + 2 * len];
                let (mut zero, mut one) = (L::splat(0.0), L::splat(0.0));
                for i in 0..len {
                    zero += values[i] * table[i];
                    one += values[len + i] * table[i];
                }
                for lane in 0..L::WIDTH {
                    let (zero, one) = (zero.get(lane), one.get(lane));
                    marginals[bucket.var].set(lane, one / (zero + one));
                }
            }
            for step in bucket.steps.iter().rev() {
                self.step_back(step);
            }
        }
        marginals
    }

    fn step_back(&mut self, step: &Step) {
        match *step {
            Step::Spread { from, to, from_len, ref bits } => {
                let (out, source) = two(&mut self.adjoints, (from, from_len), (to, spread_len(bits)));
                fold(source, out, bits);
            }
            Step::Multiply { out, out_len, a, b, ref triples, run, strides } => {
                let (read, write) = self.adjoints.split_at_mut(out);
                let write = &write[..out_len];
                let values = &self.values;
                for &(o, i, j) in triples {
                    let (i, j) = (a + i as usize, b + j as usize);
                    for (k, &out) in write[o as usize..o as usize + run].iter().enumerate() {
                        let (i, j) = (i + k * strides.0, j + k * strides.1);
                        read[i] += values[j] * out;
                        read[j] += values[i] * out;
                    }
                }
            }
            Step::Widen { out, from, ref pairs, .. } => {
                if let Some(from) = from {
                    for &(o, i) in pairs {
                        let adjoint = self.adjoints[out + o as usize];
                        self.adjoints[from + i as usize] += adjoint;
                    }
                }
            }
            Step::Link { table, len, cause_bit, gate_bit, demand, link } => {
                let (stay, move_) = self.numbers.links[link];
                let (stay, move_) = (L::splat(stay), L::splat(move_));
                let gate = 1_usize << gate_bit;
                each_link(&mut self.adjoints[table..table + len], cause_bit, gate_bit, |t, i| {
                    if demand {
                        t[i + gate] += move_ * t[i];
                        t[i] *= stay;
                    } else {
                        t[i] = stay * t[i] + move_ * t[i + gate];
                    }
                });
            }
            Step::Unary { table, len, var } => {
                let [zero, one] = self.numbers.unary[var];
                let (low, high) = self.adjoints[table..table + len].split_at_mut(len / 2);
                low.iter_mut().for_each(|t| *t *= zero);
                high.iter_mut().for_each(|t| *t *= one);
            }
        }
    }
}

/// Calls `act` with every index whose cause bit is set and whose gate bit is not.
fn each_link<L>(table: &mut [L], cause_bit: u32, gate_bit: u32, mut act: impl FnMut(&mut [L], usize)) {
    let (cause, gate) = (1_usize << cause_bit, 1_usize << gate_bit);
    let (small, large) = (cause.min(gate), cause.max(gate));
    let offset = cause;
    for high in (0..table.len()).step_by(2 * large) {
        for middle in (high..high + large).step_by(2 * small) {
            for low in middle..middle + small {
                act(table, low + offset);
            }
        }
    }
}

fn spread_len(bits: &[bool]) -> usize {
    bits.iter().map(|&spread| if spread { 3 } else { 2 }).product()
}

/// Copies `from` to `to`, giving each marked variable a third digit, the sum of the other two.
fn spread<L: Lane>(from: &[L], to: &mut [L], bits: &[bool]) {
    let Some((&top, rest)) = bits.split_last() else {
        to[0] = from[0];
        return;
    };
    let (half, part) = (from.len() / 2, spread_len(rest));
    spread(&from[..half], &mut to[..part], rest);
    spread(&from[half..], &mut to[part..2 * part], rest);
    if top {
        for i in 0..part {
            to[2 * part + i] = to[i] + to[part + i];
        }
    }
}

/// The adjoint of [`spread`]: adds to `to` what `from` holds.
fn fold<L: Lane>(from: &[L], to: &mut [L], bits: &[bool]) {
    let part = from.len() / if bits.last().copied().unwrap_or(false) { 3 } else { 2 };
    let Some((&top, rest)) = bits.split_last() else {
        to[0] += from[0];
        return;
    };
    let half = to.len() / 2;
    if top {
        let sum = |digit: usize| -> Vec<L> {
            (0..part).map(|i| from[digit * part + i] + from[2 * part + i]).collect()
        };
        fold(&sum(0), &mut to[..half], rest);
        fold(&sum(1), &mut to[half..], rest);
    } else {
        fold(&from[..part], &mut to[..half], rest);
        fold(&from[part..], &mut to[half..], rest);
    }
}
