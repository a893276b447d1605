//! Two machines with full inertia tensors and turned mounts, at fifty digits.
//!
//! Source: synthetic cases S1 and S3 of the project's reference pack, computed with mpmath at 70
//! working digits and again at 110; recomputed by a second program to 3e-15. Not published: own
//! derivations, but of another author and another program.
//!
//! S3 has two overdamped (real) roots.

use approx::assert_relative_eq;
use nalgebra::{Matrix3, Vector3};
use serde_json::Value;
use underfoot::analysis::{modes, transmissibility};
use underfoot::installation::Installation;
use underfoot::machine::{RigidBody, body::turned};
use underfoot::support::Mount;

use crate::reference::{complex, load, number, numbers, triple};

/// What damping the mounts keep.
#[derive(Clone, Copy)]
pub enum Damping {
    None,
    Viscous,
    Hysteretic,
    Combined,
}

/// The machine of a synthetic case; the floor's origin is at its center of mass.
pub fn machine(case: &Value, damping: Damping) -> Installation {
    let inputs = &case["inputs"];
    let rows: Vec<_> = inputs["J"].as_array().unwrap().iter().flat_map(numbers).collect();
    let inertia = Matrix3::from_row_slice(&rows);
    let body = RigidBody::new(number(&inputs["mass"]), Vector3::zeros(), inertia).unwrap();
    let mounts = inputs["mounts"].as_array().unwrap().iter().map(|m| mount(m, damping)).collect();
    Installation::new(body, mounts).unwrap()
}

fn mount(m: &Value, damping: Damping) -> Mount {
    let [about_z, about_y, about_x] = triple(&m["euler_zyx_deg"]).map(f64::to_radians);
    let mount = Mount::new(Vector3::from(triple(&m["r"])), triple(&m["k"]))
        .unwrap()
        .with_axes(turned(about_x, about_y, about_z))
        .unwrap();
    let viscous = |m2: Mount| m2.with_damping(triple(&m["c"])).unwrap();
    let hysteretic = |m2: Mount| m2.with_loss_factor([number(&m["eta"]); 3]).unwrap();
    match damping {
        Damping::None => mount,
        Damping::Viscous => viscous(mount),
        Damping::Hysteretic => hysteretic(mount),
        Damping::Combined => hysteretic(viscous(mount)),
    }
}

fn both() -> [Value; 2] {
    [load("sixdof/syn_S1"), load("sixdof/syn_S3")]
}

/// Largest difference between entries, relative to the largest entry.
fn worst<T: Copy>(
    found: &[T],
    expected: &[T],
    distance: impl Fn(T, T) -> f64,
    size: impl Fn(T) -> f64,
) -> f64 {
    assert_eq!(found.len(), expected.len());
    let largest = expected.iter().map(|&x| size(x)).fold(0.0, f64::max);
    found.iter().zip(expected).map(|(&a, &b)| distance(a, b)).fold(0.0, f64::max) / largest
}

#[test]
fn stiffness_damping_and_loss_matrices_agree_to_thirteen_digits() {
    for case in both() {
        let linear = machine(&case, Damping::Combined).system().linear();
        for (name, found) in [("K", &linear.k), ("C", &linear.c), ("K_imag_hysteretic", &linear.h)]
        {
            let expected: Vec<_> =
                case["outputs"][name].as_array().unwrap().iter().flat_map(numbers).collect();
            let error = worst(found.as_slice(), &expected, |a, b| (a - b).abs(), f64::abs);
            assert!(error < 1e-13, "{name}: {error:e}");
        }
    }
}

#[test]
fn force_transmissibility_agrees_to_ten_digits_under_every_kind_of_damping() {
    for case in both() {
        for (damping, key) in [
            (Damping::Viscous, "viscous"),
            (Damping::Hysteretic, "hysteretic"),
            (Damping::Combined, "combined"),
        ] {
            let linear = machine(&case, damping).system().linear();
            let frequency = numbers(&case["inputs"]["frequencies_hz"]);
            let found = transmissibility(&linear, &frequency, None).unwrap();
            for (f, name) in case["inputs"]["frequencies_hz"].as_array().unwrap().iter().enumerate()
            {
                let table = &case["outputs"]["force_transmissibility"][name.as_str().unwrap()][key];
                for i in 0..6 {
                    for j in 0..6 {
                        let expected = complex(&table[i][j]);
                        let error = (found.matrix[[f, i, j]] - expected).norm() / expected.norm();
                        assert!(error < 1e-10, "{key} {name} Hz [{i}][{j}]: {error:e}");
                    }
                }
            }
        }
    }
}

#[test]
fn static_displacement_under_weight_agrees_to_ten_digits() {
    for case in both() {
        let system = machine(&case, Damping::None);
        let k = system.system().static_stiffness();
        let found = k.cholesky().unwrap().solve(&system.weight_of(&system.body));
        let expected = numbers(&case["outputs"]["static_displacement_gravity_minus_z_g9.80665"]);
        for (a, b) in found.iter().zip(&expected) {
            assert_relative_eq!(*a, *b, max_relative = 1e-10);
        }
    }
}

#[test]
fn a_stiffness_changed_by_a_millionth_would_be_seen() {
    let case = load("sixdof/syn_S1");
    let mut inst = machine(&case, Damping::Combined);
    for mount in &mut inst.mounts {
        mount.stiffness = mount.stiffness.map(|k| k * (1.0 + 1e-6));
    }
    let found = transmissibility(&inst.system().linear(), &[7.5], None).unwrap();
    let expected = complex(&case["outputs"]["force_transmissibility"]["7.5"]["combined"][2][2]);
    assert!((found.matrix[[0, 2, 2]] - expected).norm() / expected.norm() > 1e-7);
}

#[test]
fn undamped_frequencies_shapes_and_energies_agree_to_ten_digits() {
    for case in both() {
        let found = modes(&machine(&case, Damping::None).system().linear()).unwrap();
        let outputs = &case["outputs"];
        for (a, b) in found.frequency.iter().zip(numbers(&outputs["undamped_hz"])) {
            assert_relative_eq!(*a, b, max_relative = 1e-10);
        }
        for i in 0..6 {
            let shape = numbers(&outputs["mode_shapes_mass_normalised_rows_dof"][i]);
            let energy = numbers(&outputs["modal_KE_percent_rows_dof_cols_mode"][i]);
            for mode in 0..6 {
                // Both tables normalize to unit modal mass; the sign is a convention.
                let (a, b) = (found.shape[(i, mode)].abs(), shape[mode].abs());
                assert!((a - b).abs() < 1e-10 * found.shape.column(mode).amax(), "{a} {b}");
                assert!((100.0 * found.energy_raw[(mode, i)] - energy[mode]).abs() < 1e-9);
            }
        }
    }
}

#[test]
fn complex_eigenvalues_agree_to_ten_digits_also_the_overdamped_ones() {
    for case in both() {
        let found = modes(&machine(&case, Damping::Viscous).system().linear()).unwrap();
        let list = case["outputs"]["viscous_eigenvalues"].as_array().unwrap();
        assert_eq!(found.eigenvalue.len(), list.len());
        for expected in list.iter().map(complex) {
            let nearest =
                found.eigenvalue.iter().map(|s| (s - expected).norm()).fold(f64::MAX, f64::min);
            assert!(nearest < 1e-10 * expected.norm(), "{expected}: {nearest:e}");
        }
    }
    let overdamped = modes(&machine(&load("sixdof/syn_S3"), Damping::Viscous).system().linear());
    let overdamped = overdamped.unwrap();
    assert_eq!(overdamped.damping_ratio.iter().filter(|z| **z > 1.0).count(), 1);
    assert_eq!(overdamped.eigenvalue.iter().filter(|s| s.im == 0.0).count(), 2);
}

#[test]
fn hysteretic_roots_are_the_continuation_of_the_complex_frequencies() {
    for case in both() {
        let found = modes(&machine(&case, Damping::Hysteretic).system().linear()).unwrap();
        let list = case["outputs"]["hysteretic_complex_omega2"].as_array().unwrap();
        for expected in list.iter().map(complex) {
            let upper = found.eigenvalue.iter().filter(|s| s.im > 0.0);
            let nearest = upper.map(|s| (-s * s - expected).norm()).fold(f64::MAX, f64::min);
            assert!(nearest < 1e-10 * expected.norm(), "{expected}: {nearest:e}");
        }
    }
}

#[test]
fn principal_moments_agree_to_twelve_digits() {
    for case in both() {
        let (moments, _) = machine(&case, Damping::None).body.principal();
        let mut moments = [moments[0], moments[1], moments[2]];
        moments.sort_by(f64::total_cmp);
        for (a, b) in moments.iter().zip(numbers(&case["outputs"]["principal_moments_J"])) {
            assert_relative_eq!(*a, b, max_relative = 1e-12);
        }
    }
}
