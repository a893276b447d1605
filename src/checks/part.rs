//! Does each part bear what it carries: strain, stress, solid height, buckling of a coil?
//!
//! The part says what it may bear ([`Allowed`]): a compression, a shear deflection or a load. Each
//! limit is judged in every load case; the case that asks most governs.

use super::Check;
use crate::analysis::statics::Statics;
use crate::error::{Error, Result};
use crate::support::{Allowed, AllowedQuantity};

/// One check for each limit of one mount, over named load cases.
///
/// # Errors
/// [`Error::Unknown`] if a case does not have the mount.
pub fn allowed(mount: &str, limits: &[Allowed], cases: &[(&str, &Statics)]) -> Result<Vec<Check>> {
    limits.iter().map(|limit| one(mount, limit, cases)).collect()
}

fn one(mount: &str, limit: &Allowed, cases: &[(&str, &Statics)]) -> Result<Check> {
    let mut worst: Option<(f64, &str)> = None;
    for (case, statics) in cases {
        let demand = quantity(mount, limit.quantity, statics)?;
        if worst.is_none_or(|(most, _)| demand > most) {
            worst = Some((demand, case));
        }
    }
    let (demand, case) = worst
        .ok_or_else(|| Error::invalid("cases", "[]", "at least one load case", "give the cases"))?;
    let question = format!("{} of {mount}", limit.question);
    let check = Check::at_most(question, demand, limit.max, limit.quantity.unit())?;
    Ok(check.in_case(case).from_source(&limit.source))
}

fn quantity(mount: &str, quantity: AllowedQuantity, statics: &Statics) -> Result<f64> {
    let row =
        statics.mount_names.iter().position(|n| n == mount).ok_or_else(|| Error::Unknown {
            argument: "mount".into(),
            value: mount.into(),
            allowed: format!("the mounts are {}", statics.mount_names.join(", ")),
        })?;
    Ok(match quantity {
        AllowedQuantity::Compression => statics.deflection[[row, 2]],
        AllowedQuantity::Shear => statics.deflection[[row, 0]].hypot(statics.deflection[[row, 1]]),
        AllowedQuantity::Load => statics.load[[row, 2]],
    })
}
