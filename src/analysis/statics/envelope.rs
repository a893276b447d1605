//! What are the least and greatest loads over all load cases, and which case governs each?

use serde::{Deserialize, Serialize};

use super::Statics;
use crate::error::{Error, Result};

/// A value and the load case it comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Extreme {
    /// The value, in the unit of its field.
    pub value: f64,
    /// Name of the governing case.
    pub case: String,
}

/// Extremes over load cases; ties go to the case named first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Envelope {
    /// Names of the mounts, in the order of every list here.
    pub mount_names: Vec<String>,
    /// Least vertical load of each mount, N.
    pub load_min: Vec<Extreme>,
    /// Greatest vertical load of each mount, N.
    pub load_max: Vec<Extreme>,
    /// Greatest horizontal load of each mount, N.
    pub lateral_max: Vec<Extreme>,
    /// Greatest vertical compression of each mount, m.
    pub deflection_max: Vec<Extreme>,
    /// Tilt of greatest size about x and about y, with its sign, rad.
    pub tilt: [Extreme; 2],
}

/// Envelope over named load cases of the same mounts.
///
/// # Errors
/// [`Error::Invalid`] without a case; [`Error::Unknown`] if the mounts differ between cases.
pub fn envelope(cases: &[(String, Statics)]) -> Result<Envelope> {
    let Some((first_name, first)) = cases.first() else {
        return Err(Error::invalid("cases", "[]", "at least one load case", "give the cases"));
    };
    for (name, statics) in cases {
        if statics.mount_names != first.mount_names {
            return Err(Error::Unknown {
                argument: format!("cases[{name:?}].mount_names"),
                value: statics.mount_names.join(", "),
                allowed: format!("every case needs the mounts {}", first.mount_names.join(", ")),
            });
        }
    }
    let mounts = 0..first.mount_names.len();
    // The case whose value ranks highest.
    let extreme = |rank: fn(f64) -> f64, value: &dyn Fn(&Statics) -> f64| {
        let start = Extreme { value: value(first), case: first_name.clone() };
        cases.iter().fold(start, |best, (name, statics)| {
            let value = value(statics);
            if rank(value) > rank(best.value) {
                Extreme { value, case: name.clone() }
            } else {
                best
            }
        })
    };
    let each = |rank: fn(f64) -> f64, value: fn(&Statics, usize) -> f64| -> Vec<Extreme> {
        mounts.clone().map(|i| extreme(rank, &|s| value(s, i))).collect()
    };
    Ok(Envelope {
        mount_names: first.mount_names.clone(),
        load_min: each(|v| -v, |s, i| s.load[[i, 2]]),
        load_max: each(|v| v, |s, i| s.load[[i, 2]]),
        lateral_max: each(|v| v, |s, i| s.load[[i, 0]].hypot(s.load[[i, 1]])),
        deflection_max: each(|v| v, |s, i| s.deflection[[i, 2]]),
        tilt: [0, 1].map(|axis| extreme(f64::abs, &|s| s.tilt[axis])),
    })
}
