//! A shock under which mounts lift off and stops strike: response to a pulse as in
//! [`super::transient::shock`], by the exact pieces of [`super::hybrid`].

use nalgebra::DVector;
use ndarray::{Array2, Array3};
use serde::{Deserialize, Serialize};

use super::hybrid::{Event, HybridMotion, HybridOptions, Load, hybrid};
use super::transient::{Extrema, TimeModel, step};
use crate::error::{Error, Result};
use crate::excitation::{Excitation, Segment};
use crate::system::{ContactRule, Hybrid};

/// Samples in a period of the fastest vibration at rest, and in all at most.
const PER_PERIOD: f64 = 20.0;
const MOST_SAMPLES: f64 = 20_000.0;

/// Response to a shock with contacts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ContactShock {
    /// Time of the samples, s.
    pub time: Vec<f64>,
    /// (time, dof), m and rad.
    pub displacement: Array2<f64>,
    /// (time, dof), m/s^2 and rad/s^2.
    pub acceleration: Array2<f64>,
    /// (time, mount, 3): force of each mount and stop on the ground beyond that at rest, N.
    pub mount_force: Array3<f64>,
    /// (time, 6): wrench on the ground beyond that at rest, N and N m.
    pub ground_wrench: Array2<f64>,
    /// Names of the mounts and stops.
    pub mount_names: Vec<String>,
    /// (time, dof), m/s and rad/s.
    pub velocity: Array2<f64>,
    /// Greatest and least velocity.
    pub velocity_peaks: Vec<Extrema>,
    /// Greatest and least displacement.
    pub displacement_peaks: Vec<Extrema>,
    /// Greatest and least acceleration.
    pub acceleration_peaks: Vec<Extrema>,
    /// Greatest and least force of each mount, x y z of each.
    pub mount_peaks: Vec<Extrema>,
    /// Greatest and least wrench on the ground.
    pub ground_peaks: Vec<Extrema>,
    /// Changes of contact, in order.
    pub events: Vec<Event>,
    /// When contacts touch.
    pub rule: ContactRule,
    /// What stands for the damping in time.
    pub time_model: TimeModel,
    /// What to know before using the numbers.
    pub warnings: Vec<String>,
    /// The exact motion.
    pub motion: HybridMotion,
}

/// A pulse on the first body: its history, and its wrench (6,) about the center of mass.
pub fn pulse_load(system: &Hybrid, segments: &[Segment], wrench: &DVector<f64>) -> Load {
    let column = nalgebra::DMatrix::from_column_slice(wrench.len(), 1, wrench.as_slice());
    let direction = system.base.widened(&column).column(0).into_owned();
    Load { segments: segments.to_vec(), direction }
}

/// What acts on the first body in an event that begins at rest.
///
/// # Errors
/// [`Error::Invalid`] for an event that begins in running or repeats itself, and as
/// [`super::transient::Load::of`].
pub fn event_loads(system: &Hybrid, event: &Excitation) -> Result<Vec<Load>> {
    if event.before.is_some() || event.every.is_some() {
        return Err(Error::invalid(
            "excitation",
            if event.every.is_some() { "repeats itself" } else { "begins in steady running" },
            "must begin at rest where contacts open and close",
            "leave the running before it out, or take the motion without contacts",
        ));
    }
    let of = |action| {
        let load = super::transient::Load::of(&system.base, action)?;
        Ok(Load { segments: load.segments, direction: load.direction })
    };
    event.actions.iter().map(of).collect()
}

/// Response to loads f(t) g of a system with contacts; `dt` is the step of the histories, s.
///
/// # Errors
/// Those of [`hybrid`].
pub fn contact_shock(
    system: &Hybrid,
    loads: &[Load],
    options: &HybridOptions,
    dt: Option<f64>,
) -> Result<ContactShock> {
    let motion = hybrid(system, loads, options)?;
    let fine = motion.at_rest().shortest_period() / PER_PERIOD;
    let dt = match dt {
        Some(dt) => step(dt, motion.duration)?,
        None => fine.max(motion.duration / MOST_SAMPLES).min(motion.duration),
    };
    let outputs = [
        motion.displacement(),
        motion.velocity(),
        motion.acceleration(),
        motion.mount_force(),
        motion.ground_wrench(),
    ];
    let mut arrays = motion.sample(&outputs.each_ref(), dt)?.into_iter();
    let mut take = || arrays.next().unwrap_or_default();
    let (displacement, velocity, acceleration) = (take(), take(), take());
    let (forces, ground_wrench) = (take(), take());
    let names: Vec<String> = system.base.grounded().map(|(e, _)| e.label.name.clone()).collect();
    let count = displacement.nrows();
    let mount_force: Array3<f64> =
        forces.into_shape_with_order((count, names.len(), 3)).map_err(|e| Error::Shape {
            argument: "mount_force".into(),
            found: e.to_string(),
            expected: format!("({count}, {}, 3)", names.len()),
        })?;
    let [displacement_peaks, velocity_peaks, acceleration_peaks, mount_peaks, ground_peaks] =
        outputs.each_ref().map(|output| motion.extrema(output));
    Ok(ContactShock {
        time: (0..count).map(|i| i as f64 * dt).collect(),
        displacement,
        velocity,
        velocity_peaks,
        acceleration,
        mount_force,
        ground_wrench,
        mount_names: names,
        displacement_peaks,
        acceleration_peaks,
        mount_peaks,
        ground_peaks,
        events: motion.events.clone(),
        rule: system.rule,
        time_model: motion.at_rest().time_model,
        warnings: Vec::new(),
        motion,
    })
}
