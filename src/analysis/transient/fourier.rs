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
use super::super::terms::Terms;
use super::phi::phi;
use crate::error::{Error, Result};
use crate::excitation::Segment;
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

/// The load and its direction, the velocity at the start, and how the reference moves.
pub(super) struct Task<'a> {
    pub load: &'a [Segment],
    pub direction: &'a DVector<f64>,
    pub velocity: &'a DVector<f64>,
    pub duration: f64,
    /// |s| of the fastest vibration, 1/s.
    pub fastest: f64,
    /// Rate of decay of the slowest, 1/s.
    pub decay: f64,
}

/// Window, samples and sigma.
struct Grid {
    window: f64,
    samples: usize,
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

    fn s(&self, m: usize) -> Complex64 {
        Complex64::new(self.sigma, TAU * m as f64 / self.window)
    }

    fn dt(&self) -> f64 {
        self.window / self.samples as f64
    }
}

impl Fourier {
    pub fn new(linear: &Linear, reference: Linear, task: &Task) -> Result<Self> {
        if task.load.len() > MOST_SEGMENTS {
            return Err(Error::invalid(
                "load",
                format!("{} segments", task.load.len()),
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

/// All that the spectra are made from.
struct Spectra<'a> {
    linear: &'a Linear,
    task: &'a Task<'a>,
    /// Each law, what stands for it in the reference, and its W.
    laws: Vec<(&'a Dynamic, Dynamic, DMatrix<f64>)>,
    omega: f64,
    inverse_mass: DMatrix<f64>,
}

impl<'a> Spectra<'a> {
    fn new(linear: &'a Linear, reference: &Linear, task: &'a Task<'a>) -> Result<Self> {
        let omega = typical_omega(linear)?;
        let stands = |law: &Dynamic| {
            let at = linear.dynamic.iter().position(|d| d.law == *law).unwrap_or(0);
            reference.dynamic[at].law.clone()
        };
        let weights = Terms::new(linear).stiffness();
        let laws = linear.laws().into_iter().zip(weights).map(|(l, w)| (l, stands(l), w)).collect();
        let inverse_mass = linear.m.clone().try_inverse().ok_or_else(|| {
            Error::invalid("mass", "the mass matrix", "must be regular", "check the masses")
        })?;
        Ok(Self { linear, task, laws, omega, inverse_mass })
    }

    /// (signal, frequency) for frequencies 0 to half the samples.
    fn all(&self, grid: &Grid, forces: &[Option<usize>], count: usize) -> Vec<Vec<Complex64>> {
        let half = grid.samples / 2;
        let mut out = vec![vec![Complex64::ZERO; half]; count];
        let n = self.linear.size();
        let m_v = (&self.linear.m * self.task.velocity).map(Complex64::from);
        let g = self.task.direction.map(Complex64::from);
        let complex = |a: &DMatrix<f64>| a.map(Complex64::from);
        let (m, c, k) = (complex(&self.linear.m), complex(&self.linear.c), complex(&self.linear.k));
        let h = complex(&self.linear.h);
        for f in 0..half {
            let s = grid.s(f);
            let q = &g * transform(self.task.load, self.task.duration, s) + &m_v;
            let values = self.values(s);
            let [eta, eta_reference] = self.loss(s);
            let plain = &c * s + &k;
            let (mut own, mut standing) = (&plain + &h * eta, &plain + &h * eta_reference);
            for ((_, _, w), [d, d_reference]) in self.laws.iter().zip(&values) {
                own.zip_apply(w, |z, w| *z += d * w);
                standing.zip_apply(w, |z, w| *z += d_reference * w);
            }
            let inertia = &m * (s * s);
            let x_reference = solve(&inertia + &standing, q);
            let left = (&own - &standing) * &x_reference;
            let delta = solve(&inertia + &own, -&left);
            let pull = &own * &delta + left;
            for i in 0..n {
                out[i][f] = delta[i];
                out[n + i][f] = s * delta[i];
                let row = self.inverse_mass.row(i);
                out[2 * n + i][f] = -row.iter().zip(&pull).map(|(m, p)| p * m).sum::<Complex64>();
            }
            for (element, first) in self.linear.elements.iter().zip(forces) {
                let Some(first) = first else { continue };
                let see = |x: &DVector<Complex64>| {
                    DVector::from_fn(element.b.ncols(), |i, _| {
                        element.b.column(i).iter().zip(x).map(|(b, x)| x * b).sum::<Complex64>()
                    })
                };
                let (u, u_reference) = (see(&delta), see(&x_reference));
                let r = u.len();
                let mut force = DVector::from_element(r, Complex64::ZERO);
                for i in 0..r {
                    for j in 0..r {
                        let (k, h) = (element.k[(i, j)] + s * element.c[(i, j)], element.h[(i, j)]);
                        force[i] +=
                            (k + eta * h) * u[j] + (eta - eta_reference) * h * u_reference[j];
                    }
                }
                for part in &element.dynamic {
                    let Some(t) = self.laws.iter().position(|(l, _, _)| **l == part.law) else {
                        continue;
                    };
                    let [d, d_reference] = values[t];
                    for column in part.b.column_iter() {
                        let along = |x: &DVector<Complex64>| {
                            column.iter().zip(x).map(|(b, x)| x * b).sum::<Complex64>()
                        };
                        let own = d * along(&u) + (d - d_reference) * along(&u_reference);
                        force.iter_mut().zip(column.iter()).for_each(|(f, b)| *f += own * b);
                    }
                }
                force.iter().enumerate().for_each(|(i, &value)| out[first + i][f] = value);
            }
        }
        out
    }

    /// D and Dref of each law; outside a table the two are one.
    fn values(&self, s: Complex64) -> Vec<[Complex64; 2]> {
        let one = |(law, stands, _): &(&Dynamic, Dynamic, DMatrix<f64>)| {
            let reference = stands.at_s(s);
            let inside = law.range().is_none_or(|[low, high]| (low..=high).contains(&s.im));
            let own = if inside { law.at_s(s) } else { reference };
            // A real motion has a real stiffness at rest.
            let own = if s == Complex64::ZERO { own.re.into() } else { own };
            [own, reference]
        };
        self.laws.iter().map(one).collect()
    }

    /// What multiplies h, in the system and in the reference.
    fn loss(&self, s: Complex64) -> [Complex64; 2] {
        let z = s / self.omega;
        let own = if s.im == 0.0 { Complex64::ZERO } else { Complex64::I };
        [own, 2.0 * z / (1.0 + z)]
    }
}

/// x = a^-1 b; elimination with partial pivoting.
fn solve(a: DMatrix<Complex64>, b: DVector<Complex64>) -> DVector<Complex64> {
    let n = b.len();
    a.lu().solve(&b).unwrap_or_else(|| DVector::from_element(n, Complex64::new(f64::NAN, 0.0)))
}

/// Integral of f(t) e^(-s t) up to the end of the motion.
fn transform(load: &[Segment], end: f64, s: Complex64) -> Complex64 {
    let one = |segment: &Segment| {
        let length = segment.end.min(end) - segment.start;
        if length <= 0.0 {
            return Complex64::ZERO;
        }
        let [_, phi1, phi2] = phi(-s * length);
        let mut sum = segment.constant * length * phi1;
        sum += segment.slope * length * length * (phi1 - phi2);
        for &(amplitude, exponent) in &segment.exponentials {
            let part = |a: Complex64, p: Complex64| 0.5 * length * a * phi((p - s) * length)[1];
            sum += part(amplitude, exponent) + part(amplitude.conj(), exponent.conj());
        }
        sum * (-s * segment.start).exp()
    };
    load.iter().map(one).sum()
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
