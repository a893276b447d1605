//! What does each foot press with, at rest and while it moves?
//!
//! A foot is a mount on the ground: it holds by friction. What is bolted or grouted (a pipe, a
//! bridge) is no foot; its forces are left out of what friction must hold.
//!
//! The quantities of a motion ([`History`]) that the checks of this room ask for have one order:
//! force on the ground of each grounded element, x y z each, then the wrench on the ground about
//! the reference of the system, without the static load.

use nalgebra::{Vector2, Vector3};

use super::friction::Pressed;
use crate::analysis::instant::{Length, Steady};
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

    /// The quantities of a shock that these checks ask for.
    ///
    /// # Errors
    /// None for a transient as made by this crate.
    pub fn output(motion: &Transient) -> Result<Output> {
        motion.mount_force().joined(&motion.ground_wrench())
    }

    /// The quantities of a steady response that these checks ask for.
    ///
    /// # Errors
    /// [`Error::Shape`] if there is no such frequency.
    pub fn steady(response: &Response, index: usize) -> Result<Steady> {
        Steady::ground(response, index)
    }

    /// Refuses quantities of another system.
    pub(super) fn check(&self, history: &impl History) -> Result<()> {
        let expected = 3 * self.grounded.len() + 6;
        let found = history.values(0, history.cuts().first().copied().unwrap_or(0.0)).len();
        if found == expected {
            return Ok(());
        }
        Err(Error::Shape {
            argument: "history".into(),
            found: format!("({found},) quantities"),
            expected: format!("({expected},) quantities: three for each grounded element, and six"),
        })
    }

    /// Force of a foot on the ground with its static part, N.
    pub(super) fn force(&self, foot: &Foot, y: &[f64]) -> Vector3<f64> {
        Vector3::from_fn(|axis, _| y[3 * foot.index + axis]) + foot.force
    }

    /// Slack of the force of a foot, N.
    pub(super) fn force_slack(&self, foot: &Foot, slack: &[f64]) -> Vector3<f64> {
        Vector3::from_fn(|axis, _| slack[3 * foot.index + axis])
    }

    /// Horizontal force of all feet on the ground, N, and their yaw moment about the origin, N m.
    pub(super) fn sideways(&self, y: &[f64]) -> (Vector2<f64>, f64) {
        let mut force = Vector2::zeros();
        let mut yaw = self.twist + y[3 * self.grounded.len() + 5];
        for foot in &self.feet {
            let f = self.force(foot, y);
            force += f.xy();
            yaw += foot.position.xy().perp(&f.xy());
        }
        // What the wrench holds besides the forces: moments at the feet themselves.
        for (i, at) in self.grounded.iter().enumerate() {
            let f = Vector2::new(y[3 * i], y[3 * i + 1]);
            yaw -= (at - self.reference).xy().perp(&f);
        }
        (force, yaw)
    }

    /// Slack of [`Self::sideways`].
    pub(super) fn sideways_slack(&self, slack: &[f64]) -> (f64, f64) {
        let mut force = Vector2::zeros();
        let mut yaw = slack[3 * self.grounded.len() + 5];
        for foot in &self.feet {
            let f = self.force_slack(foot, slack);
            force += f.xy();
            yaw += foot.position.x.abs() * f.y + foot.position.y.abs() * f.x;
        }
        for (i, at) in self.grounded.iter().enumerate() {
            let arm = (at - self.reference).abs();
            yaw += arm.x * slack[3 * i + 1] + arm.y * slack[3 * i];
        }
        (force.norm(), yaw)
    }

    /// What the feet press with; one that would pull presses with nothing.
    pub(super) fn pressed(&self, y: &[f64]) -> Vec<Pressed> {
        let one = |foot: &Foot| (foot.position.xy(), (-self.force(foot, y).z).max(0.0));
        self.feet.iter().map(one).collect()
    }

    /// The vertical load of all feet together, N.
    pub(super) fn load(&self, y: &[f64]) -> f64 {
        -self.feet.iter().map(|foot| self.force(foot, y).z).sum::<f64>()
    }

    /// The horizontal force of each foot as lengths whose greatest can be sought.
    pub(super) fn lateral(&self) -> Length {
        let mut offset = vec![0.0; 3 * self.grounded.len() + 6];
        for foot in &self.feet {
            (0..3).for_each(|axis| offset[3 * foot.index + axis] = foot.force[axis]);
        }
        let vectors = self.feet.iter().map(|f| vec![3 * f.index, 3 * f.index + 1]).collect();
        Length { offset, vectors }
    }
}
