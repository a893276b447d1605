//! What does each foot press with, at rest and while it moves?
//!
//! A foot is a mount on the ground: it holds by friction. What is bolted or grouted (a pipe, a
//! bridge) is no foot; its forces are left out of what friction must hold.
//!
//! The quantities of a motion ([`History`]) that the checks of this room ask for are: the force
//! on the ground of each foot, x y z each; the horizontal force of all feet, x and y; their yaw
//! moment about the origin; and the part of it that is no force times lever (a twist at the feet
//! themselves). The static load is added to them here.

use nalgebra::{Vector2, Vector3};

use super::friction::Pressed;
use crate::analysis;
use crate::analysis::instant::{Length, Periodic, Steady};
use crate::analysis::statics::{MOUNT, Statics};
use crate::analysis::transient::{Output, Transient};
use crate::analysis::{Response, instant::History};
use crate::error::{Error, Result};
use crate::system::Linear;

/// One foot at rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Foot {
    /// Name of the mount.
    pub name: String,
    /// Where it stands, m.
    pub position: Vector3<f64>,
    /// Static force on the ground, N; z negative: it presses.
    pub force: Vector3<f64>,
    /// Which grounded element it is.
    index: usize,
}

/// All feet of a machine at rest in one load case.
#[derive(Debug, Clone, PartialEq)]
pub struct Feet {
    /// The feet.
    pub feet: Vec<Foot>,
    /// Position of every grounded element, m.
    grounded: Vec<Vector3<f64>>,
    /// Point about which the wrench on the ground is given, m.
    reference: Vector3<f64>,
    /// Static yaw moment on the ground that is no force times lever, N m.
    twist: f64,
}

impl Feet {
    /// The feet of a system in the equilibrium `statics` of the same load case.
    ///
    /// # Errors
    /// [`Error::Unknown`] if a mount of the system has no load in `statics`.
    pub fn new(linear: &Linear, statics: &Statics) -> Result<Self> {
        let mut feet = Vec::new();
        let mut twist = 0.0;
        for (index, (element, foot)) in linear.grounded().enumerate() {
            if element.label.kind != MOUNT {
                continue;
            }
            let name = &element.label.name;
            let row = statics.mount_names.iter().position(|n| n == name).ok_or_else(|| {
                Error::Unknown {
                    argument: "statics".into(),
                    value: name.clone(),
                    allowed: format!("it has the mounts {}", statics.mount_names.join(", ")),
                }
            })?;
            let force = Vector3::from_fn(|axis, _| -statics.load[[row, axis]]);
            twist -= statics.moment[[row, 2]];
            feet.push(Foot { name: name.clone(), position: foot.position, force, index });
        }
        let grounded = linear.grounded().map(|(_, foot)| foot.position).collect();
        Ok(Self { feet, grounded, reference: linear.reference, twist })
    }

    /// Each quantity as weights of the force of each grounded element (x y z), then the wrench on
    /// the ground.
    fn weights(&self) -> Vec<Vec<f64>> {
        let width = 3 * self.grounded.len() + 6;
        let zero = || vec![0.0; width];
        let mut rows = Vec::new();
        let (mut x, mut y, mut yaw, mut twist) = (zero(), zero(), zero(), zero());
        twist[width - 1] = 1.0;
        for (i, at) in self.grounded.iter().enumerate() {
            let arm = at - self.reference;
            twist[3 * i] += arm.y;
            twist[3 * i + 1] -= arm.x;
        }
        for foot in &self.feet {
            let first = 3 * foot.index;
            rows.extend((0..3).map(|axis| {
                let mut row = zero();
                row[first + axis] = 1.0;
                row
            }));
            x[first] = 1.0;
            y[first + 1] = 1.0;
            yaw[first] = -foot.position.y;
            yaw[first + 1] = foot.position.x;
        }
        yaw.iter_mut().zip(&twist).for_each(|(sum, part)| *sum += part);
        rows.extend([x, y, yaw, twist]);
        rows
    }

    /// The quantities of a shock that these checks ask for.
    ///
    /// # Errors
    /// [`Error::Shape`] for the motion of another system.
    pub fn output(&self, motion: &Transient) -> Result<Output> {
        let all = motion.mount_force().joined(&motion.ground_wrench())?;
        let mut rows = self.weights().into_iter();
        let first = all.combined("", &rows.next().unwrap_or_default())?;
        rows.try_fold(first, |sum, row| sum.joined(&all.combined("", &row)?))
    }

    /// The quantities of a steady response that these checks ask for.
    ///
    /// # Errors
    /// [`Error::Shape`] if there is no such frequency, or for the response of another system.
    pub fn steady(&self, response: &Response, index: usize) -> Result<Steady> {
        Steady::ground(response, index, &self.weights())
    }

    /// The quantities of a machine that runs that these checks ask for.
    ///
    /// # Errors
    /// [`Error::Shape`] for the response of another system.
    pub fn running(&self, run: &analysis::Steady) -> Result<Periodic> {
        Periodic::ground(run, &self.weights())
    }

    /// Refuses quantities of another system.
    pub(super) fn check(&self, history: &impl History) -> Result<()> {
        let expected = 3 * self.feet.len() + 4;
        let found = history.values(0, history.cuts().first().copied().unwrap_or(0.0)).len();
        if found == expected {
            return Ok(());
        }
        Err(Error::Shape {
            argument: "history".into(),
            found: format!("({found},) quantities"),
            expected: format!("({expected},) quantities: three for each foot, and four"),
        })
    }

    /// Force of foot i on the ground with its static part, N.
    pub(super) fn force(&self, i: usize, y: &[f64]) -> Vector3<f64> {
        Vector3::new(y[3 * i], y[3 * i + 1], y[3 * i + 2]) + self.feet[i].force
    }

    /// Slack of the force of foot i, N.
    pub(super) fn force_slack(&self, i: usize, slack: &[f64]) -> Vector3<f64> {
        Vector3::new(slack[3 * i], slack[3 * i + 1], slack[3 * i + 2])
    }

    /// Horizontal force of all feet on the ground, N; their yaw moment about the origin, N m, and
    /// the part of it that is a twist at the feet.
    pub(super) fn sideways(&self, y: &[f64]) -> (Vector2<f64>, f64, f64) {
        let [fx, fy, yaw, twist] = self.whole(y);
        let mut sum = (Vector2::new(fx, fy), yaw + self.twist, twist + self.twist);
        for foot in &self.feet {
            sum.0 += foot.force.xy();
            sum.1 += foot.position.xy().perp(&foot.force.xy());
        }
        sum
    }

    /// Slack of [`Self::sideways`].
    pub(super) fn sideways_slack(&self, slack: &[f64]) -> (f64, f64, f64) {
        let [fx, fy, yaw, twist] = self.whole(slack);
        (fx.hypot(fy), yaw, twist)
    }

    /// The quantities of all feet together.
    fn whole(&self, y: &[f64]) -> [f64; 4] {
        let first = 3 * self.feet.len();
        std::array::from_fn(|i| y[first + i])
    }

    /// What the feet press with; one that would pull presses with nothing.
    pub(super) fn pressed(&self, y: &[f64]) -> Vec<Pressed> {
        let press = |i: usize| (-self.force(i, y).z).max(0.0);
        self.feet.iter().enumerate().map(|(i, foot)| (foot.position.xy(), press(i))).collect()
    }

    /// Static load of all feet times their greatest distance from the point about which moments are
    /// given, or one meter: the size of a moment, N m.
    pub(super) fn lever_moment(&self) -> f64 {
        let load: f64 = self.feet.iter().map(|foot| foot.force.norm()).sum();
        let far = self.feet.iter().map(|foot| (foot.position - self.reference).norm());
        load * far.fold(1.0, f64::max)
    }

    /// The vertical load of all feet together, N.
    pub(super) fn load(&self, y: &[f64]) -> f64 {
        -(0..self.feet.len()).map(|i| self.force(i, y).z).sum::<f64>()
    }

    /// The horizontal force of each foot as lengths whose greatest can be sought.
    pub(super) fn lateral(&self) -> Length {
        let mut offset = vec![0.0; 3 * self.feet.len() + 4];
        for (i, foot) in self.feet.iter().enumerate() {
            offset[3 * i..3 * i + 3].copy_from_slice(foot.force.as_slice());
        }
        let vectors = (0..self.feet.len()).map(|i| vec![3 * i, 3 * i + 1]).collect();
        Length { offset, vectors }
    }
}
