//! Limits that a study judges without being asked, and those of the press's own surfaces.

use crate::{SMALL, edited, read};
use underfoot::checks::Verdict;
use underfoot::job::{Job, template};
use underfoot::study::Study;

fn refusal(text: &str) -> String {
    Job::from_text(text, "job.toml").unwrap_err().to_string()
}

#[test]
fn walking_is_judged_with_usual_friction_where_the_job_gives_none() {
    let job = read(SMALL);
    let assumed = |key: &str| {
        let input = job.input(&format!("limits.friction.{key}")).unwrap().clone();
        assert!(job.assumptions().any(|a| a.path == input.path));
        [input.value, input.low.unwrap(), input.high.unwrap()]
    };
    assert_eq!(assumed("coefficient"), [0.15, 0.1, 0.2]);
    assert_eq!(assumed("safety"), [1.5, 1.5, 2.0]);
    let study = Study::of(&job).unwrap();
    let walks = |s: &Study| s.checks.iter().filter(|c| c.question.starts_with("friction")).count();
    assert_eq!(walks(&study), 2);
    let more = job.with_input("limits.friction.coefficient", 0.3).unwrap();
    let used = |job: &Job| {
        let checks = Study::as_given(job).unwrap().checks;
        checks.iter().find(|c| c.question == "friction used by all feet").unwrap().demand
    };
    assert!((used(&job) / used(&more) - 2.0).abs() < 1e-9);
    let anchored = read(&edited("tilt = \"0.5 mm/m\"", "anchored = true"));
    assert_eq!(walks(&Study::of(&anchored).unwrap()), 0);
    let both = edited("tilt = \"0.5 mm/m\"", "anchored = true\nfriction = { coefficient = 0.4 }");
    assert!(refusal(&both).contains("limits.friction: says how a machine walks that anchored"));
}

#[test]
fn a_fast_machine_asks_the_most_of_its_feet_where_it_passes_a_natural_frequency() {
    let fast = "[[harmonic]]\nname = \"motor\"\nfrequency = 40\nforce = [500, 0, 500]\nat = \"bolster\"\n\
        rotates_about = \"y\"\n\n[limits]";
    let found = Study::as_given(&read(&edited("[limits]", fast))).unwrap();
    let load = &found.results.harmonics[0];
    let natural = &found.results.modes.frequency;
    assert_eq!(load.sliding.len(), 2);
    for (speed, slid) in &load.sliding {
        let nearest = natural.iter().map(|f| (speed / f - 1.0).abs()).fold(f64::MAX, f64::min);
        assert!(nearest < 0.1 && *speed < 40.0, "{speed} is near none of {natural:?}");
        assert!(slid.friction_needed > 0.0);
    }
    let case = &found.checks.iter().rfind(|c| c.question == "friction used by all feet").unwrap();
    assert!(case.governing_case.contains("running up through"), "{}", case.governing_case);
    // Below every natural frequency full speed is the worst.
    let slow = fast.replace("frequency = 40", "frequency = 0.5");
    let slow = Study::as_given(&read(&edited("[limits]", &slow))).unwrap();
    assert_eq!(slow.results.harmonics[0].sliding[0].0, 0.5);
}

#[test]
fn bed_and_slide_are_judged_by_limits_of_their_own() {
    let study = Study::as_given(&read(template())).unwrap();
    let check = |question: &str| study.checks.iter().find(|c| c.question == question).unwrap();
    let bed = check("level left at the worst station of the bed");
    // The plan keeps the bed's own limit, which is not that of the rails.
    assert_eq!((bed.capacity, &bed.verdict), (0.06e-3, &Verdict::Ok));
    assert!(bed.demand > 0.0 && bed.demand <= 0.06e-3, "{}", bed.demand);
    let slide = check("slide out of parallel with the bed");
    // Readings of 0.132 and -0.121 make 0.1265 mm/m; the plane of the bed rises along x by minus
    // its tilt about y.
    let plane = read(template()).leveling.unwrap().plane.unwrap();
    let expected = (0.5 * (0.132e-3 + 0.121e-3) + plane.tilt()[1]).abs();
    assert!((slide.demand - expected).abs() < 1e-15, "{} {expected}", slide.demand);
    assert_eq!(slide.governing_case, "under the slide");
    let bare = template().replace("surface = \"bed\"", "");
    assert!(refusal(&bare).contains("leveling.bed_tolerance: judges readings of the bed"));
    let none = template().replace("surface = \"slide\"", "");
    assert!(refusal(&none).contains("leveling.slide_parallelism: compares readings of the slide"));
    let slip = template().replace("surface = \"slide\"", "surface = \"ram\"");
    assert!(refusal(&slip).contains("leveling.reading[4].surface: \"ram\" is not known"));
}

#[test]
fn figures_of_leveling_have_bands() {
    let text =
        template().replace("down = \"0.6 mm\"", "down = { value = \"0.6 mm\", band = \"0.1 mm\" }");
    let study = Study::of(&read(&text)).unwrap();
    let named = |name: &str| study.figures.iter().find(|f| f.name == name).unwrap();
    for name in ["load of front left before leveling", "adjustment of front left, exact"] {
        let figure = named(name);
        assert_eq!(figure.group, "leveling");
        assert!(figure.low < figure.value && figure.value < figure.high, "{figure:?}");
    }
    assert!(named("screw motion of all mounts").value > 0.0);
}

#[test]
fn limits_of_rails_and_parts_are_refused_at_their_key() {
    for (to, words) in [
        ("rail_step = 0", "limits.rail_step: 0 m: must be greater than zero"),
        ("rail_tilt = \"1 mm\"", "limits.rail_tilt: \"1 mm\""),
        ("anchored = 1", "limits.anchored: is the number 1; expected true or false"),
        ("rail_stepp = 1", "did you mean \"rail_step\"?"),
    ] {
        let message = refusal(&edited("tilt = \"0.5 mm/m\"", to));
        assert!(message.contains(words), "{message}");
    }
    let limit = "allowed = [{ question = \"x\", quantity = \"load\", max = 1, in_motion = \"yes\" }]\nloss_factor = 0.1";
    let message = refusal(&edited("loss_factor = 0.1", limit));
    assert!(message.contains("allowed[0].in_motion: is the text \"yes\""), "{message}");
}

/// ASCE/SEI 7-16 (from memory), springs at grade: 0.4 2.5 SDS / 2 of the weight.
#[test]
fn the_acceleration_of_a_code_takes_the_place_of_one_that_is_entered() {
    let with = |limit: &str| format!("{SMALL}\n[limits.sideways]\n{}\n", limit.replace("; ", "\n"));
    let read = |limit: &str| Job::from_text(&with(limit), "job.toml");
    let acceleration = |limit| read(limit).unwrap().limits.sideways.unwrap().acceleration;
    assert_eq!(acceleration("seismic = { sds = 0.8 }"), 0.4);
    assert_eq!(acceleration("seismic = { sds = 0.8, gap = \"7 mm\" }"), 0.8);
    let roof = acceleration("seismic = { sds = 0.8, height_ratio = 1, importance = 1.5 }");
    assert!((roof - 1.8).abs() < 1e-15);
    let refused = |limit| read(limit).unwrap_err().to_string();
    let both = refused("acceleration = 0.1; seismic = { sds = 0.8 }");
    assert!(both.contains("sideways.seismic") && both.contains("leave one of them out"), "{both}");
    let high = refused("seismic = { sds = 0.8, height_ratio = 2 }");
    assert!(high.contains("height_ratio") && high.contains("at the roof"), "{high}");
    let none = refused("seismic = { height_ratio = 0 }");
    assert!(none.contains("seismic.sds: is missing; a plain ratio is required"), "{none}");
}
