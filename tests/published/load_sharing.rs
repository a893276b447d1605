//! How four, six and eight feet share a weight, in exact rationals.
//!
//! Source: reference pack of the project, cases C1, C2, C3 and C5: a rigid plane on vertical
//! springs, q = (B'KB)^-1 (B'Kh - w), F = K (h - Bq), in exact rationals by another author and
//! program, its loads checked by an interior-point minimum of sum F^2 / 2k. Derived, not published.
//! The rule k delta / 4 for one foot of four, twice that for two opposite corners: common practice.
//!
//! The plane knows only vertical springs. Here they also have horizontal stiffness, and the
//! center of mass stands 1.3 m above them: neither may change a vertical load.

use approx::assert_abs_diff_eq;
use nalgebra::{Matrix3, Vector3};
use serde_json::Value;
use underfoot::analysis::statics::{Statics, StaticsOptions, statics, unevenness};
use underfoot::installation::{Installation, Point, STANDARD_GRAVITY};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::reference::{load, number, numbers};

const CASES: [&str; 3] = ["C1_4feet", "C2_6feet", "C3_8feet"];
const MM: f64 = 1e-3;

/// "3211200/91" or "25000".
pub fn exact(value: &Value) -> f64 {
    let text = value.as_str().unwrap();
    let (top, bottom) = text.split_once('/').unwrap_or((text, "1"));
    top.parse::<f64>().unwrap() / bottom.parse::<f64>().unwrap()
}

pub fn exacts(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(exact).collect()
}

/// The machine of a case, its middle a named point.
pub fn machine(case: &Value) -> Installation {
    let [x, y] = numbers(&case["cg_offset_mm"]).try_into().unwrap();
    let center = Vector3::new(x * MM, y * MM, 1.3);
    let mass = number(&case["W_N"]) / STANDARD_GRAVITY;
    let body = RigidBody::new(mass, center, Matrix3::identity() * mass).unwrap();
    let mounts = case["feet_xy_mm"].as_array().unwrap().iter().zip(numbers(&case["k_N_per_mm"]));
    let mounts = mounts
        .map(|(foot, k)| {
            let [x, y] = numbers(foot).try_into().unwrap();
            let kz = k / MM;
            Mount::new(Vector3::new(x * MM, y * MM, 0.0), [0.3 * kz, 0.4 * kz, kz]).unwrap()
        })
        .collect();
    Installation::new(body, mounts)
        .unwrap()
        .with_points(vec![Point { name: "middle".into(), at: Vector3::zeros() }])
        .unwrap()
}

/// Equilibrium with foot 0 raised, m.
fn raised(machine: &Installation, height: f64, unilateral: bool) -> Statics {
    let mut floor = vec![0.0; machine.mounts.len()];
    floor[0] = height;
    let options =
        StaticsOptions { unilateral, floor_height: Some(floor), ..StaticsOptions::default() };
    statics(&machine.system(), &machine.weight_of(&machine.body), &options).unwrap()
}

/// Plane z = q0 + qx x + qy y of the machine's base: m, rad, rad.
fn plane(machine: &Installation, found: &Statics) -> [f64; 3] {
    let moved = found.displacement_of(&machine.system().ports[0]).unwrap();
    [moved[2], -moved[4], moved[3]]
}

fn vertical(found: &Statics) -> Vec<f64> {
    found.load.column(2).to_vec()
}

/// Each value to 1e-12 of `scale`.
fn assert_close(found: &[f64], expected: &[f64], scale: f64) {
    assert_eq!(found.len(), expected.len());
    for (f, e) in found.iter().zip(expected) {
        assert_abs_diff_eq!(*f, *e, epsilon = 1e-12 * scale);
    }
}

#[test]
fn feet_share_the_weight_as_the_exact_rationals_say() {
    let file = load("mounts/load_sharing");
    for name in CASES {
        let case = &file[name];
        let machine = machine(case);
        let found = raised(&machine, 0.0, false);
        assert_close(&vertical(&found), &exacts(&case["loads_exact"]), number(&case["W_N"]));
        let q = exacts(&case["rigid_q_exact"]);
        let [q0, qx, qy] = plane(&machine, &found);
        assert_close(&[q0], &[q[0] * MM], q[0].abs() * MM);
        assert_close(&[qx, qy], &q[1..], q[1].abs().max(q[2].abs()));
        assert_close(&[-q0 / MM], &[number(&case["sink_mm"])], 5.0);
        assert!(found.tension.is_empty() && found.warnings.is_empty(), "{name}");
        let deflection: Vec<f64> = found.deflection.column(2).to_vec();
        let expected: Vec<f64> = exacts(&case["loads_exact"])
            .iter()
            .zip(numbers(&case["k_N_per_mm"]))
            .map(|(f, k)| f / k * MM)
            .collect();
        assert_close(&deflection, &expected, 5.0 * MM);
    }
}

#[test]
fn raising_a_foot_by_a_millimeter_changes_the_loads_by_the_first_column_of_r() {
    let file = load("mounts/load_sharing");
    for name in CASES {
        let case = &file[name];
        let (machine, weight) = (machine(case), number(&case["W_N"]));
        let (before, after) = (raised(&machine, 0.0, false), raised(&machine, MM, false));
        let up = &case["raise_foot0_1mm"];
        assert_close(&vertical(&after), &numbers(&up["loads_N"]), weight);
        let change: Vec<f64> =
            vertical(&after).iter().zip(vertical(&before)).map(|(a, b)| a - b).collect();
        assert_close(&change, &exacts(&up["dF_exact"]), weight);
        let (q, q0) = (plane(&machine, &after), plane(&machine, &before));
        let dq = exacts(&up["dq_exact"]);
        assert_close(&[q[0] - q0[0]], &[dq[0] * MM], 5.0 * MM);
        assert_close(&[q[1] - q0[1], q[2] - q0[2]], &dq[1..], 1.25e-3);
    }
}

#[test]
fn influence_of_the_floor_is_the_exact_matrix_of_rank_n_less_three() {
    let file = load("mounts/load_sharing");
    for name in CASES {
        let case = &file[name];
        let found = unevenness(&machine(case).system()).unwrap();
        let stiffest = numbers(&case["k_N_per_mm"]).into_iter().fold(0.0, f64::max);
        for (i, row) in case["R_exact"].as_array().unwrap().iter().enumerate() {
            let row_found: Vec<f64> = found.influence.row(i).iter().map(|r| r * MM).collect();
            assert_close(&row_found, &exacts(row), stiffest);
            let sizes: Vec<f64> = exacts(row).iter().map(|r| r.abs()).collect();
            assert_close(&[found.worst[i] * MM], &[sizes.iter().sum()], stiffest);
            let largest = sizes.iter().copied().fold(0.0, f64::max);
            assert_close(&[found.single[i] * MM], &[largest], stiffest);
        }
        assert_eq!(found.warp_stiffness.len() as u64, case["rank_R"].as_u64().unwrap());
    }
}

#[test]
fn one_foot_of_four_shifts_a_quarter_and_two_opposite_corners_a_half() {
    let file = load("mounts/load_sharing");
    let machine = machine(&file["C1_4feet"]);
    let (k, delta) = (5e6, 1e-3);
    let change = |floor: Vec<f64>| {
        let options = StaticsOptions { floor_height: Some(floor), ..StaticsOptions::default() };
        let weight = machine.weight_of(&machine.body);
        let uneven = statics(&machine.system(), &weight, &options).unwrap();
        uneven.load[[0, 2]] - raised(&machine, 0.0, false).load[[0, 2]]
    };
    assert_abs_diff_eq!(change(vec![delta, 0.0, 0.0, 0.0]), k * delta / 4.0, epsilon = 1e-7);
    assert_abs_diff_eq!(change(vec![delta, 0.0, delta, 0.0]), k * delta / 2.0, epsilon = 1e-7);
}

#[test]
fn the_first_foot_lifts_at_the_exact_raise() {
    let file = load("mounts/load_sharing");
    for name in CASES {
        let case = &file[name];
        let machine = machine(case);
        let raise = exact(&case["first_contact_loss_exact"]) * MM;
        let foot = case["first_contact_loss_foot"].as_u64().unwrap() as usize;
        let weight = number(&case["W_N"]);
        let at = raised(&machine, raise, true);
        assert_close(&[at.load[[foot, 2]]], &[0.0], weight);
        assert!(raised(&machine, raise * (1.0 - 1e-6), true).lifted.is_empty(), "{name}");
        assert_eq!(raised(&machine, raise * (1.0 + 1e-6), true).lifted, [foot], "{name}");
        assert_eq!(raised(&machine, raise * (1.0 + 1e-6), false).tension, [foot], "{name}");
    }
}

#[test]
fn a_foot_raised_sixteen_millimeters_lifts_another_off_by_two() {
    let file = load("mounts/load_sharing");
    let case = &file["C5_4feet_uplift"];
    let machine = machine(&file["C1_4feet"]);
    let found = raised(&machine, number(&case["raise_foot0_mm"]) * MM, true);
    assert_close(&vertical(&found), &exacts(&case["loads_exact"]), 1e5);
    assert_eq!(found.lifted, [3]);
    assert!(found.tension.is_empty());
    let gap = numbers(&case["gap_at_lifted_foot_mm"])[0] * MM;
    assert_close(&found.lift_gap, &[0.0, 0.0, 0.0, gap], 16.0 * MM);
    let active: Vec<usize> = (0..4).filter(|i| !found.lifted.contains(i)).collect();
    let listed: Vec<usize> = numbers(&case["active"]).iter().map(|&i| i as usize).collect();
    assert_eq!(active, listed);
}

#[test]
fn a_die_cart_tilts_the_four_foot_machine() {
    let file = load("mounts/load_sharing");
    let case = &file["load_shift"];
    let machine = machine(&file["C1_4feet"]);
    let (weight, x) = (number(&case["dW"]), number(&case["at_x"]) * MM);
    let mut cart = machine.weight_of(&machine.body);
    cart.fill(0.0);
    let center = machine.body.center();
    cart[2] = -weight;
    cart[3] = center.y * weight;
    cart[4] = (x - center.x) * weight;
    let found = statics(&machine.system(), &cart, &StaticsOptions::default()).unwrap();
    let [sink, qx, qy] = plane(&machine, &found);
    assert_abs_diff_eq!(-sink / MM, number(&case["dsink_mm"]), epsilon = 1e-12);
    assert_abs_diff_eq!(-qx / MM, number(&case["dtilt_mm_per_m"]), epsilon = 1e-12);
    assert_abs_diff_eq!(qy, 0.0, epsilon = 1e-15);
}
