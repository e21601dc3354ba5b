//! Numbers the sweeps run on: one at a time, or four independent ones side by side.

use std::cell::RefCell;
use std::ops::{Add, AddAssign, Mul, MulAssign};

/// One number or several independent ones.
pub(super) trait Lane:
    Copy + Add<Output = Self> + Mul<Output = Self> + AddAssign + MulAssign + Send + Sync
{
    /// How many numbers.
    const COUNT: usize;
    /// Zero in every lane.
    const ZERO: Self;
    /// The same number in every lane.
    fn splat(value: f64) -> Self;
    /// One lane's number.
    fn get(&self, lane: usize) -> f64;
    /// Changes one lane's number.
    fn set(&mut self, lane: usize, value: f64);
    /// The larger number, lane by lane.
    fn max(self, other: Self) -> Self;
    /// Quotient, lane by lane.
    fn over(self, other: Self) -> Self;
    /// A buffer of at least `len` numbers, whatever they are.
    fn buffer(len: usize) -> Vec<Self>;
    /// Takes a buffer back for later.
    fn recycle(buffer: Vec<Self>);
    /// Difference, lane by lane; zero where the other is larger. Only for complements, never inside a sweep.
    fn less(self, other: Self) -> Self;
}

// A ranking takes a few hundred kilobytes for less than a millisecond; asking the system for them anew each
// time would take as long as the work itself. What a buffer holds never matters: every entry is written before it is read.
thread_local! {
    static SINGLE: RefCell<Vec<Vec<f64>>> = const { RefCell::new(Vec::new()) };
    static WIDE: RefCell<Vec<Vec<Wide>>> = const { RefCell::new(Vec::new()) };
}

/// Buffers kept by a thread, and the largest worth keeping, in bytes.
const SPARE: usize = 4;
const SPARE_BYTES: usize = 2 << 20;

/// The smallest that is large enough. To let a smaller one grow would copy what nobody wants to have.
fn take<T: Copy>(spare: &mut Vec<Vec<T>>, len: usize, any: T) -> Vec<T> {
    let fits = (0..spare.len()).filter(|&at| spare[at].len() >= len);
    match fits.min_by_key(|&at| spare[at].len()) {
        Some(at) => spare.swap_remove(at),
        None => vec![any; len],
    }
}

fn keep<T>(spare: &mut Vec<Vec<T>>, buffer: Vec<T>) {
    if spare.len() < SPARE && buffer.capacity() * size_of::<T>() <= SPARE_BYTES {
        spare.push(buffer);
    }
}

impl Lane for f64 {
    const COUNT: usize = 1;
    const ZERO: Self = 0.0;
    fn splat(value: f64) -> Self {
        value
    }
    fn get(&self, _: usize) -> f64 {
        *self
    }
    fn set(&mut self, _: usize, value: f64) {
        *self = value;
    }
    fn max(self, other: Self) -> Self {
        if other > self { other } else { self }
    }
    fn over(self, other: Self) -> Self {
        self / other
    }
    fn buffer(len: usize) -> Vec<Self> {
        SINGLE.with_borrow_mut(|spare| take(spare, len, 0.0))
    }
    fn recycle(buffer: Vec<Self>) {
        SINGLE.with_borrow_mut(|spare| keep(spare, buffer));
    }
    fn less(self, other: Self) -> Self {
        (self - other).max(0.0)
    }
}

/// How many numbers run side by side: more would make the tables of the shipped book larger than a second-level cache.
const LANES: usize = 4;

/// Several independent numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(32))]
pub(super) struct Wide(pub [f64; LANES]);

/// The same operator on every lane; plain loops over arrays become vector instructions.
macro_rules! lanewise {
    ($($trait:ident $method:ident, $assign:ident $assign_method:ident $assign_op:tt;)*) => {$(
        impl $assign for Wide {
            #[inline(always)]
            fn $assign_method(&mut self, other: Self) {
                for (a, b) in self.0.iter_mut().zip(other.0) {
                    *a $assign_op b;
                }
            }
        }
        impl $trait for Wide {
            type Output = Self;
            #[inline(always)]
            fn $method(mut self, other: Self) -> Self {
                self $assign_op other;
                self
            }
        }
    )*};
}

lanewise! {
    Add add, AddAssign add_assign +=;
    Mul mul, MulAssign mul_assign *=;
}

impl Mul<f64> for Wide {
    type Output = Self;
    #[inline(always)]
    fn mul(self, by: f64) -> Self {
        self * Self::splat(by)
    }
}

impl Lane for Wide {
    const COUNT: usize = LANES;
    const ZERO: Self = Self([0.0; LANES]);
    #[inline(always)]
    fn splat(value: f64) -> Self {
        Self([value; LANES])
    }
    fn get(&self, lane: usize) -> f64 {
        self.0[lane]
    }
    fn set(&mut self, lane: usize, value: f64) {
        self.0[lane] = value;
    }
    fn max(mut self, other: Self) -> Self {
        for (a, b) in self.0.iter_mut().zip(other.0) {
            if b > *a {
                *a = b;
            }
        }
        self
    }
    fn over(mut self, other: Self) -> Self {
        for (a, b) in self.0.iter_mut().zip(other.0) {
            *a /= b;
        }
        self
    }
    fn buffer(len: usize) -> Vec<Self> {
        WIDE.with_borrow_mut(|spare| take(spare, len, Self::ZERO))
    }
    fn recycle(buffer: Vec<Self>) {
        WIDE.with_borrow_mut(|spare| keep(spare, buffer));
    }
    fn less(mut self, other: Self) -> Self {
        for (a, b) in self.0.iter_mut().zip(other.0) {
            *a = (*a - b).max(0.0);
        }
        self
    }
}
