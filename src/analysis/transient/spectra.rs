//! What a reference leaves over, frequency by frequency: motion, velocity, acceleration, forces.
//!
//! Delta(s) = -Z(s)^-1 (D(s) - Dref(s)) Xref(s), see `super::fourier`.

use nalgebra::{DMatrix, DVectorView};
use num_complex::Complex64;

use super::super::dependent::typical_omega;
use super::super::terms::Terms;
use super::fourier::{Grid, Task};
use super::phi::phi;
use crate::error::{Error, Result};
use crate::excitation::Segment;
use crate::law::Dynamic;
use crate::system::{Linear, LinearElement};

/// All that the spectra are made from.
pub(super) struct Spectra<'a> {
    linear: &'a Linear,
    task: &'a Task<'a>,
    /// Each law, what stands for it in the reference, and its W.
    laws: Vec<(&'a Dynamic, Dynamic, DMatrix<f64>)>,
    omega: f64,
    inverse_mass: DMatrix<f64>,
}

impl<'a> Spectra<'a> {
    pub fn new(linear: &'a Linear, reference: &Linear, task: &'a Task<'a>) -> Result<Self> {
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
    pub fn all(&self, grid: &Grid, forces: &[Option<usize>], count: usize) -> Vec<Vec<Complex64>> {
        let half = grid.samples / 2;
        let mut out = vec![vec![Complex64::ZERO; half]; count];
        let n = self.linear.size();
        let m_v = &self.linear.m * self.task.velocity;
        let mut work = Work::new(n);
        for f in 0..half {
            let s = grid.s(f);
            work.x_reference.iter_mut().zip(m_v.iter()).for_each(|(x, &v)| *x = v.into());
            for load in self.task.loads {
                let size = transform(&load.segments, self.task.duration, s);
                let parts = work.x_reference.iter_mut().zip(load.direction.iter());
                parts.for_each(|(x, g)| *x += size * g);
            }
            let values = self.values(s);
            self.solve(s, &values, &mut work);
            for i in 0..n {
                out[i][f] = work.delta[i];
                out[n + i][f] = s * work.delta[i];
                let row = self.inverse_mass.row(i);
                let pull: Complex64 = row.iter().zip(&work.pull).map(|(m, p)| p * m).sum();
                out[2 * n + i][f] = -pull;
            }
            for (element, first) in self.linear.elements.iter().zip(forces) {
                let Some(first) = first else { continue };
                let force = self.force(element, s, &values, &work);
                force.iter().enumerate().for_each(|(i, &value)| out[first + i][f] = value);
            }
        }
        out
    }

    /// Xref (in place of the load), Delta, and the pull of all elements that goes with it.
    fn solve(&self, s: Complex64, values: &[[Complex64; 2]], work: &mut Work) {
        let [eta, eta_reference] = self.loss(s);
        let n = work.delta.len();
        for i in 0..n * n {
            let plain = self.linear.k[i] + s * self.linear.c[i];
            let (mut own, mut standing) = (plain, plain);
            own += eta * self.linear.h[i];
            standing += eta_reference * self.linear.h[i];
            for ((_, _, w), [d, d_reference]) in self.laws.iter().zip(values) {
                own += d * w[i];
                standing += d_reference * w[i];
            }
            work.own[i] = own;
            work.left[i] = own - standing;
            work.z[i] = standing + s * s * self.linear.m[i];
        }
        eliminate(&mut work.z, &mut work.x_reference);
        times(&work.left, &work.x_reference, &mut work.pull);
        for i in 0..n {
            work.delta[i] = -work.pull[i];
        }
        for i in 0..n * n {
            work.z[i] = work.own[i] + s * s * self.linear.m[i];
        }
        eliminate(&mut work.z, &mut work.delta);
        let left = work.pull.clone();
        times(&work.own, &work.delta, &mut work.pull);
        work.pull.iter_mut().zip(left).for_each(|(pull, left)| *pull += left);
    }

    /// Force of an element on its port: D Delta + (D - Dref) Xref.
    fn force(
        &self,
        element: &LinearElement,
        s: Complex64,
        values: &[[Complex64; 2]],
        work: &Work,
    ) -> Vec<Complex64> {
        let [eta, eta_reference] = self.loss(s);
        let see = |x: &[Complex64]| -> Vec<Complex64> {
            let along = |b: DVectorView<f64>| b.iter().zip(x).map(|(b, x)| x * b).sum();
            element.b.column_iter().map(along).collect()
        };
        let (u, u_reference) = (see(&work.delta), see(&work.x_reference));
        let r = u.len();
        let mut force = vec![Complex64::ZERO; r];
        for i in 0..r {
            for j in 0..r {
                let (k, h) = (element.k[(i, j)] + s * element.c[(i, j)], element.h[(i, j)]);
                force[i] += (k + eta * h) * u[j] + (eta - eta_reference) * h * u_reference[j];
            }
        }
        for part in &element.dynamic {
            let Some(t) = self.laws.iter().position(|(law, _, _)| **law == part.law) else {
                continue;
            };
            let [d, d_reference] = values[t];
            for b in part.b.column_iter() {
                let along =
                    |u: &[Complex64]| -> Complex64 { b.iter().zip(u).map(|(b, u)| u * b).sum() };
                let own = d * along(&u) + (d - d_reference) * along(&u_reference);
                force.iter_mut().zip(b.iter()).for_each(|(f, b)| *f += own * b);
            }
        }
        force
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

/// Buffers, so that the loop over frequencies allocates little; matrices by columns.
struct Work {
    own: Vec<Complex64>,
    left: Vec<Complex64>,
    z: Vec<Complex64>,
    x_reference: Vec<Complex64>,
    delta: Vec<Complex64>,
    pull: Vec<Complex64>,
}

impl Work {
    fn new(n: usize) -> Self {
        let (matrix, vector) = (vec![Complex64::ZERO; n * n], vec![Complex64::ZERO; n]);
        Self {
            own: matrix.clone(),
            left: matrix.clone(),
            z: matrix,
            x_reference: vector.clone(),
            delta: vector.clone(),
            pull: vector,
        }
    }
}

/// y = a x, a by columns.
fn times(a: &[Complex64], x: &[Complex64], y: &mut [Complex64]) {
    y.fill(Complex64::ZERO);
    for (column, x) in a.chunks_exact(y.len()).zip(x) {
        y.iter_mut().zip(column).for_each(|(y, a)| *y += a * x);
    }
}

/// x = a^-1 x by elimination with partial pivoting; `a` (symmetric, by columns) is lost.
fn eliminate(a: &mut [Complex64], x: &mut [Complex64]) {
    let n = x.len();
    for k in 0..n {
        let size = |i: &usize| a[i + k * n].norm_sqr();
        let pivot = (k..n).max_by(|i, j| size(i).total_cmp(&size(j))).unwrap_or(k);
        if pivot != k {
            (k..n).for_each(|j| a.swap(k + j * n, pivot + j * n));
            x.swap(k, pivot);
        }
        let inverse = a[k + k * n].inv();
        for i in k + 1..n {
            let factor = a[i + k * n] * inverse;
            for j in k + 1..n {
                let above = a[k + j * n];
                a[i + j * n] -= factor * above;
            }
            let above = x[k];
            x[i] -= factor * above;
        }
    }
    for k in (0..n).rev() {
        let above: Complex64 = (k + 1..n).map(|j| a[k + j * n] * x[j]).sum();
        x[k] = (x[k] - above) * a[k + k * n].inv();
    }
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
