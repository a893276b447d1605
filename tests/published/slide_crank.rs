//! Slider-crank: harmonics to 15 digits and the series in print.

use std::f64::consts::{PI, TAU};
use underfoot::excitation::SlideDrive;
use underfoot::excitation::slide::{Crank, CrankSide};

use crate::close::printed;
use crate::reference::number;
use crate::shock_systems::{assert_close, reference};

fn drive(q: f64) -> SlideDrive {
    SlideDrive::crank(1000.0, Crank::from_stroke(0.2, q, 0.0).unwrap()).unwrap()
}

fn rows() -> Vec<(f64, serde_json::Value)> {
    let file = reference("slider_crank_harmonics");
    let rows = file["rows"].as_array().unwrap().clone();
    assert_eq!(rows.len(), 6);
    let finite = rows.into_iter().filter(|row| row["l_over_r"] != "inf");
    finite.map(|row| (number(&row["l_over_r"]), row)).collect()
}

#[test]
fn harmonics_of_the_slider_crank_have_fifteen_digits() {
    for (q, row) in rows() {
        let found = drive(q).acceleration_coefficients(11).unwrap();
        assert_eq!(found[0], 0.0);
        assert_eq!(found[1], 1.0);
        for n in [2, 4, 6, 8, 10] {
            let expected = number(&row[format!("B{n}")]);
            assert_close(found[n], expected, 2e-15 * n as f64, &format!("B{n} at l/r = {q}"));
        }
        for n in [3, 5, 7, 9, 11] {
            assert_eq!(found[n], 0.0, "an in-line crank has no harmonic {n}");
        }
        assert!(drive(q).acceleration_sine_coefficients(11).unwrap().iter().all(|&s| s == 0.0));
    }
}

#[test]
fn a_very_long_rod_leaves_a_pure_sine() {
    let found = drive(1e9).acceleration_coefficients(6).unwrap();
    assert_eq!(found[1], 1.0);
    assert!(found[2] < 1.1e-9 && found[2] > 0.9e-9 && found[4].abs() < 1e-20);
}

#[test]
fn dead_centers_and_greatest_speed_agree_with_the_table() {
    for (q, row) in rows() {
        let drive = drive(q);
        let (r, bottom) = (drive.radius(), drive.bottom_dead_center());
        assert_close(bottom, PI, 1e-15, "bottom dead center");
        // The crank stands above: the outer dead center is the lower one.
        let outer = drive.acceleration(bottom, 1.0, 0.0) / r;
        let inner = drive.acceleration(drive.top_dead_center(), 1.0, 0.0) / r;
        assert_close(outer, number(&row["acc_TDC"]), 1e-14, "outer dead center");
        assert_close(inner, number(&row["acc_BDC"]), 1e-14, "inner dead center");
        let fastest = bottom + number(&row["v_max_angle_deg"]).to_radians();
        let speed = drive.velocity(fastest, 1.0) / r;
        assert_close(speed, number(&row["v_max"]), 1e-14, "greatest speed");
        assert!(drive.acceleration(fastest, 1.0, 0.0).abs() < 1e-14, "which is a maximum");
        // Mean height above the outer dead center: C0 r, by the trapezoidal rule, exact here.
        let points = 512;
        let height = |i: i32| drive.position(TAU * f64::from(i) / f64::from(points));
        let mean = (0..points).map(height).sum::<f64>() / f64::from(points) / r;
        assert_close(mean, number(&row["C0"]), 1e-14, "mean height");
    }
}

#[test]
fn a_crank_below_turns_the_series_upside_down() {
    let mut below = Crank::from_stroke(0.2, 4.0, 0.0).unwrap();
    below.side = CrankSide::Below;
    let (below, above) = (SlideDrive::crank(1000.0, below).unwrap(), drive(4.0));
    let [a, b] = [&below, &above].map(|d| d.acceleration_coefficients(10).unwrap());
    assert_eq!(a, b, "the series in print counts from the outer dead center");
    for degrees in [0.0f64, 25.0, 110.0, 201.0, 333.0] {
        let angle = degrees.to_radians();
        let mirrored = -above.acceleration(angle + PI, 2.0, 0.7);
        assert_close(below.acceleration(angle, 2.0, 0.7), mirrored, 1e-13, "mirror image");
    }
}

#[test]
fn printed_series_agree_to_their_digits() {
    // Four decimals, from memory: see the file's source.
    for (q, values) in [
        (4.0, vec![0.2540, -0.0041]),
        (3.0, vec![0.3431, -0.0101, 0.0003]),
        (3.5, vec![0.2918, -0.0062, 0.0001]),
        (5.0, vec![0.2020, -0.0021]),
    ] {
        let found = drive(q).acceleration_coefficients(6).unwrap();
        for (i, &value) in values.iter().enumerate() {
            printed(found[2 * i + 2], value, 4);
        }
    }
    // Truncated series in L = r/l: what they leave out is the next power.
    for (q, row) in rows() {
        let found = drive(q).acceleration_coefficients(6).unwrap();
        let (l, b2) = (1.0 / q, number(&row["taylor_B2_lam+lam3/4+15lam5/128"]));
        let b4 = number(&row["taylor_B4_-(lam3/4+3lam5/16)"]);
        let b6 = number(&row["taylor_B6_9lam5/128"]);
        let l7 = l.powi(7);
        for (n, series) in [(2, b2), (4, b4), (6, b6)] {
            let left = (found[n] - series).abs();
            assert!(left < 0.2 * l7 && left > 0.01 * l7, "B{n} at {q}: {}", left / l7);
        }
    }
}
