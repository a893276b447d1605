//! How much of the floor's motion reaches a point of the machine, steady, at each frequency?
//!
//! The floor moves as a whole by U e^{j omega t} (three shifts and three turns about the point).
//! Mounts pull the machine along: Z X = sum over mounts of B D G' U, G being the wrench on the ground
//! of unit port forces. So X = [G D B' Z^-1]' U: the transmissibility of displacement of a floor is the
//! transpose of that of forces (reciprocity, for symmetric Z), here as the motion of any point.
//!
//! The part D of elements that hold the machine elsewhere than at the ground is in Z alone.
//!
//! Source: textbook; reciprocity e.g. Lord Rayleigh, The Theory of Sound, 2nd ed. 1894, section 107
//! (from memory).

use nalgebra::Vector3;
use ndarray::Array3;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::transmissibility;
use crate::error::Result;
use crate::system::Linear;

/// Motion of a point by unit motion of the floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BaseTransmissibility {
    /// Frequencies, Hz.
    pub frequency: Vec<f64>,
    /// (frequency, 6, 6): motion of the point (x y z rx ry rz) by motion of the floor (the same, turns
    /// about the point), m and rad.
    pub matrix: Array3<Complex64>,
    /// |motion along z| by unit motion of the floor along z.
    pub vertical: Vec<f64>,
}

/// Motion of a point (m) by that of the floor; `None`: of the center of mass.
///
/// # Errors
/// Those of [`fn@transmissibility`].
pub fn base_transmissibility(
    linear: &Linear,
    frequency: &[f64],
    point: Option<Vector3<f64>>,
) -> Result<BaseTransmissibility> {
    let forces = transmissibility(linear, frequency, point)?.matrix;
    let mut matrix = Array3::zeros(forces.raw_dim());
    for ((f, i, j), value) in forces.indexed_iter() {
        matrix[[f, j, i]] = *value;
    }
    let vertical = (0..frequency.len()).map(|f| matrix[[f, 2, 2]].norm()).collect();
    Ok(BaseTransmissibility { frequency: frequency.to_vec(), matrix, vertical })
}
