//! Load-deflection curves: a curve is its own derivative and integral; curved mounts rest in
//! balance, wherever they are listed, and are linearized where they rest.

use approx::assert_relative_eq;
use nalgebra::{DVector, Matrix3, Vector3};
use proptest::prelude::*;
use underfoot::Error;
use underfoot::analysis::modes;
use underfoot::analysis::statics::{
    Statics, StaticsOptions, at, stability, statics, working_point,
};
use underfoot::installation::{Installation, Wrench};
use underfoot::law::Curve;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

const CORNERS: [[f64; 2]; 4] = [[-1.4, -1.0], [1.4, -1.0], [-1.4, 1.0], [1.4, 1.0]];

/// A table that stiffens (or softens, or both) from step to step.
fn table(steps: &[(f64, f64)]) -> Curve {
    let (mut u, mut f) = (0.0, 0.0);
    let rows: Vec<_> = steps
        .iter()
        .map(|&(du, df)| {
            u += du;
            f += df;
            (u, f)
        })
        .collect();
    Curve::table(&rows).unwrap()
}

fn steps() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((1e-3..4e-3, 10e3..80e3), 3..7)
}

fn rubber() -> Curve {
    Curve::compression(0.04, vec![(60e3, -2.0, 1.0), (20e3, -4.0, 0.0)]).unwrap()
}

fn body(center: [f64; 3], mass: f64) -> RigidBody {
    RigidBody::new(mass, Vector3::from(center), Matrix3::identity() * mass).unwrap()
}

fn on(curves: &[Curve], mass: f64) -> Installation {
    let mounts = curves.iter().zip(CORNERS).map(|(curve, [x, y])| {
        Mount::new(Vector3::new(x, y, 0.0), [4e6, 4e6, 10e6])
            .and_then(|m| m.with_loss_factor([0.1; 3])?.with_curve(curve.clone(), Some(1.3)))
            .unwrap()
    });
    Installation::new(body([0.1, 0.05, 1.5], mass), mounts.collect()).unwrap()
}

fn solve(machine: &Installation, options: &StaticsOptions) -> Statics {
    statics(&machine.system(), &machine.weight_of(&machine.body), options).unwrap()
}

fn free() -> StaticsOptions {
    StaticsOptions::default()
}

/// Balance of the forces that the curves themselves give at the deflections found, as a part of the
/// weight (moments: of the weight times a meter).
fn unbalanced(machine: &Installation, found: &Statics) -> f64 {
    let weight = machine.body.mass() * machine.gravity;
    let (mut force, mut moment) = (Vector3::zeros(), Vector3::zeros());
    force.z -= weight;
    for (i, mount) in machine.mounts.iter().enumerate() {
        let squeezed = [0, 1, 2].map(|a| found.deflection[[i, a]]);
        let vertical = mount.curve.as_ref().unwrap().force(squeezed[2]).unwrap();
        let [kx, ky, _] = mount.static_stiffness;
        let push = Vector3::new(kx * squeezed[0], ky * squeezed[1], vertical);
        force += push;
        moment += (mount.position - machine.body.center()).cross(&push);
    }
    force.amax().max(moment.amax()) / weight
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_tangent_of_a_curve_is_its_derivative_and_the_energy_its_integral(
        steps in steps(), part in 0.0..1.0,
    ) {
        for curve in [table(&steps), rubber()] {
            let [_, end] = curve.range();
            let (u, h) = ((0.02 + 0.96 * part) * end, 1e-4 * end);
            let f = |u: f64| curve.force(u).unwrap();
            // The fourth-order difference is exact for a cubic; a knot within reach costs digits.
            let slope = (8.0 * (f(u + h) - f(u - h)) - (f(u + 2.0 * h) - f(u - 2.0 * h)))
                / (12.0 * h);
            assert_relative_eq!(curve.tangent(u).unwrap(), slope, max_relative = 2e-3);
            let work = |u: f64| curve.energy(u).unwrap();
            let power = (8.0 * (work(u + h) - work(u - h)) - (work(u + 2.0 * h) - work(u - 2.0 * h)))
                / (12.0 * h);
            assert_relative_eq!(f(u), power, max_relative = 1e-7);
            assert_relative_eq!(curve.deflection(f(u)).unwrap(), u, max_relative = 1e-12);
            prop_assert!(curve.tangent(u).unwrap() > 0.0);
        }
        prop_assert_eq!(rubber().energy(0.0).unwrap(), 0.0);
        prop_assert_eq!(table(&steps).energy(0.0).unwrap(), 0.0);
    }

    #[test]
    fn curved_mounts_rest_in_balance_to_1e_12_of_the_weight(
        a in steps(), b in steps(), mass in 3e3..9e3,
    ) {
        let machine = on(&[table(&a), rubber(), table(&b), rubber()], mass);
        let found = solve(&machine, &free());
        prop_assert!(unbalanced(&machine, &found) < 1e-12, "{}", unbalanced(&machine, &found));
        prop_assert!(found.newton_steps > 0 && found.residual < 1e-12, "{}", found.residual);
    }

    #[test]
    fn the_order_of_curved_mounts_does_not_matter(a in steps(), b in steps(), mass in 3e3..9e3) {
        let machine = on(&[table(&a), rubber(), table(&b), rubber()], mass);
        let mut turned = machine.clone();
        turned.mounts.reverse();
        let (one, other) = (solve(&machine, &free()), solve(&turned, &free()));
        for i in 0..4 {
            for axis in 0..3 {
                let (f, g) = (one.load[[i, axis]], other.load[[3 - i, axis]]);
                prop_assert!((f - g).abs() < 1e-11 * mass * 9.81, "{f} {g}");
            }
        }
        let frequency = |machine: &Installation, found: &Statics| {
            modes(&at(&machine.system(), found).unwrap().linear()).unwrap().frequency
        };
        for (f, g) in frequency(&machine, &one).iter().zip(frequency(&turned, &other)) {
            assert_relative_eq!(*f, g, max_relative = 1e-9);
        }
    }
}

#[test]
fn a_straight_curve_is_a_constant_law() {
    let k = 10e6;
    let straight = Curve::table(&[(0.004, 0.004 * k), (0.01, 0.01 * k), (0.03, 0.03 * k)]).unwrap();
    let curved = on(&vec![straight; 4], 6e3);
    let mut constant = curved.clone();
    for mount in &mut constant.mounts {
        mount.curve = None;
        mount.static_stiffness[2] = k;
        mount.stiffness[2] = 1.3 * k;
    }
    let mut load = curved.weight_of(&curved.body);
    load += Wrench::new(Vector3::new(9e3, 4e3, 0.0), Vector3::zeros(), None)
        .unwrap()
        .about(curved.body.center());
    for (unilateral, gravity_stiffness) in
        [(false, false), (false, true), (true, false), (true, true)]
    {
        let options = StaticsOptions { unilateral, gravity_stiffness, floor_height: None };
        let (a, b) = (
            statics(&curved.system(), &load, &options).unwrap(),
            statics(&constant.system(), &load, &options).unwrap(),
        );
        let largest = b.load.iter().fold(0.0, |m: f64, f| m.max(f.abs()));
        assert!((&a.load - &b.load).iter().all(|d| d.abs() < 1e-11 * largest));
        assert_eq!(a.lifted, b.lifted);
        let rest = at(&curved.system(), &a).unwrap();
        let (k, l) = (rest.linear(), constant.system().linear());
        for (found, expected) in [(&k.k, &l.k), (&k.h, &l.h), (&k.c, &l.c)] {
            assert!((found - expected).amax() <= 1e-11 * expected.amax());
        }
        let (s, t) =
            (stability(&curved.system(), &a).unwrap(), stability(&constant.system(), &b).unwrap());
        for (s, t) in s.iter().zip(&t) {
            assert_relative_eq!(s.k_theta, t.k_theta, max_relative = 1e-10);
            assert_relative_eq!(s.ratio, t.ratio, max_relative = 1e-9);
        }
    }
}

#[test]
fn a_system_of_constant_stiffness_has_the_same_bits_at_any_working_point() {
    let mut machine = on(&[rubber(), rubber(), rubber(), rubber()], 6e3);
    machine.mounts.iter_mut().for_each(|mount| mount.curve = None);
    let load = machine.weight_of(&machine.body);
    let system = machine.system();
    let rest = working_point(system.clone(), &load, &free()).unwrap();
    assert_eq!(rest, system);
    let found = statics(&system, &load, &free()).unwrap();
    assert_eq!(at(&system, &found).unwrap(), system);
    assert_eq!((found.newton_steps, found.residual), (0, 0.0));
}

#[test]
fn the_heave_of_each_load_is_that_of_its_own_tangent() {
    let curve = rubber();
    for mass in [2e3, 6e3, 12e3] {
        let mut machine = on(&vec![curve.clone(); 4], mass);
        machine.body = body([0.0, 0.0, 0.0], mass);
        let load = machine.weight_of(&machine.body);
        let rest = working_point(machine.system(), &load, &free()).unwrap();
        let each = curve.deflection(mass * machine.gravity / 4.0).unwrap();
        let tangent = curve.tangent(each).unwrap();
        let expected = (4.0 * 1.3 * tangent / mass).sqrt() / std::f64::consts::TAU;
        let found = modes(&rest.linear()).unwrap().frequency;
        let nearest = found.iter().map(|f| (f / expected - 1.0).abs()).fold(f64::MAX, f64::min);
        assert!(nearest < 1e-10, "{mass} kg: {expected} Hz is not among {found:?}");
    }
}

#[test]
fn a_curved_mount_that_would_be_pulled_lifts_off() {
    let machine = on(&[rubber(), rubber(), rubber(), rubber()], 6e3);
    let mut load = machine.weight_of(&machine.body);
    load[3] += 0.7 * 6e3 * 9.81;
    load[4] += 0.7 * 1.4 * 6e3 * 9.81;
    let system = machine.system();
    let bonded = statics(&system, &load, &free()).unwrap();
    assert!(!bonded.tension.is_empty());
    // The formula of rubber reaches into tension.
    assert!(bonded.warnings.iter().all(|w| !w.contains("beyond its curve")));
    let options = StaticsOptions { unilateral: true, ..free() };
    let found = statics(&system, &load, &options).unwrap();
    assert!(!found.lifted.is_empty());
    for i in 0..4 {
        if found.lifted.contains(&i) {
            assert!(found.lift_gap[i] > 0.0 && found.load[[i, 2]] == 0.0);
        } else {
            let mount = &machine.mounts[i];
            let force = mount.curve.as_ref().unwrap().force(found.deflection[[i, 2]]).unwrap();
            assert!(force > 0.0);
            assert_relative_eq!(found.load[[i, 2]], force, max_relative = 1e-12);
        }
    }
    let sum: f64 = found.load.column(2).sum();
    assert_relative_eq!(sum, 6e3 * machine.gravity, max_relative = 1e-12);
}

#[test]
fn a_table_without_tension_says_that_it_is_left_where_a_bonded_mount_is_pulled() {
    let machine = on(&vec![table(&[(0.004, 2e4), (0.004, 4e4)]); 4], 3e3);
    let mut load = machine.weight_of(&machine.body);
    load[3] += 0.7 * 3e3 * 9.81;
    load[4] += 0.7 * 1.4 * 3e3 * 9.81;
    let found = statics(&machine.system(), &load, &free()).unwrap();
    assert!(found.warnings.iter().any(|w| w.contains("beyond its curve")), "{:?}", found.warnings);
}

#[test]
fn a_mount_whose_range_ends_is_named_with_its_load() {
    let mut curves = vec![rubber(); 4];
    curves[2] = table(&[(0.001, 4e3), (0.001, 5e3)]);
    let machine = on(&curves, 12e3);
    let found = statics(&machine.system(), &machine.weight_of(&machine.body), &free());
    let error = found.unwrap_err().to_string();
    assert!(error.contains("curve of mount mount 3"), "{error}");
    assert!(error.contains("its range ends at 2.000000e-3 m and 9.000000e3 N"), "{error}");
}

#[test]
fn gravity_stiffness_of_curved_mounts_is_consistent_with_their_tangents() {
    // A small extra moment tilts the machine by M / (k_theta - m g h) with the tangents at rest.
    let mut machine = on(&vec![rubber(); 4], 6e3);
    machine.body = body([0.0, 0.0, 1.8], 6e3);
    let options = StaticsOptions { gravity_stiffness: true, ..free() };
    let weight = machine.weight_of(&machine.body);
    let rest = statics(&machine.system(), &weight, &options).unwrap();
    let mut pushed = weight.clone();
    pushed[3] += 1e-3;
    let tilted = statics(&machine.system(), &pushed, &options).unwrap();
    let [about_x, _] = stability(&machine.system(), &rest).unwrap();
    let expected = 1e-3 / (about_x.k_theta * (1.0 - about_x.ratio));
    assert_relative_eq!(tilted.tilt[0] - rest.tilt[0], expected, max_relative = 1e-5);
}

#[test]
fn a_curve_that_does_not_rise_is_refused_at_its_first_such_row() {
    let refused = |rows: &[(f64, f64)]| Curve::table(rows).unwrap_err().to_string();
    let falling = refused(&[(0.001, 1e3), (0.002, 3e3), (0.003, 2.5e3), (0.002, 4e3)]);
    assert_eq!(
        falling,
        "curve[2][1] = 2500 N: the load must rise from row to row (before it 3000 N); check the row \
         and the order of the rows"
    );
    assert!(refused(&[(0.001, 1e3), (0.001, 3e3)]).starts_with("curve[1][0] = 0.001 m"));
    assert!(refused(&[(0.001, -1e3)]).starts_with("curve[0][1] = -1000 N"));
    assert!(refused(&[(0.0, 5.0), (1.0, 7.0)]).contains("[0, 0] is required"));
    assert!(refused(&[(-0.001, -1e3), (0.001, 1e3)]).starts_with("curve[1]"));
    assert!(refused(&[]).contains("at least one point"));
    assert!(refused(&[(0.0, 0.0)]).contains("at least one point"));
    assert!(refused(&[(f64::NAN, 0.0)]).contains("must be finite"));
    assert!(Curve::table(&[(-0.001, -1e3), (0.0, 0.0), (0.001, 1e3)]).is_ok());
    let falls = Curve::compression(0.03, vec![(1e3, -2.0, 1.0), (-4e3, -1.0, 0.0)]);
    assert!(falls.unwrap_err().to_string().contains("at a strain of"));
    assert!(Curve::compression(0.03, vec![]).is_err());
    assert!(Curve::compression(0.0, vec![(1.0, -2.0, 1.0)]).is_err());
    let curve = rubber();
    assert!(curve.force(0.021).unwrap_err().to_string().contains("not extrapolated"));
    assert!(curve.deflection(1e9).unwrap_err().to_string().contains("not extrapolated"));
}

#[test]
fn a_mount_with_a_curve_needs_a_ratio_of_dynamic_to_static_stiffness() {
    let mount = Mount::new(Vector3::zeros(), [1e6, 1e6, 0.0]).unwrap();
    assert!(matches!(mount.clone().with_curve(rubber(), None), Err(Error::Invalid { .. })));
    assert!(mount.clone().with_curve(rubber(), Some(0.0)).is_err());
    let ratio = |mount: Mount| mount.stiffness[2] / mount.static_stiffness[2];
    assert_relative_eq!(ratio(mount.with_curve(rubber(), Some(1.4)).unwrap()), 1.4);
    let own = Mount::new(Vector3::zeros(), [1e6, 1e6, 6e6])
        .and_then(|m| m.with_static_stiffness([1e6, 1e6, 4e6])?.with_curve(rubber(), None));
    assert_relative_eq!(ratio(own.unwrap()), 1.5);
}

#[test]
fn no_load_leaves_curved_mounts_as_they_are() {
    let machine = on(&vec![rubber(); 4], 6e3);
    let found = statics(&machine.system(), &DVector::zeros(6), &free()).unwrap();
    assert_eq!(found.displacement.amax(), 0.0);
}
