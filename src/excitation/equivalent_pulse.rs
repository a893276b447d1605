//! What net force does snap-through put on a press that is taken for rigid?
//!
//! q_i'' / w_i^2 + 2 zeta_i q_i' / w_i + q_i = F(t),   f(t) = - sum of share_i q_i'' / w_i^2
//!
//! The work force itself is internal and puts nothing on a rigid press. What moves it is the inertia of
//! crown and slide as the frame stretches and snaps back. The sum runs over the swings of the frame with
//! the mounts taken away: one by hand, the two of crown and slide from a press. For a mode phi_i,
//! share_i = (sum of m_j phi_ij over crown and slide) phi_i,slide; the sum of share_i / w_i^2 is that of
//! m_j h_j, h_j the stretch per unit force. The impulse of f is nothing: it pushes and takes back.
//!
//! It suffices for the force on the floor where the slowest swing of the frame is at least [`ENOUGH`] times
//! the stiffest mode on the mounts: then what the mounts do to the frame is small. It says nothing of
//! drive and column load. Mounts with a loss factor are to be taken with care: on a rigid press the causal
//! equivalent of a loss factor is a dashpot set for the slow modes, and at frame frequencies that
//! passes on too much (28 % at 93 Hz with a loss factor of 0.08); a zener law does not.
//!
//! Source: derived here; compared with the press of eight degrees of freedom over a range of frame
//! frequencies, the peak on the floor is 0.5 % too great at 11 times, 4 % at 3.8, 13 % at 1.9, and
//! twice too great at 1.2 times.

use nalgebra::Vector3;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::Segment;
use crate::error::{Error, Result, each, finite, positive};

/// Frame frequency over that of the stiffest mode on the mounts from which the pulse suffices.
pub const ENOUGH: f64 = 3.0;

/// A swing of the frame, mounts taken away.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Swing {
    /// Frequency, Hz.
    pub frequency: f64,
    /// Damping ratio.
    pub damping_ratio: f64,
    /// Its share of the work force in the net force on the machine.
    pub share: f64,
}

/// The net inertial force of snap-through on a rigid press.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EquivalentPulse {
    /// Work force F: straight lines between knots, s and N.
    pub knots: Vec<[f64; 2]>,
    /// Swings of the frame.
    pub swings: Vec<Swing>,
    /// Where it acts, m; `None`: at the center of mass.
    pub point: Option<Vector3<f64>>,
}

impl EquivalentPulse {
    /// Of a work force by its knots (s, N) and the swings of a frame.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a frequency that is not positive, a damping ratio outside 0..1, or a
    /// force that does not begin and end at zero.
    pub fn new(
        knots: Vec<[f64; 2]>,
        swings: Vec<Swing>,
        point: Option<Vector3<f64>>,
    ) -> Result<Self> {
        for Swing { frequency, damping_ratio, share } in &swings {
            positive("frequency", *frequency, "Hz")?;
            finite("share", *share, "")?;
            if !(0.0..1.0).contains(damping_ratio) {
                return Err(Error::invalid(
                    "damping_ratio",
                    damping_ratio,
                    "must be at least 0 and less than 1",
                    "a frame swings: 0.01 to 0.05 is usual",
                ));
            }
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
        Ok(Self { knots, swings, point })
    }

    /// Slowest swing, Hz; zero without any.
    pub fn frequency(&self) -> f64 {
        let slowest = self.swings.iter().map(|s| s.frequency).fold(f64::INFINITY, f64::min);
        if slowest.is_finite() { slowest } else { 0.0 }
    }

    /// f(t) along z in closed form until the frame has come to rest (a part of 1e-9).
    pub fn segments(&self) -> Vec<Segment> {
        self.swings.iter().flat_map(|swing| swing.segments(&self.knots)).collect()
    }
}

impl Swing {
    fn segments(&self, knots: &[[f64; 2]]) -> Vec<Segment> {
        let w = std::f64::consts::TAU * self.frequency;
        let zeta = self.damping_ratio;
        let s = Complex64::new(-zeta, (1.0 - zeta * zeta).sqrt()) * w;
        let piece = |start: f64, end: f64, a: Complex64| Segment {
            start,
            end,
            constant: 0.0,
            slope: 0.0,
            exponentials: vec![(-self.share * a * s * s / (w * w), s)],
        };
        // On a piece of slope d: q = F - 2 zeta d / w + Re(a e^{s tau}); q and q' are continuous, so
        // the part that swings takes up the jump dd of the slope: of q by 2 zeta dd / w, of q' by -dd.
        let corner = |jump: f64| {
            let (x, v) = (2.0 * zeta * jump / w, -jump);
            Complex64::new(x, (s.re * x - v) / s.im)
        };
        let (mut a, mut slope, mut out) = (Complex64::from(0.0), 0.0, Vec::new());
        for pair in knots.windows(2) {
            let (start, end) = (pair[0][0], pair[1][0]);
            let next = (pair[1][1] - pair[0][1]) / (end - start);
            a += corner(next - slope);
            slope = next;
            out.push(piece(start, end, a));
            a *= (s * (end - start)).exp();
        }
        a += corner(-slope);
        let end = knots.last().map_or(0.0, |k| k[0]);
        let rest = if zeta > 0.0 { 20.0 / (zeta * w) } else { 200.0 / self.frequency };
        out.push(piece(end, end + rest, a));
        out
    }
}
