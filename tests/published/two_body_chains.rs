//! Two bodies, one above the other: quarter car, exact chains, a hammer on its block.
//!
//! Sources:
//! - D. C. Barton, J. D. Fieldhouse, Automotive Chassis Engineering, Springer 2018, p. 209,
//!   Eqs. (3.82)-(3.84) (numbers read; authors and year FROM MEMORY). The text carries on with
//!   the rounded polynomial w^4 - 4786 w^2 + 293e3, which explains 68.73, and truncates 7.87.
//! - D. J. Inman, Engineering Vibration, Ex. 4.1.5 and S. S. Rao, Mechanical Vibrations, Ex. 5.3
//!   (both FROM MEMORY); a course flip-book, "Vibrations 5", pp. 8-13 (read).
//! - C. Venkatramaiah, Geotechnical Engineering, Ex. 20.11, pp. 871-872 (numbers read; author FROM
//!   MEMORY). Units kN, t, m. The book keeps the lower mode only and subtracts rounded amplitudes.
//! - Two-body chain by limiting frequencies: case C16 of the reference pack, own derivation there.
//!
//! Each chain runs along z in a system of two bodies with twelve degrees of freedom.

use nalgebra::DVector;
use std::f64::consts::TAU;
use underfoot::analysis::modes;
use underfoot::system::System;

use crate::bodies::{chain, z};
use crate::close::{misprinted, modes_within, printed, ratio, stiffened, worst};
use crate::reference::{load, number, numbers};

/// Angular frequencies of the two modes along z and the shape of each (top, bottom),
/// mass-normalized.
fn vertical(system: &System) -> ([f64; 2], [[f64; 2]; 2]) {
    let found = modes(&system.linear()).unwrap();
    let pair: [usize; 2] = modes_within(&found, &[z(0), z(1)]).try_into().unwrap();
    (
        pair.map(|mode| found.frequency[mode] * TAU),
        pair.map(|mode| [found.shape[(z(0), mode)], found.shape[(z(1), mode)]]),
    )
}

fn quarter_car() -> System {
    let inputs = &load("sixdof/pub_08_quarter_car_two_body")["inputs"];
    let value = |key: &str| number(&inputs[key]);
    chain(&[value("Ms"), value("Mu")], &[[value("Ks"), 0.0], [value("Kt"), 0.0]], &[])
}

#[test]
fn the_quarter_car_bounces_and_hops_as_printed() {
    let case = load("sixdof/pub_08_quarter_car_two_body");
    let ([bounce, hop], [shape, _]) = vertical(&quarter_car());
    let published = numbers(&case["published"]["omega"]);
    misprinted(bounce, published[0], 2, -0.1096);
    misprinted(hop, published[1], 2, 0.0311);
    assert_eq!((bounce * 100.0).floor() / 100.0, published[0]);
    printed(bounce / TAU, 1.25, 2);
    printed(hop / TAU, 10.9, 1);
    let wheel_over_body = shape[1] / shape[0];
    printed(wheel_over_body, number(&case["published"]["A1_over_A2_mode1"]), 3);
    let polynomial = [bounce.powi(2) + hop.powi(2), (bounce * hop).powi(2)];
    let published = numbers(&case["published"]["poly"]);
    misprinted(polynomial[0], published[0], 0, 0.0638);
    misprinted(polynomial[1], published[1], 0, -0.0131);

    let exact = &case["recomputed"];
    assert!(worst(&[bounce, hop], &numbers(&exact["omega"])) < 1e-10);
    assert!(worst(&polynomial, &numbers(&exact["poly"])) < 1e-10);
    assert!(worst(&[wheel_over_body], &[number(&exact["A1_over_A2_mode1"])]) < 1e-10);
}

#[test]
fn three_chains_have_their_exact_roots() {
    let case = load("sixdof/pub_12_two_mass_exact");
    let exact = [
        ("i", [2f64.sqrt(), 2.0]),
        ("ii", [2.5f64.sqrt(), 6f64.sqrt()]),
        ("iii", [0.4f64.sqrt(), 1.0]),
    ];
    for (name, roots) in exact {
        let input = &case["inputs"][name];
        let m = numbers(&input["m"]);
        let (first, second) = (numbers(&input["K"][0]), numbers(&input["K"][1]));
        // Mass 1 on top; what is not shared with mass 2 holds it to the ground beside it.
        let between = -first[1];
        let springs = [[between, 0.0], [second[1] - between, 0.0]];
        let (springs, beside) = if springs[1][0] > 0.0 {
            (springs, [first[0] - between, 0.0])
        } else {
            // Mass 2 hangs on mass 1 alone: stand mass 1 on the ground and mass 2 on top of it.
            ([[between, 0.0], [first[0] - between, 0.0]], [0.0, 0.0])
        };
        let masses = if second[1] > between { [m[0], m[1]] } else { [m[1], m[0]] };
        let (omega, _) = vertical(&chain(&masses, &springs, &beside));
        assert!(worst(&omega, &roots) < 1e-10, "{name}: {omega:?}");
        assert!(worst(&omega, &numbers(&case["recomputed"][name])) < 1e-10, "{name}");
    }
    let published = numbers(&case["published"]["ii"]);
    printed(exact[1].1[0], published[0], 4);
    printed(exact[1].1[1], published[1], 4);
}

/// Anvil on its pad on the foundation block on soil; kN, t, m.
fn hammer() -> (System, [f64; 2]) {
    let inputs = &load("sixdof/pub_10_hammer_two_body_soil")["inputs"];
    let value = |key: &str| number(&inputs[key]);
    let masses = [value("Wa") / 9.81, value("Wf") / 9.81];
    let springs = [[value("k_pad"), 0.0], [value("k_soil"), 0.0]];
    (chain(&masses, &springs, &[]), masses)
}

/// Speed of the anvil after the blow by the law of impact (not part of the library), m/s.
fn anvil_speed() -> f64 {
    let inputs = &load("sixdof/pub_10_hammer_two_body_soil")["inputs"];
    let value = |key: &str| number(&inputs[key]);
    let tup = value("W_tup");
    tup * value("v_impact") * (1.0 + value("restitution")) / (value("Wa") + tup)
}

#[test]
fn the_hammer_foundation_has_the_printed_frequencies() {
    let case = load("sixdof/pub_10_hammer_two_body_soil");
    let (system, [anvil, block]) = hammer();
    let ([low, high], _) = vertical(&system);
    printed(high, 260.335, 3);
    printed(low, 125.164, 3);
    misprinted(high * high, 67774.4, 1, 0.0001);
    printed(low * low, 15666.0, 1);
    let exact = &case["recomputed"];
    assert!(worst(&[high, low], &numbers(&exact["omega_high_low"])) < 1e-10);
    assert!(worst(&[high * high, low * low], &numbers(&exact["wn2"])) < 1e-10);

    // Limiting frequencies: the anvil on a block that does not move, and both as one.
    let [pad, soil] = ["k_pad", "k_soil"].map(|key| number(&case["inputs"][key]));
    let alone = |m: f64, k: f64| {
        let found = modes(&chain(&[m], &[[k, 0.0]], &[]).linear()).unwrap();
        let mode = modes_within(&found, &[z(0)])[0];
        (found.frequency[mode] * TAU).powi(2)
    };
    printed(alone(anvil, pad), 45126.0, 0);
    printed(alone(anvil + block, soil), 17722.0, 0);
    let limits = [alone(anvil, pad), alone(anvil + block, soil)];
    assert!(worst(&limits, &[number(&exact["wa2"]), number(&exact["wl2"])]) < 1e-10);
}

#[test]
fn the_blow_moves_anvil_and_block_as_printed() {
    let case = load("sixdof/pub_10_hammer_two_body_soil");
    let exact = &case["recomputed"];
    let (system, [anvil, _]) = hammer();
    let (omega, shape) = vertical(&system);
    let speed = anvil_speed();
    printed(speed, number(&case["published"]["anvil_velocity"]), 3);

    // x(t) = sum phi (phi_anvil m v) / omega sin(omega t), in mm; the book keeps the lower mode.
    let amplitude = |mode: usize, body: usize| {
        1000.0 * shape[mode][body] * shape[mode][0] * anvil * speed / omega[mode]
    };
    printed(amplitude(0, 1), 1.0, 1);
    printed(amplitude(0, 0), 1.54, 2);
    let found = [amplitude(0, 1), amplitude(0, 0)];
    let expected = [number(&exact["A_found_mm"]), number(&exact["A_anvil_mm"])];
    assert!(worst(&found, &expected) < 1e-10);

    // The pad between them: its stiffness comes from the element.
    let pad = system.elements[0].law.static_stiffness()[(2, 2)];
    let pressure = pad * (found[1] - found[0]) / 1000.0 / number(&case["inputs"]["pad_area"]);
    misprinted(pressure, number(&case["published"]["pad_stress_kPa"]), 2, 1.1470);
    assert!(worst(&[pressure], &[number(&exact["pad_stress_kPa"])]) < 1e-9);

    // Both modes together, over the first two seconds, as the pack's peaks turn out to be (without
    // damping the peak creeps up to the sum of the amplitudes). Sampled every 10 microseconds,
    // which misses a peak by (omega dt)^2 / 8 < 1e-6 of it.
    let peaks = [("found", 1, 1.4864), ("anvil", 0, 2.4991)];
    for (name, body, four_decimals) in peaks {
        let motion = |t: f64| -> f64 {
            (0..2).map(|mode| amplitude(mode, body) * (omega[mode] * t).sin()).sum()
        };
        let samples = DVector::from_fn(200_001, |i, _| motion(i as f64 * 1e-5));
        printed(samples.amax(), four_decimals, 4);
        printed(samples.amax(), number(&exact["exact_two_mode_peaks_mm"][name]), 5);
    }
}

#[test]
fn a_two_body_chain_follows_from_its_limiting_frequencies() {
    let case = &load("sixdof/cf_C16")["instance"];
    let value = |key: &str| number(&case[key]);
    let [m1, m2, k1, k2] = ["m1", "m2", "k1", "k2"].map(value);
    let (omega, _) = vertical(&chain(&[m1, m2], &[[k1, 0.0], [k2, 0.0]], &[]));
    assert!(worst(&omega, &numbers(&case["omega"])) < 1e-10);

    let (upper, lower, lambda) = (k1 / m1, k2 / (m1 + m2), m1 / m2);
    let sum = (1.0 + lambda) * (upper + lower);
    let product = (1.0 + lambda) * upper * lower;
    let [a, b] = omega.map(|w| w * w);
    assert!(worst(&[a + b, a * b], &[sum, product]) < 1e-10);
}

#[test]
fn the_shape_of_the_upper_mode_is_orthogonal_to_the_lower() {
    let found = modes(&quarter_car().linear()).unwrap();
    let pair = modes_within(&found, &[z(0), z(1)]);
    let [low, high] = [0, 1].map(|i| ratio(&found.shape, pair[i], z(0), z(1)));
    // m1 a1 b1 + m2 a2 b2 = 0 for the two masses read.
    assert!((317.5 * low * high + 45.4).abs() < 1e-9 * 45.4);
}

#[test]
fn a_stiffness_changed_by_a_millionth_would_be_seen() {
    for (system, name) in [
        (quarter_car(), "sixdof/pub_08_quarter_car_two_body"),
        (hammer().0, "sixdof/pub_10_hammer_two_body_soil"),
    ] {
        let exact = &load(name)["recomputed"];
        let key = if exact["omega"].is_array() { "omega" } else { "modal_omega" };
        let (omega, _) = vertical(&stiffened(system, 1.0 + 1e-6));
        assert!(worst(&omega, &numbers(&exact[key])) > 1e-7, "{name}");
    }
}
