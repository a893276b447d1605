//! How does a column (a pad, a coil) yield sideways under a load on its top, its ends held parallel?
//!
//! Haringx' column with shear rigidity S (N), bending rigidity B (N m^2), height h (m) and load P (N):
//!
//! k(P) = P / ((1 + P/S) (2/q) tan(q h / 2) - h),  q^2 = (P/B) (1 + P/S);
//!
//! at rest 1 / (h^3 / 12B + h / S). It sways by itself where q h = pi; above that load k is negative.
//!
//! Source: J. A. Haringx, On highly compressible helical springs and rubber rods, Philips Research
//! Reports 3 (1948) and 4 (1949) (from memory); the formula derived for this project and checked
//! against a boundary-value solver by another program.

use std::f64::consts::PI;

/// A column by its rigidities.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// Shear rigidity S, N.
    pub shear: f64,
    /// Bending rigidity B, N m^2.
    pub bending: f64,
    /// Height h, m.
    pub height: f64,
}

impl Column {
    /// Lateral stiffness under a compressive load (N, not negative), N/m; negative above
    /// [`Self::sway_load`].
    pub fn lateral_stiffness(&self, load: f64) -> f64 {
        let Self { shear, bending, height } = *self;
        // P cancelled, so that nothing is lost near P = 0: x = q h / 2, x^2 / P known.
        let stretch = 1.0 + load / shear;
        let x = 0.5 * height * (load / bending * stretch).sqrt();
        let cubic = height.powi(3) / (4.0 * bending);
        1.0 / (height / shear + stretch * stretch * cubic * tan_excess(x))
    }

    /// Load at which it sways by itself, N: q h = pi.
    pub fn sway_load(&self) -> f64 {
        let euler = self.bending * (PI / self.height).powi(2);
        // P (1 + P/S) = euler, in a form that does not cancel.
        2.0 * euler / (1.0 + (1.0 + 4.0 * euler / self.shear).sqrt())
    }
}

/// (tan x / x - 1) / x^2; 1/3 at x = 0.
pub fn tan_excess(x: f64) -> f64 {
    let y = x * x;
    if y > 0.04 {
        return (x.tan() / x - 1.0) / y;
    }
    // Taylor coefficients of tan from x^3 on.
    const TAN: [f64; 8] = [
        1.0 / 3.0,
        2.0 / 15.0,
        17.0 / 315.0,
        62.0 / 2835.0,
        1382.0 / 155_925.0,
        21_844.0 / 6_081_075.0,
        929_569.0 / 638_512_875.0,
        6_404_582.0 / 10_854_718_875.0,
    ];
    TAN.iter().rev().fold(0.0, |sum, c| sum * y + c)
}
