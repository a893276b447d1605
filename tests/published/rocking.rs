//! Rocking under its own weight: ratio, amplification, tilt.
//!
//! Source: reference pack of the project, section D (a 40 t press, center of mass 2.4 m above two
//! rows of mounts) and jobs 4 (rail step) and 13 (gap-frame on soft mounts), each computed twice
//! by different people. k_theta = sum k y^2, amplification 1 / (1 - m g h / k_theta): textbook.
//! Stated tolerance of the closed forms: 1e-9 relative.

use approx::assert_relative_eq;
use nalgebra::{DVector, Matrix3, Vector3};
use underfoot::Error;
use underfoot::analysis::statics::{Statics, StaticsOptions, stability, statics};
use underfoot::installation::{Installation, STANDARD_GRAVITY};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::reference::{load, number};

const TIGHT: f64 = 1e-12;
const STATED: f64 = 1e-9;

/// Body on four mounts at (+-1.1, +-half_gauge), stiffness kx, ky, kz in all.
fn on_four(mass: f64, center: Vector3<f64>, half_gauge: f64, k: [f64; 3]) -> Installation {
    let body = RigidBody::new(mass, center, Matrix3::identity() * 1.5 * mass).unwrap();
    let corners = [[-1.1, -1.0], [1.1, -1.0], [1.1, 1.0], [-1.1, 1.0]];
    let mounts = corners
        .map(|[x, row]| {
            Mount::new(Vector3::new(x, row * half_gauge, 0.0), k.map(|k| k / 4.0)).unwrap()
        })
        .to_vec();
    Installation::new(body, mounts).unwrap()
}

fn solve(machine: &Installation, load: &DVector<f64>, gravity_stiffness: bool) -> Statics {
    let options = StaticsOptions { gravity_stiffness, ..StaticsOptions::default() };
    statics(&machine.system(), load, &options).unwrap()
}

fn wrench(force: [f64; 3], moment: [f64; 3]) -> DVector<f64> {
    DVector::from_iterator(6, force.into_iter().chain(moment))
}

#[test]
fn forty_ton_press_has_the_ratio_and_amplification_of_the_closed_form() {
    let file = load("mounts/rocking");
    let d = &file["overturn"];
    let get = |key: &str| number(&d[key]);
    let (kx, kz) = (get("kx"), get("kz"));
    let center = Vector3::new(0.0, 0.0, get("h"));
    let machine = on_four(get("m"), center, get("half_gauge"), [kx, kx, kz]);
    let level = solve(&machine, &machine.weight_of(&machine.body), false);
    let [about_x, about_y] = stability(&machine.system(), &level).unwrap();
    assert_relative_eq!(about_x.k_theta, get("k_theta"), max_relative = TIGHT);
    assert_relative_eq!(about_x.height, get("h"), max_relative = TIGHT);
    assert_relative_eq!(about_x.weight_moment, get("mgh"), max_relative = TIGHT);
    assert_relative_eq!(about_x.ratio, get("ratio"), max_relative = TIGHT);
    assert_relative_eq!(about_x.load_ratio, get("ratio"), max_relative = TIGHT);
    assert_relative_eq!(about_x.amplification, get("amplification"), max_relative = TIGHT);
    assert_eq!(about_x.stable, d["stable"].as_bool().unwrap());
    assert_relative_eq!(about_y.k_theta, kz * 1.1 * 1.1, max_relative = TIGHT);
    assert_relative_eq!(about_y.height, get("h"), max_relative = TIGHT);
    let sink = level.deflection[[0, 2]] * 1e3;
    assert_relative_eq!(sink, get("delta_st_mm"), max_relative = TIGHT);
}

#[test]
fn a_tenth_of_gravity_sideways_tilts_and_loads_the_rows() {
    let file = load("mounts/rocking");
    let (d, side) = (&file["overturn"], &file["lateral_0p1g"]);
    let get = |key: &str| number(&d[key]);
    let (kx, kz) = (get("kx"), get("kz"));
    let center = Vector3::new(0.0, 0.0, get("h"));
    let machine = on_four(get("m"), center, get("half_gauge"), [kx, kx, kz]);
    let mut load = machine.weight_of(&machine.body);
    load[1] = number(&side["H"]);
    let plain = solve(&machine, &load, false);
    assert_relative_eq!(-plain.tilt[0], number(&side["theta_no_pdelta"]), max_relative = TIGHT);
    let found = solve(&machine, &load, true);
    assert_relative_eq!(-found.tilt[0], number(&side["theta_rad"]), max_relative = TIGHT);
    let sway = number(&side["x_cg_mm"]) * 1e-3;
    assert_relative_eq!(found.displacement[1], sway, max_relative = TIGHT);
    let row = |a: usize, b: usize| found.load[[a, 2]] + found.load[[b, 2]];
    let rows = side["row_load_N"].as_array().unwrap();
    assert_relative_eq!(row(0, 1), number(&rows[0]), max_relative = TIGHT);
    assert_relative_eq!(row(2, 3), number(&rows[1]), max_relative = TIGHT);
    assert!(found.tension.is_empty() && found.gravity_rounds > 0);
}

#[test]
fn rows_lift_at_the_stated_acceleration() {
    let file = load("mounts/rocking");
    let (d, side) = (&file["overturn"], &file["lateral_0p1g"]);
    let get = |key: &str| number(&d[key]);
    let (kx, kz) = (get("kx"), get("kz"));
    let center = Vector3::new(0.0, 0.0, get("h"));
    let machine = on_four(get("m"), center, get("half_gauge"), [kx, kx, kz]);
    for (key, gravity) in [("a_lim_uplift_g", true), ("a_lim_rigid_g", false)] {
        let mut load = machine.weight_of(&machine.body);
        load[1] = number(&side[key]) * get("m") * STANDARD_GRAVITY;
        let found = solve(&machine, &load, gravity);
        let weight = get("m") * STANDARD_GRAVITY;
        assert!(found.load[[0, 2]].abs() < 1e-10 * weight, "{key}: {}", found.load[[0, 2]]);
    }
}

#[test]
fn rail_step_lifts_and_tilts_the_press_as_computed_by_hand() {
    let file = load("mounts/rocking");
    let answers = &file["job_04"]["answers"];
    let get = |key: &str| number(&answers[key]);
    let k = get("k_N_m");
    let center = Vector3::new(0.0, 0.0, 2.5);
    let sink = |mass: f64, kz: f64| {
        let machine = on_four(mass, center, 2.0, [kz, kz, kz]);
        solve(&machine, &machine.weight_of(&machine.body), false).deflection[[0, 2]]
    };
    assert_relative_eq!(sink(200e3, k), get("deflection_m"), max_relative = STATED);
    assert_relative_eq!(sink(200e3, k) - sink(160e3, k), get("rise_m"), max_relative = STATED);
    let pads = get("pads_static_k");
    let rise = sink(200e3, pads) - sink(160e3, pads);
    assert_relative_eq!(rise, get("pads_rise_m"), max_relative = STATED);
    let moment = wrench([0.0; 3], [20e3 * STANDARD_GRAVITY * 1.8, 0.0, 0.0]);
    let tilt = |kz: f64| {
        let machine = on_four(180e3, center, 2.0, [kz, kz, kz]);
        solve(&machine, &moment, false).tilt[0]
    };
    assert_relative_eq!(tilt(k), get("tilt_rad"), max_relative = STATED);
    assert_relative_eq!(tilt(pads), get("pads_tilt_rad"), max_relative = STATED);
    let machine = on_four(180e3, center, 2.0, [k, k, k]);
    let load = machine.weight_of(&machine.body) + moment;
    let found = solve(&machine, &load, true).tilt[0];
    let expected = get("tilt_with_180t_cg_2p5m_above_mounts");
    assert_relative_eq!(found, expected, max_relative = STATED);
}

#[test]
fn gap_frame_on_soft_mounts_leans_fifteen_percent_more() {
    let file = load("mounts/rocking");
    let answers = &file["job_13"]["answers"];
    let get = |key: &str| number(&answers[key]);
    let center = Vector3::new(0.0, 0.0, 1.15);
    let k = [2.4e6, 2.4e6, 4.8e6];
    let machine = on_four(11e3, center, 0.45, k);
    let level = solve(&machine, &machine.weight_of(&machine.body), true);
    let [about_x, _] = stability(&machine.system(), &level).unwrap();
    assert_relative_eq!(about_x.k_theta, get("k_theta"), max_relative = STATED);
    assert_relative_eq!(about_x.weight_moment, get("mgh"), max_relative = STATED);
    assert_relative_eq!(about_x.ratio, get("ratio"), max_relative = STATED);
    assert_relative_eq!(about_x.amplification, get("amplification"), max_relative = STATED);
    let die = wrench([0.0; 3], [1500.0 * STANDARD_GRAVITY * 0.35, 0.0, 0.0]);
    let load = machine.weight_of(&machine.body) + die;
    let tilt = solve(&machine, &load, true).tilt[0];
    assert_relative_eq!(tilt, get("die_tilt_rad"), max_relative = STATED);
    let plain = solve(&machine, &load, false).tilt[0];
    assert_relative_eq!(plain, get("die_tilt_without_amplification"), max_relative = STATED);
}

#[test]
fn a_die_inside_the_body_tilts_it_by_its_own_height_too() {
    let file = load("mounts/rocking");
    let expected = number(&file["job_13"]["answers"]["die_tilt_if_die_cg_0p9m_up"]);
    let (press, die) = (11e3, 1500.0);
    let mass = press + die;
    let y = -die * 0.35 / mass;
    let center = Vector3::new(0.0, y, (press * 1.15 + die * 0.9) / mass);
    let machine = on_four(mass, center, 0.45, [2.4e6, 2.4e6, 4.8e6]);
    let found = solve(&machine, &machine.weight_of(&machine.body), true);
    assert_relative_eq!(found.tilt[0], expected, max_relative = STATED);
}

#[test]
fn a_machine_whose_ratio_passes_one_is_unstable_and_told_so() {
    let file = load("mounts/rocking");
    let (m, kz) = (number(&file["overturn"]["m"]), number(&file["overturn"]["kz"]));
    let tip = number(&file["overturn"]["k_theta"]) / (m * STANDARD_GRAVITY);
    for (height, stands) in [(0.999 * tip, true), (1.001 * tip, false)] {
        let center = Vector3::new(0.0, 0.0, height);
        let machine = on_four(m, center, number(&file["overturn"]["half_gauge"]), [kz; 3]);
        let weight = machine.weight_of(&machine.body);
        let level = solve(&machine, &weight, false);
        let [about_x, _] = stability(&machine.system(), &level).unwrap();
        assert_eq!(about_x.stable, stands);
        assert_eq!(about_x.amplification.is_finite(), stands);
        let options = StaticsOptions { gravity_stiffness: true, ..StaticsOptions::default() };
        let found = statics(&machine.system(), &weight, &options);
        match found {
            Ok(_) => assert!(stands),
            Err(Error::Unstable { reason, .. }) => {
                assert!(!stands);
                assert!(reason.contains("free to turn about"), "{reason}");
            }
            Err(other) => panic!("{other}"),
        }
    }
}
