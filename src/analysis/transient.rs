//! How does the machine move, and what reaches the ground, when a force strikes it?
//!
//! M x'' + C x' + K x (+ loss factors) = sum of g_i f_i(t)
//!
//! with every f_i(t) given in closed form piece by piece (a polygon, a half-sine, an exponential ...). The
//! answer is exact: on each piece the modes, or the exponential of the state matrix where modes
//! near critical damping are no basis, give the motion at any instant without stepping. Peaks are
//! solved for, not sampled. Loss factors have no causal counterpart as they stand; the result
//! names the causal equivalent that was used ([`TimeModel`]) and its error. Laws of springs and
//! dashpots (Zener, Maxwell) have their internal variables among the states and are as exact; other
//! laws that depend on frequency go through a Fourier transform, which is sampled and limited to a
//! band ([`FourierNote`]).
//!
//! Assumptions: small motions about the working point, constant K, C and H (and laws that depend on
//! frequency), mass positive
//! definite, K not negative, no unstable free vibration (each is checked). Gravity's static load
//! is left out: forces and motions are those added to it. Mounts that lift off or stops that
//! strike are not seen here.
//!
//! Source: textbook, e.g. L. Meirovitch, Fundamentals of Vibrations, 2001, sections 4.10 and 7.15
//! (from memory); exact segments after N. C. Nigam and P. C. Jennings, Bull. Seism. Soc. Am. 59
//! (1969), p. 909 (from memory).
//!
//! Reading order: `super::roots` (free vibration), `model` (damping in time), `propagator` (one exact
//! step), `load` (what acts), `motion` (pieces of time), `sample` (grids), `peak` (greatest values).

mod actions;
mod floor;
mod fourier;
mod internal;
mod joint;
mod load;
pub mod many;
mod model;
mod motion;
mod output;
mod peak;
mod periodic;
pub(super) mod phi;
mod propagator;
mod quantities;
mod sample;
mod sampled;
mod spectra;
mod states;

pub use super::roots::TimeModel;
pub use actions::{floor_by_source, shock_by};
pub use floor::{FloorMotion, carried_along};
pub use fourier::FourierNote;
pub use joint::Joint;
pub use load::{Load, generalized};
pub use many::{ManyExtrema, ManyRows, ManyShocks, many_shocks, many_shocks_on};
pub use motion::{Start, Transient, default_duration};
pub use output::Output;
pub use peak::{Extrema, Extreme, Peak};
pub use sample::{NO_HISTORIES, step};
pub(super) use states::States;

use nalgebra::{DMatrix, DVector};
use ndarray::{Array2, Array3};
use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
use crate::excitation::Segment;
use crate::system::{Linear, Port};

/// Greatest number of samples chosen without being asked.
const MOST_SAMPLES: f64 = 20_000.0;

/// How long, how fine, from where.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ShockOptions {
    /// End of the motion, s; by default see [`default_duration`].
    pub duration: Option<f64>,
    /// Step of the sampled histories, s; by default a twentieth of the shortest period of
    /// vibration or of the load, if that leaves no more than 20 000 samples. Peaks do not depend
    /// on it.
    pub dt: Option<f64>,
    /// Displacement and velocity at t = 0; by default the machine is at rest.
    pub start: Option<Start>,
    /// The load comes back every so often, s, and has done so for long: one period of the steady state
    /// from the start of a load on. By default it acts once.
    pub every: Option<f64>,
}

impl ShockOptions {
    /// The period of a load that comes back; a duration and a start have nothing to say then.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a duration or a start beside it.
    fn period(&self) -> Result<Option<f64>> {
        let Some(every) = self.every else { return Ok(None) };
        for (name, is_given) in
            [("duration", self.duration.is_some()), ("start", self.start.is_some())]
        {
            if is_given {
                return Err(Error::invalid(
                    name,
                    "given beside every",
                    "has nothing to say of a load that comes back: one period of the steady state is told",
                    "leave one of them out",
                ));
            }
        }
        crate::error::positive("every", every, "s").map(Some)
    }
}

/// A quantity of a [`Shock`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Quantity {
    /// Of the degrees of freedom, m and rad.
    Displacement,
    /// Of the degrees of freedom, m/s and rad/s.
    Velocity,
    /// Of the degrees of freedom, m/s^2 and rad/s^2.
    Acceleration,
    /// Of each mount on the ground, N.
    MountForce,
    /// On the ground, N and N m.
    GroundWrench,
}

/// Response to a shock: sampled histories, and the exact motion for peaks and other points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shock {
    /// Time of the samples, s.
    pub time: Vec<f64>,
    /// (time, dof), m and rad.
    pub displacement: Array2<f64>,
    /// (time, dof), m/s and rad/s.
    pub velocity: Array2<f64>,
    /// (time, dof), m/s^2 and rad/s^2.
    pub acceleration: Array2<f64>,
    /// (time, mount, 3): force of each mount on the ground along x, y, z, N.
    pub mount_force: Array3<f64>,
    /// Names of the mounts.
    pub mount_names: Vec<String>,
    /// (time, 6): wrench on the ground about [`Linear::reference`], N and N m.
    pub ground_wrench: Array2<f64>,
    /// What stands for the damping in time.
    pub time_model: TimeModel,
    /// Greatest relative error of the dynamic stiffness of the time model over its band.
    pub time_model_error: f64,
    /// Band of that error, Hz: lowest to highest mode.
    pub time_model_band: [f64; 2],
    /// What the reader should know.
    pub warnings: Vec<String>,
    /// The exact motion.
    pub transient: Transient,
}

/// Histories of a point, (time, 6) each: x y z rx ry rz.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PointHistory {
    /// m and rad.
    pub displacement: Array2<f64>,
    /// m/s and rad/s.
    pub velocity: Array2<f64>,
    /// m/s^2 and rad/s^2.
    pub acceleration: Array2<f64>,
}

/// Response to the generalized force f(t) g: `load` is f, the sum of its segments; `direction` is
/// g, one entry for each degree of freedom (or the machine's six where masses move inside it), N and N m for unit f (for a force F(t) at a port, the
/// port's `b` times its direction).
pub fn shock(
    linear: &Linear,
    load: &[Segment],
    direction: &DVector<f64>,
    options: &ShockOptions,
) -> Result<Shock> {
    shock_under(linear, &[Load::new(wide(linear, direction), load.to_vec())], options)
}

/// Response to several loads together.
pub fn shock_under(linear: &Linear, loads: &[Load], options: &ShockOptions) -> Result<Shock> {
    if let Some(period) = options.period()? {
        return Shock::of(Transient::periodic(linear, loads, None, period)?, loads, options.dt);
    }
    let rest = Start::rest(linear.size());
    let start = options.start.as_ref().unwrap_or(&rest);
    Shock::of(Transient::under(linear, loads, start, options.duration)?, loads, options.dt)
}

impl Shock {
    /// The histories of a motion under those loads, every dt (s), by default as in
    /// [`ShockOptions::dt`].
    pub fn of(transient: Transient, loads: &[Load], dt: Option<f64>) -> Result<Self> {
        let mut warnings = Vec::new();
        let dt = match dt {
            Some(dt) => step(dt, transient.duration)?,
            None => default_dt(&transient, loads, &mut warnings),
        };
        warn_of_model(&transient, &mut warnings);
        sampled(transient, dt, warnings)
    }
}

fn sampled(transient: Transient, dt: f64, warnings: Vec<String>) -> Result<Shock> {
    let outputs = [
        transient.displacement(),
        transient.velocity(),
        transient.acceleration(),
        transient.mount_force(),
        transient.ground_wrench(),
    ];
    let arrays = transient.sample_all(&outputs.each_ref(), dt)?;
    let count = arrays[0].nrows();
    let mount_names: Vec<String> = transient.linear().mount_names();
    let mut arrays = arrays.into_iter();
    let mut take = || arrays.next().unwrap_or_default();
    let (displacement, velocity, acceleration) = (take(), take(), take());
    let mount_force = take().into_shape_with_order((count, mount_names.len(), 3));
    let mount_force = mount_force.map_err(|e| Error::Shape {
        argument: "mount_force".to_string(),
        found: e.to_string(),
        expected: format!("({count}, {}, 3)", mount_names.len()),
    })?;
    Ok(Shock {
        time: (0..count).map(|i| i as f64 * dt).collect(),
        displacement,
        velocity,
        acceleration,
        mount_force,
        mount_names,
        ground_wrench: take(),
        time_model: transient.time_model,
        time_model_error: transient.time_model_error,
        time_model_band: transient.time_model_band,
        warnings,
        transient,
    })
}

/// A load on the machine alone (six numbers) is none on masses inside it.
fn wide(linear: &Linear, direction: &DVector<f64>) -> DVector<f64> {
    let column = DMatrix::from_column_slice(direction.len(), 1, direction.as_slice());
    linear.widened(&column).column(0).into_owned()
}

impl Shock {
    /// The quantity as an output of the exact motion.
    pub fn output(&self, quantity: Quantity) -> Output {
        match quantity {
            Quantity::Displacement => self.transient.displacement(),
            Quantity::Velocity => self.transient.velocity(),
            Quantity::Acceleration => self.transient.acceleration(),
            Quantity::MountForce => self.transient.mount_force(),
            Quantity::GroundWrench => self.transient.ground_wrench(),
        }
    }

    /// Greatest absolute value over all components in the unit of the first (translations or
    /// forces), solved for, not sampled.
    pub fn peak(&self, quantity: Quantity) -> Option<Peak> {
        self.transient.peak(&self.output(quantity))
    }

    /// Greatest absolute value of each component.
    pub fn peaks(&self, quantity: Quantity) -> Vec<Peak> {
        self.transient.peaks(&self.output(quantity))
    }

    /// Greatest and least value of each component.
    pub fn extrema(&self, quantity: Quantity) -> Vec<Extrema> {
        self.transient.extrema(&self.output(quantity))
    }

    /// Histories of a point, on the same times.
    pub fn at(&self, port: &Port) -> Result<PointHistory> {
        let motion = &self.transient;
        let outputs = [
            motion.point_displacement(port)?,
            motion.point_velocity(port)?,
            motion.point_acceleration(port)?,
        ];
        // A single sample means that dt was longer than the motion.
        let dt = self.time.get(1).copied().unwrap_or(2.0 * motion.duration);
        let mut arrays = motion.sample_all(&outputs.each_ref(), dt)?.into_iter();
        let mut take = || arrays.next().unwrap_or_default();
        Ok(PointHistory { displacement: take(), velocity: take(), acceleration: take() })
    }
}

fn default_dt(transient: &Transient, loads: &[Load], warnings: &mut Vec<String>) -> f64 {
    let segments = || loads.iter().flat_map(|load| &load.segments);
    let first = segments().map(|s| s.start).fold(f64::INFINITY, f64::min);
    let last = Load::end(loads);
    let span = if last > first { last - first } else { f64::INFINITY };
    let fine = (transient.shortest_period().min(span) / 20.0).min(transient.duration);
    let least = transient.duration / MOST_SAMPLES;
    if fine < least {
        warnings.push(format!(
            "histories are sampled every {least:.3e} s, which is coarse for the shortest period \
             {:.3e} s; peaks are exact all the same",
            transient.shortest_period()
        ));
    }
    fine.max(least)
}

/// How the warning about the time model of a shock begins.
pub const TIME_MODEL: &str = "loss factors in time";

fn warn_of_model(transient: &Transient, warnings: &mut Vec<String>) {
    if let Some(note) = transient.fourier() {
        warnings.push(format!(
            "laws in time: {}: every {:.3e} s, up to {:.4} Hz; peaks are those between these \
             samples as interpolated; {:.1e} of the kinetic energy lies before the start",
            transient.time_model, note.interval, note.highest_frequency, note.precursor
        ));
    }
    let exact = matches!(
        transient.time_model,
        TimeModel::Viscous | TimeModel::InternalVariables | TimeModel::Fourier
    );
    if !exact {
        let [low, high] = transient.time_model_band;
        warnings.push(format!(
            "{TIME_MODEL}: {}; its dynamic stiffness differs from the given one by up to \
             {:.1} % from {low:.2} to {high:.2} Hz",
            transient.time_model,
            100.0 * transient.time_model_error
        ));
    }
}
