//! Which causal system stands for the given one in time, and the basis in which it is solved.
//!
//! Mass, springs and dashpots are causal as they stand. A loss factor is not: K + jH for all
//! omega > 0 would answer before it is struck. Two causal equivalents are used, each named in the
//! result with its error.
//!
//! 1. Modal continuation (default). The n roots s_k of M s^2 + C s + K + jH above the real axis
//!    and their vectors phi_k, with their conjugates, define a real causal system whose free
//!    vibration is the hysteretic one: x = 2 Re sum phi_k q_k, q_k' = s_k q_k + b_k f, with b from
//!    [Phi Phi*; Phi S Phi* S*] (b; b*) = (0; M^-1 g), so that motion starts from rest with the
//!    acceleration M^-1 g f. One degree of freedom has s = j omega sqrt(1 + j eta). An element's
//!    force is 2 Re sum (k + jh + s_k c) B' phi_k q_k, and M x'' + sum of B force = g f is exact.
//! 2. Equivalent viscous damping, where overdamped modes leave no such pairs or the vectors are
//!    nearly dependent: each real mode's part of the velocity, divided by that mode's omega, drives
//!    the hysteretic stiffness, force = k B'x + h B' Phi Omega^-1 Phi^-1 x' + c B'x'. Each mode gets
//!    the damping ratio eta/2, forces stay those of ports (action equals reaction), and equilibrium
//!    is exact.
//!
//! Error stated: the greatest relative difference, in the spectral norm and mass-normalized modal
//! coordinates, between the dynamic stiffness of the equivalent and K + jH + j omega C, over the
//! band from the lowest to the highest mode (at each natural frequency and half way between).
//!
//! Source: S. H. Crandall, The role of damping in vibration theory, J. Sound Vib. 11 (1970), on
//! causality (from memory); the two equivalents are derived here.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::{SQRT_2, TAU};

use super::super::memory::Memory;
use super::super::roots::{RealModes, Root, TimeModel};
use super::internal;
use super::propagator::{Dense, Modal, Propagator};
use crate::error::{Error, Result};
use crate::system::Linear;

/// Condition number of the hysteretic modes beyond which they are no basis.
pub(super) const WORST_CONDITION: f64 = 1e6;
/// The same for viscous modes, where the matrix exponential stands ready: so many digits are lost.
const FAIR_CONDITION: f64 = 1e4;

/// A causal system in the coordinates u of a [`Propagator`]; every matrix is n x size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Basis {
    pub propagator: Propagator,
    pub displacement: DMatrix<f64>,
    pub velocity: DMatrix<f64>,
    /// Without the part M^-1 g f.
    pub acceleration: DMatrix<f64>,
    /// M^-1 g, one column for each load.
    pub feed: DMatrix<f64>,
    /// What the hysteretic stiffness multiplies, m: force = k B'x + h B'(loss) + c B'x'.
    pub loss: Option<DMatrix<f64>>,
    /// Internal variables of the laws: a branch of one of these relaxation times at a port b
    /// carries k (b'x - b'rows u).
    pub memory: Vec<Remembered>,
    /// State at the start.
    pub start: Vec<f64>,
    /// Roots; of a pair the one above the real axis, 1/s.
    pub roots: Vec<Complex64>,
}

/// The internal variables of one relaxation time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Remembered {
    /// s.
    pub time: f64,
    /// n x size, m.
    pub rows: DMatrix<f64>,
}

pub(super) fn remembered(time: f64, rows: DMatrix<f64>) -> Remembered {
    Remembered { time, rows }
}

/// Everything that is known before a load is applied.
pub(super) struct Solved {
    pub basis: Basis,
    pub model: TimeModel,
    pub error: f64,
    /// Lowest and highest natural frequency, Hz.
    pub band: [f64; 2],
}

/// Solve the system for the load directions, the columns of g, and the initial displacement and
/// velocity.
pub(super) fn solve(
    linear: &Linear,
    g: &DMatrix<f64>,
    x0: &DVector<f64>,
    v0: &DVector<f64>,
) -> Result<Solved> {
    if let Some(memory) =
        linear.is_frequency_dependent().then(|| Memory::new(linear)).transpose()?
    {
        let memory = memory.ok_or_else(|| not_states(linear))?;
        return internal::solve(linear, &memory, g, x0, v0);
    }
    let modes = RealModes::new(linear)?;
    let c = modes.project(&linear.c);
    let input = modes.phi.transpose() * g;
    let (eta0, rate0) = (&modes.inverse * x0, &modes.inverse * v0);
    let job = Job { modes: &modes, input: &input, eta0: &eta0, rate0: &rate0 };
    let band = band(&modes.omega);
    if !linear.is_hysteretic() {
        let basis = job.viscous(&c)?;
        return Ok(Solved { basis, model: TimeModel::Viscous, error: 0.0, band });
    }
    let h = modes.project(&linear.h);
    if let Some((basis, [k_e, c_e])) = job.continuation(&c, &h)? {
        let error = model_error(&modes, &c, &h, &k_e, &c_e);
        return Ok(Solved { basis, model: TimeModel::ModalContinuation, error, band });
    }
    let c_e = &c + modes.loss_damping(&h);
    let mut basis = job.viscous(&c_e)?;
    let over_omega = modes.over_omega();
    basis.loss = Some(&modes.phi * over_omega * &modes.inverse * &basis.velocity);
    let k = DMatrix::from_fn(c.nrows(), c.nrows(), |i, j| {
        if i == j { modes.omega[i] * modes.omega[i] } else { 0.0 }
    });
    let error = model_error(&modes, &c, &h, &k, &c_e);
    Ok(Solved { basis, model: TimeModel::EquivalentViscous, error, band })
}

struct Job<'a> {
    modes: &'a RealModes,
    /// Phi' g.
    input: &'a DMatrix<f64>,
    eta0: &'a DVector<f64>,
    rate0: &'a DVector<f64>,
}

impl Job<'_> {
    fn viscous(&self, c: &DMatrix<f64>) -> Result<Basis> {
        let roots = self.normalized(&self.modes.viscous_roots(c)?);
        check_stable(roots.iter().map(|root| root.s))?;
        match self.modal_basis(&roots, FAIR_CONDITION) {
            Some((basis, _)) => Ok(basis),
            None => Ok(self.dense_basis(c, &roots)),
        }
    }

    /// Basis and the modal K and C of the causal system; none if it is not defined.
    fn continuation(
        &self,
        c: &DMatrix<f64>,
        h: &DMatrix<f64>,
    ) -> Result<Option<(Basis, [DMatrix<f64>; 2])>> {
        let Some(roots) = self.modes.continued_roots(c, h)? else {
            return Ok(None);
        };
        let roots = self.normalized(&roots);
        check_stable(roots.iter().map(|root| root.s))?;
        let Some((mut basis, inverse)) = self.modal_basis(&roots, WORST_CONDITION) else {
            return Ok(None);
        };
        let turned = self.shapes(&roots, |root| Complex64::I * weight(root.s));
        basis.loss = Some(&self.modes.phi * turned);
        let equivalent = self.equivalent(&roots, &inverse);
        Ok(Some((basis, equivalent)))
    }

    /// Columns Re and -Im of factor eta_k, n x 2m.
    fn shapes(&self, roots: &[Root], factor: impl Fn(&Root) -> Complex64) -> DMatrix<f64> {
        let (n, m) = (self.modes.omega.len(), roots.len());
        let mut out = DMatrix::zeros(n, 2 * m);
        for (k, root) in roots.iter().enumerate() {
            let f = factor(root);
            for i in 0..n {
                let value = root.eta[i] * f;
                (out[(i, k)], out[(i, m + k)]) = (value.re, -value.im);
            }
        }
        out
    }

    /// Basis of modes (normalized roots) and the inverse of its matrix of states; none if it is
    /// ill-conditioned.
    fn modal_basis(&self, unit: &[Root], worst: f64) -> Option<(Basis, DMatrix<f64>)> {
        let n = self.modes.omega.len();
        let states = self.states(unit);
        if states.ncols() != 2 * n {
            return None;
        }
        let inverse = states.clone().try_inverse()?;
        let condition = states.norm() * inverse.norm();
        if condition.is_nan() || condition > worst {
            return None;
        }
        let spread = |z: DVector<f64>| {
            let once = &inverse * &z;
            let twice = &once + &inverse * (&z - &states * &once);
            self.unpack(unit, &twice)
        };
        let still = DVector::zeros(n);
        let inputs = self.input.column_iter();
        let inputs = inputs.map(|b| spread(self.stack(&still, &b.into_owned()))).collect();
        let start = spread(self.stack(self.eta0, self.rate0));
        let phi = &self.modes.phi;
        let basis = Basis {
            displacement: phi * self.shapes(unit, |r| weight(r.s).into()),
            velocity: phi * self.shapes(unit, |r| r.s * weight(r.s)),
            acceleration: phi * self.shapes(unit, |r| r.s * r.s * weight(r.s)),
            feed: phi * self.input,
            loss: None,
            memory: Vec::new(),
            start: start.iter().map(|q| q.re).chain(start.iter().map(|q| q.im)).collect(),
            roots: unit.iter().map(|root| root.s).collect(),
            propagator: Propagator::Modal(Modal::new(
                unit.iter().map(|root| root.s).collect(),
                inputs,
            )),
        };
        Some((basis, inverse))
    }

    /// The same roots with states of length one.
    fn normalized(&self, roots: &[Root]) -> Vec<Root> {
        let one = |root: &Root| {
            let length = self.modes.state(root).norm();
            let mut unit = Root { s: root.s, eta: &root.eta / Complex64::from(length) };
            if root.s.im == 0.0 {
                // The vector of a real root is real but for a factor.
                let heavier = |a: &Complex64, b: &Complex64| a.norm().total_cmp(&b.norm());
                let greatest = unit.eta.iter().copied().max_by(heavier);
                let turn = greatest.map_or(Complex64::from(1.0), |z| z.conj() / z.norm());
                unit.eta.iter_mut().for_each(|z| *z = Complex64::from((*z * turn).re));
            }
            unit
        };
        roots.iter().map(one).collect()
    }

    /// 2n x 2n: z = states (Re q, Im q of each pair; q of each real root).
    fn states(&self, roots: &[Root]) -> DMatrix<f64> {
        let mut columns = Vec::with_capacity(2 * self.modes.omega.len());
        for root in roots {
            let state = self.modes.state(root) * Complex64::from(weight(root.s));
            columns.push(state.map(|z| z.re));
            if root.s.im != 0.0 {
                columns.push(state.map(|z| -z.im));
            }
        }
        if columns.is_empty() { DMatrix::zeros(0, 0) } else { DMatrix::from_columns(&columns) }
    }

    fn unpack(&self, roots: &[Root], packed: &DVector<f64>) -> Vec<Complex64> {
        let mut next = packed.iter().copied();
        let mut take = || next.next().unwrap_or(0.0);
        let one = |root: &Root| {
            let re = take();
            Complex64::new(re, if root.s.im == 0.0 { 0.0 } else { take() })
        };
        roots.iter().map(one).collect()
    }

    /// State z = (W eta, eta').
    fn stack(&self, eta: &DVector<f64>, rate: &DVector<f64>) -> DVector<f64> {
        let n = eta.len();
        let entry = |i: usize| if i < n { eta[i] * self.modes.scale[i] } else { rate[i - n] };
        DVector::from_fn(2 * n, |i, _| entry(i))
    }

    /// What each load adds to the rate of change of the state.
    fn inputs(&self) -> DMatrix<f64> {
        let (n, loads) = self.input.shape();
        let mut b = DMatrix::zeros(2 * n, loads);
        b.rows_mut(n, n).copy_from(self.input);
        b
    }

    /// The state matrix itself, for modes that are no basis.
    fn dense_basis(&self, c: &DMatrix<f64>, roots: &[Root]) -> Basis {
        let n = self.modes.omega.len();
        let phi = &self.modes.phi;
        let a = self.modes.state_matrix(c);
        let growth = ((&a + a.transpose()) * 0.5).symmetric_eigenvalues().max();
        let mut displacement = DMatrix::zeros(n, 2 * n);
        for i in 0..n {
            displacement.set_column(i, &(phi.column(i) / self.modes.scale[i]));
        }
        let mut velocity = DMatrix::zeros(n, 2 * n);
        velocity.columns_mut(n, n).copy_from(phi);
        let scale = a.norm();
        Basis {
            displacement,
            velocity,
            acceleration: phi * a.rows(n, n),
            feed: phi * self.input,
            loss: None,
            memory: Vec::new(),
            start: self.stack(self.eta0, self.rate0).iter().copied().collect(),
            roots: roots.iter().map(|root| root.s).collect(),
            propagator: Propagator::Dense(Dense {
                b: self.inputs(),
                growth: if growth < 1e-12 * scale { 0.0 } else { growth },
                rate: roots.iter().map(|root| root.s.norm()).fold(0.0, f64::max),
                a,
            }),
        }
    }

    /// Modal K and C of the system that has these roots: A = V S V^-1.
    fn equivalent(&self, roots: &[Root], inverse: &DMatrix<f64>) -> [DMatrix<f64>; 2] {
        let n = self.modes.omega.len();
        let mut turned = DMatrix::zeros(2 * n, 2 * n);
        for (k, root) in roots.iter().enumerate() {
            let state = self.modes.state(root) * (root.s * weight(root.s));
            turned.set_column(2 * k, &state.map(|z| z.re));
            turned.set_column(2 * k + 1, &state.map(|z| -z.im));
        }
        let a = turned * inverse;
        let k = DMatrix::from_fn(n, n, |i, j| -a[(n + i, j)] * self.modes.scale[j]);
        [k, -a.view((n, n), (n, n))]
    }
}

/// A pair stands for itself and its conjugate: 2 Re, shared between state and vector.
pub(super) fn weight(s: Complex64) -> f64 {
    if s.im == 0.0 { 1.0 } else { SQRT_2 }
}

pub(super) fn check_stable(roots: impl Iterator<Item = Complex64> + Clone) -> Result<()> {
    let greatest = roots.clone().map(|s| s.norm()).fold(0.0, f64::max);
    let mut roots = roots;
    match roots.find(|s| s.re > 1e-10 * greatest) {
        None => Ok(()),
        Some(root) => Err(Error::Unstable {
            reason: format!("a free vibration grows, root {root:.4e} 1/s"),
            remedy: "check the sign of damping and loss factors; where loss factors meet heavy \
                     dashpots, give damping in place of the loss factor"
                .to_string(),
        }),
    }
}

/// Lowest and highest natural frequency, Hz.
pub(super) fn band(omega: &[f64]) -> [f64; 2] {
    let moving = || omega.iter().filter(|w| **w > 0.0);
    let least = moving().fold(f64::INFINITY, |a, &b| a.min(b));
    let greatest = moving().fold(0.0_f64, |a, &b| a.max(b));
    if greatest == 0.0 { [0.0, 0.0] } else { [least / TAU, greatest / TAU] }
}

pub(super) fn model_error(
    modes: &RealModes,
    c: &DMatrix<f64>,
    h: &DMatrix<f64>,
    k_e: &DMatrix<f64>,
    c_e: &DMatrix<f64>,
) -> f64 {
    let n = c.nrows();
    let moving: Vec<f64> = modes.omega.iter().copied().filter(|w| *w > 0.0).collect();
    let between = moving.windows(2).map(|pair| (pair[0] * pair[1]).sqrt());
    let mut worst = 0.0_f64;
    for w in moving.iter().copied().chain(between) {
        let given = DMatrix::from_fn(n, n, |i, j| {
            let k = if i == j { modes.omega[i] * modes.omega[i] } else { 0.0 };
            Complex64::new(k, h[(i, j)] + w * c[(i, j)])
        });
        let difference = DMatrix::from_fn(n, n, |i, j| {
            Complex64::new(k_e[(i, j)], w * c_e[(i, j)]) - given[(i, j)]
        });
        worst = worst.max(spectral_norm(&difference) / spectral_norm(&given));
    }
    worst
}

/// Greatest singular value by power iteration, to about four digits.
fn spectral_norm(a: &DMatrix<Complex64>) -> f64 {
    let heaviest = (0..a.ncols()).max_by(|&i, &j| {
        let norm = |k: usize| a.column(k).norm_squared();
        norm(i).total_cmp(&norm(j))
    });
    let Some(heaviest) = heaviest else {
        return 0.0;
    };
    let adjoint = a.adjoint();
    let mut x = &adjoint * a.column(heaviest);
    let mut value = a.column(heaviest).norm();
    for _ in 0..100 {
        let length = x.norm();
        if length == 0.0 {
            return value;
        }
        let y = a * (&x / Complex64::from(length));
        let next = y.norm();
        let settled = (next - value).abs() <= 1e-5 * next;
        value = value.max(next);
        if settled {
            break;
        }
        x = &adjoint * y;
    }
    value
}

fn not_states(linear: &Linear) -> Error {
    Error::invalid(
        "law",
        linear.dynamic.first().map_or("", |d| d.law.kind()),
        "motion in time needs laws of springs and dashpots",
        "give a zener or maxwell law",
    )
}
