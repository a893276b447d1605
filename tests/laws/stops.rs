//! Stops and bridges: open they are not there, closed they are a spring, and neither is a mount.

use approx::assert_relative_eq;
use nalgebra::{Matrix3, Vector3};
use underfoot::analysis::statics::{Statics, StaticsOptions, at, statics, working_point};
use underfoot::analysis::{modes, vertical_transmissibility, what_if_bridged};
use underfoot::installation::{Installation, Wrench};
use underfoot::machine::RigidBody;
use underfoot::support::{Bridge, Mount, Stop, rebound};

const K: f64 = 5e6;
const STOP_K: f64 = 3e7;

fn machine() -> Installation {
    let body = RigidBody::new(8e3, Vector3::zeros(), Matrix3::identity() * 8e3).unwrap();
    let mounts = [[-1.0, -0.8], [1.0, -0.8], [-1.0, 0.8], [1.0, 0.8]].map(|[x, y]| {
        Mount::new(Vector3::new(x, y, 0.0), [K / 2.0, K / 2.0, K])
            .and_then(|m| m.with_damping([3e3; 3]))
            .unwrap()
    });
    Installation::new(body, mounts.to_vec()).unwrap()
}

fn below(gap: f64) -> Stop {
    Stop::new(Vector3::zeros(), -Vector3::z(), gap, STOP_K).unwrap().with_name("snubber")
}

fn solve(inst: &Installation, push: Vector3<f64>) -> Statics {
    let push = [Wrench::new(push, Vector3::zeros(), None).unwrap()];
    let load = inst.static_load(&inst.body, &push);
    statics(&inst.system(), &load, &StaticsOptions::default()).unwrap()
}

#[test]
fn an_open_stop_changes_nothing_and_a_closed_one_shares_the_rest() {
    let plain = solve(&machine(), Vector3::zeros());
    let sag = -plain.displacement[2];
    let open = machine().with_stops(vec![below(1.01 * sag)]).unwrap();
    let found = solve(&open, Vector3::zeros());
    assert_relative_eq!(found.displacement[2], -sag, max_relative = 1e-12);
    assert!(!found.beside[0].touches);
    assert_relative_eq!(found.beside[0].way_to_go, 0.01 * sag, max_relative = 1e-9);
    assert_eq!(found.mount_names.len(), 4, "a stop is no mount");
    let closed = machine().with_stops(vec![below(0.4 * sag)]).unwrap();
    let found = solve(&closed, Vector3::zeros());
    let weight = 8e3 * closed.gravity;
    let deep = (weight + STOP_K * 0.4 * sag) / (4.0 * K + STOP_K);
    assert_relative_eq!(-found.displacement[2], deep, max_relative = 1e-12);
    assert!(found.beside[0].touches);
    assert!(found.warnings[0].starts_with("stop snubber touches"), "{:?}", found.warnings);
    assert_relative_eq!(found.beside[0].force.z, STOP_K * (deep - 0.4 * sag), max_relative = 1e-10);
    let sum = found.load.column(2).sum() + found.beside[0].force.z;
    assert_relative_eq!(sum, weight, max_relative = 1e-12);
}

#[test]
fn a_stop_in_the_linearization_is_open_or_closed_as_it_stands() {
    let sag = -solve(&machine(), Vector3::zeros()).displacement[2];
    let heave = |inst: &Installation| {
        let found = solve(inst, Vector3::zeros());
        at(&inst.system(), &found).unwrap().linear().k[(2, 2)]
    };
    assert_eq!(heave(&machine().with_stops(vec![below(2.0 * sag)]).unwrap()), 4.0 * K);
    assert_eq!(heave(&machine().with_stops(vec![below(0.5 * sag)]).unwrap()), 4.0 * K + STOP_K);
    let lossy = below(0.5 * sag).with_damping(7e3).unwrap().with_loss_factor(0.2).unwrap();
    let inst = machine().with_stops(vec![lossy]).unwrap();
    let load = inst.weight_of(&inst.body);
    let rest = working_point(inst.system(), &load, &StaticsOptions::default()).unwrap().linear();
    assert_relative_eq!(rest.c[(2, 2)], 4.0 * 3e3 + 7e3, max_relative = 1e-12);
    assert_relative_eq!(rest.h[(2, 2)], 0.2 * STOP_K, max_relative = 1e-12);
}

#[test]
fn a_double_stop_holds_both_ways() {
    let side = Stop::new(Vector3::zeros(), Vector3::x(), 2e-3, STOP_K)
        .and_then(|s| s.with_gap_behind(1e-3))
        .unwrap();
    let inst = machine().with_stops(vec![side]).unwrap();
    assert_eq!(inst.stops[0].name, "stop 1");
    for (push, gap) in [(60e3, 2e-3), (-60e3, 1e-3)] {
        let found = solve(&inst, Vector3::new(push, 0.0, 0.0));
        let expected = (push.abs() + STOP_K * gap) / (2.0 * K + STOP_K) * push.signum();
        assert_relative_eq!(found.displacement[0], expected, max_relative = 1e-10);
        assert!(found.beside[0].touches);
        assert!(found.beside[0].force.x * push < 0.0, "it pushes back");
    }
    let found = solve(&inst, Vector3::new(5e3, 0.0, 0.0));
    assert_relative_eq!(found.displacement[0], 5e3 / (2.0 * K), max_relative = 1e-10);
    assert_relative_eq!(
        found.beside[0].way_back.unwrap(),
        1e-3 + found.displacement[0],
        max_relative = 1e-10
    );
}

#[test]
fn many_stiff_stops_close_one_after_the_other() {
    let stops = (0..12).map(|i| {
        let at = Vector3::new(-1.1 + 0.2 * f64::from(i), 0.7, 0.0);
        Stop::new(at, -Vector3::z(), 1e-4 * f64::from(i * i), 1e9).unwrap()
    });
    let inst = machine().with_stops(stops.collect()).unwrap();
    let found = solve(&inst, Vector3::new(0.0, 0.0, -200e3));
    let weight = 8e3 * inst.gravity + 200e3;
    let sum = found.load.column(2).sum() + found.beside.iter().map(|s| s.force.z).sum::<f64>();
    assert_relative_eq!(sum, weight, max_relative = 1e-11);
    for stop in &found.beside {
        assert_eq!(stop.touches, stop.way_to_go < 0.0);
        let expected = if stop.touches { -1e9 * stop.way_to_go } else { 0.0 };
        assert!((stop.force.z - expected).abs() < 1e-6 * weight);
    }
    assert!(found.beside.iter().any(|s| s.touches) && found.beside.iter().any(|s| !s.touches));
}

#[test]
fn rebound_stores_the_energy_of_the_speed() {
    for (m, k1, k2, g, v) in [(5e3, 4e6, 4e7, 3e-3, 0.5), (1e3, 1e6, 1e3, 1e-6, 2.0)] {
        let found = rebound(m, k1, k2, g, v).unwrap();
        let x = found.deflection;
        let stored = k1 * x * x / 2.0 + k2 * (x - g) * (x - g) / 2.0;
        assert_relative_eq!(stored, m * v * v / 2.0, max_relative = 1e-13);
        assert_relative_eq!(found.force, k1 * x + k2 * (x - g), max_relative = 1e-12);
    }
    assert!(rebound(0.0, 1.0, 1.0, 0.0, 1.0).is_err());
    assert!(rebound(1.0, 1.0, 1.0, -1.0, 1.0).is_err());
    assert_eq!(rebound(1.0, 1.0, 1.0, 0.0, 0.0).unwrap().force, 0.0);
}

#[test]
fn a_bridge_acts_as_a_mount_at_its_place_does_but_is_none() {
    let place = Vector3::new(1.1, 0.9, 0.4);
    let stiff = [1e6, 2e6, 4e7];
    let pipe = Bridge::new(place, stiff)
        .and_then(|b| b.with_loss_factor([0.05; 3])?.with_damping([100.0; 3]))
        .unwrap();
    let bridged = machine().with_bridges(vec![pipe.clone()]).unwrap();
    let mut mounted = machine();
    mounted.mounts.push(
        Mount::new(place, stiff)
            .and_then(|m| m.with_loss_factor([0.05; 3])?.with_damping([100.0; 3]))
            .unwrap()
            .with_name("pipe"),
    );
    let (a, b) = (bridged.system().linear(), mounted.system().linear());
    assert_eq!((&a.k, &a.h, &a.c), (&b.k, &b.h, &b.c));
    let (s, t) = (solve(&bridged, Vector3::zeros()), solve(&mounted, Vector3::zeros()));
    assert_eq!((s.load.nrows(), t.load.nrows()), (4, 5));
    assert!((s.beside[0].force.z - t.load[[4, 2]]).abs() < 1e-9 * 8e4);
    // What if: before it is the machine without, after it the machine with it.
    let frequency = [2.0, 8.0, 25.0];
    let plain = machine().system().linear();
    let found = what_if_bridged("pipe", [&plain, &a], &frequency, None).unwrap();
    let force = |linear| vertical_transmissibility(linear, &frequency).unwrap().to_vec();
    assert_eq!(found.floor_force_before, force(&plain));
    assert_eq!(found.floor_force_after, force(&a));
    assert_eq!(found.mode_frequency_after, modes(&a).unwrap().frequency);
}

#[test]
fn modal_damping_of_a_heaving_machine_is_its_closed_form() {
    let plain = machine().system().linear();
    let zeta = 0.08;
    let found = what_if_bridged("none", [&plain, &plain], &[4.0, 11.0], Some(zeta)).unwrap();
    let natural = (4.0 * K / 8e3).sqrt() / std::f64::consts::TAU;
    for (f, t) in found.frequency.iter().zip(&found.floor_force_before) {
        let r = f / natural;
        let up = 1.0 + (2.0 * zeta * r).powi(2);
        let down = (1.0 - r * r).powi(2) + (2.0 * zeta * r).powi(2);
        assert_relative_eq!(*t, (up / down).sqrt(), max_relative = 1e-12);
    }
    assert_eq!(found.floor_force_before, found.floor_force_after);
    assert!(what_if_bridged("none", [&plain, &plain], &[4.0], Some(-0.1)).is_err());
    let still = what_if_bridged("none", [&plain, &plain], &[0.0], Some(0.0)).unwrap();
    assert_relative_eq!(still.floor_force_after[0], 1.0, max_relative = 1e-12);
}

#[test]
fn parts_that_are_not_what_they_must_be_are_refused() {
    let refused = |stop: underfoot::Result<Stop>| stop.unwrap_err().to_string();
    let at = Vector3::zeros();
    let long = refused(Stop::new(at, Vector3::new(1.0, 1.0, 0.0), 0.0, 1.0));
    assert!(long.contains("must be a unit vector"), "{long}");
    assert!(refused(Stop::new(at, Vector3::x(), -1e-3, 1.0)).contains("must not be negative"));
    assert!(refused(Stop::new(at, Vector3::x(), 0.0, 0.0)).contains("greater than zero"));
    assert!(Bridge::new(at, [0.0; 3]).is_err());
    assert!(Bridge::new(at, [-1.0, 0.0, 0.0]).is_err());
    let twice = machine().with_stops(vec![below(0.0), below(0.1)]).unwrap_err().to_string();
    assert!(twice.contains("\"snubber\" twice"), "{twice}");
    let mut clash = Bridge::new(at, [1.0; 3]).unwrap();
    clash.name = "mount 1".into();
    assert!(machine().with_bridges(vec![clash]).is_err());
}
