//! Eight numbers side by side, and eight complex numbers: plain arrays, which the compiler turns
//! into the widest instructions of each version of a kernel.

use num_complex::Complex64;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// Lanes in a block.
pub const WIDTH: usize = 8;

/// Eight numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub struct Lane(pub [f64; WIDTH]);

/// A lane from an expression for each index: a plain loop, which becomes one instruction. Iterators
/// and closures in its place are not inlined where the instruction set differs.
macro_rules! each {
    ($i:ident => $value:expr) => {{
        let mut out = [0.0; WIDTH];
        for $i in 0..WIDTH {
            out[$i] = $value;
        }
        Lane(out)
    }};
}

impl Default for Lane {
    fn default() -> Self {
        Self::ZERO
    }
}

impl Lane {
    /// Zeros.
    pub const ZERO: Self = Self([0.0; WIDTH]);

    /// The same number eight times.
    #[inline(always)]
    pub fn splat(x: f64) -> Self {
        Self([x; WIDTH])
    }

    /// The first eight of `values`; the last one repeated if there are fewer.
    #[inline(always)]
    pub fn load(values: &[f64]) -> Self {
        match values.first_chunk() {
            Some(full) => Self(*full),
            None => {
                let mut out = Self::splat(values[values.len() - 1]);
                out.0[..values.len()].copy_from_slice(values);
                out
            }
        }
    }

    /// As many as `target` has room for, eight at the most.
    #[inline(always)]
    pub fn store(self, target: &mut [f64]) {
        match target.first_chunk_mut() {
            Some(full) => *full = self.0,
            None => target.copy_from_slice(&self.0[..target.len()]),
        }
    }

    /// self + a b.
    #[inline(always)]
    pub fn plus<const FUSED: bool>(self, a: Self, b: Self) -> Self {
        if FUSED {
            each!(i => a.0[i].mul_add(b.0[i], self.0[i]))
        } else {
            each!(i => self.0[i] + a.0[i] * b.0[i])
        }
    }

    /// self - a b.
    #[inline(always)]
    pub fn minus<const FUSED: bool>(self, a: Self, b: Self) -> Self {
        if FUSED {
            each!(i => (-a.0[i]).mul_add(b.0[i], self.0[i]))
        } else {
            each!(i => self.0[i] - a.0[i] * b.0[i])
        }
    }

    /// Absolute values.
    #[inline(always)]
    pub fn abs(self) -> Self {
        each!(i => self.0[i].abs())
    }

    /// Square roots.
    #[inline(always)]
    pub fn sqrt(self) -> Self {
        each!(i => self.0[i].sqrt())
    }

    /// The greater of each pair.
    #[inline(always)]
    pub fn max(self, b: Self) -> Self {
        each!(i => if self.0[i] > b.0[i] { self.0[i] } else { b.0[i] })
    }

    /// The lesser of each pair.
    #[inline(always)]
    pub fn min(self, b: Self) -> Self {
        each!(i => if self.0[i] < b.0[i] { self.0[i] } else { b.0[i] })
    }

    /// This with the signs of `b`.
    #[inline(always)]
    pub fn copysign(self, b: Self) -> Self {
        each!(i => self.0[i].copysign(b.0[i]))
    }

    /// `a` where this is greater than `b`, else `c`.
    #[inline(always)]
    pub fn greater(self, b: Self, a: Self, c: Self) -> Self {
        each!(i => choose(self.0[i] > b.0[i], a.0[i], c.0[i]))
    }

    /// True if any of the eight is greater than `limit`.
    #[inline(always)]
    pub fn any_above(self, limit: f64) -> bool {
        let mut any = false;
        for i in 0..WIDTH {
            any |= self.0[i] > limit;
        }
        any
    }
}

/// `a` if so, else `b`, by their bits: an if may become a branch, and lanes that are stored by halves
/// have to be waited for. (Where one of the two is there already the compiler finds the if again:
/// multiply by [`one_if`] there.)
#[inline(always)]
pub fn choose(so: bool, a: f64, b: f64) -> f64 {
    let chosen = if so { u64::MAX } else { 0 };
    f64::from_bits((a.to_bits() & chosen) | (b.to_bits() & !chosen))
}

/// One if so, else zero.
#[inline(always)]
pub fn one_if(so: bool) -> f64 {
    f64::from(u8::from(so))
}

/// `trusted` only where it is so by `also` too.
#[inline(always)]
pub fn and(trusted: &mut [bool; WIDTH], also: &[bool; WIDTH]) {
    for i in 0..WIDTH {
        trusted[i] &= also[i];
    }
}

macro_rules! operator {
    ($trait:ident $method:ident $operator:tt) => {
        impl $trait for Lane {
            type Output = Self;
            #[inline(always)]
            fn $method(self, b: Self) -> Self {
                each!(i => self.0[i] $operator b.0[i])
            }
        }
    };
}
operator!(Add add +);
operator!(Sub sub -);
operator!(Mul mul *);
operator!(Div div /);

impl Neg for Lane {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        each!(i => -self.0[i])
    }
}

/// Eight complex numbers.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Complex {
    /// Real parts.
    pub re: Lane,
    /// Imaginary parts.
    pub im: Lane,
}

impl Complex {
    /// Zeros.
    pub const ZERO: Self = Self { re: Lane::ZERO, im: Lane::ZERO };

    /// The same number eight times.
    #[inline(always)]
    pub fn splat(x: Complex64) -> Self {
        Self { re: Lane::splat(x.re), im: Lane::splat(x.im) }
    }

    /// self times real numbers.
    #[inline(always)]
    pub fn scaled(self, b: Lane) -> Self {
        Self { re: self.re * b, im: self.im * b }
    }

    /// self + a b with real b.
    #[inline(always)]
    pub fn plus_scaled<const FUSED: bool>(self, a: Self, b: Lane) -> Self {
        Self { re: self.re.plus::<FUSED>(a.re, b), im: self.im.plus::<FUSED>(a.im, b) }
    }

    /// self + a b.
    #[inline(always)]
    pub fn plus<const FUSED: bool>(self, a: Self, b: Self) -> Self {
        Self {
            re: self.re.plus::<FUSED>(a.re, b.re).minus::<FUSED>(a.im, b.im),
            im: self.im.plus::<FUSED>(a.re, b.im).plus::<FUSED>(a.im, b.re),
        }
    }

    /// self - a b.
    #[inline(always)]
    pub fn minus<const FUSED: bool>(self, a: Self, b: Self) -> Self {
        Self {
            re: self.re.minus::<FUSED>(a.re, b.re).plus::<FUSED>(a.im, b.im),
            im: self.im.minus::<FUSED>(a.re, b.im).minus::<FUSED>(a.im, b.re),
        }
    }

    /// self b.
    #[inline(always)]
    pub fn times<const FUSED: bool>(self, b: Self) -> Self {
        Self {
            re: (self.re * b.re).minus::<FUSED>(self.im, b.im),
            im: (self.re * b.im).plus::<FUSED>(self.im, b.re),
        }
    }

    /// 1 / self.
    #[inline(always)]
    pub fn inverse<const FUSED: bool>(self) -> Self {
        let scale = Lane::splat(1.0) / (self.re * self.re).plus::<FUSED>(self.im, self.im);
        Self { re: self.re * scale, im: -(self.im * scale) }
    }

    /// |re| + |im|.
    #[inline(always)]
    pub fn norm1(self) -> Lane {
        self.re.abs() + self.im.abs()
    }
}

impl Neg for Complex {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self { re: -self.re, im: -self.im }
    }
}
