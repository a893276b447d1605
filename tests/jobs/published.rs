//! Published machines entered as job files: the whole way from the text to the frequencies.
//!
//! Printed digits set the tolerance; each file says where its numbers come from and what in print
//! is a slip.

use std::f64::consts::TAU;

use underfoot::study::Study;

use crate::job;

fn frequencies(name: &str) -> Vec<f64> {
    Study::of(&job(&format!("published/{name}"))).unwrap().results.modes.frequency
}

/// Each printed value is met by one of the found ones to half a unit of its last digit.
fn printed(found: &[f64], expected: &[(f64, f64)]) {
    for &(value, unit) in expected {
        assert!(
            found.iter().any(|f| (f - value).abs() <= 0.5 * unit * (1.0 + 1e-9)),
            "{value} is not among {found:?}"
        );
    }
}

#[test]
fn six_frequencies_of_the_isolated_box_come_out_to_the_printed_digits() {
    // T. Irvine, 2009 (from memory).
    let found = frequencies("irvine_isolated_box");
    let list = [7.338, 12.02, 27.04, 27.47, 63.06, 83.19];
    let units = [0.001, 0.01, 0.01, 0.01, 0.01, 0.01];
    for ((f, value), unit) in found.iter().zip(list).zip(units) {
        printed(&[*f], &[(value, unit)]);
    }
}

#[test]
fn heave_and_pitch_of_the_car_come_out_to_the_printed_digits() {
    // W. T. Thomson, example 5.3-2, pp. 140-142: 6.90 rad/s, 1.10 Hz and 1.44 Hz; the printed
    // 9.06 rad/s is a slip for 9.05.
    let hertz = frequencies("thomson_car");
    printed(&hertz, &[(1.10, 0.01), (1.44, 0.01)]);
    let radians: Vec<_> = hertz.iter().map(|f| f * TAU).collect();
    printed(&radians, &[(6.90, 0.01), (9.05, 0.01)]);
    assert!(radians.iter().all(|w| (w - 9.06).abs() > 0.005), "the misprint would be met");
}

#[test]
fn both_frequencies_of_the_two_axle_car_come_out_to_the_printed_digits() {
    // C. H. Edwards and D. E. Penney, problem 7.4-24: 6.13 rad/s, and 10.31 rad/s cut off.
    let radians: Vec<_> = frequencies("edwards_penney_car").iter().map(|f| f * TAU).collect();
    printed(&radians, &[(6.13, 0.01)]);
    assert!(radians.iter().any(|w| (100.0 * w).floor() == 1031.0), "{radians:?}");
}

#[test]
fn both_frequencies_of_the_machine_tool_come_out_to_the_printed_digits() {
    // S. S. Rao, chapter 5, answer option d (weak evidence).
    let radians: Vec<_> = frequencies("rao_machine_tool").iter().map(|f| f * TAU).collect();
    printed(&radians, &[(70.58, 0.01), (82.37, 0.01)]);
}
