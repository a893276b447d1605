//! Re-leveling after settlement, in exact rationals, and what a division of a level is.
//!
//! Source: reference pack of the project, cases C1 to C3, R0, R1, R2, frame twist, creep and level
//! sensitivities: least-motion programs solved in exact rationals by another author, three solvers
//! of others agreeing to 1e-12 mm. Derived, not published; the units of the sensitivities are exact
//! by definition.

use approx::assert_abs_diff_eq;
use nalgebra::{DVector, Matrix3, Vector3};
use serde_json::Value;
use underfoot::analysis::leveling::settlement::State;
use underfoot::analysis::leveling::{
    Drift, Influence, LevelingPlan, LimitKind, Request, leveling_plan,
};
use underfoot::installation::{Installation, STANDARD_GRAVITY};
use underfoot::machine::RigidBody;
use underfoot::support::{Mount, Screw};
use underfoot::units::{Dimension, parse};

use crate::reference::{load, number, numbers};

const MM: f64 = 1e-3;

fn exact(value: &Value) -> f64 {
    let text = value.as_str().unwrap();
    let (top, bottom) = text.split_once('/').unwrap_or((text, "1"));
    top.parse::<f64>().unwrap() / bottom.parse::<f64>().unwrap()
}

fn exacts(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(exact).collect()
}

fn machine(case: &Value) -> Installation {
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
    Installation::new(body, mounts).unwrap()
}

fn request(case: &Value) -> Request {
    let limits = &case["constraints"];
    let travel = [number(&limits["a_min_mm"]) * MM, number(&limits["a_max_mm"]) * MM];
    let feet = case["feet_xy_mm"].as_array().unwrap().len();
    Request {
        settlement: Some(exacts(&case["settlement_down_mm"]).iter().map(|s| s * MM).collect()),
        level_tolerance: number(&limits["tilt_tol_um_per_m"]) * 1e-6,
        load_band: Some(number(&limits["load_band_pct"]) / 100.0),
        travel: Some(vec![travel; feet]),
        ..Request::default()
    }
}

fn plan(machine: &Installation, request: &Request) -> LevelingPlan {
    leveling_plan(machine, request).unwrap().plan().unwrap()
}

#[track_caller]
fn assert_close(found: &[f64], expected: &[f64], epsilon: f64) {
    assert_eq!(found.len(), expected.len());
    for (f, e) in found.iter().zip(expected) {
        assert_abs_diff_eq!(*f, *e, epsilon = epsilon);
    }
}

#[test]
fn plans_after_settlement_are_the_exact_rationals() {
    let file = load("mounts/leveling");
    for name in ["R1_4feet_corner_settles", "R2_6feet_tol"] {
        let case = &file[name];
        let machine = machine(case);
        let found = plan(&machine, &request(case));
        let expected = exacts(&case["solution"]["a_exact"]);
        let in_mm: Vec<f64> = found.adjustment.iter().map(|a| a / MM).collect();
        assert_close(&in_mm, &expected, 1e-12);
        let objective = number(&case["solution"]["obj"]);
        assert_abs_diff_eq!(found.objective / (MM * MM), objective, epsilon = 1e-12);
        assert_close(&found.target, &exacts(&case["target_loads_exact"]), 1e-12 * 1e5);
        // Before: tilt about x is qy, about y is -qx.
        let before = &case["after_settlement"];
        let tilt = [number(&before["tilt_y_mm_per_m"]), -number(&before["tilt_x_mm_per_m"])];
        assert_close(&found.before.tilt.map(|t| t / MM), &tilt, 1e-12);
        assert_close(&found.before.load, &numbers(&before["loads_N"]), 1e-7);
        let after = numbers(&case["solution"]["final_tilt_mm_per_m"]);
        assert_close(&found.after.tilt.map(|t| t / MM), &[after[1], -after[0]], 1e-12);
        assert_close(&found.after.load, &numbers(&case["solution"]["final_loads_N"]), 1e-7);
        assert!(found.conditions.hold(), "{:?}", found.conditions);
    }
}

#[test]
fn the_limits_that_bind_are_the_ones_listed() {
    let file = load("mounts/leveling");
    let binding = |name: &str| -> Vec<LimitKind> {
        let case = &file[name];
        let found = plan(&machine(case), &request(case));
        let all = found.conditions.multipliers.into_iter();
        all.filter(|(_, value)| value.abs() > 1e-9).map(|(kind, _)| kind).collect()
    };
    let level = |axis, side| LimitKind::Level(axis, side);
    let one = binding("R1_4feet_corner_settles");
    assert_eq!(one, [level(0, 0), level(1, 0), LimitKind::LoadHigh(3)]);
    // tx <= tol is tilt about y >= -tol, ty >= -tol is tilt about x >= -tol.
    assert_eq!(binding("R2_6feet_tol"), [level(0, -1), level(1, -1)]);
}

#[test]
fn without_the_load_band_two_corners_move_the_other_way() {
    let case = &load("mounts/leveling")["R1_4feet_corner_settles"];
    let asked = Request { load_band: None, ..request(case) };
    let found = plan(&machine(case), &asked);
    assert_close(&found.adjustment, &[0.6e-3, 0.0, -0.6e-3, 0.0], 1e-15);
}

#[test]
fn level_and_every_load_come_back_where_the_settlement_is_made_good() {
    let file = load("mounts/leveling");
    let (note, case) = (&file["R0_full_restore_note"], &file["R2_6feet_tol"]);
    let settlement: Vec<f64> = numbers(&note["settlement"]).iter().map(|s| s * MM).collect();
    let asked = Request {
        settlement: Some(settlement),
        level_tolerance: 0.0,
        load_band: Some(0.0),
        ..Request::default()
    };
    let mm = |values: &Value| -> Vec<f64> { numbers(values).iter().map(|a| a * MM).collect() };
    let machine = machine(case);
    let found = plan(&machine, &asked);
    assert_close(&found.adjustment, &mm(&note["a_min_norm"]), 1e-15);
    assert_close(&found.after.load, &found.target, 1e-7);
    let found = plan(&machine, &Request { raise_only: true, ..asked });
    assert_close(&found.adjustment, &mm(&note["a_raise_only"]), 1e-15);
    assert_close(&found.after.load, &found.target, 1e-7);
}

#[test]
fn influence_is_the_exact_matrix_and_tilts_as_the_first_column_says() {
    let file = load("mounts/load_sharing");
    for name in ["C1_4feet", "C2_6feet", "C3_8feet"] {
        let case = &file[name];
        let found = Influence::of(&machine(case), None, false, None).unwrap();
        for (i, row) in case["R_exact"].as_array().unwrap().iter().enumerate() {
            let found: Vec<f64> = found.load.row(i).iter().map(|r| r * MM).collect();
            assert_close(&found, &exacts(row), 1e-12 * number(&case["W_N"]));
        }
        let dq = exacts(&case["raise_foot0_1mm"]["dq_exact"]);
        assert_abs_diff_eq!(found.rise[0] * MM, dq[0] * MM, epsilon = 1e-15);
        assert_abs_diff_eq!(found.tilt[(0, 0)] * MM, dq[2], epsilon = 1e-15);
        assert_abs_diff_eq!(found.tilt[(1, 0)] * MM, -dq[1], epsilon = 1e-15);
        // A level along a diagonal of 3:4 reads the same plane.
        let slope = found.station([0.2, -0.1], [0.6, 0.8])[0] * MM;
        assert_abs_diff_eq!(slope, 0.6 * dq[1] + 0.8 * dq[2], epsilon = 1e-15);
    }
}

#[test]
fn a_frame_that_twists_softens_the_shift_of_load() {
    let file = load("mounts/leveling");
    let case = &file["twist_flex"];
    let machine = machine(&file["R1_4feet_corner_settles"]);
    for (kt, shift) in numbers(&case["kt"]).iter().zip(numbers(&case["dF_N_per_mm"])) {
        let found = Influence::of(&machine, None, false, Some(kt / MM)).unwrap();
        for (i, sign) in [1.0, -1.0, 1.0, -1.0].iter().enumerate() {
            assert_abs_diff_eq!(found.load[(i, 0)] * MM, sign * shift, epsilon = 1e-9);
        }
    }
    let rigid = Influence::of(&machine, None, false, None).unwrap();
    assert_abs_diff_eq!(rigid.load[(0, 0)] * MM, 1250.0, epsilon = 1e-9);
}

#[test]
fn unequal_creep_takes_the_level_away_on_the_day_the_law_says() {
    let case = &load("mounts/leveling")["creep_example"];
    let [near, far] = numbers(&case["deflection_mm"]).try_into().unwrap();
    let (span, rate) = (number(&case["span_m"]), number(&case["per_decade"]));
    // Four feet, those at +x deflect less: the machine turns about y.
    let (load_each, half) = (50e3, span / 2.0);
    let mounts = [(-half, near), (half, far)]
        .iter()
        .flat_map(|&(x, deflection)| {
            let k = load_each / (deflection * MM);
            [-0.6, 0.6].map(|y| {
                Mount::new(Vector3::new(x, y, 0.0), [k, k, k])
                    .and_then(|m| m.with_creep_per_decade(rate))
                    .unwrap()
            })
        })
        .collect();
    let mass = 4.0 * load_each / STANDARD_GRAVITY;
    let body = RigidBody::new(mass, Vector3::zeros(), Matrix3::identity() * mass).unwrap();
    let machine = Installation::new(body, mounts).unwrap();
    let influence = Influence::of(&machine, None, false, None).unwrap();
    let drift = Drift::of(&machine, None, &influence).unwrap();
    let day = 86_400.0;
    for (name, age) in [
        ("1 day", day),
        ("1 month", 30.4375 * day),
        ("1 year", 365.25 * day),
        ("10 years", 3652.5 * day),
    ] {
        let tilt = drift.tilt_at([0.0; 2], 60.0, age).unwrap();
        let printed = number(&case["tilt_mm_per_m"][name]);
        assert_abs_diff_eq!(tilt[1].abs() / MM, printed, epsilon = 0.5e-3);
        let decades = number(&case["decades_from_1_min"][name]);
        assert_abs_diff_eq!((age / 60.0).log10(), decades, epsilon = 0.5e-3);
    }
    let limit = number(&case["limit_mm_per_m"]) * MM;
    let lost = drift.lost([0.0; 2], 60.0, limit).unwrap().unwrap() / day;
    assert_abs_diff_eq!(lost, 1e4 / 1440.0, epsilon = 1e-9);
    assert_abs_diff_eq!(lost, number(&case["lost_after_days"]), epsilon = 0.5e-3);
    let rest = drift.tilt_at([0.0; 2], number(&case["releveled_day"]) * day, 3652.5 * day).unwrap();
    let printed = number(&case["rest_to_10_years_mm_per_m"]);
    assert_abs_diff_eq!(rest[1].abs() / MM, printed, epsilon = 0.5e-4);
}

#[test]
fn a_level_reads_the_same_in_every_unit() {
    let file = load("mounts/leveling");
    for row in file["level_sensitivity"].as_array().unwrap() {
        let read = |key: &str, factor: f64, unit: &str| {
            let text = format!("{} {unit}", number(&row[key]) / factor);
            parse("level", &text, Dimension::ANGLE).unwrap()
        };
        let expected = number(&row["mm_per_m"]) * 1e-3;
        for found in [
            read("mm_per_m", 1.0, "mm/m"),
            // An angle, where the others are slopes: 3e-10 apart at most here.
            read("arcsec", 1.0, "arcsec").tan(),
            read("in_per_ft", 1.0, "in/ft"),
            read("in_per_10in", 10.0, "in/in"),
        ] {
            assert_abs_diff_eq!(found, expected, epsilon = 1e-14 * 1e-3 + 4e-16 * expected);
        }
    }
}

#[test]
fn a_flat_of_a_screw_lifts_a_sixth_of_its_pitch() {
    for row in load("mounts/leveling")["screw_lift"].as_array().unwrap() {
        let screw = Screw::new(number(&row["pitch_mm"]) * MM, 6, 0.0, 0.0).unwrap();
        assert_abs_diff_eq!(screw.step() / MM, exact(&row["lift_per_flat_60deg"]), epsilon = 1e-12);
        let fine = Screw::new(number(&row["pitch_mm"]) * MM, 72, 0.0, 0.0).unwrap();
        assert_abs_diff_eq!(fine.step() / 1e-6, number(&row["lift_per_5deg_um"]), epsilon = 1e-9);
        assert_eq!(number(&row["lift_per_turn"]), number(&row["pitch_mm"]));
    }
}

#[test]
fn settlement_moves_level_and_load_as_the_exact_plane_says() {
    let case = &load("mounts/leveling")["R2_6feet_tol"];
    let machine = machine(case);
    let influence = Influence::of(&machine, None, false, None).unwrap();
    let settled: Vec<f64> = exacts(&case["settlement_down_mm"]).iter().map(|s| s * MM).collect();
    let still = State { load: vec![0.0; 6], tilt: [0.0; 2], twist: 0.0 };
    let found = still.settled(&influence, &settled).unwrap();
    let q = exacts(&case["after_settlement"]["q_exact"]);
    assert_abs_diff_eq!(found.tilt[0], q[2], epsilon = 1e-15);
    assert_abs_diff_eq!(found.tilt[1], -q[1], epsilon = 1e-15);
    let sink = influence.rise.dot(&-DVector::from_vec(settled));
    assert_abs_diff_eq!(sink / MM, q[0], epsilon = 1e-12);
}
