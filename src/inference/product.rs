//! The product of two tables, OR where they share a gate: the loops that take most of the time.

use std::ops::{Add, AddAssign, Range};

use super::kernels::{Kernel, dot, widest};
use super::lane::Lane;

/// How two tables share a gate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shared {
    /// The first holds the demand, the second a supply.
    DemandFirst,
    /// The second holds the demand, the first a supply.
    DemandSecond,
    /// Neither does.
    Supplies,
}

impl Shared {
    /// The products that a shared gate takes, as `(out, a, b)` states. State 2 is the sum of 0 and 1: of the first table if the
    /// second holds the demand, of the second table otherwise.
    pub(super) fn products(self) -> [(u32, u32, u32); 3] {
        match self {
            Self::DemandFirst => [(0, 0, 0), (0, 1, 1), (1, 1, 2)],
            Self::DemandSecond => [(0, 0, 0), (0, 1, 1), (1, 2, 1)],
            Self::Supplies => [(0, 0, 0), (1, 0, 1), (1, 1, 2)],
        }
    }
}

/// What happens at each place of a product: the lowest variables of its scope.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Block {
    /// So many entries, with the strides of a and b (0 or 1).
    Run(usize, (usize, usize)),
    /// One shared gate. Its sums of two states are made on the way.
    Gate(Shared),
}

/// Where blocks go: so many of the next terms add up to the block of the result at `out`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Group {
    pub out: u32,
    pub terms: u32,
}

/// Offsets of a block in a and b.
pub(super) type Term = (u32, u32);

/// A product's index work, as places in the lists of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Places {
    pub groups: Range<usize>,
    pub terms: Range<usize>,
    pub block: Block,
}

/// A product's index work: everything but the numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shape<'a> {
    pub groups: &'a [Group],
    pub terms: &'a [Term],
    pub block: Block,
}

/// Each group with its terms.
#[inline(always)]
pub(super) fn each<'a>(groups: &'a [Group], terms: &'a [Term]) -> impl Iterator<Item = (Group, &'a [Term])> {
    let mut left = terms;
    groups.iter().map(move |&group| {
        let (now, later) = left.split_at(group.terms as usize);
        left = later;
        (group, now)
    })
}

impl<'a> Shape<'a> {
    /// Each block of the result with the terms that add up to it.
    #[inline(always)]
    fn blocks(self) -> impl Iterator<Item = (usize, &'a [Term])> {
        each(self.groups, self.terms).map(|(group, terms)| (group.out as usize, terms))
    }
}

struct Multiply<'a, A, B, T, F> {
    out: &'a mut [T],
    a: &'a [A],
    b: &'a [B],
    shape: Shape<'a>,
    times: F,
}

impl<A, B, T, F> Kernel for Multiply<'_, A, B, T, F>
where
    A: Copy + Add<Output = A>,
    B: Copy + Add<Output = B>,
    T: Copy + Add<Output = T> + AddAssign,
    F: Fn(A, B) -> T + Copy,
{
    type Output = ();
    #[inline(always)]
    fn run(self) {
        match self.shape.block {
            Block::Run(len, strides) => self.runs(len, strides),
            Block::Gate(Shared::DemandFirst) => {
                self.gates(|[a0, a1], [b0, b1], t| [t(a0, b0) + t(a1, b1), t(a1, b0 + b1)]);
            }
            Block::Gate(Shared::DemandSecond) => {
                self.gates(|[a0, a1], [b0, b1], t| [t(a0, b0) + t(a1, b1), t(a0 + a1, b1)]);
            }
            Block::Gate(Shared::Supplies) => {
                self.gates(|[a0, a1], [b0, b1], t| [t(a0, b0), t(a0, b1) + t(a1, b0 + b1)]);
            }
        }
    }
}

impl<A: Copy, B: Copy, T: Copy + AddAssign, F: Fn(A, B) -> T + Copy> Multiply<'_, A, B, T, F> {
    #[inline(always)]
    fn runs(self, len: usize, strides: (usize, usize)) {
        let Self { out, a, b, shape, times } = self;
        for (o, terms) in shape.blocks() {
            let out = &mut out[o..o + len];
            for (number, &(i, j)) in terms.iter().enumerate() {
                let (i, j) = (i as usize, j as usize);
                // The first term writes, the others add.
                let set = |out: &mut T, value: T| if number == 0 { *out = value } else { *out += value };
                match strides {
                    (1, 1) => {
                        for ((out, &a), &b) in out.iter_mut().zip(&a[i..i + len]).zip(&b[j..j + len]) {
                            set(out, times(a, b));
                        }
                    }
                    (1, _) => {
                        let b = b[j];
                        for (out, &a) in out.iter_mut().zip(&a[i..i + len]) {
                            set(out, times(a, b));
                        }
                    }
                    _ => {
                        let a = a[i];
                        for (out, &b) in out.iter_mut().zip(&b[j..j + len]) {
                            set(out, times(a, b));
                        }
                    }
                }
            }
        }
    }

    #[inline(always)]
    fn gates(self, or: impl Fn([A; 2], [B; 2], F) -> [T; 2]) {
        let Self { out, a, b, shape, times } = self;
        let pair = |(i, j): Term| {
            let (a, b) = (&a[i as usize..i as usize + 2], &b[j as usize..j as usize + 2]);
            or([a[0], a[1]], [b[0], b[1]], times)
        };
        for (o, terms) in shape.blocks() {
            let [mut zero, mut one] = pair(terms[0]);
            for &term in &terms[1..] {
                let [z, o] = pair(term);
                zero += z;
                one += o;
            }
            let out = &mut out[o..o + 2];
            (out[0], out[1]) = (zero, one);
        }
    }
}

/// Sets `out` to the sums of the products `times(a, b)`.
pub(super) fn multiply<A, B, T>(
    out: &mut [T],
    a: &[A],
    b: &[B],
    shape: Shape,
    times: impl Fn(A, B) -> T + Copy,
) where
    A: Copy + Add<Output = A>,
    B: Copy + Add<Output = B>,
    T: Copy + Add<Output = T> + AddAssign,
{
    widest(Multiply { out, a, b, shape, times });
}

/// The adjoint of [`multiply`] with ordinary products: from the values of both operands and the adjoint of the product, sets the
/// adjoints of the operands.
pub(super) struct MultiplyBack<'a, L> {
    pub values: [&'a [L]; 2],
    pub adjoints: [&'a mut [L]; 2],
    pub out: &'a [L],
    pub shape: Shape<'a>,
}

impl<L: Lane> Kernel for MultiplyBack<'_, L> {
    type Output = ();
    #[inline(always)]
    fn run(self) {
        self.adjoints[0].fill(L::ZERO);
        self.adjoints[1].fill(L::ZERO);
        match self.shape.block {
            Block::Run(len, strides) => self.runs(len, strides),
            // Each line is the derivative of the line of `Multiply` of the same name.
            Block::Gate(Shared::DemandFirst) => self.gates(|[a0, a1], [b0, b1], [d0, d1]| {
                ([b0 * d0, b1 * d0 + (b0 + b1) * d1], [a0 * d0 + a1 * d1, a1 * (d0 + d1)])
            }),
            Block::Gate(Shared::DemandSecond) => self.gates(|[a0, a1], [b0, b1], [d0, d1]| {
                ([b0 * d0 + b1 * d1, b1 * (d0 + d1)], [a0 * d0, a1 * d0 + (a0 + a1) * d1])
            }),
            Block::Gate(Shared::Supplies) => self.gates(|[a0, a1], [b0, b1], [d0, d1]| {
                ([b0 * d0 + b1 * d1, (b0 + b1) * d1], [a0 * d0 + a1 * d1, (a0 + a1) * d1])
            }),
        }
    }
}

impl<L: Lane> MultiplyBack<'_, L> {
    #[inline(always)]
    fn runs(self, len: usize, strides: (usize, usize)) {
        let Self { values: [va, vb], adjoints: [da, db], out, shape } = self;
        for (o, terms) in shape.blocks() {
            let out = &out[o..o + len];
            for &(i, j) in terms {
                let (i, j) = (i as usize, j as usize);
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
    }

    #[inline(always)]
    fn gates(self, back: impl Fn([L; 2], [L; 2], [L; 2]) -> ([L; 2], [L; 2])) {
        let Self { values: [va, vb], adjoints: [da, db], out, shape } = self;
        for (o, terms) in shape.blocks() {
            let out = [out[o], out[o + 1]];
            for &(i, j) in terms {
                let (i, j) = (i as usize, j as usize);
                let (va, vb) = (&va[i..i + 2], &vb[j..j + 2]);
                let (to_a, to_b) = back([va[0], va[1]], [vb[0], vb[1]], out);
                let (da, db) = (&mut da[i..i + 2], &mut db[j..j + 2]);
                da[0] += to_a[0];
                da[1] += to_a[1];
                db[0] += to_b[0];
                db[1] += to_b[1];
            }
        }
    }
}
