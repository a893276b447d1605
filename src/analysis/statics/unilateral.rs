//! Which mounts stay in contact?
//!
//! A mount that only stands cannot pull: its load F_z >= 0, its gap >= 0, and F_z gap = 0. A mount
//! that lifts off takes its horizontal stiffness with it.
//!
//! With vertical mounts this is a linear complementarity problem whose matrix
//! diag(1/k) + P' K_0^-1 P is positive definite once a lifted mount is left a billionth of its
//! stiffness, so that no set of mounts is singular. Block principal pivoting (all wrong mounts
//! change state at once; when that stops helping, only the last one, which is Murty's rule)
//! then ends at the one solution: J. J. Judice and F. M. Pires, Computers and Operations Research
//! 21 (1994) 587 (from memory). The set is solved again without the billionth and checked.
//!
//! Where lifting off moves horizontal force to other heights or through slanted axes, the problem
//! is no longer of that kind. If pivoting does not end in a checked solution, every set of up to
//! sixteen mounts is tried, those with most mounts in contact first.

use nalgebra::{DMatrix, DVector};

use super::equilibrium::{Model, parts};
use crate::error::{Error, Result};

/// Part of the stiffness left to a lifted mount while the set is searched.
const REST: f64 = 1e-9;
/// Loads and gaps below this part of the largest are zero.
const ZERO: f64 = 1e-11;
/// Block steps without improvement before single steps.
const PATIENCE: usize = 10;
/// Pivots after which the search gives up.
const PIVOTS: usize = 10_000;
/// Most mounts of which all sets are tried.
const TRIED: usize = 16;

/// Displacement and contact (one flag for each support) with no mount in tension.
pub(super) fn solve(model: &Model, gravity: &DMatrix<f64>) -> Result<(DVector<f64>, Vec<bool>)> {
    let found = pivot(model, gravity)?;
    if let Some(contact) = &found {
        match model.solve(&parts(contact, 0.0), gravity)? {
            Some(x) if wrong(model, &x, contact).is_empty() => return Ok((x, contact.clone())),
            None if !coupled(model) => return Err(model.why_unstable(contact, gravity)),
            _ => {}
        }
    }
    enumerate(model, gravity, found)
}

/// Supports whose state contradicts the displacement.
fn wrong(model: &Model, x: &DVector<f64>, contact: &[bool]) -> Vec<usize> {
    let m = contact.len();
    let loads: Vec<f64> = (0..m).map(|i| model.load_z(i, x)).collect();
    let squeezed: Vec<f64> = (0..m).map(|i| model.compression_z(i, x)).collect();
    let largest = |values: &[f64]| {
        values.iter().zip(contact).filter(|(_, c)| **c).map(|(v, _)| v.abs()).fold(0.0, f64::max)
    };
    let (no_load, no_gap) = (ZERO * largest(&loads), ZERO * largest(&squeezed));
    (0..m)
        .filter(|&i| model.support(i).can_lift)
        .filter(|&i| if contact[i] { loads[i] < -no_load } else { squeezed[i] > no_gap })
        .collect()
}

fn pivot(model: &Model, gravity: &DMatrix<f64>) -> Result<Option<Vec<bool>>> {
    let mut contact = vec![true; model.supports.len()];
    let (mut fewest, mut patience) = (usize::MAX, PATIENCE);
    for _ in 0..PIVOTS {
        let Some(x) = model.solve_roughly(&parts(&contact, REST), gravity)? else {
            return Ok(None);
        };
        let wrong = wrong(model, &x, &contact);
        let Some(&last) = wrong.last() else {
            return Ok(Some(contact));
        };
        let all = if wrong.len() < fewest {
            (fewest, patience) = (wrong.len(), PATIENCE);
            true
        } else {
            patience = patience.saturating_sub(1);
            patience > 0
        };
        for &i in if all { &wrong[..] } else { std::slice::from_ref(&last) } {
            contact[i] = !contact[i];
        }
    }
    Ok(None)
}

/// True if a vertical move of a mount can push sideways, or mounts stand at different heights.
fn coupled(model: &Model) -> bool {
    let supports = (0..model.supports.len()).map(|i| model.support(i));
    let slanted = supports.clone().any(|joint| {
        let sideways = &joint.ends[0].force * (&joint.k * &joint.rise);
        sideways[0].hypot(sideways[1]) > ZERO * sideways[2].abs()
    });
    let heights: Vec<f64> = supports.map(|joint| joint.ends[0].arm.z).collect();
    let level = heights.iter().all(|z| (z - heights[0]).abs() <= ZERO * z.abs());
    let one_body = super::super::free_motion::body_names(model.dofs).len() == 1;
    slanted || !level || !one_body
}

/// Tries every set, those with most mounts in contact first.
fn enumerate(
    model: &Model,
    gravity: &DMatrix<f64>,
    found: Option<Vec<bool>>,
) -> Result<(DVector<f64>, Vec<bool>)> {
    let lifting: Vec<usize> =
        (0..model.supports.len()).filter(|&i| model.support(i).can_lift).collect();
    // A set that pivoting found but that does not hold: the machine tips over it.
    let tips = match found {
        Some(contact) if model.solve(&parts(&contact, 0.0), gravity)?.is_none() => Some(contact),
        _ => None,
    };
    if lifting.len() > TRIED {
        return Err(tips.map_or_else(
            || too_many(lifting.len()),
            |contact| model.why_unstable(&contact, gravity),
        ));
    }
    let mut sets: Vec<u32> = (0..1u32 << lifting.len()).collect();
    sets.sort_by_key(|set| set.count_ones());
    for lifted in sets {
        let mut contact = vec![true; model.supports.len()];
        for (bit, &i) in lifting.iter().enumerate() {
            contact[i] = lifted >> bit & 1 == 0;
        }
        let x = model.solve(&parts(&contact, 0.0), gravity)?;
        if let Some(x) = x.filter(|x| wrong(model, x, &contact).is_empty()) {
            return Ok((x, contact));
        }
    }
    Err(tips.map_or_else(
        || Error::Unstable {
            reason: "no set of mounts in contact is in equilibrium without tension".into(),
            remedy: "hold the machine down, or change the load or the place of the mounts".into(),
        },
        |contact| model.why_unstable(&contact, gravity),
    ))
}

fn too_many(mounts: usize) -> Error {
    Error::NotConverged {
        what: "the search for the mounts that lift off".into(),
        detail: format!("{mounts} mounts, more than the {TRIED} of which all sets are tried"),
        remedy: "solve without lift-off and see which mounts are in tension".into(),
    }
}
