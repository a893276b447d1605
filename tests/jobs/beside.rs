//! Curves, stops and bridges in job files: what they mean, what is refused, and what a study says.
//!
//! Rail step and gap-frame are the jobs of `trade.rs` with a curve in place of the constant
//! stiffness (closed forms computed by two people, `tests/reference/jobs`).

use crate::{SMALL, edited, read};
use underfoot::job::Job;
use underfoot::study::Study;

const PAD: &str = "stiffness = [1e6, 1e6, 3e6]\n";

fn refused(text: &str) -> String {
    match Job::from_text(text, "job.toml") {
        Ok(_) => panic!("must be refused:\n{text}"),
        Err(error) => error.to_string(),
    }
}

fn with_curve(curve: &str) -> String {
    edited(PAD, &format!("{PAD}curve = {curve}\n"))
}

/// A job of `trade/` with one piece of text replaced.
fn trade(name: &str, from: &str, to: &str) -> Study {
    let file = format!("{}/tests/jobs/trade/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.contains(from), "{from:?} stands in {name}");
    Study::of(&read(&text.replace(from, to))).unwrap()
}

#[test]
fn rows_of_a_curve_become_a_mount_that_follows_it() {
    let job = read(&with_curve("[[\"2 mm\", \"10 kN\"], [0.005, 40e3], [0.02, \"300 kN\"]]"));
    let [left, right] = &job.installation.mounts[..] else { panic!("two mounts") };
    let curve = left.curve.as_ref().unwrap();
    assert_eq!(curve.range(), [0.0, 0.02]);
    assert_eq!(curve.force(0.005).unwrap(), 40e3);
    assert!((left.stiffness[2] / left.static_stiffness[2] - 1.0).abs() < 1e-15);
    assert_eq!(right.curve, None);
    assert!(job.input("mount_model[0].stiffness[2]").unwrap().informational);
    assert!(!job.input("mount_model[0].stiffness[0]").unwrap().informational);
    let assumed: Vec<_> = job.assumptions().map(|i| i.path.as_str()).collect();
    assert!(assumed.contains(&"mount[0].dynamic_ratio"), "{assumed:?}");
    // A static stiffness of its own gives the ratio, and then both count.
    let text = with_curve("[[0.02, 300e3]]\nstatic_stiffness = [1e6, 1e6, 2e6]");
    let job = read(&text);
    let left = &job.installation.mounts[0];
    assert!((left.stiffness[2] / left.static_stiffness[2] - 1.5).abs() < 1e-15);
    assert!(!job.input("mount_model[0].stiffness[2]").unwrap().informational);
}

#[test]
fn one_band_on_a_curve_scales_its_loads() {
    let job = read(&with_curve("{ value = [[0.01, 50e3], [0.02, 150e3]], band = \"20 %\" }"));
    let path = "mount_model[0].curve";
    let input = job.input(path).unwrap();
    assert_eq!((input.low, input.high), (Some(0.8), Some(1.2)));
    let stiffer = job.with_input(path, 1.2).unwrap();
    let force = |job: &Job| job.installation.mounts[0].curve.as_ref().unwrap().force(0.01).unwrap();
    assert!((force(&stiffer) / force(&job) - 1.2).abs() < 1e-14);
}

#[test]
fn what_is_wrong_with_a_curve_a_stop_or_a_bridge_is_said_at_its_place() {
    let falling = refused(&with_curve("[[0.001, 1e3], [0.002, 3e3], [0.003, 2e3]]"));
    assert_eq!(
        falling,
        "job.toml:12:9: mount_model[0].curve[2][1]: 2000 N: the load must rise from row to row \
         (before it 3000 N); check the row and the order of the rows"
    );
    assert!(refused(&with_curve("[0.001, 1e3]")).contains("a row [deflection, load]"));
    assert!(refused(&with_curve("[[\"1 kN\", 1e3]]")).contains("curve[0][0]"));
    let part = |section: &str| refused(&format!("{SMALL}\n{section}"));
    let bridge = "[[bridge]]\nname = \"pipe\"\nposition = [0, 0, 0]\n";
    assert!(part(&format!("{bridge}stiffness = [0, 0, 0]")).contains("bridge[0].stiffness"));
    let asks = part(&format!("{bridge}stiffness = [0, 0, 1e7]\nwhat_if = true"));
    assert!(asks.contains("add [what_if_bridged]"), "{asks}");
    let none = part("[what_if_bridged]\nfrequency = 25");
    assert!(none.contains("no bridge asks"), "{none}");
    let stop =
        "[[stop]]\nname = \"snubber\"\nposition = [0, 0, 0]\ngap = \"3 mm\"\nstiffness = 1e7\n";
    assert!(part(&format!("{stop}direction = \"up\"")).contains("stop[0].direction"));
    assert!(part(&format!("{stop}direction = \"z\"\ngap_behind = -1")).contains("gap_behind"));
    let twice = part(&format!("{bridge}stiffness = [0, 0, 1]\n").replace("pipe", "left"));
    assert!(twice.contains("\"left\" twice"), "{twice}");
}

#[test]
fn a_curve_that_ends_before_the_load_of_a_case_names_the_mount() {
    let text = with_curve("[[0.01, 20e3]]");
    let error = Study::of(&read(&text)).unwrap_err().to_string();
    assert!(error.contains("curve of mount left") && error.contains("its range ends"), "{error}");
}

/// Index of the case in which the bolster is gone.
fn bolster_out(study: &Study) -> usize {
    let cases = &study.results.cases;
    cases.iter().position(|c| c.name.ends_with(" out")).expect("a case without the bolster")
}

#[test]
fn the_rail_step_on_a_straight_curve_is_that_of_the_constant_stiffness() {
    let k = 20_212_949.813_431_002;
    let old = "stiffness = [1e8, 1e8, 20212949.813431002]\nstatic_stiffness = [1e8, 1e8, \
               20212949.813431002]";
    let curve =
        format!("stiffness = [1e8, 1e8, 0]\ncurve = [[0.02, {}], [0.05, {}]]", k * 0.02, k * 0.05);
    let found = trade("rail_step_soft", old, &curve);
    let out = bolster_out(&found);
    let down = |i: usize| -found.results.cases[i].statics.displacement[2];
    for (value, answer) in [(down(0), 0.02425833460855), (down(0) - down(out), 0.00485166692171)] {
        assert!((value / answer - 1.0).abs() < 1e-9, "{value} is not {answer}");
    }
    let frequency = &found.results.cases[out].frequency;
    let heave = frequency.iter().map(|f| (f / 3.577708764 - 1.0).abs()).fold(f64::MAX, f64::min);
    assert!(heave < 1e-9, "{frequency:?}");
    assert!(found.results.cases[0].statics.newton_steps > 0);
}

#[test]
fn stiffening_pads_of_the_same_load_make_a_smaller_rail_step() {
    // 490 kN at 24.26 mm as the soft mounts, but ever stiffer: the lighter press rises less, and
    // its frequency falls with its load instead of rising.
    let old = "stiffness = [1e8, 1e8, 20212949.813431002]\nstatic_stiffness = [1e8, 1e8, \
               20212949.813431002]";
    let curve = "stiffness = [1e8, 1e8, 0]\ncurve = [[0.01, 100e3], [0.018, 250e3], \
                 [0.02425833460855, 490332.5], [0.03, 900e3]]";
    let found = trade("rail_step_soft", old, curve);
    let cases = &found.results.cases;
    let down = |i: usize| -cases[i].statics.displacement[2];
    assert!((down(0) / 0.02425833460855 - 1.0).abs() < 1e-9);
    assert!(down(0) - down(bolster_out(&found)) < 0.6 * 0.00485166692171);
    // Heave, pitch and roll are the lowest: each case has its own.
    assert!(
        cases[bolster_out(&found)].frequency[0] < cases[0].frequency[0],
        "the tangent falls faster than the mass"
    );
}

#[test]
fn the_gap_frame_on_a_straight_curve_tilts_as_on_constant_stiffness() {
    let found = trade(
        "gap_frame_soft",
        "stiffness = [1e9, 1e9, 1.2e+06] ",
        "stiffness = [1e9, 1e9, 0]\ncurve = [[0.01, 12e3], [0.06, 72e3]] ",
    );
    let rocking = &found.results.cases[0].stability[1];
    for (value, answer) in [
        (rocking.k_theta, 972000.0),
        (rocking.ratio, 0.1276276980453),
        (rocking.amplification, 1.146299576178),
        (found.results.cases[1].statics.tilt[1], 0.006071721540978),
    ] {
        assert!((value / answer - 1.0).abs() < 1e-9, "{value} is not {answer}");
    }
}

#[test]
fn a_study_tells_of_stops_and_bridges() {
    let study = crate::template_study();
    let page = study.summary();
    assert!(page.contains("## Stops and short circuits"), "{page}");
    assert!(page.contains("stop snubber") && page.contains("bridge conduit"), "{page}");
    assert!(page.contains("oil pipe, if left in"), "{page}");
    let touches: Vec<_> = study
        .results
        .cases
        .iter()
        .map(|c| c.statics.beside.iter().any(|part| part.kind == "stop" && part.touches))
        .collect();
    assert!(touches.contains(&true) && touches.contains(&false), "{touches:?}");
    assert_eq!(study.results.envelope.mount_names.len(), 4);
}
