//! Walking: what must hold for every machine, and closed forms of the worst instant.

use nalgebra::{Matrix3, Rotation3, Vector2, Vector3};
use num_complex::Complex64;
use proptest::prelude::*;
use underfoot::analysis::instant::Steady;
use underfoot::analysis::response;
use underfoot::analysis::statics::{StaticsOptions, statics};
use underfoot::analysis::transient::{Shock, ShockOptions, shock};
use underfoot::checks::{
    Feet, Friction, Sliding, Verdict, friction_needed, lateral, sliding, walking,
};
use underfoot::excitation::Pulse;
use underfoot::installation::{Installation, Wrench};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::Linear;

/// A machine off the middle of its four mounts, all turned about z by an angle.
fn machine(angle: f64) -> Installation {
    let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), angle);
    let inertia = Matrix3::new(9e3, -400.0, 300.0, -400.0, 12e3, 200.0, 300.0, 200.0, 7e3);
    let body = RigidBody::new(
        10e3,
        turn * Vector3::new(0.15, -0.1, 1.2),
        turn.matrix() * inertia * turn.matrix().transpose(),
    );
    let corners = [(-1.0, -0.7), (1.1, -0.7), (1.1, 0.7), (-1.0, 0.7)];
    let mounts = corners.iter().enumerate().map(|(i, &(x, y))| {
        let stiffness = [2e6, 3e6, 6e6 + 4e5 * i as f64];
        let mount = Mount::new(turn * Vector3::new(x, y, 0.0), stiffness).unwrap();
        let mount = mount.with_axes(*turn.matrix()).unwrap().with_name(format!("foot {i}"));
        mount.with_loss_factor([0.1; 3]).unwrap()
    });
    Installation::new(body.unwrap(), mounts.collect()).unwrap()
}

fn feet(machine: &Installation, linear: &Linear) -> Feet {
    let weight = machine.weight_of(&machine.body);
    let still = statics(&machine.system(), &weight, &StaticsOptions::default()).unwrap();
    Feet::new(linear, &still).unwrap()
}

/// A jerk of a slanting force at the crown.
fn jerk(machine: &Installation, angle: f64, size: f64) -> Shock {
    let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), angle);
    let force = turn * Vector3::new(0.48, 0.6, 0.64);
    let at = turn * Vector3::new(0.5, 0.2, 2.0);
    let wrench = Wrench::new(force, Vector3::zeros(), Some(at)).unwrap();
    let linear = machine.system().linear();
    let load = Pulse::half_sine(size, 0.03).unwrap().segments();
    let options = ShockOptions { duration: Some(1.5), ..ShockOptions::default() };
    shock(&linear, &load, &wrench.about(machine.body.center()), &options).unwrap()
}

fn slid(machine: &Installation, shock: &Shock) -> Sliding {
    let feet = feet(machine, shock.transient.linear());
    let output = feet.output(&shock.transient).unwrap();
    sliding(&feet, &shock.transient.joint(&output).unwrap()).unwrap()
}

/// Friction needed at each sample, by the same limit surface; and the least load.
fn sampled(machine: &Installation, shock: &Shock) -> (Vec<f64>, Vec<f64>, Vec<f64>) {
    let weight = machine.weight_of(&machine.body);
    let still = statics(&machine.system(), &weight, &StaticsOptions::default()).unwrap();
    let (mut needed, mut force, mut load) = (Vec::new(), Vec::new(), Vec::new());
    for dynamic in shock.mount_force.outer_iter() {
        let mut pressed = Vec::new();
        let (mut h, mut yaw, mut n) = (Vector2::zeros(), 0.0, 0.0);
        for (i, mount) in machine.mounts.iter().enumerate() {
            let f = Vector2::new(dynamic[[i, 0]], dynamic[[i, 1]])
                - Vector2::new(still.load[[i, 0]], still.load[[i, 1]]);
            let press = still.load[[i, 2]] - dynamic[[i, 2]];
            let at = mount.position.xy();
            h += f;
            yaw += at.perp(&f);
            n += press;
            pressed.push((at, press.max(0.0)));
        }
        needed.push(friction_needed(&pressed, h, yaw));
        force.push(h.norm());
        load.push(n);
    }
    (needed, force, load)
}

#[test]
fn no_sample_needs_more_friction_than_the_worst_instant_and_one_comes_near_it() {
    let machine = machine(0.0);
    let shock = jerk(&machine, 0.0, 40e3);
    let found = slid(&machine, &shock);
    let (needed, force, load) = sampled(&machine, &shock);
    let most = needed.iter().copied().fold(0.0, f64::max);
    assert!(most <= found.friction_needed * (1.0 + 1e-10), "{most} {found:?}");
    assert!(most > 0.98 * found.friction_needed, "{most} {found:?}");
    // The yaw moment costs friction beyond the plain ratio, and the jerk lifts at its own time.
    let plain = force.iter().zip(&load).map(|(h, n)| h / n).fold(0.0, f64::max);
    assert!(most > 1.01 * plain, "{most} {plain}");
    let peak = force.iter().copied().fold(0.0, f64::max);
    let least = load.iter().copied().fold(f64::MAX, f64::min);
    assert!(plain < 0.999 * peak / least, "peak over least load is too severe");
    let weight = -machine.weight_of(&machine.body)[2];
    let blind = peak / weight;
    assert!((plain / blind - 1.0).abs() > 1e-3, "peak over static load is blind to the lift");
}

#[test]
fn the_worst_instant_does_not_move_with_a_turned_installation() {
    let here = machine(0.0);
    let there = machine(0.7);
    let one = slid(&here, &jerk(&here, 0.0, 40e3));
    let other = slid(&there, &jerk(&there, 0.7, 40e3));
    approx::assert_relative_eq!(one.friction_needed, other.friction_needed, max_relative = 1e-9);
    approx::assert_relative_eq!(
        one.foot_friction_needed,
        other.foot_friction_needed,
        max_relative = 1e-9
    );
    assert_eq!(one.foot, other.foot);
    let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), 0.7);
    let turned = turn * Vector3::new(one.force[0], one.force[1], 0.0);
    let size = turned.norm();
    assert!((turned.x - other.force[0]).abs() < 1e-4 * size, "{turned} {other:?}");
    assert!((turned.y - other.force[1]).abs() < 1e-4 * size, "{turned} {other:?}");
}

#[test]
fn a_single_foot_may_slip_while_the_set_holds() {
    let machine = machine(0.0);
    let found = slid(&machine, &jerk(&machine, 0.0, 40e3));
    assert!(found.foot_friction_needed > 1.01 * found.friction_needed, "{found:?}");
    let between = 0.5 * (found.foot_friction_needed + found.friction_needed);
    let [set, foot] = walking(&found, &Friction::new(between, 1.0).unwrap(), "jerk").unwrap();
    assert_eq!(set.verdict, Verdict::Ok);
    let Verdict::OkIf(condition) = foot.verdict else { panic!("a foot that slips is reported") };
    assert!(condition.contains("may slip while the others hold"), "{condition}");
}

#[test]
fn forces_in_quadrature_peak_between_their_peaks() {
    // |a sin t| / (W + b cos t) is greatest at a / sqrt(W^2 - b^2); in phase it is a / (W - b).
    let machine = machine(0.0);
    let linear = machine.system().linear();
    let feet = feet(&machine, &linear);
    let weight = -machine.weight_of(&machine.body)[2];
    let (a, b) = (0.2 * weight, 0.6 * weight);
    let ratio = |phase: f64| {
        let (side, up) = (Complex64::from_polar(a, phase), Complex64::from(b));
        // Each foot takes its part by its static load, so that no yaw moment arises.
        let mut phasors = vec![Complex64::ZERO; 16];
        for (i, foot) in feet.feet.iter().enumerate() {
            let part = -foot.force.z / weight;
            phasors[3 * i] = side * part;
            phasors[3 * i + 2] = up * part;
            phasors[12] += side * part;
            phasors[14] -= side * part * foot.position.y;
        }
        sliding(&feet, &Steady { omega: 12.0, phasors }).unwrap().friction_needed
    };
    let quadrature = a / (weight * weight - b * b).sqrt();
    approx::assert_relative_eq!(ratio(0.5 * std::f64::consts::PI), quadrature, max_relative = 1e-9);
    approx::assert_relative_eq!(ratio(0.0), a / (weight - b), max_relative = 1e-9);
    approx::assert_relative_eq!(
        ratio(1.0),
        {
            // Dense samples of the same function.
            let f = |t: f64| a * (t + 1.0).cos().abs() / (weight - b * t.cos());
            (0..2_000_000).map(|i| f(i as f64 * 3.2e-6)).fold(0.0, f64::max)
        },
        max_relative = 1e-9
    );
}

#[test]
fn a_rotating_load_asks_differently_of_the_feet_by_its_sense() {
    let machine = machine(0.0);
    let linear = machine.system().linear();
    let feet = feet(&machine, &linear);
    let turning = |sense: f64| {
        let f =
            Vector3::new(Complex64::from(9e3), Complex64::ZERO, Complex64::new(0.0, sense * 9e3));
        let at = Vector3::new(0.6, 0.3, 2.0) - machine.body.center();
        let moment = at.map(Complex64::from).cross(&f);
        let load: Vec<Complex64> = f.iter().chain(moment.iter()).copied().collect();
        let found = response(&linear, &[4.0], &load).unwrap();
        sliding(&feet, &feet.steady(&found, 0).unwrap()).unwrap().friction_needed
    };
    let (one, other) = (turning(1.0), turning(-1.0));
    assert!((one / other - 1.0).abs() > 0.01, "{one} {other}");
}

#[test]
fn the_horizontal_force_of_a_foot_is_that_of_its_vector() {
    let machine = machine(0.0);
    let shock = jerk(&machine, 0.0, 40e3);
    let feet = feet(&machine, shock.transient.linear());
    let output = feet.output(&shock.transient).unwrap();
    let joint = shock.transient.joint(&output).unwrap();
    let check = lateral(&feet, &joint, 1e3, "jerk").unwrap();
    let mut most = 0.0_f64;
    for dynamic in shock.mount_force.outer_iter() {
        for foot in 0..4 {
            most = most.max(dynamic[[foot, 0]].hypot(dynamic[[foot, 1]]));
        }
    }
    assert!(most <= check.demand * (1.0 + 1e-10) && most > 0.98 * check.demand);
    assert!(check.governing_case.contains("foot"), "{}", check.governing_case);
    assert!(lateral(&feet, &joint, 0.0, "jerk").is_err());
}

#[test]
fn friction_that_cannot_be_is_refused_and_so_is_another_system() {
    assert!(Friction::new(0.0, 1.5).is_err());
    assert!(Friction::new(0.2, 0.9).is_err());
    assert!(Friction::new(f64::NAN, 1.5).is_err());
    let machine = machine(0.0);
    let feet = feet(&machine, &machine.system().linear());
    let strange = Steady { omega: 1.0, phasors: vec![Complex64::ZERO; 9] };
    assert!(sliding(&feet, &strange).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn margin_grows_with_friction_and_falls_with_safety(
        needed in 1e-3..2.0, mu in 0.05..1.0, safety in 1.0..3.0, more in 1.001..2.0,
    ) {
        let found = Sliding {
            friction_needed: needed, time: 0.1, force: [1.0, 0.0], yaw: 0.0, load: 1.0,
            foot: "a".into(), foot_friction_needed: needed, foot_time: 0.1,
        };
        let margin = |mu: f64, safety: f64| {
            walking(&found, &Friction::new(mu, safety).unwrap(), "x").unwrap()[0].margin
        };
        prop_assert!(margin(mu * more, safety) > margin(mu, safety));
        prop_assert!(margin(mu, safety * more) < margin(mu, safety));
        prop_assert_eq!(margin(mu, safety) >= 0.0, needed * safety / mu <= 1.0);
    }

    #[test]
    fn friction_needed_is_between_the_plain_ratio_and_any_set_of_forces_that_holds(
        feet in prop::collection::vec((-2.0..2.0, -2.0..2.0, 1.0..50.0), 2..9),
        shares in prop::collection::vec((-1.0..1.0, -1.0..1.0), 9),
    ) {
        let pressed: Vec<_> = feet.iter().map(|&(x, y, n)| (Vector2::new(x, y), n)).collect();
        let (mut force, mut yaw, mut most) = (Vector2::<f64>::zeros(), 0.0_f64, 0.0_f64);
        for ((at, n), (x, y)) in pressed.iter().zip(shares) {
            let f: Vector2<f64> = Vector2::new(x, y) * *n;
            force += f;
            yaw += at.perp(&f);
            most = most.max(f.norm() / n);
        }
        let needed = friction_needed(&pressed, force, yaw);
        let total: f64 = pressed.iter().map(|p| p.1).sum();
        prop_assert!(needed <= most * (1.0 + 1e-9), "{} {}", needed, most);
        prop_assert!(needed >= force.norm() / total * (1.0 - 1e-9));
        // Twice the load needs twice the friction; twice as heavy, half.
        let double = friction_needed(&pressed, force * 2.0, yaw * 2.0);
        prop_assert!((double - 2.0 * needed).abs() <= 1e-9 * double);
        // Moved and seen from elsewhere it is the same.
        let shift = Vector2::new(3.0, -5.0);
        let moved: Vec<_> = pressed.iter().map(|(r, n)| (r + shift, *n)).collect();
        let there = friction_needed(&moved, force, yaw + shift.perp(&force));
        prop_assert!((there - needed).abs() <= 1e-7 * needed, "{} {}", there, needed);
    }
}

#[test]
fn a_machine_on_one_foot_needs_its_horizontal_over_its_vertical_force() {
    // Above its foot, so that nothing twists it: a point holds no twist. Without stiffness about z it
    // would be free to turn, and nowhere at rest.
    let body = RigidBody::new(1e3, Vector3::new(0.3, 0.2, 0.5), Matrix3::identity() * 200.0);
    let mount = Mount::new(Vector3::new(0.3, 0.2, 0.0), [2e6, 2e6, 6e6]).unwrap();
    let mount = mount.with_rotational_stiffness([4e6; 3]).unwrap();
    let mount = mount.with_loss_factor([0.1; 3]).unwrap().with_name("foot");
    let machine = Installation::new(body.unwrap(), vec![mount]).unwrap();
    let wrench = Wrench::new(
        Vector3::new(0.6, 0.0, 0.8),
        Vector3::zeros(),
        Some(Vector3::new(0.3, 0.2, 1.0)),
    );
    let linear = machine.system().linear();
    let load = Pulse::half_sine(3e3, 0.03).unwrap().segments();
    let options = ShockOptions { duration: Some(1.0), ..ShockOptions::default() };
    let load_at = wrench.unwrap().about(machine.body.center());
    let found = shock(&linear, &load, &load_at, &options).unwrap();
    let slid = slid(&machine, &found);
    let weight = 1e3 * machine.gravity;
    let sampled =
        found.mount_force.outer_iter().map(|f| f[[0, 0]].hypot(f[[0, 1]]) / (weight - f[[0, 2]]));
    let most = sampled.fold(0.0, f64::max);
    assert!(slid.friction_needed >= most * (1.0 - 1e-9), "{} {most}", slid.friction_needed);
    assert!(slid.friction_needed < most * 1.01, "{} {most}", slid.friction_needed);
    assert!((slid.friction_needed / slid.foot_friction_needed - 1.0).abs() < 1e-9);
}

#[test]
fn the_search_of_a_motion_by_fourier_transform_sees_what_its_samples_see() {
    let mut machine = machine(0.0);
    let law = underfoot::law::FractionalZener::new(6e6, 6e9, 1e-9, 0.36).unwrap();
    for mount in &mut machine.mounts {
        let laws = [None, None, Some(underfoot::law::Dynamic::FractionalZener(law))];
        *mount = mount.clone().with_dynamic(laws).unwrap();
    }
    let found = jerk(&machine, 0.0, 20e3);
    assert!(found.transient.fourier().is_some());
    let (needed, ..) = sampled(&machine, &found);
    let most = needed.iter().copied().fold(0.0, f64::max);
    let slid = slid(&machine, &found);
    assert!(slid.friction_needed >= most * (1.0 - 1e-6), "{} {most}", slid.friction_needed);
    assert!(slid.friction_needed < most * 1.02, "{} {most}", slid.friction_needed);
}
