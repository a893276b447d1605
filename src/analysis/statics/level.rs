//! How far do points of the machine rise, and how does it tilt, from one load case to another?
//!
//! With u(p; c) the static displacement of the point p in the case c, from springs at rest:
//!
//! rise = u_z(p; to) - u_z(p; from),  tilt = theta(to) - theta(from)
//!
//! At the rails of a rolling bolster the rise is the step it must roll over when it comes back: the
//! floor's rails stay, the machine's have come up. The rise of a case is taken against the first
//! case, the machine as it runs, as it was leveled.
//!
//! STATIC stiffness, since rolling a bolster takes minutes. Creep is not in it: a machine that stood
//! for months without its bolster rises more. Source: textbook.

use serde::{Deserialize, Serialize};

use super::{Extreme, Statics};
use crate::error::{Error, Result, by_name};
use crate::system::Port;

/// A load case as it stands: its equilibrium and the named points of the machine in it.
#[derive(Debug, Clone, Copy)]
pub struct Standing<'a> {
    /// Name of the case.
    pub case: &'a str,
    /// Its equilibrium.
    pub statics: &'a Statics,
    /// Named points as ports of the same system.
    pub points: &'a [Port],
}

/// How a point moves from one load case to another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RailStep {
    /// Name of the point.
    pub point: String,
    /// Load case it starts from.
    pub from: String,
    /// Load case it ends in.
    pub to: String,
    /// Rise of the point, m, up positive.
    pub rise: f64,
    /// Sideways motion of the point along x and y, m.
    pub shift: [f64; 2],
    /// Change of the machine's tilt about x and about y, rad.
    pub tilt: [f64; 2],
}

/// Least and greatest level of a point over the load cases, against the first of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rise {
    /// Name of the point.
    pub point: String,
    /// Greatest rise, m; zero where it only sinks.
    pub up: Extreme,
    /// Greatest sinking, m, negative; zero where it only rises.
    pub down: Extreme,
}

/// Step of the named point between two load cases.
///
/// # Errors
/// [`Error::Unknown`] for a point that is not there, [`Error::Shape`] for a port of another system.
pub fn rail_step(point: &str, from: &Standing<'_>, to: &Standing<'_>) -> Result<RailStep> {
    let (a, b) = (moved(point, from)?, moved(point, to)?);
    Ok(RailStep {
        point: point.into(),
        from: from.case.into(),
        to: to.case.into(),
        rise: b[2] - a[2],
        shift: [b[0] - a[0], b[1] - a[1]],
        tilt: [0, 1].map(|axis| to.statics.tilt[axis] - from.statics.tilt[axis]),
    })
}

/// Levels of every named point over the cases, against the first of them.
///
/// # Errors
/// [`Error::Invalid`] without a case; otherwise as [`rail_step`].
pub fn rises(cases: &[Standing<'_>]) -> Result<Vec<Rise>> {
    let Some(first) = cases.first() else {
        return Err(Error::invalid("cases", "[]", "at least one load case", "give the cases"));
    };
    let still = Extreme { value: 0.0, case: first.case.into() };
    let mut all = Vec::with_capacity(first.points.len());
    for port in first.points {
        let (mut up, mut down) = (still.clone(), still.clone());
        for case in &cases[1..] {
            let step = rail_step(&port.name, first, case)?;
            let here = Extreme { value: step.rise, case: step.to };
            if here.value > up.value {
                up = here;
            } else if here.value < down.value {
                down = here;
            }
        }
        all.push(Rise { point: port.name.clone(), up, down });
    }
    Ok(all)
}

fn moved(point: &str, standing: &Standing<'_>) -> Result<[f64; 6]> {
    let ports = standing.points.iter().map(|p| (p.name.as_str(), p));
    let port = by_name("point", point, ports, ["named points are", "there are no named points"])?;
    standing.statics.displacement_of(port)
}
