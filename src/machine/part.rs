//! What is the machine made of? Simple solids whose inertia is known in closed form.
//!
//! - Box of sides a, b, c:  J_x = m (b^2 + c^2) / 12, and cyclic.
//! - Solid cylinder of diameter d and length l about its own z axis:
//!   J_z = m d^2 / 8,  J_x = J_y = m (3 d^2/4 + l^2) / 12.
//! - Point mass: no inertia of its own.
//!
//! Each is placed by its center and turned by its axes (columns: the part's x, y, z in the axes
//! of the floor). Source: textbook (from memory).

use nalgebra::{Matrix3, Vector3};
use serde::{Deserialize, Serialize};

use super::body::{RigidBody, check_axes, parallel_axes};
use crate::error::{Result, each, finite, positive};

/// A homogeneous box.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cuboid {
    /// Mass, kg.
    pub mass: f64,
    /// Sides along the part's x, y, z, m.
    pub size: [f64; 3],
    /// Center, m.
    pub center: Vector3<f64>,
    /// Part axes as columns.
    pub axes: Matrix3<f64>,
}

impl Cuboid {
    /// Box of mass (kg), sides (m), center (m) and axes.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a mass or side that is not positive, or axes that are not
    /// orthonormal and right-handed.
    pub fn new(
        mass: f64,
        size: [f64; 3],
        center: Vector3<f64>,
        axes: Matrix3<f64>,
    ) -> Result<Self> {
        positive("mass", mass, "kg")?;
        each(positive, "size", &size, "m")?;
        check_place(&center, &axes)?;
        Ok(Self { mass, size, center, axes })
    }

    fn moments(&self) -> Vector3<f64> {
        let [a, b, c] = self.size;
        Vector3::new(b * b + c * c, c * c + a * a, a * a + b * b) * (self.mass / 12.0)
    }
}

/// A homogeneous solid cylinder about its own z axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cylinder {
    /// Mass, kg.
    pub mass: f64,
    /// Diameter, m.
    pub diameter: f64,
    /// Length along the part's z, m.
    pub length: f64,
    /// Center, m.
    pub center: Vector3<f64>,
    /// Part axes as columns.
    pub axes: Matrix3<f64>,
}

impl Cylinder {
    /// Cylinder of mass (kg), diameter (m), length (m), center (m) and axes.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a mass, diameter or length that is not positive, or axes that
    /// are not orthonormal and right-handed.
    pub fn new(
        mass: f64,
        diameter: f64,
        length: f64,
        center: Vector3<f64>,
        axes: Matrix3<f64>,
    ) -> Result<Self> {
        positive("mass", mass, "kg")?;
        positive("diameter", diameter, "m")?;
        positive("length", length, "m")?;
        check_place(&center, &axes)?;
        Ok(Self { mass, diameter, length, center, axes })
    }

    fn moments(&self) -> Vector3<f64> {
        let d2 = self.diameter * self.diameter;
        let across = (0.75 * d2 + self.length * self.length) / 12.0;
        Vector3::new(across, across, d2 / 8.0) * self.mass
    }
}

/// A mass at a point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PointMass {
    /// Mass, kg.
    pub mass: f64,
    /// Where it is, m.
    pub center: Vector3<f64>,
}

impl PointMass {
    /// Mass (kg) at a point (m).
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a mass that is not positive or a point that is not finite.
    pub fn new(mass: f64, center: Vector3<f64>) -> Result<Self> {
        positive("mass", mass, "kg")?;
        check_place(&center, &Matrix3::identity())?;
        Ok(Self { mass, center })
    }
}

/// One part of a body.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Part {
    /// Homogeneous box.
    Box(Cuboid),
    /// Homogeneous solid cylinder.
    Cylinder(Cylinder),
    /// Mass at a point.
    Point(PointMass),
    /// Another body.
    Body(RigidBody),
}

impl Part {
    /// Mass, kg.
    pub fn mass(&self) -> f64 {
        match self {
            Self::Box(part) => part.mass,
            Self::Cylinder(part) => part.mass,
            Self::Point(part) => part.mass,
            Self::Body(body) => body.mass(),
        }
    }

    /// Center of mass, m.
    pub fn center(&self) -> Vector3<f64> {
        match self {
            Self::Box(part) => part.center,
            Self::Cylinder(part) => part.center,
            Self::Point(part) => part.center,
            Self::Body(body) => *body.center(),
        }
    }

    /// Inertia about the part's own center in the axes of the floor, kg m^2.
    pub fn inertia(&self) -> Matrix3<f64> {
        let turned = |moments: Vector3<f64>, axes: &Matrix3<f64>| {
            axes * Matrix3::from_diagonal(&moments) * axes.transpose()
        };
        match self {
            Self::Box(part) => turned(part.moments(), &part.axes),
            Self::Cylinder(part) => turned(part.moments(), &part.axes),
            Self::Point(_) => Matrix3::zeros(),
            Self::Body(body) => *body.inertia(),
        }
    }

    /// Inertia about a point, kg m^2.
    pub fn inertia_about(&self, point: &Vector3<f64>) -> Matrix3<f64> {
        self.inertia() + parallel_axes(self.mass(), &(self.center() - point))
    }
}

fn check_place(center: &Vector3<f64>, axes: &Matrix3<f64>) -> Result<()> {
    each(finite, "center", center, "m")?;
    check_axes("axes", axes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn two_half_boxes_make_the_whole_box() {
        let half = |x: f64| {
            let at = Vector3::new(x, 0.2, 0.3);
            Part::Box(Cuboid::new(5.0, [1.0, 0.6, 0.8], at, Matrix3::identity()).unwrap())
        };
        let whole =
            Cuboid::new(10.0, [2.0, 0.6, 0.8], Vector3::new(0.0, 0.2, 0.3), Matrix3::identity());
        let whole = RigidBody::from_parts(&[Part::Box(whole.unwrap())]).unwrap();
        let joined = RigidBody::from_parts(&[half(-0.5), half(0.5)]).unwrap();
        assert_relative_eq!(*joined.center(), *whole.center(), epsilon = 1e-15);
        assert_relative_eq!(*joined.inertia(), *whole.inertia(), epsilon = 1e-14);
    }

    #[test]
    fn two_half_cylinders_make_the_whole_cylinder() {
        let axes = super::super::body::turned(0.4, 0.2, -0.3);
        let cylinder = |mass: f64, length: f64, along: f64| {
            let at = axes * Vector3::new(0.0, 0.0, along);
            Part::Cylinder(Cylinder::new(mass, 0.7, length, at, axes).unwrap())
        };
        let whole = RigidBody::from_parts(&[cylinder(8.0, 2.0, 0.0)]).unwrap();
        let joined =
            RigidBody::from_parts(&[cylinder(4.0, 1.0, -0.5), cylinder(4.0, 1.0, 0.5)]).unwrap();
        assert_relative_eq!(*joined.inertia(), *whole.inertia(), epsilon = 1e-14);
    }

    #[test]
    fn point_masses_on_a_line_are_no_rigid_body() {
        let at = |x: f64| Part::Point(PointMass::new(1.0, Vector3::new(x, 0.0, 0.0)).unwrap());
        assert!(RigidBody::from_parts(&[at(-1.0), at(1.0)]).is_err());
    }
}
