//! Jobs a good tool gets right, from the job file to the finding.
//!
//! The numbers are closed forms computed by two people (`tests/reference/jobs`, rel 1e-9); what a
//! press installer concludes from them is common practice.

use serde_json::Value;
use underfoot::analysis::statics::RailStep;
use underfoot::checks::{Check, Verdict};
use underfoot::study::{CaseResult, Study};

use crate::job;

fn study(name: &str) -> Study {
    Study::of(&job(&format!("trade/{name}"))).unwrap()
}

fn answers(name: &str) -> Value {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/jobs");
    let text = std::fs::read_to_string(format!("{folder}/{name}.json")).unwrap();
    serde_json::from_str::<Value>(&text).unwrap()["answers"].clone()
}

fn number(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

fn close(found: f64, expected: &Value) {
    let expected = number(expected);
    assert!((found / expected - 1.0).abs() < 1e-9, "{found} is not {expected}");
}

fn check<'a>(study: &'a Study, question: &str) -> &'a Check {
    study.checks.iter().find(|c| c.question.starts_with(question)).unwrap()
}

fn case<'a>(study: &'a Study, name: &str) -> &'a CaseResult {
    study.results.cases.iter().find(|c| c.name == name).unwrap_or_else(|| panic!("{name}"))
}

fn step<'a>(study: &'a Study, point: &str, to: &str) -> &'a RailStep {
    let steps = &study.results.rail_steps;
    steps.iter().find(|s| s.point == point && s.to == to).unwrap_or_else(|| panic!("{to}"))
}

#[test]
fn a_press_on_soft_mounts_rises_too_far_when_its_bolster_leaves() {
    let (soft, pads, expected) =
        (study("rail_step_soft"), study("rail_step_pads"), answers("job_04"));
    close(-soft.results.cases[0].statics.displacement[2], &expected["deflection_m"]);
    for (found, rise, tilt) in
        [(&soft, "rise_m", "tilt_rad"), (&pads, "pads_rise_m", "pads_tilt_rad")]
    {
        for rail in ["rail left", "rail right"] {
            let out = step(found, rail, "bolster out");
            assert_eq!((out.from.as_str(), out.tilt), ("as it runs", [0.0, 0.0]));
            close(out.rise, &expected[rise]);
            // Half way, half the load is gone and the rest tilts the rails down.
            let half = step(found, rail, "bolster half way");
            close(half.tilt[0], &expected[tilt]);
            let sunk = half.rise - 0.5 * out.rise;
            assert!((sunk / (-1.8 * number(&expected[tilt])) - 1.0).abs() < 1e-9, "{sunk}");
        }
        close(case(found, "bolster half way").statics.tilt[0], &expected[tilt]);
        assert_eq!(case(found, "bolster half way").mass, 180e3);
        assert_eq!(case(found, "bolster out").mass, 160e3);
    }
    let rise = |s: &Study| step(s, "rail left", "bolster out").rise;
    assert!(rise(&soft) > 1e-3 && rise(&pads) < 1e-3, "the limit of 1 mm tells them apart");
    for (found, verdict) in [(&soft, Verdict::No), (&pads, Verdict::Ok)] {
        for (question, case) in [
            ("rail step of rail left", "as it runs to bolster out"),
            ("tilt at the step of rail left", "as it runs to bolster half way"),
        ] {
            let judged = check(found, question);
            assert_eq!((&judged.verdict, judged.governing_case.as_str()), (&verdict, case));
        }
    }
    assert_eq!(check(&soft, "tilt about x").verdict, Verdict::No);
    // The last axle leaves where it stands half way.
    assert!(check(&soft, "tilt about x").governing_case.starts_with("bolster "));
    assert_eq!(check(&pads, "tilt about x").verdict, Verdict::Ok);
    let summary = soft.summary();
    assert!(summary.contains("| greatest rail step (rail right, bolster out) "), "{summary}");
    assert!(summary.contains("nobody under a load"), "{summary}");
}

#[test]
fn gravity_makes_the_tilt_half_way_larger() {
    let text = include_str!("trade/rail_step_soft.toml");
    // 200 t at 2.25 m less 20 t in the plane of the mounts: 180 t at 2.5 m.
    let text = text
        .replace("mass = \"200 t\"\ncenter = [0, 0, 0]", "mass = \"200 t\"\ncenter = [0, 0, 2.25]");
    let text = text.replace("[limits]", "[statics]\ngravity_stiffness = true\n\n[limits]");
    let found = Study::of(&crate::read(&text)).unwrap();
    assert_eq!(case(&found, "bolster half way").center.z, 2.5);
    let tilt = case(&found, "bolster half way").statics.tilt[0];
    let expected = &answers("job_04")["tilt_with_180t_cg_2p5m_above_mounts"];
    assert!((tilt / number(expected) - 1.0).abs() < 1e-9, "{tilt}");
}

#[test]
fn a_pipe_that_bridges_the_mounts_passes_the_force_on() {
    let expected = answers("job_05");
    for (name, pipe) in [("no_short_circuit", "pipe_0_MN_m"), ("short_circuit", "pipe_150_MN_m")] {
        let found = study(name);
        let expected = &expected[pipe];
        for mode in expected["modes_Hz"].as_array().unwrap() {
            let wanted = number(mode);
            let nearest = found.results.modes.frequency.iter().map(|f| (f / wanted - 1.0).abs());
            // The sideways stiffness is large but not infinite, in the plane of the center of mass.
            assert!(nearest.fold(f64::MAX, f64::min) < 1e-9, "{name}: {wanted}");
        }
        let t = found.results.at_limit.unwrap();
        let wanted = number(&expected["same_with_dashpots_at_the_mounts_only"]);
        assert!((t / wanted - 1.0).abs() < 1e-8, "{name}: {t} is not {wanted}");
    }
    let verdict = |name| check(&study(name), "vertical transmissibility").verdict.clone();
    assert_eq!(verdict("no_short_circuit"), Verdict::Ok);
    assert_eq!(verdict("short_circuit"), Verdict::No);
}

#[test]
fn a_pipe_left_in_raises_the_modes_and_the_force_on_the_floor() {
    let (found, expected) = (study("no_short_circuit"), answers("job_05"));
    let names = ["pipe_0_MN_m", "pipe_40_MN_m", "pipe_150_MN_m"];
    let modes = |name: &str| expected[name]["modes_Hz"].as_array().unwrap().clone();
    let holds = |modes: &[Value], found: &[f64]| {
        for mode in modes {
            let wanted = number(mode);
            let nearest = found.iter().map(|f| (f / wanted - 1.0).abs()).fold(f64::MAX, f64::min);
            assert!(nearest < 1e-9, "{wanted} is not among {found:?}");
        }
    };
    let force = |found: f64, name: &str| {
        let wanted = number(&expected[name]["net_floor_force_ratio_25Hz"]);
        assert!((found / wanted - 1.0).abs() < 1e-8, "{name}: {found} is not {wanted}");
    };
    assert_eq!(found.results.what_if_bridged.len(), 2);
    for (what_if, with) in found.results.what_if_bridged.iter().zip(&names[1..]) {
        holds(&modes(names[0]), &what_if.mode_frequency_before);
        holds(&modes(with), &what_if.mode_frequency_after);
        force(what_if.floor_force_before[0], names[0]);
        force(what_if.floor_force_after[0], with);
        assert_eq!(what_if.damping_ratio_after, [0.08; 6]);
    }
    let printed = ["0.053", "0.13", "0.81"];
    let last = &found.results.what_if_bridged;
    let digits = [
        format!("{:.3}", last[0].floor_force_before[0]),
        format!("{:.2}", last[0].floor_force_after[0]),
        format!("{:.2}", last[1].floor_force_after[0]),
    ];
    assert_eq!(digits, printed);
}

#[test]
fn a_pipe_connected_after_leveling_carries_no_weight() {
    let (with, without) = (study("short_circuit"), study("no_short_circuit"));
    let load = |s: &Study| s.results.cases[0].statics.load.clone();
    assert_eq!(load(&with), load(&without));
    assert_eq!(with.results.cases[0].statics.beside[0].force.norm(), 0.0);
    assert_eq!(with.results.envelope.mount_names.len(), 4, "a pipe is no mount");
}

#[test]
fn a_gap_frame_on_soft_mounts_is_rejected() {
    let (found, expected) = (study("gap_frame_soft"), answers("job_13"));
    let rocking = &found.results.cases[0].stability[1];
    close(rocking.k_theta, &expected["k_theta"]);
    close(rocking.weight_moment, &expected["mgh"]);
    close(rocking.ratio, &expected["ratio"]);
    close(rocking.amplification, &expected["amplification"]);
    close(case(&found, "heavy die").statics.tilt[1], &expected["die_tilt_rad"]);
    assert_eq!(case(&found, "heavy die").mass, 12.5e3);
    let text = include_str!("trade/gap_frame_soft.toml");
    let up = Study::of(&crate::read(&text.replace("[0.35, 0, 0]", "[0.35, 0, 0.9]"))).unwrap();
    close(case(&up, "heavy die").statics.tilt[1], &expected["die_tilt_if_die_cg_0p9m_up"]);
    let stiff = text.replace("gravity_stiffness = true", "gravity_stiffness = false");
    let stiff = Study::of(&crate::read(&stiff)).unwrap();
    close(case(&stiff, "heavy die").statics.tilt[1], &expected["die_tilt_without_amplification"]);
    let wanted = number(&expected["vertical_frequency_Hz"]);
    let off = found.results.modes.frequency.iter().map(|f| (f / wanted - 1.0).abs());
    assert!(off.fold(f64::MAX, f64::min) < 1e-9, "one mode is vertical at {wanted} Hz");
    assert_eq!(check(&found, "tilt about y").verdict, Verdict::No);
    let Verdict::OkIf(condition) = &check(&found, "rocking about y").verdict else {
        panic!("an amplification of 15 % is no plain OK")
    };
    assert!(condition.contains("15 % larger"), "{condition}");
}

#[test]
fn soft_mounts_below_a_high_stroke_rate_help_and_pads_near_it_hurt() {
    let expected = answers("job_02");
    for (name, t, force, motion) in [
        ("high_speed_pads", "pads_T", "pads_force_N", "bed_pads_damped_m"),
        ("high_speed_coils", "coil_3Hz_T", "coil_3Hz_force_N", "bed_damped_3Hz_m"),
    ] {
        let found = study(name);
        close(found.results.at_limit.unwrap(), &expected[t]);
        let harmonic = &found.results.harmonics[0].response;
        close(harmonic.ground_wrench().unwrap()[[0, 2]].norm(), &expected[force]);
        close(harmonic.displacement[[0, 2]].norm(), &expected[motion]);
    }
    let verdict = |name| check(&study(name), "vertical transmissibility").verdict.clone();
    assert_eq!(verdict("high_speed_pads"), Verdict::No);
    assert_eq!(verdict("high_speed_coils"), Verdict::Ok);
}

#[test]
fn a_die_that_lowers_the_press_says_how_soft_its_mounts_are() {
    let (found, expected) = (study("die_lowers_the_press"), answers("job_09"));
    let rise = found.results.rises.iter().find(|r| r.point == "bolster").unwrap();
    assert!((-rise.down.value / 0.00118 - 1.0).abs() < 1e-9, "{}", rise.down.value);
    let with_die = case(&found, "die");
    let ring = with_die.frequency.iter().map(|f| (f / 6.9 - 1.0).abs()).fold(f64::MAX, f64::min);
    assert!(ring < 1e-9, "{:?}", with_die.frequency);
    let mounts = job("trade/die_lowers_the_press").installation.mounts;
    let sum = |of: fn(&underfoot::support::Mount) -> f64| mounts.iter().map(of).sum::<f64>();
    let (at_rest, moving) = (sum(|m| m.static_stiffness[2]), sum(|m| m.stiffness[2]));
    close(at_rest, &expected["static"]);
    close(moving, &expected["dynamic"]);
    close(moving / at_rest, &expected["ratio"]);
    close(1.0 - at_rest / 150e6, &expected["shortfall_of_static_vs_sheet"]);
}
