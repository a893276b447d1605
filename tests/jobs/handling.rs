//! Job files with dies, a rolling bolster, a crane, a cart, a brake, and of a few facts.

use underfoot::checks::Verdict;
use underfoot::job::{Job, template, template_of_facts};
use underfoot::study::Study;

use crate::{SMALL, edited, read};

/// What stands at the end of the small job.
fn with(sections: &str) -> String {
    format!("{SMALL}\n{sections}")
}

fn refused(text: &str, words: &[&str]) {
    let message = match Job::from_text(text, "job.toml") {
        Ok(_) => panic!("must be refused: {words:?}\n{text}"),
        Err(error) => error.to_string(),
    };
    for word in words {
        assert!(message.contains(word), "{word:?} in {message}");
    }
    assert!(message.starts_with("job.toml:"), "{message}");
}

const DIE: &str = "[[die]]\nname = \"A\"\nmass = \"2 t\"\ncenter = [0, 0, 1]\n";
const RAILS: &str = "[[point]]\nname = \"rail\"\nat = [0, -1, 0.8]\n";
const BOLSTER: &str = "[bolster]\nmass = \"1 t\"\ncenter = [0, 0, 1]\ndirection = \"-y\"\n\
                       travel = 3\nwheel_base = 1\nrails = [\"rail\"]\n";
const BRAKE: &str = "[[emergency_stop]]\nname = \"E\"\ninertia = 500\nspeed = \"50 spm\"\n\
                     brake_time = 0.1\naxis = \"x\"\n";

fn facts(old: &str, new: &str) -> String {
    let text = template_of_facts();
    assert_eq!(text.matches(old).count(), 1, "{old}");
    text.replace(old, new)
}

#[test]
fn dies_make_load_cases_under_their_names() {
    let off = "off_center = [0.2, 0, 0]\n";
    let text = with(&format!(
        "{DIE}{off}\n[[die]]\nname = \"B\"\nmass = 500\ncenter = [0, 0, 1]\nmounted = true\n"
    ));
    let job = read(&text);
    let names: Vec<_> = job.installation.cases.iter().map(|c| c.name.as_str()).collect();
    assert_eq!(names, ["die", "without die", "A", "A off center"]);
    let mass = |i: usize| job.installation.cases[i].body.mass();
    assert_eq!([mass(1), mass(2), mass(3)], [9500.0, 11_500.0, 11_500.0]);
    assert!(job.cautions.iter().any(|c| c.contains("nobody under a load")));
    assert!(read(SMALL).cautions.is_empty());
}

#[test]
fn bad_dies_are_refused_where_they_stand() {
    let text = |from: &str, to: &str| with(&DIE.replace(from, to));
    refused(&text("\"2 t\"", "0"), &["die[0].mass", "greater than zero"]);
    refused(&text("name = \"A\"", "name = \"die\""), &["die[0].name", "case[0]"]);
    refused(
        &text("center = [0, 0, 1]", "center = [0, 0, 1]\nmounted = true\nmass2 = 1"),
        &["mass2"],
    );
    let heavy = text("\"2 t\"", "\"12 t\"\nmounted = true");
    refused(&heavy, &["die[0].mass", "12000 kg", "10000 kg"]);
    let both = DIE.to_owned() + "mounted = true\n" + &DIE.replace('A', "B") + "mounted = true\n";
    refused(&with(&both), &["die[1].mounted", "\"A\" is mounted already"]);
}

#[test]
fn a_bolster_leaves_with_its_die_from_the_case_in_which_that_is_in() {
    let job = read(&with(&format!("{RAILS}{DIE}{BOLSTER}die = \"A\"\n")));
    let steps: Vec<_> =
        job.steps.iter().map(|s| (s.point.as_str(), s.from.as_str(), s.to.as_str())).collect();
    assert!(steps.contains(&("rail", "A", "bolster out")), "{steps:?}");
    assert!(steps.contains(&("rail", "A", "bolster half way")), "{steps:?}");
    let out = job.installation.cases.iter().find(|c| c.name == "bolster out").unwrap();
    assert_eq!(out.body.mass(), 9000.0);
    let study = Study::of(&job).unwrap();
    let step = study.results.rail_steps.iter().find(|s| s.to == "bolster out").unwrap();
    let figure = study.figures.iter().find(|f| f.name == "rail step of rail, bolster out").unwrap();
    assert_eq!(figure.value, step.rise);
    assert!(step.rise > 0.0);
}

#[test]
fn bad_bolsters_are_refused_where_they_stand() {
    let text = |from: &str, to: &str| with(&format!("{RAILS}{}", BOLSTER.replace(from, to)));
    refused(&text("travel = 3", "travel = 0"), &["bolster.travel", "0 m", "greater than zero"]);
    refused(&text("travel = 3", ""), &["bolster.travel", "required"]);
    refused(&text("wheel_base = 1", "wheel_base = 3"), &["bolster.rails", "when it is in"]);
    refused(&text("\"-y\"", "\"z\""), &["bolster.direction", "horizontal"]);
    refused(&text("[\"rail\"]", "[\"rial\"]"), &["bolster.rails[0]", "did you mean \"rail\"?"]);
    refused(&text("[\"rail\"]", "[]"), &["bolster.rails", "at least one point"]);
    refused(&text("mass = \"1 t\"", "mass = \"11 t\""), &["bolster.mass", "11000 kg"]);
    refused(&text("travel = 3", "travel = 3\ndie = \"B\""), &["bolster.die", "no [[die]]"]);
}

#[test]
fn a_set_down_without_a_factor_assumes_one_with_a_band() {
    let job = read(&with(&format!("{DIE}[[set_down]]\ndie = \"A\"\n")));
    let factor = job.input("set_down[0].impact_factor").unwrap();
    assert_eq!((factor.value, factor.low, factor.high), (1.75, Some(1.5), Some(2.0)));
    assert!(factor.assumed && factor.confirm.is_some());
    assert_eq!(factor.label, "A set down: impact factor");
    let case = job.installation.cases.iter().find(|c| c.name == "A set down").unwrap();
    assert_eq!(case.loads[0].force.z, -0.75 * 2000.0 * 9.81);
    let text =
        |factor: &str| with(&format!("{DIE}[[set_down]]\ndie = \"A\"\nimpact_factor = {factor}\n"));
    refused(&text("0.5"), &["set_down[0].impact_factor", "at least 1"]);
    refused(&with("[[set_down]]\nname = \"x\"\n"), &["set_down[0].die", "required"]);
}

#[test]
fn a_cart_needs_something_to_do() {
    let cart = |keys: &str| with(&format!("{DIE}[[cart]]\nname = \"C\"\nat = [0, -1, 1]\n{keys}"));
    let job = read(&cart("die = \"A\"\nshare = 0.5\n"));
    assert_eq!(job.installation.cases.last().map(|c| c.body.mass()), Some(11_000.0));
    refused(&cart(""), &["cart[0].push", "must push"]);
    refused(&cart("die = \"A\"\n"), &["cart[0].share", "required"]);
    refused(&cart("die = \"A\"\nshare = 1.5\n"), &["cart[0].share", "at most 1"]);
    refused(&cart("share = 0.5\n"), &["cart[0].share", "which die"]);
    refused(&with("[[cart]]\nname = \"C\"\npush = [1, 0, 0]\n"), &["cart[0].at", "required"]);
}

#[test]
fn an_emergency_stop_is_a_shock_of_a_moment_and_on_request_a_load_case() {
    let job = read(&with(&format!("{BRAKE}case = \"die\"\nstatic_factor = 2\n")));
    let shock = job.shocks.last().unwrap();
    let torque = 500.0 * std::f64::consts::TAU * 50.0 / 60.0 / 0.1;
    assert!(shock.moment && (shock.pulse.peak() / torque - 1.0).abs() < 1e-14);
    let case = job.installation.cases.last().unwrap();
    assert_eq!(case.name, "E (static equivalent)");
    assert!((case.loads[0].moment.x / (2.0 * torque) - 1.0).abs() < 1e-14);
    let text = |from: &str, to: &str| with(&BRAKE.replace(from, to));
    refused(
        &text("brake_time = 0.1", "brake_time = 0"),
        &["brake_time", "0 s", "greater than zero"],
    );
    refused(&text("inertia = 500", "inertia = -5"), &["inertia", "-5 kg m^2"]);
    refused(&text("axis = \"x\"", "axis = [1, 1, 0]"), &["axis", "unit vector"]);
    refused(&text("name = \"E\"", "name = \"hit\"\ncase = \"dye\""), &["did you mean \"die\"?"]);
    refused(&with(&format!("{BRAKE}static_factor = 0\n")), &["static_factor", "greater than zero"]);
}

#[test]
fn a_shock_has_a_force_or_a_moment() {
    let moment = |to: &str| edited("direction = \"-z\"", to);
    let at = edited("direction = \"-z\"", "moment = \"x\"")
        .replace("peak = \"100 kN\"", "peak = \"2 kN m\"");
    refused(&at, &["shock[0].at", "whole machine"]);
    refused(&moment("direction = \"-z\"\nmoment = \"x\""), &["shock[0].moment", "not both"]);
    refused(&moment(""), &["shock[0].direction", "required"]);
    refused(&moment("moment = \"x\""), &["shock[0].peak", "moment is expected"]);
}

#[test]
fn few_facts_give_a_first_answer_and_name_what_to_ask_for() {
    let study = Study::of(&read(template_of_facts())).unwrap();
    assert_eq!(study.asks[0].label, "mass over tonnage, kg/kN");
    assert!(study.asks.is_sorted_by(|a, b| a.reach >= b.reach));
    assert!(study.asks[0].flips && study.asks[0].reach > 1.0, "{:?}", study.asks[0]);
    let summary = study.summary();
    assert!(summary.contains("Ask the client for: 1. mass over tonnage, kg/kN (assumed 12.0 ... 20.0), which alone turns"), "{summary}");
    assert!(matches!(study.overall.as_ref().map(|o| &o.verdict), Some(Verdict::OkIf(_))));
    for key in
        ["mass_per_kN", "center_height", "gyration", "slide_share", "upper_die_share", "die_height"]
    {
        let input = study.inputs.iter().find(|i| i.path == format!("machine.facts.{key}")).unwrap();
        assert!(input.assumed && input.is_banded() && input.confirm.is_some(), "{key}");
        assert!(summary.contains(&format!("| {} ", input.label)), "{key}");
    }
    // Slide and half the die: the slow slide passes the mounts.
    let force = study
        .figures
        .iter()
        .find(|f| f.name.starts_with("slide inertia") && f.name.contains("along z"))
        .unwrap();
    let slide = (0.115 * 16.0 * 400.0 * 2000.0 * 4.4482216152605e-3 + 4500.0)
        * 0.15
        * (std::f64::consts::TAU / 1.5).powi(2);
    assert!(force.value > slide && force.value < 1.1 * slide, "{} {slide}", force.value);
}

#[test]
fn an_input_that_is_given_is_no_longer_asked_for() {
    let known = facts("# mass = \"62 t\" ", "mass = { value = \"62 t\", source = \"nameplate\" } ");
    let study = Study::of(&read(&known)).unwrap();
    assert!(study.asks.iter().all(|a| !a.label.starts_with("mass over")));
    // The verdict that hung on it is plain now.
    assert_eq!(study.overall.map(|o| o.verdict), Some(Verdict::Ok));
}

#[test]
fn the_reach_of_an_input_is_the_part_of_the_way_to_its_limit() {
    // Each foot carries a quarter of the weight: mass 16 to 20 kg/kN of 400 short tons and 9 t die.
    let study = Study::of(&read(template_of_facts())).unwrap();
    let tonnage = 400.0 * 2000.0 * 4.4482216152605;
    let load = |factor: f64| 0.25 * (factor * 1e-3 * tonnage + 9000.0) * 9.80665;
    let reach = (load(20.0) - load(16.0)) / (190e3 - load(16.0));
    assert!((study.asks[0].reach / reach - 1.0).abs() < 1e-9, "{} {reach}", study.asks[0].reach);
}

#[test]
fn tons_say_which_tons_they_are() {
    let mass = |tonnage: &str| {
        let job = read(&facts("\"400 tonf\"", tonnage));
        job.installation.body.mass()
    };
    let short = 16.0 * 400.0 * 2000.0 * 4.4482216152605e-3;
    let metric = 16.0 * 400.0 * 9.80665;
    for (text, expected) in [
        ("\"400 tonf\"", short),
        ("\"400 short_ton\"", short),
        ("\"400 tf\"", metric),
        ("{ value = \"400 t\", source = \"nameplate\" }", metric),
        ("\"4000 kN\"", 64e3),
        ("4e6", 64e3),
    ] {
        assert!((mass(text) / expected - 1.0).abs() < 1e-12, "{text}");
    }
    refused(&facts("\"400 tonf\"", "400"), &["machine.facts.tonnage", "400 N", "tonf"]);
    refused(&facts("\"400 tonf\"", "\"400 tons\""), &["machine.facts.tonnage", "tonf"]);
}

#[test]
fn bad_facts_are_refused_where_they_stand() {
    refused(&facts("\"straight-side\"", "\"straight\""), &["machine.facts.kind", "straight-side"]);
    refused(
        &facts("stroke = \"300 mm\"", "stroke = 0"),
        &["machine.facts.stroke", "greater than zero"],
    );
    refused(
        &facts("stroke_rate = \"40 spm\"", "stroke_rate = 60"),
        &["machine.facts.stroke_rate", "spm"],
    );
    refused(
        &facts("# center_height = 0.55", "center_height = 1.55"),
        &["machine.facts.center_height", "between 0 and 1"],
    );
    refused(
        &facts("# mass = \"62 t\" ", "mass = \"62 t\"\nmass_per_kN = 16 "),
        &["mass_per_kN", "not both"],
    );
    refused(&facts("# center_back", "center_back"), &["center_back", "is not a key here"]);
    let both = facts("[machine.facts]", "mass = 5\n[machine.facts]");
    refused(&both, &["machine.facts", "give either facts, or mass"]);
}

#[test]
fn every_key_of_the_facts_stands_in_their_template() {
    let broken = facts("stroke = \"300 mm\"", "stroke = \"300 mm\"\nzzz = 1")
        .replace("straight-side", "gap-frame");
    let message = Job::from_text(&broken, "job.toml").unwrap_err().to_string();
    let (_, allowed) = message.split_once("allowed: ").unwrap();
    for key in allowed.split(", ") {
        assert!(template_of_facts().contains(&format!("{key} = ")), "{key}");
    }
    assert!(template().contains("[machine.facts]"));
}
