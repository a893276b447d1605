//! Which free vibrations does a system have? The roots and vectors behind modes and transients.
//!
//! Real modes of K and M (M = L L'; Phi' M Phi = I, Phi' K Phi = Omega^2) give coordinates eta,
//! x = Phi eta, in which the state z = (W eta, eta') with W = Omega has the matrix
//!
//! A = [ 0, W; -(Omega^2 + jH) W^-1, -C ]   (C, H now in modal coordinates),
//!
//! well scaled however far apart the frequencies are. Its 2n eigenvalues are the roots s of
//! M s^2 + C s + K + jH. Where C and H are diagonal, so that the modes are uncoupled, they are
//! written down; where each mode leads Newton to a root of its own, they are found so
//! ([`crate::lanes::poles`]).
//!
//! Source: textbook, e.g. L. Meirovitch, Fundamentals of Vibrations, 2001, sections 4.7 to 4.10
//! (from memory).

use faer::Mat;
use nalgebra::{DMatrix, DVector, linalg::SymmetricEigen};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::fmt;

use crate::error::{Error, Result};
use crate::lanes::instruction_set;
use crate::lanes::poles::Poles;
use crate::system::Linear;

/// Growth relative to |s| that passes as rounding.
const GROWTH: f64 = 1e-6;

/// What stands for the damping in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum TimeModel {
    /// No loss factor: mass, springs and dashpots as given.
    Viscous,
    /// Hysteretic roots above the real axis and their conjugates.
    ModalContinuation,
    /// Loss factors as dashpots, tuned in each mode to its natural frequency.
    EquivalentViscous,
    /// Laws of springs and dashpots by their internal variables, exactly.
    InternalVariables,
    /// The same beside loss factors, which become dashpots in each mode.
    InternalVariablesWithDashpots,
    /// Laws as they are, by Fourier transform: sampled and limited to a band.
    Fourier,
    /// Modes alone: laws as they are, by iteration on each root.
    Iterated,
}

impl fmt::Display for TimeModel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Viscous => "viscous damping as given",
            Self::ModalContinuation => "causal modal continuation of the loss factors",
            Self::EquivalentViscous => "equivalent viscous damping in each mode",
            Self::InternalVariables => "internal variables of the laws",
            Self::InternalVariablesWithDashpots => {
                "internal variables of the laws, loss factors as equivalent viscous damping in \
                 each mode"
            }
            Self::Fourier => "Fourier transform of the laws as they are, sampled and band-limited",
            Self::Iterated => "laws as they are, by iteration on each root",
        })
    }
}

/// Real modes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RealModes {
    /// Phi, mass-normalized.
    pub phi: DMatrix<f64>,
    /// Phi^-1 = Phi' M.
    pub inverse: DMatrix<f64>,
    /// Omega ascending, rad/s; zero for a free motion.
    pub omega: Vec<f64>,
    /// W: Omega, but never so small that the scaling would spoil the state matrix.
    pub scale: Vec<f64>,
}

/// A root s with its vector in the coordinates eta.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Root {
    pub s: Complex64,
    pub eta: DVector<Complex64>,
}

impl RealModes {
    pub fn new(linear: &Linear) -> Result<Self> {
        let l = linear.m.clone().cholesky().ok_or_else(|| {
            Error::invalid(
                "mass",
                "the mass matrix",
                "must be positive definite",
                "give every body a mass and moments of inertia greater than zero",
            )
        })?;
        let l_inverse = l.l().try_inverse().unwrap_or_else(|| DMatrix::zeros(0, 0));
        let a = &l_inverse * &linear.k * l_inverse.transpose();
        let eigen = SymmetricEigen::new((&a + a.transpose()) * 0.5);
        let n = linear.size();
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by(|&i, &j| eigen.eigenvalues[i].total_cmp(&eigen.eigenvalues[j]));
        let columns: Vec<_> = order.iter().map(|&i| eigen.eigenvectors.column(i)).collect();
        let phi = l_inverse.transpose() * DMatrix::from_columns(&columns);
        let omega = frequencies(order.iter().map(|&i| eigen.eigenvalues[i]))?;
        let greatest = omega.iter().fold(0.0_f64, |a, &b| a.max(b));
        let floor = if greatest > 0.0 { 1e-4 * greatest } else { 1.0 };
        let scale = omega.iter().map(|&w| if w > 1e-6 * greatest { w } else { floor }).collect();
        Ok(Self { inverse: phi.transpose() * &linear.m, phi, omega, scale })
    }

    /// Phi' a Phi.
    pub fn project(&self, a: &DMatrix<f64>) -> DMatrix<f64> {
        self.phi.transpose() * a * &self.phi
    }

    /// State z = (W eta, eta') of a root's vector.
    pub fn state(&self, root: &Root) -> DVector<Complex64> {
        let n = self.omega.len();
        DVector::from_fn(2 * n, |i, _| {
            if i < n { root.eta[i] * self.scale[i] } else { root.eta[i - n] * root.s }
        })
    }

    /// State matrix A without hysteresis; `c` is in modal coordinates.
    pub fn state_matrix(&self, c: &DMatrix<f64>) -> DMatrix<f64> {
        let n = self.omega.len();
        let mut a = DMatrix::zeros(2 * n, 2 * n);
        for i in 0..n {
            a[(i, n + i)] = self.scale[i];
            a[(n + i, i)] = -self.omega[i] * self.omega[i] / self.scale[i];
        }
        a.view_mut((n, n), (n, n)).copy_from(&-c);
        a
    }

    /// All 2n roots of s^2 + C s + Omega^2, those of complex pairs by the one above the real axis
    /// only; `c` in modal coordinates, symmetric or not.
    pub fn viscous_roots(&self, c: &DMatrix<f64>) -> Result<Vec<Root>> {
        if self.uncoupled(c, 1) {
            return Ok(self.uncoupled_roots(c, None));
        }
        let n = self.omega.len();
        let a = self.state_matrix(c);
        let eigen = Mat::<f64>::from_fn(2 * n, 2 * n, |i, j| a[(i, j)]).eigen();
        let eigen = eigen.map_err(|_| not_converged())?;
        Ok(self.collect(eigen.S().column_vector().iter(), eigen.U(), |s| s.im >= 0.0))
    }

    /// The roots of s^2 + C s + Omega^2 + jH above the real axis, or none if there are not n.
    pub fn hysteretic_roots(
        &self,
        c: &DMatrix<f64>,
        h: &DMatrix<f64>,
    ) -> Result<Option<Vec<Root>>> {
        let n = self.omega.len();
        let roots = if self.uncoupled(c, 1) && self.uncoupled(h, 2) {
            self.uncoupled_roots(c, Some(h))
        } else {
            let a = self.state_matrix(c);
            let entry = |i: usize, j: usize| {
                let im = if i >= n && j < n { -h[(i - n, j)] / self.scale[j] } else { 0.0 };
                Complex64::new(a[(i, j)], im)
            };
            let eigen = Mat::<Complex64>::from_fn(2 * n, 2 * n, entry).eigen();
            let eigen = eigen.map_err(|_| not_converged())?;
            self.collect(eigen.S().column_vector().iter(), eigen.U(), |_| true)
        };
        let above: Vec<Root> = roots.into_iter().filter(|r| r.s.im > 1e-9 * r.s.norm()).collect();
        Ok((above.len() == n).then_some(above))
    }

    /// As [`Self::hysteretic_roots`], none if they do not describe the motion: where dashpots alone
    /// let a mode creep back, half of it would be lost.
    pub fn continued_roots(&self, c: &DMatrix<f64>, h: &DMatrix<f64>) -> Result<Option<Vec<Root>>> {
        let creeps =
            || -> Result<bool> { Ok(self.viscous_roots(c)?.iter().any(|root| root.s.im == 0.0)) };
        if !self.surely_underdamped(c) && creeps()? {
            return Ok(None);
        }
        self.hysteretic_roots(c, h)
    }

    /// Roots of a system with what stands for its damping; those above the real axis, or on it.
    /// Roots that grow are refused: springs and dashpots that are not negative cannot cause them.
    pub fn damped_roots(&self, linear: &Linear) -> Result<(TimeModel, Vec<Root>)> {
        let found = self.roots_of(linear)?;
        match found.1.iter().find(|r| r.s.re > GROWTH * r.s.norm()) {
            None => Ok(found),
            Some(root) => Err(Error::NotConverged {
                what: "the damped eigenvalue problem".to_string(),
                detail: format!("root {:.4e} 1/s grows", root.s),
                remedy: "check stiffness and damping for extreme ratios".to_string(),
            }),
        }
    }

    /// Poles of s^2 + C s + Omega^2 + jH, in modal coordinates; none where they are not sure to be
    /// all.
    pub fn poles(&self, c: &DMatrix<f64>, h: &DMatrix<f64>) -> Result<Option<Poles>> {
        if self.omega.contains(&0.0) {
            return Ok(None);
        }
        Ok(Poles::new(instruction_set()?, &self.omega, c, h))
    }

    fn roots_of(&self, linear: &Linear) -> Result<(TimeModel, Vec<Root>)> {
        let c = self.project(&linear.c);
        let hysteretic = linear.is_hysteretic();
        let h =
            if hysteretic { self.project(&linear.h) } else { DMatrix::zeros(c.nrows(), c.nrows()) };
        let apart = self.uncoupled(&c, 1) && self.uncoupled(&h, 2);
        if !apart
            && self.surely_underdamped(&c)
            && let Some(poles) = self.poles(&c, &h)?
        {
            let model = if hysteretic { TimeModel::ModalContinuation } else { TimeModel::Viscous };
            let above = poles.pairs.into_iter().map(|[p, _]| Root { s: p.s, eta: p.vector });
            return Ok((model, above.collect()));
        }
        if !hysteretic {
            return Ok((TimeModel::Viscous, self.viscous_roots(&c)?));
        }
        if let Some(roots) = self.continued_roots(&c, &h)? {
            return Ok((TimeModel::ModalContinuation, roots));
        }
        let c_e = c + self.loss_damping(&h);
        Ok((TimeModel::EquivalentViscous, self.viscous_roots(&c_e)?))
    }

    /// Loss factors as dashpots in modal coordinates, H Omega^-1.
    pub fn loss_damping(&self, h: &DMatrix<f64>) -> DMatrix<f64> {
        h * self.over_omega()
    }

    /// Omega^-1; a free motion has no hysteretic damping.
    pub fn over_omega(&self) -> DMatrix<f64> {
        let inverse = |w: &f64| if *w > 0.0 { 1.0 / w } else { 0.0 };
        DMatrix::from_diagonal(&DVector::from_iterator(
            self.omega.len(),
            self.omega.iter().map(inverse),
        ))
    }

    fn collect<'a>(
        &self,
        values: impl Iterator<Item = &'a Complex64>,
        vectors: faer::MatRef<'_, Complex64>,
        keep: impl Fn(Complex64) -> bool,
    ) -> Vec<Root> {
        let n = self.omega.len();
        let vector = |s: Complex64, column: usize| {
            // The greater half of (W eta, s eta) gives eta with fewer lost digits.
            let eta = |i: usize| {
                if s.norm() > self.scale[i] {
                    vectors[(n + i, column)] / s
                } else {
                    vectors[(i, column)] / self.scale[i]
                }
            };
            DVector::from_fn(n, |i, _| eta(i))
        };
        let kept = values.enumerate().filter(|(_, s)| keep(**s));
        kept.map(|(i, &s)| Root { s, eta: vector(s, i) }).collect()
    }

    /// Off-diagonal terms are rounding.
    fn uncoupled(&self, a: &DMatrix<f64>, power: i32) -> bool {
        let size = |i: usize| self.scale[i].powi(power).sqrt();
        let n = self.omega.len();
        let small = |i: usize, j: usize| a[(i, j)].abs() <= 1e-14 * size(i) * size(j);
        (0..n).all(|i| (0..n).all(|j| i == j || small(i, j)))
    }

    /// s = -c/2 +- sqrt(c^2/4 - omega^2 - jh) of each mode.
    fn uncoupled_roots(&self, c: &DMatrix<f64>, h: Option<&DMatrix<f64>>) -> Vec<Root> {
        let n = self.omega.len();
        let mut roots = Vec::with_capacity(2 * n);
        for i in 0..n {
            let unit = DVector::from_fn(n, |k, _| Complex64::from(f64::from(u8::from(k == i))));
            let k = Complex64::new(self.omega[i] * self.omega[i], h.map_or(0.0, |h| h[(i, i)]));
            let half = 0.5 * c[(i, i)];
            let square = half * half - k;
            let push = |roots: &mut Vec<Root>, s| roots.push(Root { s, eta: unit.clone() });
            if square.im == 0.0 && square.re >= 0.0 {
                // Both real; the smaller by the product s1 s2 = k, not by a difference.
                let greater = -(half + square.re.sqrt() * half.signum());
                push(&mut roots, Complex64::from(greater));
                let less = if greater == 0.0 { 0.0 } else { k.re / greater };
                push(&mut roots, Complex64::from(less));
            } else {
                let mut root = square.sqrt();
                if root.im < 0.0 {
                    root = -root;
                }
                push(&mut roots, root - half);
            }
        }
        roots
    }

    /// True if it is certain that C lets every mode swing: 2 Omega - C is positive definite.
    /// D. J. Inman and A. N. Andry, J. Appl. Mech. 47 (1980), p. 927 (from memory).
    pub fn surely_underdamped(&self, c: &DMatrix<f64>) -> bool {
        let two_omega =
            DVector::from_iterator(self.omega.len(), self.omega.iter().map(|w| 2.0 * w));
        (DMatrix::from_diagonal(&two_omega) - c).cholesky().is_some()
    }
}

/// Square roots, ascending; rounding about zero is zero, a negative stiffness is an error.
fn frequencies(squares: impl Iterator<Item = f64>) -> Result<Vec<f64>> {
    let squares: Vec<f64> = squares.collect();
    let greatest = squares.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    if !greatest.is_finite() {
        return Err(Error::invalid(
            "stiffness",
            "the stiffness matrix",
            "must be finite",
            "check the stiffness of the elements and the masses",
        ));
    }
    let least = squares.first().copied().unwrap_or(0.0);
    if least < -1e-10 * greatest {
        return Err(Error::Unstable {
            reason: format!("one mode has a negative stiffness, omega^2 = {least:.4e} rad^2/s^2"),
            remedy: "check the stiffness of the mounts and the height of the center of mass"
                .to_string(),
        });
    }
    let root = |&s: &f64| if s > 1e-14 * greatest { s.sqrt() } else { 0.0 };
    Ok(squares.iter().map(root).collect())
}

fn not_converged() -> Error {
    Error::NotConverged {
        what: "the eigenvalues of the state matrix".to_string(),
        detail: "the QR iteration stopped".to_string(),
        remedy: "check mass, stiffness and damping for values that are far apart".to_string(),
    }
}
