//! Five turned mounts on an infinite plate whose point mobility is real: each mount in line with a
//! dashpot 1/Y along z. Synthetic case S5 (source in the file; one computation, mpmath).
//!
//! A mount is turned against the plate, so that the plate is in line with one direction of its
//! stiffness K alone: with v = K e_z, k = e_z' K e_z, the mount is K - v v'/k, and along v / k the
//! spring k (1 + j eta) in line with the dashpot.

use nalgebra::{DMatrix, Vector3};
use num_complex::Complex64;
use serde_json::Value;
use underfoot::analysis::{response, transmissibility};
use underfoot::law::{ComplexStiffness, Dynamic, Viscous};
use underfoot::system::{DynamicElement, Linear};

use crate::reference::{complex, load, number};
use crate::sixdof_synthetic::{Damping, machine};

fn on_plate(mobility: f64) -> Linear {
    let mut linear = machine(&load("sixdof/syn_S1"), Damping::Hysteretic).system().linear();
    let n = linear.size();
    let zero = || DMatrix::zeros(n, n);
    let (mut k, mut h, mut dynamic) = (zero(), zero(), Vec::new());
    for element in &mut linear.elements {
        let axes = element.ground.as_ref().unwrap().wrench.rows(0, 3).into_owned();
        let up = axes.transpose() * Vector3::z();
        let v = &element.k * &up;
        let along = up.dot(&v);
        let eta = element.h[(0, 0)] / element.k[(0, 0)];
        element.k -= &v * v.transpose() / along;
        element.h = &element.k * eta;
        let law = Dynamic::series(vec![
            Dynamic::Complex(ComplexStiffness::new(along, eta).unwrap()),
            Dynamic::Viscous(Viscous::new(0.0, 1.0 / mobility).unwrap()),
        ]);
        let b = DMatrix::from_column_slice(3, 1, (v / along).as_slice());
        element.dynamic = vec![DynamicElement { b: b.clone(), law: law.clone().unwrap() }];
        dynamic.push(DynamicElement { b: &element.b * b, law: law.unwrap() });
        k += &element.b * &element.k * element.b.transpose();
        h += &element.b * &element.h * element.b.transpose();
    }
    (linear.k, linear.h, linear.dynamic) = (k, h, dynamic);
    linear
}

fn check(mobility_factor: f64) {
    let case = load("sixdof/syn_S5_mobility_foundation");
    let mobility = number(&case["inputs"]["Y_point"]);
    let linear = on_plate(mobility * mobility_factor);
    let mut vertical = vec![Complex64::ZERO; 6];
    vertical[2] = Complex64::ONE;
    for name in ["10", "25", "63"] {
        let f: f64 = name.parse().unwrap();
        let expected = &case["outputs"][name];
        let found = response(&linear, &[f], &vertical).unwrap();
        let list = |key: &str| -> Vec<Complex64> { rows(&expected[key]) };
        let x: Vec<_> = found.displacement.iter().copied().collect();
        near(&x, &list("q_CG"), &format!("motion at {f} Hz"));
        let forces: Vec<_> = found.mount_force().unwrap().iter().copied().collect();
        let listed: Vec<_> =
            expected["mount_forces"].as_array().unwrap().iter().flat_map(rows).collect();
        near(&forces, &listed, &format!("mount forces at {f} Hz"));
        let sum: Vec<_> = found.ground_wrench().unwrap().iter().take(3).copied().collect();
        near(&sum, &list("sum_force"), &format!("force on the plate at {f} Hz"));
        let power: f64 = (0..5)
            .map(|i| 0.5 * found.mount_force().unwrap()[[0, i, 2]].norm_sqr() * mobility)
            .sum();
        let listed = number(&expected["power_into_foundation_W_peak_amplitude_half"]);
        assert!((power / listed - 1.0).abs() < 1e-10, "power at {f} Hz: {power}");
        let t = transmissibility(&linear, &[f], None).unwrap().matrix;
        let t: Vec<_> = t.iter().copied().collect();
        let listed: Vec<_> = expected["TF_6x6"].as_array().unwrap().iter().flat_map(rows).collect();
        near(&t, &listed, &format!("transmissibility at {f} Hz"));
    }
}

fn rows(list: &Value) -> Vec<Complex64> {
    list.as_array().unwrap().iter().map(complex).collect()
}

#[track_caller]
fn near(found: &[Complex64], expected: &[Complex64], what: &str) {
    assert_eq!(found.len(), expected.len(), "{what}");
    let size = expected.iter().map(|x| x.norm()).fold(0.0, f64::max);
    for (a, b) in found.iter().zip(expected) {
        assert!((a - b).norm() < 1e-10 * size, "{what}: {a} {b}");
    }
}

#[test]
fn motion_forces_power_and_transmissibility_agree_to_ten_digits() {
    check(1.0);
}

#[test]
#[should_panic(expected = "at 10 Hz")]
fn a_mobility_wrong_by_one_part_in_a_million_is_found() {
    check(1.0 + 1e-6);
}
