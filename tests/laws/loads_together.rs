//! Several loads in one motion: they add, they peak together, they come back stroke after stroke.

use approx::assert_relative_eq;
use nalgebra::DVector;
use num_complex::Complex64;
use underfoot::analysis::transient::{Load, ShockOptions, Start, Transient, shock_under};
use underfoot::excitation::{Pulse, Segment};
use underfoot::law::{Dynamic, FractionalZener, Zener};
use underfoot::system::{DynamicElement, Linear};

use crate::laws_time::press;
use crate::shock_damping::row;

fn unit(n: usize, i: usize) -> DVector<f64> {
    DVector::from_fn(n, |k, _| if k == i { 1.0 } else { 0.0 })
}

fn zener(k: f64) -> Dynamic {
    Dynamic::Zener(Zener::new(k, 0.8 * k, 0.016 * k).unwrap())
}

/// Three in a row: with dashpots, with loss factors, with a dashpot so strong that modes are no
/// basis, and with laws.
fn systems() -> Vec<(&'static str, Linear)> {
    let mut lawful = row(&[4.0, 3.0, 2.0], &[[9e3, 0.0, 8.0], [7e3, 0.0, 6.0], [5e3, 0.0, 3.0]]);
    let b = lawful.elements[0].b.clone();
    let law = zener(4e3);
    let own = DynamicElement { b: nalgebra::DMatrix::identity(1, 1), law: law.clone() };
    lawful.elements[0].dynamic.push(own);
    lawful.dynamic.push(DynamicElement { b, law });
    vec![
        ("dashpots", row(&[4.0, 3.0, 2.0], &[[9e3, 0.0, 8.0], [7e3, 0.0, 6.0], [5e3, 0.0, 3.0]])),
        ("loss", row(&[4.0, 3.0, 2.0], &[[9e3, 900.0, 8.0], [7e3, 0.0, 6.0], [5e3, 300.0, 0.0]])),
        ("critical", row(&[1.0], &[[100.0, 0.0, 20.0]])),
        ("law", lawful),
    ]
}

fn histories() -> [Vec<Segment>; 3] {
    [
        Pulse::half_sine(300.0, 0.05).unwrap().segments(),
        Pulse::triangular(-200.0, 0.12)
            .unwrap()
            .segments()
            .into_iter()
            .map(|s| s.later(0.03))
            .collect(),
        vec![Segment {
            start: 0.01,
            end: 0.4,
            constant: 20.0,
            slope: -50.0,
            exponentials: vec![(Complex64::new(90.0, 40.0), Complex64::new(-2.0, 47.0))],
        }],
    ]
}

fn loads(n: usize) -> Vec<Load> {
    let place = [0, n - 1, n / 2];
    histories().into_iter().zip(place).map(|(f, i)| Load::new(unit(n, i), f)).collect()
}

#[test]
fn the_motion_under_several_loads_is_the_sum_of_their_motions() {
    for (name, linear) in systems() {
        let n = linear.size();
        let loads = loads(n);
        let rest = Start::rest(n);
        let all = Transient::under(&linear, &loads, &rest, Some(0.9)).unwrap();
        let each: Vec<_> = loads
            .iter()
            .map(|l| Transient::new(&linear, &l.segments, &l.direction, &rest, Some(0.9)).unwrap())
            .collect();
        for t in [0.0, 0.02, 0.077, 0.15, 0.4, 0.9] {
            for pick in [Transient::displacement, Transient::acceleration, Transient::velocity] {
                let together = all.at(&pick(&all), t).unwrap();
                let sum = each.iter().map(|m| m.at(&pick(m), t).unwrap());
                let sum = sum.fold(DVector::zeros(together.len()), |a, b| a + b);
                let scale = together.amax().max(1e-3);
                assert_relative_eq!(together, sum, epsilon = 1e-11 * scale);
            }
        }
        assert!(
            all.at(&each[0].displacement(), 0.1).is_err(),
            "{name}: an output of another motion"
        );
    }
}

#[test]
fn peaks_of_several_loads_together_are_solved_for() {
    for (name, linear) in systems() {
        let n = linear.size();
        let dense = ShockOptions { dt: Some(2e-5), duration: Some(0.9), ..ShockOptions::default() };
        let shock = shock_under(&linear, &loads(n), &dense).unwrap();
        for (i, extrema) in
            shock.transient.extrema(&shock.transient.acceleration()).iter().enumerate()
        {
            let column = shock.acceleration.column(i);
            let (least, greatest) =
                column.iter().fold((f64::MAX, f64::MIN), |(a, b), &y| (a.min(y), b.max(y)));
            let span = greatest - least;
            assert!(extrema.max.value >= greatest - 1e-12 * span, "{name} {i}");
            assert!(extrema.min.value <= least + 1e-12 * span, "{name} {i}");
            // Jumps count on both sides, samples on one; elsewhere samples are close.
            assert!(extrema.max.value <= greatest + 0.02 * span, "{name} {i}");
            assert!(extrema.min.value >= least - 0.02 * span, "{name} {i}");
        }
    }
}

#[test]
fn two_loads_in_one_direction_peak_as_their_sum_does() {
    let linear = &systems()[0].1;
    let g = unit(3, 1);
    let [first, second, third] = histories();
    let apart = [&first, &second, &third].map(|f| Load::new(g.clone(), f.clone()));
    let joined: Vec<Segment> = [first, second, third].concat();
    let rest = Start::rest(3);
    let apart = Transient::under(linear, &apart, &rest, Some(1.2)).unwrap();
    let joined = Transient::new(linear, &joined, &g, &rest, Some(1.2)).unwrap();
    let peaks = apart.peaks(&apart.velocity());
    for (a, b) in peaks.iter().zip(joined.peaks(&joined.velocity())) {
        assert_relative_eq!(a.value, b.value, max_relative = 1e-12);
        assert_relative_eq!(a.time, b.time, epsilon = 1e-8);
    }
}

#[test]
fn the_periodic_state_is_that_of_a_long_row_of_strokes() {
    let period = 0.31;
    for (name, linear) in systems() {
        let n = linear.size();
        let loads = loads(n);
        let jump = unit(n, 0) * 0.2;
        let once = Transient::periodic(&linear, &loads, None, period).unwrap();
        // As many strokes as the slowest decay needs to leave 1e-12, and one more to look at.
        let slowest = once.roots().iter().map(|s| -s.re).fold(f64::INFINITY, f64::min);
        let strokes = (28.0 / slowest / period).ceil();
        let row = |l: &Load| {
            let strokes = (0..=strokes as usize)
                .flat_map(|i| l.segments.iter().map(move |s| s.clone().later(i as f64 * period)));
            Load::new(l.direction.clone(), strokes.collect())
        };
        let rows: Vec<Load> = loads.iter().map(row).collect();
        let long =
            Transient::under(&linear, &rows, &Start::rest(n), Some((strokes + 1.0) * period))
                .unwrap();
        let scale = once.peak(&once.displacement()).unwrap().value;
        for part in [0.0, 0.03, 0.1, 0.2, 0.3] {
            let a = once.at(&once.displacement(), part).unwrap();
            let b = long.at(&long.displacement(), strokes * period + part).unwrap();
            assert_relative_eq!(a, b, epsilon = 1e-9 * scale);
        }
        // A blow at the start of each period, added up stroke by stroke.
        let blown = Transient::periodic(&linear, &[], Some(&jump), period).unwrap();
        let struck = Start { velocity: jump.clone(), ..Start::rest(n) };
        let one = Transient::under(&linear, &[], &struck, Some((strokes + 1.0) * period)).unwrap();
        let sum =
            (0..=strokes as usize).map(|i| one.at(&one.displacement(), i as f64 * period + 0.1));
        let sum = sum.fold(DVector::zeros(n), |a, b| a + b.unwrap());
        let state = blown.at(&blown.displacement(), 0.1).unwrap();
        assert_relative_eq!(state, sum, epsilon = 1e-9 * sum.amax());
        let end = blown.at(&blown.velocity(), period).unwrap();
        let begin = blown.at(&blown.velocity(), 0.0).unwrap();
        assert_relative_eq!(&end + &jump, begin, epsilon = 1e-12 * begin.amax());
        println!("{name}: {strokes} strokes");
    }
}

#[test]
fn a_stop_after_long_running_goes_on_from_the_periodic_state() {
    for (_, linear) in systems() {
        let n = linear.size();
        let loads = loads(n);
        let period = 0.5;
        let before = Transient::periodic(&linear, &loads, None, period).unwrap();
        let after = Transient::after(&linear, &loads, period, &loads, Some(period)).unwrap();
        for t in [0.0, 0.13, 0.41, 0.5] {
            let a = before.at(&before.displacement(), t).unwrap();
            let b = after.at(&after.displacement(), t).unwrap();
            assert_relative_eq!(a, b, epsilon = 1e-12 * a.amax().max(1e-6));
        }
        let coast = Transient::after(&linear, &loads, period, &[], Some(2.0)).unwrap();
        let kept = coast.at(&coast.velocity(), 0.0).unwrap();
        assert_relative_eq!(kept, before.at(&before.velocity(), period).unwrap(), epsilon = 1e-11);
        assert!(coast.at(&coast.displacement(), 2.0).unwrap().amax() < kept.amax());
    }
}

#[test]
fn a_stroke_that_meets_an_undamped_mode_has_no_periodic_state() {
    let linear = row(&[1.0], &[[400.0, 0.0, 0.0]]);
    let load = [Load::new(unit(1, 0), vec![Segment::line(0.0, 0.01, 1.0, 0.0)])];
    let period = std::f64::consts::TAU / 20.0;
    let error = Transient::periodic(&linear, &load, None, period).unwrap_err().to_string();
    assert!(error.contains("mode without damping"), "{error}");
    assert!(Transient::periodic(&linear, &load, None, 0.9 * period).is_ok());
    for period in [0.0, -1.0, f64::NAN] {
        let error = Transient::periodic(&linear, &load, None, period).unwrap_err().to_string();
        assert!(error.starts_with("period"), "{error}");
    }
}

#[test]
fn laws_without_states_are_refused_where_strokes_repeat() {
    let law =
        |k| Dynamic::FractionalZener(FractionalZener::new(k, 1000.0 * k, 1e-9, 0.36).unwrap());
    let linear = press(law);
    let error = Transient::periodic(&linear, &[], None, 0.5).unwrap_err().to_string();
    assert!(error.contains("springs and dashpots"), "{error}");
}
