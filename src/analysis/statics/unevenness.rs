//! How much does a foot that is out by a millimeter change the loads?
//!
//! The floor under mount j rises by h_j; the change of the vertical loads is dF = R h with
//!
//! R = diag(tau' k tau) - P' K^-1 P,   P_j = B_j k_j tau_j,   tau_j = T_j' e_z,
//!
//! which for vertical mounts under a rigid machine is R = K - K B (B'K B)^-1 B'K, B = [1 x y].
//! R is symmetric and positive semidefinite. Mounts at one height: R B = 0, since a plane floor
//! only tilts the machine, and R has rank n - 3: only the n - 3 warp components of h change loads.
//! Four equal mounts: one foot out by delta shifts +-k delta / 4.
//!
//! Source: derived; exact rationals of three machines under `tests/reference/mounts`. All mounts
//! stay in contact; no gravity stiffness.

use nalgebra::{DMatrix, DVector, SymmetricEigen};
use serde::{Deserialize, Serialize};

use super::super::free_motion::refuse_free_motion;
use super::equilibrium::{Model, parts};
use crate::error::Result;
use crate::system::System;

/// A warp component softer than this part of the stiffest mount is none.
const NO_WARP: f64 = 1e-10;

/// How unevenness of the floor changes the loads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Unevenness {
    /// Names of the mounts, in the order of every array here.
    pub mount_names: Vec<String>,
    /// R (mount, mount), N/m: change of the vertical load of the row's mount for a rise of the
    /// floor under the column's mount.
    pub influence: DMatrix<f64>,
    /// Stiffness of each warp component, N/m, falling.
    pub warp_stiffness: Vec<f64>,
    /// Warp components (mount, component): unit vectors of floor height, and the pattern of loads
    /// each causes; the largest entry is positive.
    pub warp_pattern: DMatrix<f64>,
    /// Largest change of each mount's load when any one foot is out by a meter, N/m.
    pub single: Vec<f64>,
    /// Largest change of each mount's load when every foot is anywhere within plus or minus a
    /// meter, N/m: sum over j of |R_ij|.
    pub worst: Vec<f64>,
}

/// Influence of the floor's unevenness on the loads of a system's mounts.
///
/// # Errors
/// [`crate::Error::FreeMotion`] if the mounts leave a motion free.
pub fn unevenness(system: &System) -> Result<Unevenness> {
    refuse_free_motion(&system.static_stiffness(), &system.dofs, &system.reference)?;
    let n = system.dofs.len();
    let model = Model::new(system, &DVector::zeros(n), None)?;
    let m = model.supports.len();
    let k = model.stiffness(&parts(&vec![true; m], 0.0));
    let Some(factor) = model.factor(&k) else {
        return Err(model.why_unstable(&vec![true; m], &DMatrix::zeros(n, n)));
    };
    let (mut p, mut moved) = (DMatrix::zeros(n, m), DMatrix::zeros(n, m));
    let mut own = DVector::zeros(m);
    for j in 0..m {
        let joint = model.support(j);
        let force = &joint.k * &joint.rise;
        own[j] = joint.rise.dot(&force);
        let push = &joint.b * force;
        moved.set_column(j, &factor.solve(&k, &push));
        p.set_column(j, &push);
    }
    let r = DMatrix::from_diagonal(&own) - p.tr_mul(&moved);
    let influence = (&r + r.transpose()) * 0.5;
    let (warp_stiffness, warp_pattern) = warp(&influence, NO_WARP * own.amax());
    let each = |fold: fn(f64, f64) -> f64| -> Vec<f64> {
        (0..m).map(|i| influence.row(i).iter().map(|r| r.abs()).fold(0.0, fold)).collect()
    };
    Ok(Unevenness {
        mount_names: (0..m).map(|i| model.support(i).name.clone()).collect(),
        single: each(f64::max),
        worst: each(|sum, r| sum + r),
        influence,
        warp_stiffness,
        warp_pattern,
    })
}

/// Eigenvalues of R above `bound`, falling, and their vectors.
fn warp(r: &DMatrix<f64>, bound: f64) -> (Vec<f64>, DMatrix<f64>) {
    let eigen = SymmetricEigen::new(r.clone());
    let mut kept: Vec<usize> = (0..r.nrows()).filter(|&j| eigen.eigenvalues[j] > bound).collect();
    kept.sort_by(|&a, &b| eigen.eigenvalues[b].total_cmp(&eigen.eigenvalues[a]));
    let mut pattern = DMatrix::zeros(r.nrows(), kept.len());
    for (column, &j) in kept.iter().enumerate() {
        let v = eigen.eigenvectors.column(j);
        let sign = v[v.icamax()].signum();
        pattern.set_column(column, &(v * sign));
    }
    (kept.iter().map(|&j| eigen.eigenvalues[j]).collect(), pattern)
}
