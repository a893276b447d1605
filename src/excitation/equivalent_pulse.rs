//! What net force does snap-through put on a press that is taken for rigid?
//!
//! q'' / w^2 + 2 zeta q' / w + q = F(t),   f(t) = -share q'' / w^2
//!
//! The work force itself is internal and puts nothing on a rigid press. What moves it is the inertia of
//! crown and slide as the frame stretches and snaps back. With the masses m_j that stretch by h_j per
//! unit force, mu = sum of m_j h_j, and the frequency w at which the frame swings with the mounts taken
//! away, q is the force that the frame shows and f the net force on the whole machine; share = mu w^2.
//! The impulse of f is nothing: it pushes and takes back.
//!
//! It suffices for the force on the floor where the frame's frequency is at least [`ENOUGH`] times that of
//! the stiffest mode on the mounts and no plain dashpot carries the floor force; there it stands for the
//! shape of the stretch by its static one. It says nothing of drive and column load.
//!
//! Source: derived here (one mode of the stretch); compared with the press of eight degrees of freedom
//! over a range of frame frequencies.

use nalgebra::Vector3;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::Segment;
use crate::error::{Error, Result, each, finite, positive};

/// Frame frequency over that of the stiffest mode on the mounts from which the pulse suffices.
pub const ENOUGH: f64 = 4.0;

/// The net inertial force of snap-through on a rigid press.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EquivalentPulse {
    /// Work force F: straight lines between knots, s and N.
    pub knots: Vec<[f64; 2]>,
    /// Frequency of the frame, mounts taken away, Hz.
    pub frequency: f64,
    /// Damping ratio of the frame.
    pub damping_ratio: f64,
    /// share = mu w^2.
    pub share: f64,
    /// Where it acts, m; `None`: at the center of mass.
    pub point: Option<Vector3<f64>>,
}

impl EquivalentPulse {
    /// Of a work force by its knots (s, N), a frame of that frequency (Hz) and damping ratio, and its
    /// share.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a frequency or share that is not positive, or a damping ratio outside 0..1.
    pub fn new(
        knots: Vec<[f64; 2]>,
        frequency: f64,
        damping_ratio: f64,
        share: f64,
        point: Option<Vector3<f64>>,
    ) -> Result<Self> {
        positive("frequency", frequency, "Hz")?;
        positive("share", share, "")?;
        if !(0.0..1.0).contains(&damping_ratio) {
            return Err(Error::invalid(
                "damping_ratio",
                damping_ratio,
                "must be at least 0 and less than 1",
                "a frame swings: 0.01 to 0.05 is usual",
            ));
        }
        each(finite, "point", point.iter().flatten(), "m")?;
        super::forming::TimeCurve::new(knots.clone())?;
        if knots.iter().take(1).chain(knots.last()).any(|k| k[1] != 0.0) {
            return Err(Error::invalid(
                "knots",
                "a force that does not begin and end at zero",
                "must begin and end at zero",
                "let the force rise and fall within a time",
            ));
        }
        Ok(Self { knots, frequency, damping_ratio, share, point })
    }

    /// f(t) along z in closed form until the frame has come to rest (a part of 1e-9).
    pub fn segments(&self) -> Vec<Segment> {
        let w = std::f64::consts::TAU * self.frequency;
        let zeta = self.damping_ratio;
        let s = Complex64::new(-zeta, (1.0 - zeta * zeta).sqrt()) * w;
        // On a piece of slope d: q = F - 2 zeta d / w + Re(a e^{s tau}); q and q' are continuous.
        let mut a = Complex64::from(0.0);
        let (mut out, mut slope) = (Vec::new(), 0.0);
        let mut add = |start: f64, end: f64, a: Complex64| {
            let amplitude = -self.share * a * s * s / (w * w);
            out.push(Segment {
                start,
                end,
                constant: 0.0,
                slope: 0.0,
                exponentials: vec![(amplitude, s)],
            });
        };
        let mut corner = |a: &mut Complex64, next: f64| {
            // The part that swings takes up the jump: of q by 2 zeta dd / w, of q' by -dd.
            let jump = next - slope;
            slope = next;
            let (x, v) = (2.0 * zeta * jump / w, -jump);
            // x = Re b, v = Re(b s).
            let b = Complex64::new(x, (s.re * x - v) / s.im);
            *a += b;
        };
        for pair in self.knots.windows(2) {
            let (start, end) = (pair[0][0], pair[1][0]);
            corner(&mut a, (pair[1][1] - pair[0][1]) / (end - start));
            add(start, end, a);
            a *= (s * (end - start)).exp();
        }
        corner(&mut a, 0.0);
        let end = self.knots.last().map_or(0.0, |k| k[0]);
        let rest = if zeta > 0.0 { 20.0 / (zeta * w) } else { 200.0 / self.frequency };
        add(end, end + rest, a);
        out
    }
}
