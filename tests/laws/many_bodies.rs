//! Several bodies are more rows of the same equations, not another program.

use nalgebra::{DMatrix, Matrix3, Vector3};
use num_complex::Complex64;
use proptest::prelude::*;
use std::f64::consts::TAU;
use underfoot::analysis::{Modes, modes, response, transmissibility};
use underfoot::machine::{Part, RigidBody};
use underfoot::support::Mount;
use underfoot::system::{System, wrench_transfer};

use crate::bodies::{Spring, chain, system, z};
use crate::random::{body, config, dynamic_stiffness, frequency, motion_error, mount};

const NAMES: [&str; 3] = ["press", "block", "raft"];

/// Bodies one above the other, four turned mounts under each, and their centers of mass.
fn stack(bodies: &[RigidBody], mounts: &[Mount]) -> (System, Vec<Vector3<f64>>) {
    let count = bodies.len();
    let named: Vec<_> = bodies
        .iter()
        .enumerate()
        .map(|(i, body)| {
            let up = Vector3::new(0.0, 0.0, 2.0 * (count - i) as f64);
            (NAMES[i], body.placed(&up, &Matrix3::identity()).unwrap())
        })
        .collect();
    let springs: Vec<_> = mounts
        .iter()
        .enumerate()
        .map(|(i, mount)| {
            let upper = i / 4;
            let mut mount = mount.clone().with_name(format!("{} {}", NAMES[upper], i % 4));
            let side = |bit: usize| if i >> bit & 1 == 1 { 1.2 } else { -1.2 };
            let floor = 2.0 * (count - upper) as f64 - 1.0;
            mount.position += Vector3::new(side(0), side(1), floor);
            Spring { upper, lower: (upper + 1 < count).then_some(upper + 1), mount }
        })
        .collect();
    let centers = named.iter().map(|(_, body)| *body.center()).collect();
    (system(&named, &springs), centers)
}

fn three() -> impl Strategy<Value = (System, Vec<Vector3<f64>>)> {
    (prop::collection::vec(body(), 3), prop::collection::vec(mount(), 12))
        .prop_map(|(bodies, mounts)| stack(&bodies, &mounts))
}

fn long_load() -> impl Strategy<Value = Vec<Complex64>> {
    prop::collection::vec((-1e3..1e3, -1e3..1e3), 18)
        .prop_map(|v| v.into_iter().map(|(re, im): (f64, f64)| Complex64::new(re, im)).collect())
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn three_bodies_give_eighteen_modes((system, _) in three()) {
        let linear = system.linear();
        let found = modes(&linear).unwrap();
        prop_assert_eq!(found.frequency.len(), 18);
        prop_assert_eq!(found.eigenvalue.len(), 36);
        prop_assert!(found.frequency.iter().all(|f| *f > 0.0));
        prop_assert!(found.elastic_center.is_none());
        prop_assert!(found.description.iter().all(|d| NAMES.iter().any(|n| d.contains(n))));
        // Sum and product of the squares, without any eigenvalue.
        let squares: Vec<f64> = found.frequency.iter().map(|f| (f * TAU).powi(2)).collect();
        let trace = linear.m.clone().cholesky().unwrap().solve(&linear.k).trace();
        prop_assert!((squares.iter().sum::<f64>() / trace - 1.0).abs() < 1e-11);
        let log = |m: &DMatrix<f64>| -> f64 {
            m.clone().cholesky().unwrap().l().diagonal().iter().map(|d| 2.0 * d.ln()).sum()
        };
        let product = log(&linear.k) - log(&linear.m);
        prop_assert!((squares.iter().map(|s| s.ln()).sum::<f64>() - product).abs() < 1e-9);
        for mode in 0..18 {
            prop_assert!(found.energy.row(mode).iter().all(|e| (0.0..=1.0).contains(e)));
        }
    }

    /// Springs between bodies push on both alike, so the ground sees the loads less what
    /// accelerates the bodies, wherever each of them is.
    #[test]
    fn forces_between_bodies_cancel_in_the_ground_wrench(
        (system, centers) in three(), f in frequency(), load in long_load(),
    ) {
        let linear = system.linear();
        let found = response(&linear, &[f], &load).unwrap();
        let omega = f * TAU;
        let mut sum = nalgebra::DVector::<Complex64>::zeros(6);
        let mut size = 0.0f64;
        for body in 0..3 {
            let t = wrench_transfer(&centers[body], &system.reference).map(Complex64::from);
            let m = linear.m.view((6 * body, 6 * body), (6, 6)).map(Complex64::from);
            let x = nalgebra::DVector::from_fn(6, |i, _| found.displacement[[0, 6 * body + i]]);
            let f = nalgebra::DVector::from_fn(6, |i, _| load[6 * body + i]);
            let part = t * (f + m * x * Complex64::from(omega * omega));
            size = size.max(part.iter().map(|v| v.norm()).fold(0.0, f64::max));
            sum += part;
        }
        for i in 0..6 {
            let error = (sum[i] - found.ground_wrench().unwrap()[[0, i]]).norm();
            prop_assert!(error < 1e-9 * size, "{i}: {error:e} of {size:e}");
        }
        // Only the four mounts of the raft stand on the ground.
        prop_assert_eq!(&found.mounts, &[0, 1, 2, 3].map(|i| format!("raft {i}")));
    }

    #[test]
    fn all_of_a_static_load_on_the_press_reaches_the_ground((system, _) in three()) {
        let t = transmissibility(&system.linear(), &[0.0], None).unwrap().matrix;
        for i in 0..6 {
            for j in 0..6 {
                let expected = if i == j { 1.0 } else { 0.0 };
                prop_assert!((t[[0, i, j]] - expected).norm() < 1e-9, "{i} {j} {}", t[[0, i, j]]);
            }
        }
    }

    #[test]
    fn the_lanes_agree_with_pivoted_elimination_at_eighteen_degrees_of_freedom(
        (system, _) in three(), f in frequency(), load in long_load(),
    ) {
        let linear = system.linear();
        let x = response(&linear, &[f], &load).unwrap().displacement;
        let expected = dynamic_stiffness(&linear, f * TAU)
            .lu()
            .solve(&nalgebra::DVector::from_column_slice(&load))
            .unwrap();
        let error = motion_error(&linear, |i| x[[0, i]], |i| expected[i]);
        prop_assert!(error < 1e-10, "{error:e}");
    }

    /// Joined by a spring a million times stiffer than the mounts, two bodies are one.
    #[test]
    fn two_bodies_joined_stiffly_move_as_one(
        upper in body(), lower in body(), mounts in prop::collection::vec(mount(), 4),
    ) {
        let lift = Vector3::new(0.3, -0.2, 1.5);
        let upper = upper.placed(&lift, &Matrix3::identity()).unwrap();
        let on_ground: Vec<_> = mounts
            .into_iter()
            .enumerate()
            .map(|(i, mut mount)| {
                let side = |bit: usize| if i >> bit & 1 == 1 { 1.2 } else { -1.2 };
                mount.position += Vector3::new(side(0), side(1), -1.0);
                mount.with_name(format!("{i}"))
            })
            .collect();
        let joined = RigidBody::from_parts(&[Part::Body(upper.clone()), Part::Body(lower.clone())])
            .unwrap();
        let one: Vec<_> = on_ground
            .iter()
            .map(|m| Spring { upper: 0, lower: None, mount: m.clone() })
            .collect();
        let one = modes(&system(&[("both", joined)], &one).linear()).unwrap();

        let gap = |k: f64| {
            let mut springs: Vec<_> = on_ground
                .iter()
                .map(|m| Spring { upper: 1, lower: None, mount: m.clone() })
                .collect();
            let joint = Mount::new(Vector3::new(0.1, 0.1, 0.8), [k; 3])
                .and_then(|m| m.with_rotational_stiffness([k; 3]))
                .unwrap();
            springs.push(Spring { upper: 0, lower: Some(1), mount: joint });
            let two = [("upper", upper.clone()), ("lower", lower.clone())];
            let two = modes(&system(&two, &springs).linear()).unwrap();
            six_lowest_apart(&two, &one)
        };
        // Off by about the ratio of stiffnesses, and falling with it.
        let (stiff, stiffer) = (gap(1e11), gap(1e12));
        prop_assert!(stiff < 1e-2 && stiffer < 0.11 * stiff + 1e-5, "{stiff:e} {stiffer:e}");
    }
}

fn six_lowest_apart(two: &Modes, one: &Modes) -> f64 {
    let pairs = two.frequency.iter().zip(&one.frequency);
    pairs.map(|(a, b)| (a / b - 1.0).abs()).fold(0.0, f64::max)
}

/// Fixed at one end, masses m and springs k throughout: omega_j = 2 sqrt(k/m) sin((2 j - 1) pi / 14)
/// for three masses (textbook, from memory; e.g. L. Meirovitch, Fundamentals of
/// Vibrations, 2001).
#[test]
fn a_chain_of_three_equal_masses_has_its_three_sines_along_z() {
    let (m, k): (f64, f64) = (250.0, 4e5);
    let found = modes(&chain(&[m; 3], &[[k, 0.0]; 3], &[]).linear()).unwrap();
    let along = |mode: usize| [0, 1, 2].iter().map(|&b| found.energy[(mode, z(b))]).sum::<f64>();
    let vertical: Vec<_> = (0..18).filter(|&mode| along(mode) > 1.0 - 1e-9).collect();
    assert_eq!(vertical.len(), 3);
    for (j, mode) in vertical.into_iter().enumerate() {
        let expected =
            2.0 * (k / m).sqrt() * ((2 * j + 1) as f64 * std::f64::consts::PI / 14.0).sin() / TAU;
        assert!((found.frequency[mode] / expected - 1.0).abs() < 1e-12);
    }
}

#[test]
fn a_body_that_hangs_on_nothing_is_named() {
    let mut system = chain(&[100.0, 200.0], &[[1e5, 0.0], [3e5, 0.0]], &[]);
    system.elements.remove(0);
    let error = modes(&system.linear()).unwrap_err().to_string();
    assert!(error.contains("free to slide along z (body top)"), "{error}");
    let mut system = chain(&[100.0, 200.0], &[[1e5, 0.0], [3e5, 0.0]], &[]);
    system.elements.remove(1);
    let error = modes(&system.linear()).unwrap_err().to_string();
    assert!(error.contains("free to slide along z (bodies top and middle together)"), "{error}");
}
