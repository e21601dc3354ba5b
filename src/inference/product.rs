//! The product of two tables, OR where they share a gate: the loops that take most of the time.

use std::ops::AddAssign;

use super::kernels::{Kernel, dot, widest};
use super::lane::Lane;
use super::plan::Table;

/// Offsets `(out, a, b)` of the blocks of a product.
pub(super) type Triple = (u32, u32, u32);

/// How two tables share a gate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shared {
    /// The first holds the demand; the second is spread.
    DemandFirst = 0,
    /// The second holds the demand; the first is spread.
    DemandSecond = 1,
    /// Neither does; the second is spread.
    Supplies = 2,
}

/// The products a shared gate takes: offsets `(out, a, b)` in states. State 2 is the sum of 0 and 1.
pub(super) const SHARED: [[(usize, usize, usize); 3]; 3] =
    [[(0, 0, 0), (0, 1, 1), (1, 1, 2)], [(0, 0, 0), (0, 1, 1), (1, 2, 1)], [(0, 0, 0), (1, 0, 1), (1, 1, 2)]];

/// States of a shared gate in the first and in the second table.
const STATES: [(usize, usize); 3] = [(2, 3), (3, 2), (2, 3)];

/// What happens at each triple: the lowest variables of the scope.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Block {
    /// So many entries, with the strides of a and b (0 or 1).
    Run(usize, (usize, usize)),
    /// One shared gate.
    Gate(Shared),
    /// Two shared gates, the lower one first.
    Gates(Shared, Shared),
}

/// A product's index work: everything but the numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shape<'a> {
    pub triples: &'a [Triple],
    pub block: Block,
}

/// Calls a function generic over how one or two gates are shared.
macro_rules! by_gates {
    ($block:expr, $one:ident, $two:ident, $args:tt, [$($hole:tt)*], $run:expr) => {{
        use Shared::{DemandFirst as F, DemandSecond as S, Supplies as N};
        match $block {
            Block::Run(len, strides) => $run(len, strides),
            Block::Gate(F) => $one::<0 $($hole)*> $args,
            Block::Gate(S) => $one::<1 $($hole)*> $args,
            Block::Gate(N) => $one::<2 $($hole)*> $args,
            Block::Gates(F, F) => $two::<0, 0 $($hole)*> $args,
            Block::Gates(F, S) => $two::<0, 1 $($hole)*> $args,
            Block::Gates(F, N) => $two::<0, 2 $($hole)*> $args,
            Block::Gates(S, F) => $two::<1, 0 $($hole)*> $args,
            Block::Gates(S, S) => $two::<1, 1 $($hole)*> $args,
            Block::Gates(S, N) => $two::<1, 2 $($hole)*> $args,
            Block::Gates(N, F) => $two::<2, 0 $($hole)*> $args,
            Block::Gates(N, S) => $two::<2, 1 $($hole)*> $args,
            Block::Gates(N, N) => $two::<2, 2 $($hole)*> $args,
        }
    }};
}

struct Multiply<'a, A, B, T, F> {
    out: &'a mut [T],
    a: &'a [A],
    b: &'a [B],
    shape: Shape<'a>,
    times: F,
}

impl<A: Copy, B: Copy, T: Copy + AddAssign, F: Fn(A, B) -> T + Copy> Kernel for Multiply<'_, A, B, T, F> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        let Self { out, a, b, shape: Shape { triples, block }, times } = self;
        by_gates!(block, one_gate, two_gates, (out, a, b, triples, times), [, _, _, _, _], |len, strides| {
            runs(out, a, b, triples, len, strides, times);
        });
    }
}

/// Adds to `out` the products `times(a, b)`.
pub(super) fn multiply<A: Copy, B: Copy, T: Copy + AddAssign>(
    out: &mut [T],
    a: &[A],
    b: &[B],
    shape: Shape,
    times: impl Fn(A, B) -> T + Copy,
) {
    widest(Multiply { out, a, b, shape, times });
}

#[inline(always)]
fn runs<A: Copy, B: Copy, T: Copy + AddAssign>(
    out: &mut [T],
    a: &[A],
    b: &[B],
    triples: &[Triple],
    len: usize,
    strides: (usize, usize),
    times: impl Fn(A, B) -> T,
) {
    for &(o, i, j) in triples {
        let (o, i, j) = (o as usize, i as usize, j as usize);
        let out = &mut out[o..o + len];
        match strides {
            (1, 1) => {
                for ((out, &a), &b) in out.iter_mut().zip(&a[i..i + len]).zip(&b[j..j + len]) {
                    *out += times(a, b);
                }
            }
            (1, _) => {
                let b = b[j];
                for (out, &a) in out.iter_mut().zip(&a[i..i + len]) {
                    *out += times(a, b);
                }
            }
            _ => {
                let a = a[i];
                for (out, &b) in out.iter_mut().zip(&b[j..j + len]) {
                    *out += times(a, b);
                }
            }
        }
    }
}

#[inline(always)]
fn one_gate<const G: usize, A: Copy, B: Copy, T: Copy + AddAssign, F: Fn(A, B) -> T>(
    out: &mut [T],
    a: &[A],
    b: &[B],
    triples: &[Triple],
    times: F,
) {
    let (a_states, b_states) = STATES[G];
    for &(o, i, j) in triples {
        let (o, i, j) = (o as usize, i as usize, j as usize);
        let (out, a, b) = (&mut out[o..o + 2], &a[i..i + a_states], &b[j..j + b_states]);
        for (o, i, j) in SHARED[G] {
            out[o] += times(a[i], b[j]);
        }
    }
}

#[inline(always)]
fn two_gates<const LOW: usize, const HIGH: usize, A: Copy, B: Copy, T: Copy + AddAssign, F: Fn(A, B) -> T>(
    out: &mut [T],
    a: &[A],
    b: &[B],
    triples: &[Triple],
    times: F,
) {
    let (a_low, b_low) = STATES[LOW];
    let (a_len, b_len) = (a_low * STATES[HIGH].0, b_low * STATES[HIGH].1);
    for &(o, i, j) in triples {
        let (o, i, j) = (o as usize, i as usize, j as usize);
        let (out, a, b) = (&mut out[o..o + 4], &a[i..i + a_len], &b[j..j + b_len]);
        for (o_high, i_high, j_high) in SHARED[HIGH] {
            for (o, i, j) in SHARED[LOW] {
                out[2 * o_high + o] += times(a[a_low * i_high + i], b[b_low * j_high + j]);
            }
        }
    }
}

struct Weigh<'a, L> {
    weights: &'a [L],
    a: &'a [L],
    b: &'a [L],
    shape: Shape<'a>,
}

impl<L: Lane> Kernel for Weigh<'_, L> {
    type Output = L;
    #[inline(always)]
    fn run(self) -> L {
        let Self { weights, a, b, shape: Shape { triples, block } } = self;
        by_gates!(block, weigh_one, weigh_two, (weights, a, b, triples), [, _], |len, strides| {
            weigh_runs(weights, a, b, triples, len, strides)
        })
    }
}

/// The sum of all products of `a` and `b`, each times the weight of the entry it would add to.
pub(super) fn weigh<L: Lane>(weights: &[L], a: &[L], b: &[L], shape: Shape) -> L {
    widest(Weigh { weights, a, b, shape })
}

#[inline(always)]
fn weigh_runs<L: Lane>(
    weights: &[L],
    a: &[L],
    b: &[L],
    triples: &[Triple],
    len: usize,
    strides: (usize, usize),
) -> L {
    let mut sum = L::ZERO;
    for &(o, i, j) in triples {
        let (o, i, j) = (o as usize, i as usize, j as usize);
        let weights = &weights[o..o + len];
        sum += match strides {
            (1, 1) => {
                let mut part = L::ZERO;
                for ((&w, &a), &b) in weights.iter().zip(&a[i..i + len]).zip(&b[j..j + len]) {
                    part += a * b * w;
                }
                part
            }
            (1, _) => b[j] * dot(&a[i..i + len], weights),
            _ => a[i] * dot(&b[j..j + len], weights),
        };
    }
    sum
}

#[inline(always)]
fn weigh_one<const G: usize, L: Lane>(weights: &[L], a: &[L], b: &[L], triples: &[Triple]) -> L {
    let (a_states, b_states) = STATES[G];
    let mut sum = L::ZERO;
    for &(o, i, j) in triples {
        let (o, i, j) = (o as usize, i as usize, j as usize);
        let (weights, a, b) = (&weights[o..o + 2], &a[i..i + a_states], &b[j..j + b_states]);
        for (o, i, j) in SHARED[G] {
            sum += a[i] * b[j] * weights[o];
        }
    }
    sum
}

#[inline(always)]
fn weigh_two<const LOW: usize, const HIGH: usize, L: Lane>(
    weights: &[L],
    a: &[L],
    b: &[L],
    triples: &[Triple],
) -> L {
    let (a_low, b_low) = STATES[LOW];
    let (a_len, b_len) = (a_low * STATES[HIGH].0, b_low * STATES[HIGH].1);
    let mut sum = L::ZERO;
    for &(o, i, j) in triples {
        let (o, i, j) = (o as usize, i as usize, j as usize);
        let (weights, a, b) = (&weights[o..o + 4], &a[i..i + a_len], &b[j..j + b_len]);
        let mut part = L::ZERO;
        for (o_high, i_high, j_high) in SHARED[HIGH] {
            for (o, i, j) in SHARED[LOW] {
                part += a[a_low * i_high + i] * b[b_low * j_high + j] * weights[2 * o_high + o];
            }
        }
        sum += part;
    }
    sum
}

/// Three tables of one arena, the last of them above both others: two to write, the last to read.
fn three<L>(arena: &mut [L], a: Table, b: Table, last: Table) -> (&mut [L], &mut [L], &[L]) {
    let (low, high) = arena.split_at_mut(last.offset);
    let last = &high[..last.len];
    if a.offset < b.offset {
        let (low, high) = low.split_at_mut(b.offset);
        (&mut low[a.range()], &mut high[..b.len], last)
    } else {
        let (low, high) = low.split_at_mut(a.offset);
        (&mut high[..a.len], &mut low[b.range()], last)
    }
}

/// The adjoint of [`multiply`] with ordinary products: sets the adjoints of `a` and `b`, which lie below `out`.
pub(super) fn multiply_back<L: Lane>(
    values: &[L],
    adjoints: &mut [L],
    [out, a, b]: [Table; 3],
    shape: Shape,
) {
    let (va, vb) = (&values[a.range()], &values[b.range()]);
    let (da, db, out) = three(adjoints, a, b, out);
    widest(MultiplyBack { tables: Tables { va, vb, da, db, out }, shape });
}

struct MultiplyBack<'a, L> {
    tables: Tables<'a, L>,
    shape: Shape<'a>,
}

impl<L: Lane> Kernel for MultiplyBack<'_, L> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        let Self { tables, shape: Shape { triples, block } } = self;
        tables.da.fill(L::ZERO);
        tables.db.fill(L::ZERO);
        by_gates!(block, one_gate_back, two_gates_back, (tables, triples), [, _], |len, strides| {
            runs_back(tables, triples, len, strides);
        });
    }
}

/// Values and adjoints of the operands, adjoint of the product.
struct Tables<'a, L> {
    va: &'a [L],
    vb: &'a [L],
    da: &'a mut [L],
    db: &'a mut [L],
    out: &'a [L],
}

#[inline(always)]
fn runs_back<L: Lane>(tables: Tables<L>, triples: &[Triple], len: usize, strides: (usize, usize)) {
    let Tables { va, vb, da, db, out } = tables;
    for &(o, i, j) in triples {
        let (o, i, j) = (o as usize, i as usize, j as usize);
        let out = &out[o..o + len];
        match strides {
            (1, 1) => {
                for ((d, &v), &out) in da[i..i + len].iter_mut().zip(&vb[j..j + len]).zip(out) {
                    *d += v * out;
                }
                for ((d, &v), &out) in db[j..j + len].iter_mut().zip(&va[i..i + len]).zip(out) {
                    *d += v * out;
                }
            }
            (1, _) => {
                let v = vb[j];
                for (d, &out) in da[i..i + len].iter_mut().zip(out) {
                    *d += v * out;
                }
                db[j] += dot(&va[i..i + len], out);
            }
            _ => {
                let v = va[i];
                for (d, &out) in db[j..j + len].iter_mut().zip(out) {
                    *d += v * out;
                }
                da[i] += dot(&vb[j..j + len], out);
            }
        }
    }
}

#[inline(always)]
fn one_gate_back<const G: usize, L: Lane>(tables: Tables<L>, triples: &[Triple]) {
    let Tables { va, vb, da, db, out } = tables;
    let (a_states, b_states) = STATES[G];
    for &(o, i, j) in triples {
        let (o, i, j) = (o as usize, i as usize, j as usize);
        let out = &out[o..o + 2];
        let (va, vb) = (&va[i..i + a_states], &vb[j..j + b_states]);
        let (da, db) = (&mut da[i..i + a_states], &mut db[j..j + b_states]);
        for (o, i, j) in SHARED[G] {
            da[i] += vb[j] * out[o];
            db[j] += va[i] * out[o];
        }
    }
}

#[inline(always)]
fn two_gates_back<const LOW: usize, const HIGH: usize, L: Lane>(tables: Tables<L>, triples: &[Triple]) {
    let Tables { va, vb, da, db, out } = tables;
    let (a_low, b_low) = STATES[LOW];
    let (a_len, b_len) = (a_low * STATES[HIGH].0, b_low * STATES[HIGH].1);
    for &(o, i, j) in triples {
        let (o, i, j) = (o as usize, i as usize, j as usize);
        let out = &out[o..o + 4];
        let (va, vb) = (&va[i..i + a_len], &vb[j..j + b_len]);
        let (da, db) = (&mut da[i..i + a_len], &mut db[j..j + b_len]);
        for (o_high, i_high, j_high) in SHARED[HIGH] {
            for (o, i, j) in SHARED[LOW] {
                let (o, i, j) = (2 * o_high + o, a_low * i_high + i, b_low * j_high + j);
                da[i] += vb[j] * out[o];
                db[j] += va[i] * out[o];
            }
        }
    }
}
