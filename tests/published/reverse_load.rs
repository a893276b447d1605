//! Reverse load of a press when the material breaks: the table over softening, residual force, break
//! time and clearance; what of it reaches the floor; the gauge's filter; release of a spring-mass.
//! Sources stand in the files; computed by others, not published measurements.

use serde_json::Value;
use underfoot::analysis::hybrid::{HybridOptions, Load, hybrid};
use underfoot::analysis::snap_through::{
    GaugeFilter, SnapThrough, SnapThroughOptions, WorkForce, shaken, snap_through,
};
use underfoot::analysis::transient::Extrema;
use underfoot::excitation::forming::SHEAR_OVER_TENSILE;
use underfoot::excitation::{Blanking, BreakThrough, TimeCurve};
use underfoot::installation::Installation;
use underfoot::system::ContactRule;

use crate::press_chain::Chain;
use crate::reference::{load, number, numbers};
use crate::shock_systems::reference;

const FORCE: f64 = 1.6e6;

fn press(clearance: f64, counterbalance: Option<f64>) -> Installation {
    Chain {
        bed: 18_000.0,
        crown: 12_000.0,
        slide: 6_000.0,
        mount: [2e8, 5.4e5],
        frame: [4e9, 5e5],
        drive: [3e9, 4e5],
        clearance,
        counterbalance,
    }
    .installation()
}

fn answers() -> Value {
    load("jobs/job_reverse_load_table")["answers"].clone()
}

/// The history of a row as a break-through.
fn history(row: &Value) -> BreakThrough {
    let knots: Vec<Vec<f64>> =
        row["knots_s_and_fraction"].as_array().unwrap().iter().map(numbers).collect();
    let n = knots.len();
    let residual = if n > 4 { knots[3][1] } else { 0.0 };
    let breaks = if n > 3 { 2 } else { 1 };
    let (start, end) = (&knots[breaks], &knots[breaks + 1]);
    let mut force = BreakThrough::new(FORCE, knots[1][0], end[0] - start[0]).unwrap();
    if breaks == 2 && start[1] == 1.0 {
        force = force.with_dwell(start[0] - knots[1][0]).unwrap();
    } else if breaks == 2 {
        force = force.with_softening(start[1], start[0] - knots[1][0]).unwrap();
    }
    if residual > 0.0 {
        force = force.with_residual(residual, knots[4][0] - end[0]).unwrap();
    }
    for (knot, found) in knots.iter().zip(force.knots()) {
        assert!((knot[0] - found[0]).abs() < 1e-12 && (knot[1] * FORCE - found[1]).abs() < 1e-6);
    }
    force
}

fn run(inst: &Installation, force: &BreakThrough, rule: ContactRule) -> SnapThrough {
    let options = SnapThroughOptions {
        rule,
        duration: Some(2.0),
        dt: Some(1e-3),
        ..SnapThroughOptions::default()
    };
    snap_through(inst, None, &WorkForce::from(force), &options).unwrap()
}

fn near(found: f64, expected: &Value, relative: f64, what: &str) {
    let e = number(expected);
    assert!((found - e).abs() <= relative * e.abs(), "{what}: {found} is not {e}");
}

fn compare(found: &SnapThrough, row: &Value, relative: f64, what: &str) {
    let part = |e: &Extrema| (e.max.value / FORCE, e.min.value / FORCE);
    let (drive, column) = (found.peak("drive_force").unwrap(), found.peak("column_force").unwrap());
    near(part(drive).1, &row["drive_min"], relative, what);
    near(part(column).1, &row["column_min"], relative, what);
    if !row["drive_max"].is_null() {
        near(part(drive).0, &row["drive_max"], relative, what);
        near(part(column).0, &row["column_max"], relative, what);
        near(
            found.column_reverse_load / found.reverse_load,
            &row["column_over_drive"],
            relative,
            what,
        );
        // The floor feels it upward as positive, as the table does.
        near(part(&found.ground_peaks[2]).0, &row["mount_max_up"], relative, what);
        near(part(&found.ground_peaks[2]).1, &row["mount_min"], relative, what);
        assert!((drive.min.time - number(&row["t_drive"])).abs() < 1e-9, "{what}");
        assert!((column.min.time - number(&row["t_column"])).abs() < 1e-9, "{what}");
    }
}

#[test]
fn the_table_over_softening_residual_and_break_time() {
    let rows = answers()["rows"].as_object().unwrap().clone();
    assert_eq!(rows.len(), 7);
    for (name, row) in &rows {
        if name.contains("held_for_ever") {
            continue;
        }
        let found = run(&press(0.0, None), &history(row), ContactRule::ForceClipped);
        compare(&found, row, 1e-6, name);
        assert!(found.events.is_empty());
    }
}

#[test]
fn a_residual_that_is_held_for_ever() {
    let row = answers()["rows"]["R3_residual_held_for_ever"].clone();
    let knots = [[0.0, 0.0], [0.02, 1.0], [0.03, 0.6], [0.031, 0.15], [3.0, 0.15]];
    let force = TimeCurve::new(knots.map(|[t, part]| [t, part * FORCE]).to_vec()).unwrap();
    let work = WorkForce { segments: force.segments(), peak: force.peak(), point: None };
    let options = SnapThroughOptions { duration: Some(2.0), ..SnapThroughOptions::default() };
    let found = snap_through(&press(0.0, None), None, &work, &options).unwrap();
    let part = |name: &str| found.peak(name).unwrap().min.value / FORCE;
    near(part("drive_force"), &row["drive_min"], 1e-6, "drive");
    near(part("column_force"), &row["column_min"], 1e-6, "column");
}

#[test]
fn clearance_alone_makes_the_drive_worse_and_the_column_better() {
    let all = answers();
    let row = &all["rows"]["R1_drop_from_peak"];
    let force = history(row);
    for (rule, key) in
        [(ContactRule::ForceClipped, "force_clipped"), (ContactRule::Geometric, "geometric")]
    {
        let expected = &all["clearance"][key];
        let found = run(&press(4e-4, Some(9e4)), &force, rule);
        compare(&found, expected, 1e-5, key);
        let first: Vec<f64> =
            expected["first_events"].as_array().unwrap().iter().map(|e| number(&e[0])).collect();
        // A push that has reached zero is free before the sides part.
        let carrying = found.events.iter().filter(|e| match rule {
            ContactRule::Geometric => true,
            ContactRule::ForceClipped => !matches!(
                (e.from.name(), e.to.name()),
                ("ahead without force", "open") | ("behind without force", "open")
            ),
        });
        for (event, t) in carrying.zip(&first) {
            assert!((event.time - t).abs() < 1e-9, "{key}: {} {t}", event.time);
        }
        let without = run(&press(0.0, None), &force, rule);
        assert!(found.reverse_load > without.reverse_load);
        assert!(found.column_reverse_load < without.column_reverse_load);
    }
    let clipped = number(&all["clearance"]["force_clipped"]["drive_min"]);
    let geometric = number(&all["clearance"]["geometric"]["drive_min"]);
    assert!((clipped / geometric - 1.0).abs() < 3e-3);
    let r0 = history(&all["rows"]["R0_no_dwell_(reference_G1)"]);
    let found = run(&press(4e-4, Some(9e4)), &r0, ContactRule::ForceClipped);
    compare(&found, &all["clearance"]["force_clipped_on_R0"], 1e-5, "R0");
    no_play(&force, &all["clearance"]["no_gap_same_preload"]);
}

/// Without play, but with sides that only push and pull: what damping would pull is cut off, so it is
/// not the bonded drive that a clearance of zero stands for.
fn no_play(force: &BreakThrough, expected: &Value) {
    let inst = press(1e-3, Some(9e4));
    let mut system = shaken(&inst, None, &SnapThroughOptions::default()).unwrap().hybrid;
    system.gaps[0].behind = Some(0.0);
    let press = inst.press.as_ref().unwrap();
    let load = Load { segments: force.segments(), direction: press.work() };
    let options = HybridOptions { duration: Some(2.0), ..HybridOptions::default() };
    let motion = hybrid(&system, &[load], &options).unwrap();
    let at_rest = press.drive_at_rest(inst.gravity).unwrap();
    for (i, key) in
        [(system.gaps[0].element, "drive_min"), (system.gaps[0].element - 1, "column_min")]
    {
        let shift = if key == "drive_min" { at_rest } else { 0.0 };
        let output = motion.element_force(i).unwrap().with_constant(&[shift]);
        near(motion.extrema(&output)[0].min.value / FORCE, &expected[key], 1e-5, key);
    }
}

#[test]
fn the_filter_of_the_gauge_changes_what_is_read() {
    let all = answers();
    let row = &all["rows"]["R3_softened_0.6_residual_0.15"];
    let options =
        SnapThroughOptions { duration: Some(0.2), dt: Some(2e-6), ..SnapThroughOptions::default() };
    let inst = press(0.0, None);
    let work = WorkForce::from(&history(row));
    let found = snap_through(&inst, None, &work, &options).unwrap();
    let signal: Vec<f64> = found.column_force.to_vec();
    let least = |x: &[f64]| x.iter().copied().fold(f64::MAX, f64::min) / FORCE;
    let expected = &all["column_of_R3_filtered"];
    near(least(&signal), &expected["unfiltered"], 1e-5, "unfiltered");
    let cutoff = 150.0;
    for (filter, key) in [
        (GaugeFilter::SinglePoles { order: 2, cutoff }, "two_cascaded_single_poles_150Hz"),
        (GaugeFilter::SinglePoles { order: 1, cutoff }, "one_single_pole_150Hz"),
        (GaugeFilter::Butterworth { order: 2, cutoff }, "butterworth2_150Hz"),
        (GaugeFilter::Butterworth { order: 4, cutoff }, "butterworth4_150Hz"),
    ] {
        let seen = filter.checked().unwrap().apply(&signal, 2e-6);
        near(least(&seen), &expected[key], 1e-5, key);
    }
    // A strain gauge sees the spring's part alone.
    let spring: Vec<f64> = {
        let displacement = found.motion.displacement();
        let mut pick = vec![0.0; 8];
        pick[6] = 4e9;
        let output = displacement.combined("stretch", &pick).unwrap();
        let e = found.motion.extrema(&output)[0].clone();
        vec![e.min.value]
    };
    let key = "unfiltered_spring_part_only_(strain_gauge)";
    near(least(&spring), &expected[key], 1e-6, key);
}

#[test]
fn the_cutting_force_is_internal() {
    let job = load("jobs/job_11");
    let expected = &job["answers"];
    let rows = answers()["rows"].clone();
    let inst = press(0.0, None);
    for (name, key, row) in [
        ("R0", "mount_peak_over_F0_R0", "R0_no_dwell_(reference_G1)"),
        ("R1", "mount_peak_over_F0_R1", "R1_drop_from_peak"),
        ("R4", "mount_peak_over_F0_R4", "R4_same_3ms"),
    ] {
        let found = run(&inst, &history(&rows[row]), ContactRule::ForceClipped);
        near(found.ground_peaks[2].max.value / FORCE, &expected[key], 1e-6, name);
        if name == "R0" {
            let down = found.ground_peaks[2].min.value / FORCE;
            near(down, &expected["mount_other_sign_R0"], 1e-6, name);
            // The larger swing pulls the bed up: 142 of the 353 kN that the machine weighs.
            assert!((found.ground_peaks[2].max.value / 1e3 - 142.0).abs() < 0.5);
            assert!((inst.body.mass() * inst.gravity / 1e3 - 353.0).abs() < 0.5);
        }
    }
    let slow = TimeCurve::new(vec![[0.0, 0.0], [1.0, FORCE], [20.0, FORCE]]).unwrap();
    let work = WorkForce { segments: slow.segments(), peak: FORCE, point: None };
    let options =
        SnapThroughOptions { duration: Some(10.0), dt: Some(0.5), ..SnapThroughOptions::default() };
    let found = snap_through(&inst, None, &work, &options).unwrap();
    let last = found.ground_wrench[[20, 2]] / FORCE;
    assert_eq!(number(&expected["static_mount_force_over_F"]), 0.0);
    assert!(last.abs() < 1e-12, "{last:e}");
}

#[test]
fn dashpots_that_carry_the_floor_force_are_warned_of() {
    let row = answers()["rows"]["R0_no_dwell_(reference_G1)"].clone();
    let found = run(&press(0.0, None), &history(&row), ContactRule::ForceClipped);
    // c_m v_bed = 94.7 kN against 142.2 kN in all.
    let v = number(&reference("g1_3dof_base")["results"]["v_bed"]["max"]);
    assert!((found.dashpot_share - v * 5.4e5 / found.ground_peaks[2].max.value).abs() < 1e-6);
    assert!(found.warnings.iter().any(|w| w.contains("dashpots carry")));
    assert!((found.stored_energy - 746.6666666666667).abs() < 1e-9);
}

/// A spring-mass whose force falls within a time: the reverse load of its spring is the factor
/// |sin(pi tr / T)| / (pi tr / T), with damping as tabulated.
#[test]
fn a_sudden_release_reverses_fully_and_a_fall_in_time_less() {
    let table = load("shock/b_misc_tables")["reverse_load_vs_release_time"].clone();
    let (mass, stiffness) = (2500.0, 1e9);
    let omega = f64::sqrt(stiffness / mass);
    let period = std::f64::consts::TAU / omega;
    for row in table["rows"].as_array().unwrap() {
        let zeta = number(&row["zeta"]);
        let tau = number(&row["tr_over_T"]) * period;
        let damping = 2.0 * zeta * mass * omega;
        let linear = crate::shock_systems::chain(
            &[("slide", mass)],
            &[crate::shock_systems::Link {
                name: "drive",
                from: None,
                to: 0,
                stiffness,
                damping,
                loss_factor: 0.0,
            }],
        );
        let start = underfoot::analysis::transient::Start {
            displacement: nalgebra::DVector::from_element(1, FORCE / stiffness),
            velocity: nalgebra::DVector::zeros(1),
        };
        let fall = vec![[0.0, FORCE], [tau.max(1e-12), 0.0]];
        let load = crate::press_chain::polygon(&fall);
        let g = nalgebra::DVector::from_element(1, 1.0);
        let motion = underfoot::analysis::transient::Transient::new(
            &linear,
            &load,
            &g,
            &start,
            Some(20.0 * period),
        )
        .unwrap();
        let x = &motion.extrema(&motion.displacement())[0];
        let found = -x.min.value * stiffness / FORCE;
        let expected = number(&row["reverse_fraction"]);
        assert!((found - expected).abs() < 1e-9, "zeta {zeta}, {row}: {found}");
        if zeta == 0.0 && tau == 0.0 {
            assert!((found - 1.0).abs() < 1e-9);
        }
    }
}

#[test]
fn energy_of_the_frame_and_force_of_a_blank() {
    let misc = load("shock/b_misc_tables");
    for row in misc["frame_energy_F2_over_2k_illustrative"].as_array().unwrap() {
        let (f, k) = (number(&row["F_kN"]) * 1e3, number(&row["k_kN_per_mm"]) * 1e6);
        let energy = f * f / (2.0 * k);
        assert!((energy - number(&row["energy_J"])).abs() < 1e-9 * energy);
    }
    // A disc of 150 mm in 3.2 mm at 320 MPa: 482.5 kN; a hole of 8 mm square in 2 mm at a tensile
    // strength of 500 MPa: 22.4 kN (both printed, see the file).
    let disc = Blanking::new(std::f64::consts::PI * 0.15, 3.2e-3, 320e6, 0.38).unwrap();
    near(disc.force() / 1e3, &misc["blanking_examples"][0]["F_kN"], 1e-9, "disc");
    let hole = Blanking::new(32e-3, 2e-3, SHEAR_OVER_TENSILE * 500e6, 0.38).unwrap();
    near(hole.force() / 1e3, &misc["blanking_examples"][1]["F_kN"], 1e-9, "hole");
    assert!((disc.force() / 1e3 - 482.5).abs() < 0.05 && (hole.force() / 1e3 - 22.4).abs() < 0.05);
}
