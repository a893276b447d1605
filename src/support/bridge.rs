//! What reaches the floor past the mounts: a pipe, a conduit, grout, debris?
//!
//! A short circuit is a spring of its own between machine and floor,
//!
//! force on the floor = R diag(k_i (1 + j eta_i) + j omega c_i) R' u,
//!
//! at the point where it touches the machine. It is the commonest cause of complaints besides an
//! unloaded foot and a bottomed screw (common practice).
//!
//! Static stiffness: a bridge that was there when the machine was set down (grout, debris) carries
//! weight as a mount does; a pipe connected after leveling carries none and has a static stiffness
//! of zero. Limits: no mass, no load range, both signs of force.

use nalgebra::{DMatrix, Matrix3, Vector3};
use serde::{Deserialize, Serialize};

use crate::error::{Result, each, finite, not_negative, positive};
use crate::law::{Constant, Law};
use crate::machine::body::check_axes;
use crate::system::{Element, Footprint, Label, wrench_transfer};

/// A short circuit of the mounts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bridge {
    /// Name ("oil return pipe").
    pub name: String,
    /// What it is ("pipe", "conduit", "grout", "debris"): for tables only.
    pub kind: String,
    /// Where it touches the machine, m.
    pub position: Vector3<f64>,
    /// Principal axes as columns, in the axes of the floor.
    pub axes: Matrix3<f64>,
    /// Dynamic stiffness along the principal axes, N/m.
    pub stiffness: [f64; 3],
    /// Stiffness against the weight and other loads that stay, N/m; zero if it was connected after
    /// the machine was set down.
    pub static_stiffness: [f64; 3],
    /// Viscous damping along the principal axes, N s/m.
    pub damping: [f64; 3],
    /// Loss factor along the principal axes.
    pub loss_factor: [f64; 3],
}

impl Bridge {
    /// Undamped bridge at a point of the machine (m) with stiffness along x, y, z (N/m), static
    /// and dynamic alike.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a stiffness that is negative, not finite, or zero in all
    /// directions.
    pub fn new(position: Vector3<f64>, stiffness: [f64; 3]) -> Result<Self> {
        let bridge = Self {
            name: String::new(),
            kind: String::new(),
            position,
            axes: Matrix3::identity(),
            stiffness,
            static_stiffness: stiffness,
            damping: [0.0; 3],
            loss_factor: [0.0; 3],
        };
        bridge.checked()
    }

    /// The same bridge with a name and a word for what it is.
    #[must_use]
    pub fn with_name(mut self, name: impl Into<String>, kind: impl Into<String>) -> Self {
        self.name = name.into();
        self.kind = kind.into();
        self
    }

    /// The same bridge with its principal axes turned (columns, in the axes of the floor).
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] if they are not orthonormal and right-handed.
    pub fn with_axes(mut self, axes: Matrix3<f64>) -> Result<Self> {
        self.axes = axes;
        self.checked()
    }

    /// The same bridge with a static stiffness of its own, N/m; zeros: it carries no weight.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] if negative or not finite.
    pub fn with_static_stiffness(mut self, stiffness: [f64; 3]) -> Result<Self> {
        self.static_stiffness = stiffness;
        self.checked()
    }

    /// The same bridge with viscous damping, N s/m.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] if negative or not finite.
    pub fn with_damping(mut self, damping: [f64; 3]) -> Result<Self> {
        self.damping = damping;
        self.checked()
    }

    /// The same bridge with loss factors.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] if negative or not finite.
    pub fn with_loss_factor(mut self, loss_factor: [f64; 3]) -> Result<Self> {
        self.loss_factor = loss_factor;
        self.checked()
    }

    /// The element it is in a system with `n` degrees of freedom, of which those of its machine
    /// begin at `first`, with the machine's center of mass at `center`.
    pub fn element(&self, n: usize, first: usize, center: &Vector3<f64>) -> Element {
        let law = Law::Constant(Constant {
            stiffness: self.stiffness.to_vec(),
            static_stiffness: self.static_stiffness.to_vec(),
            loss_factor: self.loss_factor.to_vec(),
            damping: self.damping.to_vec(),
        });
        let label = Label { kind: "bridge".into(), name: self.name.clone() };
        grounded(n, first, center, (&self.position, &self.axes), law, label)
    }

    /// The bridge itself, if every field is what it must be.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] naming the field, its value and what is required.
    pub fn checked(self) -> Result<Self> {
        each(finite, "position", &self.position, "m")?;
        check_axes("axes", &self.axes)?;
        let groups = [
            ("stiffness", &self.stiffness, "N/m"),
            ("static_stiffness", &self.static_stiffness, "N/m"),
            ("damping", &self.damping, "N s/m"),
            ("loss_factor", &self.loss_factor, ""),
        ];
        for (name, values, unit) in groups {
            each(not_negative, name, values, unit)?;
        }
        let total: f64 = self.stiffness.iter().sum();
        positive("stiffness", total, "N/m in all directions together")?;
        Ok(self)
    }
}

/// An element between a point of the machine and the ground below it, along three axes.
pub(super) fn grounded(
    n: usize,
    first: usize,
    center: &Vector3<f64>,
    (position, axes): (&Vector3<f64>, &Matrix3<f64>),
    law: Law,
    label: Label,
) -> Element {
    let mut wrench = DMatrix::zeros(6, 3);
    wrench.view_mut((0, 0), (3, 3)).copy_from(axes);
    let mut b = DMatrix::zeros(n, 3);
    b.rows_mut(first, 6).copy_from(&(wrench_transfer(position, center) * &wrench));
    Element { b, law, label, ground: Some(Footprint { position: *position, wrench }) }
}
