//! A mount whose load along one axis follows a curve.
//!
//! Along that axis the static force is F(u) with the compression u = -e (e: motion of the port, so
//! that a mount is squeezed when its top moves down). A small motion about the working point u0
//! meets
//!
//! D(omega) = r F'(u0) (1 + j eta) + j omega c,
//!
//! with r the ratio of dynamic to static stiffness. A law d(omega) of that axis that depends on
//! frequency is scaled so that its static limit is F'(u0). All other axes are those of the law below
//! the curve.
//!
//! Assumptions: axes do not act on each other; neither r nor the shape of d depends on the load. Limits: motions
//! small enough that F' holds over them.

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

use super::{Curve, Dynamic, PerCoordinate};

/// Constant law with a curve along one axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Curved {
    /// Law of the other axes; damping, loss factor and dependence on frequency of all. Its
    /// stiffness along `axis` is not used.
    pub base: PerCoordinate,
    /// Port coordinate that follows the curve.
    pub axis: usize,
    /// Static load over compression.
    pub curve: Curve,
    /// Dynamic stiffness over F'.
    pub dynamic_ratio: f64,
    /// Compression at the working point, m.
    pub working: f64,
}

/// A working point beyond the ends of a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outside {
    /// Compression, m.
    pub compression: f64,
    /// Load by the tangent at the end, N.
    pub load: f64,
    /// End of the curve that was passed: compression (m) and load (N).
    pub end: (f64, f64),
}

impl Curved {
    /// Static force on the far side for a port motion e: N.
    pub fn force(&self, e: &DVector<f64>) -> DVector<f64> {
        let mut force = self.base.constant.static_matrix() * e;
        force[self.axis] = -self.curve.extended(-e[self.axis]).0;
        force
    }

    /// Static stiffness at compression u, N/m.
    pub fn stiffness(&self, u: f64) -> DMatrix<f64> {
        let mut k = self.base.constant.static_matrix();
        k[(self.axis, self.axis)] = self.curve.extended(u).1;
        k
    }

    /// Small motions about the working point: k, h, c.
    pub fn matrices(&self) -> (DMatrix<f64>, DMatrix<f64>, DMatrix<f64>) {
        let (mut k, mut h, c) = self.base.constant.matrices();
        let i = (self.axis, self.axis);
        k[i] = self.dynamic_ratio * self.curve.extended(self.working).1;
        h[i] = self.base.constant.loss_factor[self.axis] * k[i];
        (k, h, c)
    }

    /// The parts that depend on frequency, at the working point.
    pub fn terms(&self) -> Vec<(DMatrix<f64>, Dynamic)> {
        let mut base = self.base.clone();
        if let Some(law) = base.dynamic.get_mut(self.axis).and_then(Option::as_mut) {
            let factor = self.curve.extended(self.working).1 / law.static_stiffness();
            // The factor is positive and finite: `Mount` refuses a law without a static limit.
            if let Ok(scaled) = law.scaled(factor) {
                *law = scaled;
            }
        }
        base.terms()
    }

    /// What a compression u has beyond the curve.
    pub fn outside(&self, u: f64) -> Option<Outside> {
        let [start, end] = self.curve.range();
        let passed = if u > end { end } else { start };
        let at = |u: f64| self.curve.extended(u).0;
        (!(start..=end).contains(&u)).then(|| Outside {
            compression: u,
            load: at(u),
            end: (passed, at(passed)),
        })
    }
}
