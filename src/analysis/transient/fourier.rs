//! Laws that no springs and dashpots make up (fractional, tabulated, ...) in time, by Fourier
//! transform of what a simple system leaves over.
//!
//! A reference, in which each law is a Zener law that equals it at a typical frequency (a table: a
//! Maxwell law fitted over its rows), is solved exactly by internal variables. What it leaves over,
//!
//! Delta(s) = -Z(s)^-1 (D(s) - Dref(s)) Xref(s),   F of an element: D Delta + (D - Dref) Xref,
//!
//! falls off so fast with frequency that its transform from s = sigma + j omega to time needs no
//! window; jumps of the load are in the reference, exactly. With laws known off the imaginary axis
//! sigma > 0 keeps what wraps around small; loss factors and tables have sigma = 0. Outside its
//! rows a table is its Maxwell fit.
//!
//! What comes out is sampled and limited to a band: values between samples are interpolated, and a
//! peak is that of the interpolant. The kinetic energy found before the start, over that of the
//! motion, is reported: what wraps around the window, and the precursor of laws that have no causal
//! counterpart.
//!
//! Source: FFT of the transfer function, e.g. D. J. Ewins, Modal Testing, 2nd ed. 2000, chapter 2;
//! damped transform after F. Durbin, Computer J. 17 (1974), p. 371 (both from memory).

use nalgebra::{DMatrix, DVector, SymmetricEigen};
use ndarray::Array2;
use num_complex::Complex64;
use rustfft::FftPlanner;
use serde::{Deserialize, Serialize};
use std::f64::consts::{PI, TAU};

use super::super::dependent::typical_omega;
use super::load::Load;
use super::spectra::Spectra;
use crate::error::{Error, Result};
use crate::law::{Dynamic, Zener, maxwell_fit};
use crate::system::{DynamicElement, Linear};

/// Samples in the window at most, and at least.
const SAMPLES: [usize; 2] = [1 << 12, 1 << 18];
/// Highest frequency over that of the fastest vibration.
const BAND: f64 = 1000.0;
/// The same where a long window leaves no more.
const NARROW_BAND: f64 = 100.0;
/// sigma times the window.
const DECAY: f64 = 12.0;
/// Most segments of a load: each is transformed at every frequency.
const MOST_SEGMENTS: usize = 2000;
/// Points of the interpolation; half of them lie on each side.
const POINTS: usize = 8;

/// What a motion by Fourier transform is good for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FourierNote {
    /// Time between samples, s.
    pub interval: f64,
    /// Highest frequency in the transform, Hz.
    pub highest_frequency: f64,
    /// Kinetic energy found before the start over that of the motion (both integrated over time).
    pub precursor: f64,
}

/// What the reference leaves over, in time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Fourier {
    /// The system that was solved exactly.
    pub reference: Linear,
    pub note: FourierNote,
    /// Kinetic energy before the start, integrated over time, J s.
    pub before: f64,
    /// First force signal of each element; none where it follows from the motion.
    forces: Vec<Option<usize>>,
    /// (time from -POINTS/2 intervals on, signal): motion, velocity, acceleration, forces.
    signals: Array2<f64>,
}

/// Each law by springs and dashpots, loss factors as well.
pub(super) fn reference(linear: &Linear) -> Result<Linear> {
    let omega = typical_omega(linear)?;
    let laws = linear.laws();
    let stands = laws.iter().map(|law| standing_for(law, omega)).collect::<Result<Vec<_>>>()?;
    let replaced = |element: &DynamicElement| DynamicElement {
        b: element.b.clone(),
        law: laws
            .iter()
            .position(|&law| *law == element.law)
            .map_or_else(|| element.law.clone(), |t| stands[t].clone()),
    };
    let mut out = linear.clone();
    out.dynamic = linear.dynamic.iter().map(replaced).collect();
    out.h.fill(0.0);
    for element in &mut out.elements {
        element.dynamic = element.dynamic.iter().map(replaced).collect();
        let lossy = loss_branches(&element.h, omega);
        let seen = |part: &DynamicElement| DynamicElement {
            b: &element.b * &part.b,
            law: part.law.clone(),
        };
        out.dynamic.extend(lossy.iter().map(seen));
        element.dynamic.extend(lossy);
        element.h.fill(0.0);
    }
    Ok(out)
}

/// jh as branches that have the loss h at omega.
fn loss_branches(h: &DMatrix<f64>, omega: f64) -> Vec<DynamicElement> {
    let eigen = SymmetricEigen::new(h.clone());
    let largest = eigen.eigenvalues.amax();
    let kept = (0..h.nrows()).filter(|&i| eigen.eigenvalues[i] > 1e-14 * largest);
    let branch = |i: usize| {
        let k = 2.0 * eigen.eigenvalues[i];
        DynamicElement {
            b: DMatrix::from_column_slice(h.nrows(), 1, eigen.eigenvectors.column(i).as_slice()),
            law: Dynamic::Zener(Zener {
                static_stiffness: 0.0,
                branch_stiffness: k,
                branch_damping: k / omega,
            }),
        }
    };
    kept.map(branch).collect()
}

/// A law of springs and dashpots near the given one.
fn standing_for(law: &Dynamic, omega: f64) -> Result<Dynamic> {
    if let Some([low, high]) = law.range() {
        let low = low.max(1e-4 * high);
        return Ok(Dynamic::Maxwell(maxwell_fit(law, [low / TAU, high / TAU], 2)?.law));
    }
    let d = law.at(omega)?;
    let branch = 2.0 * d.im;
    if branch <= 0.0 {
        return Ok(Dynamic::Viscous(crate::law::Viscous { stiffness: d.re, damping: 0.0 }));
    }
    Ok(Dynamic::Zener(Zener {
        static_stiffness: (d.re - d.im).max(0.05 * d.re),
        branch_stiffness: branch,
        branch_damping: branch / omega,
    }))
}

/// The loads, the velocity at the start, and how the reference moves.
pub(super) struct Task<'a> {
    pub loads: &'a [Load],
    pub velocity: &'a DVector<f64>,
    pub duration: f64,
    /// |s| of the fastest vibration, 1/s.
    pub fastest: f64,
    /// Rate of decay of the slowest, 1/s.
    pub decay: f64,
}

/// Window, samples and sigma.
pub(super) struct Grid {
    window: f64,
    pub samples: usize,
    sigma: f64,
}

impl Grid {
    fn new(task: &Task, analytic: bool) -> Self {
        let longest = SAMPLES[1] as f64 * PI / (NARROW_BAND * task.fastest);
        let settled = task.duration + if task.decay > 0.0 { 25.0 / task.decay } else { 0.0 };
        let window = settled.max(4.0 * task.duration).min(longest).max(2.0 * task.duration);
        let wanted = window * BAND * task.fastest / PI;
        let samples = (wanted.clamp(1.0, SAMPLES[1] as f64) as usize).next_power_of_two();
        let sigma = if analytic { DECAY / window } else { 0.0 };
        Self { window, samples: samples.clamp(SAMPLES[0], SAMPLES[1]), sigma }
    }

    pub fn s(&self, m: usize) -> Complex64 {
        Complex64::new(self.sigma, TAU * m as f64 / self.window)
    }

    fn dt(&self) -> f64 {
        self.window / self.samples as f64
    }
}

impl Fourier {
    pub fn new(linear: &Linear, reference: Linear, task: &Task) -> Result<Self> {
        let segments: usize = task.loads.iter().map(|load| load.segments.len()).sum();
        if segments > MOST_SEGMENTS {
            return Err(Error::invalid(
                "load",
                format!("{segments} segments"),
                format!("must have at most {MOST_SEGMENTS} where laws need a Fourier transform"),
                "thin out the record, or give a zener or maxwell law",
            ));
        }
        let analytic =
            !linear.is_hysteretic() && linear.dynamic.iter().all(|d| d.law.is_analytic());
        let grid = Grid::new(task, analytic);
        let n = linear.size();
        let mut count = 3 * n;
        let mut forces = Vec::with_capacity(linear.elements.len());
        for element in &linear.elements {
            let own = !element.dynamic.is_empty() || element.h.iter().any(|&h| h != 0.0);
            forces.push(own.then_some(count));
            count += if own { element.b.ncols() } else { 0 };
        }
        let spectra = Spectra::new(linear, &reference, task)?.all(&grid, &forces, count);
        let kept = (task.duration / grid.dt()).ceil() as usize + POINTS + 1;
        let (signals, before) = to_time(&spectra, &grid, kept, &linear.m);
        let note = FourierNote {
            interval: grid.dt(),
            highest_frequency: 0.5 / grid.dt(),
            precursor: f64::NAN,
        };
        Ok(Self { reference, note, before, forces, signals })
    }

    /// Number of signals.
    pub fn size(&self) -> usize {
        self.signals.ncols()
    }

    /// Rows that pick the motion (0), velocity (1) or acceleration (2).
    pub fn motion(&self, order: usize, n: usize) -> DMatrix<f64> {
        let mut rows = DMatrix::zeros(n, self.size());
        rows.view_mut((0, order * n), (n, n)).fill_with_identity();
        rows
    }

    /// Rows of the force of element i on its port.
    pub fn force(&self, i: usize) -> DMatrix<f64> {
        let element = &self.reference.elements[i];
        let (n, r) = element.b.shape();
        let mut rows = DMatrix::zeros(r, self.size());
        match self.forces[i] {
            Some(first) => rows.view_mut((0, first), (r, r)).fill_with_identity(),
            None => {
                let bt = element.b.transpose();
                rows.columns_mut(0, n).copy_from(&(&element.k * &bt));
                rows.columns_mut(n, n).copy_from(&(&element.c * bt));
            }
        }
        rows
    }

    /// Signals at time t (s), interpolated.
    pub fn at(&self, t: f64) -> DVector<f64> {
        let x = t / self.note.interval;
        let last = self.signals.nrows() - POINTS;
        let first = (x.floor().max(0.0) as usize + 1).min(last);
        // Distance from the first of the points, in intervals.
        let x = x + (POINTS / 2) as f64 - first as f64;
        let mut out = DVector::zeros(self.size());
        for (i, weight) in weights(x).into_iter().enumerate() {
            if weight != 0.0 {
                let row = self.signals.row(first + i);
                out.iter_mut().zip(row).for_each(|(o, y)| *o += weight * y);
            }
        }
        out
    }
}

/// Lagrange's weights at x among the points 0, 1 ... POINTS - 1.
fn weights(x: f64) -> [f64; POINTS] {
    std::array::from_fn(|i| {
        let part = |j: usize| (x - j as f64) / (i as f64 - j as f64);
        (0..POINTS).filter(|&j| j != i).map(part).product()
    })
}

/// Signals from half the points before the start on, and the kinetic energy before it.
fn to_time(
    spectra: &[Vec<Complex64>],
    grid: &Grid,
    kept: usize,
    mass: &DMatrix<f64>,
) -> (Array2<f64>, f64) {
    let (n, samples, dt) = (mass.nrows(), grid.samples, grid.dt());
    let mut signals = Array2::zeros((kept, spectra.len()));
    let mut early = vec![Vec::new(); n];
    let plan = FftPlanner::new().plan_fft_inverse(samples);
    let scale = |i: isize| (grid.sigma * i as f64 * dt).exp() / grid.window;
    // Two real signals in one complex transform.
    for (pair, spectra) in spectra.chunks(2).enumerate() {
        let mut work = vec![Complex64::ZERO; samples];
        let second = |f: usize| spectra.get(1).map_or(Complex64::ZERO, |x| x[f]);
        work[0] = spectra[0][0].re + Complex64::I * second(0).re;
        for f in 1..samples / 2 {
            let (a, b) = (spectra[0][f], second(f));
            work[f] = a + Complex64::I * b;
            work[samples - f] = a.conj() + Complex64::I * b.conj();
        }
        plan.process(&mut work);
        for (side, column) in (2 * pair..(2 * pair + 2).min(signals.ncols())).enumerate() {
            let value = |i: isize| {
                let z = work[i.rem_euclid(samples as isize) as usize];
                [z.re, z.im][side] * scale(i)
            };
            for row in 0..kept {
                signals[[row, column]] = value(row as isize - (POINTS / 2) as isize);
            }
            if (n..2 * n).contains(&column) {
                let quarter = (samples / 4) as isize;
                early[column - n] = (1..quarter).map(|i| value(-i)).collect();
            }
        }
    }
    let count = early.first().map_or(0, Vec::len);
    let energy = |i: usize| {
        let v = DVector::from_fn(n, |k, _| early[k][i]);
        0.5 * v.dot(&(mass * &v)) * dt
    };
    (signals, (0..count).map(energy).sum())
}
