//! `lift_off`, `stops` and `rule` of a `[[shock]]`: mounts that only push, stops that strike.

use crate::{SMALL, edited, read};
use underfoot::job::Job;
use underfoot::study::{ShockResult, Study};

/// The blow of the small job: upward, so large, with more keys.
fn blown(peak: &str, more: &str) -> String {
    edited("peak = \"100 kN\"", &format!("peak = \"{peak}\"\n{more}"))
        .replace("direction = \"-z\"", "direction = \"z\"")
}

fn shock(text: &str) -> ShockResult {
    Study::as_given(&read(text)).unwrap().results.shocks[0].clone()
}

fn refusal(text: &str) -> String {
    Job::from_text(text, "job.toml").unwrap_err().to_string()
}

#[test]
fn a_foot_that_lifts_carries_nothing_and_never_pulls() {
    let study = Study::as_given(&read(&blown("1500 kN", "lift_off = true"))).unwrap();
    let found = &study.results.shocks[0];
    let contacts = found.contacts.as_ref().expect("asked");
    assert!(!contacts.events.is_empty());
    let case = study.results.cases.iter().find(|c| c.name == found.case).unwrap();
    for (i, still) in case.statics.load.column(2).iter().enumerate() {
        let up = found.mount_force[3 * i + 2].max.value;
        // The force on the ground beyond that at rest: up by all it carried, and no more.
        assert!((up / still - 1.0).abs() < 1e-9, "{up} against {still}");
    }
    let bonded = shock(&blown("1500 kN", ""));
    assert!(bonded.contacts.is_none());
    for (i, still) in case.statics.load.column(2).iter().enumerate() {
        assert!(bonded.mount_force[3 * i + 2].max.value > 1.01 * still, "it would not lift");
    }
    assert_ne!(found.points[0].displacement.value, bonded.points[0].displacement.value);
    let told = |w: &&String| w.contains("changes of contact");
    assert_eq!(study.warnings.iter().filter(told).count(), 1);
}

#[test]
fn where_nothing_lifts_the_numbers_are_those_of_feet_that_stay() {
    let (loose, bonded) = (shock(&blown("20 kN", "lift_off = true")), shock(&blown("20 kN", "")));
    assert!(loose.contacts.as_ref().unwrap().events.is_empty());
    let both = loose.ground_wrench.iter().zip(&bonded.ground_wrench);
    for (a, b) in both.filter(|(_, b)| b.max.value > 1.0) {
        assert!((a.max.value / b.max.value - 1.0).abs() < 1e-9, "{} {}", a.max.value, b.max.value);
    }
    for (a, b) in loose.points.iter().zip(&bonded.points) {
        for (a, b) in [(&a.displacement, &b.displacement), (&a.velocity, &b.velocity)] {
            assert!((a.value / b.value - 1.0).abs() < 1e-9, "{} {}", a.value, b.value);
        }
    }
}

#[test]
fn stops_strike_without_lift_off_where_they_alone_are_asked_for() {
    let stop = "[[stop]]\nname = \"snubber\"\nposition = [0, 0, 2]\ndirection = \"z\"\ngap = \"0.5 mm\"\n\
                stiffness = \"100 kN/mm\"\n\n[[point]]";
    let with = |more: &str| blown("1500 kN", more).replacen("[[point]]", stop, 1);
    let struck = shock(&with("stops = true"));
    let events = &struck.contacts.as_ref().unwrap().events;
    assert!(events.iter().any(|e| e.part.contains("snubber")), "{events:?}");
    assert!(!events.iter().any(|e| e.part.contains("left")), "{events:?}");
    let free = shock(&with(""));
    assert!(struck.points[0].displacement.value < free.points[0].displacement.value);
}

#[test]
fn what_does_not_fit_together_is_named() {
    for (more, said) in [
        ("rule = \"geometric\"", "shock[0].rule: says when contacts touch: add lift_off"),
        ("lift_off = true\nevery = 1", "shock[0].every: stands beside lift_off or stops"),
        ("every = 0", "shock[0].every: 0 s"),
        ("lift_off = true\nstops = false", "shock[0].stops: strike wherever mounts lift off"),
        ("lift_off = \"yes\"", "true or false"),
        ("lift_off = true\nrule = \"soft\"", "shock[0].rule"),
    ] {
        let found = refusal(&blown("1500 kN", more));
        assert!(found.contains(said), "{said}: {found}");
    }
    assert!(Job::from_text(&SMALL.replace("100 kN", "90 kN"), "job.toml").is_ok());
}

#[test]
fn a_blow_that_comes_back_meets_what_the_last_one_left() {
    let peak = |more: &str| shock(&blown("100 kN", more)).points[0].displacement.value;
    let alone = peak("");
    // A fast press whose strokes add up, and one so slow that nothing is left.
    assert!(peak("every = \"0.25 s\"") > 1.02 * alone);
    assert!((peak("every = \"60 s\"") / alone - 1.0).abs() < 1e-9);
}
