//! At which frequencies does the machine swing by itself, how, and how fast does it die away?
//!
//! Undamped: K phi = omega^2 M phi, with Phi' M Phi = 1. Damped: see [`super::roots`].
//!
//! Kinetic-energy fraction of degree of freedom i in a mode: with psi = P' phi, the shape in the
//! principal axes of inertia P, in which M is diagonal (mu), e_i = mu_i psi_i^2. These lie in
//! 0..1 and sum to 1. The raw table phi_i (M phi)_i, which the trade also uses, may leave 0..1
//! when the inertia tensor has off-diagonal terms; it is given beside the first.
//!
//! Elastic center: where a force moves the machine without turning it. The height for a force
//! along x (no turning about y) and the one for a force along y (no turning about x) differ when
//! mounts are inclined; both are given.
//!
//! Assumptions: rigid bodies, small motions, damping that does not depend on frequency. Source:
//! textbook, e.g. Harris' Shock and Vibration Handbook, 5th ed. 2002, chapter 3 (from memory).

use nalgebra::{DMatrix, Vector3};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::free_motion::free_motions;
use super::roots::{self, Roots, Undamped};
use crate::error::{Error, Result};
use crate::system::{Axis, Dof, Linear};

/// Undamped and damped modes, frequencies ascending.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Modes {
    /// Names of the degrees of freedom.
    pub dofs: Vec<Dof>,
    /// Undamped natural frequency, Hz.
    pub frequency: Vec<f64>,
    /// Damping ratio of the damped mode that belongs to each; 1 and more is overdamped.
    pub damping_ratio: Vec<f64>,
    /// Frequency at which the damped mode swings, Hz; zero if overdamped.
    pub damped_frequency: Vec<f64>,
    /// Mass-normalized undamped shapes (dof, mode), kg^-1/2 and rad kg^-1/2 m^-1.
    pub shape: DMatrix<f64>,
    /// Complex shapes (dof, mode), largest entry 1.
    pub damped_shape: DMatrix<Complex64>,
    /// Complex eigenvalues s of the damped system, 1/s (2 n of them).
    pub eigenvalue: Vec<Complex64>,
    /// Kinetic-energy fraction in principal axes of inertia (mode, dof); rows sum to 1.
    pub energy: DMatrix<f64>,
    /// phi_i (M phi)_i (mode, dof); rows sum to 1, entries may leave 0..1.
    pub energy_raw: DMatrix<f64>,
    /// What each mode is, in words.
    pub description: Vec<String>,
    /// Elastic center of a single body.
    pub elastic_center: Option<ElasticCenter>,
}

/// Where a force moves the machine without turning it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ElasticCenter {
    /// x and y where a vertical force acts without turning, m; z is the stiffness-weighted mean of
    /// the two heights, m.
    pub point: Vector3<f64>,
    /// Height at which a force along x causes no turning about y, m.
    pub height_x: f64,
    /// Height at which a force along y causes no turning about x, m.
    pub height_y: f64,
}

/// Modes of a system.
///
/// # Errors
/// [`Error::FreeMotion`] if something is free to move, [`Error::NotConverged`].
pub fn modes(linear: &Linear) -> Result<Modes> {
    let undamped = refuse_free_motion(linear)?;
    let (damped, pairs) = damped(linear, &undamped)?;
    let energy = energy(linear, &undamped);
    let n = linear.size();
    Ok(Modes {
        dofs: linear.dofs.clone(),
        frequency: undamped.omega.iter().map(|w| w / TAU).collect(),
        damping_ratio: pairs.iter().map(|p| p.damping_ratio).collect(),
        damped_frequency: pairs.iter().map(|p| p.frequency).collect(),
        damped_shape: DMatrix::from_fn(n, n, |i, j| damped.shape[(i, pairs[j].column)]),
        eigenvalue: damped.value,
        energy_raw: raw_energy(linear, &undamped),
        description: describe(&linear.dofs, &energy),
        energy,
        shape: undamped.shape,
        elastic_center: elastic_center(linear),
    })
}

/// Undamped modes, after making sure that nothing is free to move.
///
/// # Errors
/// [`Error::FreeMotion`] naming the motion.
pub fn refuse_free_motion(linear: &Linear) -> Result<Undamped> {
    let free = free_motions(&linear.k, &linear.dofs, &linear.reference);
    if free.is_empty() {
        return roots::undamped(&linear.m, &linear.k);
    }
    Err(Error::FreeMotion {
        motion: free.join(" and "),
        remedy: "give a mount stiffness in that direction, or add a mount".into(),
    })
}

/// A damped mode: two roots, conjugate or both real.
struct Pair {
    column: usize,
    damping_ratio: f64,
    frequency: f64,
}

/// All roots, and for each undamped mode the pair of roots whose shape is most like its own.
fn damped(linear: &Linear, undamped: &Undamped) -> Result<(Roots, Vec<Pair>)> {
    let all = if linear.is_hysteretic() {
        with_conjugates(&roots::continued(linear, undamped)?)
    } else {
        roots::viscous(linear, undamped)?
    };
    let candidates = pairs(&all);
    let likeness = |mode: usize, pair: &Pair| {
        let phi = undamped.shape.column(mode).map(Complex64::from);
        let x = all.shape.column(pair.column);
        let m = linear.m.map(Complex64::from);
        let mx = &m * x;
        phi.dotc(&mx).norm_sqr() / x.dotc(&mx).re
    };
    let n = linear.size();
    let mut scores: Vec<(f64, usize, usize)> = Vec::with_capacity(n * n);
    for mode in 0..n {
        for (c, pair) in candidates.iter().enumerate() {
            scores.push((likeness(mode, pair), mode, c));
        }
    }
    scores.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut taken: Vec<Option<usize>> = vec![None; n];
    let mut used = vec![false; candidates.len()];
    for (_, mode, c) in scores {
        if taken[mode].is_none() && !used[c] {
            taken[mode] = Some(c);
            used[c] = true;
        }
    }
    let chosen = taken
        .into_iter()
        .flatten()
        .map(|c| {
            let Pair { column, damping_ratio, frequency } = candidates[c];
            Pair { column, damping_ratio, frequency }
        })
        .collect::<Vec<_>>();
    if chosen.len() == n {
        Ok((all, chosen))
    } else {
        Err(Error::NotConverged {
            what: "pairing damped with undamped modes".into(),
            detail: format!("{} of {n} pairs", chosen.len()),
            remedy: "check damping for extreme values".into(),
        })
    }
}

/// Conjugate pairs by their upper root; real roots joined two by two, the slowest with the
/// fastest of like shape left to the sort by size (|s1 s2| is the square of a natural frequency).
fn pairs(all: &Roots) -> Vec<Pair> {
    let mut out: Vec<Pair> = (0..all.value.len())
        .filter(|&i| all.value[i].im > 0.0)
        .map(|i| {
            let s = all.value[i];
            Pair { column: i, damping_ratio: -s.re / s.norm(), frequency: s.im / TAU }
        })
        .collect();
    let mut real: Vec<usize> = (0..all.value.len()).filter(|&i| all.value[i].im == 0.0).collect();
    while let Some(slow) = real.first().copied() {
        real.remove(0);
        let alike = |i: usize| {
            let (a, b) = (all.shape.column(slow), all.shape.column(i));
            a.dotc(&b).norm_sqr() / (a.norm_squared() * b.norm_squared())
        };
        let Some(at) = (0..real.len()).max_by(|&a, &b| alike(real[a]).total_cmp(&alike(real[b])))
        else {
            break;
        };
        let fast = real.remove(at);
        let (s1, s2) = (all.value[slow].re, all.value[fast].re);
        let damping_ratio = -(s1 + s2) / (2.0 * (s1 * s2).sqrt());
        out.push(Pair { column: slow, damping_ratio, frequency: 0.0 });
    }
    out
}

fn with_conjugates(upper: &Roots) -> Roots {
    let n = upper.value.len();
    let value = upper.value.iter().flat_map(|s| [s.conj(), *s]).collect();
    let shape = DMatrix::from_fn(upper.shape.nrows(), 2 * n, |i, j| {
        let x = upper.shape[(i, j / 2)];
        if j % 2 == 0 { x.conj() } else { x }
    });
    Roots { value, shape }
}

/// mu_i psi_i^2 with psi = P' phi (mode, dof).
fn energy(linear: &Linear, undamped: &Undamped) -> DMatrix<f64> {
    let p = &linear.principal;
    let mu = (p.transpose() * &linear.m * p).diagonal();
    let psi = p.transpose() * &undamped.shape;
    let n = linear.size();
    let table = DMatrix::from_fn(n, n, |mode, i| mu[i] * psi[(i, mode)].powi(2));
    rows_to_one(table)
}

fn raw_energy(linear: &Linear, undamped: &Undamped) -> DMatrix<f64> {
    let m_phi = &linear.m * &undamped.shape;
    let n = linear.size();
    DMatrix::from_fn(n, n, |mode, i| undamped.shape[(i, mode)] * m_phi[(i, mode)])
}

/// Takes out the rounding by which mass normalization misses 1.
fn rows_to_one(mut table: DMatrix<f64>) -> DMatrix<f64> {
    for mut row in table.row_iter_mut() {
        let sum = row.sum();
        row /= sum;
    }
    table
}

/// The leading degree of freedom names a mode; a second one is named if it has a quarter or more.
fn describe(dofs: &[Dof], energy: &DMatrix<f64>) -> Vec<String> {
    let several = dofs.len() > 6;
    let word = |i: usize| {
        let word = match dofs[i].axis {
            Axis::X => "left-right",
            Axis::Y => "front-back",
            Axis::Z => "vertical",
            Axis::Rx => "rocking about x",
            Axis::Ry => "rocking about y",
            Axis::Rz => "yaw",
        };
        if several { format!("{word} of {}", dofs[i].body) } else { word.to_owned() }
    };
    energy
        .row_iter()
        .map(|row| {
            let mut order: Vec<usize> = (0..dofs.len()).collect();
            order.sort_by(|&a, &b| row[b].total_cmp(&row[a]));
            match order[..] {
                [first, second, ..] if row[second] >= 0.25 => {
                    format!("{} with {}", word(first), word(second))
                }
                [first, ..] => word(first),
                [] => String::new(),
            }
        })
        .collect()
}

/// From the stiffness of a single body about its center of mass: at a point d from it the
/// coupling is K_tr + K_tt S(d).
fn elastic_center(linear: &Linear) -> Option<ElasticCenter> {
    if linear.size() != 6 {
        return None;
    }
    let k = &linear.k;
    let [kx, ky, kz] = [k[(0, 0)], k[(1, 1)], k[(2, 2)]];
    if kx <= 0.0 || ky <= 0.0 || kz <= 0.0 {
        return None;
    }
    let center = linear.reference;
    let up_x = k[(0, 4)] / kx;
    let up_y = -k[(1, 3)] / ky;
    let offset = Vector3::new(-k[(2, 4)] / kz, k[(2, 3)] / kz, (kx * up_x + ky * up_y) / (kx + ky));
    Some(ElasticCenter {
        point: center + offset,
        height_x: center.z + up_x,
        height_y: center.z + up_y,
    })
}
