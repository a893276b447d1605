//! How a mount, spring or stop answers a motion at its port.
//!
//! A [`Law`] is the dynamic stiffness D(omega) of an [`Element`](crate::system::Element): the
//! force on the far side of the port is `D(omega) u`, with `u` the port's motion under
//! `e^{+j omega t}`. It keeps the static stiffness apart from the dynamic one, since rubber's
//! differ. A [`Dynamic`] is the law of one direction, which may depend on frequency. One file per
//! kind of law; to add one, add a variant here or to [`Dynamic`] and let the compiler lead.

mod complex;
mod constant;
mod coordinates;
mod dynamic;
mod fractional;
mod kraus;
mod maxwell;
mod passive;
mod realization;
mod table;
mod viscous;
mod wlf;
mod zener;

pub use complex::ComplexStiffness;
pub use constant::Constant;
pub use coordinates::PerCoordinate;
pub use dynamic::Dynamic;
pub use fractional::FractionalZener;
pub use kraus::AmplitudeReduction;
pub use maxwell::{Maxwell, MaxwellTerm};
pub use realization::{Branch, Realization};
pub use table::{TableVariable, TabulatedStiffness};
pub use viscous::Viscous;
pub use wlf::{TemperatureShift, Wlf};
pub use zener::Zener;

use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

/// Dynamic stiffness of an element, port coordinates uncoupled or coupled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Law {
    /// Stiffness, viscous damping and loss factor that do not depend on frequency.
    Constant(Constant),
    /// A law for each port coordinate, some of which depend on frequency.
    PerCoordinate(PerCoordinate),
}

impl Law {
    /// The part that does not depend on frequency.
    fn constant(&self) -> &Constant {
        match self {
            Self::Constant(law) => law,
            Self::PerCoordinate(law) => &law.constant,
        }
    }

    /// Number of port coordinates r.
    pub fn rank(&self) -> usize {
        self.constant().stiffness.len()
    }

    /// Stiffness under a load that stays, r x r, N/m (N m/rad for rotations).
    pub fn static_stiffness(&self) -> DMatrix<f64> {
        self.constant().static_matrix()
    }

    /// Small-motion stiffness k, hysteretic stiffness h = eta k and viscous damping c, each r x r:
    /// D(omega) = k + j h + j omega c for omega > 0, besides the [`Self::dynamic`] parts.
    pub fn linear(&self) -> (DMatrix<f64>, DMatrix<f64>, DMatrix<f64>) {
        self.constant().matrices()
    }

    /// The parts that depend on frequency: r x q port p and law d of each, D = ... + p d(omega) p'.
    pub fn dynamic(&self) -> Vec<(DMatrix<f64>, Dynamic)> {
        match self {
            Self::Constant(_) => Vec::new(),
            Self::PerCoordinate(law) => law.terms(),
        }
    }
}
