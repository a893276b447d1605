//! At which frequencies does the machine swing by itself, how, and how fast does it die away?
//!
//! Undamped: K phi = omega^2 M phi, with Phi' M Phi = 1. Damped: M s^2 + C s + K + j H (the module `roots`).
//!
//! Kinetic-energy fraction of degree of freedom i in a mode: with psi = P^-1 phi, the shape in the
//! principal axes of inertia P, in which M is diagonal (mu), e_i = mu_i psi_i^2. These lie in
//! 0..1 and sum to 1. The raw table phi_i (M phi)_i, which the trade also uses, may leave 0..1
//! when the inertia tensor has off-diagonal terms; it is given beside the first.
//!
//! Elastic center: where a force moves the machine without turning it. The height for a force
//! along x (no turning about y) and the one for a force along y (no turning about x) differ when
//! mounts are inclined; both are given.
//!
//! Laws that depend on frequency: each mode at its own frequency, by iteration or with the internal
//! variables of the laws (the module `dependent`).
//!
//! Assumptions: rigid bodies, small motions. Source: textbook, e.g. Harris' Shock and Vibration Handbook, 5th ed. 2002, chapter 3 (from memory).

use nalgebra::{DMatrix, DVector, Vector3};
use ndarray::{Array2, Array3, ArrayView3};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::dependent::{free_vibration, typical_omega};
use super::free_motion::refuse_free_motion;
use super::roots::{RealModes, Root, TimeModel};
use crate::error::{Error, Result};
use crate::lanes::{self, Lane, WIDTH, instruction_set};
use crate::system::{Axis, Dof, Linear};

/// Undamped and damped modes, frequencies ascending.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Modes {
    /// Names of the degrees of freedom.
    pub dofs: Vec<Dof>,
    /// Undamped natural frequency, Hz; with laws that depend on frequency, that of the storage
    /// stiffness at this very frequency.
    pub frequency: Vec<f64>,
    /// Damping ratio of the damped mode that belongs to each; 1 and more is overdamped.
    pub damping_ratio: Vec<f64>,
    /// Frequency at which the damped mode swings, Hz; zero if overdamped.
    pub damped_frequency: Vec<f64>,
    /// Mass-normalized undamped shapes (dof, mode), kg^-1/2 and rad kg^-1/2 m^-1.
    pub shape: DMatrix<f64>,
    /// Complex shapes (dof, mode), largest entry 1.
    pub damped_shape: DMatrix<Complex64>,
    /// Complex eigenvalues s of the damped system, 1/s: 2 n of them, and one for each internal
    /// variable of the laws.
    pub eigenvalue: Vec<Complex64>,
    /// What stands for the loss factors in the damped modes.
    pub damping_model: TimeModel,
    /// Iterations that each mode took where laws depend on frequency; zero elsewhere.
    pub iterations: Vec<usize>,
    /// What is left of the equation of each such mode, undamped and damped, relative to its terms.
    pub residual: Vec<f64>,
    /// Kinetic-energy fraction in principal axes of inertia (mode, dof); rows sum to 1.
    pub energy: DMatrix<f64>,
    /// phi_i (M phi)_i (mode, dof); rows sum to 1, entries may leave 0..1.
    pub energy_raw: DMatrix<f64>,
    /// What each mode is, in words.
    pub description: Vec<String>,
    /// Elastic center of a single body; with laws that depend on frequency, at the lowest mode.
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
/// [`Error::FreeMotion`] if something is free to move, [`Error::NotConverged`], or a mode outside a
/// table of dynamic stiffness.
pub fn modes(linear: &Linear) -> Result<Modes> {
    Ok(with_real_modes(linear)?.0)
}

/// The same with the real modes of a system without laws that depend on frequency.
pub(super) fn with_real_modes(linear: &Linear) -> Result<(Modes, Option<RealModes>)> {
    if linear.is_frequency_dependent() {
        return Ok((dependent_modes(linear)?, None));
    }
    refuse_free_motion(&linear.k, &linear.dofs, &linear.reference)?;
    let real = RealModes::new(linear)?;
    check_rounding(&real.omega)?;
    let (model, roots) = real.damped_roots(linear)?;
    let none = vec![0; real.omega.len()];
    let modes =
        assembled(linear, &real.omega, &real.phi, model, &roots, both_halves(&roots), none)?;
    Ok((modes, Some(real)))
}

/// Modes of a system with laws that depend on frequency, each at its own frequency.
fn dependent_modes(linear: &Linear) -> Result<Modes> {
    let typical = linear.frozen(typical_omega(linear)?)?;
    refuse_free_motion(&typical.k, &linear.dofs, &linear.reference)?;
    let free = free_vibration(linear)?;
    check_rounding(&free.omega)?;
    let at_lowest = linear.frozen(free.omega[0])?;
    let eigenvalue = conjugates(free.all.iter().copied());
    let count = free.iterations;
    let mut out =
        assembled(&at_lowest, &free.omega, &free.phi, free.model, &free.roots, eigenvalue, count)?;
    out.residual = free.residual;
    Ok(out)
}

fn check_rounding(omega: &[f64]) -> Result<()> {
    if omega.contains(&0.0) {
        return Err(Error::NotConverged {
            what: "the lowest mode".into(),
            detail: "its stiffness is lost in the rounding of the stiffest mode's".into(),
            remedy: "check stiffness, mass and inertia for extreme ratios".into(),
        });
    }
    Ok(())
}

fn assembled(
    linear: &Linear,
    omega: &[f64],
    phi: &DMatrix<f64>,
    damping_model: TimeModel,
    roots: &[Root],
    eigenvalue: Vec<Complex64>,
    iterations: Vec<usize>,
) -> Result<Modes> {
    let mut shape = phi.clone();
    lanes::modes::turn_upright(&mut shape);
    let energy = energy(linear, &shape);
    let pairs = paired(roots)?;
    Ok(Modes {
        dofs: linear.dofs.clone(),
        frequency: omega.iter().map(|w| w / TAU).collect(),
        damping_ratio: pairs.iter().map(|p| p.damping_ratio).collect(),
        damped_frequency: pairs.iter().map(|p| p.root.s.im / TAU).collect(),
        damped_shape: damped_shape(phi, &pairs),
        eigenvalue,
        damping_model,
        residual: vec![0.0; iterations.len()],
        iterations,
        energy_raw: raw_energy(linear, &shape),
        description: describe(&linear.dofs, &energy),
        energy,
        shape,
        elastic_center: elastic_center(linear),
    })
}

/// Natural frequencies (design, mode), Hz, and mass-normalized shapes (design, dof, mode) of many
/// systems at once; `mass` and `stiffness` are (design, dof, dof), symmetric, of which the lower
/// triangle is read. A mass of one design stands for all.
///
/// # Errors
/// Shapes that do not fit, a mass that is not positive definite, or a stiffness that lets a mode run
/// away; with the index of the design.
pub fn many(
    mass: ArrayView3<f64>,
    stiffness: ArrayView3<f64>,
) -> Result<(Array2<f64>, Array3<f64>)> {
    let (designs, n, _) = stiffness.dim();
    if stiffness.dim().2 != n || (mass.dim() != (1, n, n) && mass.dim() != stiffness.dim()) {
        return Err(Error::Shape {
            argument: "mass".into(),
            found: format!("{:?}", mass.dim()),
            expected: format!("{:?} or (1, {n}, {n})", stiffness.dim()),
        });
    }
    let isa = instruction_set()?;
    let mut frequency = Array2::zeros((designs, n));
    let mut shape = Array3::zeros((designs, n, n));
    let mut block = lanes::modes::Block::new(n);
    let (mass, stiffness) = (mass.as_standard_layout(), stiffness.as_standard_layout());
    let one_mass = mass.dim().0 == 1;
    let mass = mass.as_slice().unwrap_or_default();
    let stiffness = stiffness.as_slice().unwrap_or_default();
    for first in (0..designs).step_by(WIDTH) {
        let count = WIDTH.min(designs - first);
        for lane in 0..WIDTH {
            // The last design fills the lanes left over.
            let design = first + lane.min(count - 1);
            let of_mass = if one_mass { 0 } else { design };
            lower(n, &stiffness[design * n * n..], &mut block.k, lane);
            lower(n, &mass[of_mass * n * n..], &mut block.m, lane);
        }
        let trusted = block.solve(isa);
        for lane in 0..count {
            let design = first + lane;
            if !trusted[lane] && !block.solve_again(lane) {
                return Err(bad_design(design, "no modes", "a positive definite mass"));
            }
            let greatest = block.square[n - 1].0[lane];
            for mode in 0..n {
                let square = block.square[mode].0[lane];
                if square < -1e-10 * greatest.abs() {
                    let found = format!("omega^2 = {square:.4e} rad^2/s^2");
                    return Err(bad_design(design, &found, "a stiffness that is not negative"));
                }
                frequency[[design, mode]] = square.max(0.0).sqrt() / TAU;
            }
            for (place, value) in
                shape.index_axis_mut(ndarray::Axis(0), design).iter_mut().zip(&block.shape)
            {
                *place = value.0[lane];
            }
        }
    }
    Ok((frequency, shape))
}

/// The lower triangle of a matrix given row by row, into one lane of its packed entries.
fn lower(n: usize, matrix: &[f64], packed: &mut [Lane], lane: usize) {
    let mut entries = packed.iter_mut();
    for (i, row) in matrix.chunks_exact(n).take(n).enumerate() {
        for (value, entry) in row[..=i].iter().zip(&mut entries) {
            entry.0[lane] = *value;
        }
    }
}

fn bad_design(design: usize, found: &str, required: &str) -> Error {
    let requirement = format!("must have {required} and finite numbers");
    Error::invalid(format!("design[{design}]"), found, requirement, "check its mass and stiffness")
}

/// A damped mode: a root above the real axis with its conjugate, or two real roots.
struct Pair<'a> {
    root: &'a Root,
    damping_ratio: f64,
}

/// For each undamped mode the damped one most like it: |eta_mode|^2 / |eta|^2, since in modal
/// coordinates the undamped shapes are unit vectors.
fn paired(roots: &[Root]) -> Result<Vec<Pair<'_>>> {
    let mut candidates: Vec<Option<Pair>> = pairs(roots).into_iter().map(Some).collect();
    let n = candidates.len();
    let mut scores = Vec::with_capacity(n * n);
    for (c, pair) in candidates.iter().enumerate() {
        let eta = pair.as_ref().map_or_else(|| DVector::zeros(0), |p| p.root.eta.clone());
        let size = eta.norm_squared();
        scores.extend(eta.iter().enumerate().map(|(mode, x)| (x.norm_sqr() / size, mode, c)));
    }
    scores.sort_by(|a, b| b.0.total_cmp(&a.0));
    let modes = roots.first().map_or(0, |r| r.eta.len());
    let mut chosen: Vec<Option<Pair>> = (0..modes).map(|_| None).collect();
    for (_, mode, c) in scores {
        if chosen[mode].is_none() {
            chosen[mode] = candidates[c].take();
        }
    }
    let found: Vec<Pair> = chosen.into_iter().flatten().collect();
    if found.len() == modes {
        return Ok(found);
    }
    Err(Error::NotConverged {
        what: "pairing damped with undamped modes".into(),
        detail: format!("{} of {modes} pairs", found.len()),
        remedy: "check damping for extreme values".into(),
    })
}

/// Roots above the real axis stand for a pair; real ones are joined two by two, the slowest with
/// the one whose shape is most like its own. zeta = -(s1 + s2) / (2 sqrt(s1 s2)).
fn pairs(roots: &[Root]) -> Vec<Pair<'_>> {
    let (mut real, swinging): (Vec<&Root>, Vec<&Root>) = roots.iter().partition(|r| r.s.im == 0.0);
    let mut out: Vec<Pair> = swinging
        .into_iter()
        .map(|root| Pair { root, damping_ratio: -root.s.re / root.s.norm() })
        .collect();
    real.sort_by(|a, b| b.s.re.total_cmp(&a.s.re));
    while !real.is_empty() {
        let slow = real.remove(0);
        let alike = |r: &Root| slow.eta.dotc(&r.eta).norm_sqr() / r.eta.norm_squared();
        let best = (0..real.len()).max_by(|&a, &b| alike(real[a]).total_cmp(&alike(real[b])));
        let Some(best) = best else { break };
        let (s1, s2) = (slow.s.re, real.remove(best).s.re);
        out.push(Pair { root: slow, damping_ratio: -(s1 + s2) / (2.0 * (s1 * s2).sqrt()) });
    }
    out
}

/// Phi eta of each mode's root, the largest entry made 1.
fn damped_shape(phi: &DMatrix<f64>, pairs: &[Pair]) -> DMatrix<Complex64> {
    let phi = phi.map(Complex64::from);
    let columns: Vec<_> = pairs
        .iter()
        .map(|pair| {
            let x = &phi * &pair.root.eta;
            let heavier = |a: &Complex64, b: &Complex64| a.norm().total_cmp(&b.norm());
            let largest = x.iter().copied().max_by(heavier).unwrap_or(Complex64::ONE);
            x / largest
        })
        .collect();
    DMatrix::from_columns(&columns)
}

/// All 2n eigenvalues, by size; of a pair the one below the real axis first.
fn both_halves(roots: &[Root]) -> Vec<Complex64> {
    conjugates(roots.iter().map(|r| r.s))
}

fn conjugates(roots: impl Iterator<Item = Complex64>) -> Vec<Complex64> {
    let mut all: Vec<Complex64> =
        roots.flat_map(|s| if s.im == 0.0 { vec![s] } else { vec![s.conj(), s] }).collect();
    all.sort_by(|a, b| a.norm().total_cmp(&b.norm()));
    all
}

/// mu_i psi_i^2 with psi = P' phi (mode, dof).
fn energy(linear: &Linear, shape: &DMatrix<f64>) -> DMatrix<f64> {
    let p = &linear.principal;
    let mu = (p.transpose() * &linear.m * p).diagonal();
    let psi = match linear.is_one_machine_with_inner_masses() {
        // Its axes are no rotation: P^-1 = mu^-1 P' M.
        true => DMatrix::from_diagonal(&mu.map(f64::recip)) * p.transpose() * &linear.m * shape,
        false => p.transpose() * shape,
    };
    let n = linear.size();
    let table = DMatrix::from_fn(n, n, |mode, i| mu[i] * psi[(i, mode)].powi(2));
    rows_to_one(table)
}

fn raw_energy(linear: &Linear, shape: &DMatrix<f64>) -> DMatrix<f64> {
    let m_phi = &linear.m * shape;
    let n = linear.size();
    DMatrix::from_fn(n, n, |mode, i| shape[(i, mode)] * m_phi[(i, mode)])
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
    if linear.size() != 6 && !linear.is_one_machine_with_inner_masses() {
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
