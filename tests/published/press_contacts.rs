//! Clearance in the drive, mounts that lift off, two-sided snubbers: peaks, times and sequence of the
//! changes of contact against 50-digit arithmetic (source in each file).

use nalgebra::{DVector, Matrix3, Vector3};
use serde_json::Value;
use underfoot::analysis::hybrid::{HybridMotion, HybridOptions, HybridOutput, Load, State, hybrid};
use underfoot::analysis::statics::{Contacts, StaticsOptions, statics, with_contacts};
use underfoot::analysis::transient::{Extrema, Start};
use underfoot::installation::{Installation, STANDARD_GRAVITY};
use underfoot::machine::RigidBody;
use underfoot::machine::press::DRIVE;
use underfoot::support::{Mount, Stop};
use underfoot::system::{ContactRule, Hybrid};

use crate::press_chain::{Chain, polygon};
use crate::reference::{load, number, numbers};

fn contacts(inst: &Installation, contacts: Contacts) -> Hybrid {
    let system = inst.system();
    let rest = statics(&system, &inst.static_load(&inst.body, &[]), &StaticsOptions::default());
    let press = inst.press.as_ref().map(|p| (p, inst.gravity));
    with_contacts(&system, &rest.unwrap(), press, contacts).unwrap().0
}

fn chain(input: &Value, gap: f64, counterbalance: f64) -> Chain {
    let pair = |name: &str| ["k", "c"].map(|key| number(&input[name][key]));
    Chain {
        bed: number(&input["bed"]["mass"]),
        crown: number(&input["crown"]["mass"]),
        slide: number(&input["slide"]["mass"]),
        mount: pair("mount"),
        frame: pair("frame"),
        drive: pair("drive"),
        clearance: gap,
        counterbalance: Some(counterbalance),
    }
}

/// The chain under a polygon; a gap of zero is one that opens and shuts at once.
fn run(
    input: &Value,
    chain: &Chain,
    rule: ContactRule,
    knots: &[[f64; 2]],
    end: f64,
) -> HybridMotion {
    let inst = chain.installation();
    let mut system = contacts(&inst, Contacts { rule, lift_off: false });
    let press = inst.press.as_ref().unwrap();
    if chain.clearance == 0.0 {
        // Two sides at one place, so that the changes of side are events.
        let twin = Chain { clearance: 1e-3, ..chain_of(chain) }.installation();
        system.gaps = contacts(&twin, Contacts { rule, lift_off: false }).gaps;
        let gap = &mut system.gaps[0];
        gap.behind = Some(0.0);
        gap.rest = press.drive_at_rest(inst.gravity).unwrap() / press.drive.stiffness;
    }
    assert_eq!(number(&input["gravity"]), inst.gravity);
    let load = Load { segments: polygon(knots), direction: press.work() };
    let options = HybridOptions { duration: Some(end), ..HybridOptions::default() };
    hybrid(&system, &[load], &options).unwrap()
}

fn chain_of(c: &Chain) -> Chain {
    Chain { ..*c }
}

fn close(found: &Extrema, expected: &Value, what: &str) {
    let size = number(&expected["max"]).abs().max(number(&expected["min"]).abs());
    for (end, extreme) in [("max", found.max), ("min", found.min)] {
        let value = number(&expected[end]);
        assert!((extreme.value - value).abs() < 1e-9 * size, "{what} {end} {}", extreme.value);
        // Where the greatest force is no force there is no one instant of it.
        if value.abs() > 1e-9 * size {
            let time = number(&expected[format!("t_{end}")]);
            assert!((extreme.time - time).abs() < 1e-9, "{what} {end} at {}", extreme.time);
        }
    }
}

fn letter(state: State) -> &'static str {
    match state {
        State::Ahead => "P",
        State::AheadSlack => "p",
        State::Open => "G",
        State::BehindSlack => "t",
        State::Behind => "T",
    }
}

fn events_agree(found: &HybridMotion, expected: &Value) {
    let expected = expected.as_array().unwrap();
    let letters = |e: &underfoot::analysis::hybrid::Event| (letter(e.from), letter(e.to));
    for (i, (event, e)) in found.events.iter().zip(expected).enumerate() {
        let [from, to] = ["from", "to"].map(|key| e[key].as_str().unwrap());
        assert_eq!(letters(event), (from, to), "event {i} at {}", event.time);
        let late = (event.time - number(&e["t"])).abs();
        assert!(late < 1e-11, "event {i}: {late:e} s off");
        let rate = number(&e["rel_velocity"]);
        assert!((event.rate - rate).abs() < 1e-9, "event {i}: {} m/s", event.rate);
    }
    assert_eq!(found.events.len(), expected.len());
}

fn up(motion: &HybridMotion, output: &HybridOutput, i: usize) -> Extrema {
    motion.extrema(output)[i].clone()
}

fn drive_case(name: &str, rule: ContactRule) {
    let case = load(name);
    let (input, expected) = (&case["inputs"], &case["outputs"]);
    let gap = number(&input["drive"]["gap"]);
    let chain = chain(input, gap, number(&input["counterbalance_force"]));
    let knots: Vec<[f64; 2]> = input["force"]["knots_t_F"]
        .as_array()
        .unwrap()
        .iter()
        .map(|k| numbers(k).try_into().unwrap())
        .collect();
    let motion = run(input, &chain, rule, &knots, number(&input["t_end"]));
    events_agree(&motion, &expected["events"]);
    let inst = chain.installation();
    let at_rest = inst.press.as_ref().unwrap().drive_at_rest(STANDARD_GRAVITY).unwrap();
    assert!((at_rest - number(&expected["static"]["drive_force"])).abs() < 1e-9);
    let elements = &motion.system().base.elements;
    let element = |kind: &str| elements.iter().position(|e| e.label.kind == kind).unwrap();
    let drive = motion.element_force(element(DRIVE)).unwrap().with_constant(&[at_rest]);
    let frame = motion.element_force(element("frame")).unwrap();
    let peaks = &expected["peaks"];
    close(&up(&motion, &drive, 0), &peaks["drive_force_total"], "drive");
    close(&up(&motion, &frame, 0), &peaks["frame_force_dynamic"], "frame");
    close(&up(&motion, &motion.ground_wrench(), 2), &peaks["mount_force_dynamic"], "mount");
    let coordinate = motion.coordinate(0).unwrap();
    close(&up(&motion, &coordinate, 0), &peaks["drive_coordinate_x"], "coordinate");
    let acceleration = motion.acceleration();
    close(&up(&motion, &acceleration, 2), &peaks["bed_acceleration"], "bed");
    for (name, port) in ["crown", "slide"].iter().zip(inst.inner_ports(&inst.body).unwrap()) {
        let output = motion.point_acceleration(&port).unwrap();
        close(&up(&motion, &output, 2), &peaks[format!("{name}_acceleration")], name);
    }
    let touching = [
        ("push", [State::Ahead, State::AheadSlack]),
        ("pull", [State::Behind, State::BehindSlack]),
    ];
    for (side, states) in touching {
        let found = &motion.extrema_while(&drive, 0, |s| states.contains(&s))[0];
        close(found, &peaks[format!("drive_force_in_{side}_contact")], side);
    }
    let state = motion.at(&motion.displacement(), motion.duration).unwrap();
    let [z, crown, slide] = [state[2], state[2] + state[6], state[2] + state[7]];
    let given = numbers(&expected["state_end"]["z_bed_crown_slide"]);
    for (x, e) in [z, crown, slide].iter().zip(&given) {
        assert!((x - e).abs() < 1e-12, "{x} {e}");
    }
}

#[test]
fn no_gap_is_the_linear_press_and_its_changes_of_side() {
    drive_case("press/b1_no_gap", ContactRule::Geometric);
}

#[test]
fn a_gap_of_a_tenth_of_a_millimeter() {
    drive_case("press/b2_gap_0p1mm", ContactRule::Geometric);
}

#[test]
fn a_slow_release() {
    drive_case("press/b4_slow_release_20ms", ContactRule::Geometric);
}

#[test]
fn a_gap_with_force_clipped_contact() {
    drive_case("press/b6_gap_0p1mm_contact_force_clipped", ContactRule::ForceClipped);
}

#[test]
fn a_slow_release_with_force_clipped_contact() {
    drive_case("press/b7_slow_release_contact_force_clipped", ContactRule::ForceClipped);
}

#[test]
fn reverse_load_over_release_time_gap_and_counterbalance() {
    let table = load("press/b_table_reverse_load");
    let input = &table["inputs_common"];
    let rows = table["rows"].as_array().unwrap();
    assert!(rows.len() > 40);
    let mut falls = 0;
    for row in rows {
        let value = |key: &str| number(&row[key]);
        let chain = chain(input, value("gap_m"), value("counterbalance_N"));
        let knots = [[0.0, 0.0], [0.025, 1.2e6], [0.025 + value("release_time_s"), 0.0]];
        let motion = run(input, &chain, ContactRule::Geometric, &knots, 0.085);
        assert_eq!(motion.events.len() as f64, value("events"), "{row}");
        let index = motion.system().gaps[0].element;
        let bias = value("bias_N");
        let drive = motion.element_force(index).unwrap().with_constant(&[bias]);
        let found = up(&motion, &drive, 0);
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9 * 1.2e6;
        assert!(near(-found.min.value, value("peak_reverse_N")), "{row} {}", found.min.value);
        assert!(near(found.max.value, value("peak_forward_N")), "{row}");
        assert!((found.min.time - value("t_reverse_s")).abs() < 1e-9, "{row}");
        let pull = &motion.extrema_while(&drive, 0, |s| s == State::Behind)[0];
        match row["peak_reverse_in_pull_contact_N"].as_str() {
            Some("pull side never reached") => {
                assert!(motion.events.iter().all(|e| e.to != State::Behind), "{row}");
            }
            _ => {
                let given = value("peak_reverse_in_pull_contact_N");
                assert!(near(-pull.min.value, given), "{row} {}", pull.min.value);
            }
        }
        falls += usize::from(value("peak_reverse_N") < 1e5);
    }
    assert!(falls > 0 && falls < rows.len());
}

/// The body on four mounts of the lift-off cases: only z, rx and ry move.
fn body_on_mounts(input: &Value, stops: Vec<Stop>) -> Installation {
    let b = |key: &str| number(&input["body"][key]);
    let mut inertia = Matrix3::from_diagonal(&Vector3::new(b("Ixx"), b("Iyy"), 20_000.0));
    (inertia[(0, 1)], inertia[(1, 0)]) = (b("Ixy"), b("Ixy"));
    let body = RigidBody::new(b("mass"), Vector3::new(0.0, 0.0, 1.0), inertia).unwrap();
    let mounts = input["mounts"].as_array().unwrap().iter().map(|m| {
        let [x, y, k, c] = ["x", "y", "k", "c"].map(|key| number(&m[key]));
        Mount::new(Vector3::new(x, y, 1.0), [0.3 * k, 0.3 * k, k])
            .and_then(|m| m.with_damping([0.0, 0.0, c]))
            .unwrap()
    });
    Installation::new(body, mounts.collect()).and_then(|i| i.with_stops(stops)).unwrap()
}

fn struck(input: &Value, inst: &Installation, system: &Hybrid) -> HybridMotion {
    let n = 6;
    let [j, x, y] = ["J", "x", "y"].map(|key| number(&input["impulse"][key]));
    let mut impulse = DVector::zeros(n);
    (impulse[2], impulse[3], impulse[4]) = (j, y * j, -x * j);
    let velocity = system.base.m.clone().try_inverse().unwrap() * impulse;
    let start = Start { displacement: DVector::zeros(n), velocity };
    assert_eq!(inst.gravity, number(&input["gravity"]));
    let options = HybridOptions {
        duration: Some(number(&input["t_end"])),
        start: Some(start),
        ..HybridOptions::default()
    };
    hybrid(system, &[], &options).unwrap()
}

/// `code` gives the letter of each mount in `mode_after`.
fn lift_case(name: &str, inst: &Installation, system: &Hybrid, code: impl Fn(State) -> char) {
    let case = load(name);
    let expected = &case["outputs"];
    let motion = struck(&case["inputs"], inst, system);
    let mut states: Vec<State> = vec![
        system.gaps[0].ahead.map_or(State::Open, |a| {
            if system.gaps[0].rest > a { State::Ahead } else { State::Open }
        });
        4
    ];
    let events = expected["events"].as_array().unwrap();
    assert_eq!(motion.events.len(), events.len(), "{:?}", motion.events);
    for (event, e) in motion.events.iter().zip(events) {
        states[event.gap] = event.to;
        let mode: String = states.iter().map(|&s| code(s)).collect();
        assert_eq!(mode, e["mode_after"].as_str().unwrap());
        assert!((event.time - number(&e["t"])).abs() < 1e-11, "{e} {}", event.time);
    }
    let peaks = &expected["peaks"];
    let still = numbers(&expected["static_mount_forces"]);
    let forces = motion.extrema(&motion.mount_force());
    let stops = inst.stops.len();
    for i in 0..4 {
        // A snubber's force counts with its mount's.
        let mut weights = vec![0.0; forces.len()];
        weights[3 * i + 2] = -1.0;
        if stops > 0 {
            weights[3 * (4 + i) + 2] = -1.0;
        }
        let n = motion.mount_force().combined("N", &weights).unwrap();
        close(&up(&motion, &n.with_constant(&[still[i]]), 0), &peaks[format!("N{}", i + 1)], "N");
    }
    let weight = 12_000.0 * STANDARD_GRAVITY;
    let total = motion.ground_wrench().combined("N", &[0.0, 0.0, -1.0, 0.0, 0.0, 0.0]).unwrap();
    close(&up(&motion, &total.with_constant(&[weight]), 0), &peaks["N_total"], "total");
    for (key, i) in [("z", 2), ("rx", 3), ("ry", 4)] {
        close(&up(&motion, &motion.displacement(), i), &peaks[key], key);
    }
    close(&up(&motion, &motion.acceleration(), 2), &peaks["acc_z_cg"], "acceleration");
    let end = motion.at(&motion.displacement(), motion.duration).unwrap();
    for (x, e) in [end[2], end[3], end[4]].iter().zip(numbers(&expected["state_end"]["q"])) {
        assert!((x - e).abs() < 1e-12, "{x} {e}");
    }
}

fn lifting(name: &str, rule: ContactRule) {
    let inst = body_on_mounts(&load(name)["inputs"], Vec::new());
    let system = contacts(&inst, Contacts { rule, lift_off: true });
    let squeeze = numbers(&load(name)["outputs"]["static_compression"]);
    for (gap, e) in system.gaps.iter().zip(squeeze) {
        assert!((gap.rest - e).abs() < 1e-14);
    }
    lift_case(name, &inst, &system, |state| match state {
        State::Ahead => 'C',
        State::AheadSlack => 'F',
        _ => 'S',
    });
}

#[test]
fn mounts_lift_off_by_the_geometric_rule() {
    lifting("press/c1_liftoff_geometric", ContactRule::Geometric);
}

#[test]
fn mounts_lift_off_by_the_force_clipped_rule() {
    lifting("press/c2_liftoff_force_clipped", ContactRule::ForceClipped);
}

#[test]
fn two_sided_snubbers() {
    let name = "press/c4_snubbers_two_sided";
    let input = load(name)["inputs"].clone();
    let snubber = |key: &str| number(&input["snubbers"][key]);
    let stops = input["mounts"].as_array().unwrap().iter().map(|m| {
        let foot = Vector3::new(number(&m["x"]), number(&m["y"]), 1.0);
        Stop::new(foot, Vector3::z(), 0.1, snubber("k2"))
            .and_then(|s| s.with_gap_behind(0.1)?.with_damping(snubber("c2")))
            .unwrap()
    });
    let inst = body_on_mounts(&input, stops.collect());
    let mut system = contacts(&inst, Contacts { rule: ContactRule::Geometric, lift_off: false });
    // The gaps of the case count from rest, those of a stop from the unloaded mounts.
    for gap in &mut system.gaps {
        gap.ahead = Some(gap.rest + snubber("gap_up"));
        gap.behind = Some(gap.rest - snubber("gap_down"));
    }
    lift_case(name, &inst, &system, |state| match state {
        State::Ahead => 'U',
        State::Behind => 'D',
        _ => '0',
    });
}
