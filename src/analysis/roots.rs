//! Which damped vibrations are free to happen? Roots s and vectors phi of
//!
//! (M s^2 + C s + K + j H) phi = 0.
//!
//! Solved in the undamped modal coordinates q (x = Phi q), with the state (Omega q, q') whose
//! matrix [[0, Omega], [-Omega - j H' Omega^-1, -C']] is well balanced and, without damping,
//! skew-symmetric.
//!
//! - H = 0: the 2 n roots of a real system; conjugate pairs, or real where overdamped.
//! - H > 0: n roots lie in the upper half plane and describe motion at positive frequency, as
//!   e^{+j omega t} does; the other n belong to -j H and are left out. Together with their
//!   conjugates the upper roots make the causal modal continuation: one degree of freedom has
//!   s = j omega sqrt(1 + j eta).
//!
//! Where damping does not couple the undamped modes (one loss factor everywhere, damping in
//! proportion to stiffness) each mode has its own quadratic and no iteration is needed.
//!
//! Source: D. J. Inman, Vibration with Control, 2006, section 2.3 (from memory) for the state
//! form; eigenvectors of the nonsymmetric matrix by the `faer` crate.

use faer::{Mat, c64};
use nalgebra::{DMatrix, DVector, SymmetricEigen};
use num_complex::Complex64;

use crate::error::{Error, Result};
use crate::system::Linear;

/// Growth relative to |s| that passes as rounding.
const GROWTH: f64 = 1e-6;

/// Undamped modes: omega (rad/s) ascending, mass-normalized vectors as columns (Phi' M Phi = 1),
/// each with its largest entry positive.
#[derive(Debug, Clone, PartialEq)]
pub struct Undamped {
    /// Angular natural frequency, rad/s.
    pub omega: DVector<f64>,
    /// Phi, n x n.
    pub shape: DMatrix<f64>,
}

/// Solves K phi = omega^2 M phi.
///
/// # Errors
/// [`Error::NotConverged`] if M is not positive definite or the iteration fails.
pub fn undamped(m: &DMatrix<f64>, k: &DMatrix<f64>) -> Result<Undamped> {
    let failed = |detail: &str| Error::NotConverged {
        what: "the undamped eigenvalue problem".into(),
        detail: detail.into(),
        remedy: "check masses and stiffnesses for extreme ratios".into(),
    };
    let n = m.nrows();
    // M = L L', A = L^-1 K L^-T.
    let l = m.clone().cholesky().ok_or_else(|| failed("the mass matrix is singular"))?.unpack();
    let half = l.solve_lower_triangular(k).ok_or_else(|| failed("singular mass"))?;
    let a = l.solve_lower_triangular(&half.transpose()).ok_or_else(|| failed("singular mass"))?;
    let a = (&a + a.transpose()) * 0.5;
    let eigen = SymmetricEigen::try_new(a, f64::EPSILON, 1000)
        .ok_or_else(|| failed("no convergence in 1000 steps"))?;
    let vectors =
        l.tr_solve_lower_triangular(&eigen.eigenvectors).ok_or_else(|| failed("singular mass"))?;

    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| eigen.eigenvalues[a].total_cmp(&eigen.eigenvalues[b]));
    let omega = DVector::from_fn(n, |i, _| eigen.eigenvalues[order[i]].max(0.0).sqrt());
    let mut shape = DMatrix::from_fn(n, n, |i, j| vectors[(i, order[j])]);
    for mut column in shape.column_iter_mut() {
        if column[column.icamax()] < 0.0 {
            column.neg_mut();
        }
    }
    Ok(Undamped { omega, shape })
}

/// Roots s (1/s) and their vectors phi as columns of an n x (number of roots) matrix, the largest
/// entry of each vector made 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Roots {
    /// s, 1/s: sorted by magnitude, lower half plane before upper.
    pub value: Vec<Complex64>,
    /// phi.
    pub shape: DMatrix<Complex64>,
}

impl Roots {
    /// Those in the upper half plane (positive frequency).
    #[must_use]
    pub fn upper(&self) -> Self {
        self.keep(|s| s.im > 0.0)
    }

    /// Real roots: overdamped motion that creeps back without swinging.
    #[must_use]
    pub fn real(&self) -> Self {
        self.keep(|s| s.im == 0.0)
    }

    fn keep(&self, wanted: impl Fn(Complex64) -> bool) -> Self {
        let index: Vec<_> = (0..self.value.len()).filter(|&i| wanted(self.value[i])).collect();
        let value = index.iter().map(|&i| self.value[i]).collect();
        Self { value, shape: self.shape.select_columns(&index) }
    }
}

/// The 2 n roots of the viscous system M s^2 + C s + K (loss factors left out).
///
/// # Errors
/// [`Error::NotConverged`]; also if K is singular.
pub fn viscous(linear: &Linear, modes: &Undamped) -> Result<Roots> {
    let n = linear.size();
    let omega = &modes.omega;
    let c = in_modes(&linear.c, modes);
    if is_diagonal(&c) {
        let pairs = (0..n).map(|i| quadratic(c[(i, i)], Complex64::from(omega[i] * omega[i])));
        let values: Vec<_> = pairs.flatten().collect();
        return Ok(collect(&values, |i, j| unit(i == j / 2) * omega[i], modes));
    }
    let state = Mat::from_fn(2 * n, 2 * n, |i, j| match (i < n, j < n) {
        (true, true) => 0.0,
        (true, false) => {
            if j - n == i {
                omega[i]
            } else {
                0.0
            }
        }
        (false, true) => {
            if i - n == j {
                -omega[j]
            } else {
                0.0
            }
        }
        (false, false) => -c[(i - n, j - n)],
    });
    let eigen = state.eigen().map_err(|e| not_converged(&format!("{e:?}")))?;
    let values = (0..2 * n).map(|i| eigen.S()[i]).collect::<Vec<_>>();
    none_grows(collect(&values, |i, j| eigen.U()[(i, j)], modes))
}

/// The n roots in the upper half plane of M s^2 + C s + K + j H.
///
/// # Errors
/// [`Error::NotConverged`]; also if K is singular or H vanishes in an overdamped direction.
pub fn continued(linear: &Linear, modes: &Undamped) -> Result<Roots> {
    let n = linear.size();
    let omega = &modes.omega;
    let (c, h) = (in_modes(&linear.c, modes), in_modes(&linear.h, modes));
    if is_diagonal(&c) && is_diagonal(&h) {
        let stiffness = |i: usize| Complex64::new(omega[i] * omega[i], h[(i, i)]);
        let pairs = (0..n).map(|i| quadratic(c[(i, i)], stiffness(i)));
        let values: Vec<_> = pairs.flatten().collect();
        return all_upper(collect(&values, |i, j| unit(i == j / 2) * omega[i], modes), n);
    }
    let state = Mat::<c64>::from_fn(2 * n, 2 * n, |i, j| match (i < n, j < n) {
        (true, true) => Complex64::ZERO,
        (true, false) => Complex64::from(if j - n == i { omega[i] } else { 0.0 }),
        (false, true) => {
            let k = if i - n == j { omega[j] } else { 0.0 };
            -Complex64::new(k, h[(i - n, j)] / omega[j])
        }
        (false, false) => Complex64::from(-c[(i - n, j - n)]),
    });
    let eigen = state.eigen().map_err(|e| not_converged(&format!("{e:?}")))?;
    let values = (0..2 * n).map(|i| eigen.S()[i]).collect::<Vec<_>>();
    none_grows(all_upper(collect(&values, |i, j| eigen.U()[(i, j)], modes), n)?)
}

/// Springs and dampers cannot make a motion grow: a root that does is the rounding of roots many
/// orders of magnitude larger.
fn none_grows(roots: Roots) -> Result<Roots> {
    match roots.value.iter().find(|s| s.re > GROWTH * s.norm()) {
        None => Ok(roots),
        Some(s) => Err(not_converged(&format!("a root at {s} 1/s would grow"))),
    }
}

fn all_upper(roots: Roots, n: usize) -> Result<Roots> {
    let upper = roots.upper();
    if upper.value.len() == n {
        Ok(upper)
    } else {
        Err(not_converged(&format!("{} of {n} roots at positive frequency", upper.value.len())))
    }
}

/// Phi' A Phi.
fn in_modes(a: &DMatrix<f64>, modes: &Undamped) -> DMatrix<f64> {
    modes.shape.transpose() * a * &modes.shape
}

/// True if the off-diagonal terms are nothing but rounding.
fn is_diagonal(a: &DMatrix<f64>) -> bool {
    let n = a.nrows();
    let scale = |i: usize, j: usize| (a[(i, i)] * a[(j, j)]).abs().sqrt();
    (0..n).all(|i| (0..i).all(|j| a[(i, j)].abs() <= 1e-12 * scale(i, j)))
}

/// Roots of s^2 + c s + k, without cancellation.
fn quadratic(c: f64, k: Complex64) -> [Complex64; 2] {
    let root = (Complex64::from(c * c) - 4.0 * k).sqrt();
    // The principal square root has a real part >= 0, so this sum does not cancel.
    let large = -(root + c) / 2.0;
    let small = if large == Complex64::ZERO { large } else { k / large };
    [large, small]
}

fn unit(yes: bool) -> Complex64 {
    Complex64::from(if yes { 1.0 } else { 0.0 })
}

/// Back to the degrees of freedom, sorted and scaled.
fn collect(
    values: &[Complex64],
    vector: impl Fn(usize, usize) -> Complex64,
    modes: &Undamped,
) -> Roots {
    let n = modes.omega.len();
    let mut order: Vec<usize> = (0..values.len()).collect();
    let size = |i: usize| values[i].norm();
    order.sort_by(|&a, &b| size(a).total_cmp(&size(b)).then(values[a].im.total_cmp(&values[b].im)));
    let shape = modes.shape.map(Complex64::from);
    let mut phi = DMatrix::zeros(n, order.len());
    for (column, &j) in order.iter().enumerate() {
        let q = DVector::from_fn(n, |i, _| vector(i, j) / modes.omega[i]);
        let x = &shape * q;
        let largest = x.iter().copied().max_by(|a, b| a.norm().total_cmp(&b.norm()));
        let x = x / largest.unwrap_or(Complex64::ONE);
        phi.set_column(column, &x);
    }
    Roots { value: order.iter().map(|&i| values[i]).collect(), shape: phi }
}

fn not_converged(detail: &str) -> Error {
    Error::NotConverged {
        what: "the damped eigenvalue problem".into(),
        detail: detail.into(),
        remedy: "check stiffness and damping for extreme ratios".into(),
    }
}
