//! Numbers the sweeps run on: one at a time, or eight independent ones side by side.

use std::ops::{Add, AddAssign, Mul, MulAssign};

/// One number or several independent ones.
pub(super) trait Lane:
    Copy + Add<Output = Self> + Mul<Output = Self> + AddAssign + MulAssign + Send + Sync
{
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
    /// Difference, lane by lane; zero where the other is larger. Only for complements, never inside a sweep.
    fn less(self, other: Self) -> Self;
}

impl Lane for f64 {
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
    fn less(self, other: Self) -> Self {
        (self - other).max(0.0)
    }
}

/// How many numbers run side by side.
pub(super) const LANES: usize = 8;

/// Several independent numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(32))]
pub(super) struct Wide(pub [f64; LANES]);

/// The same operator on every lane; plain loops over arrays become vector instructions.
macro_rules! lanewise {
    ($($trait:ident $method:ident, $assign:ident $assign_method:ident $assign_op:tt;)*) => {$(
        impl $assign for Wide {
            #[inline]
            fn $assign_method(&mut self, other: Self) {
                for (a, b) in self.0.iter_mut().zip(other.0) {
                    *a $assign_op b;
                }
            }
        }
        impl $trait for Wide {
            type Output = Self;
            #[inline]
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

impl Lane for Wide {
    const ZERO: Self = Self([0.0; LANES]);
    #[inline]
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
    fn less(mut self, other: Self) -> Self {
        for (a, b) in self.0.iter_mut().zip(other.0) {
            *a = (*a - b).max(0.0);
        }
        self
    }
}
