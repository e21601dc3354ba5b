//! The inner loops of the sweeps, and their adjoints.

use std::ops::{Add, AddAssign, Mul, Range};

use pulp::{Arch, Simd, WithSimd};

use super::lane::Lane;
use super::plan::Spread;

/// What a table may hold: something that adds, and that a lane's number scales.
pub(super) trait Value<L>: Copy + Add<Output = Self> + AddAssign + Mul<L, Output = Self> {}

impl<L, T: Copy + Add<Output = T> + AddAssign + Mul<L, Output = T>> Value<L> for T {}

/// A loop that runs compiled for the widest vector instructions of this machine: the same sums and products in the same
/// order, so the same result to the last bit. Everything it calls has to be inlined into it.
pub(super) trait Kernel {
    /// What it finds.
    type Output;
    /// The loop; implementations are to be `#[inline(always)]`.
    fn run(self) -> Self::Output;
}

struct Widest<K>(K);

impl<K: Kernel> WithSimd for Widest<K> {
    type Output = K::Output;
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> K::Output {
        self.0.run()
    }
}

/// Runs a kernel.
pub(super) fn widest<K: Kernel>(kernel: K) -> K::Output {
    Arch::new().dispatch(Widest(kernel))
}

/// Stretches of one arena that do not overlap.
pub(super) fn apart<L, const N: usize>(arena: &mut [L], stretches: [Range<usize>; N]) -> [&mut [L]; N] {
    arena.get_disjoint_mut(stretches).expect("tables do not overlap")
}

/// Sum of products.
#[inline(always)]
pub(super) fn dot<L: Lane>(a: &[L], b: &[L]) -> L {
    let mut sum = L::ZERO;
    for (&a, &b) in a.iter().zip(b) {
        sum += a * b;
    }
    sum
}

struct Multiplied<'a, T, L> {
    a: &'a [T],
    b: &'a [L],
}

impl<T: Value<L>, L: Lane> Kernel for Multiplied<'_, T, L> {
    type Output = T;
    #[inline(always)]
    fn run(self) -> T {
        let mut products = self.a.iter().zip(self.b).map(|(&a, &b)| a * b);
        let first = products.next().expect("tables are not empty");
        products.fold(first, |sum, product| sum + product)
    }
}

/// Sum of products of two tables that are not empty.
pub(super) fn multiplied<T: Value<L>, L: Lane>(a: &[T], b: &[L]) -> T {
    widest(Multiplied { a, b })
}

/// Calls `act` on the pairs of runs a link joins: entries with the cause present, and the gate not yet
/// brought on (first) or brought on (second). The link's ends are the highest bit and `bit`.
#[inline(always)]
fn link_runs<T>(table: &mut [T], bit: u32, cause_on_top: bool, mut act: impl FnMut(&mut [T], &mut [T])) {
    let (low, high) = table.split_at_mut(table.len() / 2);
    let size = 1_usize << bit;
    if cause_on_top {
        for chunk in high.chunks_exact_mut(2 * size) {
            let (off, on) = chunk.split_at_mut(size);
            act(off, on);
        }
    } else {
        for (off, on) in low.chunks_exact_mut(2 * size).zip(high.chunks_exact_mut(2 * size)) {
            act(&mut off[size..], &mut on[size..]);
        }
    }
}

/// `to += by * from`, then `from *= stay`.
#[inline(always)]
fn pour<T: Value<L>, L: Lane>(from: &mut [T], to: &mut [T], stay: L, by: L) {
    for (from, to) in from.iter_mut().zip(to) {
        *to += *from * by;
        *from = *from * stay;
    }
}

/// `into = stay * into + by * from`.
#[inline(always)]
fn blend<T: Value<L>, L: Lane>(into: &mut [T], from: &[T], stay: L, by: L) {
    for (into, &from) in into.iter_mut().zip(from) {
        *into = *into * stay + from * by;
    }
}

struct Joined<'a, T, L> {
    table: &'a mut [T],
    bit: u32,
    cause_on_top: bool,
    pours: bool,
    stay: L,
    by: L,
}

impl<T: Value<L>, L: Lane> Kernel for Joined<'_, T, L> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        let Self { table, bit, cause_on_top, pours, stay, by } = self;
        if pours {
            link_runs(table, bit, cause_on_top, |off, on| pour(off, on, stay, by));
        } else {
            link_runs(table, bit, cause_on_top, |off, on| blend(off, on, stay, by));
        }
    }
}

/// A link's step, or with `back` its adjoint: supplies pour into "brought on", demands blend from it, and
/// each is the other's adjoint.
pub(super) fn link<T: Value<L>, L: Lane>(
    table: &mut [T],
    (bit, cause_on_top): (u32, bool),
    pours: bool,
    (stay, by): (f64, f64),
) {
    widest(Joined { table, bit, cause_on_top, pours, stay: L::splat(stay), by: L::splat(by) });
}

/// Sums a variable out: `out = low * zero + high * one`.
pub(super) struct SumOut<'a, T, L> {
    pub out: &'a mut [T],
    pub table: &'a [T],
    pub unary: [L; 2],
}

impl<T: Value<L>, L: Lane> Kernel for SumOut<'_, T, L> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        let ([zero, one], (low, high)) = (self.unary, self.table.split_at(self.out.len()));
        for ((out, &low), &high) in self.out.iter_mut().zip(low).zip(high) {
            *out = low * zero + high * one;
        }
    }
}

/// The adjoint of [`SumOut`]; gives the weights of both states of the variable.
pub(super) struct SumBack<'a, L> {
    pub values: &'a [L],
    pub table: &'a mut [L],
    pub message: &'a [L],
    pub unary: [L; 2],
}

impl<L: Lane> Kernel for SumBack<'_, L> {
    type Output = [L; 2];
    #[inline(always)]
    fn run(self) -> [L; 2] {
        let Self { values, table, message, unary: [zero, one] } = self;
        let half = message.len();
        let weights = [zero * dot(&values[..half], message), one * dot(&values[half..], message)];
        let (low, high) = table.split_at_mut(half);
        for ((low, high), &m) in low.iter_mut().zip(high).zip(message) {
            *low = m * zero;
            *high = m * one;
        }
        weights
    }
}

/// Copies entries: `pairs` lists `(to, from)` offsets.
pub(super) struct Scatter<'a, L> {
    pub to: &'a mut [L],
    pub from: &'a [L],
    pub pairs: &'a [(u32, u32)],
}

impl<L: Copy> Kernel for Scatter<'_, L> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        for &(to, from) in self.pairs {
            self.to[to as usize] = self.from[from as usize];
        }
    }
}

/// The adjoint of [`Scatter`].
pub(super) struct Collect<'a, L> {
    pub to: &'a mut [L],
    pub from: &'a [L],
    pub pairs: &'a [(u32, u32)],
}

impl<L: Lane> Kernel for Collect<'_, L> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        self.to.fill(L::ZERO);
        for &(from, to) in self.pairs {
            self.to[to as usize] += self.from[from as usize];
        }
    }
}

/// Entries of a table after [`spread`].
pub(super) fn spread_len(spread: u64, vars: u32) -> usize {
    (0..vars).map(|i| if spread >> i & 1 == 1 { 3 } else { 2 }).product()
}

/// One variable given a third digit: blocks of two runs become three, the last of them the sum.
struct SpreadOne<'a, T> {
    from: &'a [T],
    to: &'a mut [T],
    run: usize,
}

impl<T: Copy + Add<Output = T>> Kernel for SpreadOne<'_, T> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        let Self { from, to, run } = self;
        for (from, to) in from.chunks_exact(2 * run).zip(to.chunks_exact_mut(3 * run)) {
            let (low, high) = from.split_at(run);
            let (known, sum) = to.split_at_mut(2 * run);
            known.copy_from_slice(from);
            for ((sum, &low), &high) in sum.iter_mut().zip(low).zip(high) {
                *sum = low + high;
            }
        }
    }
}

/// The adjoint of [`SpreadOne`].
struct FoldOne<'a, L> {
    from: &'a [L],
    to: &'a mut [L],
    run: usize,
}

impl<L: Lane> Kernel for FoldOne<'_, L> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        let Self { from, to, run } = self;
        for (from, to) in from.chunks_exact(3 * run).zip(to.chunks_exact_mut(2 * run)) {
            let (known, sum) = from.split_at(2 * run);
            for (to, known) in to.chunks_exact_mut(run).zip(known.chunks_exact(run)) {
                for ((to, &known), &sum) in to.iter_mut().zip(known).zip(sum) {
                    *to = known + sum;
                }
            }
        }
    }
}

/// A side of a product: the table itself, or what [`spread`] makes of it, in `buffer`, which takes no more than `most`.
pub(super) fn widened<'a, T: Copy + Add<Output = T>>(
    table: &'a [T],
    by: Option<Spread>,
    (buffer, most): (&'a mut Vec<T>, usize),
) -> &'a [T] {
    let Some(Spread { marked, vars, len }) = by else { return table };
    if buffer.len() < len {
        *buffer = vec![table[0]; most];
    }
    spread(table, &mut buffer[..len], marked, vars);
    &buffer[..len]
}

/// Copies `from` to `to`, giving each marked variable a third digit, the sum of the other two.
pub(super) fn spread<T: Copy + Add<Output = T>>(from: &[T], to: &mut [T], marked: u64, vars: u32) {
    if marked == 0 {
        to.copy_from_slice(from);
        return;
    }
    if marked.is_power_of_two() {
        widest(SpreadOne { from, to, run: 1 << marked.trailing_zeros() });
        return;
    }
    let top = vars - 1;
    let rest = marked & !(1 << top);
    let half = from.len() / 2;
    let part = spread_len(rest, top);
    spread(&from[..half], &mut to[..part], rest, top);
    spread(&from[half..], &mut to[part..2 * part], rest, top);
    if rest != marked {
        let (known, sum) = to.split_at_mut(2 * part);
        let (zero, one) = known.split_at(part);
        for ((sum, &zero), &one) in sum.iter_mut().zip(zero).zip(one) {
            *sum = zero + one;
        }
    }
}

/// The adjoint of [`spread`]: sets `to` from `from`, which is used up.
pub(super) fn fold<L: Lane>(from: &mut [L], to: &mut [L], marked: u64, vars: u32) {
    if marked == 0 {
        to.copy_from_slice(from);
        return;
    }
    if marked.is_power_of_two() {
        widest(FoldOne { from, to, run: 1 << marked.trailing_zeros() });
        return;
    }
    let top = vars - 1;
    let rest = marked & !(1 << top);
    let half = to.len() / 2;
    let part = spread_len(rest, top);
    if rest != marked {
        let (known, sum) = from.split_at_mut(2 * part);
        let (zero, one) = known.split_at_mut(part);
        for ((zero, one), &sum) in zero.iter_mut().zip(one).zip(&*sum) {
            *zero += sum;
            *one += sum;
        }
    }
    fold(&mut from[..part], &mut to[..half], rest, top);
    fold(&mut from[part..2 * part], &mut to[half..], rest, top);
}
