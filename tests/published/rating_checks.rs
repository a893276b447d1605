//! Rating checks of elastic mounts: sideways acceleration, no separation, strain, hold-down,
//! temperature.
//!
//! Source: reference pack of the project, section D (another author, another program; derived,
//! not published; digits of double precision), copied with its own remarks on what was seen and
//! what is from memory.

use approx::assert_relative_eq;
use nalgebra::{Matrix3, Vector3};
use serde_json::Value;
use underfoot::analysis::statics::{Statics, StaticsOptions, stability, statics};
use underfoot::checks::{
    Seismic, Sideways, Verdict, allowed, kick_impulse, kick_velocity, sideways, snubber_speed,
    steady_contact, tipping,
};
use underfoot::installation::{Installation, STANDARD_GRAVITY};
use underfoot::machine::RigidBody;
use underfoot::support::{Allowed, AllowedQuantity, Mount};

use crate::reference::{load, number, numbers};

const TIGHT: f64 = 1e-10;

/// The press of section D on four mounts, rows at y = -0.7 m and +0.7 m.
fn press(d: &Value, kz: f64) -> Installation {
    let get = |key: &str| number(&d["overturn"][key]);
    let body =
        RigidBody::new(get("m"), Vector3::new(0.0, 0.0, get("h")), Matrix3::identity() * 60e3);
    let b = get("half_gauge");
    let feet = [("a", -1.0, -b), ("b", 1.0, -b), ("c", 1.0, b), ("d", -1.0, b)];
    let mounts = feet.map(|(name, x, y)| {
        let k = [get("kx") / 4.0, get("kx") / 4.0, kz / 4.0];
        Mount::new(Vector3::new(x, y, 0.0), k).unwrap().with_name(name)
    });
    Installation::new(body.unwrap(), mounts.to_vec()).unwrap()
}

fn pushed(machine: &Installation) -> (Statics, Vec<Sideways>) {
    let system = machine.system();
    let weight = machine.weight_of(&machine.body);
    let still = statics(&system, &weight, &StaticsOptions::default()).unwrap();
    let rocking = stability(&system, &still).unwrap();
    let found = sideways(&system, &still, &rocking, -weight[2]).unwrap();
    (still, found)
}

#[test]
fn a_tenth_of_g_loads_the_rows_as_the_closed_form_says() {
    let d = load("mounts/rating_checks");
    let (_, found) = pushed(&press(&d, number(&d["overturn"]["kz"])));
    let expected = &d["lateral_0p1g"];
    let along_y = found.iter().find(|s| s.direction == "+y").unwrap();
    assert_relative_eq!(-along_y.tilt * 0.1, number(&expected["theta_rad"]), max_relative = TIGHT);
    let loads = along_y.load(0.1);
    let rows = [loads[0] + loads[1], loads[2] + loads[3]];
    for (found, expected) in rows.iter().zip(numbers(&expected["row_load_N"])) {
        assert_relative_eq!(*found, expected, max_relative = TIGHT);
    }
    let share = along_y.share();
    assert_relative_eq!(share.iter().sum::<f64>(), 1.0, max_relative = TIGHT);
    assert!(share.iter().all(|s| (s - 0.25).abs() < 1e-12));
}

#[test]
fn the_first_row_unloads_at_the_acceleration_of_the_closed_form() {
    let d = load("mounts/rating_checks");
    let (_, found) = pushed(&press(&d, number(&d["overturn"]["kz"])));
    let limit = number(&d["lateral_0p1g"]["a_lim_uplift_g"]);
    let along_y = found.iter().find(|s| s.direction == "-y").unwrap();
    assert_relative_eq!(along_y.first_lift().0, limit, max_relative = TIGHT);
    let cases = [("as it runs", found)];
    let [fits, _] = tipping(&cases, 0.9999 * limit, 0.0).unwrap();
    assert_eq!(fits.verdict, Verdict::Ok);
    assert!(fits.governing_case.contains('y'), "{}", fits.governing_case);
    let [lifts, held] = tipping(&cases, 1.0001 * limit, 0.0).unwrap();
    assert_eq!((lifts.verdict, held.verdict), (Verdict::No, Verdict::No));
    let [lifts, held] = tipping(&cases, 1.0001 * limit, 1e3).unwrap();
    assert!(matches!(lifts.verdict, Verdict::OkIf(_)) && held.verdict == Verdict::Ok);

    // On mounts as stiff as a floor: b / h, the rigid limit.
    let (_, rigid) = pushed(&press(&d, 1e16));
    let along_y = rigid.iter().find(|s| s.direction == "+y").unwrap();
    let limit = number(&d["lateral_0p1g"]["a_lim_rigid_g"]);
    assert_relative_eq!(along_y.first_lift().0, limit, max_relative = 1e-8);
}

#[test]
fn hold_down_of_a_row_is_the_overturning_moment_less_the_weights_over_the_gauge() {
    let d = load("mounts/rating_checks");
    let (_, rigid) = pushed(&press(&d, 1e16));
    let ratio = number(&d["seismic"]["Fp_over_Wp"]);
    let along_y = rigid.iter().find(|s| s.direction == "+y").unwrap();
    let expected = number(&d["seismic"]["overturn_at_restraint"]["uplift_pair_N"]);
    // Two mounts in the row.
    assert_relative_eq!(2.0 * along_y.greatest_pull(ratio).0, expected, max_relative = 1e-8);
    let [_, held] = tipping(&[("x", rigid)], ratio, 0.5 * expected * 1.001).unwrap();
    assert_eq!(held.verdict, Verdict::Ok);
    assert!(held.source.contains("local seismic code"));
}

#[test]
fn the_seismic_force_is_that_of_the_code() {
    let d = &load("mounts/rating_checks")["seismic"];
    let get = |key: &str| number(&d[key]);
    let code = Seismic {
        amplification: get("ap"),
        response: get("Rp"),
        importance: get("Ip"),
        height_ratio: get("z_h"),
        ..Seismic::on_springs(get("SDS"))
    };
    assert_eq!(code, Seismic::on_springs(0.8));
    let ratio = code.acceleration().unwrap();
    assert_relative_eq!(ratio, get("Fp_over_Wp"), max_relative = 1e-14);
    assert_relative_eq!(ratio * get("Wp"), get("Fp"), max_relative = 1e-14);
    let gap = |mm: f64| Seismic { gap: Some(mm * 1e-3), ..code }.acceleration().unwrap();
    let close = get("gap_limit_mm");
    assert_eq!(gap(close), ratio);
    assert_relative_eq!(gap(close + 1e-6) * get("Wp"), get("Fp_if_gap_over"), max_relative = 1e-14);
    let moment = ratio * get("Wp") * number(&load("mounts/rating_checks")["overturn"]["h"]);
    let expected = number(&d["overturn_at_restraint"]["OTM"]);
    assert_relative_eq!(moment, expected, max_relative = 1e-14);
    for (mm, speed) in d["impact_velocity_over_gap_m_s"].as_object().unwrap() {
        let gap = mm.parse::<f64>().unwrap() * 1e-3;
        let found = snubber_speed(gap, code.sds, STANDARD_GRAVITY).unwrap();
        assert_relative_eq!(found, number(speed), max_relative = 1e-14);
    }
    // The least and the greatest of the code: 0.3 and 1.6 SDS Ip.
    let rigid = Seismic { amplification: 1.0, response: 6.0, ..code };
    assert_relative_eq!(rigid.acceleration().unwrap(), 0.3 * 0.8, max_relative = 1e-14);
    let roof = Seismic { height_ratio: 1.0, response: 1.0, ..code };
    assert_relative_eq!(roof.acceleration().unwrap(), 1.6 * 0.8, max_relative = 1e-14);
    assert!(Seismic { height_ratio: 1.1, ..code }.acceleration().is_err());
}

#[test]
fn a_kick_and_a_steady_force_keep_contact_up_to_their_closed_forms() {
    let d = load("mounts/rating_checks");
    let (f, m) = (number(&d["no_separation"]["f_Hz"]), number(&d["overturn"]["m"]));
    let velocity = kick_velocity(0.3, f, STANDARD_GRAVITY).unwrap();
    let v0 = number(&d["no_separation"]["v0_max"]);
    assert_relative_eq!(velocity.capacity, v0, max_relative = TIGHT);
    assert_eq!(velocity.verdict, Verdict::Ok);
    assert_eq!(kick_velocity(-0.32, f, STANDARD_GRAVITY).unwrap().verdict, Verdict::No);
    let impulse = kick_impulse(1e4, m, f, STANDARD_GRAVITY).unwrap();
    let most = number(&d["no_separation"]["impulse_max_Ns"]);
    assert_relative_eq!(impulse.capacity, most, max_relative = TIGHT);

    // F0 / |1 - r^2| at r = 0.5 is 4/3 F0; at resonance there is no bound.
    let steady = steady_contact(3e3, 5.0, 10.0, 4.001e3).unwrap();
    assert_relative_eq!(steady.demand, 4e3, max_relative = TIGHT);
    assert_eq!(steady.verdict, Verdict::Ok);
    assert_eq!(steady_contact(1.0, 5.0, 5.0, 1e9).unwrap().verdict, Verdict::No);
}

#[test]
fn strain_fails_at_the_five_feet_of_the_rating_example() {
    let d = load("mounts/rating_checks");
    let example = &d["rating_example"];
    let k = number(&example["k"]) * 1e3;
    let limit = Allowed::new(
        "compressive strain within 15 %",
        AllowedQuantity::Compression,
        0.15 * 0.020,
        "B",
    )
    .unwrap();
    for row in example["rows"].as_array().unwrap() {
        let force = number(&row["F"]);
        let body = RigidBody::new(force / STANDARD_GRAVITY, Vector3::z(), Matrix3::identity());
        let mount = Mount::new(Vector3::zeros(), [k; 3]).unwrap().with_name("pad");
        let mount = mount.with_rotational_stiffness([1e9; 3]).unwrap();
        let machine = Installation::new(body.unwrap(), vec![mount]).unwrap();
        let weight = machine.weight_of(&machine.body);
        let still = statics(&machine.system(), &weight, &StaticsOptions::default()).unwrap();
        let check = &allowed("pad", std::slice::from_ref(&limit), &[("C2", &still)]).unwrap()[0];
        let strain = check.demand / 0.020;
        assert_relative_eq!(strain, number(&row["eps_lin"]), max_relative = 1e-9);
        let within = row["within_15pct"].as_bool().unwrap();
        assert_eq!(check.verdict == Verdict::Ok, within, "{force} N");
        assert_eq!(check.source, "B");
    }
}

#[test]
fn rubber_that_is_stiffer_when_warm_deflects_less_by_the_entropic_ratio() {
    let d = load("mounts/rating_checks");
    let factor = number(&d["temperature"]["entropic_G_ratio_20_to_40C"]);
    assert_relative_eq!(factor, 313.15 / 293.15, max_relative = TIGHT);
    let sink = |kz: f64| {
        let (still, _) = pushed(&press(&d, kz));
        still.deflection[[0, 2]]
    };
    let change = 100.0 * (1.0 - sink(4e7 * factor) / sink(4e7));
    let expected = number(&d["temperature"]["static_deflection_change_pct"]);
    assert_relative_eq!(change, expected, max_relative = 1e-9);
}

#[test]
fn forty_strokes_a_minute_day_and_night_are_fourteen_million_a_year() {
    // Common practice: 40 spm, 24 h, 70 % use = 14.7 million.
    let duty = underfoot::checks::Duty {
        stroke_rate_spm: 40.0,
        hours_per_day: 24.0,
        utilization: 0.7,
        days_per_year: 365.0,
    };
    assert!((duty.strokes_per_year() / 14.7e6 - 1.0).abs() < 0.005);
    assert_relative_eq!(duty.strokes_per_year(), 14_716_800.0, max_relative = 1e-14);
    assert_eq!(duty.fatigue(2.0, 30e6).unwrap().verdict, Verdict::Ok);
    assert_eq!(duty.fatigue(3.0, 30e6).unwrap().verdict, Verdict::No);
}
