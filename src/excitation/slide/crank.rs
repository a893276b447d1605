//! Where is the slide of a slider-crank at a crank angle?
//!
//! The crank pin turns about the crankshaft, u_p = r sin theta, z_p = r cos theta; the connecting rod
//! of length l holds the slide on its line u = e:
//!
//! z = r cos theta -+ sqrt(l^2 - (r sin theta - e)^2),
//!
//! minus where the crank stands above the slide (in the crown), plus where it stands below
//! (underdrive). An eccentric is the same mechanism with a short r. theta = 0 has the pin at the top;
//! without offset that is top dead center. With the crank above, the rod is folded back at top dead
//! center and stretched at bottom dead center, so the sharper turn, r omega^2 (1 + r/l), is the lower
//! one; with the crank below it is the upper one.
//!
//! The mechanism turns over if and only if l - r > |e|. The stroke is
//! S = sqrt((l + r)^2 - e^2) - sqrt((l - r)^2 - e^2), which is 2 r without offset; solved for r at a
//! given q = l/r it is the larger root of 16 q^2 r^4 - 4 (q^2 + 1) S^2 r^2 + S^2 (4 e^2 + S^2) = 0.
//!
//! Source: textbook, e.g. C. E. Wilson and J. P. Sadler, Kinematics and Dynamics of Machinery, 3rd ed.
//! 2003, chapter 1 (from memory); the quadratic is derived here.

use serde::{Deserialize, Serialize};

use super::Points;
use super::jet::Jet;
use crate::error::{Error, Result, finite, positive};

/// Where the crankshaft stands, seen from the slide.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum CrankSide {
    /// In the crown: the rods push the slide down.
    Above,
    /// Under the bed: the rods pull the slide down.
    Below,
}

impl CrankSide {
    /// Every side with its name.
    pub const ALL: [(&'static str, Self); 2] = [("above", Self::Above), ("below", Self::Below)];
}

/// Slider-crank or eccentric.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Crank {
    /// Crank radius or eccentricity r, m.
    pub radius: f64,
    /// Length l of the connecting rod between its pins, m.
    pub rod_length: f64,
    /// Distance e of the slide's line from the crankshaft, m: positive on the side to which the pin
    /// moves at the top.
    pub offset: f64,
    /// Where the crankshaft stands.
    pub side: CrankSide,
}

impl Crank {
    /// Crank above the slide, from its lengths (m).
    ///
    /// # Errors
    /// A length that is not positive, a rod not longer than the crank, or an offset that locks it.
    pub fn new(radius: f64, rod_length: f64, offset: f64) -> Result<Self> {
        positive("crank_radius", radius, "m")?;
        positive("rod_length", rod_length, "m")?;
        finite("offset", offset, "m")?;
        if rod_length <= radius {
            return Err(Error::invalid(
                "rod_length",
                format!("{rod_length} m"),
                format!(
                    "must be longer than the crank ({radius} m), or the crank cannot turn over"
                ),
                "check both lengths; a rod has 3 to 10 crank lengths in most presses",
            ));
        }
        let room = rod_length - radius;
        if offset.abs() >= room {
            return Err(Error::invalid(
                "offset",
                format!("{offset} m"),
                format!(
                    "must be less than rod minus crank ({room} m) in size, or the mechanism locks \
                     before the crank is round"
                ),
                "reduce the offset or take a longer rod",
            ));
        }
        Ok(Self { radius, rod_length, offset, side: CrankSide::Above })
    }

    /// Crank above the slide, from the stroke S (m), the rod-to-crank ratio l/r and the offset (m).
    ///
    /// # Errors
    /// A stroke that is not positive, a ratio not above one, an offset that locks the mechanism.
    pub fn from_stroke(stroke: f64, rod_ratio: f64, offset: f64) -> Result<Self> {
        let s = positive("stroke", stroke, "m")?;
        let q = finite("rod_ratio", rod_ratio, "")?;
        let e = finite("offset", offset, "m")?;
        if q <= 1.0 {
            return Err(Error::invalid(
                "rod_ratio",
                q,
                "must be greater than 1: the rod is longer than the crank, or the crank cannot turn over",
                "give rod length over crank radius (half the stroke), 3 to 10 in most presses",
            ));
        }
        if e == 0.0 {
            return Self::new(s / 2.0, q * s / 2.0, 0.0);
        }
        let (b, c) = ((q * q + 1.0) * s * s, s * s * (4.0 * e * e + s * s));
        let root = b * b - 4.0 * q * q * c;
        // Below zero no radius gives this stroke; the offset at which root is zero is the last one.
        let most = s * (q * q - 1.0) / (4.0 * q);
        if root < 0.0 {
            return Err(Error::invalid(
                "offset",
                format!("{e} m"),
                format!(
                    "must be less than {most} m in size for this stroke and rod ratio, or the \
                     mechanism locks before the crank is round"
                ),
                "reduce the offset or take a greater rod ratio",
            ));
        }
        let radius = ((b + root.sqrt()) / (8.0 * q * q)).sqrt();
        Self::new(radius, q * radius, e)
    }

    /// Stroke, m.
    pub fn stroke(&self) -> f64 {
        if self.offset == 0.0 {
            return 2.0 * self.radius;
        }
        let (top, bottom) = self.heights();
        top - bottom
    }

    /// Highest and lowest position of the slide's pin, measured from the crankshaft, m.
    pub(super) fn heights(&self) -> (f64, f64) {
        let reach = |length: f64| (length * length - self.offset * self.offset).sqrt();
        let [far, near] = [self.rod_length + self.radius, self.rod_length - self.radius].map(reach);
        match self.side {
            CrankSide::Above => (-near, -far),
            CrankSide::Below => (far, near),
        }
    }

    /// Crank angles of top and bottom dead center, rad in 0..2 pi.
    pub(super) fn dead_centers(&self) -> (f64, f64) {
        use std::f64::consts::{PI, TAU};
        // Stretched, the pin points at the slide; folded, away from it.
        let stretched = (self.offset / (self.rod_length + self.radius)).asin();
        let folded = (self.offset / (self.rod_length - self.radius)).asin();
        match self.side {
            CrankSide::Above => ((-folded).rem_euclid(TAU), PI - stretched),
            CrankSide::Below => (stretched.rem_euclid(TAU), PI + folded),
        }
    }

    pub(super) fn points(&self, theta: f64) -> Points {
        let (u, z) = (Jet::sin(theta) * self.radius, Jet::cos(theta) * self.radius);
        let across = u - Jet::constant(self.offset);
        let along = (Jet::constant(self.rod_length * self.rod_length) - across * across).sqrt();
        let slide = match self.side {
            CrankSide::Above => z - along,
            CrankSide::Below => z + along,
        };
        Points { crank_pin: Some((u, z)), rocker_pin: None, rod: Some((u, z)), slide }
    }
}
