//! Where is the slide of a link drive at a crank angle?
//!
//! A six-bar linkage, the mother of knuckle-joint and link (fast-return) presses. In the plane of the
//! linkage, u to the side and z up, measured from the crankshaft:
//!
//! - crank:   pin A = r (sin theta, cos theta);
//! - rocker:  turns about the fixed pivot P with length c and carries the pin B;
//! - coupler: joins A and B, length a; so B is one of the two points where the circle of radius a
//!   about A meets the circle of radius c about P (`branch` says which);
//! - a point D of the coupler: D = A + along (B - A)/a + across n, n being (B - A)/a turned by a right
//!   angle from z toward u; along = a, across = 0 makes D = B, the knuckle joint;
//! - connecting rod: length l, from D down to the slide on its line u = e, z = D_z - sqrt(l^2 - (D_u - e)^2).
//!
//! All in closed form: with d = P - A, the foot of B on d is h = (d^2 + a^2 - c^2)/(2 d), and B lies
//! sqrt(a^2 - h^2) beside it. The crank turns over if and only if |P| + r < a + c and, at the other
//! end, | |P| - r | > |a - c|. Eight-bar drives have no closed form of this kind: give their motion as
//! a table.
//!
//! Source: textbook position analysis of two circles, e.g. R. L. Norton, Design of Machinery, 5th ed.
//! 2012, chapter 4 (from memory); limits: rigid links, no clearance.

use serde::{Deserialize, Serialize};

use super::Points;
use super::jet::Jet;
use crate::error::{Error, Result, finite, not_negative, positive};

/// On which side of the line from the crank pin A to the pivot P the rocker pin B lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Branch {
    /// To the left, seen along A -> P with z up and u to the right.
    Left,
    /// To the right.
    Right,
}

impl Branch {
    /// Every way with its name.
    pub const ALL: [(&'static str, Self); 2] = [("left", Self::Left), ("right", Self::Right)];
}

/// Six-bar link drive.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Link {
    /// Crank radius r, m.
    pub crank_radius: f64,
    /// Length a of the coupler between crank pin and rocker pin, m.
    pub coupler_length: f64,
    /// Length c of the rocker, m.
    pub rocker_length: f64,
    /// Fixed pivot P of the rocker from the crankshaft: to the side u and up, m.
    pub pivot: [f64; 2],
    /// Which way the linkage is put together.
    pub branch: Branch,
    /// Place of the point D on the coupler: along it from the crank pin, and across it, m.
    pub coupler_point: [f64; 2],
    /// Length l of the connecting rod from D to the slide, m.
    pub rod_length: f64,
    /// Place u = e of the slide's line from the crankshaft, m.
    pub offset: f64,
    /// Mass that goes with the crank pin (share of the coupler), kg.
    pub crank_pin_mass: f64,
    /// Mass that goes with the rocker pin (shares of coupler and rocker), kg.
    pub rocker_pin_mass: f64,
}

impl Link {
    /// The linkage, if its lengths are possible and its crank can turn over.
    ///
    /// # Errors
    /// Lengths that are not positive, or that lock the linkage at some crank angle.
    pub fn checked(self) -> Result<Self> {
        for (name, value) in [
            ("crank_radius", self.crank_radius),
            ("coupler_length", self.coupler_length),
            ("rocker_length", self.rocker_length),
            ("rod_length", self.rod_length),
        ] {
            positive(name, value, "m")?;
        }
        for (name, value) in [
            ("pivot[0]", self.pivot[0]),
            ("pivot[1]", self.pivot[1]),
            ("coupler_point[0]", self.coupler_point[0]),
            ("coupler_point[1]", self.coupler_point[1]),
            ("offset", self.offset),
        ] {
            finite(name, value, "m")?;
        }
        not_negative("crank_pin_mass", self.crank_pin_mass, "kg")?;
        not_negative("rocker_pin_mass", self.rocker_pin_mass, "kg")?;
        let (r, a, c) = (self.crank_radius, self.coupler_length, self.rocker_length);
        let p = self.pivot[0].hypot(self.pivot[1]);
        if p + r >= a + c {
            return Err(Error::invalid(
                "coupler_length + rocker_length",
                format!("{} m", a + c),
                format!(
                    "must be more than pivot distance plus crank ({} m), or the linkage tears open",
                    p + r
                ),
                "lengthen coupler or rocker, or move the pivot closer",
            ));
        }
        if (p - r).abs() <= (a - c).abs() {
            return Err(Error::invalid(
                "coupler_length - rocker_length",
                format!("{} m", a - c),
                format!(
                    "must be less in size than pivot distance minus crank ({} m), or the linkage \
                     locks before the crank is round",
                    (p - r).abs()
                ),
                "make coupler and rocker more alike, or move the pivot farther away",
            ));
        }
        self.rod_reaches()?;
        Ok(self)
    }

    /// The connecting rod must reach the slide's line at every angle.
    fn rod_reaches(&self) -> Result<()> {
        const STEPS: u32 = 3600;
        for i in 0..STEPS {
            let degrees = f64::from(i) * 360.0 / f64::from(STEPS);
            let (_, (u, _)) = self.pins(degrees.to_radians());
            let across = (u.f - self.offset).abs();
            if across >= self.rod_length {
                return Err(Error::invalid(
                    "rod_length",
                    format!("{} m", self.rod_length),
                    format!(
                        "must be more than the {across:.6} m from coupler point to slide's line at \
                         {degrees:.1} degrees of crank angle"
                    ),
                    "take a longer connecting rod, or move the slide's line (offset)",
                ));
            }
        }
        Ok(())
    }

    /// Rocker pin B and coupler point D.
    fn pins(&self, theta: f64) -> ((Jet, Jet), (Jet, Jet)) {
        let (a, c) = (self.coupler_length, self.rocker_length);
        let (au, az) = (Jet::sin(theta) * self.crank_radius, Jet::cos(theta) * self.crank_radius);
        let (du, dz) = (Jet::constant(self.pivot[0]) - au, Jet::constant(self.pivot[1]) - az);
        let d2 = du * du + dz * dz;
        // Parts of B - A along d and beside it, both over d.
        let along = (d2 + Jet::constant(a * a - c * c)) * d2.inverse() * 0.5;
        let beside = (Jet::constant(a * a) * d2.inverse() - along * along).sqrt();
        let beside = match self.branch {
            Branch::Left => beside,
            Branch::Right => -beside,
        };
        let (bu, bz) = (along * du - beside * dz, along * dz + beside * du);
        let [x, y] = self.coupler_point.map(|length| length / a);
        // n is (B - A)/a turned from z toward u: (u, z) -> (z, -u).
        let d = (au + bu * x + bz * y, az + bz * x - bu * y);
        ((au + bu, az + bz), d)
    }

    pub(super) fn points(&self, theta: f64) -> Points {
        let (au, az) = (Jet::sin(theta) * self.crank_radius, Jet::cos(theta) * self.crank_radius);
        let (b, d) = self.pins(theta);
        let across = d.0 - Jet::constant(self.offset);
        let down = (Jet::constant(self.rod_length * self.rod_length) - across * across).sqrt();
        Points { crank_pin: Some((au, az)), rocker_pin: Some(b), rod: Some(d), slide: d.1 - down }
    }
}
