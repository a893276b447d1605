//! Which dies run in the machine, and how does each change its weight and center of mass?
//!
//! A die is a box (or, where its size is not known, a point) of mass m at its center; a machine
//! with it is the rigid sum of both. An off-center die is the same die at another center.
//!
//! Lasting weights only: the upper half rides on the slide, which changes no static mount load as
//! long as the slide is centered. Source: textbook (parallel axes, see `body`).

use nalgebra::{Matrix3, Vector3};
use serde::{Deserialize, Serialize};

use super::body::RigidBody;
use super::part::{Cuboid, Part, PointMass};
use crate::error::{Error, Result, each, finite};

/// A die or a set of tools that is changed as one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Die {
    /// Name ("progressive die").
    pub name: String,
    /// Mass, kg.
    pub mass: f64,
    /// Center of mass where it runs, m.
    pub center: Vector3<f64>,
    /// Sides along x, y, z, m; `None`: a point, its own inertia left out.
    pub size: Option<[f64; 3]>,
    /// How far off this center it may stand, m; `None`: it stands there.
    pub off_center: Option<Vector3<f64>>,
}

impl Die {
    /// Die of a mass (kg) at its center (m), with its sides (m) if they are known.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a blank name, a mass or side that is not positive, a center that is
    /// not finite.
    pub fn new(
        name: &str,
        mass: f64,
        center: Vector3<f64>,
        size: Option<[f64; 3]>,
    ) -> Result<Self> {
        named("name", name)?;
        let die = Self { name: name.into(), mass, center, size, off_center: None };
        die.part().map(|_| die)
    }

    /// The same die that may also stand `offset` (m) off its center.
    ///
    /// # Errors
    /// [`Error::Invalid`] for an offset that is not finite.
    pub fn with_off_center(self, offset: Vector3<f64>) -> Result<Self> {
        each(finite, "off_center", &offset, "m")?;
        Ok(Self { off_center: Some(offset), ..self })
    }

    /// The same die moved by `offset`, m.
    #[must_use]
    pub fn moved(&self, offset: &Vector3<f64>) -> Self {
        Self { center: self.center + offset, ..self.clone() }
    }

    /// The die as a part of the machine.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn part(&self) -> Result<Part> {
        match self.size {
            Some(size) => {
                Cuboid::new(self.mass, size, self.center, Matrix3::identity()).map(Part::Box)
            }
            None => PointMass::new(self.mass, self.center).map(Part::Point),
        }
    }
}

/// Dies of which one is in at a time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DieSet {
    /// The dies, each under its own name.
    pub dies: Vec<Die>,
    /// Name of the die that the machine as it runs holds already; `None`: it holds none.
    pub mounted: Option<String>,
}

impl DieSet {
    /// Name of the machine without its die.
    pub const WITHOUT: &'static str = "without die";

    /// Dies of a machine that holds the one called `mounted` already, or none.
    ///
    /// # Errors
    /// [`Error::Invalid`] if two dies share a name, [`Error::Unknown`] if `mounted` is none of them.
    pub fn new(dies: Vec<Die>, mounted: Option<&str>) -> Result<Self> {
        for (i, die) in dies.iter().enumerate() {
            if dies[..i].iter().any(|other| other.name == die.name) {
                return Err(Error::invalid(
                    format!("dies[{i}].name"),
                    format!("{:?}", die.name),
                    "is also the name of another die; names must differ",
                    "rename one of them",
                ));
            }
        }
        let set = Self { dies, mounted: mounted.map(str::to_owned) };
        set.mounted()?;
        Ok(set)
    }

    /// The die of that name.
    ///
    /// # Errors
    /// [`Error::Unknown`] with the names there are.
    pub fn die(&self, name: &str) -> Result<&Die> {
        let named = self.dies.iter().map(|d| (d.name.as_str(), d));
        crate::error::by_name("die", name, named, ["dies are", "there are no dies"])
    }

    /// The heaviest die; of equals the first.
    pub fn heaviest(&self) -> Option<&Die> {
        self.dies.iter().rev().max_by(|a, b| a.mass.total_cmp(&b.mass))
    }

    /// The lightest die; of equals the first.
    pub fn lightest(&self) -> Option<&Die> {
        self.dies.iter().min_by(|a, b| a.mass.total_cmp(&b.mass))
    }

    fn mounted(&self) -> Result<Option<&Die>> {
        self.mounted.as_deref().map(|name| self.die(name)).transpose()
    }

    /// The machine without any die.
    ///
    /// # Errors
    /// Those of [`RigidBody::without_parts`]: the machine must contain the die it is said to hold.
    pub fn without_die(&self, body: &RigidBody) -> Result<RigidBody> {
        match self.mounted()? {
            Some(die) => body.without_parts(&[die.part()?]),
            None => Ok(body.clone()),
        }
    }

    /// The machine with the die of that name in place of any other.
    ///
    /// # Errors
    /// As [`Self::die`] and [`Self::without_die`].
    pub fn with_die(&self, body: &RigidBody, name: &str) -> Result<RigidBody> {
        if self.mounted.as_deref() == Some(name) {
            return Ok(body.clone());
        }
        self.without_die(body)?.with_parts(&[self.die(name)?.part()?])
    }

    /// Name and machine of each variant: without die, with each die, with each die off center. The
    /// machine as it runs is not repeated.
    ///
    /// # Errors
    /// As [`Self::without_die`].
    pub fn variants(&self, body: &RigidBody) -> Result<Vec<(String, RigidBody)>> {
        let bare = self.without_die(body)?;
        let mut all = Vec::new();
        if self.mounted.is_some() {
            all.push((Self::WITHOUT.to_owned(), bare.clone()));
        }
        for die in &self.dies {
            if self.mounted.as_deref() != Some(die.name.as_str()) {
                all.push((die.name.clone(), bare.with_parts(&[die.part()?])?));
            }
            if let Some(offset) = &die.off_center {
                let body = bare.with_parts(&[die.moved(offset).part()?])?;
                all.push((format!("{} off center", die.name), body));
            }
        }
        Ok(all)
    }
}

/// A name that is not blank.
pub(crate) fn named(argument: &str, name: &str) -> Result<()> {
    if name.trim().is_empty() {
        return Err(Error::invalid(argument, format!("{name:?}"), "is blank", "give it a name"));
    }
    Ok(())
}
