//! A body on four Zener mounts: eigenvalues with the internal variables, transmissibility, motion
//! in time and peaks, against complex modes in 50-digit arithmetic (source in the file).
//!
//! The case has z, rx and ry only. Here the mounts stand at the height of the center of mass and
//! have springs along x and y, which leave those three alone.

use nalgebra::{DVector, Matrix3, Vector3};
use num_complex::Complex64;
use serde_json::Value;
use std::f64::consts::TAU;
use underfoot::analysis::transient::{Extrema, Start, TimeModel, Transient};
use underfoot::analysis::{modes, response, transmissibility};
use underfoot::excitation::Pulse;
use underfoot::installation::Installation;
use underfoot::law::{Dynamic, Zener};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::reference::{complex, load, number, numbers};

/// z, rx, ry.
const DOFS: [usize; 3] = [2, 3, 4];

fn case() -> Value {
    load("press/e1_zener")
}

fn installation(case: &Value, factor: f64) -> Installation {
    let body = &case["inputs"]["body"];
    let value = |key: &str| number(&body[key]);
    let inertia = Matrix3::new(
        value("Ixx"),
        value("Ixy"),
        0.0,
        value("Ixy"),
        value("Iyy"),
        0.0,
        0.0,
        0.0,
        9000.0,
    );
    let body = RigidBody::new(value("mass"), Vector3::zeros(), inertia).unwrap();
    let mount = |m: &Value| {
        let v = |key: &str| number(&m[key]);
        let law = Zener::new(v("k0") * factor, v("k1") * factor, v("c1") * factor).unwrap();
        Mount::new(Vector3::new(v("x"), v("y"), 0.0), [2e6, 2e6, 0.0])
            .and_then(|m| m.with_dynamic([None, None, Some(Dynamic::Zener(law))]))
            .unwrap()
    };
    let mounts = case["inputs"]["mounts"].as_array().unwrap().iter().map(mount).collect();
    Installation::new(body, mounts).unwrap()
}

fn motion(case: &Value) -> Transient {
    let pulse = &case["inputs"]["pulse"];
    let value = |key: &str| number(&pulse[key]);
    let load = Pulse::half_sine(value("F0"), value("T")).unwrap().segments();
    let mut g = DVector::zeros(6);
    (g[2], g[3], g[4]) = (1.0, value("y"), -value("x"));
    let end = Some(number(&case["inputs"]["t_end"]));
    let linear = installation(case, 1.0).system().linear();
    Transient::new(&linear, &load, &g, &Start::rest(6), end).unwrap()
}

#[track_caller]
fn near(found: f64, expected: f64, size: f64, tolerance: f64, what: &str) {
    let error = (found - expected).abs() / size;
    assert!(error <= tolerance, "{what}: {found} is {error:e} off {expected}");
}

fn check_eigenvalues(factor: f64) {
    let case = case();
    let linear = installation(&case, factor).system().linear();
    let found = modes(&linear).unwrap();
    assert_eq!(found.damping_model, TimeModel::InternalVariables);
    for root in case["outputs"]["eigenvalues_rad_s"].as_array().unwrap() {
        let expected = complex(root);
        let error = found
            .eigenvalue
            .iter()
            .map(|s| (s - expected).norm() / expected.norm())
            .fold(f64::INFINITY, f64::min);
        assert!(error < 1e-12, "eigenvalue {expected} missed by {error:e}");
    }
    // Besides: x, y and rz on springs without damping.
    assert_eq!(found.eigenvalue.len(), 12 + 4);
    for (residual, count) in found.residual.iter().zip(&found.iterations) {
        assert!(*residual < 1e-12 && *count > 0, "{residual:e} after {count}");
    }
}

#[test]
fn eigenvalues_with_the_internal_variables_agree_to_twelve_digits() {
    check_eigenvalues(1.0);
}

#[test]
#[should_panic(expected = "missed")]
fn a_law_wrong_by_one_part_in_a_million_is_found() {
    check_eigenvalues(1.0 + 1e-6);
}

#[test]
fn damped_modes_are_the_three_pairs_of_the_reference() {
    let case = case();
    let found = modes(&installation(&case, 1.0).system().linear()).unwrap();
    let pairs = case["outputs"]["eigenvalues_rad_s"].as_array().unwrap().iter().map(complex);
    for s in pairs.filter(|s| s.im > 0.0) {
        let known = found.damped_frequency.iter().zip(&found.damping_ratio);
        let error = known
            .map(|(f, zeta)| (f * TAU / s.im - 1.0).abs() + (zeta + s.re / s.norm()).abs())
            .fold(f64::INFINITY, f64::min);
        assert!(error < 1e-11, "{s}: {error:e}");
    }
}

#[test]
fn dynamic_stiffness_transmissibility_and_receptance_agree_to_twelve_digits() {
    let case = case();
    let inst = installation(&case, 1.0);
    let linear = inst.system().linear();
    for row in case["outputs"]["transmissibility"].as_array().unwrap() {
        let f = number(&row["f_Hz"]);
        for (mount, d) in inst.mounts.iter().zip(row["mount_stiffness_complex"].as_array().unwrap())
        {
            let found = mount.dynamic[2].as_ref().unwrap().at(f * TAU).unwrap();
            let expected = complex(d);
            assert!((found - expected).norm() < 1e-14 * expected.norm(), "{found} {expected}");
        }
        let t = transmissibility(&linear, &[f], None).unwrap();
        let expected = complex(&row["T_force_ground_over_unit_Fz_at_cg"]);
        let error = (t.matrix[[0, 2, 2]] - expected).norm() / expected.norm();
        assert!(error < 1e-12, "T at {f} Hz: {error:e}");
        let moments = row["ground_moments_x_y_about_cg"].as_array().unwrap();
        for (i, m) in moments.iter().enumerate() {
            let error = (t.matrix[[0, 3 + i, 2]] - complex(m)).norm() / expected.norm();
            assert!(error < 1e-12, "moment {i} at {f} Hz: {error:e}");
        }
        let mut load = vec![Complex64::ZERO; 6];
        load[2] = Complex64::ONE;
        let x = response(&linear, &[f], &load).unwrap().displacement;
        let receptance = row["body_receptance_z_rx_ry"].as_array().unwrap();
        for (dof, expected) in DOFS.into_iter().zip(receptance) {
            let error = (x[[0, dof]] - complex(expected)).norm() / complex(&receptance[0]).norm();
            assert!(error < 1e-12, "motion {dof} at {f} Hz: {error:e}");
        }
    }
}

#[test]
fn states_in_time_agree_to_eleven_digits() {
    let case = case();
    let motion = motion(&case);
    assert_eq!(motion.time_model, TimeModel::InternalVariables);
    assert_eq!(motion.time_model_error, 0.0);
    for state in case["outputs"]["states"].as_array().unwrap() {
        let t = number(&state["t"]);
        for (output, key) in [(motion.displacement(), "z_rx_ry"), (motion.velocity(), "velocity")] {
            let found = motion.at(&output, t).unwrap();
            let size = [2e-3, 0.1][usize::from(key == "velocity")];
            for (dof, expected) in DOFS.into_iter().zip(numbers(&state[key])) {
                near(found[dof], expected, size, 1e-11, &format!("{key} {dof} at {t} s"));
            }
        }
        // The dashpot's displacement from the force: f = k0 u + k1 (u - xi).
        let force = motion.at(&motion.mount_force(), t).unwrap();
        let x = motion.at(&motion.displacement(), t).unwrap();
        let mounts = case["inputs"]["mounts"].as_array().unwrap().iter();
        for (i, (m, xi)) in mounts.zip(numbers(&state["damper_displacements"])).enumerate() {
            let v = |key: &str| number(&m[key]);
            let u = x[2] + v("y") * x[3] - v("x") * x[4];
            let found = u - (force[3 * i + 2] - v("k0") * u) / v("k1");
            near(found, xi, 2e-3, 1e-11, &format!("dashpot {i} at {t} s"));
        }
    }
}

#[test]
fn peaks_and_their_times_agree_to_eleven_digits() {
    let case = case();
    let motion = motion(&case);
    let peaks = &case["outputs"]["peaks"];
    let compare = |found: &Extrema, key: &str| {
        let expected = &peaks[key];
        for (end, extreme) in [("max", found.max), ("min", found.min)] {
            let value = number(&expected[end]);
            near(extreme.value, value, value.abs(), 1e-11, &format!("{key} {end}"));
            let time = number(&expected[format!("t_{end}")]);
            near(extreme.time, time, 1.0, 1e-10, &format!("time of {key} {end}"));
        }
    };
    let x = motion.extrema(&motion.displacement());
    for (dof, key) in DOFS.into_iter().zip(["z", "rx", "ry"]) {
        compare(&x[dof], key);
    }
    compare(&motion.extrema(&motion.acceleration())[2], "acc_z");
    let forces = motion.extrema(&motion.mount_force());
    for i in 0..4 {
        compare(&forces[3 * i + 2], &format!("mount{}_force", i + 1));
    }
    compare(&motion.extrema(&motion.ground_wrench())[2], "ground_vertical_force");
}
