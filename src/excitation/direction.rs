//! Which way does it act? Directions are axes by name or unit vectors, never normalized in silence.

use nalgebra::Vector3;

use crate::error::{Error, Result};

/// Unit vector of "x", "y", "z", "-x", "-y" or "-z".
///
/// # Errors
/// [`Error::Unknown`] for any other text.
pub fn direction(argument: &str, name: &str) -> Result<Vector3<f64>> {
    let (sign, axis) = name.strip_prefix('-').map_or((1.0, name), |rest| (-1.0, rest));
    let unit = match axis {
        "x" => Vector3::x(),
        "y" => Vector3::y(),
        "z" => Vector3::z(),
        _ => {
            return Err(Error::Unknown {
                argument: argument.into(),
                value: name.into(),
                allowed: "use x, y, z, -x, -y, -z or a unit vector".into(),
            });
        }
    };
    Ok(unit * sign)
}

/// The vector itself if its length is 1 (to 1e-9); it is never normalized in silence.
///
/// # Errors
/// [`Error::Invalid`] with the unit vector that may be meant.
pub fn unit_vector(argument: &str, vector: Vector3<f64>) -> Result<Vector3<f64>> {
    let length = vector.norm();
    if (length - 1.0).abs() <= 1e-9 {
        return Ok(vector);
    }
    let remedy = if length.is_finite() && length > 0.0 {
        let unit = vector / length;
        format!("divide by its length: ({}, {}, {})", unit.x, unit.y, unit.z)
    } else {
        "use x, y, z or a unit vector".to_owned()
    };
    Err(Error::invalid(
        argument,
        format!("({}, {}, {})", vector.x, vector.y, vector.z),
        format!("must have length 1 (it has {length})"),
        remedy,
    ))
}
