//! Where does the weight stand while the bolster rolls out with its die, and what is left then?
//!
//! The bolster rolls a distance s along the unit vector d on two axles, w apart. Its load (itself
//! and the dies it carries, mass m) has its center a distance e ahead of the middle of the axles.
//! Leading and trailing axle carry m (1/2 + e/w) and m (1/2 - e/w), at s + w/2 and s - w/2.
//!
//! - Both axles on the press: the machine with its load moved by s d.
//! - One axle past the end of the press's rails: the other's share is left, as a point mass where
//!   that axle stands, at the height of the rails.
//! - Both past: the machine without them.
//!
//! Assumptions: the rails outside stand level with those of the press and carry their axle in full;
//! the load is stiff, and rolls slowly. The rails end at the mean of the rail points along d.
//! Source: textbook (lever rule).

use nalgebra::{Matrix3, Vector3};
use serde::{Deserialize, Serialize};

use super::body::RigidBody;
use super::die::{Die, named};
use super::part::{Cuboid, Part, PointMass};
use crate::error::{Error, Result, each, finite, positive};

/// A bolster that rolls out of the machine, which contains it as it runs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RollingBolster {
    /// Name ("bolster").
    pub name: String,
    /// Mass, kg.
    pub mass: f64,
    /// Center of mass when it is in, m.
    pub center: Vector3<f64>,
    /// Sides along x, y, z, m; `None`: a point, its own inertia left out.
    pub size: Option<[f64; 3]>,
    /// Horizontal unit vector along which it rolls out.
    pub direction: Vector3<f64>,
    /// How far it rolls, m.
    pub travel: f64,
    /// Distance between its axles, m.
    pub wheel_base: f64,
    /// Ends of the rails on the press, m: where the rails outside begin.
    pub rails: Vec<Vector3<f64>>,
    /// Dies that leave with it.
    pub carries: Vec<Die>,
}

/// A wheel load on the press that is nothing beside the other.
const NOTHING: f64 = 1e-9;

impl RollingBolster {
    /// The same bolster once everything in it is found sound.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a mass, side, travel or wheel base that is not positive, a direction
    /// that is no horizontal unit vector, no rail point, a load whose center lies beyond the axles,
    /// axles that are not on the press when it is in, or not off it when it is out.
    pub fn checked(self) -> Result<Self> {
        named("name", &self.name)?;
        self.part()?;
        for die in &self.carries {
            die.part().map_err(|e| e.within(&format!("carries[{:?}]", die.name)))?;
        }
        positive("travel", self.travel, "m")?;
        positive("wheel_base", self.wheel_base, "m")?;
        let d = &self.direction;
        if !((d.norm() - 1.0).abs() <= 1e-9 && d.z == 0.0) {
            return Err(Error::invalid(
                "direction",
                format!("({}, {}, {})", d.x, d.y, d.z),
                "must be a horizontal unit vector: a bolster rolls on level rails",
                "use \"x\", \"-x\", \"y\" or \"-y\"",
            ));
        }
        if self.rails.is_empty() {
            return Err(Error::invalid(
                "rails",
                "[]",
                "at least one point where the rails of the press end",
                "give the ends of its rails",
            ));
        }
        for rail in &self.rails {
            each(finite, "rails", rail, "m")?;
        }
        let [leading, trailing] = self.shares();
        if leading < 0.0 || trailing < 0.0 {
            return Err(Error::invalid(
                "wheel_base",
                format!("{} m", self.wheel_base),
                format!(
                    "the center of the load lies {:.3} m from the middle, beyond the axles: it tips",
                    self.lead().abs()
                ),
                "check the wheel base, and where the dies stand",
            ));
        }
        let (half, end) = (0.5 * self.wheel_base, self.rail_end());
        if half > end {
            return Err(Error::invalid(
                "rails",
                format!("end {end} m from the middle of the bolster"),
                format!("its leading axle ({half} m) is off the press when it is in"),
                "check direction, wheel_base and rails",
            ));
        }
        if self.travel - half <= end {
            return Err(Error::invalid(
                "travel",
                format!("{} m", self.travel),
                format!(
                    "its trailing axle is still on the press at the end; more than {} m is needed",
                    end + half
                ),
                "check travel, wheel_base and rails",
            ));
        }
        Ok(self)
    }

    /// Mass of the bolster with what it carries, kg.
    pub fn load(&self) -> f64 {
        self.mass + self.carries.iter().map(|d| d.mass).sum::<f64>()
    }

    /// Distance along the direction from the middle of the bolster, when it is in, to the end of
    /// the press's rails, m.
    pub fn rail_end(&self) -> f64 {
        (self.rail_middle() - self.center).dot(&self.direction)
    }

    fn rail_middle(&self) -> Vector3<f64> {
        self.rails.iter().sum::<Vector3<f64>>() / self.rails.len() as f64
    }

    fn part(&self) -> Result<Part> {
        match self.size {
            Some(size) => {
                Cuboid::new(self.mass, size, self.center, Matrix3::identity()).map(Part::Box)
            }
            None => PointMass::new(self.mass, self.center).map(Part::Point),
        }
    }

    /// The bolster and its dies where they are when it is in.
    fn parts(&self) -> Result<Vec<Part>> {
        std::iter::once(self.part()).chain(self.carries.iter().map(Die::part)).collect()
    }

    fn load_center(&self) -> Vector3<f64> {
        let dies = self.carries.iter().map(|d| d.center * d.mass).sum::<Vector3<f64>>();
        (self.center * self.mass + dies) / self.load()
    }

    /// How far the center of the load lies ahead of the middle of the axles, m.
    fn lead(&self) -> f64 {
        (self.load_center() - self.center).dot(&self.direction)
    }

    /// Parts of the load on the leading and on the trailing axle.
    fn shares(&self) -> [f64; 2] {
        let ahead = self.lead() / self.wheel_base;
        [0.5 + ahead, 0.5 - ahead]
    }

    /// Places worth a load case, by name, with the distance rolled, m: the leading axle at the end of
    /// the rails, half way, the trailing axle there, out. Between them the moment of the load changes
    /// in proportion to the distance, so that its greatest value is at one of them.
    pub fn places(&self) -> Vec<(String, f64)> {
        let (half, end) = (0.5 * self.wheel_base, self.rail_end());
        let mut places = vec![(self.half_way(), 0.5 * self.travel)];
        for (what, place) in
            [("at the end of the rails", end - half), ("on its last axle", end + half)]
        {
            // The same place twice would only say it twice.
            let known = places.iter().any(|(_, p)| (p - place).abs() <= 1e-6 * self.travel);
            if !known && place > 0.0 {
                places.push((format!("{} {what}", self.name), place));
            }
        }
        places.push((self.out(), self.travel));
        places
    }

    /// Name of the place half way, where the rails' tilt is judged.
    pub fn half_way(&self) -> String {
        format!("{} half way", self.name)
    }

    /// Name of the place outside, where the rails' step is judged.
    pub fn out(&self) -> String {
        format!("{} out", self.name)
    }

    /// The machine, which contains the bolster and what it carries, once these have rolled a
    /// distance, m.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a distance beyond the travel, or a machine that does not contain them.
    pub fn rolled(&self, body: &RigidBody, distance: f64) -> Result<RigidBody> {
        finite("distance", distance, "m")?;
        if !(0.0..=self.travel).contains(&distance) {
            return Err(Error::invalid(
                "distance",
                format!("{distance} m"),
                format!("must be between 0 and the travel, {} m", self.travel),
                "check it against the travel",
            ));
        }
        let parts = self.parts()?;
        let bare = body.without_parts(&parts)?;
        let left = self.axles_left(distance);
        if left.len() == 2 {
            return bare.with_parts(&moved(&parts, &(self.direction * distance))?);
        }
        let masses = left.into_iter().filter(|(mass, _)| *mass > NOTHING * self.load());
        let masses = masses.map(|(mass, at)| PointMass::new(mass, at).map(Part::Point));
        let masses = masses.collect::<Result<Vec<_>>>()?;
        if masses.is_empty() { Ok(bare) } else { bare.with_parts(&masses) }
    }

    /// Mass (kg) and place (m) of each axle that still stands on the press.
    fn axles_left(&self, distance: f64) -> Vec<(f64, Vector3<f64>)> {
        let d = &self.direction;
        let middle = self.load_center() - d * self.lead();
        let half = 0.5 * self.wheel_base;
        let end = self.rail_end();
        let slack = NOTHING * self.travel;
        [distance + half, distance - half]
            .into_iter()
            .zip(self.shares())
            .filter(|(along, _)| *along <= end + slack)
            .map(|(along, share)| {
                let at = middle + d * along;
                (share * self.load(), Vector3::new(at.x, at.y, self.rail_middle().z))
            })
            .collect()
    }
}

fn moved(parts: &[Part], by: &Vector3<f64>) -> Result<Vec<Part>> {
    parts
        .iter()
        .map(|part| {
            let body = match part.clone() {
                Part::Box(p) => Part::Box(Cuboid { center: p.center + by, ..p }),
                Part::Point(p) => Part::Point(PointMass { center: p.center + by, ..p }),
                other => {
                    Part::Body(RigidBody::new(other.mass(), other.center() + by, other.inertia())?)
                }
            };
            Ok(body)
        })
        .collect()
}
