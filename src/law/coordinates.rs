//! A law for each port coordinate by itself, some of which depend on frequency.
//!
//! D_i(omega) = k_i (1 + j eta_i) + j omega c_i + d_i(omega)
//!
//! with d_i a [`Dynamic`] law or nothing. Coordinates are uncoupled, as along the principal axes of
//! a mount.

use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

use super::{Constant, Dynamic};

/// One law for each port coordinate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PerCoordinate {
    /// The part that does not depend on frequency; its static stiffness is that of the whole law.
    pub constant: Constant,
    /// The part that does, by coordinate.
    pub dynamic: Vec<Option<Dynamic>>,
}

impl PerCoordinate {
    /// r x 1 port and law of each part that depends on frequency.
    pub fn terms(&self) -> Vec<(DMatrix<f64>, Dynamic)> {
        let rank = self.dynamic.len();
        let unit = |i: usize| DMatrix::from_fn(rank, 1, |row, _| f64::from(u8::from(row == i)));
        let one = |(i, law): (usize, &Option<Dynamic>)| law.clone().map(|law| (unit(i), law));
        self.dynamic.iter().enumerate().filter_map(one).collect()
    }
}
