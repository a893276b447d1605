//! How stiff is rubber of a hardness? E0, G, phi and K from IRHD, and how far the routes differ.
//!
//! Default: the table of P. B. Lindley, Engineering Design with Natural Rubber (4th ed. 1978), also in
//! P. K. Freakley and A. R. Payne, Theory and Practice of Engineering with Rubber (1978); from memory,
//! two rows seen quoted elsewhere (E there within 2.3 %, phi equal). Linear between its rows, for
//! natural rubber with a filler above 48 IRHD.
//!
//! Other routes to E0 alone:
//! - Gent (1958, seen): E = 0.0981 (56 + 7.62336 S) / (0.137505 (254 - 2.54 S)) MPa, 20 < S < 99;
//! - Ruess (from memory): log10 E = 0.0235 S - 0.6403, MPa;
//! - probit of ISO 48 / ASTM D1415 (from memory): IRHD = 100 Phi((log10 M - 0.364) / 0.7), M in MPa.
//!
//! S is Shore A, taken as IRHD (common practice between 30 and 80). G, phi and K stay those of the
//! table: above 50 IRHD E0/G is 4.0 to 4.3, not 3 (a filler stiffens small strains most), so none is
//! made from the other. At 60 the routes give 3.5, 3.6, 4.45 and 5.9 MPa: a stiffness from hardness is
//! good to some 30 % until it is measured.

use std::f64::consts::{PI, SQRT_2};

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};

/// Rows of the table: IRHD, E0 (MPa), G (MPa), phi, K (MPa).
pub const TABLE: [[f64; 5]; 10] = [
    [30.0, 0.92, 0.30, 0.93, 1000.0],
    [35.0, 1.18, 0.37, 0.89, 1000.0],
    [40.0, 1.50, 0.45, 0.85, 1000.0],
    [45.0, 1.80, 0.54, 0.80, 1000.0],
    [50.0, 2.20, 0.64, 0.73, 1030.0],
    [55.0, 3.25, 0.81, 0.64, 1090.0],
    [60.0, 4.45, 1.06, 0.57, 1150.0],
    [65.0, 5.85, 1.37, 0.54, 1210.0],
    [70.0, 7.35, 1.73, 0.53, 1270.0],
    [75.0, 9.40, 2.22, 0.52, 1330.0],
];

/// Least and greatest hardness of the table, IRHD.
pub const RANGE: [f64; 2] = [TABLE[0][0], TABLE[TABLE.len() - 1][0]];

const MPA: f64 = 1e6;

/// Which route leads from hardness to E0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Route {
    /// The table (Lindley), the default.
    #[default]
    Table,
    /// Gent's formula.
    Gent,
    /// Ruess' formula.
    Ruess,
    /// The probit curve of ISO 48.
    Probit,
}

impl Route {
    /// All of them, with their names.
    pub const ALL: [(&'static str, Self); 4] = [
        ("table", Self::Table),
        ("gent", Self::Gent),
        ("ruess", Self::Ruess),
        ("probit", Self::Probit),
    ];
}

/// Elastic constants of a rubber at small strain.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Moduli {
    /// Young's modulus E0, Pa.
    pub young: f64,
    /// Shear modulus G, Pa.
    pub shear: f64,
    /// phi: what the filler leaves of the effect of the shape factor; 1 for unfilled rubber.
    pub phi: f64,
    /// Effective bulk modulus K for 1/Ea = 1/E + 1/K, Pa.
    pub bulk: f64,
}

/// Elastic constants of a hardness (IRHD), E0 by the route, the others from the table.
///
/// # Errors
/// [`Error::Invalid`] outside the table.
pub fn moduli(hardness: f64, route: Route) -> Result<Moduli> {
    let [low, high] = RANGE;
    if !(low..=high).contains(&hardness) {
        return Err(Error::invalid(
            "hardness",
            format!("{hardness} IRHD"),
            format!("must lie in the hardness table, {low} to {high} IRHD"),
            "give young_modulus, shear_modulus, phi and bulk_modulus as measured",
        ));
    }
    let row = |column: usize| {
        let i = TABLE.partition_point(|r| r[0] <= hardness).clamp(1, TABLE.len() - 1);
        let (a, b) = (&TABLE[i - 1], &TABLE[i]);
        let t = (hardness - a[0]) / (b[0] - a[0]);
        a[column] * (1.0 - t) + b[column] * t
    };
    let young = match route {
        Route::Table => row(1) * MPA,
        Route::Gent => gent(hardness),
        Route::Ruess => ruess(hardness),
        Route::Probit => probit(hardness),
    };
    Ok(Moduli { young, shear: row(2) * MPA, phi: row(3), bulk: row(4) * MPA })
}

/// Gent's E of a Shore A hardness, Pa.
pub fn gent(shore_a: f64) -> f64 {
    0.0981 * (56.0 + 7.62336 * shore_a) / (0.137505 * (254.0 - 2.54 * shore_a)) * MPA
}

/// Ruess' E of a Shore A hardness, Pa.
pub fn ruess(shore_a: f64) -> f64 {
    10f64.powf(0.0235 * shore_a - 0.6403) * MPA
}

/// M of ISO 48 for a hardness in IRHD (0 to 100, ends excluded), Pa.
pub fn probit(hardness: f64) -> f64 {
    10f64.powf(0.364 + 0.7 * normal_quantile(hardness / 100.0)) * MPA
}

/// Difference of the two indentations of ISO 48 at a hardness, m: F/M = 1.9 R^0.65 P^1.35 in N, MPa
/// and mm, ball of 2.5 mm, 0.30 N, then 5.40 N more (from memory).
pub fn indentation(hardness: f64) -> f64 {
    const BALL_RADIUS_MM: f64 = 1.25;
    const MINOR: f64 = 0.30;
    const TOTAL: f64 = 5.70;
    let m = probit(hardness) / MPA;
    let depth = |force: f64| (force / (m * 1.9 * BALL_RADIUS_MM.powf(0.65))).powf(1.0 / 1.35);
    (depth(TOTAL) - depth(MINOR)) * 1e-3
}

/// Shear modulus of what is not filled, E = 3 G, grows with the absolute temperature: factor on a
/// modulus at 20 C (theory of rubber elasticity). Filled rubber in motion softens instead.
pub fn entropy_factor(celsius: f64) -> f64 {
    (celsius + 273.15) / 293.15
}

/// x with Phi(x) = p, by Newton from a bisected start.
fn normal_quantile(p: f64) -> f64 {
    let below = |x: f64| 0.5 * libm::erfc(-x / SQRT_2);
    let (mut low, mut high) = (-10.0, 10.0);
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if below(middle) < p { low = middle } else { high = middle }
    }
    let mut x = 0.5 * (low + high);
    for _ in 0..4 {
        x -= (below(x) - p) * (2.0 * PI).sqrt() * (0.5 * x * x).exp();
    }
    x
}
