//! Which motions do the mounts leave free?
//!
//! K x = 0 for x != 0: the null space of the stiffness, told in words. A free translation is
//! "free to slide along y"; a free rotation theta with translation t of the center of mass turns
//! about the line through p = theta x t / |theta|^2 and advances theta . t / |theta|^2 per radian.
//!
//! Rotations are scaled by the length L = sqrt(tr K_rot / tr K_trans) and each coordinate by its
//! own stiffness, so that translations, rotations, stiff and soft bodies compare; a direction is
//! free if its stiffness is below 1e-12 of the largest. Source: textbook (screw axis of a small
//! rigid motion, Chasles' theorem).

use nalgebra::{DMatrix, DVector, SymmetricEigen, Vector3};

use crate::error::{Error, Result};
use crate::system::{Axis, Dof};

/// A direction with less than this part of the largest stiffness is free.
const FREE: f64 = 1e-12;
/// A diagonal entry below this part of the largest is rounding, not stiffness.
const NOTHING: f64 = 1e-14;
/// Components below this part are rounding when a motion is put in words.
const FAINT: f64 = 1e-7;

/// Refuses a stiffness with a free motion: `Error::FreeMotion` naming all of them.
pub fn refuse_free_motion(k: &DMatrix<f64>, dofs: &[Dof], reference: &Vector3<f64>) -> Result<()> {
    let motions = free_motions(k, dofs, reference);
    if motions.is_empty() {
        return Ok(());
    }
    Err(Error::FreeMotion {
        motion: motions.join("; "),
        remedy: "give a mount stiffness in that direction, or add a mount that resists it".into(),
    })
}

/// The free motions of a stiffness (symmetric, N/m and N m/rad), in words; empty if there is none.
/// `reference` is the center of mass of the first body, m.
pub fn free_motions(k: &DMatrix<f64>, dofs: &[Dof], reference: &Vector3<f64>) -> Vec<String> {
    let length = characteristic_length(k, dofs);
    let free = null_space(k, dofs, length);
    separate(free, dofs).iter().map(|z| in_words(z, dofs, reference, length)).collect()
}

/// Length L by which rotations and translations compare, m.
pub(crate) fn characteristic_length(k: &DMatrix<f64>, dofs: &[Dof]) -> f64 {
    let sum = |rotation: bool| -> f64 {
        (0..dofs.len()).filter(|&i| is_rotation(dofs[i].axis) == rotation).map(|i| k[(i, i)]).sum()
    };
    let (turn, shift) = (sum(true), sum(false));
    if turn > 0.0 && shift > 0.0 { (turn / shift).sqrt() } else { 1.0 }
}

/// 1 for a translation, 1/L for a rotation: x = S z with z in meters throughout.
pub(crate) fn length_scale(dofs: &[Dof], length: f64) -> DVector<f64> {
    DVector::from_iterator(
        dofs.len(),
        dofs.iter().map(|d| if is_rotation(d.axis) { 1.0 / length } else { 1.0 }),
    )
}

/// The motion z (rotations times L) in words.
pub(crate) fn in_words(
    z: &DVector<f64>,
    dofs: &[Dof],
    reference: &Vector3<f64>,
    length: f64,
) -> String {
    let bodies = body_names(dofs);
    let size = z.amax();
    let mut told: Vec<(String, Vec<&str>)> = Vec::new();
    for (index, body) in bodies.iter().enumerate() {
        let (shift, turn) = motion_of(z, dofs, body);
        if shift.amax().max(turn.amax()) <= FAINT * size {
            continue;
        }
        let center = (index == 0).then_some(reference);
        let phrase = phrase(&shift, &(turn / length), center, length);
        match told.iter_mut().find(|(same, _)| *same == phrase) {
            Some((_, names)) => names.push(body),
            None => told.push((phrase, vec![body])),
        }
    }
    let one_body = bodies.len() == 1;
    let parts: Vec<String> = told
        .into_iter()
        .map(|(phrase, names)| match names.as_slice() {
            _ if one_body => phrase,
            [name] => format!("{phrase} (body {name})"),
            names => format!("{phrase} (bodies {} together)", names.join(" and ")),
        })
        .collect();
    parts.join(" while ")
}

/// Names of the bodies in the order of their degrees of freedom.
pub(crate) fn body_names(dofs: &[Dof]) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for dof in dofs {
        if !names.contains(&dof.body.as_str()) {
            names.push(&dof.body);
        }
    }
    names
}

fn is_rotation(axis: Axis) -> bool {
    matches!(axis, Axis::Rx | Axis::Ry | Axis::Rz)
}

/// Translation and (scaled) rotation of one body.
fn motion_of(z: &DVector<f64>, dofs: &[Dof], body: &str) -> (Vector3<f64>, Vector3<f64>) {
    let (mut shift, mut turn) = (Vector3::zeros(), Vector3::zeros());
    for (i, dof) in dofs.iter().enumerate().filter(|(_, dof)| dof.body == body) {
        match dof.axis {
            Axis::X => shift.x = z[i],
            Axis::Y => shift.y = z[i],
            Axis::Z => shift.z = z[i],
            Axis::Rx => turn.x = z[i],
            Axis::Ry => turn.y = z[i],
            Axis::Rz => turn.z = z[i],
        }
    }
    (shift, turn)
}

/// Orthonormal basis (columns, rotations times L) of the free motions.
fn null_space(k: &DMatrix<f64>, dofs: &[Dof], length: f64) -> DMatrix<f64> {
    let n = dofs.len();
    let s = length_scale(dofs, length);
    let k = DMatrix::from_fn(n, n, |i, j| s[i] * k[(i, j)] * s[j]);
    let largest = (0..n).map(|i| k[(i, i)].abs()).fold(0.0, f64::max);
    if largest == 0.0 {
        return DMatrix::identity(n, n);
    }
    let w: Vec<f64> = (0..n)
        .map(|i| if k[(i, i)] > NOTHING * largest { k[(i, i)] } else { largest }.sqrt().recip())
        .collect();
    let eigen = SymmetricEigen::new(DMatrix::from_fn(n, n, |i, j| w[i] * k[(i, j)] * w[j]));
    let bound = FREE * eigen.eigenvalues.amax();
    let free: Vec<DVector<f64>> = (0..n)
        .filter(|&j| eigen.eigenvalues[j] < bound)
        .map(|j| DVector::from_fn(n, |i, _| w[i] * eigen.eigenvectors[(i, j)]).normalize())
        .collect();
    if free.is_empty() { DMatrix::zeros(n, 0) } else { DMatrix::from_columns(&free).qr().q() }
}

/// A basis that reads well: pure translations first, then rotations free of them, each along
/// coordinate axes where that can be.
fn separate(basis: DMatrix<f64>, dofs: &[Dof]) -> Vec<DVector<f64>> {
    let (n, m) = basis.shape();
    if m == 0 {
        return Vec::new();
    }
    let rows = |rotation: bool| -> Vec<usize> {
        (0..n).filter(|&i| is_rotation(dofs[i].axis) == rotation).collect()
    };
    let (turns, shifts) = (rows(true), rows(false));
    let rotation = basis.select_rows(&turns);
    let eigen = SymmetricEigen::new(rotation.transpose() * rotation);
    let pick = |turning: bool| -> Vec<DVector<f64>> {
        (0..m)
            .filter(|&j| (eigen.eigenvalues[j] > 1e-10) == turning)
            .map(|j| &basis * eigen.eigenvectors.column(j))
            .collect()
    };
    let sliding = pick(false);
    let mut motions = reduced(sliding.clone(), &shifts);
    for mut turn in reduced(pick(true), &turns) {
        for slide in &sliding {
            let along = slide.dot(&turn);
            turn -= slide * along;
        }
        motions.push(turn.normalize());
    }
    motions
}

/// Gauss-Jordan on the basis vectors, pivots taken in the order of `rows`.
fn reduced(mut basis: Vec<DVector<f64>>, rows: &[usize]) -> Vec<DVector<f64>> {
    let mut done = 0;
    for &row in rows {
        let Some(best) = (done..basis.len())
            .max_by(|&a, &b| basis[a][row].abs().total_cmp(&basis[b][row].abs()))
        else {
            break;
        };
        if basis[best][row].abs() < 1e-6 {
            continue;
        }
        basis.swap(done, best);
        let pivot = &basis[done] / basis[done][row];
        for (i, vector) in basis.iter_mut().enumerate() {
            if i == done {
                vector.copy_from(&pivot);
            } else {
                let part = vector[row];
                *vector -= &pivot * part;
            }
        }
        done += 1;
    }
    basis.into_iter().map(|v| v.normalize()).collect()
}

/// One body's motion; `center` is its center of mass where known.
fn phrase(
    shift: &Vector3<f64>,
    turn: &Vector3<f64>,
    center: Option<&Vector3<f64>>,
    length: f64,
) -> String {
    let square = turn.norm_squared();
    if square.sqrt() * length <= FAINT * shift.norm() {
        return format!("free to slide along {}", direction(shift));
    }
    let arm = turn.cross(shift) / square;
    let advance = turn.dot(shift) / square;
    let along = direction(turn);
    let mut text = if arm.norm() <= FAINT * length {
        format!("free to turn about {along}")
    } else if let Some(center) = center {
        format!("free to turn about a line through {} m along {along}", triple(&(center + arm)))
    } else {
        format!(
            "free to turn about a line along {along} at {} m from its center of mass",
            triple(&arm)
        )
    };
    if advance.abs() > FAINT * length {
        let per_turn = short(advance.abs() * std::f64::consts::TAU);
        text.push_str(&format!(", advancing {per_turn} m per turn"));
    }
    text
}

/// "x", "y", "z" or a unit vector whose first component is positive.
fn direction(v: &Vector3<f64>) -> String {
    let unit = v.normalize();
    for (i, name) in ["x", "y", "z"].into_iter().enumerate() {
        if unit[i].abs() > 1.0 - 1e-12 {
            return name.into();
        }
    }
    let first = unit.iter().find(|c| c.abs() > 1e-6).copied().unwrap_or(1.0);
    triple(&(unit * first.signum()))
}

fn triple(v: &Vector3<f64>) -> String {
    format!("({}, {}, {})", short(v.x), short(v.y), short(v.z))
}

/// Four decimals without trailing zeros.
fn short(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system::wrench_transfer;

    fn dofs(bodies: &[&str]) -> Vec<Dof> {
        let each = |body: &&str| Axis::ALL.map(|axis| Dof { body: body.to_string(), axis });
        bodies.iter().flat_map(each).collect()
    }

    fn spring(at: [f64; 3], center: [f64; 3], k: [f64; 3]) -> DMatrix<f64> {
        let t = wrench_transfer(&Vector3::from(at), &Vector3::from(center));
        let b = DMatrix::from_fn(6, 3, |i, j| t[(i, j)]);
        &b * DMatrix::from_diagonal(&DVector::from_column_slice(&k)) * b.transpose()
    }

    #[test]
    fn four_full_mounts_leave_nothing_free() {
        let center = [0.1, 0.0, 1.5];
        let k: DMatrix<f64> = [[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]]
            .iter()
            .map(|p| spring([p[0], p[1], 0.0], center, [1e6, 1e6, 4e6]))
            .sum();
        assert!(free_motions(&k, &dofs(&["press"]), &Vector3::from(center)).is_empty());
    }

    #[test]
    fn vertical_mounts_leave_two_slides_and_a_turn() {
        let center = [0.0, 0.0, 1.0];
        let k: DMatrix<f64> = [[1.0, 1.0], [1.0, -1.0], [-1.0, 0.3]]
            .iter()
            .map(|p| spring([p[0], p[1], 0.0], center, [0.0, 0.0, 4e6]))
            .sum();
        assert_eq!(
            free_motions(&k, &dofs(&["press"]), &Vector3::from(center)),
            ["free to slide along x", "free to slide along y", "free to turn about z"]
        );
    }

    #[test]
    fn two_mounts_leave_a_turn_about_the_line_through_them() {
        let center = [0.0, 0.0, 1.0];
        let k = spring([0.5, -1.0, 0.0], center, [1e6, 1e6, 4e6])
            + spring([0.5, 1.0, 0.0], center, [1e6, 1e6, 4e6]);
        assert_eq!(
            free_motions(&k, &dofs(&["press"]), &Vector3::from(center)),
            ["free to turn about a line through (0.5, 0, 0) m along y"]
        );
    }

    #[test]
    fn a_slanted_slide_is_told_by_its_direction() {
        let across = Vector3::new(-0.8, 0.6, 0.0);
        let mut k = DMatrix::zeros(6, 6);
        for i in 0..3 {
            for j in 0..3 {
                k[(i, j)] = 2e6 * across[i] * across[j];
            }
            k[(3 + i, 3 + i)] = 1e6;
        }
        k[(2, 2)] = 3e6;
        assert_eq!(
            free_motions(&k, &dofs(&["press"]), &Vector3::zeros()),
            ["free to slide along (0.6, 0.8, 0)"]
        );
    }

    #[test]
    fn a_body_that_hangs_on_nothing_is_named() {
        let mut k = DMatrix::identity(12, 12) * 1e6;
        k[(7, 7)] = 0.0;
        assert_eq!(
            free_motions(&k, &dofs(&["press", "block"]), &Vector3::zeros()),
            ["free to slide along y (body block)"]
        );
        let mut k = DMatrix::identity(12, 12) * 1e6;
        k[(0, 6)] = -1e6;
        k[(6, 0)] = -1e6;
        assert_eq!(
            free_motions(&k, &dofs(&["press", "block"]), &Vector3::zeros()),
            ["free to slide along x (bodies press and block together)"]
        );
    }

    #[test]
    fn without_stiffness_all_six_motions_are_free() {
        let k = DMatrix::zeros(6, 6);
        let words = free_motions(&k, &dofs(&["press"]), &Vector3::zeros());
        assert_eq!(words.len(), 6);
        assert_eq!(words[5], "free to turn about z");
    }

    #[test]
    fn a_screw_motion_tells_its_advance() {
        let z = DVector::from_column_slice(&[0.0, 0.0, 0.1, 0.0, 0.0, 1.0]);
        let words = in_words(&z, &dofs(&["press"]), &Vector3::zeros(), 1.0);
        assert_eq!(words, "free to turn about z, advancing 0.6283 m per turn");
    }
}
