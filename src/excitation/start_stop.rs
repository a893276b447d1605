//! What does the drive put on the frame when it starts, stops, or is stopped in a hurry?
//!
//! All torques between motor, clutch, brake, gears and bearings are internal or grounded in the frame,
//! so what the frame feels is minus the rate of change of the angular momentum of every rotor, signed
//! by its sense of rotation, and the slide's own inertia at its line of action:
//!
//! M = -d/dt sum(I_i n_i omega_i) a,   omega_i = ratio_i times the crank's speed,
//!
//! a: the crank's axis in its sense of rotation. With the rotors of the motor in the sum, the reaction
//! of its stator is in M too and must not be counted again. Rotors stand on two sides of the clutch:
//!
//! - driven: follow the crank. J_d = sum I ratio, R_d = sum I ratio^2;
//! - driving: run on at their own speed while the clutch is open; while it slips they lose what the
//!   driven side takes, R_f alpha_f = -(R_d alpha + Q), Q = m s'(theta) s'' : the slide's torque;
//!   J_f = sum I ratio, R_f = sum I ratio^2.
//!
//! So a clutch straight on a flywheel (all ratios 1, no slide) gives M = -J_d alpha + J_f alpha R_d / R_f
//! = 0, and a brake fixed to the frame gives J_d omega / t_b in full. Gears add or cancel by their signs.
//! The slide adds -m s''(theta, omega, alpha) at its line: m r (alpha sin theta + omega^2 cos theta) and
//! the rod's terms, exactly.
//!
//! What is given is the crank's speed: torques of clutch and brake that rise over a time and then stay
//! constant. Torques of rotors are straight lines in time, exactly; the slide's part is brought into
//! closed form to 1e-12 (`closed_form::smooth`).
//!
//! Left out: the flywheel's slow recovery afterwards, weight and counterbalance of the slide in Q, the
//! rods in Q, elasticity of shafts. Freed from a stick, the frame's own spring-back is a break-through,
//! not a torque.
//!
//! Source: angular momentum, textbook.

use nalgebra::{Vector3, Vector6};
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::closed_form::{TOLERANCE, greatest, smooth};
use super::direction::unit_vector;
use super::{Action, Before, Excitation, Segment, SlideDrive, Source};
use crate::error::{Error, Result, finite, not_negative, positive};

mod events;
mod speed;

pub use events::DriveEvent;
use speed::{Coupling, Phase};

/// Part of the whole below which a component is rounding.
const ROUNDING: f64 = 1e-13;

/// Side of the clutch on which a rotor stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Side {
    /// Motor, flywheel: goes on turning when the clutch opens.
    Driving,
    /// Gears, eccentric, crank: turns with the slide.
    Driven,
}

/// Something that turns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rotor {
    /// Name ("flywheel").
    pub name: String,
    /// Moment of inertia about its own shaft, kg m^2.
    pub inertia: f64,
    /// Its speed over that of the crank; negative if it turns the other way.
    pub ratio: f64,
    /// Side of the clutch.
    pub side: Side,
}

impl Rotor {
    /// A rotor of an inertia (kg m^2) that turns `ratio` times as fast as the crank.
    ///
    /// # Errors
    /// [`Error::Invalid`] for an inertia that is not positive, or a ratio of zero.
    pub fn new(name: &str, inertia: f64, ratio: f64, side: Side) -> Result<Self> {
        positive("inertia", inertia, "kg m^2")?;
        if finite("ratio", ratio, "")? == 0.0 {
            return Err(Error::invalid(
                "ratio",
                0,
                "must not be zero: the rotor would stand still",
                "give its speed over the crank's, negative if it turns the other way",
            ));
        }
        Ok(Self { name: name.into(), inertia, ratio, side })
    }
}

/// A drive: rotors on shafts along one axis, a clutch, a brake on the frame, and the slide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DriveTrain {
    /// Unit vector of the crankshaft, in the crank's sense of rotation (right-handed).
    pub axis: Vector3<f64>,
    /// Working speed of the crank, turns a second, Hz.
    pub speed: f64,
    /// All rotors that the frame carries.
    pub rotors: Vec<Rotor>,
    /// The slide and its mechanism; none: rotors alone.
    pub slide: Option<SlideDrive>,
}

/// What acts during an event of the drive, and how the crank moves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DriveMotion {
    /// What acts, and the steady running before it.
    pub excitation: Excitation,
    /// Crank: time (s), angle (rad), speed (rad/s) and acceleration (rad/s^2) at the start of each
    /// stretch, and at the end.
    pub crank: Vec<[f64; 4]>,
    /// End of the event, s.
    pub end: f64,
    /// Greatest relative error of the closed form of the slide's part.
    pub error: f64,
}

/// Sums over the rotors of one side: I ratio and I ratio^2, kg m^2.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Sums {
    signed: f64,
    reflected: f64,
}

impl DriveTrain {
    /// A drive whose crank turns about an axis at a working speed (Hz).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a speed that is not positive, an axis that is no unit vector or not that
    /// of the slide's mechanism, and a drive with nothing on the driven side.
    pub fn new(
        axis: Vector3<f64>,
        speed: f64,
        rotors: Vec<Rotor>,
        slide: Option<SlideDrive>,
    ) -> Result<Self> {
        let axis = unit_vector("axis", axis)?;
        positive("speed", speed, "Hz")?;
        for (i, rotor) in rotors.iter().enumerate() {
            // Fields are public: a rotor may have changed since it was made.
            Rotor::new(&rotor.name, rotor.inertia, rotor.ratio, rotor.side)
                .map_err(|e| e.within(&format!("rotors[{i}]")))?;
        }
        if slide.is_none() && !rotors.iter().any(|r| r.side == Side::Driven) {
            return Err(Error::invalid(
                "rotors",
                format!("{} on the driving side", rotors.len()),
                "at least one rotor on the driven side, or a slide, is required",
                "give the crank with its gear: inertia, ratio and side",
            ));
        }
        if let Some(slide) = &slide {
            along_the_shaft(&axis, slide)?;
        }
        Ok(Self { axis, speed, rotors, slide })
    }

    fn sums(&self, side: Side) -> Sums {
        let own = || self.rotors.iter().filter(|r| r.side == side);
        Sums {
            signed: own().map(|r| r.inertia * r.ratio).sum(),
            reflected: own().map(|r| r.inertia * r.ratio * r.ratio).sum(),
        }
    }

    /// Angular momentum of one side at working speed, signed, N m s.
    pub fn angular_momentum(&self, side: Side) -> f64 {
        self.sums(side).signed * TAU * self.speed
    }

    /// Angle of the crank at which the slide is highest, rad; zero without a slide.
    pub fn top(&self) -> f64 {
        self.slide.as_ref().map_or(0.0, SlideDrive::top_dead_center)
    }

    /// What acts in an event.
    ///
    /// # Errors
    /// [`Error::Invalid`] for times that are not positive, or that the event cannot have.
    pub fn motion(&self, event: &DriveEvent) -> Result<DriveMotion> {
        let plan = event.plan(self)?;
        let mut motion = self.through(plan.angle, plan.speed, &plan.phases)?;
        if plan.after_running {
            motion.excitation.before = self.running(plan.angle, plan.speed)?;
        }
        Ok(motion)
    }

    /// What acts while the crank's speed goes through straight lines between knots (time in s, speed in
    /// Hz), both sides of the drive following it: a servo press without clutch. The last knot ends the
    /// period; speed and angle must come back, the angle after whole turns.
    ///
    /// # Errors
    /// [`Error::Invalid`] for knots that do not ascend, speeds that do not come back, or parts of a turn.
    pub fn servo(&self, knots: &[[f64; 2]], angle: f64) -> Result<Excitation> {
        let phases = speed::servo(knots)?;
        let motion = self.through(angle, TAU * knots[0][1], &phases)?;
        Ok(Excitation { every: Some(motion.end), ..motion.excitation })
    }

    /// One turn of steady running from a crank angle (rad) on; none without a slide.
    fn running(&self, angle: f64, omega: f64) -> Result<Option<Before>> {
        let Some(slide) = &self.slide else { return Ok(None) };
        let period = TAU / omega;
        let wrench = |_: usize, t: f64| slide.inertia_wrench(angle + omega * t, omega, 0.0);
        let (actions, _) = parts(slide, wrench, &[0.0, period])?;
        Ok(Some(Before { actions, period }))
    }

    fn through(&self, angle: f64, omega: f64, phases: &[Phase]) -> Result<DriveMotion> {
        let (driven, driving) = (self.sums(Side::Driven), self.sums(Side::Driving));
        let runs = speed::runs(angle, omega, phases);
        let mut torque = Vec::new();
        for run in &runs {
            // Part of the driven side's torque that comes back through the frame.
            let gain = match run.phase.coupling {
                Coupling::Slipping => Self::slip(&driven, &driving)?,
                Coupling::Open => -driven.signed,
                Coupling::Locked => -(driven.signed + driving.signed),
            };
            let [from, to] = run.phase.acceleration;
            let [held, held_to] = run.phase.held;
            let slope = (gain * (to - from) + held_to - held) / run.phase.duration;
            torque.push(Segment::line(run.start, run.end(), gain * from + held, slope));
        }
        torque.retain(|s| s.constant != 0.0 || s.slope != 0.0);
        let mut actions = vec![Action::moment(Source::StartStop, self.axis, torque)];
        let mut error = 0.0_f64;
        let knots: Vec<f64> =
            runs.first().map(|r| r.start).into_iter().chain(runs.iter().map(|r| r.end())).collect();
        if let Some(slide) = &self.slide {
            let wrench = |piece: usize, t: f64| {
                let [theta, omega, alpha] = runs[piece].at(t);
                slide.inertia_wrench(theta, omega, alpha)
            };
            let (more, found) = parts(slide, wrench, &knots)?;
            actions.extend(more);
            error = error.max(found);
            if let Some((action, found)) =
                self.slide_through_clutch(slide, &runs, &knots, &driving)?
            {
                actions.push(action);
                error = error.max(found);
            }
        }
        let mut crank: Vec<[f64; 4]> = runs.iter().map(|r| r.state(r.start)).collect();
        crank.extend(runs.last().map(|r| r.state(r.end())));
        let end = knots.last().copied().unwrap_or(0.0);
        Ok(DriveMotion { excitation: Excitation::once(actions), crank, end, error })
    }

    /// Torque on the frame for unit acceleration of the crank while the clutch slips, kg m^2.
    fn slip(driven: &Sums, driving: &Sums) -> Result<f64> {
        if driving.reflected == 0.0 {
            return Err(Error::invalid(
                "rotors",
                "none on the driving side",
                "a clutch needs something that turns on its driving side",
                "give the flywheel: inertia, ratio and side",
            ));
        }
        Ok(-driven.signed + driving.signed * driven.reflected / driving.reflected)
    }

    /// What the flywheel gives the slide through a slipping clutch, J_f Q / R_f on the frame.
    fn slide_through_clutch(
        &self,
        slide: &SlideDrive,
        runs: &[speed::Run],
        knots: &[f64],
        driving: &Sums,
    ) -> Result<Option<(Action, f64)>> {
        let slips = |i: usize| runs[i].phase.coupling == Coupling::Slipping;
        if driving.reflected == 0.0 || !(0..runs.len()).any(slips) {
            return Ok(None);
        }
        let share = driving.signed / driving.reflected * slide.slide_mass();
        let torque = |i: usize, t: f64| {
            if !slips(i) {
                return 0.0;
            }
            let [theta, omega, alpha] = runs[i].at(t);
            share * slide.velocity(theta, 1.0) * slide.acceleration(theta, omega, alpha)
        };
        let form = smooth(torque, knots, TOLERANCE)?;
        Ok(Some((Action::moment(Source::StartStop, self.axis, form.segments), form.error)))
    }
}

/// Each component of the slide's wrench that is there, in closed form.
fn parts(
    slide: &SlideDrive,
    wrench: impl Fn(usize, f64) -> Vector6<f64>,
    knots: &[f64],
) -> Result<(Vec<Action>, f64)> {
    let (mut actions, mut error) = (Vec::new(), 0.0_f64);
    // What is left of terms that cancel is rounding, which no closed form fits (N beside N m).
    let whole = greatest(knots, |piece, t| wrench(piece, t).amax());
    for i in 0..6 {
        if greatest(knots, |piece, t| wrench(piece, t)[i].abs()) <= ROUNDING * whole {
            continue;
        }
        let form = smooth(|piece, t| wrench(piece, t)[i], knots, TOLERANCE)?;
        if form.segments.is_empty() {
            continue;
        }
        error = error.max(form.error);
        let unit = Vector3::ith(i % 3, 1.0);
        actions.push(match i < 3 {
            true => Action::force(Source::SlideInertia, unit, Some(slide.at), form.segments),
            false => Action::moment(Source::SlideInertia, unit, form.segments),
        });
    }
    Ok((actions, error))
}

/// The crank of the slide turns about the axis of the drive, in its sense.
fn along_the_shaft(axis: &Vector3<f64>, slide: &SlideDrive) -> Result<()> {
    use super::slide::{Rotation, Shaft};
    let shaft = match slide.shaft {
        Shaft::X => Vector3::x(),
        Shaft::Y => Vector3::y(),
    };
    let along = axis.dot(&shaft);
    let fits = match slide.rotation {
        Rotation::Right => along > 0.0,
        Rotation::Left => along < 0.0,
        Rotation::Pair => true,
    };
    if along.abs() > 1.0 - 1e-9 && fits {
        return Ok(());
    }
    Err(Error::invalid(
        "axis",
        format!("({}, {}, {})", axis.x, axis.y, axis.z),
        "must be the crankshaft of the slide's mechanism, in its sense of rotation",
        "give \"x\" or \"y\" for right-handed rotation, \"-x\" or \"-y\" for left-handed",
    ))
}

/// A time that may be zero, refused if it is not shorter than another, s.
fn shorter(name: &str, time: f64, than: f64, what: &str) -> Result<f64> {
    not_negative(name, time, "s")?;
    if time < than {
        return Ok(time);
    }
    Err(Error::invalid(
        name,
        format!("{time} s"),
        format!("must be shorter than {what}, {than} s"),
        "the torque must reach its full value before the end",
    ))
}
