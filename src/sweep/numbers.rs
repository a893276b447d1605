//! Which numbers of a design can move? All that axes set, as plain data that is copied from the base
//! for every design without allocation, and from which an installation is rebuilt where needed.

use nalgebra::{Matrix3, Vector3};
use serde::{Deserialize, Serialize};

use super::spec::Loads;
use crate::error::Result;
use crate::excitation::{Pulse, Work};
use crate::installation::{Case, Installation, Point};
use crate::job::{Shock, SnapThroughAsked};
use crate::machine::press::Link;
use crate::machine::{Press, RigidBody};

/// Mass, center and inertia of a body.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BodyNumbers {
    /// Mass, kg.
    pub mass: f64,
    /// Center of mass, m.
    pub center: Vector3<f64>,
    /// Inertia tensor about it, kg m^2; off-diagonals are minus the products of inertia.
    pub inertia: Matrix3<f64>,
}

/// What axes move of a mount, see [`crate::support::Mount`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MountNumbers {
    /// Where the machine sits on it, m.
    pub position: [f64; 3],
    /// Dynamic stiffness, N/m.
    pub stiffness: [f64; 3],
    /// Static stiffness, N/m.
    pub static_stiffness: [f64; 3],
    /// Viscous damping, N s/m.
    pub damping: [f64; 3],
    /// Loss factor.
    pub loss_factor: [f64; 3],
    /// Rotational stiffness, N m/rad.
    pub rotational_stiffness: [f64; 3],
}

/// What axes move of crown, slide, frame and drive, see [`Press`].
#[derive(Debug, Clone, PartialEq)]
pub struct PressNumbers {
    /// Mass of the crown, kg.
    pub crown_mass: f64,
    /// Mass of the slide, kg.
    pub slide_mass: f64,
    /// Uprights and tie rods.
    pub frame: Link,
    /// Connections, crank and bearings.
    pub drive: Link,
    /// Play of the drive, m.
    pub clearance: f64,
    /// Force of the counterbalance, N, where one is given.
    pub counterbalance: Option<f64>,
}

impl PressNumbers {
    fn of(press: &Press) -> Self {
        Self {
            crown_mass: press.crown.mass,
            slide_mass: press.slide.mass,
            frame: press.frame.clone(),
            drive: press.drive.clone(),
            clearance: press.clearance,
            counterbalance: press.counterbalance,
        }
    }

    fn press(&self, base: &Press) -> Press {
        let mut press = base.clone();
        (press.crown.mass, press.slide.mass) = (self.crown_mass, self.slide_mass);
        (press.frame, press.drive) = (self.frame.clone(), self.drive.clone());
        (press.clearance, press.counterbalance) = (self.clearance, self.counterbalance);
        press
    }
}

/// What axes move of a shock.
#[derive(Debug, Clone, PartialEq)]
pub struct ShockNumbers {
    /// Force over time, N.
    pub pulse: Pulse,
    /// Where the force acts, m.
    pub at: Option<Vector3<f64>>,
}

/// All numbers of a design that axes move.
#[derive(Debug, Clone, PartialEq)]
pub struct Numbers {
    /// The machine as it runs, then that of each load case.
    pub bodies: Vec<BodyNumbers>,
    /// Mounts.
    pub mounts: Vec<MountNumbers>,
    /// Acceleration of gravity, m/s^2.
    pub gravity: f64,
    /// Named points, m.
    pub points: Vec<Vector3<f64>>,
    /// Shocks.
    pub shocks: Vec<ShockNumbers>,
    /// Crown, slide, frame and drive of a press.
    pub press: Option<PressNumbers>,
    /// Work forces that break off.
    pub break_throughs: Vec<Work>,
}

impl Numbers {
    /// The numbers of an installation and what strikes it.
    pub fn of(installation: &Installation, shocks: &[Shock], breaks: &[SnapThroughAsked]) -> Self {
        let body = |b: &RigidBody| BodyNumbers {
            mass: b.mass(),
            center: *b.center(),
            inertia: *b.inertia(),
        };
        Self {
            bodies: installation.all_cases().map(|(_, b, _)| body(b)).collect(),
            mounts: installation
                .mounts
                .iter()
                .map(|m| MountNumbers {
                    position: m.position.into(),
                    stiffness: m.stiffness,
                    static_stiffness: m.static_stiffness,
                    damping: m.damping,
                    loss_factor: m.loss_factor,
                    rotational_stiffness: m.rotational_stiffness,
                })
                .collect(),
            gravity: installation.gravity,
            points: installation.points.iter().map(|p| p.at).collect(),
            shocks: shocks
                .iter()
                .map(|s| ShockNumbers { pulse: s.pulse.clone(), at: s.at })
                .collect(),
            press: installation.press.as_ref().map(PressNumbers::of),
            break_throughs: breaks.iter().map(|b| b.force.clone()).collect(),
        }
    }

    /// An installation like `base` with these numbers, every rule checked.
    ///
    /// # Errors
    /// Those of the constructors, for what breaks their rules.
    pub fn installation(&self, base: &Installation) -> Result<Installation> {
        let mut mounts = base.mounts.clone();
        for (mount, n) in mounts.iter_mut().zip(&self.mounts) {
            mount.position = n.position.into();
            mount.stiffness = n.stiffness;
            mount.static_stiffness = n.static_stiffness;
            mount.damping = n.damping;
            mount.loss_factor = n.loss_factor;
            mount.rotational_stiffness = n.rotational_stiffness;
        }
        let named = |p: (&Point, &Vector3<f64>)| Point { name: p.0.name.clone(), at: *p.1 };
        let points = base.points.iter().zip(&self.points).map(named).collect();
        let mut bodies = self.bodies.iter().zip(base.all_cases());
        let body = bodies.next().map(|(n, (_, b, _))| n.body(b)).transpose()?;
        let body = body.unwrap_or_else(|| base.body.clone());
        let cases = bodies
            .zip(&base.cases)
            .map(|((n, (_, b, _)), case)| Ok(Case { body: n.body(b)?, ..case.clone() }))
            .collect::<Result<_>>()?;
        let built = Installation::new(body, mounts)?
            .with_gravity(self.gravity)?
            .with_points(points)?
            .with_cases(cases)?;
        // What else there is stays as it was.
        let Installation { body, mounts, cases, points, gravity, .. } = built;
        let built = Installation { body, mounts, cases, points, gravity, ..base.clone() };
        match (&self.press, &base.press) {
            (Some(numbers), Some(press)) => built.with_press(numbers.press(press)),
            _ => Ok(built),
        }
    }

    /// Shocks like those of the base with these numbers.
    ///
    /// # Errors
    /// Those of the pulses.
    pub fn shocks(&self, base: &[Shock]) -> Result<Vec<Shock>> {
        let build = |(shock, n): (&Shock, &ShockNumbers)| {
            let pulse = n.pulse.clone().checked().map_err(|e| e.within(&shock.name))?;
            Ok(Shock { pulse, at: n.at, ..shock.clone() })
        };
        base.iter().zip(&self.shocks).map(build).collect()
    }
}

impl Numbers {
    /// Shocks and work forces like those of the base with these numbers.
    ///
    /// # Errors
    /// Those of the pulses and forces.
    pub fn loads(&self, base: &Loads) -> Result<Loads> {
        let build = |(asked, force): (&SnapThroughAsked, &Work)| {
            let force = force.clone().checked().map_err(|e| e.within(&asked.name))?;
            Ok(SnapThroughAsked { force, ..asked.clone() })
        };
        let forces = base.break_throughs.iter().zip(&self.break_throughs);
        Ok(Loads {
            shocks: self.shocks(&base.shocks)?,
            break_throughs: forces.map(build).collect::<Result<_>>()?,
        })
    }
}

impl BodyNumbers {
    /// The body; `base` itself where nothing has moved, since its rules were checked once.
    fn body(&self, base: &RigidBody) -> Result<RigidBody> {
        let same = self.mass == base.mass()
            && self.center == *base.center()
            && self.inertia == *base.inertia();
        if same {
            return Ok(base.clone());
        }
        RigidBody::new(self.mass, self.center, self.inertia)
    }
}
