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
mod curve;
mod curved;
mod dynamic;
mod fit;
mod fractional;
mod gap;
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
pub use curve::{Compression, Curve, Table, point_of};
pub use curved::{Curved, Outside};
pub use dynamic::Dynamic;
pub use fit::{MaxwellFit, maxwell_fit};
pub use fractional::FractionalZener;
pub use gap::{Contact, Gap};
pub use kraus::AmplitudeReduction;
pub use maxwell::{Maxwell, MaxwellTerm};
pub use realization::{Branch, Realization};
pub use table::{TableVariable, TabulatedStiffness};
pub use viscous::Viscous;
pub use wlf::{TemperatureShift, Wlf};
pub use zener::Zener;

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

/// Dynamic stiffness of an element, port coordinates uncoupled or coupled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Law {
    /// Stiffness, viscous damping and loss factor that do not depend on frequency.
    Constant(Constant),
    /// A law for each port coordinate, some of which depend on frequency.
    PerCoordinate(PerCoordinate),
    /// A load-deflection curve along one axis.
    Curve(Curved),
    /// A stop behind a gap.
    Gap(Gap),
}

impl Law {
    /// Number of port coordinates r.
    pub fn rank(&self) -> usize {
        match self {
            Self::Constant(law) => law.stiffness.len(),
            Self::PerCoordinate(law) => law.constant.stiffness.len(),
            Self::Curve(law) => law.base.constant.stiffness.len(),
            Self::Gap(law) => law.rank,
        }
    }

    /// Stiffness under a load that stays, r x r, N/m (N m/rad for rotations); of a curved law at
    /// its working point.
    pub fn static_stiffness(&self) -> DMatrix<f64> {
        match self {
            Self::Constant(law) => law.static_matrix(),
            Self::PerCoordinate(law) => law.constant.static_matrix(),
            Self::Curve(law) => law.stiffness(law.working),
            Self::Gap(law) => law.stiffness_in(law.contact),
        }
    }

    /// Small-motion stiffness k, hysteretic stiffness h = eta k and viscous damping c, each r x r:
    /// D(omega) = k + j h + j omega c for omega > 0, besides the [`Self::dynamic`] parts.
    pub fn linear(&self) -> (DMatrix<f64>, DMatrix<f64>, DMatrix<f64>) {
        match self {
            Self::Constant(law) => law.matrices(),
            Self::PerCoordinate(law) => law.constant.matrices(),
            Self::Curve(law) => law.matrices(),
            Self::Gap(law) => law.matrices(),
        }
    }

    /// The parts that depend on frequency: r x q port p and law d of each, D = ... + p d(omega) p'.
    pub fn dynamic(&self) -> Vec<(DMatrix<f64>, Dynamic)> {
        match self {
            Self::Constant(_) | Self::Gap(_) => Vec::new(),
            Self::PerCoordinate(law) => law.terms(),
            Self::Curve(law) => law.terms(),
        }
    }

    /// True if the static stiffness does not depend on the load.
    pub fn is_linear(&self) -> bool {
        !matches!(self, Self::Curve(_) | Self::Gap(_))
    }

    /// Static force on the far side for a port motion e from the unloaded state, N (N m).
    pub fn static_force(&self, e: &DVector<f64>) -> DVector<f64> {
        match self {
            Self::Curve(law) => law.force(e),
            Self::Gap(law) => law.force(e),
            linear => linear.static_stiffness() * e,
        }
    }

    /// The law with its working point at the port motion e.
    #[must_use]
    pub fn at(&self, e: &DVector<f64>) -> Self {
        match self {
            Self::Curve(law) => Self::Curve(Curved { working: -e[law.axis], ..law.clone() }),
            Self::Gap(law) => Self::Gap(Gap { contact: law.contact_at(e[0]), ..law.clone() }),
            linear => linear.clone(),
        }
    }
}
