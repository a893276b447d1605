//! How does the weight share itself over the mounts, how far do they sink, how does it tilt?
//!
//! (K + K_g) x = f + sum over mounts of B k tau h
//!
//! K is the STATIC stiffness, f the weights and other loads that stay, h the height of the floor
//! under each mount, tau = T' e_z the port motion of a vertical move. The mount's force on the
//! machine is F = -T k (B' x - tau h), its compression h e_z - u with u the displacement of its
//! top. K_g is the gravity stiffness, on request (the module `gravity` has its formula): under
//! [`stability`] the same effect stands as one ratio.
//!
//! A mount in tension is reported; with `unilateral` it lifts off and takes its horizontal
//! stiffness with it.
//!
//! Supports are the elements on the ground and the mounts between bodies (a press on a block), in
//! the order of the system; of these only elements of the kind [`MOUNT`] can lift off: a bolt can
//! pull. Bridges and stops stand beside the supports: they act, and their forces are in
//! [`Statics::beside`].
//!
//! Where a load-deflection curve or a stop makes K depend on x, Newton's method finds the
//! equilibrium (the module `newton`); [`at`] then gives the system with its tangents there.
//!
//! Assumptions: rigid bodies, small tilts, springs that keep to the axes of the floor. Creep is
//! not in it. Source: textbook (direct stiffness method).

mod envelope;
mod equilibrium;
mod gaps;
mod gravity;
mod joint;
mod level;
mod newton;
mod stability;
mod unevenness;
mod unilateral;
mod working;

pub use envelope::{Envelope, Extreme, envelope};
pub use gaps::{Contacts, with_contacts};
pub use joint::{BRIDGE, MOUNT, STOP};

pub use level::{RailStep, Rise, Standing, rail_step, rises};
pub use stability::{Stability, stability};
pub use unevenness::{Unevenness, unevenness};
pub use working::{Beside, at, working_point};

use nalgebra::DVector;
use ndarray::Array2;
use serde::{Deserialize, Serialize};

use super::free_motion::refuse_free_motion;
use crate::error::{Error, Result};
use crate::system::{Axis, Port, System};
use equilibrium::Model;
use gravity::{Equilibrium, equilibrium};

/// Degrees of freedom of a machine with crown and slide.
const PRESS: usize = crate::machine::press::SIZE;
/// A load below minus this part of the largest is tension, not rounding.
const NO_TENSION: f64 = 1e-11;

/// What statics takes into account.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct StaticsOptions {
    /// Mounts only push: one that would pull lifts off.
    pub unilateral: bool,
    /// The weight softens the mounts (K_g, consistent with its own reactions).
    pub gravity_stiffness: bool,
    /// Height of the floor under each support, m, up positive; `None` is an even floor.
    pub floor_height: Option<Vec<f64>>,
}

/// Static equilibrium of a system under one load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Statics {
    /// Names of the mounts, in the order of every array by mount.
    pub mount_names: Vec<String>,
    /// Force of each mount on the machine (mount, 3), N, axes of the floor; z positive:
    /// compression. A mount between two bodies acts with it on the body named first.
    pub load: Array2<f64>,
    /// Moment of each mount on the machine about its own top (mount, 3), N m; zero without
    /// rotational stiffness.
    pub moment: Array2<f64>,
    /// Compression of each mount (mount, 3), m: the floor's height less the displacement of its
    /// top; z positive: squeezed.
    pub deflection: Array2<f64>,
    /// Displacement of the degrees of freedom, m and rad.
    pub displacement: DVector<f64>,
    /// Tilt of the first body about x and about y, rad.
    pub tilt: [f64; 2],
    /// Mounts in tension, by index.
    pub tension: Vec<usize>,
    /// Mounts lifted off, by index (with `unilateral` only).
    pub lifted: Vec<usize>,
    /// Gap under each mount, m; zero in contact.
    pub lift_gap: Vec<f64>,
    /// Rounds until the gravity stiffness agreed with its own reactions; zero without.
    pub gravity_rounds: usize,
    /// Bridges and stops: what each carries, and whether it touches.
    pub beside: Vec<Beside>,
    /// Steps of Newton's method in the last solution; zero for a system of constant stiffness.
    pub newton_steps: usize,
    /// What is left of the balance of forces after Newton's method, as a part of the load; zero
    /// for a system of constant stiffness.
    pub residual: f64,
    /// What to know before using the numbers.
    pub warnings: Vec<String>,
    /// The options it was solved with.
    pub options: StaticsOptions,
}

impl Statics {
    /// Displacement of a port of the same system, m and rad, in the order of [`Axis::ALL`].
    ///
    /// # Errors
    /// [`Error::Shape`] if the port is of another system.
    pub fn displacement_of(&self, port: &Port) -> Result<[f64; 6]> {
        // A port of the machine alone says nothing of masses inside it, which rest.
        let machine = port.b.shape() == (6, 6) && self.displacement.len() == PRESS;
        if machine {
            let moved = port.b.tr_mul(&self.displacement.rows(0, 6));
            return Ok(std::array::from_fn(|i| moved[i]));
        }
        if port.b.shape() != (self.displacement.len(), 6) {
            return Err(Error::Shape {
                argument: format!("port {:?}", port.name),
                found: format!("{:?}", port.b.shape()),
                expected: format!("({}, 6)", self.displacement.len()),
            });
        }
        let moved = port.b.tr_mul(&self.displacement);
        Ok(std::array::from_fn(|i| moved[i]))
    }
}

/// Static equilibrium under a generalized load (weights and static wrenches, N and N m, one for
/// each degree of freedom).
///
/// # Errors
/// [`Error::FreeMotion`] if the mounts leave a motion free; [`Error::Unstable`] if gravity
/// overcomes them, every mount lifts, or those left in contact let it tip; [`Error::Shape`] and
/// [`Error::Invalid`] for a load or floor height of the wrong length or not finite, or a mount whose
/// load-deflection curve ends before its load; [`Error::NotConverged`] if Newton's method does not
/// end.
pub fn statics(system: &System, load: &DVector<f64>, options: &StaticsOptions) -> Result<Statics> {
    let model = Model::new(system, load, options.floor_height.as_deref())?;
    refuse_free_motion(&system.static_stiffness(), &system.dofs, &system.reference)?;
    let found = equilibrium(&model, options.unilateral, options.gravity_stiffness)?;
    let pulled = working::in_range(&model, &found)?;
    let (newton_steps, residual) = newton::reached(&model, &found)?;
    let mut statics = collect(&model, found, options);
    statics.warnings.extend(pulled);
    let touching = statics.beside.iter().filter(|part| part.kind == STOP && part.touches);
    let short = touching.map(|stop| {
        format!(
            "stop {} touches under a load that stays ({:.4e} N): it short-circuits the mounts",
            stop.name,
            stop.force.norm()
        )
    });
    statics.warnings.extend(short.collect::<Vec<_>>());
    Ok(Statics { newton_steps, residual, ..statics })
}

fn collect(model: &Model, found: Equilibrium, options: &StaticsOptions) -> Statics {
    let Equilibrium { x, contact, rounds, mut warnings, .. } = found;
    let m = contact.len();
    let (mut load, mut moment) = (Array2::zeros((m, 3)), Array2::zeros((m, 3)));
    let mut deflection = Array2::zeros((m, 3));
    for i in 0..m {
        let joint = model.support(i);
        let height = model.heights[i];
        let squeezed = joint.compression(&x, height);
        let (force, turn) = joint.reaction(&joint.ends[0], &x, height);
        for axis in 0..3 {
            deflection[[i, axis]] = squeezed[axis];
            if contact[i] {
                load[[i, axis]] = force[axis];
                moment[[i, axis]] = turn[axis];
            }
        }
    }
    let largest = load.column(2).iter().map(|f: &f64| f.abs()).fold(0.0, f64::max);
    let tension: Vec<usize> = (0..m).filter(|&i| load[[i, 2]] < -NO_TENSION * largest).collect();
    warnings.extend(tension.iter().filter(|&&i| model.support(i).can_lift).map(|&i| {
        format!(
            "mount {} would be in tension ({:.4e} N): one that only stands lifts off; solve with \
             unilateral = true",
            model.support(i).name,
            load[[i, 2]]
        )
    }));
    let lifted: Vec<usize> = (0..m).filter(|&i| !contact[i]).collect();
    let gap = |i: usize| if contact[i] { 0.0 } else { -deflection[[i, 2]] };
    Statics {
        mount_names: (0..m).map(|i| model.support(i).name.clone()).collect(),
        lift_gap: (0..m).map(gap).collect(),
        tilt: [Axis::Rx, Axis::Ry].map(|axis| first_body(model, &x, axis)),
        gravity_rounds: rounds,
        beside: working::beside(model, &x),
        newton_steps: 0,
        residual: 0.0,
        options: options.clone(),
        displacement: x,
        load,
        moment,
        deflection,
        tension,
        lifted,
        warnings,
    }
}

fn first_body(model: &Model, x: &DVector<f64>, axis: Axis) -> f64 {
    let first = model.dofs.first().map(|dof| &dof.body);
    let row = model.dofs.iter().position(|dof| Some(&dof.body) == first && dof.axis == axis);
    row.map_or(0.0, |row| x[row])
}
