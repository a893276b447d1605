//! Natural frequencies, shapes and energies of any machine.

use nalgebra::{DMatrix, Matrix3, Vector3};
use num_complex::Complex64;
use proptest::prelude::*;
use std::f64::consts::TAU;
use underfoot::analysis::transient::TimeModel;
use underfoot::analysis::{Modes, modes, transmissibility};
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::random::{config, frequency, machine, magnitude, stiffened, undamped_machine};

fn of(inst: &Installation) -> Modes {
    modes(&inst.system().linear()).unwrap()
}

/// Largest relative difference between frequencies.
fn apart(a: &[f64], b: &[f64]) -> f64 {
    assert_eq!(a.len(), b.len());
    a.iter().zip(b).map(|(a, b)| (a / b - 1.0).abs()).fold(0.0, f64::max)
}

/// Largest entry of T1 - T2 over that of T2, or over 1.
fn transmissibility_apart(a: &Installation, b: &Installation, f: f64) -> f64 {
    let t =
        |inst: &Installation| transmissibility(&inst.system().linear(), &[f], None).unwrap().matrix;
    let (a, b) = (t(a), t(b));
    let size = b.iter().map(|x| x.norm()).fold(1.0, f64::max);
    (&a - &b).iter().map(|x| x.norm()).fold(0.0, f64::max) / size
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn energy_fractions_lie_between_zero_and_one_and_add_up(inst in machine()) {
        let found = of(&inst);
        for mode in 0..6 {
            let row = found.energy.row(mode);
            prop_assert!(row.iter().all(|e| (0.0..=1.0).contains(e)), "{row}");
            prop_assert!((row.sum() - 1.0).abs() < 1e-14);
            prop_assert!((found.energy_raw.row(mode).sum() - 1.0).abs() < 1e-12);
        }
        // Each degree of freedom shares out its own whole over the modes, too.
        for dof in 0..6 {
            prop_assert!((found.energy.column(dof).sum() - 1.0).abs() < 1e-11);
        }
    }

    #[test]
    fn shapes_satisfy_the_equation_and_are_orthonormal_in_the_mass(inst in machine()) {
        let linear = inst.system().linear();
        let found = of(&inst);
        let phi = &found.shape;
        let gram = phi.transpose() * &linear.m * phi;
        prop_assert!((gram - DMatrix::identity(6, 6)).amax() < 1e-12);
        let omega2 = DMatrix::from_fn(6, 6, |i, j| {
            if i == j { (found.frequency[i] * TAU).powi(2) } else { 0.0 }
        });
        let error = (phi.transpose() * &linear.k * phi - &omega2).amax();
        prop_assert!(error < 1e-12 * omega2.amax(), "{error:e}");
        prop_assert!(found.frequency.windows(2).all(|f| f[0] <= f[1]));
    }

    #[test]
    fn damped_roots_and_shapes_satisfy_their_equation_and_die_away(inst in machine()) {
        let mut linear = inst.system().linear();
        let found = of(&inst);
        if found.damping_model == TimeModel::EquivalentViscous {
            // C_e = C + Phi^-T (Phi' H Phi Omega^-1) Phi^-1 takes the place of the loss factors.
            let inverse = found.shape.transpose() * &linear.m;
            let mut loss = found.shape.transpose() * &linear.h * &found.shape;
            for (mut column, f) in loss.column_iter_mut().zip(&found.frequency) {
                column /= TAU * f;
            }
            linear.c += inverse.transpose() * loss * inverse;
            linear.h.fill(0.0);
        }
        prop_assert_eq!(found.eigenvalue.len(), 12);
        for s in &found.eigenvalue {
            prop_assert!(s.re <= 1e-12 * s.norm(), "{s} grows");
        }
        for mode in 0..6 {
            // The root that belongs to the mode, at positive frequency.
            let at = |s: &&Complex64| (s.im / TAU - found.damped_frequency[mode]).abs();
            let upper: Vec<_> = found.eigenvalue.iter().filter(|s| s.im > 0.0).collect();
            if found.damped_frequency[mode] == 0.0 {
                continue;
            }
            let s = **upper.iter().min_by(|a, b| at(a).total_cmp(&at(b))).unwrap();
            let x = found.damped_shape.column(mode);
            let terms = [
                linear.m.map(Complex64::from) * (x * (s * s)),
                linear.c.map(Complex64::from) * (x * s),
                linear.k.map(Complex64::from) * x,
                linear.h.map(|h| Complex64::new(0.0, h)) * x,
            ];
            for i in 0..6 {
                let sum: Complex64 = terms.iter().map(|t| t[i]).sum();
                let size: f64 = (0..6)
                    .map(|j| {
                        let parts = s.norm_sqr() * linear.m[(i, j)].abs()
                            + s.norm() * linear.c[(i, j)].abs()
                            + linear.k[(i, j)].abs()
                            + linear.h[(i, j)].abs();
                        parts * x[j].norm()
                    })
                    .sum();
                prop_assert!(sum.norm() < 1e-11 * size, "mode {mode} row {i}: {sum} of {size:e}");
            }
        }
    }

    /// C = beta K gives zeta = beta omega / 2; one loss factor gives s^2 = -omega^2 (1 + j eta).
    #[test]
    fn damping_in_proportion_to_stiffness_follows_its_closed_form(
        inst in undamped_machine(), beta in magnitude(-5.0, -3.5), eta in 0.01..0.5,
    ) {
        let mut viscous = inst.clone();
        let mut hysteretic = inst.clone();
        for (a, b) in viscous.mounts.iter_mut().zip(&mut hysteretic.mounts) {
            a.damping = a.stiffness.map(|k| beta * k);
            b.loss_factor = [eta; 3];
        }
        let found = of(&viscous);
        for i in 0..6 {
            let expected = beta * found.frequency[i] * TAU / 2.0;
            prop_assert!((found.damping_ratio[i] / expected - 1.0).abs() < 1e-9);
        }
        let found = of(&hysteretic);
        let expected = (eta.atan() / 2.0).sin();
        for i in 0..6 {
            prop_assert!((found.damping_ratio[i] / expected - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn without_damping_damped_modes_are_the_undamped_ones(inst in undamped_machine()) {
        let found = of(&inst);
        prop_assert!(found.damping_ratio.iter().all(|z| z.abs() < 1e-12));
        prop_assert!(apart(&found.damped_frequency, &found.frequency) < 1e-12);
    }

    #[test]
    fn twice_the_mass_on_twice_the_stiffness_has_the_same_frequencies(inst in machine()) {
        let times = |factor: f64| {
            let mut out = stiffened(&inst, factor);
            let inertia = inst.body.inertia() * factor;
            out.body =
                RigidBody::new(inst.body.mass() * factor, *inst.body.center(), inertia).unwrap();
            of(&out).frequency
        };
        let before = of(&inst).frequency;
        prop_assert!(apart(&times(2.0), &before) < 1e-12);
        // Four has an exact root: not even rounding differs.
        prop_assert_eq!(&times(4.0), &before);
        let four = of(&stiffened(&inst, 4.0)).frequency;
        let expected: Vec<_> = before.iter().map(|f| 2.0 * f).collect();
        prop_assert!(apart(&four, &expected) < 1e-14);
    }

    #[test]
    fn the_order_of_the_mounts_changes_nothing(
        inst in machine(), f in frequency(), by in 1usize..8,
    ) {
        let mut other = inst.clone();
        let count = other.mounts.len();
        other.mounts.rotate_left(by % count);
        other.mounts.swap(0, count - 1);
        prop_assert!(apart(&of(&other).frequency, &of(&inst).frequency) < 1e-12);
        prop_assert!(transmissibility_apart(&other, &inst, f) < 1e-11);
        // Each mount keeps its own force.
        let found = |inst: &Installation| transmissibility(&inst.system().linear(), &[f], None).unwrap();
        let (a, b) = (found(&inst), found(&other));
        let (own, turned) = (a.mount().unwrap(), b.mount().unwrap());
        let size = own.iter().map(|x| x.norm()).fold(1.0, f64::max);
        for (i, name) in a.mounts.iter().enumerate() {
            let j = b.mounts.iter().position(|other| other == name).unwrap();
            for axis in 0..3 {
                for source in 0..6 {
                    let error = (own[[0, i, axis, source]] - turned[[0, j, axis, source]]).norm();
                    prop_assert!(error < 1e-11 * size, "{name}");
                }
            }
        }
    }

    #[test]
    fn two_halves_in_one_place_make_one_mount(
        inst in machine(), f in frequency(), which in 0usize..4,
    ) {
        let mut split = inst.clone();
        let half = |name: &str| {
            let mut half = inst.mounts[which].clone();
            half.name = name.into();
            half.stiffness = half.stiffness.map(|k| k / 2.0);
            half.static_stiffness = half.static_stiffness.map(|k| k / 2.0);
            half.damping = half.damping.map(|c| c / 2.0);
            half
        };
        split.mounts[which] = half("one half");
        split.mounts.push(half("other half"));
        prop_assert!(apart(&of(&split).frequency, &of(&inst).frequency) < 1e-12);
        prop_assert!(transmissibility_apart(&split, &inst, f) < 1e-11);
    }

    /// Rayleigh: a spring more raises no frequency less, mass more lowers none less.
    #[test]
    fn an_added_mount_lowers_no_frequency(inst in machine(), more in crate::random::mount()) {
        let mut stiffer = inst.clone();
        stiffer.mounts.push(more.with_name("one more"));
        let (before, after) = (of(&inst).frequency, of(&stiffer).frequency);
        prop_assert!(before.iter().zip(&after).all(|(a, b)| *b >= a * (1.0 - 1e-12)));
        prop_assert!(after.iter().sum::<f64>() > before.iter().sum::<f64>());
    }
}

/// Solid cube, side 2 l, on equal springs at its eight corners.
fn cube(mass: f64, l: f64, k: f64, eta: f64) -> Installation {
    let inertia = Matrix3::from_diagonal_element(mass * 4.0 * l * l / 6.0);
    let body = RigidBody::new(mass, Vector3::zeros(), inertia).unwrap();
    let corner = |i: usize| {
        let side = |bit: usize| if i >> bit & 1 == 1 { l } else { -l };
        Mount::new(Vector3::new(side(0), side(1), side(2)), [k; 3])
            .and_then(|m| m.with_loss_factor([eta; 3]))
            .unwrap()
    };
    Installation::new(body, (0..8).map(corner).collect()).unwrap()
}

#[test]
fn a_cube_on_a_cubic_support_has_two_triple_modes() {
    for eta in [0.0, 0.1] {
        let (mass, l, k): (f64, f64, f64) = (240.0, 0.4, 30e3);
        let found = of(&cube(mass, l, k, eta));
        // sqrt(8 k / m), and 16 k l^2 over J = 2/3 m l^2: sqrt(24 k / m).
        let [shift, turn] = [8.0, 24.0].map(|x: f64| (x * k / mass).sqrt() / TAU);
        let expected = [shift, shift, shift, turn, turn, turn];
        assert!(apart(&found.frequency, &expected) < 1e-13);
        for mode in 0..6 {
            let translation: f64 = (0..3).map(|dof| found.energy[(mode, dof)]).sum();
            assert!((translation - if mode < 3 { 1.0 } else { 0.0 }).abs() < 1e-12);
            assert!((found.damping_ratio[mode] - (f64::atan(eta) / 2.0).sin()).abs() < 1e-12);
        }
        let m = cube(mass, l, k, eta).system().linear().m;
        let gram = found.shape.transpose() * m * &found.shape;
        assert!((gram - DMatrix::identity(6, 6)).amax() < 1e-13);
    }
}
