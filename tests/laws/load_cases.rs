//! Load cases of daily work: dies, a rolling bolster, a crane, a cart, a brake.

use nalgebra::{Matrix3, Vector3};
use proptest::prelude::*;
use underfoot::analysis::statics::{Standing, StaticsOptions, rail_step, rises, statics};
use underfoot::installation::{
    AS_IT_RUNS, Cart, Case, EmergencyStop, Installation, Point, STANDARD_GRAVITY, SetDown, port,
};
use underfoot::machine::{Die, DieSet, RigidBody, RollingBolster};
use underfoot::support::Mount;

fn at(x: f64, y: f64, z: f64) -> Vector3<f64> {
    Vector3::new(x, y, z)
}

fn press() -> RigidBody {
    let inertia = Matrix3::from_diagonal(&at(150e3, 120e3, 90e3));
    RigidBody::new(60e3, at(0.0, 0.1, 2.2), inertia).unwrap()
}

fn die() -> Die {
    Die::new("die", 5e3, at(0.0, 0.05, 1.3), Some([1.8, 1.0, 0.6])).unwrap()
}

fn bolster(carries: Vec<Die>) -> RollingBolster {
    RollingBolster {
        name: "bolster".into(),
        mass: 4e3,
        center: at(0.0, 0.0, 0.9),
        size: Some([2.2, 1.6, 0.3]),
        direction: -Vector3::y(),
        travel: 3.0,
        wheel_base: 1.2,
        rails: vec![at(-0.7, -1.1, 0.7), at(0.7, -1.1, 0.7)],
        carries,
    }
}

fn close(a: &RigidBody, b: &RigidBody) {
    let off = (a.mass() - b.mass()).abs() / b.mass()
        + (a.center() - b.center()).norm()
        + (a.inertia() - b.inertia()).norm() / b.inertia().norm();
    assert!(off < 1e-12, "{a:?} is not {b:?}");
}

fn refused<T: std::fmt::Debug>(result: underfoot::Result<T>, words: &[&str]) {
    let text = result.unwrap_err().to_string();
    assert!(words.iter().all(|w| text.contains(w)), "{text}");
}

#[test]
fn each_die_takes_the_place_of_the_one_that_is_mounted() {
    let small = Die::new("small", 1e3, at(0.0, 0.0, 1.1), None).unwrap();
    let off = die().with_off_center(at(0.3, 0.0, 0.0)).unwrap();
    let bare = press();
    let body = bare.with_parts(&[small.part().unwrap()]).unwrap();
    let set = DieSet::new(vec![small.clone(), off.clone()], Some("small")).unwrap();
    let variants = set.variants(&body).unwrap();
    let names: Vec<_> = variants.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["without die", "die", "die off center"]);
    close(&variants[0].1, &bare);
    close(&variants[1].1, &bare.with_parts(&[off.part().unwrap()]).unwrap());
    let moved = variants[2].1.center() - variants[1].1.center();
    assert!((moved.x - 0.3 * 5.0 / 65.0).abs() < 1e-14 && moved.y.abs() < 1e-14);
    assert_eq!(set.heaviest().map(|d| d.mass), Some(5e3));
    assert_eq!(set.lightest().map(|d| d.mass), Some(1e3));
    refused(set.with_die(&body, "dye"), &["\"die\"", "\"small\""]);
}

#[test]
fn dies_that_cannot_be_are_refused() {
    refused(Die::new(" ", 1.0, Vector3::zeros(), None), &["name", "blank"]);
    refused(Die::new("d", 0.0, Vector3::zeros(), None), &["mass = 0 kg"]);
    refused(Die::new("d", 1.0, Vector3::zeros(), Some([1.0, -1.0, 1.0])), &["size[1] = -1 m"]);
    refused(die().with_off_center(at(f64::NAN, 0.0, 0.0)), &["off_center[0]"]);
    refused(DieSet::new(vec![die(), die()], None), &["dies[1].name", "\"die\""]);
    refused(DieSet::new(vec![die()], Some("x")), &["\"x\"", "\"die\""]);
    let heavy = Die::new("heavy", 70e3, Vector3::zeros(), None).unwrap();
    let set = DieSet::new(vec![heavy], Some("heavy")).unwrap();
    refused(set.variants(&press()), &["70000 kg", "60000 kg"]);
}

#[test]
fn a_bolster_that_has_not_rolled_leaves_the_machine_as_it_is() {
    let rolling = bolster(vec![]).checked().unwrap();
    close(&rolling.rolled(&press(), 0.0).unwrap(), &press());
    let out = rolling.rolled(&press(), rolling.travel).unwrap();
    assert_eq!(out.mass(), 56e3);
}

#[test]
fn half_a_bolster_stays_on_its_last_axle() {
    let body = press().with_parts(&[die().part().unwrap()]).unwrap();
    let rolling = bolster(vec![die()]).checked().unwrap();
    assert_eq!((rolling.load(), rolling.rail_end()), (9e3, 1.1));
    let bare = rolling.rolled(&body, rolling.travel).unwrap();
    let half = rolling.rolled(&body, 0.5 * rolling.travel).unwrap();
    // The die stands 0.05 m toward the trailing axle: e = -0.05 * 5/9 m.
    let share = 0.5 + 0.05 * 5.0 / 9.0 / 1.2;
    assert!((half.mass() - bare.mass() - share * 9e3).abs() < 1e-8);
    let moment = half.center() * half.mass() - bare.center() * bare.mass();
    let place = moment / (share * 9e3);
    assert!((place - at(0.0, -(1.5 - 0.6), 0.7)).norm() < 1e-11, "{place}");
}

#[test]
fn where_both_axles_stand_on_the_press_the_load_moves_as_it_is() {
    let rolling = bolster(vec![]).checked().unwrap();
    let body = rolling.rolled(&press(), 0.4).unwrap();
    assert_eq!(body.mass(), 60e3);
    let moved = (body.center() - press().center()) * 60e3 / 4e3;
    assert!((moved - at(0.0, -0.4, 0.0)).norm() < 1e-12);
}

proptest! {
    #[test]
    fn no_place_of_a_bolster_has_a_greater_moment_than_those_of_its_cases(part in 0.0..1.0f64) {
        let rolling = bolster(vec![die()]).checked().unwrap();
        let body = press().with_parts(&[die().part().unwrap()]).unwrap();
        let out = rolling.rolled(&body, rolling.travel).unwrap();
        let moment = |s: f64| {
            let body = rolling.rolled(&body, s).unwrap();
            -(body.center().y * body.mass() - out.center().y * out.mass())
        };
        let most = rolling.places().iter().map(|(_, s)| moment(*s)).fold(f64::MIN, f64::max);
        prop_assert!(moment(part * rolling.travel) <= most * (1.0 + 1e-12));
    }
}

#[test]
fn bolsters_that_cannot_roll_are_refused() {
    let with = |change: fn(&mut RollingBolster)| {
        let mut b = bolster(vec![]);
        change(&mut b);
        b.checked()
    };
    refused(with(|b| b.travel = 0.0), &["travel = 0 m", "greater than zero"]);
    refused(with(|b| b.wheel_base = -1.0), &["wheel_base = -1 m"]);
    refused(with(|b| b.mass = 0.0), &["mass = 0 kg"]);
    refused(with(|b| b.direction = Vector3::z()), &["direction", "horizontal"]);
    refused(with(|b| b.direction = at(0.0, -2.0, 0.0)), &["direction", "unit"]);
    refused(with(|b| b.rails.clear()), &["rails = []"]);
    refused(with(|b| b.rails[0].x = f64::INFINITY), &["rails[0]", "finite"]);
    refused(with(|b| b.direction = Vector3::y()), &["leading axle", "when it is in"]);
    refused(with(|b| b.travel = 1.7), &["travel", "more than 1.7"]);
    let off = Die::new("off", 40e3, at(0.0, -1.0, 1.0), None).unwrap();
    refused(bolster(vec![off]).checked(), &["wheel_base", "tips"]);
    let heavy = RollingBolster { mass: 61e3, ..bolster(vec![]) }.checked().unwrap();
    refused(heavy.rolled(&press(), 1.0), &["61000 kg", "60000 kg"]);
    refused(bolster(vec![]).rolled(&press(), 3.1), &["distance = 3.1 m", "3 m"]);
    refused(bolster(vec![]).rolled(&press(), f64::NAN), &["distance", "finite"]);
}

#[test]
fn a_die_set_down_weighs_its_impact_factor_times_itself() {
    let case = SetDown::new("down", die(), 1.8).unwrap().case(&press(), 10.0).unwrap();
    let inst = installation(vec![case]);
    let (body, loads) = inst.case(Some("down")).unwrap();
    let load = inst.static_load(body, loads);
    let bare = 60e3 * STANDARD_GRAVITY;
    // The impact was computed for a gravity of 10 m/s^2, the weight has standard gravity.
    assert!((load[2] + bare + 5e3 * (STANDARD_GRAVITY + 0.8 * 10.0)).abs() < 1e-6);
    refused(SetDown::new("down", die(), 0.9), &["impact_factor = 0.9", "at least 1"]);
    refused(SetDown::new("down", die(), f64::NAN), &["impact_factor", "finite"]);
}

#[test]
fn a_cart_rests_a_part_of_the_die_or_pushes() {
    let edge = at(0.0, -1.2, 0.8);
    let push = at(0.0, 3e3, 0.0);
    let case = Cart::new("cart", 2e3, edge, push).unwrap().case(&press()).unwrap();
    assert_eq!((case.body.mass(), case.loads[0].force, case.loads[0].at), (62e3, push, Some(edge)));
    let pushing = Cart::new("cart", 0.0, edge, push).unwrap().case(&press()).unwrap();
    assert_eq!(pushing.body, press());
    refused(Cart::new("cart", 0.0, edge, Vector3::zeros()), &["push", "must push"]);
    refused(Cart::new("cart", -1.0, edge, push), &["mass = -1 kg"]);
}

#[test]
fn a_brake_takes_its_time() {
    let stop = |inertia, speed, time, axis| EmergencyStop::new("e", inertia, speed, time, axis);
    let one = stop(100.0, 1.0, 0.1, Vector3::x()).unwrap();
    assert!((one.torque() - 2e3 * std::f64::consts::PI).abs() < 1e-9);
    assert!((one.pulse().unwrap().impulse() - 200.0 * std::f64::consts::PI).abs() < 1e-9);
    refused(stop(100.0, 1.0, 0.0, Vector3::x()), &["brake_time = 0 s"]);
    refused(stop(0.0, 1.0, 0.1, Vector3::x()), &["inertia = 0 kg m^2"]);
    refused(stop(100.0, -1.0, 0.1, Vector3::x()), &["speed = -1 Hz"]);
    refused(stop(100.0, 1.0, 0.1, at(1.0, 1.0, 0.0)), &["axis", "length 1"]);
    refused(one.case(&press(), 0.0), &["static_factor = 0"]);
    refused(one.dynamic_load_factor(0.0), &["frequency = 0 Hz"]);
}

fn installation(cases: Vec<Case>) -> Installation {
    let feet = [(-1.4, -1.0), (1.4, -1.0), (-1.4, 1.0), (1.4, 1.0)];
    let mounts = feet.map(|(x, y)| Mount::new(at(x, y, 0.0), [4e6, 4e6, 9e6]).unwrap());
    let rail = |name: &str, x| Point { name: name.into(), at: at(x, -1.1, 0.7) };
    Installation::new(press(), mounts.to_vec())
        .and_then(|i| i.with_cases(cases))
        .and_then(|i| i.with_points(vec![rail("rail left", -0.7), rail("rail right", 0.7)]))
        .unwrap()
}

#[test]
fn steps_there_and_back_cancel_and_rises_name_their_case() {
    let rolling = bolster(vec![]).checked().unwrap();
    let variants = rolling.places().into_iter().map(|(name, s)| Case {
        name,
        body: rolling.rolled(&press(), s).unwrap(),
        loads: vec![],
    });
    let inst = installation(variants.collect());
    let options = StaticsOptions::default();
    let solved: Vec<_> = inst
        .all_cases()
        .map(|(name, body, loads)| {
            let load = inst.static_load(body, loads);
            let ports: Vec<_> = inst.points.iter().map(|p| port(p, body.center())).collect();
            (name, statics(&inst.system_of(body), &load, &options).unwrap(), ports)
        })
        .collect();
    let cases: Vec<_> =
        solved.iter().map(|(case, statics, points)| Standing { case, statics, points }).collect();
    for (a, b) in [(0, 4), (1, 2), (3, 0)] {
        let there = rail_step("rail left", &cases[a], &cases[b]).unwrap();
        let back = rail_step("rail left", &cases[b], &cases[a]).unwrap();
        assert_eq!((there.rise, there.tilt), (-back.rise, back.tilt.map(|t| -t)));
    }
    // Out: 4 t less on 36 MN/m, and no turn from a bolster in the middle of the mounts.
    let out = rail_step("rail right", &cases[0], &cases[4]).unwrap();
    assert!((out.rise / (4e3 * STANDARD_GRAVITY / 36e6) - 1.0).abs() < 1e-9, "{out:?}");
    let levels = rises(&cases).unwrap();
    assert_eq!(
        (levels[0].point.as_str(), levels[0].up.case.as_str()),
        ("rail left", "bolster out")
    );
    assert!((levels[0].up.value - out.rise).abs() < 1e-15);
    assert!(levels[0].down.value < 0.0 && levels[0].down.case != AS_IT_RUNS);
    refused(rail_step("rails", &cases[0], &cases[1]), &["\"rails\"", "\"rail left\""]);
    refused(rises(&[]), &["at least one load case"]);
}
