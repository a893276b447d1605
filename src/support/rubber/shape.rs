//! How much does the outline of a pad hold its rubber back? Area, shape factor, bending, and the
//! pressure of a thin bonded pad.
//!
//! Shape factor S = loaded area / free area = l / t with l = A / perimeter (both edges of a ring):
//! d / 4, a b / (2 (a + b)), (do - di) / 4.
//!
//! Thin bonded pad of incompressible rubber: lap(p) = -12 G eps / t^2, p = 0 at the free edges, hence
//! Ec = C G S^2 with C = 12 mean(w) / l^2, lap(w) = -1. Disc 6, square 6.7477, long strip 4; ring
//! 6 F with F = (r^2 + 1) / (r - 1)^2 + (1 + r) / ((1 - r) ln r), r = do / di (M. Kumar, isolation
//! bearing property table, seen). The rectangle by the series of the torsion of a bar
//! (S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, 3rd ed. 1970, section 109, from memory).
//!
//! "1 + 2 S^2" takes C = 6 for all: 11 % low for a square, 50 % high for a strip.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, positive};

/// Outline of a pad, m.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Shape {
    /// Full circle.
    Disc {
        /// Diameter, m.
        diameter: f64,
    },
    /// Rectangle.
    Rectangle {
        /// Side along x, m.
        length: f64,
        /// Side along y, m.
        width: f64,
    },
    /// Circle with a round hole whose edge is free.
    Ring {
        /// Outer diameter, m.
        outer: f64,
        /// Inner diameter, m.
        inner: f64,
    },
}

impl Shape {
    /// Disc.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a diameter that is not positive and finite.
    pub fn disc(diameter: f64) -> Result<Self> {
        Ok(Self::Disc { diameter: positive("diameter", diameter, "m")? })
    }

    /// Rectangle, `length` along x and `width` along y.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a side that is not positive and finite.
    pub fn rectangle(length: f64, width: f64) -> Result<Self> {
        Ok(Self::Rectangle {
            length: positive("length", length, "m")?,
            width: positive("width", width, "m")?,
        })
    }

    /// Ring.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a diameter that is not positive and finite, or a hole that is not
    /// smaller than the ring.
    pub fn ring(outer: f64, inner: f64) -> Result<Self> {
        let (outer, inner) = (positive("outer", outer, "m")?, positive("inner", inner, "m")?);
        if inner >= outer {
            return Err(Error::invalid(
                "inner",
                format!("{inner} m"),
                format!("must be less than outer ({outer} m)"),
                "swap the diameters, or use a disc",
            ));
        }
        Ok(Self::Ring { outer, inner })
    }

    /// Name of its kind: "disc", "rectangle", "ring".
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Disc { .. } => "disc",
            Self::Rectangle { .. } => "rectangle",
            Self::Ring { .. } => "ring",
        }
    }

    /// Loaded area A, m^2.
    pub fn area(&self) -> f64 {
        match *self {
            Self::Disc { diameter } => PI * diameter * diameter / 4.0,
            Self::Rectangle { length, width } => length * width,
            Self::Ring { outer, inner } => PI * (outer - inner) * (outer + inner) / 4.0,
        }
    }

    /// Area over the length of the free edges, m.
    fn area_over_perimeter(&self) -> f64 {
        match *self {
            Self::Disc { diameter } => diameter / 4.0,
            Self::Rectangle { length, width } => length * width / (2.0 * (length + width)),
            Self::Ring { outer, inner } => (outer - inner) / 4.0,
        }
    }

    /// Shape factor S of a layer of that thickness (m).
    pub fn factor(&self, thickness: f64) -> f64 {
        self.area_over_perimeter() / thickness
    }

    /// r^2 = I / A, m^2, for bending as the pad is sheared along x and along y.
    pub fn gyration_squared(&self) -> [f64; 2] {
        match *self {
            Self::Disc { diameter } => [diameter * diameter / 16.0; 2],
            Self::Rectangle { length, width } => [length * length / 12.0, width * width / 12.0],
            Self::Ring { outer, inner } => [(outer * outer + inner * inner) / 16.0; 2],
        }
    }

    /// C of the thin bonded pad, Ec = C G S^2.
    pub fn thin_pad_constant(&self) -> f64 {
        let l = self.area_over_perimeter();
        12.0 * self.pressure()[0] / (l * l)
    }

    /// Greatest over mean pressure of the thin bonded pad; 2 for a disc.
    pub fn peak_over_mean(&self) -> f64 {
        let [mean, peak] = self.pressure();
        peak / mean
    }

    /// Mean and greatest w, m^2, with lap(w) = -1 and w = 0 at the edges.
    fn pressure(&self) -> [f64; 2] {
        match *self {
            Self::Disc { diameter } => [diameter * diameter / 32.0, diameter * diameter / 16.0],
            Self::Rectangle { length, width } => {
                rectangle_pressure(length.min(width), length.max(width))
            }
            Self::Ring { outer, inner } => ring_pressure(0.5 * outer, 0.5 * inner),
        }
    }
}

/// w of a rectangle with sides a <= b:
/// mean = (a^2/12) (1 - (192 a / (pi^5 b)) sum tanh(n pi b / 2a) / n^5),
/// middle = (a^2/8) (1 - (32 / pi^3) sum (-1)^((n-1)/2) / (n^3 cosh(n pi b / 2a))), n odd.
fn rectangle_pressure(a: f64, b: f64) -> [f64; 2] {
    const TERMS: usize = 200;
    let (mut mean, mut middle) = (0.0, 0.0);
    // Small terms first, so that they are not lost.
    for i in (0..TERMS).rev() {
        let n = (2 * i + 1) as f64;
        let angle = n * PI * b / (2.0 * a);
        let sign = if i % 2 == 0 { 1.0 } else { -1.0 };
        mean += angle.tanh() / n.powi(5);
        middle += sign / (n.powi(3) * angle.cosh());
    }
    let square = a * a;
    [
        square / 12.0 * (1.0 - 192.0 * a / (PI.powi(5) * b) * mean),
        square / 8.0 * (1.0 - 32.0 / PI.powi(3) * middle),
    ]
}

/// w = (Ro^2 - x^2 - (Ro^2 - Ri^2) ln(Ro/x) / ln(Ro/Ri)) / 4 between the radii Ro and Ri; with
/// e = (Ro - Ri) / (Ro + Ri), mean = (Ro + Ri)^2 / 16 (1 + e^2 - e / atanh(e)).
fn ring_pressure(ro: f64, ri: f64) -> [f64; 2] {
    let e = (ro - ri) / (ro + ri);
    let square = e * e;
    let held = if e > 0.05 {
        1.0 + square - e / e.atanh()
    } else {
        // The closed form cancels for a narrow ring.
        const SERIES: [f64; 5] =
            [4.0 / 3.0, 4.0 / 45.0, 44.0 / 945.0, 428.0 / 14_175.0, 10_196.0 / 467_775.0];
        square * SERIES.iter().rev().fold(0.0, |sum, c| sum * square + c)
    };
    let mean = (ro + ri).powi(2) / 16.0 * held;
    if e < 1e-3 {
        return [mean, (ro - ri).powi(2) / 8.0];
    }
    let (gap, log) = ((ro - ri) * (ro + ri), 2.0 * e.atanh());
    let place = gap / (2.0 * log);
    let peak = (ro * ro - place - gap * (ro / place.sqrt()).ln() / log) / 4.0;
    [mean, peak]
}
