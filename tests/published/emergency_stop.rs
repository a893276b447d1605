//! A press braked from 50 strokes a minute: torque, rocking, foot load and horizontal force.
//!
//! Answers of others (`tests/reference/jobs/job_08.json`: modes rel 1e-9, transient peaks rel 1e-6 of the
//! answer); that such a press slides is common practice.

use nalgebra::{DMatrix, Matrix3, Vector3};
use serde_json::Value;
use underfoot::analysis::transient::{Quantity, Shock, ShockOptions, shock};
use underfoot::analysis::{Modes, modes};
use underfoot::installation::{EmergencyStop, Installation, Point, Wrench};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::Linear;

use crate::reference::{load, number};

const MASS: f64 = 60e3;
const HEIGHT: f64 = 2.1;
const HALF_GAUGE: f64 = 1.3;

/// The press; vertical 36 MN/m and horizontal 18 MN/m in all.
fn press() -> Installation {
    let feet = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)];
    let mounts = feet.map(|(x, y)| {
        Mount::new(Vector3::new(HALF_GAUGE * x, y, 0.0), [4.5e6, 4.5e6, 9e6]).unwrap()
    });
    let gyration = Matrix3::identity() * (MASS * 1.5 * 1.5);
    let body = RigidBody::new(MASS, Vector3::new(0.0, 0.0, HEIGHT), gyration).unwrap();
    let top = Point { name: "top".into(), at: Vector3::new(0.0, 0.0, HEIGHT + 3.1) };
    Installation::new(body, mounts.to_vec()).unwrap().with_points(vec![top]).unwrap()
}

/// The same for motion: with or without the tilting weight, zeta 0.06 in each mode.
fn linear(inst: &Installation, weight_tilts: bool) -> (Linear, Modes) {
    let mut linear = inst.system().linear();
    if weight_tilts {
        for turn in [3, 4] {
            linear.k[(turn, turn)] -= MASS * inst.gravity * HEIGHT;
        }
    }
    let modes = modes(&linear).unwrap();
    let rates = modes.frequency.iter().map(|f| 2.0 * 0.06 * 2.0 * std::f64::consts::PI * f);
    let damped = DMatrix::from_diagonal(&nalgebra::DVector::from_iterator(6, rates));
    let shape = &linear.m * &modes.shape;
    linear.c = &shape * damped * shape.transpose();
    (linear, modes)
}

fn stopped(inst: &Installation, linear: &Linear, brake_time: f64) -> (EmergencyStop, Shock) {
    let stop = EmergencyStop::new("stop", 4200.0, 50.0 / 60.0, brake_time, Vector3::y()).unwrap();
    let unit = Wrench::new(Vector3::zeros(), stop.axis, None).unwrap();
    let load = unit.about(inst.body.center());
    let segments = stop.pulse().unwrap().segments();
    let found = shock(linear, &segments, &load, &ShockOptions::default()).unwrap();
    (stop, found)
}

fn is(found: f64, expected: &Value, tolerance: f64) {
    let expected = number(expected);
    assert!((found / expected - 1.0).abs() < tolerance, "{found} is not {expected}");
}

fn tilt(found: &Shock) -> f64 {
    found.peaks(Quantity::Displacement)[4].value
}

fn top(inst: &Installation, found: &Shock) -> f64 {
    let port = &inst.system().ports[0];
    let moved = found.transient.point_displacement(port).unwrap();
    found.transient.peaks(&moved)[0].value
}

/// Of the springs alone: the damping stands in the modes, not in the mounts.
fn horizontal(found: &Shock) -> f64 {
    found.peaks(Quantity::GroundWrench)[0].value
}

#[test]
fn the_weight_lowers_both_rocking_modes() {
    let answers = &load("jobs/job_08")["answers"];
    let inst = press();
    for (weight_tilts, key) in [(true, "modes_Hz"), (false, "modes_without_gravity_Hz")] {
        let (_, modes) = linear(&inst, weight_tilts);
        for wanted in answers[key].as_array().unwrap() {
            let wanted = number(wanted);
            let nearest = modes.frequency.iter().map(|f| (f / wanted - 1.0).abs());
            assert!(nearest.fold(f64::MAX, f64::min) < 1e-9, "{wanted} Hz");
        }
    }
}

#[test]
fn a_brake_fixed_to_the_frame_rocks_the_press_until_it_slides() {
    let answers = &load("jobs/job_08")["answers"];
    let inst = press();
    let (linear, _) = linear(&inst, true);
    for (brake_time, key) in [(0.1, "brake_0.1s"), (0.05, "brake_0.05s")] {
        let expected = &answers[key];
        let (stop, found) = stopped(&inst, &linear, brake_time);
        is(stop.torque(), &expected["torque_N_m"], 1e-12);
        is(tilt(&found), &expected["tilt_peak_rad"], 1e-6);
        is(top(&inst, &found), &expected["top_peak_m"], 1e-6);
        let pair = 2.0 * found.peaks(Quantity::MountForce)[2].value;
        is(pair, &expected["foot_pair_spring_peak_N"], 1e-6);
        is(horizontal(&found), &expected["horizontal_spring_peak_N"], 1e-6);
        let set = horizontal(&found) / (MASS * inst.gravity);
        is(set, &expected["set_ratio"], 1e-6);
        assert!(set > 0.2, "at a friction of 0.2 the set slides");
    }
}

#[test]
fn without_the_tilting_weight_it_rocks_a_little_less() {
    let expected = &load("jobs/job_08")["answers"]["without_gravity"];
    let inst = press();
    let (linear, _) = linear(&inst, false);
    let (_, found) = stopped(&inst, &linear, 0.1);
    is(tilt(&found), &expected["tilt_peak_rad"], 1e-6);
    is(top(&inst, &found), &expected["top_peak_m"], 1e-6);
    is(horizontal(&found), &expected["horizontal_spring_peak_N"], 1e-6);
}

#[test]
fn the_static_equivalent_bounds_the_rocking_without_damping() {
    // One degree of freedom: the dynamic load factor of a rectangular pulse (Biggs, from memory).
    let inst = press();
    let stop = EmergencyStop::new("stop", 4200.0, 50.0 / 60.0, 0.1, Vector3::y()).unwrap();
    assert_eq!(stop.dynamic_load_factor(5.0).unwrap(), 2.0);
    let slow = stop.dynamic_load_factor(1.0).unwrap();
    assert!((slow - 2.0 * (0.1 * std::f64::consts::PI).sin()).abs() < 1e-15);
    let (with_weight, _) = linear(&inst, false);
    let (_, found) = stopped(&inst, &with_weight, 0.1);
    let case = stop.case(&inst.body, 2.0).unwrap();
    let system = inst.system();
    let lasting = inst.static_load(&case.body, &case.loads);
    let options = underfoot::analysis::statics::StaticsOptions::default();
    let still = underfoot::analysis::statics::statics(&system, &lasting, &options).unwrap();
    assert!(tilt(&found) < still.tilt[1] && still.tilt[1] < 3.0 * tilt(&found));
}
