//! How stiff is a pad in compression at small strain? The apparent modulus Ea, k = Ea A / t.
//!
//! Ea0 = E0 (1 + c), c = 2 phi S^2 for bonded faces (E0 (1 + beta S^2) with beta = 2: A. N. Gent and
//! P. B. Lindley, as cited by D. Koblar and M. Boltezar, Strojniski vestnik 60 (2014) 506-511, eq. 1,
//! seen; phi: Lindley's table, from memory). With the shape correction c = (C/3) phi S^2, C of the
//! thin pad ([`super::Shape::thin_pad_constant`]). With sliding faces c is less ([`super::friction`]).
//!
//! Bulk compression, three forms:
//! - 1/Ea = 1/Ea0 + 1/K (eq. 2 there), the default, because the K of the hardness table is an
//!   effective value made for this form together with its phi;
//! - 1/Ea = 1/Ea0 + 4/(3K), with a true bulk modulus (some 2 GPa in bearing codes, from memory): 0.2 %
//!   from the exact solution of a circle at S = 10 where the first is 6 % off (computed);
//! - the pressure part of a circle exactly, Ec = K (1 - 2 I1(b) / (b I0(b))), b = S sqrt(48 G/K) for
//!   Ec0 = 6 G S^2; here 6 G is replaced by E0 c / S^2, and Ea = E0 + Ec.
//!
//! For leveling pads (S below 3) all of it is below 4 %.

use serde::{Deserialize, Serialize};

/// How the compressibility of the rubber enters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Bulk {
    /// 1/Ea = 1/Ea0 + 1/K with the effective K of the hardness table.
    #[default]
    Reciprocal,
    /// 1/Ea = 1/Ea0 + 4/(3K) with a true bulk modulus.
    FourThirds,
    /// The pressure equation of a circle, exactly, with a true bulk modulus.
    Exact,
    /// Rubber of constant volume.
    Incompressible,
}

impl Bulk {
    /// All of them, with their names.
    pub const ALL: [(&'static str, Self); 4] = [
        ("reciprocal", Self::Reciprocal),
        ("four_thirds", Self::FourThirds),
        ("exact", Self::Exact),
        ("incompressible", Self::Incompressible),
    ];

    /// Ea (Pa) from E0 (Pa), the constraint c and K (Pa).
    pub fn apparent(self, young: f64, constraint: f64, bulk: f64) -> f64 {
        let whole = young * (1.0 + constraint);
        match self {
            Self::Reciprocal => 1.0 / (1.0 / whole + 1.0 / bulk),
            Self::FourThirds => 1.0 / (1.0 / whole + 4.0 / (3.0 * bulk)),
            Self::Exact => young + disc_pressure_modulus(young * constraint, bulk),
            Self::Incompressible => whole,
        }
    }
}

/// Exact Ec of the pressure equation of a disc, Pa, whose Ec without compressibility is
/// `incompressible` (6 G S^2): K (1 - 2 I1(b) / (b I0(b))) = K I2(b) / I0(b), b^2 = 8 Ec0 / K.
pub fn disc_pressure_modulus(incompressible: f64, bulk: f64) -> f64 {
    let b = (8.0 * incompressible / bulk).sqrt();
    if b == 0.0 { 0.0 } else { bulk * bessel_ratio(0, b) * bessel_ratio(1, b) }
}

/// I_{n+1}(b) / I_n(b) by its continued fraction, backward: 1 / (2 (n+1) / b + ratio of the next).
fn bessel_ratio(n: u32, b: f64) -> f64 {
    // Beyond order 2 b the ratios fall below 1/4 and the start is forgotten.
    let depth = 40 + (2.0 * b).min(1e5) as u32;
    (0..depth).rev().fold(0.0, |next, i| 1.0 / (2.0 * f64::from(n + i + 1) / b + next))
}
