//! Damping in time on systems small enough for closed forms: causal equivalents of a loss factor,
//! critical and overdamped motion, and free bodies.

use nalgebra::{DMatrix, DVector, Vector3};
use num_complex::Complex64;
use underfoot::analysis::transient::{Start, TimeModel, Transient};
use underfoot::excitation::{Pulse, Segment};
use underfoot::system::{Axis, Dof, Label, Linear, LinearElement};

/// Masses in a row on springs and dashpots, the first one tied to the ground; k, h, c of each.
pub fn row(masses: &[f64], laws: &[[f64; 3]]) -> Linear {
    let n = masses.len();
    let one = |x: f64| DMatrix::from_element(1, 1, x);
    let element = |i: usize| {
        let mut b = DMatrix::zeros(n, 1);
        b[(i, 0)] = 1.0;
        if i > 0 {
            b[(i - 1, 0)] = -1.0;
        }
        let [k, h, c] = laws[i];
        let label = Label { kind: "spring".into(), name: i.to_string() };
        let dynamic = Vec::new();
        LinearElement { b, k: one(k), h: one(h), c: one(c), dynamic, label, ground: None }
    };
    let elements: Vec<_> = (0..n).map(element).collect();
    let sum = |of: &dyn Fn(&LinearElement) -> DMatrix<f64>| {
        elements.iter().fold(DMatrix::zeros(n, n), |s, e| s + &e.b * of(e) * e.b.transpose())
    };
    Linear {
        dofs: (0..n).map(|i| Dof { body: i.to_string(), axis: Axis::Z }).collect(),
        m: DMatrix::from_diagonal(&DVector::from_column_slice(masses)),
        k: sum(&|e| e.k.clone()),
        h: sum(&|e| e.h.clone()),
        c: sum(&|e| e.c.clone()),
        dynamic: Vec::new(),
        principal: DMatrix::identity(n, n),
        elements,
        ports: Vec::new(),
        reference: Vector3::zeros(),
    }
}

fn solve(linear: &Linear, load: &[Segment], duration: f64) -> Transient {
    let n = linear.size();
    let g = DVector::from_fn(n, |i, _| if i == 0 { 1.0 } else { 0.0 });
    Transient::new(linear, load, &g, &Start::rest(n), Some(duration)).unwrap()
}

fn step() -> Vec<Segment> {
    Pulse::rectangular(1.0, 100.0).unwrap().segments()
}

#[test]
fn one_degree_of_freedom_with_a_loss_factor_has_the_root_j_omega_sqrt_of_1_plus_j_eta() {
    for eta in [1e-3, 0.1, 0.5, 2.0] {
        let (m, omega) = (3.0, 40.0);
        let k = m * omega * omega;
        let motion = solve(&row(&[m], &[[k, eta * k, 0.0]]), &step(), 1.0);
        let s = Complex64::I * omega * Complex64::new(1.0, eta).sqrt();
        assert_eq!(motion.time_model, TimeModel::ModalContinuation);
        assert!((motion.roots()[0] - s).norm() < 1e-14 * s.norm());
        // |s|^2 and -2 Re s in place of k/m (1 + j eta), at omega.
        let causal = Complex64::new(s.norm_sqr(), -2.0 * s.re * omega);
        let given = Complex64::new(1.0, eta) * omega * omega;
        let error = (causal - given).norm() / given.norm();
        assert!((motion.time_model_error - error).abs() < 1e-12, "{}", motion.time_model_error);
    }
}

#[test]
fn the_continuation_starts_from_rest_with_the_acceleration_of_the_load_over_the_mass() {
    let motion = solve(&row(&[3.0], &[[4800.0, 960.0, 0.0]]), &step(), 1.0);
    assert!(motion.at(&motion.displacement(), 0.0).unwrap()[0].abs() < 1e-18);
    assert!(motion.at(&motion.velocity(), 0.0).unwrap()[0].abs() < 1e-16);
    let a = motion.at(&motion.acceleration(), 0.0).unwrap()[0];
    assert!((a - 1.0 / 3.0).abs() < 1e-15);
}

#[test]
fn a_loss_factor_of_0_2_damps_a_free_vibration_as_stated() {
    // Free vibration from an initial displacement: envelope e^{Re(s) t}.
    let (omega, eta) = (40.0, 0.2);
    let k = omega * omega;
    let start = Start { displacement: DVector::from_element(1, 1.0), velocity: DVector::zeros(1) };
    let free = |eta: f64| {
        let g = DVector::zeros(1);
        Transient::new(&row(&[1.0], &[[k, eta * k, 0.0]]), &[], &g, &start, Some(2.0)).unwrap()
    };
    let (damped, undamped) = (free(eta), free(0.0));
    let s = Complex64::I * omega * Complex64::new(1.0, eta).sqrt();
    let period = std::f64::consts::TAU / s.im;
    let x = |motion: &Transient, t: f64| motion.at(&motion.displacement(), t).unwrap()[0];
    for i in 0..5 {
        let ratio = x(&damped, period * f64::from(i + 1)) / x(&damped, period * f64::from(i));
        assert!((ratio - (s.re * period).exp()).abs() < 1e-12);
    }
    let whole = std::f64::consts::TAU / omega;
    assert!((x(&undamped, 5.0 * whole) - 1.0).abs() < 1e-13);
}

#[test]
fn at_critical_damping_the_step_response_is_its_closed_form() {
    let omega: f64 = 7.0;
    let motion = solve(&row(&[1.0], &[[omega * omega, 0.0, 2.0 * omega]]), &step(), 3.0);
    let x = motion.sample(&motion.displacement(), 0.01).unwrap();
    for (i, x) in x.column(0).iter().enumerate() {
        let wt = omega * 0.01 * i as f64;
        let exact = (1.0 - (1.0 + wt) * (-wt).exp()) / (omega * omega);
        assert!((x - exact).abs() < 1e-14 / omega);
    }
    // Force in spring and dashpot: greatest at omega t = 2, where it is 1 + e^-2.
    let force = &motion.extrema(&motion.element_force(0).unwrap())[0];
    assert!((force.max.value - 1.0 - (-2.0_f64).exp()).abs() < 1e-13);
    assert!((force.max.time - 2.0 / omega).abs() < 1e-12);
}

#[test]
fn near_critical_damping_both_ways_of_solving_agree_with_the_closed_form() {
    let omega: f64 = 7.0;
    for offset in [-0.3, -1e-3, -1e-8, -1e-12, 0.0, 1e-14, 1e-11, 1e-8, 1e-3, 0.3] {
        let zeta = 1.0 + offset;
        let law = [omega * omega, 0.0, 2.0 * zeta * omega];
        let load = Pulse::half_sine(1.0, 0.5).unwrap().segments();
        let motion = solve(&row(&[1.0], &[law]), &load, 2.0);
        for i in 1..40 {
            let t = 0.05 * f64::from(i);
            let x = motion.at(&motion.displacement(), t).unwrap()[0];
            let exact = duhamel(&load, omega, zeta, t);
            assert!((x - exact).abs() < 1e-11 / (omega * omega), "{offset} {t}: {x} {exact}");
        }
    }
}

/// Convolution of the load with the impulse response e^{-zeta omega t} sinh(d t) / d, by Simpson's
/// rule; d^2 = omega^2 (zeta^2 - 1) may have either sign.
fn duhamel(load: &[Segment], omega: f64, zeta: f64, t: f64) -> f64 {
    let square = omega * omega * (zeta - 1.0) * (zeta + 1.0);
    let response = |tau: f64| {
        let z = square * tau * tau;
        let shape = if z.abs() < 1e-3 {
            1.0 + z / 6.0 * (1.0 + z / 20.0 * (1.0 + z / 42.0))
        } else if z > 0.0 {
            z.sqrt().sinh() / z.sqrt()
        } else {
            (-z).sqrt().sin() / (-z).sqrt()
        };
        tau * shape * (-zeta * omega * tau).exp()
    };
    let end = t.min(load[0].end);
    let n = 4000;
    let h = end / f64::from(n);
    let weight = |i: i32| if i == 0 || i == n { 1.0 } else { f64::from(2 + 2 * (i % 2)) };
    let term = |i: i32| {
        let tau = h * f64::from(i);
        weight(i) * load[0].value(tau) * response(t - tau)
    };
    (0..=n).map(term).sum::<f64>() * h / 3.0
}

#[test]
fn two_masses_with_one_mode_at_critical_damping_move_as_with_a_dashpot_a_little_off() {
    // A symmetric pair: the out-of-phase mode has 3 k and 3 c where the other has k and c.
    let at = |factor: f64| {
        let c = 2.0 / 3.0_f64.sqrt() * factor;
        let mut linear = row(&[1.0, 1.0], &[[1.0, 0.0, c], [1.0, 0.0, c]]);
        // The second mass is tied to the ground as well.
        let tie = row(&[1.0, 1.0], &[[0.0; 3], [0.0; 3]]);
        let mut element = tie.elements[1].clone();
        element.b = DMatrix::from_row_slice(2, 1, &[0.0, 1.0]);
        (element.k[(0, 0)], element.c[(0, 0)]) = (1.0, c);
        linear.k[(1, 1)] += 1.0;
        linear.c[(1, 1)] += c;
        linear.elements.push(element);
        let load = Pulse::triangular(1.0, 2.0).unwrap().segments();
        let motion = solve(&linear, &load, 20.0);
        motion.sample(&motion.displacement(), 0.1).unwrap()
    };
    let (exact, near) = (at(1.0), at(1.0 + 1e-7));
    for (a, b) in exact.iter().zip(&near) {
        assert!((a - b).abs() < 1e-7, "{a} {b}");
    }
}

#[test]
fn an_overdamped_mass_creeps_back_along_its_slow_root() {
    let (omega, zeta) = (10.0_f64, 20.0_f64);
    let law = [omega * omega, 0.0, 2.0 * zeta * omega];
    let start = Start { displacement: DVector::from_element(1, 1.0), velocity: DVector::zeros(1) };
    let g = DVector::zeros(1);
    let motion = Transient::new(&row(&[1.0], &[law]), &[], &g, &start, None).unwrap();
    let d = omega * (zeta * zeta - 1.0).sqrt();
    let [fast, slow] = [-zeta * omega - d, -omega * omega / (zeta * omega + d)];
    for t in [0.001, 0.01, 0.1, 1.0, 5.0] {
        let exact = (fast * (slow * t).exp() - slow * (fast * t).exp()) / (fast - slow);
        let x = motion.at(&motion.displacement(), t).unwrap()[0];
        assert!((x - exact).abs() < 1e-14);
    }
    assert_eq!(motion.extrema(&motion.displacement())[0].max.time, 0.0);
}

#[test]
fn a_loss_factor_beside_heavy_dashpots_is_taken_as_viscous_and_says_so() {
    let linear = row(&[1.0, 1.0], &[[1e4, 0.0, 2e3], [4e4, 4e3, 0.0]]);
    let motion = solve(&linear, &Pulse::half_sine(1.0, 0.02).unwrap().segments(), 1.0);
    assert_eq!(motion.time_model, TimeModel::EquivalentViscous);
    assert!(motion.time_model_error > 1e-3 && motion.time_model_error < 1.0);
    assert!(motion.time_model.to_string().contains("viscous"));
    assert!(motion.roots().iter().all(|s| s.re < 0.0));
}

#[test]
fn equivalent_viscous_damping_gives_each_mode_half_its_loss_factor() {
    // The second oscillator is overdamped and not coupled to the first, which has eta = 0.1.
    let mut linear = row(&[1.0, 1.0], &[[400.0, 40.0, 0.0], [0.0; 3]]);
    linear.elements[1].b = DMatrix::from_row_slice(2, 1, &[0.0, 1.0]);
    linear.elements[1].k[(0, 0)] = 100.0;
    linear.elements[1].c[(0, 0)] = 60.0;
    (linear.k[(1, 1)], linear.c[(1, 1)]) = (100.0, 60.0);
    let motion = solve(&linear, &step(), 1.0);
    assert_eq!(motion.time_model, TimeModel::EquivalentViscous);
    let swinging = motion.roots().iter().find(|s| s.im > 0.0).unwrap();
    assert!((swinging.norm() - 20.0).abs() < 1e-12);
    assert!((-swinging.re / swinging.norm() - 0.05).abs() < 1e-14);
}

#[test]
fn a_free_mass_moves_by_newton() {
    let linear = row(&[2.0], &[[0.0, 0.0, 0.0]]);
    let load = Pulse::rectangular(6.0, 0.5).unwrap().segments();
    let motion = solve(&linear, &load, 2.0);
    let x = motion.at(&motion.displacement(), 2.0).unwrap()[0];
    assert!((x - (0.5 * 3.0 * 0.25 + 1.5 * 1.5)).abs() < 1e-14, "{x}");
    let no_end = Transient::new(&linear, &load, &DVector::zeros(1), &Start::rest(1), None);
    assert!(no_end.unwrap_err().to_string().starts_with("duration = not given"));
}

#[test]
fn resonance_without_damping_grows_linearly() {
    // m x'' + k x = sin(omega t): x = (sin(omega t) - omega t cos(omega t)) / (2 k).
    let omega = 5.0;
    let wave = (Complex64::new(0.0, -1.0), Complex64::new(0.0, omega));
    let load =
        [Segment { start: 0.0, end: 50.0, constant: 0.0, slope: 0.0, exponentials: vec![wave] }];
    let motion = solve(&row(&[1.0], &[[omega * omega, 0.0, 0.0]]), &load, 40.0);
    for i in 0..400 {
        let t = 0.1 * f64::from(i);
        let exact = ((omega * t).sin() - omega * t * (omega * t).cos()) / (2.0 * omega * omega);
        let x = motion.at(&motion.displacement(), t).unwrap()[0];
        assert!((x - exact).abs() < 1e-13 * (1.0 + omega * t));
    }
}

#[test]
fn negative_damping_and_negative_stiffness_are_errors() {
    let call = |law: [f64; 3]| {
        let linear = row(&[1.0], &[law]);
        let g = DVector::from_element(1, 1.0);
        Transient::new(&linear, &step(), &g, &Start::rest(1), Some(1.0)).unwrap_err().to_string()
    };
    assert!(
        call([100.0, 0.0, -1.0]).starts_with("the machine is unstable: a free vibration grows")
    );
    assert!(call([-100.0, 0.0, 1.0]).contains("negative stiffness"));
    assert!(call([100.0, -10.0, 0.0]).contains("unstable"));
}

#[test]
fn bad_arguments_are_named() {
    let linear = row(&[1.0], &[[1.0, 0.0, 0.0]]);
    let g = DVector::from_element(1, 1.0);
    let good = step();
    let message = |load: &[Segment], g: &DVector<f64>, duration: f64| {
        let rest = Start::rest(1);
        Transient::new(&linear, load, g, &rest, Some(duration)).unwrap_err().to_string()
    };
    assert!(message(&good, &DVector::zeros(2), 1.0).starts_with("direction has shape (2,)"));
    assert!(message(&good, &g, 0.0).starts_with("duration = 0 s"));
    let backwards = Segment { end: -1.0, start: 0.0, ..good[0].clone() };
    assert!(message(&[backwards], &g, 1.0).starts_with("load[0].end = -1 s"));
    let wild = Segment { slope: f64::NAN, ..good[0].clone() };
    assert!(message(&[wild], &g, 1.0).starts_with("load[0].slope = NaN"));
    let early = Segment { start: -1.0, ..good[0].clone() };
    assert!(message(&[early], &g, 1.0).starts_with("load[0].start = -1 s"));
    let motion = solve(&linear, &good, 1.0);
    let late = motion.at(&motion.displacement(), 1.5).unwrap_err().to_string();
    assert!(late.starts_with("time = 1.5 s"));
    let fine = motion.sample(&motion.displacement(), 1e-9).unwrap_err().to_string();
    assert!(fine.starts_with("dt = 0.000000001 s"));
}

#[test]
fn outputs_combine_and_join_and_belong_to_their_transient() {
    let two = row(&[1.0, 2.0], &[[100.0, 0.0, 1.0], [300.0, 0.0, 1.0]]);
    let motion = solve(&two, &Pulse::half_sine(1.0, 0.1).unwrap().segments(), 2.0);
    let x = motion.displacement();
    // The inner spring is stretched by the one displacement less the other.
    let stretch = x.combined("stretch", &[-1.0, 1.0]).unwrap();
    let both = x.joined(&stretch).unwrap();
    let rate = motion.velocity().combined("rate", &[-1.0, 1.0]).unwrap();
    for i in 0..40 {
        let t = 0.05 * f64::from(i);
        let values = motion.at(&both, t).unwrap();
        assert!((values[2] - (values[1] - values[0])).abs() < 1e-17);
        let spring = 300.0 * values[2] + motion.at(&rate, t).unwrap()[0];
        let force = motion.at(&motion.element_force(1).unwrap(), t).unwrap()[0];
        assert!((spring - force).abs() < 1e-14);
    }
    assert_eq!(motion.extrema(&both)[2].name, "stretch");
    assert!(x.combined("wrong", &[1.0]).is_err());
    let one = solve(&row(&[1.0], &[[1.0, 0.0, 0.0]]), &step(), 1.0);
    assert!(one.at(&x, 0.5).unwrap_err().to_string().contains("that this transient made"));
    assert!(one.sample(&x, 0.1).is_err() && x.joined(&one.displacement()).is_err());
    assert!(one.peak(&x).is_none());
}
