//! Shock response spectrum: coefficients of the ramp-invariant filter and the half-sine's spectrum.
//!
//! D. O. Smallwood, An improved recursive formula for calculating shock response spectra, Shock and
//! Vibration Bulletin 51 (1981), part 2; ISO 18431-4:2007. Digits: exact ramp response in 30-digit
//! arithmetic, and the general-purpose library pyyeti 1.4.7, both in
//! `tests/reference/shock/srs_ramp_invariant.json`.

use serde_json::Value;
use std::f64::consts::PI;
use underfoot::analysis::spectrum::{
    Response, pulse_response_spectrum, recursive_filter, shock_response_spectrum,
};
use underfoot::excitation::Pulse;

use crate::shock_systems::{assert_close, number, reference};

const DURATION: f64 = 0.011;

fn cases(key: &str) -> Vec<Value> {
    reference("srs_ramp_invariant")[key].as_array().unwrap().clone()
}

#[test]
fn coefficients_for_absolute_acceleration_and_relative_displacement() {
    for case in cases("coefficients") {
        let given = |key: &str| number(&case[key]);
        let (f, fs, zeta) = (given("fn"), given("fs"), 0.5 / given("Q"));
        for (response, key) in [
            (Response::AbsoluteAcceleration, "b_absacc"),
            (Response::RelativeDisplacement, "b_reldisp"),
        ] {
            let filter = recursive_filter(f, fs, zeta, response).unwrap();
            let scale = number(&case[key][1]).abs();
            for i in 0..3 {
                // 16 digits of the greatest are given.
                let error = (filter.numerator[i] - number(&case[key][i])).abs();
                assert!(error < 2e-15 * scale, "{f} {fs} {key}[{i}]: {error:e}");
                let error = (filter.denominator[i] - number(&case["a"][i])).abs();
                assert!(error < 2e-15, "{f} {fs} a[{i}]: {error:e}");
            }
        }
    }
}

#[test]
fn half_sine_of_11_ms_at_q_10_solved_for_exactly() {
    let pulse = Pulse::half_sine(1.0, DURATION).unwrap();
    for case in cases("half_sine_11ms_Q10") {
        let f = number(&case["fn"]);
        let of =
            |response| pulse_response_spectrum(&pulse, &[f], 0.05, response).unwrap().maximax[0];
        let absolute = number(&case["exact_max_abs_acc"]);
        assert_close(of(Response::AbsoluteAcceleration), absolute, 1e-13, "absolute");
        let pseudo = number(&case["exact_pseudo_acc"]);
        assert_close(of(Response::PseudoAcceleration), pseudo, 1e-13, "pseudo");
        let omega = 2.0 * PI * f;
        let relative = of(Response::RelativeDisplacement) * omega * omega;
        assert_close(relative, pseudo, 1e-13, "relative");
    }
}

#[test]
fn half_sine_of_11_ms_sampled_agrees_with_the_recursion_of_others() {
    let mut checked = 0;
    for case in cases("half_sine_11ms_Q10") {
        let f = number(&case["fn"]);
        for (key, value) in case.as_object().unwrap() {
            let Some(ratio) = key.strip_prefix("recursion_fs/fn=") else {
                continue;
            };
            let fs = rate(f, ratio.parse().unwrap());
            let count = (DURATION * fs * (1.0 + 1e-9)).floor() as usize;
            let signal: Vec<f64> =
                (0..=count).map(|n| (PI * n as f64 / fs / DURATION).sin()).collect();
            let response = Response::AbsoluteAcceleration;
            let spectrum = shock_response_spectrum(&signal, fs, &[f], 0.05, response).unwrap();
            assert_close(spectrum.maximax[0], number(&value["pyyeti"]), 1e-11, key);
            checked += 1;
        }
    }
    assert_eq!(checked, 16);
}

/// Whole ratios of sample rate and frequency are exact; the others are rounded from twenty samples
/// in the pulse.
fn rate(f: f64, ratio: f64) -> f64 {
    if ratio.fract() == 0.0 { ratio * f } else { 20.0 / DURATION }
}
