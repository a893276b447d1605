//! Hammers on their foundations: the book's figure of the lower mode, and what really happens.
//!
//! C. Venkatramaiah, Geotechnical Engineering, examples 20.9 and 20.11 (printed digits, read in an
//! excerpt), a textbook exercise (statement read, no printed answer), and 50-digit arithmetic:
//! `tests/reference/shock/hammer_examples.json`. A hammer on mounts: `tests/reference/jobs/job_06.json`,
//! closed forms, to the tolerance stated there (1e-9; peaks 1e-6).

use nalgebra::{Matrix3, Vector3};
use serde_json::Value;
use std::f64::consts::TAU;
use underfoot::analysis::transient::{Quantity, ShockOptions};
use underfoot::analysis::{Struck, struck};
use underfoot::excitation::Blow;
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::reference::load;
use crate::shock_systems::{Link, assert_close, chain, number, reference};

/// Anvil on a pad on a foundation on soil, struck from above; anvil first.
fn struck_anvil(
    masses: [f64; 2],
    pad: f64,
    soil: f64,
    ram: f64,
    speed: f64,
    periods: f64,
) -> Struck {
    let [anvil, block] = masses;
    let link = |name, from, to, stiffness| Link {
        name,
        from,
        to,
        stiffness,
        damping: 0.0,
        loss_factor: 0.0,
    };
    let links = [link("soil", None, 1, soil), link("pad", Some(1), 0, pad)];
    let linear = chain(&[("anvil", anvil), ("block", block)], &links);
    let blow = Blow::new(ram, speed, 0.5, -Vector3::z(), None).unwrap();
    let lowest = underfoot::analysis::modes(&linear).unwrap().frequency[0];
    let options = ShockOptions { duration: Some(periods / lowest), ..ShockOptions::default() };
    struck(&linear, &blow, None, &options).unwrap()
}

/// Size of a mode's part (mm), seen downward.
fn part(found: &Struck, dof: usize, mode: usize) -> f64 {
    -1e3 * found.mode_amplitude[(dof, mode)]
}

#[test]
fn example_20_11_by_its_lower_mode_and_by_both() {
    let example = &reference("hammer_examples")["Ex20.11"];
    let g = 9.81;
    // Weights 1000, 3052 and 50 kN; any g that turns them into masses leaves ratios, so frequencies
    // need the book's 9.81.
    let found = struck_anvil([1000e3 / g, 3052e3 / g], 46e8, 73.2e8, 50e3 / g, 6.2, 3.0);
    let [f_2, f_1] = [found.mode_frequency[0], found.mode_frequency[1]];
    let is =
        |x: f64, key: &str, tolerance: f64| assert_close(x, number(&example[key]), tolerance, key);
    is(found.velocity.abs(), "va", 1e-13);
    is(TAU * f_2, "wn2", 1e-12);
    is(TAU * f_1, "wn1", 1e-12);
    is(part(&found, 1, 1), "foundation_mode1_mm", 1e-11);
    is(part(&found, 1, 0), "foundation_mode2_mm", 1e-11);
    is(part(&found, 0, 1), "anvil_mode1_mm", 1e-11);
    is(part(&found, 0, 0), "anvil_mode2_mm", 1e-11);
    // The book keeps the lower mode alone.
    is(part(&found, 1, 0), "A_foundation_mm_text_formula", 1e-11);
    is(part(&found, 0, 0), "A_anvil_mm_text_formula", 1e-11);
    let printed = &example["published"];
    assert!((part(&found, 1, 0) - number(&printed["A_foundation_mm"])).abs() < 0.005);
    assert!((part(&found, 0, 0) - number(&printed["A_anvil_mm"])).abs() < 0.005);
    let peaks = found.shock.peaks(Quantity::Displacement);
    is(1e3 * peaks[1].value, "foundation_true_max_mm_3T", 1e-9);
    is(1e3 * peaks[0].value, "anvil_true_max_mm_3T", 1e-9);
    is(peaks[1].time, "foundation_true_max_t_s", 1e-8);
    is(peaks[0].time, "anvil_true_max_t_s", 1e-8);
}

#[test]
fn example_20_9_from_the_fall_of_the_tup() {
    let example = &reference("hammer_examples")["Ex20.9"];
    let (weight, g) = (15.5e3, 9.81);
    let speed = Blow::fall_speed(weight / g, 0.9, 700e3 * 0.129, 0.9, g).unwrap();
    assert_close(speed, number(&example["v"]), 1e-12, "v");
    let printed = &example["published"];
    assert!((speed - number(&printed["v"])).abs() < 0.005);
    let blow = Blow::new(weight / g, speed, 0.5, -Vector3::z(), None).unwrap();
    let anvil = 342e3 / g;
    let va = blow.impulse(anvil) / anvil;
    assert_close(va, number(&example["va"]), 1e-12, "va");
    assert!((va - number(&printed["va"])).abs() < 0.0005);
    // Amplitudes from the printed frequencies, by the book's formulae.
    let [wa, w1, w2]: [f64; 3] = [253.0, 272.0, 54.3];
    let anvil = -(wa * wa - w1 * w1) / ((w1 * w1 - w2 * w2) * w2) * va;
    let foundation = anvil * (wa * wa - w2 * w2) / (wa * wa);
    assert_close(1e3 * anvil, number(&example["A_anvil_mm"]), 1e-12, "anvil");
    assert_close(1e3 * foundation, number(&example["A_foundation_mm"]), 1e-12, "foundation");
}

#[test]
fn a_forging_hammer_with_and_without_its_frame_on_the_anvil() {
    let file = reference("hammer_examples");
    for (name, anvil) in [("anvil only", 35e3), ("anvil+frame", 57e3)] {
        let case = &file[format!("Rao_type_forging_hammer ({name})")];
        let found = struck_anvil([anvil, 70e3], 1e9, 0.5e9, 2200.0, 5.0, 3.0);
        let is =
            |x: f64, expected: &Value, what: &str| assert_close(x, number(expected), 1e-11, what);
        is(found.velocity.abs(), &case["v_anvil"], "v");
        is(found.mode_frequency[0], &case["f2"], "f2");
        is(found.mode_frequency[1], &case["f1"], "f1");
        for (dof, body) in [(0, "anvil"), (1, "block")] {
            let modes = &case[format!("{body}_mode_mm")];
            is(part(&found, dof, 1), &modes[0], "upper mode");
            is(part(&found, dof, 0), &modes[1], "lower mode");
            let sum = part(&found, dof, 0).abs() + part(&found, dof, 1).abs();
            is(sum, &case[format!("{body}_sum_abs_mm")], "sum");
            // The true peak stays under the sum of both and above the lower mode.
            let peak = 1e3 * found.shock.peaks(Quantity::Displacement)[dof].value;
            assert!(peak < sum && peak > part(&found, dof, 0).abs());
        }
    }
}

fn hammer(given: &Value, zeta: f64) -> (Installation, Blow) {
    let mass = number(&given["anvil_kg"]);
    let omega = TAU * 5.0;
    let k = mass * omega * omega / 4.0;
    let c = 2.0 * zeta * mass * omega / 4.0;
    let center = Vector3::new(0.0, 0.0, 0.8);
    let body = RigidBody::new(mass, center, Matrix3::identity() * mass).unwrap();
    let corners = [(-1.0, -0.8), (1.0, -0.8), (-1.0, 0.8), (1.0, 0.8)];
    let mounts = corners.map(|(x, y)| {
        Mount::new(Vector3::new(x, y, 0.0), [k; 3]).unwrap().with_damping([c; 3]).unwrap()
    });
    let [ram, speed, e] = ["ram_kg", "ram_speed", "restitution"].map(|key| number(&given[key]));
    let blow = Blow::new(ram, speed, e, -Vector3::z(), None).unwrap();
    (Installation::new(body, mounts.to_vec()).unwrap(), blow)
}

#[test]
fn a_hammer_on_mounts_stays_down_with_enough_damping() {
    let file = load("jobs/job_06");
    let answers = &file["answers"];
    for (zeta, key) in [(0.20, "z020"), (0.02, "z002")] {
        let (inst, blow) = hammer(&file["inputs"], zeta);
        let linear = inst.system().linear();
        let found = struck(&linear, &blow, Some(1.0), &ShockOptions::default()).unwrap();
        assert_close(found.velocity.abs(), number(&answers["v0"]), 1e-9, "v0");
        assert_close(found.struck_mass, 60e3, 1e-12, "struck mass");
        let expected = &answers[key];
        let is = |x: f64, name: &str, tolerance| {
            assert_close(x, number(&expected[name]), tolerance, name)
        };
        is(found.left.unwrap(), "left_after_1s", 1e-9);
        let z = &found.shock.extrema(Quantity::Displacement)[2];
        is(-z.min.value, "down_m", 1e-9);
        is(z.max.value, "up_m", 1e-9);
        let floor = &found.shock.extrema(Quantity::GroundWrench)[2];
        is(-floor.min.value, "floor_dynamic_max_N", 1e-9);
        is(-floor.max.value, "floor_dynamic_min_N", 1e-9);
        if zeta == 0.2 {
            is(floor.min.time, "t_max_s", 1e-7);
            is(floor.max.time, "t_min_s", 1e-7);
        }
        let weight = number(&answers["weight_N"]);
        // No foot lifts while the floor keeps some of the weight.
        assert_eq!(floor.max.value < weight, zeta == 0.2);
    }
    // The undamped rule of thumb says that it lifts.
    let ratio = 0.36 * TAU * 5.0 / 9.80665;
    assert_close(ratio, number(&answers["undamped_ratio"]), 1e-9, "ratio");
    let least = number(&answers["least_zeta_without_liftoff_force"]);
    for (zeta, lifts) in [(least * (1.0 - 1e-7), true), (least * (1.0 + 1e-7), false)] {
        let (inst, blow) = hammer(&file["inputs"], zeta);
        let found = struck(&inst.system().linear(), &blow, None, &ShockOptions::default()).unwrap();
        let up = found.shock.extrema(Quantity::GroundWrench)[2].max.value;
        assert_eq!(up > number(&answers["weight_N"]), lifts, "{zeta}");
    }
}
