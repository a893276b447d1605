//! How heavy is the machine, where is its center of mass, and how does it resist turning?
//!
//! A rigid body is its mass m, its center of mass r and its inertia tensor J about the center of
//! mass. Off-diagonal terms of J are MINUS the products of inertia: J_xy = -∫ x y dm.
//!
//! - About another point P, with d = r - P:  J_P = J + m (d'd I - d d')   (parallel axes).
//! - In axes turned by R (columns are the new axes in the old ones):  J' = R' J R.
//! - A real body has J positive definite, and no principal moment exceeds the sum of the other
//!   two (the triangle inequality; equality is a flat plate).
//!
//! Source: textbook, e.g. H. Goldstein, Classical Mechanics, chapter 5 (from memory).

use nalgebra::{Matrix3, Vector3};
use serde::{Deserialize, Serialize};

use super::part::Part;
use crate::error::{Error, Result, each, finite, positive};

/// Relative slack for symmetry and the triangle inequality: above the rounding of tables that
/// print ten digits, far below any real machine's uncertainty.
const SLACK: f64 = 1e-9;

/// A rigid body: mass (kg), center of mass (m), inertia about the center of mass (kg m^2).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RigidBody {
    mass: f64,
    center: Vector3<f64>,
    inertia: Matrix3<f64>,
}

impl RigidBody {
    /// Body of mass (kg), center of mass (m) and inertia tensor about it (kg m^2; off-diagonals
    /// are minus the products of inertia).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a mass that is not positive, a tensor that is not symmetric, not
    /// positive definite, or breaks the triangle inequality, and anything not finite.
    pub fn new(mass: f64, center: Vector3<f64>, inertia: Matrix3<f64>) -> Result<Self> {
        positive("mass", mass, "kg")?;
        each(finite, "center", &center, "m")?;
        for (i, row) in inertia.row_iter().enumerate() {
            if row.iter().any(|x| !x.is_finite()) {
                each(finite, &format!("inertia[{i}]"), row.iter(), "kg m^2")?;
            }
        }
        let inertia = symmetric(inertia)?;
        check_physical(&inertia)?;
        Ok(Self { mass, center, inertia })
    }

    /// The body made of these parts, joined rigidly.
    ///
    /// # Errors
    /// As [`Self::new`]; point masses alone may leave a moment of inertia zero.
    pub fn from_parts(parts: &[Part]) -> Result<Self> {
        if parts.is_empty() {
            return Err(Error::invalid(
                "parts",
                "[]",
                "at least one part is required",
                "give a box, a cylinder, a point mass or another body",
            ));
        }
        let mass: f64 = parts.iter().map(Part::mass).sum();
        let center = parts.iter().map(|p| p.center() * p.mass()).sum::<Vector3<f64>>() / mass;
        let inertia = parts.iter().map(|p| p.inertia_about(&center)).sum::<Matrix3<f64>>();
        Self::new(mass, center, inertia)
    }

    /// This body with parts added (a die, a bolster with its load).
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn with_parts(&self, parts: &[Part]) -> Result<Self> {
        let mut all = vec![Part::Body(self.clone())];
        all.extend_from_slice(parts);
        Self::from_parts(&all)
    }

    /// This body with parts taken away (the die out, the bolster rolled out).
    ///
    /// # Errors
    /// [`Error::Invalid`] if the parts are heavier than the body or leave an inertia that no real
    /// body has.
    pub fn without_parts(&self, parts: &[Part]) -> Result<Self> {
        let removed: f64 = parts.iter().map(Part::mass).sum();
        let mass = self.mass - removed;
        if mass <= 0.0 {
            return Err(Error::invalid(
                "parts",
                format!("{removed} kg"),
                format!("must weigh less than the body ({} kg)", self.mass),
                "remove only what the body contains",
            ));
        }
        let moment: Vector3<f64> = parts.iter().map(|p| p.center() * p.mass()).sum();
        let center = (self.center * self.mass - moment) / mass;
        let gone: Matrix3<f64> = parts.iter().map(|p| p.inertia_about(&center)).sum();
        Self::new(mass, center, self.inertia_about(&center) - gone).map_err(|error| match error {
            Error::Invalid { argument, value, requirement, .. } => Error::Invalid {
                argument: format!("body without the parts: {argument}"),
                value,
                requirement,
                remedy: "check that the body contains the parts where they are placed".into(),
            },
            other => other,
        })
    }

    /// Mass, kg.
    pub fn mass(&self) -> f64 {
        self.mass
    }

    /// Center of mass, m.
    pub fn center(&self) -> &Vector3<f64> {
        &self.center
    }

    /// Inertia tensor about the center of mass, kg m^2.
    pub fn inertia(&self) -> &Matrix3<f64> {
        &self.inertia
    }

    /// Inertia tensor about another point, kg m^2 (parallel axes).
    pub fn inertia_about(&self, point: &Vector3<f64>) -> Matrix3<f64> {
        self.inertia + parallel_axes(self.mass, &(self.center - point))
    }

    /// Principal moments of inertia (kg m^2) and axes (columns), each axis the one nearest to x, y
    /// or z, so that a body with planes of symmetry keeps the axes of the floor.
    pub fn principal(&self) -> (Vector3<f64>, Matrix3<f64>) {
        principal_axes(&self.inertia)
    }

    /// The same body described in another frame: the new origin (m) and the new axes (columns) are
    /// given in the present frame.
    ///
    /// # Errors
    /// [`Error::Invalid`] if the axes are not orthonormal and right-handed.
    pub fn in_frame(&self, origin: &Vector3<f64>, axes: &Matrix3<f64>) -> Result<Self> {
        check_axes("axes", axes)?;
        let r = axes.transpose();
        Self::new(self.mass, r * (self.center - origin), r * self.inertia * axes)
    }

    /// The same body turned about the origin and then moved: `axes` are where its x, y, z axes
    /// point to, `offset` (m) where its origin goes.
    ///
    /// # Errors
    /// [`Error::Invalid`] if the axes are not orthonormal and right-handed.
    pub fn placed(&self, offset: &Vector3<f64>, axes: &Matrix3<f64>) -> Result<Self> {
        check_axes("axes", axes)?;
        Self::new(self.mass, offset + axes * self.center, axes * self.inertia * axes.transpose())
    }
}

/// m (d'd I - d d').
pub fn parallel_axes(mass: f64, d: &Vector3<f64>) -> Matrix3<f64> {
    (Matrix3::identity() * d.norm_squared() - d * d.transpose()) * mass
}

/// Rotation by angles about x, then y, then z of the floor: R = R_z R_y R_x, rad.
pub fn turned(about_x: f64, about_y: f64, about_z: f64) -> Matrix3<f64> {
    let (sx, cx) = about_x.sin_cos();
    let (sy, cy) = about_y.sin_cos();
    let (sz, cz) = about_z.sin_cos();
    let rx = Matrix3::new(1.0, 0.0, 0.0, 0.0, cx, -sx, 0.0, sx, cx);
    let ry = Matrix3::new(cy, 0.0, sy, 0.0, 1.0, 0.0, -sy, 0.0, cy);
    let rz = Matrix3::new(cz, -sz, 0.0, sz, cz, 0.0, 0.0, 0.0, 1.0);
    rz * ry * rx
}

/// Columns must be orthonormal and right-handed (to 1e-9).
pub fn check_axes(argument: &str, axes: &Matrix3<f64>) -> Result<()> {
    for x in axes {
        finite(argument, *x, "")?;
    }
    let error = (axes.transpose() * axes - Matrix3::identity()).amax();
    if error > SLACK {
        return Err(Error::invalid(
            argument,
            rows(axes),
            format!("columns must be orthogonal unit vectors (off by {error:.1e})"),
            "normalize the axes, or give turn angles",
        ));
    }
    if axes.determinant() < 0.0 {
        return Err(Error::invalid(
            argument,
            rows(axes),
            "must be right-handed (determinant +1)",
            "reverse one axis",
        ));
    }
    Ok(())
}

/// Principal moments and axes by Jacobi rotations, which start from the given axes and turn each
/// pair by 45 degrees at most: the axes come out near x, y, z and a diagonal tensor keeps them.
pub fn principal_axes(tensor: &Matrix3<f64>) -> (Vector3<f64>, Matrix3<f64>) {
    let mut a = *tensor;
    let mut v = Matrix3::identity();
    for _ in 0..30 {
        let off = a[(0, 1)].abs() + a[(0, 2)].abs() + a[(1, 2)].abs();
        if off <= f64::EPSILON * 1e-3 * a.trace().abs() {
            break;
        }
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            if a[(p, q)] == 0.0 {
                continue;
            }
            let theta = (a[(q, q)] - a[(p, p)]) / (2.0 * a[(p, q)]);
            let t = theta.signum() / (theta.abs() + theta.hypot(1.0));
            let c = 1.0 / t.hypot(1.0);
            let mut turn = Matrix3::identity();
            turn[(p, p)] = c;
            turn[(q, q)] = c;
            turn[(p, q)] = t * c;
            turn[(q, p)] = -t * c;
            a = turn.transpose() * a * turn;
            a[(p, q)] = 0.0;
            a[(q, p)] = 0.0;
            v *= turn;
        }
    }
    (a.diagonal(), v)
}

fn symmetric(j: Matrix3<f64>) -> Result<Matrix3<f64>> {
    let asymmetry = (j - j.transpose()).amax();
    if asymmetry > SLACK * j.amax() {
        return Err(Error::invalid(
            "inertia",
            format!("{} kg m^2", rows(&j)),
            format!("must be symmetric (off by {asymmetry:.3e} kg m^2)"),
            "give J_xy = J_yx = minus the product of inertia",
        ));
    }
    Ok((j + j.transpose()) * 0.5)
}

fn check_physical(j: &Matrix3<f64>) -> Result<()> {
    let (moments, _) = principal_axes(j);
    let mut sorted = [moments[0], moments[1], moments[2]];
    sorted.sort_by(f64::total_cmp);
    let [a, b, c] = sorted;
    let shown = format!("{} kg m^2 (principal moments {a:.6}, {b:.6}, {c:.6})", rows(j));
    if a <= 0.0 || a <= f64::EPSILON * c {
        return Err(Error::invalid(
            "inertia",
            shown,
            "must be positive definite: a body resists turning about every axis",
            "check the signs of the off-diagonals (minus the products of inertia)",
        ));
    }
    if c > (a + b) * (1.0 + SLACK) {
        return Err(Error::invalid(
            "inertia",
            shown,
            "no principal moment may exceed the sum of the other two (triangle inequality)",
            "check units and the point of reference: the tensor is about the center of mass",
        ));
    }
    Ok(())
}

fn rows(m: &Matrix3<f64>) -> String {
    let row = |i: usize| format!("[{}, {}, {}]", m[(i, 0)], m[(i, 1)], m[(i, 2)]);
    format!("[{}, {}, {}]", row(0), row(1), row(2))
}

#[cfg(test)]
mod tests {
    use super::super::part::PointMass;
    use super::*;
    use approx::assert_relative_eq;

    fn cube() -> RigidBody {
        RigidBody::new(12.0, Vector3::new(1.0, 2.0, 3.0), Matrix3::from_diagonal_element(2.0))
            .unwrap()
    }

    #[test]
    fn parallel_axes_out_and_back_change_nothing() {
        let body = cube();
        let about_origin = body.inertia_about(&Vector3::zeros());
        let d = body.center();
        assert_relative_eq!(
            about_origin - parallel_axes(12.0, d),
            *body.inertia(),
            epsilon = 1e-12
        );
        assert_relative_eq!(about_origin[(0, 1)], -12.0 * 1.0 * 2.0);
    }

    #[test]
    fn removing_what_was_added_gives_the_body_back() {
        let die = Part::Point(PointMass::new(3.0, Vector3::new(0.2, -0.1, 1.0)).unwrap());
        let body = cube().with_parts(std::slice::from_ref(&die)).unwrap();
        let back = body.without_parts(&[die]).unwrap();
        assert_relative_eq!(back.mass(), 12.0);
        assert_relative_eq!(*back.center(), *cube().center(), epsilon = 1e-13);
        assert_relative_eq!(*back.inertia(), *cube().inertia(), epsilon = 1e-12);
    }

    #[test]
    fn a_tensor_that_breaks_the_triangle_inequality_is_refused() {
        let inertia = Matrix3::from_diagonal(&Vector3::new(1.0, 1.0, 3.0));
        let error = RigidBody::new(1.0, Vector3::zeros(), inertia).unwrap_err();
        assert!(error.to_string().contains("triangle inequality"), "{error}");
    }

    #[test]
    fn products_of_inertia_too_large_for_the_moments_are_refused() {
        let inertia = Matrix3::new(1.0, -1.2, 0.0, -1.2, 1.0, 0.0, 0.0, 0.0, 1.5);
        let error = RigidBody::new(1.0, Vector3::zeros(), inertia).unwrap_err();
        assert!(error.to_string().contains("positive definite"), "{error}");
    }

    #[test]
    fn a_diagonal_tensor_keeps_its_axes() {
        let j = Matrix3::from_diagonal(&Vector3::new(5.0, 3.0, 4.0));
        let (moments, axes) = principal_axes(&j);
        assert_eq!(axes, Matrix3::identity());
        assert_eq!(moments, Vector3::new(5.0, 3.0, 4.0));
    }

    #[test]
    fn placing_and_reading_in_the_placed_frame_are_inverse() {
        let axes = turned(0.3, -0.7, 1.1);
        let offset = Vector3::new(0.5, -2.0, 0.25);
        let back = cube().placed(&offset, &axes).unwrap().in_frame(&offset, &axes).unwrap();
        assert_relative_eq!(*back.center(), *cube().center(), epsilon = 1e-14);
        assert_relative_eq!(*back.inertia(), *cube().inertia(), epsilon = 1e-14);
    }

    #[test]
    fn left_handed_and_skewed_axes_are_refused() {
        let mirror = Matrix3::from_diagonal(&Vector3::new(1.0, 1.0, -1.0));
        assert!(check_axes("axes", &mirror).unwrap_err().to_string().contains("right-handed"));
        let skew = Matrix3::new(1.0, 0.1, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0);
        assert!(check_axes("axes", &skew).unwrap_err().to_string().contains("orthogonal"));
    }
}
