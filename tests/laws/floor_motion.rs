//! A floor that moves: reciprocity with forces, and the transient against the steady response.

use approx::assert_relative_eq;
use nalgebra::{DMatrix, DVector, Vector3};
use num_complex::Complex64;
use std::f64::consts::TAU;
use underfoot::analysis::transient::{FloorMotion, ShockOptions, Transient, carried_along};
use underfoot::analysis::transient::{Load, Shock};
use underfoot::analysis::{base_transmissibility, transmissibility};
use underfoot::excitation::{Pulse, Segment};
use underfoot::law::{Dynamic, Zener};
use underfoot::system::Linear;

use crate::laws_time::press;

fn zener(k: f64) -> Dynamic {
    Dynamic::Zener(Zener::new(k, 0.8 * k, 0.016 * k).unwrap())
}

fn dashpots() -> Linear {
    let mut linear = press(zener);
    for element in &mut linear.elements {
        element.dynamic.clear();
        element.k = DMatrix::from_diagonal(&DVector::from_vec(vec![1.4e6, 1.8e6, 3.6e6]));
        element.c = &element.k * 2e-3;
    }
    linear.dynamic.clear();
    let sum = |of: &dyn Fn(&underfoot::system::LinearElement) -> DMatrix<f64>| {
        let zero = DMatrix::zeros(6, 6);
        linear.elements.iter().fold(zero, |s, e| s + &e.b * of(e) * e.b.transpose())
    };
    let (k, c) = (sum(&|e| e.k.clone()), sum(&|e| e.c.clone()));
    Linear { k, c, ..linear }
}

/// (K + j omega C - omega^2 M)^-1.
fn receptance(linear: &Linear, omega: f64) -> DMatrix<Complex64> {
    let z = DMatrix::from_fn(6, 6, |i, j| {
        Complex64::new(
            linear.k[(i, j)] - omega * omega * linear.m[(i, j)],
            omega * linear.c[(i, j)],
        )
    });
    z.try_inverse().unwrap()
}

#[test]
fn what_a_floor_does_to_the_machine_is_what_the_machine_does_to_the_floor() {
    let linear = dashpots();
    let frequency: Vec<f64> = (1..60).map(|i| 0.5 * f64::from(i)).collect();
    for point in [None, Some(Vector3::new(0.4, -0.3, 1.7))] {
        let base = base_transmissibility(&linear, &frequency, point).unwrap();
        let force = transmissibility(&linear, &frequency, point).unwrap();
        for f in 0..frequency.len() {
            for i in 0..6 {
                for j in 0..6 {
                    assert_relative_eq!(
                        (base.matrix[[f, i, j]] - force.matrix[[f, j, i]]).norm(),
                        0.0,
                        epsilon = 1e-13
                    );
                }
            }
            assert_relative_eq!(base.vertical[f], force.vertical[f], max_relative = 1e-12);
        }
    }
}

#[test]
fn the_momentum_side_gives_the_same_motion_of_the_machine() {
    // X = (1 + omega^2 Z^-1 M) U: the machine seen from the floor is pulled back by its own mass.
    let linear = dashpots();
    for f in [0.7, 3.0, 6.5, 12.0] {
        let base = base_transmissibility(&linear, &[f], None).unwrap();
        let omega = TAU * f;
        let mass = linear.m.map(Complex64::from) * Complex64::from(omega * omega);
        let moved = DMatrix::identity(6, 6) + receptance(&linear, omega) * mass;
        for i in 0..6 {
            for j in 0..6 {
                let difference = (base.matrix[[0, i, j]] - moved[(i, j)]).norm();
                assert!(difference < 1e-10, "{f} Hz {i} {j}: {difference:e}");
            }
        }
    }
}

#[test]
fn a_floor_that_swings_for_long_moves_the_machine_as_its_transmissibility_says() {
    let linear = dashpots();
    let f = 4.3;
    let omega = TAU * f;
    let swing = Segment {
        exponentials: vec![(Complex64::ONE, Complex64::I * omega)],
        ..Segment::line(0.0, 90.0, 0.0, 0.0)
    };
    let floor = FloorMotion { direction: Vector3::x(), acceleration: vec![swing] };
    let motion = Transient::on_floor(&linear, &[floor], Some(90.0)).unwrap();
    let t = 89.9;
    let found = motion.at(&motion.acceleration(), t).unwrap();
    let base = base_transmissibility(&linear, &[f], None).unwrap();
    let turn = Complex64::cis(omega * t);
    for i in 0..6 {
        // Absolute acceleration for unit acceleration of the floor.
        let steady = (base.matrix[[0, i, 0]] * turn).re;
        assert!((found[i] - steady).abs() < 1e-9, "{i}: {} is not {steady}", found[i]);
    }
}

#[test]
fn on_a_floor_that_jolts_the_forces_of_the_mounts_accelerate_the_machine() {
    for linear in [dashpots(), press(zener)] {
        let acceleration = Pulse::half_sine(3.0, 0.06).unwrap().segments();
        let direction = Vector3::new(0.48, 0.6, 0.64);
        let floor = [FloorMotion { direction, acceleration: acceleration.clone() }];
        let shock = Shock::on_floor(&linear, &floor, &ShockOptions::default()).unwrap();
        let motion = &shock.transient;
        for t in [0.0, 0.02, 0.055, 0.2, 0.7] {
            let absolute = motion.at(&motion.acceleration(), t).unwrap();
            let ground = motion.at(&motion.ground_wrench(), t).unwrap();
            let pull = &linear.m * absolute;
            assert_relative_eq!(pull, -ground.clone(), epsilon = 1e-8 * ground.amax().max(1.0));
        }
        // The same as a force on the machine, seen from the floor.
        let g = -(&linear.m * carried_along(&linear).unwrap()) * direction;
        let g = DVector::from_column_slice(g.as_slice());
        let rest = underfoot::analysis::transient::Start::rest(6);
        let same = Transient::under(&linear, &[Load::new(g, acceleration)], &rest, None).unwrap();
        let (a, b) = (motion.peak(&motion.mount_force()), same.peak(&same.mount_force()));
        assert_relative_eq!(a.unwrap().value, b.unwrap().value, max_relative = 1e-13);
    }
}

#[test]
fn a_machine_on_mounts_is_carried_along_without_turning() {
    let along = carried_along(&press(zener)).unwrap();
    let expected = DMatrix::from_fn(6, 3, |i, j| if i == j { 1.0 } else { 0.0 });
    assert_relative_eq!(along, expected, epsilon = 1e-12);
}

#[test]
fn directions_that_are_no_unit_vectors_are_refused() {
    let floor = FloorMotion { direction: Vector3::new(0.0, 0.0, 2.0), acceleration: Vec::new() };
    let error = Transient::on_floor(&dashpots(), &[floor], None).unwrap_err().to_string();
    assert!(error.starts_with("direction") && error.contains("length 1"), "{error}");
}
