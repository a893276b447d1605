//! What does an unbalanced rotor put on the machine, at a steady speed and while it runs up or down?
//!
//! A mass m at eccentricity e turns about the axis a; its angle is phi + its place in the rotor. With
//! e_1 up (x for an upright shaft) and e_2 = a x e_1, its inertia force on the machine is
//!
//! F = m e [(phi'^2 cos phi + phi'' sin phi) e_1 + (phi'^2 sin phi - phi'' cos phi) e_2]
//!   = Re, Im of m e (phi'^2 - j phi'') e^{j phi}.
//!
//! Two planes with their own angles give any unbalance, static and of couple. A rotor of inertia I
//! that changes speed puts the moment -I phi'' a on the machine (stator and bearings together).
//!
//! Run-up and run-down: phi'' is constant, phi' goes from one speed to the other. The load is brought
//! into closed form piece by piece (`closed_form::turning`), to 1e-12 of its greatest value; the
//! motion under it is exact. The peak comes after the resonance has been passed, and is less than the
//! steady one.
//!
//! Assumptions: the speed is given (the drive is strong enough to pass the resonance); unbalance is
//! small against the machine's mass.
//!
//! Source: textbook, e.g. F. M. Lewis, Trans. ASME 54 (1932), p. 253, on passing a resonance (from
//! memory).

use nalgebra::Vector3;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::closed_form::{TOLERANCE, turning};
use super::direction::unit_vector;
use super::{Action, Before, Excitation, Segment, Source};
use crate::error::{Error, Result, each, finite, not_negative, positive};

/// Unbalance in one plane of the rotor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UnbalancePlane {
    /// Mass times eccentricity, kg m.
    pub unbalance: f64,
    /// Point of the shaft, m; `None`: at the center of mass of the machine.
    pub at: Option<Vector3<f64>>,
    /// Angle ahead of the rotor's mark, rad.
    pub angle: f64,
}

/// An unbalanced rotor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rotating {
    /// Unit vector of the shaft; the rotor turns right-handed about it.
    pub axis: Vector3<f64>,
    /// One plane or more.
    pub planes: Vec<UnbalancePlane>,
    /// Moment of inertia about the shaft, kg m^2; zero leaves its reaction to a change of speed out.
    pub inertia: f64,
}

/// A speed that changes evenly from one value to another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpeedRamp {
    /// Speed at the start, Hz.
    pub from: f64,
    /// Speed at the end, Hz.
    pub to: f64,
    /// Time in which it changes, s.
    pub duration: f64,
    /// Time at the last speed afterwards, s.
    pub hold: f64,
    /// The machine has run at the first speed for long; else it starts from rest.
    pub from_steady: bool,
    /// The part of the force that goes with the change of speed itself is counted.
    pub tangential: bool,
}

impl SpeedRamp {
    /// From one speed to another (Hz) in a time (s), after long running at the first speed.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a negative speed, equal speeds, or a time that is not positive.
    pub fn new(from: f64, to: f64, duration: f64) -> Result<Self> {
        not_negative("from", from, "Hz")?;
        not_negative("to", to, "Hz")?;
        positive("time", duration, "s")?;
        if from == to {
            return Err(Error::invalid(
                "to",
                format!("{to} Hz"),
                "must differ from the speed at the start",
                "a steady speed is no run-up",
            ));
        }
        let from_steady = from > 0.0;
        Ok(Self { from, to, duration, hold: 0.0, from_steady, tangential: true })
    }

    /// The same, with a time (s) at the last speed afterwards.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a negative time.
    pub fn with_hold(self, hold: f64) -> Result<Self> {
        Ok(Self { hold: not_negative("hold", hold, "s")?, ..self })
    }

    /// Time from the start to the end of what is looked at, s.
    pub fn end(&self) -> f64 {
        self.duration + self.hold
    }

    /// The same, starting from a machine at rest.
    pub fn from_rest(self) -> Self {
        Self { from_steady: false, ..self }
    }

    /// The same with the centrifugal force alone.
    pub fn centrifugal_only(self) -> Self {
        Self { tangential: false, ..self }
    }

    /// phi'', rad/s^2.
    pub fn acceleration(&self) -> f64 {
        TAU * (self.to - self.from) / self.duration
    }

    /// phi (rad) and phi' (rad/s) at a time (s) of the ramp.
    pub fn phase(&self, t: f64) -> [f64; 2] {
        let (w, a) = (TAU * self.from, self.acceleration());
        [(w + 0.5 * a * t) * t, w + a * t]
    }

    /// Time at which it passes a frequency (Hz), s; none outside the ramp.
    pub fn passes(&self, frequency: f64) -> Option<f64> {
        let t = (frequency - self.from) / (self.to - self.from) * self.duration;
        (0.0..=self.duration).contains(&t).then_some(t)
    }
}

impl Rotating {
    /// A rotor on a shaft with unbalance in one plane or more.
    ///
    /// # Errors
    /// [`Error::Invalid`] for no plane, a shaft that is no unit vector, a negative inertia, and
    /// anything not finite.
    pub fn new(axis: Vector3<f64>, planes: Vec<UnbalancePlane>, inertia: f64) -> Result<Self> {
        let axis = unit_vector("axis", axis)?;
        not_negative("inertia", inertia, "kg m^2")?;
        if planes.is_empty() {
            return Err(Error::invalid(
                "planes",
                "[]",
                "at least one plane of unbalance is required",
                "give mass times eccentricity (kg m) of one plane",
            ));
        }
        for (i, plane) in planes.iter().enumerate() {
            let named = |e: Error| e.within(&format!("planes[{i}]"));
            positive("unbalance", plane.unbalance, "kg m").map_err(named)?;
            finite("angle", plane.angle, "rad").map_err(named)?;
            each(finite, "at", plane.at.iter().flatten(), "m").map_err(named)?;
        }
        Ok(Self { axis, planes, inertia })
    }

    /// Unbalance of a balance quality grade G (mm/s: e times omega) of a rotor of a mass (kg) at its
    /// highest service speed (Hz), kg m.
    ///
    /// # Errors
    /// [`Error::Invalid`] for anything that is not positive.
    pub fn permissible_unbalance(grade_mm_per_s: f64, mass: f64, speed: f64) -> Result<f64> {
        let grade = 1e-3 * positive("grade", grade_mm_per_s, "mm/s")?;
        Ok(grade / (TAU * positive("speed", speed, "Hz")?) * positive("mass", mass, "kg")?)
    }

    /// e_1 and e_2: the rotor's mark stands along e_1 at phi = 0 and turns toward e_2.
    pub fn across(&self) -> [Vector3<f64>; 2] {
        let up = Vector3::z() - self.axis * self.axis.z;
        let e_1 = if up.norm() > 1e-9 { up.normalize() } else { Vector3::x() };
        [e_1, self.axis.cross(&e_1)]
    }

    /// Phasors of force and moment about a point (m) at a steady speed (Hz): F = Re(W e^{j omega t}).
    pub fn phasors(&self, speed: f64, point: &Vector3<f64>) -> [Complex64; 6] {
        let omega = TAU * speed;
        let [e_1, e_2] = self.across();
        let mut sum = [Complex64::ZERO; 6];
        for plane in &self.planes {
            // cos along e_1 is the real part of e^{j phi}, sin along e_2 that of -j e^{j phi}.
            let size = plane.unbalance * omega * omega * Complex64::cis(plane.angle);
            for (direction, turn) in [(e_1, Complex64::ONE), (e_2, -Complex64::I)] {
                let unit = Action::force(Source::Other, direction, plane.at, Vec::new());
                for (w, part) in sum.iter_mut().zip(unit.about(point)) {
                    *w += size * turn * part;
                }
            }
        }
        sum
    }

    /// One turn at a steady speed (Hz): what acts, exactly.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a speed that is not positive.
    pub fn steady(&self, speed: f64) -> Result<Before> {
        let omega = TAU * positive("speed", speed, "Hz")?;
        let period = 1.0 / speed;
        let [e_1, e_2] = self.across();
        let both = |plane: &UnbalancePlane| {
            let size = plane.unbalance * omega * omega * Complex64::cis(plane.angle);
            [(e_1, Complex64::ONE), (e_2, -Complex64::I)].map(|(direction, turn)| {
                let exponentials = vec![(size * turn, Complex64::I * omega)];
                let segment = Segment { exponentials, ..Segment::line(0.0, period, 0.0, 0.0) };
                Action::force(Source::Other, direction, plane.at, vec![segment])
            })
        };
        Ok(Before { actions: self.planes.iter().flat_map(both).collect(), period })
    }

    /// Run-up or run-down as an event: from long running at the first speed where the ramp says so, to
    /// the end of what it holds; and the greatest relative error of its closed form.
    ///
    /// # Errors
    /// Those of the closed form.
    pub fn ramp(&self, ramp: &SpeedRamp) -> Result<(Excitation, f64)> {
        let steady = ramp.from_steady && ramp.from > 0.0;
        let before = steady.then(|| self.steady(ramp.from)).transpose()?;
        let (actions, error) = self.changing(ramp)?;
        Ok((Excitation { before, actions, duration: Some(ramp.end()), every: None }, error))
    }

    fn changing(&self, ramp: &SpeedRamp) -> Result<(Vec<Action>, f64)> {
        let [e_1, e_2] = self.across();
        let a = if ramp.tangential { ramp.acceleration() } else { 0.0 };
        let envelope = |t: f64| Complex64::new(ramp.phase(t)[1].powi(2), -a);
        let knots = [0.0, ramp.duration];
        let mut parts = turning(envelope, |t| ramp.phase(t), &knots, TOLERANCE)?;
        let error = parts[0].error;
        if ramp.hold > 0.0 && ramp.to > 0.0 {
            let [phi, omega] = ramp.phase(ramp.duration);
            let size = omega * omega * Complex64::cis(phi);
            for (part, turn) in parts.iter_mut().zip([Complex64::ONE, -Complex64::I]) {
                let exponentials = vec![(size * turn, Complex64::I * omega)];
                let line = Segment::line(ramp.duration, ramp.end(), 0.0, 0.0);
                part.segments.push(Segment { exponentials, ..line });
            }
        }
        let mut actions = Vec::new();
        for plane in &self.planes {
            // E e^{j (phi + angle)}: its real part along e_1, its imaginary part along e_2.
            let (sin, cos) = plane.angle.sin_cos();
            let mix = |re: f64, im: f64| -> Vec<Segment> {
                let scaled = |part: &[Segment], by: f64| -> Vec<Segment> {
                    let all = if by == 0.0 { &[] } else { part };
                    all.iter().map(|s| s.clone().times(by * plane.unbalance)).collect()
                };
                let mut all = scaled(&parts[0].segments, re);
                all.extend(scaled(&parts[1].segments, im));
                all
            };
            actions.push(Action::force(Source::Other, e_1, plane.at, mix(cos, -sin)));
            actions.push(Action::force(Source::Other, e_2, plane.at, mix(sin, cos)));
        }
        if self.inertia > 0.0 {
            let moment = -self.inertia * ramp.acceleration();
            let lasting = vec![Segment::line(0.0, ramp.duration, moment, 0.0)];
            actions.push(Action::moment(Source::StartStop, self.axis, lasting));
        }
        Ok((actions, error))
    }
}
