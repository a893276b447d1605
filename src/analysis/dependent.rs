//! Free vibration where the laws depend on frequency: Z(s) x = 0 with D(s) inside.
//!
//! Undamped: omega_k^2 is the k-th eigenvalue of the storage stiffness at omega_k itself,
//! (K + Re D(omega_k)) phi = omega_k^2 M phi, by fixed-point iteration, which contracts by half the
//! slope of log D against log omega. Damped: with D(s) held, the root of M s^2 + C s + K + jH + D
//! nearest in shape to the one before, again and again, until s rests. Iterations and residual,
//! |Z(s) x| over the sum of the sizes of its terms, are reported for each mode.
//!
//! Where every law is made of springs and dashpots, the roots are the eigenvalues of the exact state
//! matrix instead (`super::memory`).
//!
//! Source: fixed-point (self-consistent) iteration, e.g. S. Adhikari, Structural Dynamic Analysis
//! with Generalized Damping Models, 2014, chapter 2 (from memory).

use faer::Mat;
use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use std::f64::consts::TAU;

use super::memory::Memory;
use super::roots::{RealModes, Root, TimeModel};
use crate::error::{Error, Result};
use crate::system::Linear;

/// Iterations before an iteration is given up.
const MOST: usize = 200;
/// Change of a frequency, relative, at which it rests.
const REST: f64 = 2e-15;
/// Residual that passes as rounding.
const RESIDUAL: f64 = 1e-9;

/// Undamped modes at their own frequencies, and the damped roots.
pub(super) struct FreeVibration {
    /// rad/s, ascending.
    pub omega: Vec<f64>,
    /// Mass-normalized shapes.
    pub phi: DMatrix<f64>,
    /// Roots that stand for the modes, vectors in coordinates of `phi`.
    pub roots: Vec<Root>,
    /// All roots that were found; of a pair the one above the real axis.
    pub all: Vec<Complex64>,
    pub model: TimeModel,
    pub iterations: Vec<usize>,
    pub residual: Vec<f64>,
}

/// Free vibration of a system with laws that depend on frequency.
pub(super) fn free_vibration(linear: &Linear) -> Result<FreeVibration> {
    let undamped = undamped(linear)?;
    let inverse = undamped.phi.clone().try_inverse().ok_or_else(|| not_resting(0, "its shape"))?;
    let seen =
        |(s, x): (Complex64, DVector<Complex64>)| Root { s, eta: inverse.map(Complex64::from) * x };
    let mut out = undamped;
    let n = out.omega.len();
    if let Some(memory) = Memory::new(linear)?.filter(|_| !linear.is_hysteretic()) {
        let found = state_roots(&memory)?;
        out.all = found.iter().map(|r| r.s).collect();
        out.roots = of_the_structure(found, n)
            .into_iter()
            .map(|r| seen((r.s, &memory.modes.phi.map(Complex64::from) * r.eta)))
            .collect();
        out.model = TimeModel::InternalVariables;
    } else {
        for k in 0..n {
            let (s, x, count) = damped(linear, k, out.omega[k], &out.phi.column(k).into())?;
            out.iterations[k] += count;
            out.all.push(s);
            out.roots.push(seen((s, x)));
        }
    }
    for (k, root) in out.roots.iter().enumerate() {
        let x = out.phi.map(Complex64::from) * &root.eta;
        let residual = residual(linear, &out.phi, root.s, &x);
        if residual.is_nan() || residual > RESIDUAL {
            return Err(not_resting(k, &format!("residual {residual:.1e}")));
        }
        // Roots of overdamped modes come two to a mode.
        let k = k.min(n - 1);
        out.residual[k] = out.residual[k].max(residual);
    }
    Ok(out)
}

/// A frequency (rad/s) about the middle of the modes, inside every table.
pub(super) fn typical_omega(linear: &Linear) -> Result<f64> {
    let range = range(linear);
    let mut omega = 10.0 * TAU;
    for _ in 0..10 {
        omega = omega.clamp(range[0], range[1]);
        let modes = RealModes::new(&linear.frozen(omega)?)?;
        let moving: Vec<f64> = modes.omega.iter().copied().filter(|&w| w > 0.0).collect();
        if moving.is_empty() {
            break;
        }
        omega = (moving.iter().map(|w| w.ln()).sum::<f64>() / moving.len() as f64).exp();
    }
    Ok(omega.clamp(range[0], range[1]))
}

/// Frequencies (rad/s) at which every law is known.
fn range(linear: &Linear) -> [f64; 2] {
    let both = |a: [f64; 2], b: [f64; 2]| [a[0].max(b[0]), a[1].min(b[1])];
    let ranges = linear.dynamic.iter().filter_map(|d| d.law.range());
    let [low, high] = ranges.fold([f64::MIN_POSITIVE, f64::MAX], both);
    // Tables that do not overlap are an error where the first of them is asked.
    [low.min(high), high]
}

fn undamped(linear: &Linear) -> Result<FreeVibration> {
    let start = typical_omega(linear)?;
    let n = linear.size();
    let mut out = FreeVibration {
        omega: Vec::with_capacity(n),
        phi: DMatrix::zeros(n, n),
        roots: Vec::new(),
        all: Vec::new(),
        model: TimeModel::Iterated,
        iterations: Vec::with_capacity(n),
        residual: Vec::with_capacity(n),
    };
    let mut omega = start;
    for k in 0..n {
        let (found, phi, count) = own_frequency(linear, k, omega)?;
        let x = phi.map(Complex64::from);
        let storage = storage(linear, found)?;
        let m = linear.m.map(Complex64::from) * &x * Complex64::from(found * found);
        let force = storage.map(Complex64::from) * &x;
        let weigh = phi.transpose().map(Complex64::from);
        let size = (&weigh * &m).norm() + (&weigh * &force).norm();
        out.residual.push((&weigh * (force - m)).norm() / size);
        out.phi.set_column(k, &phi);
        out.omega.push(found);
        out.iterations.push(count);
        omega = found;
    }
    Ok(out)
}

/// K + Re D(omega).
fn storage(linear: &Linear, omega: f64) -> Result<DMatrix<f64>> {
    linear.frozen(omega).map(|frozen| frozen.k)
}

fn own_frequency(linear: &Linear, k: usize, start: f64) -> Result<(f64, DVector<f64>, usize)> {
    let mut omega = start;
    for count in 1..=MOST {
        let modes = RealModes::new(&linear.frozen(omega)?)?;
        let next = modes.omega[k];
        if (next - omega).abs() <= REST * next {
            return Ok((next, modes.phi.column(k).into(), count));
        }
        omega = next;
    }
    Err(not_resting(k, "its undamped frequency"))
}

fn damped(
    linear: &Linear,
    k: usize,
    omega: f64,
    phi: &DVector<f64>,
) -> Result<(Complex64, DVector<Complex64>, usize)> {
    let mut s = Complex64::new(0.0, omega);
    let mut x = phi.map(Complex64::from);
    let mass = linear.m.map(Complex64::from);
    for count in 1..=MOST {
        let frozen = held(linear, s)?;
        let modes = RealModes::new(&frozen)?;
        let roots = modes.damped_roots(&frozen)?.1;
        let basis = modes.phi.map(Complex64::from);
        let shapes = roots.into_iter().map(|r| (r.s, &basis * r.eta));
        let alike = |y: &DVector<Complex64>| {
            let my = &mass * y;
            x.dotc(&my).norm_sqr() / y.dotc(&my).re
        };
        let best = shapes.max_by(|a, b| alike(&a.1).total_cmp(&alike(&b.1)));
        let Some((next, shape)) = best.filter(|(next, _)| next.im > 0.0) else {
            return Err(not_resting(k, "its damped root: it does not swing"));
        };
        let moved = (next - s).norm();
        (s, x) = (next, shape);
        if moved <= 10.0 * REST * s.norm() {
            return Ok((s, x, count));
        }
    }
    Err(not_resting(k, "its damped root"))
}

/// The system with D held at s: Re D in k, Im D in h.
fn held(linear: &Linear, s: Complex64) -> Result<Linear> {
    let mut out = linear.clone();
    for element in std::mem::take(&mut out.dynamic) {
        element.law.check_range(s.im)?;
        let d = element.law.at_s(s);
        let square = &element.b * element.b.transpose();
        out.k += &square * d.re;
        out.h += square * d.im;
    }
    Ok(out)
}

/// |Phi' Z(s) x| over the sizes of inertia and stiffness.
fn residual(linear: &Linear, phi: &DMatrix<f64>, s: Complex64, x: &DVector<Complex64>) -> f64 {
    let complex = |a: &DMatrix<f64>| a.map(Complex64::from);
    let weigh = complex(&phi.transpose());
    let above = if s.im < 0.0 { s.conj() } else { s };
    let mut stiffness = complex(&linear.k) + complex(&linear.c) * s;
    stiffness += complex(&linear.h) * Complex64::I;
    for element in &linear.dynamic {
        stiffness += complex(&(&element.b * element.b.transpose())) * element.law.at_s(above);
    }
    let inertia = &weigh * complex(&linear.m) * x * (s * s);
    let force = &weigh * stiffness * x;
    (&inertia + &force).norm() / (inertia.norm() + force.norm())
}

/// A root of the state matrix with its displacement, and how much of its state is motion.
struct StateRoot {
    s: Complex64,
    eta: DVector<Complex64>,
    share: f64,
}

/// Eigenvalues of the exact state matrix; of a pair the one above the real axis.
fn state_roots(memory: &Memory) -> Result<Vec<StateRoot>> {
    let (n, size) = (memory.modes.omega.len(), memory.size());
    let a = memory.state_matrix(&memory.damping);
    let eigen = Mat::<f64>::from_fn(size, size, |i, j| a[(i, j)]).eigen();
    let eigen = eigen.map_err(|_| not_resting(0, "the eigenvalues of the state matrix"))?;
    let (values, vectors) = (eigen.S().column_vector(), eigen.U());
    let one = |(column, &s): (usize, &Complex64)| {
        let z = DVector::from_fn(size, |i, _| vectors[(i, column)]);
        let motion = z.rows(0, 2 * n).norm_squared();
        // The greater half of (W eta, s eta) gives eta with fewer lost digits.
        let eta = |i: usize| {
            let scale = memory.modes.scale[i];
            if s.norm() > scale { z[n + i] / s } else { z[i] / scale }
        };
        StateRoot { s, eta: DVector::from_fn(n, |i, _| eta(i)), share: motion / z.norm_squared() }
    };
    Ok(values.iter().enumerate().filter(|(_, s)| s.im >= 0.0).map(one).collect())
}

/// The roots that are modes of the structure: those that swing, and where they are fewer than the
/// directions, two real ones for each missing, those with the most motion in them.
fn of_the_structure(roots: Vec<StateRoot>, n: usize) -> Vec<StateRoot> {
    let (swinging, mut real): (Vec<_>, Vec<_>) = roots.into_iter().partition(|r| r.s.im > 0.0);
    real.sort_by(|a, b| b.share.total_cmp(&a.share));
    real.truncate(2 * n.saturating_sub(swinging.len()));
    swinging.into_iter().chain(real).collect()
}

fn not_resting(k: usize, what: &str) -> Error {
    Error::NotConverged {
        what: format!("mode {} with laws that depend on frequency", k + 1),
        detail: format!("{what} after {MOST} iterations"),
        remedy: "look at the frequency response instead: a mode that hardly swings, or a law that \
                 stiffens as fast as the square of frequency, has no resonance to find"
            .into(),
    }
}
