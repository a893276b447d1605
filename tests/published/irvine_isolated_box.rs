//! Isolated avionics box on four equal isolators in one side plane: six natural frequencies.
//!
//! Source: T. Irvine, Avionics Isolation Design Guidelines, Rev. C, 2009, and its companion
//! six-degree-of-freedom tutorial, table of natural frequencies. Inputs and frequencies FROM
//! MEMORY (only the front page was read). Unit of mass lbm/386, as in the source. The energy
//! table was not published: it was recomputed for the reference pack by another program.

use nalgebra::Matrix3;
use underfoot::analysis::modes;
use underfoot::installation::Installation;

use crate::cases::{machine, tensor};
use crate::close::{omegas, printed, stiffened, worst};
use crate::reference::{load, number, numbers};

const CASE: &str = "sixdof/pub_01_irvine_6dof";

/// The box in inches, pounds-force and seconds, with `g` in/s^2 in a pound of mass.
fn avionics_box(g: f64) -> Installation {
    let case = load(CASE);
    let inputs = &case["inputs"];
    let inertia: Matrix3<f64> = tensor(&inputs["J_lbm_in2"]) / g;
    machine(number(&inputs["mass_lbm"]) / g, inertia, &inputs["mounts"])
}

fn hz(g: f64) -> Vec<f64> {
    modes(&avionics_box(g).system().linear()).unwrap().frequency
}

/// Decimals printed for each frequency.
const DECIMALS: [i32; 6] = [3, 2, 2, 2, 2, 2];

#[test]
fn six_frequencies_are_those_printed() {
    let published = numbers(&load(CASE)["published"]["hz"]);
    for ((found, published), decimals) in hz(386.0).into_iter().zip(published).zip(DECIMALS) {
        printed(found, published, decimals);
    }
}

#[test]
fn the_pound_of_mass_is_seen_in_the_printed_digits() {
    let published = numbers(&load(CASE)["published"]["hz"]);
    let misses = |g: f64| {
        let half = |d: i32| 0.5 * 10f64.powi(-d);
        let all = hz(g).into_iter().zip(&published).zip(DECIMALS);
        all.filter(|((a, b), d)| (a - *b).abs() > half(*d)).count()
    };
    assert!(misses(386.088) >= 3 && misses(386.4) >= 3);
}

#[test]
fn recomputed_frequencies_and_matrices_agree_to_ten_digits() {
    let case = load(CASE);
    let linear = avionics_box(386.0).system().linear();
    let expected = numbers(&case["recomputed"]["hz"]);
    assert!(worst(&hz(386.0), &expected) < 1e-10);
    for (found, key) in [(&linear.m, "M"), (&linear.k, "K")] {
        for i in 0..6 {
            for (j, expected) in numbers(&case["recomputed"][key][i]).into_iter().enumerate() {
                assert!((found[(i, j)] - expected).abs() < 1e-13 * found.amax(), "{key} {i} {j}");
            }
        }
    }
}

#[test]
fn recomputed_energy_table_agrees_to_a_billionth_of_a_percent() {
    let case = load(CASE);
    let found = modes(&avionics_box(386.0).system().linear()).unwrap();
    for dof in 0..6 {
        let row = numbers(&case["recomputed"]["ke_percent_rows_dof_cols_modes"][dof]);
        for (mode, percent) in row.into_iter().enumerate() {
            for table in [&found.energy, &found.energy_raw] {
                let error = 100.0 * table[(mode, dof)] - percent;
                assert!(error.abs() < 1e-9, "dof {dof} mode {mode}: {error:e}");
            }
        }
    }
}

#[test]
fn a_stiffness_changed_by_a_millionth_would_be_seen() {
    let changed = omegas(&stiffened(avionics_box(386.0).system(), 1.0 + 1e-6));
    let expected: Vec<_> = numbers(&load(CASE)["recomputed"]["hz"])
        .into_iter()
        .map(|f| f * std::f64::consts::TAU)
        .collect();
    assert!(worst(&changed, &expected) > 1e-7);
}
