//! A value with its first two derivatives by the crank angle.
//!
//! Where a mechanism's position is known in closed form, so are its derivatives: the chain rule
//! carried along with each operation, (f g)'' = f'' g + 2 f' g' + f g''. Nothing is differenced.

use std::ops::{Add, Mul, Neg, Sub};

/// f, df/dtheta and d2f/dtheta2 at one crank angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Jet {
    /// Value.
    pub f: f64,
    /// First derivative, per rad.
    pub d: f64,
    /// Second derivative, per rad^2.
    pub dd: f64,
}

impl Jet {
    /// A constant.
    pub fn constant(f: f64) -> Self {
        Self { f, d: 0.0, dd: 0.0 }
    }

    /// cos theta.
    pub fn cos(theta: f64) -> Self {
        let (s, c) = theta.sin_cos();
        Self { f: c, d: -s, dd: -c }
    }

    /// sin theta.
    pub fn sin(theta: f64) -> Self {
        let (s, c) = theta.sin_cos();
        Self { f: s, d: c, dd: -s }
    }

    /// Square root of a positive value.
    pub fn sqrt(self) -> Self {
        let f = self.f.sqrt();
        let d = self.d / (2.0 * f);
        Self { f, d, dd: (self.dd / 2.0 - d * d) / f }
    }

    /// One over a value that is not zero.
    pub fn inverse(self) -> Self {
        let f = 1.0 / self.f;
        let d = -self.d * f * f;
        Self { f, d, dd: -self.dd * f * f - 2.0 * self.d * f * d }
    }

    /// Second derivative in time at the speed omega (rad/s) and the rate alpha (rad/s^2).
    pub fn acceleration(self, omega: f64, alpha: f64) -> f64 {
        self.dd * omega * omega + self.d * alpha
    }
}

impl Add for Jet {
    type Output = Self;

    fn add(self, g: Self) -> Self {
        Self { f: self.f + g.f, d: self.d + g.d, dd: self.dd + g.dd }
    }
}

impl Sub for Jet {
    type Output = Self;

    fn sub(self, g: Self) -> Self {
        self + -g
    }
}

impl Neg for Jet {
    type Output = Self;

    fn neg(self) -> Self {
        self * -1.0
    }
}

impl Mul for Jet {
    type Output = Self;

    fn mul(self, g: Self) -> Self {
        Self {
            f: self.f * g.f,
            d: self.d * g.f + self.f * g.d,
            dd: self.dd * g.f + 2.0 * self.d * g.d + self.f * g.dd,
        }
    }
}

impl Mul<f64> for Jet {
    type Output = Self;

    fn mul(self, factor: f64) -> Self {
        Self { f: self.f * factor, d: self.d * factor, dd: self.dd * factor }
    }
}
