//! What a machine passes to the floor, whatever the machine.

use nalgebra::{DMatrix, Matrix3, Vector3};
use ndarray::ArrayView2;
use num_complex::Complex64;
use proptest::prelude::*;
use std::f64::consts::TAU;
use underfoot::analysis::{response, transmissibility, vertical_transmissibility};
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::random::{config, frequency, load, machine, magnitude, motion_error, stiffened};

/// Largest entry of a difference.
fn apart(a: ArrayView2<Complex64>, b: impl Fn(usize, usize) -> Complex64) -> f64 {
    a.indexed_iter().map(|((i, j), x)| (x - b(i, j)).norm()).fold(0.0, f64::max)
}

fn largest(a: ArrayView2<Complex64>) -> f64 {
    a.iter().map(|x| x.norm()).fold(0.0, f64::max)
}

fn identity(i: usize, j: usize) -> Complex64 {
    Complex64::from(if i == j { 1.0 } else { 0.0 })
}

proptest! {
    #![proptest_config(config())]

    /// A floor that moves by W drives the machine by sum B D W'; its answer is the transpose.
    #[test]
    fn force_transmissibility_is_the_transpose_of_motion_transmissibility(
        inst in machine(), f in frequency(),
    ) {
        let linear = inst.system().linear();
        let force = transmissibility(&linear, &[f], None).unwrap().matrix;
        let force = force.index_axis(ndarray::Axis(0), 0);
        let omega = f * TAU;
        let mut drive = DMatrix::<Complex64>::zeros(6, 6);
        for (element, foot) in linear.grounded() {
            let d = DMatrix::from_fn(3, 3, |i, j| Complex64::new(
                element.k[(i, j)], element.h[(i, j)] + omega * element.c[(i, j)],
            ));
            let floor = foot.about(&linear.reference).transpose().map(Complex64::from);
            drive += element.b.map(Complex64::from) * d * floor;
        }
        for floor_axis in 0..6 {
            let column: Vec<_> = drive.column(floor_axis).iter().copied().collect();
            let motion = response(&linear, &[f], &column).unwrap().displacement;
            let error = motion_error(
                &linear, |i| motion[[0, i]], |i| force[[floor_axis, i]],
            );
            prop_assert!(error < 1e-10, "{error:e}");
        }
    }

    #[test]
    fn all_of_a_static_load_reaches_the_floor(inst in machine()) {
        let linear = inst.system().linear();
        let t = transmissibility(&linear, &[0.0], None).unwrap();
        // With loss factors at rest too: D is complex, D D^-1 is still 1.
        let error = apart(t.matrix.index_axis(ndarray::Axis(0), 0), identity);
        prop_assert!(error < 1e-10, "{error:e}");
    }

    #[test]
    fn mount_forces_and_their_moments_add_up_to_the_ground_wrench(
        inst in machine(), f in frequency(), load in load(),
    ) {
        let found = response(&inst.system().linear(), &[f], &load).unwrap();
        let mut sum = [Complex64::ZERO; 6];
        let mut size = [0.0; 6];
        for (m, mount) in inst.mounts.iter().enumerate() {
            let force = [0, 1, 2].map(|i| found.mount_force().unwrap()[[0, m, i]]);
            let arm = mount.position - inst.body.center();
            for i in 0..3 {
                let (j, k) = ((i + 1) % 3, (i + 2) % 3);
                sum[i] += force[i];
                sum[3 + i] += force[k] * arm[j] - force[j] * arm[k];
                size[i] += force[i].norm();
                size[3 + i] += force[k].norm() * arm[j].abs() + force[j].norm() * arm[k].abs();
            }
        }
        for i in 0..6 {
            let error = (sum[i] - found.ground_wrench().unwrap()[[0, i]]).norm();
            prop_assert!(error < 1e-12 * size[i], "{i}: {error:e} of {:e}", size[i]);
        }
    }

    /// What does not reach the floor accelerates the machine.
    #[test]
    fn ground_wrench_is_the_load_less_the_change_of_momentum(
        inst in machine(), f in frequency(), load in load(),
    ) {
        let linear = inst.system().linear();
        let found = response(&linear, &[f], &load).unwrap();
        let omega = f * TAU;
        for i in 0..6 {
            let inertia: Complex64 =
                (0..6).map(|j| found.displacement[[0, j]] * (omega * omega * linear.m[(i, j)])).sum();
            let error = (load[i] + inertia - found.ground_wrench().unwrap()[[0, i]]).norm();
            let size = inertia.norm() + load.iter().map(|x| x.norm()).fold(0.0, f64::max);
            prop_assert!(error < 1e-9 * size, "{i}: {error:e} of {size:e}");
        }
    }

    /// 1 - T falls as one over the stiffness.
    #[test]
    fn on_stiffer_mounts_the_machine_tends_to_be_bolted_down(
        inst in machine(), f in 1.0..30.0, load in load(),
    ) {
        let off = |factor: f64| {
            let linear = stiffened(&inst, factor).system().linear();
            let t = transmissibility(&linear, &[f], None).unwrap();
            apart(t.matrix.index_axis(ndarray::Axis(0), 0), identity)
        };
        let (stiff, stiffer) = (off(1e9), off(1e11));
        prop_assert!(stiff < 1e-3, "{stiff:e}");
        prop_assert!(stiffer < 0.0101 * stiff + 1e-10, "{stiff:e} {stiffer:e}");

        let linear = stiffened(&inst, 1e12).system().linear();
        let ground = response(&linear, &[f], &load).unwrap().ground_wrench().unwrap();
        let size = load.iter().map(|x| x.norm()).fold(0.0, f64::max);
        for i in 0..6 {
            prop_assert!((ground[[0, i]] - load[i]).norm() < 1e-6 * size);
        }
    }

    #[test]
    fn vertical_alone_is_the_vertical_of_the_whole(inst in machine(), f in frequency()) {
        let linear = inst.system().linear();
        let whole = transmissibility(&linear, &[f], None).unwrap();
        let alone = vertical_transmissibility(&linear, &[f]).unwrap()[0];
        let size = largest(whole.matrix.index_axis(ndarray::Axis(0), 0));
        prop_assert!((alone - whole.vertical[0]).abs() < 1e-13 * size);
        prop_assert_eq!(whole.vertical[0], whole.matrix[[0, 2, 2]].norm());
    }

    /// About another point: T_P = t T t^-1 with t moving wrenches from the center of mass to P.
    #[test]
    fn about_another_point_transmissibility_moves_as_wrenches_do(
        inst in machine(), f in frequency(), at in crate::random::point(3.0),
    ) {
        let linear = inst.system().linear();
        let here = transmissibility(&linear, &[f], None).unwrap().matrix;
        let there = transmissibility(&linear, &[f], Some(at)).unwrap().matrix;
        let move_to = underfoot::system::wrench_transfer(inst.body.center(), &at);
        let back = underfoot::system::wrench_transfer(&at, inst.body.center());
        let here = DMatrix::from_fn(6, 6, |i, j| here[[0, i, j]]);
        let expected = move_to.map(Complex64::from) * here * back.map(Complex64::from);
        let there = there.index_axis(ndarray::Axis(0), 0);
        let error = apart(there, |i, j| expected[(i, j)]);
        prop_assert!(error < 1e-10 * largest(there).max(1.0), "{error:e}");
    }

    /// One degree of freedom among six: a full tensor on mounts placed evenly about it.
    #[test]
    fn crossover_is_at_sqrt_two_for_any_damping(
        mass in magnitude(1.0, 5.0), hz in 1.0..30.0, zeta in 0.0..3.0, eta in 0.0..2.0,
        which in 0usize..3,
    ) {
        let omega: f64 = hz * TAU;
        let k = mass * omega * omega / 4.0;
        let (zeta, eta) = [(zeta, 0.0), (0.0, eta), (zeta, eta)][which];
        let c = 2.0 * zeta * k / omega;
        let corners = [(0.9, 0.7), (0.9, -0.7), (-0.9, 0.7), (-0.9, -0.7)];
        let mounts = corners.map(|(x, y)| {
            Mount::new(Vector3::new(x, y, -0.6), [0.7 * k, 0.8 * k, k])
                .and_then(|m| m.with_damping([c; 3]))
                .and_then(|m| m.with_loss_factor([eta; 3]))
                .unwrap()
        });
        let tensor = Matrix3::new(0.5, -0.1, 0.05, -0.1, 0.6, 0.04, 0.05, 0.04, 0.7) * mass;
        let body = RigidBody::new(mass, Vector3::zeros(), tensor).unwrap();
        let linear = Installation::new(body, mounts.to_vec()).unwrap().system().linear();
        let t = vertical_transmissibility(&linear, &[hz * 2f64.sqrt()]).unwrap()[0];
        prop_assert!((t - 1.0).abs() < 1e-12, "{t}");
    }
}
