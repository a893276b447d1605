//! The crank's angle and speed while its acceleration is a straight line in time.

use std::f64::consts::TAU;

use crate::error::{Error, Result, finite};

/// How the two sides of the drive hang together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coupling {
    /// The clutch slips: the driving side pays for what the driven side gains.
    Slipping,
    /// The driving side runs on by itself.
    Open,
    /// Both follow the crank.
    Locked,
}

/// A stretch of time with one law of the crank's acceleration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phase {
    /// s.
    pub duration: f64,
    /// Acceleration of the crank at the start and at the end, rad/s^2.
    pub acceleration: [f64; 2],
    pub coupling: Coupling,
    /// Torque on the frame besides, at the start and at the end: a clutch that slips on a crank that
    /// sticks, N m.
    pub held: [f64; 2],
}

impl Phase {
    pub fn new(duration: f64, acceleration: [f64; 2], coupling: Coupling) -> Self {
        Self { duration, acceleration, coupling, held: [0.0; 2] }
    }
}

/// A phase with the crank's state at its start.
#[derive(Debug, Clone, Copy)]
pub struct Run {
    pub start: f64,
    pub phase: Phase,
    theta: f64,
    omega: f64,
}

impl Run {
    pub fn end(&self) -> f64 {
        self.start + self.phase.duration
    }

    /// Angle, speed and acceleration at a time (s).
    pub fn at(&self, t: f64) -> [f64; 3] {
        let tau = t - self.start;
        let [a, end] = self.phase.acceleration;
        let jerk = (end - a) / self.phase.duration;
        [
            self.theta + tau * (self.omega + tau * (a / 2.0 + tau * jerk / 6.0)),
            self.omega + tau * (a + tau * jerk / 2.0),
            a + tau * jerk,
        ]
    }

    pub fn state(&self, t: f64) -> [f64; 4] {
        let [theta, omega, alpha] = self.at(t);
        [t, theta, omega, alpha]
    }
}

/// The phases one after the other, from an angle (rad) and a speed (rad/s).
pub fn runs(angle: f64, omega: f64, phases: &[Phase]) -> Vec<Run> {
    let (mut start, mut theta, mut speed) = (0.0, angle, omega);
    let mut out = Vec::with_capacity(phases.len());
    for &phase in phases {
        let run = Run { start, phase, theta, omega: speed };
        let [_, next, next_speed, _] = run.state(run.end());
        // A brake leaves rounding of the speed it took away.
        (theta, speed) =
            (next, if next_speed.abs() < 1e-12 * omega.abs() { 0.0 } else { next_speed });
        start = run.end();
        out.push(run);
    }
    out
}

/// A change of speed (rad/s) in a time (s), the torque rising over `rise` (s) and constant then.
pub fn change(by: f64, duration: f64, rise: f64, coupling: Coupling) -> Vec<Phase> {
    let a = by / (duration - rise / 2.0);
    let mut out = Vec::new();
    if rise > 0.0 {
        out.push(Phase::new(rise, [0.0, a], coupling));
    }
    out.push(Phase::new(duration - rise, [a, a], coupling));
    out
}

/// Phases of a servo profile: speed (Hz) in straight lines between knots of time (s).
pub fn servo(knots: &[[f64; 2]]) -> Result<Vec<Phase>> {
    let wrong = |value: String, requirement: &str, remedy: &str| {
        Err(Error::invalid("knots", value, requirement, remedy))
    };
    for knot in knots {
        finite("knots.time", knot[0], "s")?;
        finite("knots.speed", knot[1], "Hz")?;
    }
    let [first, .., last] = knots else {
        return wrong(format!("{} knots", knots.len()), "must be two or more", "give one period");
    };
    if first[0] != 0.0 || knots.windows(2).any(|pair| pair[1][0] <= pair[0][0]) {
        return wrong(
            "their times".into(),
            "must ascend from 0 s",
            "give (time, speed) in the order of time",
        );
    }
    if first[1] != last[1] {
        let value = format!("{} Hz at the end, {} Hz at the start", last[1], first[1]);
        return wrong(value, "must come back to the speed at the start", "give a whole period");
    }
    let turned: f64 = knots
        .windows(2)
        .map(|pair| (pair[1][0] - pair[0][0]) * (pair[0][1] + pair[1][1]) / 2.0)
        .sum();
    if (turned - turned.round()).abs() > 1e-6 {
        return wrong(
            format!("{turned} turns in one period"),
            "must be whole turns of the crank (none for a pendulum)",
            "scale the speeds or move a knot",
        );
    }
    let phase = |pair: &[[f64; 2]]| {
        let duration = pair[1][0] - pair[0][0];
        let a = TAU * (pair[1][1] - pair[0][1]) / duration;
        Phase::new(duration, [a, a], Coupling::Locked)
    };
    Ok(knots.windows(2).map(phase).collect())
}
