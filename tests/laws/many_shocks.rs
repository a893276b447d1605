//! Peaks of many machines at a time are those of each by itself.

use nalgebra::{DMatrix, DVector};
use ndarray::{Array2, Array3, ArrayView3};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use underfoot::analysis::transient::{
    ManyRows, ManyShocks, Start, Transient, many_shocks, many_shocks_on,
};
use underfoot::excitation::Pulse;
use underfoot::lanes::Isa;
use underfoot::system::Linear;

use crate::random::machine;

/// Machines, the same on every run.
fn machines(count: usize) -> Vec<Linear> {
    let mut runner = TestRunner::deterministic();
    let mut draw = || machine().new_tree(&mut runner).unwrap().current().system().linear();
    (0..count).map(|_| draw()).collect()
}

fn stacked(all: &[Linear], of: impl Fn(&Linear) -> &DMatrix<f64>) -> Array3<f64> {
    Array3::from_shape_fn((all.len(), 6, 6), |(d, i, j)| of(&all[d])[(i, j)])
}

fn pulses() -> Vec<Pulse> {
    vec![
        Pulse::half_sine(3e4, 0.02).unwrap(),
        Pulse::haversine(-3e4, 0.3).unwrap(),
        Pulse::rectangular(3e4, 0.005).unwrap(),
        Pulse::triangular(3e4, 0.1).unwrap(),
        Pulse::terminal_peak_sawtooth(3e4, 0.04).unwrap(),
        Pulse::ramp_step(3e4, 0.05, 0.4).unwrap(),
        Pulse::exponential_decay(3e4, 0.02, 0.2).unwrap(),
    ]
}

fn asked<'a>(
    [m, k, h, c]: [ArrayView3<'a, f64>; 4],
    direction: &'a Array2<f64>,
    loads: &'a [Vec<underfoot::excitation::Segment>],
    unit: &'a Array3<f64>,
    kind: usize,
    duration: Option<f64>,
) -> ManyShocks<'a> {
    let rows = |wanted| (kind == wanted).then(|| unit.view());
    ManyShocks {
        mass: m,
        stiffness: k,
        loss: Some(h),
        damping: Some(c),
        direction: direction.view(),
        loads,
        rows: ManyRows {
            displacement: rows(0),
            velocity: rows(1),
            acceleration: rows(2),
            force: rows(3),
        },
        duration,
    }
}

#[test]
fn peaks_of_random_machines_are_those_of_each_alone_to_nine_digits() {
    let all = machines(43);
    let [m, k] = [stacked(&all, |l| &l.m), stacked(&all, |l| &l.k)];
    let [h, c] = [stacked(&all, |l| &l.h), stacked(&all, |l| &l.c)];
    let g = DVector::from_vec(vec![0.3, -0.2, 1.0, 0.1, 0.2, -0.1]);
    let direction = Array2::from_shape_fn((1, 6), |(_, i)| g[i]);
    let unit = Array3::from_shape_fn((1, 6, 6), |(_, i, j)| f64::from(u8::from(i == j)));
    for (number, pulse) in pulses().into_iter().enumerate() {
        let loads = [pulse.segments()];
        for kind in 0..4 {
            let duration = (number % 2 == 1).then_some(1.0);
            let views = [m.view(), k.view(), h.view(), c.view()];
            let asked = asked(views, &direction, &loads, &unit, kind, duration);
            let found = many_shocks(&asked).unwrap();
            // The lanes, not what stands by for them, answer for most.
            assert!(found.again < 22, "{} of 43 by themselves", found.again);
            for (design, linear) in all.iter().enumerate() {
                let motion =
                    Transient::new(linear, &loads[0], &g, &Start::rest(6), duration).unwrap();
                let output = match kind {
                    0 => motion.displacement(),
                    1 => motion.velocity(),
                    2 => motion.acceleration(),
                    _ => motion.ground_wrench(),
                };
                // Forces and moments, motions and turns are measured by their own kind.
                let extrema = motion.extrema(&output);
                for half in [0..3, 3..6] {
                    let size = |e: &underfoot::analysis::transient::Extrema| {
                        e.max.value.abs().max(e.min.value.abs())
                    };
                    let largest = extrema[half.clone()].iter().map(size).fold(0.0, f64::max);
                    for o in half {
                        let (max, min) = (found.max[[design, o]], found.min[[design, o]]);
                        let error = (max - extrema[o].max.value)
                            .abs()
                            .max((min - extrema[o].min.value).abs());
                        assert!(
                            error <= 1e-9 * largest,
                            "{} {kind} {design} {o}: {max:e} {min:e} {:?}",
                            pulse.name(),
                            extrema[o]
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn every_instruction_set_gives_the_same_peaks_to_eleven_digits() {
    let all = machines(16);
    let [m, k] = [stacked(&all, |l| &l.m), stacked(&all, |l| &l.k)];
    let [h, c] = [stacked(&all, |l| &l.h), stacked(&all, |l| &l.c)];
    let direction = Array2::from_shape_fn((1, 6), |(_, i)| f64::from(u8::from(i == 2)));
    let unit = Array3::from_shape_fn((1, 6, 6), |(_, i, j)| f64::from(u8::from(i == j)));
    let loads = [pulses()[0].segments()];
    let views = [m.view(), k.view(), h.view(), c.view()];
    let asked = asked(views, &direction, &loads, &unit, 3, None);
    let first = many_shocks_on(Isa::Baseline, &asked).unwrap();
    for isa in [Isa::Avx2, Isa::Avx512, Isa::Neon].into_iter().filter(|isa| isa.is_supported()) {
        let found = many_shocks_on(isa, &asked).unwrap();
        for (row, other) in found.max.rows().into_iter().zip(first.max.rows()) {
            let largest = row.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
            for (x, y) in row.iter().zip(other) {
                assert!((x - y).abs() <= 1e-11 * largest, "{isa}: {x} {y}");
            }
        }
    }
}

#[test]
fn shapes_that_do_not_fit_are_refused() {
    let square = |designs, n| Array3::<f64>::from_elem((designs, n, n), 1.0);
    let (m, k, c) = (square(1, 2), square(3, 2), square(2, 2));
    let direction = Array2::ones((1, 2));
    let unit = Array3::ones((1, 1, 2));
    let loads = [pulses()[0].segments()];
    let asked = ManyShocks {
        mass: m.view(),
        stiffness: k.view(),
        loss: None,
        damping: Some(c.view()),
        direction: direction.view(),
        loads: &loads,
        rows: ManyRows { displacement: Some(unit.view()), ..ManyRows::default() },
        duration: None,
    };
    let message = many_shocks(&asked).unwrap_err().to_string();
    assert!(message.contains("damping") && message.contains("3 designs"), "{message}");
    let nothing = ManyShocks { rows: ManyRows::default(), damping: None, ..asked };
    let message = many_shocks(&nothing).unwrap_err().to_string();
    assert!(message.contains("at least one output"), "{message}");
}
