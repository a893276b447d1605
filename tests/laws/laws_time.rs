//! Laws that depend on frequency in time: internal variables against Fourier transform, fractional
//! laws against their closed form, and both against the steady response they must settle to.

use nalgebra::{DVector, Matrix3, Vector3};
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use underfoot::analysis::transient::{Output, Start, TimeModel, Transient};
use underfoot::analysis::{modes, response};
use underfoot::excitation::{Pulse, Segment};
use underfoot::installation::Installation;
use underfoot::law::{
    AmplitudeReduction, Dynamic, FractionalZener, Maxwell, MaxwellTerm, TableVariable,
    TabulatedStiffness, Zener, maxwell_fit,
};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::Linear;

/// Four mounts that differ, with a law along each axis; modes from 3 to 9 Hz.
pub fn press(law: impl Fn(f64) -> Dynamic) -> Linear {
    let inertia = Matrix3::new(6500.0, -240.0, 90.0, -240.0, 8200.0, 130.0, 90.0, 130.0, 9000.0);
    let body = RigidBody::new(9000.0, Vector3::new(0.05, -0.03, 0.9), inertia).unwrap();
    let mount = |(i, (x, y)): (usize, (f64, f64))| {
        let size = 3.6e6 * (1.0 + 0.07 * i as f64);
        let laws = [0.4 * size, 0.5 * size, size].map(|k| Some(law(k)));
        Mount::new(Vector3::new(x, y, 0.0), [1.0; 3]).and_then(|m| m.with_dynamic(laws)).unwrap()
    };
    let corners = [(-0.95, -0.72), (0.98, -0.70), (-0.93, 0.75), (1.0, 0.71)];
    let mounts = corners.into_iter().enumerate().map(mount).collect();
    Installation::new(body, mounts).unwrap().system().linear()
}

/// One direction: 9 t on one law, as a machine that can move along z alone.
fn single(law: Dynamic) -> Linear {
    let mut linear = press(|_| law.clone());
    let element = linear.elements[0].clone();
    linear.dofs.truncate(1);
    let one = |x: f64| nalgebra::DMatrix::from_element(1, 1, x);
    linear.m = one(9000.0);
    for matrix in [&mut linear.k, &mut linear.h, &mut linear.c] {
        *matrix = one(0.0);
    }
    linear.principal = one(1.0);
    let mut only = element;
    only.b = one(1.0);
    (only.k, only.h, only.c) = (one(0.0), one(0.0), one(0.0));
    only.ground = None;
    only.dynamic.truncate(1);
    only.dynamic[0].b = one(1.0);
    linear.dynamic = only.dynamic.clone();
    linear.elements = vec![only];
    linear.ports.clear();
    linear
}

fn zener(k: f64) -> Dynamic {
    Dynamic::Zener(Zener::new(k, 0.8 * k, 0.016 * k).unwrap())
}

fn maxwell(k: f64) -> Dynamic {
    let terms = [(0.5, 0.002), (0.3, 0.02), (0.2, 0.2)];
    let term = |(share, time)| MaxwellTerm { stiffness: share * k, relaxation_time: time };
    Dynamic::Maxwell(Maxwell::new(k, terms.map(term).to_vec()).unwrap())
}

fn fractional(k: f64) -> Dynamic {
    Dynamic::FractionalZener(FractionalZener::new(k, 1000.0 * k, 1e-9, 0.36).unwrap())
}

fn blow() -> DVector<f64> {
    DVector::from_column_slice(&[0.3, -0.2, 1.0, -0.1, -0.15, 0.05])
}

fn size(values: &ndarray::Array2<f64>) -> Vec<f64> {
    let column = |c: ndarray::ArrayView1<f64>| c.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    values.columns().into_iter().map(column).collect()
}

fn agree(a: &Transient, b: &Transient, load_end: f64, tolerance: f64) {
    let outputs = |m: &Transient| -> [Output; 5] {
        [m.displacement(), m.velocity(), m.acceleration(), m.mount_force(), m.ground_wrench()]
    };
    // Off the grid of the transform, and just after the end of the load.
    for (one, two) in outputs(a).iter().zip(&outputs(b)) {
        let x = a.sample(one, 0.00731).unwrap();
        let y = b.sample(two, 0.00731).unwrap();
        let largest = size(&x).into_iter().fold(0.0, f64::max);
        let error = size(&(&x - &y)).into_iter().fold(0.0, f64::max);
        assert!(error <= tolerance * largest, "{}: {error:e} of {largest:e}", one.names[0]);
        let (x, y) = (a.at(one, load_end).unwrap(), b.at(two, load_end).unwrap());
        assert!((x - y).amax() <= tolerance * largest, "{} at {load_end}", one.names[0]);
        for (p, q) in a.extrema(one).iter().zip(b.extrema(two)) {
            for (p, q) in [(p.max, q.max), (p.min, q.min)] {
                assert!((p.value - q.value).abs() <= tolerance * largest, "{p:?} {q:?}");
            }
        }
    }
}

#[test]
fn internal_variables_and_fourier_transform_agree_to_1e_8() {
    for law in [zener, maxwell] {
        let linear = press(law);
        for pulse in [Pulse::half_sine(60e3, 0.02), Pulse::rectangular(40e3, 0.05)] {
            let load = pulse.unwrap().segments();
            let rest = Start::rest(6);
            let exact = Transient::new(&linear, &load, &blow(), &rest, Some(1.0)).unwrap();
            assert_eq!(exact.time_model, TimeModel::InternalVariables);
            assert!(exact.fourier().is_none());
            let other = Transient::by_fourier(&linear, &load, &blow(), &rest, Some(1.0)).unwrap();
            assert_eq!(other.time_model, TimeModel::Fourier);
            let note = other.fourier().unwrap();
            assert!(note.precursor < 1e-14, "{note:?}");
            agree(&exact, &other, load[0].end, 1e-8);
        }
    }
}

#[test]
fn a_start_with_a_velocity_agrees_too_and_one_with_a_displacement_is_refused() {
    let linear = press(zener);
    let mut start = Start::rest(6);
    start.velocity = blow() * 0.1;
    let exact = Transient::new(&linear, &[], &blow(), &start, Some(0.7)).unwrap();
    let other = Transient::by_fourier(&linear, &[], &blow(), &start, Some(0.7)).unwrap();
    let output = |m: &Transient| [m.displacement(), m.velocity(), m.acceleration()];
    // The jump of the velocity leaves an acceleration that falls off as the square of frequency
    // alone, so that the end of the band is felt there.
    let tolerances = [1e-8, 1e-8, 1e-4];
    for ((one, two), tolerance) in output(&exact).iter().zip(&output(&other)).zip(tolerances) {
        let x = exact.sample(one, 0.00731).unwrap();
        let y = other.sample(two, 0.00731).unwrap();
        let largest = size(&x).into_iter().fold(0.0, f64::max);
        let error = size(&(&x - &y)).into_iter().fold(0.0, f64::max);
        assert!(error <= tolerance * largest, "{error:e} of {largest:e}, {tolerance:e}");
    }
    start.displacement[2] = 1e-3;
    assert!(Transient::new(&linear, &[], &blow(), &start, Some(0.7)).is_ok());
    let error = Transient::by_fourier(&linear, &[], &blow(), &start, None).unwrap_err();
    assert!(error.to_string().starts_with("displacement = 0.001"), "{error}");
}

#[test]
fn action_equals_reaction_and_inertia_with_internal_variables() {
    let linear = press(maxwell);
    let load = Pulse::half_sine(60e3, 0.02).unwrap().segments();
    let motion = Transient::new(&linear, &load, &blow(), &Start::rest(6), Some(1.0)).unwrap();
    for t in [0.005, 0.02, 0.1, 0.6] {
        let a = motion.at(&motion.acceleration(), t).unwrap();
        let f: f64 = load.iter().filter(|s| t < s.end).map(|s| s.value(t)).sum();
        let mut sum = &linear.m * a - blow() * f;
        for (i, element) in linear.elements.iter().enumerate() {
            let force = motion.at(&motion.element_force(i).unwrap(), t).unwrap();
            sum += &element.b * force;
        }
        assert!(sum.amax() < 1e-7, "{sum}");
    }
}

/// m x'' + D x = f by residues and the cut of s^a, for F0 sin(pi t / T) up to T: the sum of two
/// lasting sines. Source: the project's reference pack, press E2; textbook inversion of a Laplace
/// transform.
fn fractional_closed_form(m: f64, law: &FractionalZener, f0: f64, duration: f64, t: f64) -> f64 {
    let w = PI / duration;
    let d = |s: Complex64| {
        let z = (s * law.relaxation_time).powf(law.order);
        law.static_stiffness + (law.high_frequency_stiffness - law.static_stiffness) * z / (1.0 + z)
    };
    let g = |s: Complex64| (m * s * s + d(s)).inv();
    let slope = |s: Complex64| {
        let z = (s * law.relaxation_time).powf(law.order);
        let rise = law.order * z / s / (1.0 + z).powi(2);
        2.0 * m * s + (law.high_frequency_stiffness - law.static_stiffness) * rise
    };
    let mut pole = Complex64::new(0.0, (d(Complex64::new(0.0, 30.0)).re / m).sqrt());
    for _ in 0..60 {
        pole -= (m * pole * pole + d(pole)) / slope(pole);
    }
    let lasting = |t: f64| {
        if t <= 0.0 {
            return 0.0;
        }
        let steady = (g(Complex64::new(0.0, w)) * f0 * Complex64::new(0.0, w * t).exp()).im;
        let ringing = 2.0 * (f0 * w / (pole * pole + w * w) / slope(pole) * (pole * t).exp()).re;
        // Trapezoid in ln r along the upper side of the cut.
        let step = 0.02;
        let cut: f64 = (-4000..2000)
            .map(|i| (f64::from(i) * step).exp())
            .map(|r| {
                let s = Complex64::from_polar(r, PI);
                (g(s) * f0 * w / (s * s + w * w)).im * (-r * t).exp() * r * step
            })
            .sum();
        steady + ringing - cut / PI
    };
    lasting(t) + lasting(t - duration)
}

#[test]
fn a_fractional_law_answers_a_half_sine_as_its_closed_form() {
    let law = FractionalZener::new(3.0e6, 2.0e7, 5e-4, 0.45).unwrap();
    let linear = single(Dynamic::FractionalZener(law));
    let load = Pulse::half_sine(60e3, 0.02).unwrap().segments();
    let g = DVector::from_element(1, 1.0);
    let motion = Transient::new(&linear, &load, &g, &Start::rest(1), Some(1.0)).unwrap();
    assert_eq!(motion.time_model, TimeModel::Fourier);
    let x = motion.displacement();
    let largest = motion.peak(&x).unwrap().value;
    for t in [0.003, 0.0123, 0.02, 0.041, 0.1, 0.333, 0.7, 0.99] {
        let found = motion.at(&x, t).unwrap()[0];
        let expected = fractional_closed_form(9000.0, &law, 60e3, 0.02, t);
        assert!((found - expected).abs() < 1e-8 * largest, "{t}: {found:e} {expected:e}");
    }
}

/// Every route settles to the steady response at the same frequency.
#[test]
fn a_lasting_sine_settles_to_the_steady_response() {
    let table = |k: f64| {
        let law = fractional(k);
        let rows: Vec<f64> = (0..60).map(|i| 0.05 * 1.2_f64.powi(i)).collect();
        let d = rows.iter().map(|f| law.at(f * TAU).unwrap()).collect();
        let law = TabulatedStiffness::new(rows, d, TableVariable::LogFrequency, Some(k));
        Dynamic::Table(law.unwrap())
    };
    let reduced = |k: f64| {
        let law = AmplitudeReduction::new(maxwell(k), 0.03, 0.01, 0.5, 0.55, Some(1.5));
        Dynamic::Reduced(law.unwrap())
    };
    let laws: [(&dyn Fn(f64) -> Dynamic, TimeModel); 5] = [
        (&zener, TimeModel::InternalVariables),
        (&maxwell, TimeModel::InternalVariables),
        (&fractional, TimeModel::Fourier),
        (&table, TimeModel::Fourier),
        (&reduced, TimeModel::Fourier),
    ];
    for (law, model) in laws {
        let linear = press(law);
        let (f, end) = (4.3, 6.0);
        let sine = Segment {
            start: 0.0,
            end,
            constant: 0.0,
            slope: 0.0,
            exponentials: vec![(Complex64::new(0.0, -1e3), Complex64::new(0.0, TAU * f))],
        };
        let motion = Transient::new(&linear, &[sine], &blow(), &Start::rest(6), Some(end)).unwrap();
        assert_eq!(motion.time_model, model);
        let load: Vec<_> = blow().iter().map(|g| Complex64::new(0.0, -1e3) * g).collect();
        let steady = response(&linear, &[f], &load).unwrap();
        // Rubber forgets its start by a power of time; half a period later that is still the same,
        // while the sine has turned its sign.
        let (t, half) = (5.7, 0.5 / f);
        let turn = Complex64::new(0.0, TAU * f * t).exp();
        let see = |output: &Output| {
            let (now, then) = (motion.at(output, t).unwrap(), motion.at(output, t + half).unwrap());
            (now - then) * 0.5
        };
        let (x, w) = (see(&motion.displacement()), see(&motion.ground_wrench()));
        for (found, phasor) in [(x, &steady.displacement), (w, &steady.ground_wrench().unwrap())] {
            let size = phasor.iter().map(|z| z.norm()).fold(0.0, f64::max);
            for i in 0..6 {
                let expected = (phasor[[0, i]] * turn).re;
                let error = (found[i] - expected).abs() / size;
                assert!(error < 2e-4, "{model:?} {i}: {error:e}");
            }
        }
    }
}

#[test]
fn a_table_of_a_zener_law_moves_as_the_law_does() {
    let table = |k: f64| {
        let law = zener(k);
        let rows: Vec<f64> = (0..400).map(|i| 0.5 * f64::from(i)).collect();
        let d = rows.iter().map(|f| law.at(f * TAU).unwrap()).collect();
        Dynamic::Table(TabulatedStiffness::new(rows, d, TableVariable::Frequency, None).unwrap())
    };
    let load = Pulse::half_sine(60e3, 0.02).unwrap().segments();
    let rest = Start::rest(6);
    let exact = Transient::new(&press(zener), &load, &blow(), &rest, Some(1.0)).unwrap();
    let tabulated = Transient::new(&press(table), &load, &blow(), &rest, Some(1.0)).unwrap();
    assert_eq!(tabulated.time_model, TimeModel::Fourier);
    // The interpolation of the table is the error.
    agree(&exact, &tabulated, 0.02, 1e-3);
}

#[test]
fn a_loss_factor_by_fourier_transform_answers_before_it_is_struck() {
    let mut linear = press(zener);
    for element in &mut linear.elements {
        element.dynamic.clear();
        element.k = nalgebra::DMatrix::from_diagonal(&DVector::from_element(3, 3e6));
        element.h = &element.k * 0.2;
    }
    linear.dynamic.clear();
    let add = |of: &dyn Fn(&underfoot::system::LinearElement) -> nalgebra::DMatrix<f64>| {
        linear
            .elements
            .iter()
            .fold(nalgebra::DMatrix::zeros(6, 6), |s, e| s + &e.b * of(e) * e.b.transpose())
    };
    let (k, h) = (add(&|e| e.k.clone()), add(&|e| e.h.clone()));
    (linear.k, linear.h) = (k, h);
    let load = Pulse::half_sine(60e3, 0.02).unwrap().segments();
    let motion =
        Transient::by_fourier(&linear, &load, &blow(), &Start::rest(6), Some(1.0)).unwrap();
    let note = motion.fourier().unwrap();
    assert!(note.precursor > 1e-6 && note.precursor < 0.05, "{note:?}");
    // The causal continuation is another model, but no other machine.
    let causal = Transient::new(&linear, &load, &blow(), &Start::rest(6), Some(1.0)).unwrap();
    let peak = |m: &Transient| m.peak(&m.displacement()).unwrap().value;
    assert!((peak(&motion) / peak(&causal) - 1.0).abs() < 0.1);
}

#[test]
fn a_fractional_press_moves_as_its_maxwell_fit() {
    let fitted =
        |k: f64| Dynamic::Maxwell(maxwell_fit(&fractional(k), [1e-3, 1e3], 2).unwrap().law);
    let load = Pulse::half_sine(60e3, 0.02).unwrap().segments();
    let rest = Start::rest(6);
    let one = Transient::new(&press(fractional), &load, &blow(), &rest, Some(0.8)).unwrap();
    let two = Transient::new(&press(fitted), &load, &blow(), &rest, Some(0.8)).unwrap();
    assert_eq!(two.time_model, TimeModel::InternalVariables);
    // The fit is within 0.04 % of storage and 0.07 % of loss.
    agree(&one, &two, 0.02, 3e-3);
    let (a, b) = (modes(&press(fractional)).unwrap(), modes(&press(fitted)).unwrap());
    assert_eq!(a.damping_model, TimeModel::Iterated);
    assert_eq!(b.damping_model, TimeModel::InternalVariables);
    // On the left of the imaginary axis, nearer its poles, the fit is some three times worse.
    for i in 0..6 {
        assert!((a.frequency[i] / b.frequency[i] - 1.0).abs() < 4e-4);
        let [f, zeta] = [
            a.damped_frequency[i] / b.damped_frequency[i] - 1.0,
            a.damping_ratio[i] / b.damping_ratio[i] - 1.0,
        ];
        assert!(f.abs() < 1.5e-3 && zeta.abs() < 3e-3, "{i}: {f:e} {zeta:e}");
    }
}

#[test]
fn a_single_fractional_mode_solves_its_own_equation_and_says_how_fast() {
    let law = fractional(3e6);
    let found = modes(&single(law.clone())).unwrap();
    let omega = found.frequency[0] * TAU;
    let storage = law.at(omega).unwrap().re;
    assert!((omega * omega * 9000.0 / storage - 1.0).abs() < 1e-13);
    let s = found.eigenvalue[1];
    assert!(s.im > 0.0);
    let left = 9000.0 * s * s + law.at_s(s);
    assert!(left.norm() < 1e-11 * storage, "{left}");
    assert!(found.iterations[0] > 5 && found.iterations[0] < 120, "{:?}", found.iterations);
    assert!(found.residual[0] < 1e-12, "{:?}", found.residual);
}

#[test]
fn loss_factors_beside_zener_laws_are_named_and_iterated() {
    let mut linear = press(zener);
    for element in &mut linear.elements {
        element.h = nalgebra::DMatrix::from_diagonal(&DVector::from_element(3, 2e5));
        let more = &element.b * &element.h * element.b.transpose();
        linear.h += more;
    }
    let load = Pulse::half_sine(60e3, 0.02).unwrap().segments();
    let motion = Transient::new(&linear, &load, &blow(), &Start::rest(6), None).unwrap();
    assert_eq!(motion.time_model, TimeModel::InternalVariablesWithDashpots);
    assert!(motion.time_model_error > 0.0 && motion.time_model_error < 0.2);
    let found = modes(&linear).unwrap();
    assert_eq!(found.damping_model, TimeModel::Iterated);
    assert!(found.residual.iter().all(|r| *r < 1e-12), "{:?}", found.residual);
}
