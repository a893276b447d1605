//! May a system be answered by its poles in place of a factorization at each frequency?
//!
//! It may where nothing depends on frequency, nothing is free to move, no mode creeps, and the roots
//! prove to be all there (see [`crate::lanes::poles`]); it is worth it from some hundreds of
//! frequencies on. Both ways agree to rounding.

use nalgebra::DMatrix;

use super::roots::RealModes;
use crate::error::Result;
use crate::lanes::Coefficients;
use crate::lanes::poles::{Poles, Seen};
use crate::system::Linear;

/// Poles of a system and its real modes.
pub(super) struct ByPoles {
    phi: DMatrix<f64>,
    poles: Poles,
}

impl ByPoles {
    /// Those of a system; none if it has to be solved frequency by frequency.
    pub fn new(linear: &Linear) -> Result<Option<Self>> {
        if linear.is_frequency_dependent() {
            return Ok(None);
        }
        // What is wrong with it, the factorization tells.
        RealModes::new(linear).map_or(Ok(None), |real| Self::of(linear, &real))
    }

    /// The same with real modes that are known.
    pub fn of(linear: &Linear, real: &RealModes) -> Result<Option<Self>> {
        let poles = real.poles(&real.project(&linear.c), &real.project(&linear.h))?;
        Ok(poles.map(|poles| Self { phi: real.phi.clone(), poles }))
    }

    /// How rows see the poles; none for rows with a mass or laws.
    pub fn seen(&self, rows: &Coefficients) -> Option<Seen> {
        rows.is_springs_and_dashpots().then(|| self.poles.seen(&self.phi, rows))
    }
}
