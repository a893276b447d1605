//! Two-axle car on equal springs: heave and pitch.
//!
//! Source: C. H. Edwards, D. E. Penney, Differential Equations, 2nd ed., problem 7.4-24, worked in
//! G. Gustafson (University of Utah), course note faq-7.4-24, 2013 (inputs and outputs read).
//! Units: foot, pound-force, second.
//!
//! The second frequency is printed truncated, 10.31 rad/s; the equations give 10.3155.

use underfoot::analysis::modes;
use underfoot::system::Axis;

use crate::cases::embedded;
use crate::close::{misprinted, modes_within, omegas, printed, ratio, stiffened, worst};
use crate::reference::{load, numbers};

const CASE: &str = "sixdof/pub_03_edwards_penney_7_4_24";
const PAIR: [usize; 2] = [Axis::Z as usize, Axis::Ry as usize];

#[test]
fn frequencies_are_those_printed_the_second_truncated() {
    let case = load(CASE);
    let found = modes(&embedded(&case).system().linear()).unwrap();
    let omega: Vec<_> = modes_within(&found, &PAIR)
        .into_iter()
        .map(|mode| found.frequency[mode] * std::f64::consts::TAU)
        .collect();
    let published = numbers(&case["published"]["omega"]);
    printed(omega[0], published[0], 2);
    misprinted(omega[1], published[1], 2, -0.0532);
    assert_eq!((omega[1] * 100.0).floor() / 100.0, published[1]);
    assert!(worst(&omega, &numbers(&case["recomputed"]["omega"])) < 1e-10);
}

#[test]
fn recomputed_frequencies_ratios_and_energies_agree_to_ten_digits() {
    let case = load(CASE);
    let system = embedded(&case).system();
    let all = numbers(&case["inputs"]["embedding_6dof"]["omega_all"]);
    assert!(worst(&omegas(&system), &all) < 1e-10);
    let found = modes(&system.linear()).unwrap();
    let pair = modes_within(&found, &PAIR);
    let ratios: Vec<_> = pair.iter().map(|&m| ratio(&found.shape, m, PAIR[0], PAIR[1])).collect();
    assert!(worst(&ratios, &numbers(&case["recomputed"]["x_over_theta"])) < 1e-10);
    let heave: Vec<_> = pair.iter().map(|&m| 100.0 * found.energy[(m, PAIR[0])]).collect();
    assert!(worst(&heave, &numbers(&case["recomputed"]["ke_heave_percent"])) < 1e-10);
}

#[test]
fn a_stiffness_changed_by_a_millionth_would_be_seen() {
    let case = load(CASE);
    let all = numbers(&case["inputs"]["embedding_6dof"]["omega_all"]);
    assert!(worst(&omegas(&stiffened(embedded(&case).system(), 1.0 + 1e-6)), &all) > 1e-7);
}
