//! How does a press stretch? Crown and slide move against the body they are guided by.
//!
//! q = (x y z rx ry rz of the whole machine, w_c of the crown, w_s of the slide)
//!
//! Crown and slide are point masses that follow the rigid motion of the body in every direction and
//! have one freedom more each: w, vertical, against the body where the mass is. So the mass matrix is
//! that of the whole machine, and for each inner mass m at r, with d = r - center,
//!
//! M_w,u = m (0, 0, 1, d_y, -d_x, 0),   M_w,w = m.
//!
//! The frame carries k_f w_c (+ stretched), the drive k_d (w_s - w_c) (+ compressed). The drive's
//! strain is w_s - w_c wherever slide and crown stand: the crown is guided, and this is the only
//! strain that vanishes in rigid motion. A work force +F on the slide and -F on the bed does the
//! work F dw_s: it is F on w_s and nothing on the body. The couple of the guides cancels the offset of
//! the tool: the tool's place rocks nothing, the slide's axis does.
//!
//! Guides carry, about x and y, the couples (r_t - r_s) x F e_z of the tool and (r_s - r_c) x D e_z
//! of the drive; signs are those on the body.
//!
//! Assumptions: inner masses are points, so their own inertia must be in that of the machine; guides
//! are stiff sideways; w counts from the machine at rest. Valid for the vertical stretching of the
//! frame, not for its sway, nor for the yawning of a gap frame.
//!
//! Source: virtual work, derived here; checked against reference numbers of 50 digits.

use nalgebra::{DMatrix, DVector, Vector3};
use serde::{Deserialize, Serialize};

use super::body::{RigidBody, principal_axes};
use super::part::{Part, PointMass};
use crate::error::{Error, Result, each, finite, not_negative, positive};
use crate::law::{Constant, Law};
use crate::system::{Axis, Dof, Element, Label, Port, wrench_transfer};

/// Rows of the crown's and the slide's freedom.
pub const CROWN: usize = 6;
/// See [`CROWN`].
pub const SLIDE: usize = 7;
/// Degrees of freedom of a machine with crown and slide.
pub const SIZE: usize = 8;
/// Reverse load that most mechanical presses stand, as a part of their rating (Managing Reverse
/// Tonnage, MetalForming Magazine, read in an excerpt).
pub const REVERSE_LIMIT: f64 = 0.10;
/// Kind of the elements that the frame and the drive are.
pub const FRAME: &str = "frame";
/// See [`FRAME`].
pub const DRIVE: &str = "drive";

/// A mass inside the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct InnerMass {
    /// Mass, kg.
    pub mass: f64,
    /// Where it is, m.
    pub position: Vector3<f64>,
}

/// A spring with its damping between two of the masses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Link {
    /// Stiffness, N/m.
    pub stiffness: f64,
    /// Viscous damping, N s/m.
    pub damping: f64,
    /// Loss factor.
    pub loss_factor: f64,
}

/// Damping of a link, stated in one of three ways.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum LinkDamping {
    /// N s/m.
    Viscous(f64),
    /// Loss factor eta.
    LossFactor(f64),
    /// Damping ratio of the link alone between the masses it joins: c = 2 zeta sqrt(k m), m = a b / (a + b).
    Ratio(f64),
}

/// What moves inside a press: crown and slide, held by the frame and the drive.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Press {
    /// Crown with the part of the uprights that moves with it.
    pub crown: InnerMass,
    /// Slide with the upper die.
    pub slide: InnerMass,
    /// Uprights and tie rods, from bed to crown.
    pub frame: Link,
    /// Connections, crank and bearings, from crown to slide.
    pub drive: Link,
    /// Play of the drive between pushing and pulling, m.
    pub clearance: f64,
    /// Force of the counterbalance up on the slide, N; `None`: not given. Then the drive is taken to be free of load at
    /// rest.
    pub counterbalance: Option<f64>,
    /// Rated force, N.
    pub rated_force: Option<f64>,
    /// Reverse load that the press stands, as a part of its rated force.
    pub reverse_limit: f64,
    /// Length over which the gibs guide the slide, m: turns guide couples into pairs of forces.
    pub guide_length: Option<f64>,
}

impl Press {
    /// Crown and slide by mass (kg) and place (m), frame and drive by stiffness (N/m), undamped,
    /// without clearance, rating or counterbalance.
    ///
    /// # Errors
    /// [`Error::Invalid`] for masses or stiffnesses that are not positive, or places not finite.
    pub fn new(
        crown: InnerMass,
        slide: InnerMass,
        frame_stiffness: f64,
        drive_stiffness: f64,
    ) -> Result<Self> {
        let link = |stiffness| Link { stiffness, damping: 0.0, loss_factor: 0.0 };
        let press = Self {
            crown,
            slide,
            frame: link(frame_stiffness),
            drive: link(drive_stiffness),
            clearance: 0.0,
            counterbalance: None,
            rated_force: None,
            reverse_limit: REVERSE_LIMIT,
            guide_length: None,
        };
        press.checked()
    }

    /// The same press with damping of frame and drive; `body` is the whole machine, whose rest a
    /// damping ratio of the frame refers to.
    ///
    /// # Errors
    /// [`Error::Invalid`] if one is negative or not finite.
    pub fn with_damping(
        mut self,
        frame: LinkDamping,
        drive: LinkDamping,
        body: &RigidBody,
    ) -> Result<Self> {
        let (c, s) = (self.crown.mass, self.slide.mass);
        let rest = body.mass() - c - s;
        self.frame.damped("frame", frame, c + s, rest)?;
        self.drive.damped("drive", drive, s, c)?;
        self.checked()
    }

    /// The same press with play in the drive, m.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_clearance(mut self, clearance: f64) -> Result<Self> {
        self.clearance = clearance;
        self.checked()
    }

    /// The same press with a counterbalance that lifts the slide, N.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_counterbalance(mut self, force: f64) -> Result<Self> {
        self.counterbalance = Some(force);
        self.checked()
    }

    /// The same press with its rated force (N) and the part of it that it stands as reverse load.
    ///
    /// # Errors
    /// [`Error::Invalid`] if not positive.
    pub fn with_rating(mut self, rated_force: f64, reverse_limit: f64) -> Result<Self> {
        self.rated_force = Some(rated_force);
        self.reverse_limit = reverse_limit;
        self.checked()
    }

    /// The same press with gibs of that length, m.
    ///
    /// # Errors
    /// [`Error::Invalid`] if not positive.
    pub fn with_guide_length(mut self, length: f64) -> Result<Self> {
        self.guide_length = Some(length);
        self.checked()
    }

    /// The press itself, if every field is what it must be.
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the field.
    pub fn checked(self) -> Result<Self> {
        for (name, inner) in [("crown", &self.crown), ("slide", &self.slide)] {
            positive(&format!("{name}_mass"), inner.mass, "kg")?;
            each(finite, &format!("{name}_position"), &inner.position, "m")?;
        }
        for (name, link) in [("frame", &self.frame), ("drive", &self.drive)] {
            positive(&format!("{name}_stiffness"), link.stiffness, "N/m")?;
            not_negative(&format!("{name}_damping"), link.damping, "N s/m")?;
            not_negative(&format!("{name}_loss_factor"), link.loss_factor, "")?;
        }
        not_negative("clearance", self.clearance, "m")?;
        if let Some(force) = self.counterbalance {
            not_negative("counterbalance", force, "N")?;
        }
        if let Some(force) = self.rated_force {
            positive("rated_force", force, "N")?;
        }
        positive("reverse_limit", self.reverse_limit, "")?;
        if let Some(length) = self.guide_length {
            positive("guide_length", length, "m")?;
        }
        Ok(self)
    }

    /// What is left of the whole machine without crown and slide: bed, and what moves with it.
    ///
    /// # Errors
    /// [`Error::Invalid`] if they weigh as much as the machine or leave an inertia that no body has.
    pub fn rest_of(&self, body: &RigidBody) -> Result<RigidBody> {
        let inner = self.crown.mass + self.slide.mass;
        if inner >= body.mass() {
            return Err(Error::invalid(
                "slide_mass + crown_mass",
                format!("{inner} kg"),
                format!("must be less than the whole machine ({} kg)", body.mass()),
                "body is the whole machine with crown, slide and upper die in it",
            ));
        }
        let point = |m: &InnerMass| PointMass::new(m.mass, m.position).map(Part::Point);
        body.without_parts(&[point(&self.crown)?, point(&self.slide)?]).map_err(|error| match error
        {
            Error::Invalid { value, requirement, .. } => Error::Invalid {
                argument: "inertia without crown and slide".into(),
                value,
                requirement,
                remedy:
                    "the inertia of the body must hold crown and slide where they stand: check \
                         crown_position and slide_position"
                        .into(),
            },
            other => other,
        })
    }

    /// Stiffness of frame and drive in series, N/m: F^2 / (2 k) is what they store.
    pub fn series_stiffness(&self) -> f64 {
        let (f, d) = (self.frame.stiffness, self.drive.stiffness);
        f * d / (f + d)
    }

    /// Force in the drive at rest, N: counterbalance less the weight of the slide; positive pushes
    /// the slide against the crown. `None`: no counterbalance is given.
    pub fn drive_at_rest(&self, gravity: f64) -> Option<f64> {
        self.counterbalance.map(|force| force - self.slide.mass * gravity)
    }

    /// The two freedoms behind the six of the machine.
    pub fn dofs(&self) -> [Dof; 2] {
        ["crown", "slide"].map(|body| Dof { body: body.into(), axis: Axis::Z })
    }

    /// 8 x 8 mass matrix from that of the whole machine (6 x 6) about its center.
    pub fn mass(&self, machine: &DMatrix<f64>, center: &Vector3<f64>) -> DMatrix<f64> {
        let mut mass = DMatrix::zeros(SIZE, SIZE);
        mass.view_mut((0, 0), (6, 6)).copy_from(machine);
        for (row, inner) in [(CROWN, &self.crown), (SLIDE, &self.slide)] {
            let d = inner.position - center;
            let coupling = [0.0, 0.0, 1.0, d.y, -d.x, 0.0].map(|x| x * inner.mass);
            for (j, &m) in coupling.iter().enumerate() {
                mass[(row, j)] = m;
                mass[(j, row)] = m;
            }
            mass[(row, row)] = inner.mass;
        }
        mass
    }

    /// Frame and drive as elements of the system.
    pub fn elements(&self) -> [Element; 2] {
        let element = |kind: &str, link: &Link, ends: &[(usize, f64)]| {
            let mut b = DMatrix::zeros(SIZE, 1);
            ends.iter().for_each(|&(row, sign)| b[(row, 0)] = sign);
            Element {
                b,
                law: Law::Constant(Constant {
                    stiffness: vec![link.stiffness],
                    static_stiffness: vec![link.stiffness],
                    loss_factor: vec![link.loss_factor],
                    damping: vec![link.damping],
                }),
                label: Label { kind: kind.into(), name: kind.into() },
                ground: None,
            }
        };
        [
            element(FRAME, &self.frame, &[(CROWN, 1.0)]),
            element(DRIVE, &self.drive, &[(SLIDE, 1.0), (CROWN, -1.0)]),
        ]
    }

    /// Crown ([`CROWN`]) or slide ([`SLIDE`]) as a port: its motion in the axes of the floor.
    pub fn port(&self, row: usize, center: &Vector3<f64>) -> Port {
        let (name, inner) = match row {
            CROWN => ("crown", &self.crown),
            _ => ("slide", &self.slide),
        };
        let mut b = DMatrix::zeros(SIZE, 6);
        let rigid = wrench_transfer(&inner.position, center);
        b.view_mut((0, 0), (6, 6)).copy_from(&DMatrix::from_column_slice(6, 6, rigid.as_slice()));
        b[(row, 2)] = 1.0;
        Port { name: name.into(), position: inner.position, b }
    }

    /// The generalized force of a unit work force: 1 on the slide's freedom.
    pub fn work(&self) -> DVector<f64> {
        let mut g = DVector::zeros(SIZE);
        g[SLIDE] = 1.0;
        g
    }

    /// Couple (about x, about y) that the guides put on the body for a unit work force at a tool, m.
    pub fn tool_couple(&self, tool: &Vector3<f64>) -> [f64; 2] {
        couple(&(tool - self.slide.position))
    }

    /// Couple (about x, about y) that the guides put on the body for a unit drive force, m.
    pub fn drive_couple(&self) -> [f64; 2] {
        couple(&(self.slide.position - self.crown.position))
    }
}

impl Link {
    fn damped(&mut self, name: &str, damping: LinkDamping, a: f64, b: f64) -> Result<()> {
        match damping {
            LinkDamping::Viscous(c) => {
                self.damping = not_negative(&format!("{name}_damping"), c, "N s/m")?;
            }
            LinkDamping::LossFactor(eta) => {
                self.loss_factor = not_negative(&format!("{name}_loss_factor"), eta, "")?;
            }
            LinkDamping::Ratio(zeta) => {
                let zeta = not_negative(&format!("{name}_damping_ratio"), zeta, "")?;
                self.damping = 2.0 * zeta * (self.stiffness * a * b / (a + b)).sqrt();
            }
        }
        Ok(())
    }
}

/// d x e_z about x and y.
fn couple(d: &Vector3<f64>) -> [f64; 2] {
    [d.y, -d.x]
}

/// n x n with q = T psi, T' M T diagonal: the slide's and the crown's own absolute motion, the
/// height of what is left, and rotations about its principal axes. Kinetic energy splits into parts
/// that are never negative.
pub fn energy_axes(mass: &DMatrix<f64>) -> DMatrix<f64> {
    let n = mass.nrows();
    let mut m = mass.clone();
    let mut t: DMatrix<f64> = DMatrix::identity(n, n);
    for pivot in [SLIDE, CROWN, 2] {
        let mut step: DMatrix<f64> = DMatrix::identity(n, n);
        for j in (0..n).filter(|&j| j != pivot) {
            step[(pivot, j)] = -m[(pivot, j)] / m[(pivot, pivot)];
        }
        m = step.transpose() * m * &step;
        t *= step;
    }
    let turning = m.fixed_view::<3, 3>(3, 3).into_owned();
    let mut axes: DMatrix<f64> = DMatrix::identity(n, n);
    axes.view_mut((3, 3), (3, 3)).copy_from(&principal_axes(&turning).1);
    t * axes
}
