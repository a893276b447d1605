//! Eight doubles side by side, which the compiler turns into the widest instructions there are.

use std::ops::{Add, Div, Mul, Neg, Sub};

pub use crate::lanes::{WIDTH, and};

/// A truth value for each lane.
pub type Mask = [bool; WIDTH];

/// Eight doubles.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub struct V(pub [f64; WIDTH]);

macro_rules! lanewise {
    ($($operator:ident $method:ident $sign:tt;)*) => {$(
        impl $operator for V {
            type Output = Self;
            #[inline(always)]
            #[allow(clippy::assign_op_pattern)] // one form for all four signs
            fn $method(mut self, other: Self) -> Self {
                for l in 0..WIDTH {
                    self.0[l] = self.0[l] $sign other.0[l];
                }
                self
            }
        }
    )*};
}

lanewise! {
    Add add +;
    Sub sub -;
    Mul mul *;
    Div div /;
}

impl Neg for V {
    type Output = Self;
    #[inline(always)]
    fn neg(mut self) -> Self {
        for l in 0..WIDTH {
            self.0[l] = -self.0[l];
        }
        self
    }
}

impl V {
    /// Zero in every lane.
    pub const ZERO: Self = Self([0.0; WIDTH]);
    /// One in every lane.
    pub const ONE: Self = Self([1.0; WIDTH]);

    /// The same number in every lane.
    #[inline(always)]
    pub fn all(x: f64) -> Self {
        Self([x; WIDTH])
    }

    /// self * a + b, in one rounding where the processor has it (`F`).
    #[inline(always)]
    pub fn fma<const F: bool>(mut self, a: Self, b: Self) -> Self {
        for l in 0..WIDTH {
            self.0[l] =
                if F { self.0[l].mul_add(a.0[l], b.0[l]) } else { self.0[l] * a.0[l] + b.0[l] };
        }
        self
    }

    /// b - self * a, in one rounding where the processor has it (`F`).
    #[inline(always)]
    pub fn fnma<const F: bool>(mut self, a: Self, b: Self) -> Self {
        for l in 0..WIDTH {
            self.0[l] =
                if F { (-self.0[l]).mul_add(a.0[l], b.0[l]) } else { b.0[l] - self.0[l] * a.0[l] };
        }
        self
    }

    /// Square root.
    #[inline(always)]
    pub fn sqrt(mut self) -> Self {
        for l in 0..WIDTH {
            self.0[l] = self.0[l].sqrt();
        }
        self
    }

    /// Absolute value.
    #[inline(always)]
    pub fn abs(mut self) -> Self {
        for l in 0..WIDTH {
            self.0[l] = self.0[l].abs();
        }
        self
    }

    /// The lesser of two.
    #[inline(always)]
    pub fn min(mut self, other: Self) -> Self {
        for l in 0..WIDTH {
            self.0[l] = self.0[l].min(other.0[l]);
        }
        self
    }

    /// The greater of two.
    #[inline(always)]
    pub fn max(mut self, other: Self) -> Self {
        for l in 0..WIDTH {
            self.0[l] = self.0[l].max(other.0[l]);
        }
        self
    }

    /// self where the sign of `of` is not negative, else -self.
    #[inline(always)]
    pub fn signed_by(mut self, of: Self) -> Self {
        for l in 0..WIDTH {
            self.0[l] = if of.0[l] < 0.0 { -self.0[l] } else { self.0[l] };
        }
        self
    }

    /// Where self > 0 `yes`, else `no` (also where self is no number).
    #[inline(always)]
    pub fn pick(self, yes: Self, no: Self) -> Self {
        let mut out = no;
        for l in 0..WIDTH {
            out.0[l] = if self.0[l] > 0.0 { yes.0[l] } else { no.0[l] };
        }
        out
    }

    /// self > other; false where one is no number.
    #[inline(always)]
    pub fn above(self, other: Self) -> Mask {
        let mut mask = [false; WIDTH];
        for l in 0..WIDTH {
            mask[l] = self.0[l] > other.0[l];
        }
        mask
    }
}

/// A loop written out, its index a constant: what it indexes can stay in registers, and the compiler
/// does not try to run several of its turns side by side in place of the lanes.
macro_rules! each {
    ($index:ident in [$($n:literal)*] $body:block) => {
        $({
            #[allow(dead_code)]
            const $index: usize = $n;
            $body
        })*
    };
}
pub(super) use each;
