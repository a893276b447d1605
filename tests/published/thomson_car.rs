//! Car body on two axle springs: heave and pitch.
//!
//! Source: W. T. Thomson, Theory of Vibration with Applications, Example 5.3-2, pp. 140-142 (read
//! in a copy of the pages; the second amplitude ratio, 1.09 ft/rad, FROM MEMORY). Unit: foot,
//! pound-force, second, g = 32.2 ft/s^2. The bar is embedded in a machine on four mounts, whose
//! other four modes were recomputed for the reference pack by another program.
//!
//! Misprint: the second frequency is printed as 9.06 rad/s; the equations give 9.0515.

use underfoot::analysis::modes;
use underfoot::installation::Installation;
use underfoot::system::Axis;

use crate::cases::embedded;
use crate::close::{misprinted, modes_within, omegas, printed, ratio, stiffened, worst};
use crate::reference::{load, numbers};

const CASE: &str = "sixdof/pub_02_thomson_ex5_3_2";
const HEAVE: usize = Axis::Z as usize;
const PITCH: usize = Axis::Ry as usize;

fn car() -> Installation {
    embedded(&load(CASE))
}

/// Frequencies (rad/s) and heave over pitch (ft/rad) of the two modes.
fn heave_and_pitch() -> ([f64; 2], [f64; 2]) {
    let found = modes(&car().system().linear()).unwrap();
    let pair: [usize; 2] = modes_within(&found, &[HEAVE, PITCH]).try_into().unwrap();
    (
        pair.map(|mode| found.frequency[mode] * std::f64::consts::TAU),
        pair.map(|mode| ratio(&found.shape, mode, HEAVE, PITCH)),
    )
}

#[test]
fn frequencies_and_ratios_are_those_printed_but_for_one_misprint() {
    let ([w1, w2], [r1, r2]) = heave_and_pitch();
    printed(w1, 6.90, 2);
    misprinted(w2, 9.06, 2, 0.0942);
    printed(w1 / std::f64::consts::TAU, 1.10, 2);
    printed(w2 / std::f64::consts::TAU, 1.44, 2);
    printed(r1, -14.6, 1);
    misprinted(r2, 1.09, 2, -0.5635);
    // In inches per degree.
    printed(r1 * 12.0 * 1f64.to_radians(), -3.06, 2);
    let published = &load(CASE)["published"];
    assert_eq!(numbers(&published["omega"]), [6.90, 9.06]);
    assert_eq!(numbers(&published["x_over_theta_ft"]), [-14.6, 1.09]);
}

#[test]
fn uncoupled_frequencies_are_those_printed() {
    let linear = car().system().linear();
    let alone = |i: usize| (linear.k[(i, i)] / linear.m[(i, i)]).sqrt();
    printed(alone(HEAVE), 7.07, 2);
    printed(alone(PITCH), 8.92, 2);
}

#[test]
fn recomputed_frequencies_ratios_and_energies_agree_to_ten_digits() {
    let case = load(CASE);
    let (omega, ratios) = heave_and_pitch();
    assert!(worst(&omega, &numbers(&case["recomputed"]["omega"])) < 1e-10);
    assert!(worst(&ratios, &numbers(&case["recomputed"]["x_over_theta_ft"])) < 1e-10);
    let all = numbers(&case["inputs"]["embedding_6dof"]["omega_all"]);
    assert!(worst(&omegas(&car().system()), &all) < 1e-10);
    let found = modes(&car().system().linear()).unwrap();
    let heave: Vec<_> = modes_within(&found, &[HEAVE, PITCH])
        .into_iter()
        .map(|mode| 100.0 * found.energy[(mode, HEAVE)])
        .collect();
    assert!(worst(&heave, &numbers(&case["recomputed"]["ke_heave_percent"])) < 1e-10);
}

#[test]
fn a_stiffness_changed_by_a_millionth_would_be_seen() {
    let all = numbers(&load(CASE)["inputs"]["embedding_6dof"]["omega_all"]);
    assert!(worst(&omegas(&stiffened(car().system(), 1.0 + 1e-6)), &all) > 1e-7);
}
