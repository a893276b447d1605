//! Steady running of a slider-crank press: harmonics, extremes of a point and of the mounts, against
//! 50-digit arithmetic (source in the file); range of the transmissibility of a slow slide's force.

use nalgebra::Vector3;
use num_complex::Complex64;
use serde_json::Value;
use underfoot::analysis::periodic::Range;
use underfoot::analysis::stroke_rate::{carry_over, carry_over_gain};
use underfoot::analysis::{modes, steady, stroke_rate_map};
use underfoot::excitation::SlideDrive;
use underfoot::excitation::slide::Crank;
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::cases::tensor;
use crate::close::worst;
use crate::reference::{complex, load, number, numbers, triple};
use crate::shock_systems::assert_close;

fn case() -> Value {
    load("press/d1_inline_crank")
}

fn installation(inputs: &Value) -> Installation {
    let machine = &inputs["machine"];
    let inertia = tensor(&machine["inertia_tensor_about_cg"]);
    let center = Vector3::from(triple(&machine["cg"]));
    let body = RigidBody::new(number(&machine["mass"]), center, inertia).unwrap();
    let mount = |m: &Value| {
        let at = Vector3::from(triple(&m["position"]));
        Mount::new(at, triple(&m["k"]))
            .unwrap()
            .with_loss_factor(triple(&m["loss_factor"]))
            .unwrap()
    };
    let mounts = inputs["mounts"].as_array().unwrap().iter().map(mount).collect();
    Installation::new(body, mounts).unwrap()
}

fn drive(inputs: &Value) -> SlideDrive {
    let crank = &inputs["crank"];
    let [r, l, e] = ["radius", "rod_length", "offset"].map(|key| number(&crank[key]));
    let slide = &inputs["slide"];
    let mut drive =
        SlideDrive::crank(number(&slide["mass"]), Crank::new(r, l, e).unwrap()).unwrap();
    drive.at = Vector3::new(number(&slide["x"]), number(&slide["y"]), 0.0);
    drive
}

fn meets(range: &Range, expected: &Value, what: &str) {
    assert_close(range.max.value, number(&expected["max"]), 1e-10, what);
    assert_close(range.min.value, number(&expected["min"]), 1e-10, what);
    assert_close(range.peak(), number(&expected["peak_abs"]), 1e-10, what);
    // Where the value is flat its place has half the digits.
    for (found, key) in [(range.max.angle, "theta_max"), (range.min.angle, "theta_min")] {
        assert!((found - number(&expected[key])).abs() < 1e-7, "{what}: {key} {found}");
    }
}

#[test]
fn steady_running_has_the_harmonics_and_extremes_of_the_reference() {
    let case = case();
    let inputs = &case["inputs"];
    let (installation, drive) = (installation(inputs), drive(inputs));
    let linear = installation.system().linear();
    let found = modes(&linear).unwrap().frequency;
    let expected = numbers(&case["outputs"]["undamped_frequencies_Hz"]);
    assert!(worst(&found, &expected) < 1e-10);
    let point = Vector3::from(triple(&inputs["point"]));
    let rates = case["outputs"]["rates"].as_array().unwrap();
    assert_eq!(rates.len(), 3);
    for rate in rates {
        let spm = number(&rate["spm"]);
        let short = steady(&linear, &drive, spm, Some(8)).unwrap();
        for (n, harmonic) in rate["harmonics"].as_array().unwrap().iter().enumerate() {
            let [force, size] = [
                complex(&harmonic["force_F_n"]),
                Complex64::from(number(&rate["harmonics"][0]["force_F_n"][0])),
            ];
            // The reference gives every digit of a vanishing imaginary part.
            assert!((short.applied[(n, 2)] - force).norm() < 1e-13 * size.norm(), "{spm} {n}");
            let expected = harmonic["Q_n_x_y_z_rx_ry_rz"].as_array().unwrap();
            let expected: Vec<_> = expected.iter().map(complex).collect();
            let scale = expected.iter().map(|q| q.norm()).fold(0.0, f64::max);
            for (i, q) in expected.iter().enumerate() {
                let off = (short.displacement[(n, i)] - q).norm();
                assert!(off <= 1e-10 * q.norm() + 1e-13 * scale, "{spm} harmonic {n} {i}: {off:e}");
            }
        }
        for (order, key) in [(8, "1_to_8"), (48, "1_to_48")] {
            let run = steady(&linear, &drive, spm, Some(order)).unwrap();
            let motion = run.at(&point).range();
            let expected = &rate[format!("point_displacement_harmonics_{key}")];
            for (range, axis) in motion.iter().zip(["x", "y", "z"]) {
                meets(range, &expected[axis], &format!("{spm} {axis} {key}"));
                let both = number(&expected[axis]["peak_to_peak"]);
                assert_close(range.peak_to_peak(), both, 1e-10, "peak to peak");
            }
            let mounts = rate["mount_vertical_dynamic_force"].as_array().unwrap();
            for (range, expected) in run.mount_range().iter().zip(mounts) {
                meets(&range[2], &expected[format!("harmonics_{key}")], "mount");
            }
        }
        // The map of one rate is the same computation, batched.
        let map = stroke_rate_map(&linear, &drive, &[spm], Some(8), Some(point)).unwrap();
        let both = short.at(&point).range();
        for i in 0..3 {
            assert_close(map.peak_to_peak()[(0, i)], both[i].peak_to_peak(), 1e-13, "map");
            assert_close(
                map.peak_floor_force()[(0, i)],
                short.ground_range()[i].peak(),
                1e-12,
                "map",
            );
        }
    }
}

#[test]
fn a_softer_or_harder_mount_by_a_millionth_is_seen() {
    let case = case();
    let inputs = &case["inputs"];
    let (mut installation, drive) = (installation(inputs), drive(inputs));
    for mount in &mut installation.mounts {
        mount.stiffness.iter_mut().for_each(|k| *k *= 1.0 + 1e-6);
    }
    let run = steady(&installation.system().linear(), &drive, 150.0, Some(8)).unwrap();
    let rate = &case["outputs"]["rates"][1];
    let q = complex(&rate["harmonics"][0]["Q_n_x_y_z_rx_ry_rz"][2]);
    assert!((run.displacement[(0, 2)] - q).norm() > 1e-8 * q.norm());
}

/// Four equal mounts under the center of mass: vertical motion is one degree of freedom.
fn single(mass: f64, hz: f64, zeta: f64) -> Installation {
    let omega = hz * std::f64::consts::TAU;
    let body = RigidBody::new(mass, Vector3::zeros(), tensor(&serde_json::json!([1e5, 1e5, 1e5])));
    let corner = |x: f64, y: f64| {
        let k = mass * omega * omega / 4.0;
        let c = 2.0 * zeta * mass * omega / 4.0;
        let mount = Mount::new(Vector3::new(x, y, 0.0), [k; 3]).unwrap();
        mount.with_damping([c; 3]).unwrap()
    };
    let mounts = vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(-1.0, 1.0), corner(1.0, 1.0)];
    Installation::new(body.unwrap(), mounts).unwrap()
}

fn slow_slide() -> SlideDrive {
    SlideDrive::crank(3000.0, Crank::from_stroke(0.4, 5.0, 0.0).unwrap()).unwrap()
}

#[test]
fn the_slow_slides_force_passes_every_mount_as_good_as_unchanged() {
    let file = load("jobs/physics_01");
    let expected = |key: &str| number(&file["answers"][key]);
    for (spm, hz, harmonic, key) in [
        (20.0, 15.0, 1, "T_first_20spm_15Hz"),
        (60.0, 3.0, 1, "T_first_60spm_3Hz"),
        (60.0, 3.0, 2, "T_second_60spm_3Hz"),
    ] {
        let linear = single(20e3, hz, 0.0).system().linear();
        let run = steady(&linear, &slow_slide(), spm, Some(2)).unwrap();
        let n = harmonic - 1;
        let ratio = run.ground_wrench[(n, 2)] / run.applied[(n, 2)];
        assert_close(ratio.re, expected(key), 1e-9, key);
    }
    for (spm, key) in
        [(60.0, "peak_ratio_all_harmonics_60spm_3Hz"), (40.0, "peak_ratio_all_harmonics_40spm_3Hz")]
    {
        // The file's sums end at the sixth harmonic, on both sides of the ratio.
        let linear = single(20e3, 3.0, 0.0).system().linear();
        let ratio = |order: Option<usize>| {
            let run = steady(&linear, &slow_slide(), spm, order).unwrap();
            run.ground_range()[2].peak() / run.applied_range()[2].peak()
        };
        assert_close(ratio(Some(6)), expected(key), 1e-9, key);
        let off = ratio(None) / expected(key) - 1.0;
        assert!(off.abs() > 1e-8 && off.abs() < 1e-6, "what the others add: {off:e}");
    }
}

#[test]
fn carry_over_from_stroke_to_stroke() {
    let file = load("jobs/carry_over");
    for (hz, zeta, spm, key) in [
        (3.0, 0.10, 40.0, "carry_over_3Hz_10pct_40spm"),
        (12.0, 0.06, 200.0, "carry_over_12Hz_6pct_200spm"),
        (3.0, 0.03, 180.0, "carry_over_3Hz_3pct_180spm"),
    ] {
        let row = &file["answers"][key];
        let q = carry_over(hz, zeta, spm);
        assert_close(q, number(&row["q"]), 1e-12, key);
        assert_close(1.0 / (1.0 - q), number(&row["worst_gain"]), 1e-12, key);
        assert_close(1.0 / (1.0 + q), number(&row["least_gain"]), 1e-12, key);
        let gain = carry_over_gain(hz, zeta, spm);
        assert_close(gain, number(&row["actual_gain_free_vibration_amplitude"]), 1e-12, key);
        // The map says the same of its vertical mode.
        let linear = single(20e3, hz, zeta).system().linear();
        let map = stroke_rate_map(&linear, &slow_slide(), &[spm], None, None).unwrap();
        let mode = map.frequency.iter().position(|f| (f / hz - 1.0).abs() < 1e-9).unwrap();
        assert_close(map.carry_over()[(0, mode)], q, 1e-9, key);
        assert_close(map.gain()[(0, mode)], gain, 1e-8, key);
    }
}
