//! Numbers the sweeps run on: one at a time, or eight independent ones side by side.

use std::ops::{Add, AddAssign, Mul, MulAssign};

/// One number or several independent ones.
pub(super) trait Lane:
    Copy + Add<Output = Self> + Mul<Output = Self> + AddAssign + MulAssign + Send + Sync
{
    /// How many independent numbers.
    const WIDTH: usize;
    /// The same number in every lane.
    fn splat(value: f64) -> Self;
    /// One lane's number.
    fn get(&self, lane: usize) -> f64;
    /// Changes one lane's number.
    fn set(&mut self, lane: usize, value: f64);
    /// The larger number, lane by lane.
    fn max(self, other: Self) -> Self;
}

impl Lane for f64 {
    const WIDTH: usize = 1;
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
}

/// Eight independent numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub(super) struct Eight(pub [f64; 8]);

impl Add for Eight {
    type Output = Self;
    #[inline(always)]
    fn add(mut self, other: Self) -> Self {
        self += other;
        self
    }
}

impl Mul for Eight {
    type Output = Self;
    #[inline(always)]
    fn mul(mut self, other: Self) -> Self {
        self *= other;
        self
    }
}

impl AddAssign for Eight {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        for (a, b) in self.0.iter_mut().zip(other.0) {
            *a += b;
        }
    }
}

impl MulAssign for Eight {
    #[inline(always)]
    fn mul_assign(&mut self, other: Self) {
        for (a, b) in self.0.iter_mut().zip(other.0) {
            *a *= b;
        }
    }
}

impl Lane for Eight {
    const WIDTH: usize = 8;
    fn splat(value: f64) -> Self {
        Self([value; 8])
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
}
