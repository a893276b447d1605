//! A spring with a dashpot and a loss factor, none of which depends on frequency.
//!
//! D_i(omega) = k_i (1 + j eta_i) + j omega c_i on each port coordinate i.
//!
//! Assumptions: small motion about a working point; the loss factor is exact for a harmonic
//! motion and has no causal counterpart in time as it stands (the transient analysis states the
//! one it uses). Source: textbook, e.g. S. S. Rao, Mechanical Vibrations, 5th ed. 2011, sections
//! 2.6 and 2.8 (from memory).

use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

/// Constant law; vectors have one entry per port coordinate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Constant {
    /// Dynamic stiffness k, N/m or N m/rad.
    pub stiffness: Vec<f64>,
    /// Stiffness under a load that stays, N/m or N m/rad.
    pub static_stiffness: Vec<f64>,
    /// Loss factor eta, dimensionless.
    pub loss_factor: Vec<f64>,
    /// Viscous damping c, N s/m or N m s/rad.
    pub damping: Vec<f64>,
}

impl Constant {
    /// Diagonal matrices k, h = eta k, c.
    pub fn matrices(&self) -> (DMatrix<f64>, DMatrix<f64>, DMatrix<f64>) {
        let h: Vec<f64> =
            self.stiffness.iter().zip(&self.loss_factor).map(|(k, eta)| k * eta).collect();
        (diagonal(&self.stiffness), diagonal(&h), diagonal(&self.damping))
    }

    /// Diagonal matrix of the static stiffness.
    pub fn static_matrix(&self) -> DMatrix<f64> {
        diagonal(&self.static_stiffness)
    }
}

fn diagonal(values: &[f64]) -> DMatrix<f64> {
    DMatrix::from_diagonal(&nalgebra::DVector::from_column_slice(values))
}
