//! Laws of the transient analysis: superposition, shift in time, equilibrium, momentum, energy,
//! peaks against dense samples, causal equivalents of loss factors, and critical damping.

use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use underfoot::analysis::transient::{
    Output, Quantity, ShockOptions, Start, TimeModel, Transient, shock,
};
use underfoot::excitation::{Pulse, Segment};
use underfoot::system::{Axis, Dof, Linear};

use crate::shock_systems::{Machine, at_bolster, machine};

fn solve(linear: &Linear, load: &[Segment], duration: f64) -> Transient {
    let g = at_bolster(linear);
    Transient::new(linear, load, &g, &Start::rest(linear.size()), Some(duration)).unwrap()
}

fn largest(x: &DVector<f64>) -> f64 {
    x.iter().fold(0.0, |a: f64, b| a.max(b.abs()))
}

/// A load of every kind of term, with gaps and overlaps.
fn mixed_load() -> Vec<Segment> {
    let mut load = Pulse::half_sine(2e4, 0.03).unwrap().segments();
    load.extend(Pulse::exponential_decay(-5e3, 0.01, 0.08).unwrap().segments());
    load.extend(shifted(&Pulse::terminal_peak_sawtooth(1e4, 0.02).unwrap().segments(), 0.01));
    load.extend(shifted(&Pulse::haversine(1e4, 0.02).unwrap().segments(), 0.1));
    load
}

fn shifted(load: &[Segment], by: f64) -> Vec<Segment> {
    let shift = |s: &Segment| Segment { start: s.start + by, end: s.end + by, ..s.clone() };
    load.iter().map(shift).collect()
}

fn value(load: &[Segment], t: f64) -> f64 {
    load.iter().filter(|s| s.start <= t && t < s.end).map(|s| s.value(t)).sum()
}

/// M x'' + sum of B force = g f at that time, as a part of the greatest term.
fn imbalance(motion: &Transient, load: &[Segment], t: f64) -> f64 {
    let linear = motion.linear();
    let at = |output: &Output| motion.at(output, t).unwrap();
    let mut sum = &linear.m * at(&motion.acceleration());
    let mut size = largest(&sum);
    for (i, element) in linear.elements.iter().enumerate() {
        let force = &element.b * at(&motion.element_force(i).unwrap());
        size = size.max(largest(&force));
        sum += force;
    }
    let applied = at_bolster(linear) * value(load, t);
    size = size.max(largest(&applied));
    largest(&(sum - applied)) / size
}

/// Dashpots so heavy on one mount that some motions no longer swing.
fn overdamped(machine: &Machine, loss: bool) -> Linear {
    let mut linear = machine.linear(true, loss);
    let factor = 40.0 / machine.damping_ratio;
    for element in &mut linear.elements[..2] {
        element.c *= factor;
    }
    let n = linear.size();
    let add =
        |s: DMatrix<f64>, e: &underfoot::system::LinearElement| s + &e.b * &e.c * e.b.transpose();
    linear.c = linear.elements.iter().fold(DMatrix::zeros(n, n), add);
    linear
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 12,
        rng_seed: RngSeed::Fixed(1965),
        ..ProptestConfig::default()
    })]

    #[test]
    fn responses_of_two_loads_add(machine in machine(), loss: bool) {
        let linear = machine.linear(true, loss);
        let first = Pulse::half_sine(2e4, 0.03).unwrap().segments();
        let second = shifted(&Pulse::triangular(-1e4, 0.05).unwrap().segments(), 0.012);
        let both = [first.clone(), second.clone()].concat();
        let motions = [&first, &second, &both].map(|load| solve(&linear, load, 0.4));
        let sampled = motions.each_ref().map(|m| m.sample(&m.mount_force(), 1e-3).unwrap());
        let size = sampled[2].iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        for ((a, b), sum) in sampled[0].iter().zip(&sampled[1]).zip(&sampled[2]) {
            prop_assert!((a + b - sum).abs() < 1e-11 * size);
        }
    }

    #[test]
    fn a_later_load_gives_the_same_response_later(machine in machine(), loss: bool) {
        let linear = machine.linear(true, loss);
        let load = mixed_load();
        let by = 0.0371;
        let (now, later) = (solve(&linear, &load, 0.5), solve(&linear, &shifted(&load, by), 0.6));
        let output = now.ground_wrench();
        let size = now.peak(&output).unwrap().value;
        for i in 0..100 {
            let t = 0.004_9 * f64::from(i);
            let difference = now.at(&output, t).unwrap()
                - later.at(&later.ground_wrench(), t + by).unwrap();
            prop_assert!(largest(&difference) < 1e-10 * size);
        }
        prop_assert_eq!(largest(&later.at(&later.ground_wrench(), 0.5 * by).unwrap()), 0.0);
    }

    #[test]
    fn forces_balance_at_every_instant_whatever_stands_for_damping(machine in machine()) {
        let cases = [
            (machine.linear(false, false), TimeModel::Viscous),
            (machine.linear(true, false), TimeModel::Viscous),
            (machine.linear(false, true), TimeModel::ModalContinuation),
            (machine.linear(true, true), TimeModel::ModalContinuation),
            (overdamped(&machine, false), TimeModel::Viscous),
            (overdamped(&machine, true), TimeModel::EquivalentViscous),
        ];
        for (linear, model) in cases {
            let load = mixed_load();
            let motion = solve(&linear, &load, 0.4);
            prop_assert_eq!(motion.time_model, model);
            for i in 0..80 {
                let part = imbalance(&motion, &load, 0.005 * f64::from(i) + 1e-4);
                // Rounding times the condition of the modes, which is 1e4 at most.
                prop_assert!(part < 1e-10, "{} {}", model, part);
            }
        }
    }

    #[test]
    fn the_ground_takes_the_impulse_that_the_machine_does_not_keep(
        machine in machine(), loss: bool,
    ) {
        let linear = machine.linear(true, loss);
        let pulse = Pulse::half_sine(2e4, 0.03).unwrap();
        let motion = solve(&linear, &pulse.segments(), 0.24);
        let ground = motion.sample(&motion.ground_wrench(), 2.5e-5).unwrap();
        let v = motion.at(&motion.velocity(), 0.24).unwrap();
        let momentum = &linear.m * v;
        for axis in 0..3 {
            let taken = simpson(&ground.column(axis).to_vec()[..=1200], 2.5e-5)
                + simpson(&ground.column(axis).to_vec()[1200..], 2.5e-5);
            let kept = momentum[axis] + momentum[6 + axis];
            let given = [0.3, 0.1, 1.0][axis] * pulse.impulse();
            prop_assert!((taken + kept - given).abs() < 1e-8 * pulse.impulse());
        }
    }

    #[test]
    fn energy_of_free_vibration_never_grows(machine in machine()) {
        let linear = machine.linear(true, false);
        let motion = solve(&linear, &mixed_load(), 0.6);
        let energy = |t: f64| {
            let x = motion.at(&motion.displacement(), t).unwrap();
            let v = motion.at(&motion.velocity(), t).unwrap();
            0.5 * (x.dot(&(&linear.k * &x)) + v.dot(&(&linear.m * &v)))
        };
        let mut before = energy(0.12);
        for i in 1..=240 {
            let now = energy(0.12 + 0.002 * f64::from(i));
            prop_assert!(now <= before * (1.0 + 1e-12));
            before = now;
        }
    }

    #[test]
    fn peaks_do_not_depend_on_the_grid_and_no_sample_passes_them(machine in machine(), loss: bool) {
        let linear = machine.linear(true, loss);
        let g = at_bolster(&linear);
        let period = solve(&linear, &[], 0.1).shortest_period();
        let run = |dt: f64| {
            let options = ShockOptions { duration: Some(0.3), dt: Some(dt), ..ShockOptions::default() };
            shock(&linear, &mixed_load(), &g, &options).unwrap()
        };
        let (coarse, fine) = (run(period / 4.0), run(period / 400.0));
        for quantity in [Quantity::MountForce, Quantity::Acceleration, Quantity::GroundWrench] {
            for (a, b) in coarse.peaks(quantity).iter().zip(fine.peaks(quantity)) {
                prop_assert!((a.value - b.value).abs() <= 1e-9 * b.value);
                prop_assert_eq!(a.component, b.component);
            }
        }
        let samples = fine.mount_force.len_of(ndarray::Axis(0));
        for (i, peak) in fine.peaks(Quantity::MountForce).iter().enumerate() {
            let of = |t: usize| fine.mount_force[[t, i / 3, i % 3]].abs();
            let greatest = (0..samples).map(of).fold(0.0, f64::max);
            prop_assert!(greatest <= peak.value * (1.0 + 1e-12));
            // Between samples 1/400 of the shortest period apart a peak can hide 4e-6 of the
            // amplitudes that make it up.
            prop_assert!(greatest >= peak.value * (1.0 - 1e-3), "{} {:?}", greatest, peak);
        }
    }

    #[test]
    fn a_vanishing_loss_factor_changes_nothing(machine in machine()) {
        let plain = machine.linear(true, false);
        let faint = Machine { loss_factor: 1e-9, ..machine.clone() }.linear(true, true);
        let load = mixed_load();
        let (a, b) = (solve(&plain, &load, 0.4), solve(&faint, &load, 0.4));
        prop_assert_eq!(b.time_model, TimeModel::ModalContinuation);
        prop_assert!(b.time_model_error < 1e-7);
        let (p, q) = (a.peaks(&a.mount_force()), b.peaks(&b.mount_force()));
        for (p, q) in p.iter().zip(&q) {
            prop_assert!((p.value - q.value).abs() < 1e-7 * a.peak(&a.mount_force()).unwrap().value);
        }
    }

    #[test]
    fn samples_are_the_exact_values(machine in machine(), loss: bool) {
        let linear = machine.linear(true, loss);
        let g = at_bolster(&linear);
        let load = mixed_load();
        let options = ShockOptions { duration: Some(0.3), dt: Some(7.3e-4), ..ShockOptions::default() };
        let result = shock(&linear, &load, &g, &options).unwrap();
        let motion = &result.transient;
        for (output, array) in [
            (motion.displacement(), &result.displacement),
            (motion.velocity(), &result.velocity),
            (motion.acceleration(), &result.acceleration),
            (motion.ground_wrench(), &result.ground_wrench),
        ] {
            let size = array.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
            for (i, &t) in result.time.iter().enumerate() {
                let exact = motion.at(&output, t).unwrap();
                for (j, x) in exact.iter().enumerate() {
                    prop_assert!((array[[i, j]] - x).abs() < 1e-12 * size);
                }
            }
        }
    }
}

/// Three equal masses, each on a spring to the ground and tied to the two others: two modes have
/// the same frequency, and any mixture of them is a mode.
fn ring(split: f64) -> Linear {
    let b = |column: [f64; 3]| DMatrix::from_column_slice(3, 1, &column);
    let ports = [
        ([1.0, 0.0, 0.0], 400.0),
        ([0.0, 1.0, 0.0], 400.0),
        ([0.0, 0.0, 1.0], 400.0 * (1.0 + split)),
        ([1.0, -1.0, 0.0], 900.0),
        ([0.0, 1.0, -1.0], 900.0),
        ([-1.0, 0.0, 1.0], 900.0),
    ];
    let mut k = DMatrix::zeros(3, 3);
    for (column, stiffness) in ports {
        k += b(column) * b(column).transpose() * stiffness;
    }
    Linear {
        dofs: ["a", "b", "c"].map(|body| Dof { body: body.into(), axis: Axis::Z }).to_vec(),
        m: DMatrix::identity(3, 3),
        c: &k * 1e-3,
        h: DMatrix::zeros(3, 3),
        dynamic: Vec::new(),
        k,
        principal: DMatrix::identity(3, 3),
        elements: Vec::new(),
        ports: Vec::new(),
        reference: nalgebra::Vector3::zeros(),
    }
}

#[test]
fn a_motion_that_symmetry_forbids_has_no_peak_even_where_modes_coincide() {
    let load = Pulse::half_sine(1.0, 0.05).unwrap().segments();
    let apart = DVector::from_column_slice(&[1.0, -1.0, 0.0]);
    let rest = Start::rest(3);
    let motion = Transient::new(&ring(0.0), &load, &apart, &rest, Some(20.0)).unwrap();
    let peaks = motion.peaks(&motion.displacement());
    assert!((peaks[0].value - peaks[1].value).abs() < 1e-13 * peaks[0].value);
    assert!(peaks[2].value < 1e-14 * peaks[0].value);
    // Nearly the same frequencies: the third mass is set going slowly.
    let motion = Transient::new(&ring(1e-6), &load, &apart, &rest, Some(20.0)).unwrap();
    let slow = motion.peaks(&motion.displacement());
    let samples = motion.sample(&motion.displacement(), 1e-3).unwrap();
    let greatest = samples.column(2).iter().fold(0.0_f64, |a, x| a.max(x.abs()));
    // Samples 1/80 of a period apart miss (pi / 80)^2 / 2 of a peak at most.
    assert!(slow[2].value >= greatest && slow[2].value < greatest * (1.0 + 1e-3));
}

/// Composite Simpson rule; an odd number of values.
fn simpson(y: &[f64], dt: f64) -> f64 {
    let weight = |i: usize| match i {
        0 => 1.0,
        i if i + 1 == y.len() => 1.0,
        i if i % 2 == 1 => 4.0,
        _ => 2.0,
    };
    y.iter().enumerate().map(|(i, y)| weight(i) * y).sum::<f64>() * dt / 3.0
}
