//! How a mount, spring or stop answers a motion at its port.
//!
//! A [`Law`] is the dynamic stiffness D(omega) of an [`Element`](crate::system::Element): the
//! force on the far side of the port is `D(omega) u`, with `u` the port's motion under
//! `e^{+j omega t}`. It keeps the static stiffness apart from the dynamic one, since rubber's
//! differ. One file per kind of law; to add one, add a variant here and let the compiler lead.

mod constant;

pub use constant::Constant;

use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

/// Dynamic stiffness of an element, port coordinates uncoupled or coupled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Law {
    /// Stiffness, viscous damping and loss factor that do not depend on frequency.
    Constant(Constant),
}

impl Law {
    /// Number of port coordinates r.
    pub fn rank(&self) -> usize {
        match self {
            Self::Constant(law) => law.stiffness.len(),
        }
    }

    /// Stiffness under a load that stays, r x r, N/m (N m/rad for rotations).
    pub fn static_stiffness(&self) -> DMatrix<f64> {
        match self {
            Self::Constant(law) => law.static_matrix(),
        }
    }

    /// Small-motion stiffness k, hysteretic stiffness h = eta k and viscous damping c, each r x r:
    /// D(omega) = k + j h + j omega c for omega > 0.
    pub fn linear(&self) -> (DMatrix<f64>, DMatrix<f64>, DMatrix<f64>) {
        match self {
            Self::Constant(law) => law.matrices(),
        }
    }
}
