//! One mass on spring and dashpot under six pulses: peaks, their times, and one state in between,
//! against closed forms in 40-digit arithmetic (source in each file of `tests/reference/shock`).

use nalgebra::DVector;
use std::f64::consts::TAU;
use underfoot::analysis::transient::{Extreme, Start, Transient};
use underfoot::excitation::Pulse;

use crate::shock_systems::{assert_close, number, reference, single};

fn check(name: &str, stiffness_factor: f64, relative: f64) {
    let case = reference(name);
    let input = |key: &str| number(&case["inputs"][key]);
    let (m, w, zeta, peak) = (input("m_kg"), TAU * input("fn_Hz"), input("zeta"), input("F0_N"));
    let pulse = match case["pulse"].as_str().unwrap() {
        "half_sine" => Pulse::half_sine(peak, input("td_s")),
        "versed_sine" => Pulse::haversine(peak, input("td_s")),
        "rectangular" => Pulse::rectangular(peak, input("td_s")),
        "triangle_symmetric" => Pulse::triangular(peak, input("td_s")),
        "sawtooth_terminal_peak" => Pulse::terminal_peak_sawtooth(peak, input("td_s")),
        "ramp_step" => Pulse::ramp_step(peak, input("tr_s"), input("hold_s")),
        other => panic!("{other}"),
    }
    .unwrap();
    let linear = single(m, m * w * w * stiffness_factor, 2.0 * zeta * m * w);
    let force = DVector::from_element(1, 1.0);
    let motion =
        Transient::new(&linear, &pulse.segments(), &force, &Start::rest(1), Some(1.0)).unwrap();
    let result = |key: &str| number(&case["results"][key]);
    let same = |found: Extreme, value: &str, time: &str| {
        assert_close(found.value, result(value), relative, &format!("{name} {value}"));
        // A time of zero is the start; others are known to the square root of rounding at worst.
        assert!((found.time - result(time)).abs() < 1e-12, "{name} {time}: {}", found.time);
    };
    let x = &motion.extrema(&motion.displacement())[0];
    same(x.max, "x_max_m", "t_x_max_s");
    same(x.min, "x_min_m", "t_x_min_s");
    let f = &motion.extrema(&motion.mount_force())[2];
    same(f.max, "F_trans_max_N", "t_F_max_s");
    same(f.min, "F_trans_min_N", "t_F_min_s");
    let probe = |key: &str| number(&case["probe"][key]);
    let at = |output, i: usize| motion.at(&output, probe("t_s")).unwrap()[i];
    assert_close(at(motion.displacement(), 0), probe("x_m"), relative, "x");
    assert_close(at(motion.velocity(), 0), probe("v_m_s"), 10.0 * relative, "v");
    assert_close(at(motion.mount_force(), 2), probe("F_trans_N"), relative, "force");
}

#[test]
fn half_sine() {
    check("f_t1_half_sine", 1.0, 1e-12);
}

#[test]
fn versed_sine() {
    check("f_t2_versed_sine", 1.0, 1e-12);
}

#[test]
fn rectangle() {
    check("f_t3_rectangular", 1.0, 1e-12);
}

#[test]
fn symmetric_triangle() {
    check("f_t4_triangle", 1.0, 1e-12);
}

#[test]
fn terminal_peak_sawtooth() {
    check("f_t6_sawtooth_terminal_peak", 1.0, 1e-12);
}

#[test]
fn ramp_step() {
    check("f_t7_ramp_step", 1.0, 1e-12);
}

#[test]
#[should_panic(expected = "x_max_m")]
fn a_stiffness_wrong_by_one_part_in_a_million_is_found() {
    check("f_t1_half_sine", 1.0 + 1e-6, 1e-9);
}
