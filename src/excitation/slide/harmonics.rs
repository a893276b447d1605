//! Of which harmonics does the slide's motion consist?
//!
//! z_ddot / omega^2 = z''(theta) = sum over n of Re(C_n e^{j n theta}), C_n = (1/pi) int z'' e^{-j n theta}.
//!
//! - Crank without offset, closed form: with q = l/r, m = 1/q^2 and
//!   c_2j = 2 (-1)^j sum_{k>=j} binom(1/2, k) (-m)^k 4^-k binom(2k, k-j), all terms of one sign,
//!   a/(r omega^2) = cos phi + sum B_2j cos 2j phi, B_2j = q (2j)^2 c_2j, phi from the outer dead
//!   center, a toward the crank. Odd harmonics above the first vanish exactly.
//! - Table: z'' is linear between rows, so each interval gives its integral in closed form.
//! - All else is analytic and periodic, so coefficients fall faster than any power and the trapezoidal
//!   rule (an FFT) errs by those beyond its points: points are doubled until the last quarter of the
//!   coefficients, which lie before these, are below 1e-14 of the greatest.
//!
//! Sources: closed form derived from the binomial series of sqrt(1 - m sin^2), which agrees with the
//! truncated series in print (B_2 = L + L^3/4 + 15 L^5/128 ..., L = r/l; e.g. C. B. Biezeno and
//! R. Grammel, Technische Dynamik, from memory).

use nalgebra::Vector6;
use num_complex::Complex64;
use rustfft::FftPlanner;
use std::f64::consts::PI;

use super::inertia::Plane;
use super::{Crank, CrankSide, Mechanism, Profile, SlideDrive};
use crate::error::{Error, Result};

/// Points of the first transform and of the last one.
const POINTS: [usize; 2] = [64, 1 << 17];
/// Last coefficients at which the transform is taken as converged, over the greatest one.
const CONVERGED: f64 = 1e-14;

impl SlideDrive {
    /// Cosine series of the slide's acceleration over r omega^2 in the form in print,
    ///
    /// a/(r omega^2) = cos phi + B_2 cos 2 phi + B_4 cos 4 phi + ...,
    ///
    /// index = harmonic order, 0 to `order`. phi is the crank angle from the outer dead center, where
    /// crank and rod are stretched, and a the acceleration toward the crank. That is bottom dead
    /// center and upward for a crank above the slide (phi = theta - pi), top dead center and downward
    /// for one below (phi = theta); a link drive and a table count as the former, with
    /// [`SlideDrive::radius`] for r. With offset there are sines as well
    /// ([`SlideDrive::acceleration_sine_coefficients`]).
    ///
    /// # Errors
    /// A transform that does not converge (a linkage very close to locking).
    pub fn acceleration_coefficients(&self, order: usize) -> Result<Vec<f64>> {
        Ok(self.published(order)?.iter().map(|c| c.re).collect())
    }

    /// Sine series that goes with [`SlideDrive::acceleration_coefficients`].
    ///
    /// # Errors
    /// As [`SlideDrive::acceleration_coefficients`].
    pub fn acceleration_sine_coefficients(&self, order: usize) -> Result<Vec<f64>> {
        // Re(C e^{j n phi}) = Re C cos - Im C sin.
        Ok(self.published(order)?.iter().map(|c| if c.im == 0.0 { 0.0 } else { -c.im }).collect())
    }

    fn published(&self, order: usize) -> Result<Vec<Complex64>> {
        let below = matches!(&self.mechanism, Mechanism::Crank(c) if c.side == CrankSide::Below);
        let r = self.radius();
        let series = self.slide_harmonics(order)?.into_iter().enumerate();
        Ok(series
            .map(|(n, c)| match (below, n % 2) {
                (true, _) => -c / r,
                (false, 0) => c / r,
                (false, _) => -c / r,
            })
            .collect())
    }

    /// Peak phasors of the wrench of the moving parts on the frame about [`SlideDrive::at`] in steady
    /// running, under e^{+j n omega t} with theta = omega t: index = harmonic order, 0 to `order`.
    /// Order 0 is zero: the mean acceleration of anything periodic is.
    ///
    /// # Errors
    /// A stroke rate that is not positive; a transform that does not converge.
    pub fn harmonics(&self, stroke_rate_spm: f64, order: usize) -> Result<Vec<Vector6<Complex64>>> {
        let omega = Self::crank_speed(stroke_rate_spm)?;
        let unit = self.unit_harmonics(order)?;
        Ok(unit.into_iter().map(|w| w * Complex64::from(omega * omega)).collect())
    }

    /// The same at omega = 1 rad/s: the wrench grows with the square of the speed.
    ///
    /// # Errors
    /// A transform that does not converge.
    pub fn unit_harmonics(&self, order: usize) -> Result<Vec<Vector6<Complex64>>> {
        let slide = self.slide_harmonics(order)?;
        let beside = self.beside_harmonics(order)?;
        let m = self.reciprocating_mass();
        let space = |[u, z, couple]: [f64; 3]| self.in_space(Plane { u, z, couple }, -1.0);
        Ok((0..=order)
            .map(|n| {
                let [u, z, couple] = beside[n];
                let z = z + slide[n] * m;
                let re = space([u.re, z.re, couple.re]);
                let im = space([u.im, z.im, couple.im]);
                re.zip_map(&im, Complex64::new)
            })
            .collect())
    }

    /// C_n of the slide's z'', m.
    fn slide_harmonics(&self, order: usize) -> Result<Vec<Complex64>> {
        match &self.mechanism {
            Mechanism::Crank(crank) if crank.offset == 0.0 => Ok(in_line(crank, order)),
            Mechanism::Profile(profile) => Ok(piecewise(profile, order)),
            other => {
                let series = transform(order, |theta| [other.points(theta).slide.dd])?;
                Ok(series.into_iter().map(|[c]| c).collect())
            }
        }
    }

    /// Sums of the parts beside the slide: to the side, up, couple.
    fn beside_harmonics(&self, order: usize) -> Result<Vec<[Complex64; 3]>> {
        let none = self.rod_mass == 0.0
            && self.rod_inertia.is_none()
            && self.crank_unbalance == self.rotating_balance
            && self.counter_slide.is_none()
            && !matches!(&self.mechanism, Mechanism::Link(link)
                if link.crank_pin_mass + link.rocker_pin_mass > 0.0);
        if none {
            return Ok(vec![[Complex64::ZERO; 3]; order + 1]);
        }
        transform(order, |theta| {
            let sum = self.rates_beside(theta, |jet| jet.dd);
            [sum.u, sum.z, sum.couple]
        })
    }
}

/// In-line crank: z'' = -r cos theta + r (...) in closed form.
fn in_line(crank: &Crank, order: usize) -> Vec<Complex64> {
    let r = crank.radius;
    let q = crank.rod_length / r;
    let mut out = vec![Complex64::ZERO; order + 1];
    if order >= 1 {
        out[1] = Complex64::from(-r);
    }
    // The rod's term is upward at both dead centers with the crank above, downward with it below.
    let sign = if crank.side == CrankSide::Above { r } else { -r };
    for n in (2..=order).step_by(2) {
        out[n] = Complex64::from(sign * rod_coefficient(q, n));
    }
    out
}

/// B_n of an in-line crank, n even.
fn rod_coefficient(q: f64, n: usize) -> f64 {
    let (j, m) = (n / 2, 1.0 / (q * q));
    // t_k = |binom(1/2, k)| (m/4)^k binom(2k, k-j), from k = j on by its ratio to the one before.
    let mut term = 1.0;
    for k in 1..=j {
        let k = k as f64;
        term *= (if k == 1.0 { 0.5 } else { (k - 1.5) / k }) * m / 4.0;
    }
    let (mut sum, mut k) = (term, j as f64);
    let j = j as f64;
    while term > 1e-18 * sum {
        // binom(2k+2, k+1-j)/binom(2k, k-j) = (2k+2)(2k+1)/((k+1-j)(k+1+j)).
        let pairs = (2.0 * k + 2.0) * (2.0 * k + 1.0) / ((k + 1.0 - j) * (k + 1.0 + j));
        term *= (k - 0.5) / (k + 1.0) * m / 4.0 * pairs;
        sum += term;
        k += 1.0;
    }
    // (-1)^j 2 sum binom(1/2, k) (-m)^k ..., where binom(1/2, k) (-1)^k is negative for k >= 1.
    let sign = if n.is_multiple_of(4) { -1.0 } else { 1.0 };
    sign * 2.0 * sum * q * (n * n) as f64
}

/// A table: integrals of z'' e^{-j n theta} over intervals on which z'' is linear.
fn piecewise(profile: &Profile, order: usize) -> Vec<Complex64> {
    let rows = profile.angle.len();
    let integral = |n: usize| -> Complex64 {
        (0..rows)
            .map(|k| {
                let h = profile.step(k);
                let (m0, m1) = (profile.second[k], profile.second[(k + 1) % rows]);
                let s = Complex64::new(0.0, -(n as f64));
                let [constant, ramp] = linear_integrals(s * h);
                (s * profile.angle[k]).exp() * h * (constant * m0 + ramp * (m1 - m0))
            })
            .sum()
    };
    // The mean of z'' is zero by the spline's periodic slope; rounding must not make a force of it.
    let mut out = vec![Complex64::ZERO; order + 1];
    for (n, c) in out.iter_mut().enumerate().skip(1) {
        *c = integral(n) / PI;
    }
    out
}

/// Integrals over x in 0..1 of e^{s x} and x e^{s x}.
fn linear_integrals(s: Complex64) -> [Complex64; 2] {
    if s.norm() > 1.0 {
        let e = s.exp();
        return [(e - 1.0) / s, e / s - (e - 1.0) / (s * s)];
    }
    // Taylor: s^k/(k+1)! and s^k/(k! (k+2)), no cancellation.
    let (mut power, mut out) = (Complex64::from(1.0), [Complex64::ZERO; 2]);
    for k in 0..20 {
        let k = f64::from(k);
        out[0] += power / (k + 1.0);
        out[1] += power / (k + 2.0);
        power *= s / (k + 1.0);
    }
    out
}

/// Coefficients 0 to `order` of K analytic functions of the crank angle.
fn transform<const K: usize>(
    order: usize,
    f: impl Fn(f64) -> [f64; K],
) -> Result<Vec<[Complex64; K]>> {
    let mut planner = FftPlanner::new();
    let mut points = POINTS[0].max((4 * (order + 1)).next_power_of_two());
    let mut left = f64::INFINITY;
    while points <= POINTS[1].max(8 * (order + 1).next_power_of_two()) {
        let samples: Vec<[f64; K]> =
            (0..points).map(|i| f(i as f64 / points as f64 * 2.0 * PI)).collect();
        let fft = planner.plan_fft_forward(points);
        let mut out = vec![[Complex64::ZERO; K]; points / 2];
        for channel in 0..K {
            let mut values: Vec<Complex64> =
                samples.iter().map(|s| Complex64::from(s[channel])).collect();
            fft.process(&mut values);
            for (n, c) in out.iter_mut().enumerate().skip(1) {
                c[channel] = values[n] * (2.0 / points as f64);
            }
        }
        let greatest = largest(&out);
        let tail = largest(&out[3 * points / 8..]);
        left = if tail == 0.0 { 0.0 } else { tail / greatest };
        if left <= CONVERGED {
            out.truncate(order + 1);
            return Ok(without_rounding(out, greatest));
        }
        points *= 2;
    }
    Err(Error::NotConverged {
        what: "the harmonics of the slide drive".into(),
        detail: format!("{} points leave a relative change of {left:.1e}", points / 2),
        remedy: "the mechanism all but locks: take a longer rod or less offset".into(),
    })
}

/// The greatest coefficient of all: a sum that cancels but for rounding must not be asked for digits
/// of its own.
fn largest<const K: usize>(series: &[[Complex64; K]]) -> f64 {
    series.iter().flatten().map(|c| c.norm_sqr()).fold(0.0, f64::max).sqrt()
}

/// What the transform leaves of a harmonic that is not there is rounding, and no harmonic.
fn without_rounding<const K: usize>(
    mut series: Vec<[Complex64; K]>,
    greatest: f64,
) -> Vec<[Complex64; K]> {
    for c in series.iter_mut().flatten().filter(|c| c.norm() < 4.0 * f64::EPSILON * greatest) {
        *c = Complex64::ZERO;
    }
    series
}
