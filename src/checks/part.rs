//! Does each part bear what it carries: strain, stress, solid height, buckling of a coil?
//!
//! The part says what it may bear ([`Allowed`]): a compression, a shear deflection or a load. Each
//! limit is judged in every load case; the case that asks most governs. A limit that holds in motion
//! is judged under every load too: static part of its own load case plus the greatest dynamic one.

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

/// What a mount bears at most under one load that moves the machine, static and dynamic together.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Borne {
    /// Greatest compression, m.
    pub compression: f64,
    /// Greatest deflection across the vertical axis, m.
    pub shear: f64,
    /// Greatest vertical load, N.
    pub load: f64,
}

/// One check for each limit of one mount that holds in motion.
///
/// # Errors
/// Those of [`Check::at_most`].
pub fn allowed_in_motion(
    mount: &str,
    limits: &[Allowed],
    borne: &Borne,
    load: &str,
) -> Result<Vec<Check>> {
    let judged = limits.iter().filter(|limit| limit.in_motion).map(|limit| {
        let demand = match limit.quantity {
            AllowedQuantity::Compression => borne.compression,
            AllowedQuantity::Shear => borne.shear,
            AllowedQuantity::Load => borne.load,
        };
        let question = format!("{} of {mount}, in motion", limit.question);
        let check = Check::at_most(question, demand, limit.max, limit.quantity.unit())?;
        Ok(check.in_case(load).from_source(&limit.source))
    });
    judged.collect()
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
