//! What may a pad bear? Static strain in compression and shear, mean pressure, sway.
//!
//! 15 % in compression and 50 % in shear (seen, quoting "designing with rubber"); mean pressure of
//! bonded rubber 3 N/mm^2 (E. F. Goebel, Gummifedern, 3rd ed. 1969, from memory); of a plain pad that may
//! slide G S and at most 5.5 N/mm^2 (AASHTO LRFD, method A, from memory). All for loads that stay.

use super::RubberPad;
use crate::error::Result;
use crate::support::{Allowed, AllowedQuantity, LoadRange};

const BONDED: f64 = 3e6;
const PLAIN: f64 = 5.5e6;

impl RubberPad {
    /// Greatest static mean pressure, Pa, and who says so.
    pub fn stress_limit(&self) -> (f64, &'static str) {
        match (self.options.stress_limit, self.options.friction) {
            (Some(given), _) => (given, "given with the pad"),
            (None, None) => (BONDED, "Goebel, Gummifedern, 1969 (from memory)"),
            (None, Some(_)) => {
                let gs = self.moduli.shear * self.shape_factor();
                (gs.min(PLAIN), "G S and 5.5 N/mm^2, AASHTO LRFD method A (from memory)")
            }
        }
    }

    /// Limits of the pad, for the checks.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] if a limit is no positive number.
    pub fn allowed(&self) -> Result<Vec<Allowed>> {
        let (compression, shear) = (self.options.strain_limit, self.options.shear_strain_limit);
        let (stress, says) = self.stress_limit();
        let height = self.rubber_height();
        let strain = |given: f64, usual: f64| {
            if given == usual {
                "designing with rubber, average limits"
            } else {
                "given with the pad"
            }
        };
        Ok(vec![
            Allowed::new(
                format!("compressive strain within {} %", tidy(100.0 * compression)),
                AllowedQuantity::Compression,
                compression * height,
                strain(compression, 0.15),
            )?,
            Allowed::new(
                format!("shear strain within {} %", tidy(100.0 * shear)),
                AllowedQuantity::Shear,
                shear * height,
                strain(shear, 0.5),
            )?,
            Allowed::new(
                format!("mean pressure within {} N/mm^2", tidy(stress / 1e6)),
                AllowedQuantity::Load,
                stress * self.shape.area(),
                says,
            )?,
            Allowed::new(
                "load below that at which the pad sways by itself",
                AllowedQuantity::Load,
                self.sway_load(),
                "column of Haringx, q h = pi",
            )?,
        ])
    }

    /// Static load it may carry: up to its strain or pressure limit, whichever comes first.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] if a limit is no positive number.
    pub fn load_range(&self) -> Result<LoadRange> {
        let by_strain = self.force(self.options.strain_limit)?;
        let by_stress = self.stress_limit().0 * self.shape.area();
        LoadRange::new(None, Some(by_strain.min(by_stress).min(self.sway_load())), None)
    }
}

/// Four digits, without the tail of a product.
fn tidy(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
