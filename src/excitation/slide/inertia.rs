//! What do the moving parts of a slide drive do to the frame?
//!
//! All forces between them are internal, so the frame gets minus the rate of change of their momentum:
//!
//! F = -d/dt sum m v,   M = -d/dt (sum m r x v + J* phi_dot),
//!
//! at each crank angle, speed omega and acceleration alpha. In the plane of the mechanism, u to the
//! side and z up, r measured from the point `at` (slide's line, height of the crankshaft), right-handed
//! about the shaft from z toward u:
//!
//! - slide and upper die: on u = 0, so no moment about `at`, only F_z = -m z_ddot;
//! - connecting rod: two masses, m (1 - b) at its driven pin and m b at the slide, b its center of
//!   mass as a share of its length; exact in force, and in moment with the couple
//!   J* phi_ddot, J* = I - m l^2 b (1 - b), phi the rod's angle;
//! - crank pin side: unbalance of webs and eccentric, minus the counterweights;
//! - coupler and rocker of a link drive: the masses given for their pins;
//! - counter-slide: mirrors a slide on its own crank, on the vertical through the crankshaft.
//!
//! The counterbalance and the reaction of the bearings are internal and do not appear. The torque of
//! the motor at constant speed does neither: it turns with the crank's side thrust, which is internal
//! too. Rotors in balance (flywheel, gears) count only when they speed up; they belong to start and
//! stop. Left out: the shifting weight of crank and rod, m g u (a moment at the first harmonic).
//!
//! Source: momentum balance, textbook; two-mass rod e.g. C. E. Wilson and J. P. Sadler, Kinematics and
//! Dynamics of Machinery, 3rd ed. 2003, chapter 10 (from memory).

use nalgebra::{Vector3, Vector6};

use super::jet::Jet;
use super::{Mechanism, Rotation, Shaft, SlideDrive};

/// A mass (kg) with its path from the slide's line and the height of the crankshaft.
struct Moving {
    mass: f64,
    u: Jet,
    z: Jet,
}

/// What the moving parts do in their plane: force to the side and up, couple about the shaft.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Plane {
    pub u: f64,
    pub z: f64,
    pub couple: f64,
}

impl SlideDrive {
    /// Wrench of the moving parts on the frame about [`SlideDrive::at`] in the axes of the floor, N and
    /// N m, at a crank angle (rad), speed omega (rad/s) and acceleration alpha (rad/s^2): minus the
    /// rate of change of their momentum.
    pub fn inertia_wrench(&self, angle: f64, omega: f64, alpha: f64) -> Vector6<f64> {
        self.in_space(self.rates(angle, |jet| jet.acceleration(omega, alpha)), -1.0)
    }

    /// Wrench of the moving parts on the frame about [`SlideDrive::at`] (N and N m) in steady running at
    /// a stroke rate, at a crank angle (rad).
    ///
    /// # Errors
    /// A stroke rate that is not positive.
    pub fn wrench(&self, stroke_rate_spm: f64, angle: f64) -> crate::error::Result<Vector6<f64>> {
        Ok(self.inertia_wrench(angle, Self::crank_speed(stroke_rate_spm)?, 0.0))
    }

    /// Momentum of the moving parts (kg m/s) and its moment about [`SlideDrive::at`] (kg m^2/s), without
    /// rotors in balance, at a crank angle (rad) and speed omega (rad/s).
    pub fn momentum(&self, angle: f64, omega: f64) -> Vector6<f64> {
        self.in_space(self.rates(angle, |jet| jet.d * omega), 1.0)
    }

    /// Force of the connecting rods along the slide's line on the slide (N, down positive: pushing it
    /// toward bottom dead center), at a crank angle (rad) and crank speed omega (rad/s): it carries
    /// inertia and weight of slide and upper die less the counterbalance, without any forming force.
    pub fn drive_force(&self, angle: f64, omega: f64, gravity: f64) -> f64 {
        let m = self.slide_mass();
        self.counterbalance - m * (gravity + self.acceleration(angle, omega, 0.0))
    }

    /// Place of the slide's line in the plane of the mechanism, from the crankshaft, m.
    pub(super) fn line(&self) -> f64 {
        match &self.mechanism {
            Mechanism::Crank(crank) => crank.offset,
            Mechanism::Link(link) => link.offset,
            Mechanism::Profile(_) => 0.0,
        }
    }

    /// Mass that moves with the slide's pin: slide, upper die and the rods' share, kg.
    pub(super) fn reciprocating_mass(&self) -> f64 {
        self.slide_mass() + self.rod_mass * self.rod_center
    }

    /// Parts beside the slide's pin.
    fn moving(&self, theta: f64) -> Vec<Moving> {
        let line = Jet::constant(self.line());
        let points = self.mechanism.points(theta);
        let mut out = Vec::with_capacity(4);
        let mut add = |mass: f64, (u, z): (Jet, Jet)| {
            if mass > 0.0 {
                out.push(Moving { mass, u: u - line, z });
            }
        };
        if let Some(rod) = points.rod {
            add(self.rod_mass * (1.0 - self.rod_center), rod);
        }
        if let Mechanism::Link(link) = &self.mechanism {
            points.crank_pin.into_iter().for_each(|pin| add(link.crank_pin_mass, pin));
            points.rocker_pin.into_iter().for_each(|pin| add(link.rocker_pin_mass, pin));
        }
        if let Some(counter) = &self.counter_slide {
            let z = -counter.crank.points(theta).slide;
            add(counter.mass, (Jet::constant(0.0), z));
        }
        out
    }

    /// Sums over all parts of m c' and of the moment m (z u' - u z'), where ' is `rate`.
    fn rates(&self, theta: f64, rate: impl Fn(Jet) -> f64) -> Plane {
        let mut sum = self.rates_beside(theta, &rate);
        sum.z += self.reciprocating_mass() * rate(self.mechanism.points(theta).slide);
        sum
    }

    /// The same without the slide's pin.
    pub(super) fn rates_beside(&self, theta: f64, rate: impl Fn(Jet) -> f64) -> Plane {
        let mut sum = Plane::default();
        for Moving { mass, u, z } in self.moving(theta) {
            let (du, dz) = (mass * rate(u), mass * rate(z));
            sum.u += du;
            sum.z += dz;
            sum.couple += z.f * du - u.f * dz;
        }
        // Unbalance on the crank's radius: (sin, cos) times kg m, about the crankshaft.
        let unbalance = self.crank_unbalance - self.rotating_balance;
        if unbalance != 0.0 {
            let du = unbalance * rate(Jet::sin(theta));
            let dz = unbalance * rate(Jet::cos(theta));
            sum.u += du;
            sum.z += dz;
            // Its own moment about the shaft is constant in steady running and a rotor's at a start:
            // only the lever of the shaft from the slide's line counts.
            sum.couple += self.line() * dz;
        }
        sum.couple += self.rod_couple(theta, rate);
        sum
    }

    /// J* phi', with phi' = (z u' - u z')/l^2 of the vector u, z along the rod.
    fn rod_couple(&self, theta: f64, rate: impl Fn(Jet) -> f64) -> f64 {
        let (Some(inertia), Some((u, z))) = (self.rod_inertia, self.mechanism.points(theta).rod)
        else {
            return 0.0;
        };
        let slide = self.mechanism.points(theta).slide;
        let (u, z) = (Jet::constant(self.line()) - u, slide - z);
        let l2 = u.f * u.f + z.f * z.f;
        let rest = inertia - self.rod_mass * l2 * self.rod_center * (1.0 - self.rod_center);
        rest * (z.f * rate(u) - u.f * rate(z)) / l2
    }

    /// A sum of the plane in the axes of the floor, times a factor.
    pub(super) fn in_space(&self, plane: Plane, factor: f64) -> Vector6<f64> {
        let [u, z, couple] = self.axes().map(|axis| axis * factor);
        let [u, couple] = match self.rotation {
            Rotation::Right => [u * plane.u, couple * plane.couple],
            Rotation::Left => [-u * plane.u, -couple * plane.couple],
            Rotation::Pair => [Vector3::zeros(); 2],
        };
        let force = u + z * plane.z;
        Vector6::new(force.x, force.y, force.z, couple.x, couple.y, couple.z)
    }

    /// Directions of u, z and the couple.
    fn axes(&self) -> [Vector3<f64>; 3] {
        match self.shaft {
            Shaft::Y => [Vector3::x(), Vector3::z(), Vector3::y()],
            Shaft::X => [-Vector3::y(), Vector3::z(), Vector3::x()],
        }
    }
}
