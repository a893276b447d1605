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

/// The small job with an event in place of its shock, computed.
fn event(section: &str) -> ShockResult {
    let study = Study::as_given(&read(&format!("{SMALL}\n{section}\n"))).unwrap();
    study.results.shocks.last().unwrap().clone()
}

/// The force on the ground beyond that at rest: up by all the foot carried, and no more.
fn assert_each_foot_is_bare_at_the_most(found: &ShockResult) {
    let study = Study::as_given(&read(SMALL)).unwrap();
    let case = study.results.cases.iter().find(|c| c.name == found.case).unwrap();
    for (i, still) in case.statics.load.column(2).iter().enumerate() {
        let up = found.mount_force[3 * i + 2].max.value;
        assert!((up / still - 1.0).abs() < 1e-9, "{up} against {still}");
    }
}

#[test]
fn a_blow_lifts_feet_off_where_that_is_asked_for() {
    let blow = |speed: &str, more: &str| {
        event(&format!(
            "[[blow]]\nname = \"ram\"\nmass = \"800 kg\"\nspeed = \"{speed}\"\nrestitution = 0.4\n\
             direction = \"z\"\n{more}"
        ))
    };
    let loose = blow("20 m/s", "lift_off = true");
    assert!(!loose.contacts.as_ref().unwrap().events.is_empty());
    assert_each_foot_is_bare_at_the_most(&loose);
    let bonded = blow("20 m/s", "");
    assert!(bonded.contacts.is_none());
    assert_ne!(loose.points[0].displacement.value, bonded.points[0].displacement.value);
    let (small, stays) = (blow("0.2 m/s", "lift_off = true"), blow("0.2 m/s", ""));
    assert!(small.contacts.as_ref().unwrap().events.is_empty());
    for (a, b) in small.points.iter().zip(&stays.points) {
        assert!((a.displacement.value / b.displacement.value - 1.0).abs() < 1e-9);
    }
}

#[test]
fn a_force_as_a_record_lifts_feet_as_the_same_force_in_closed_form_does() {
    let recorded = event(
        "[[record]]\nname = \"cut\"\nquantity = \"force\"\ndirection = \"z\"\nunit = \"kN\"\n\
         interval = \"10 ms\"\nvalues = [0, 1500, 0]\nlift_off = true",
    );
    let drawn = event(
        "[[shock]]\nname = \"cut\"\npulse = \"triangular\"\npeak = \"1500 kN\"\nduration = \"20 ms\"\n\
         direction = \"z\"\nlift_off = true",
    );
    assert!(!recorded.contacts.as_ref().unwrap().events.is_empty());
    // It has one source: what comes from that is the whole.
    assert_eq!(recorded.sources[0].1, recorded.ground_wrench);
    for (a, b) in recorded.ground_wrench.iter().zip(&drawn.ground_wrench) {
        let size = b.max.value.abs().max(b.min.value.abs()).max(1.0);
        assert!((a.max.value - b.max.value).abs() < 1e-8 * size, "{a:?} {b:?}");
        assert!((a.min.value - b.min.value).abs() < 1e-8 * size, "{a:?} {b:?}");
    }
}

#[test]
fn a_drive_follows_contacts_from_rest_and_says_where_it_does_not() {
    let job =
        read(&underfoot::job::template().replace(
            "\n[drive_train]\n",
            "\n[drive_train]\nlift_off = true\nrule = \"geometric\"\n",
        ));
    let of = |name: &str| job.events.iter().find(|e| e.name == name).unwrap();
    let told = |name: &str| of(name).notes.iter().any(|n| n.contains("begins in steady running"));
    assert!(of("start of the drive").contacts.is_some() && !told("start of the drive"));
    let stop = "emergency stop of the drive";
    assert!(of(stop).contacts.is_none() && told(stop));
}

#[test]
fn what_cannot_lift_feet_does_not_take_the_key() {
    let floor = "[[floor_shock]]\nname = \"f\"\npulse = \"half_sine\"\npeak = \"1 m/s^2\"\n\
                 duration = \"10 ms\"\ndirection = \"z\"\nlift_off = true";
    let found = refusal(&format!("{SMALL}\n{floor}"));
    assert!(found.contains("\"lift_off\" is not a key here"), "{found}");
}
