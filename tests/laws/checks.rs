//! Checks built from statics: the right mount, case, side and condition.

use nalgebra::{Matrix3, Vector3};
use underfoot::analysis::statics::{
    Envelope, Stability, StaticsOptions, envelope, stability, statics,
};
use underfoot::checks::{
    AMPLIFICATION_LIMIT, Verdict, dynamic_contact, dynamic_load, load_range, overall, rocking,
    stays_loaded, tilt,
};
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::{LoadRange, Mount};

fn machine(mass: f64, height: f64) -> Installation {
    let body = RigidBody::new(mass, Vector3::new(0.0, 0.0, height), Matrix3::identity() * mass);
    let names = [("a", -1.0, -0.5), ("b", 1.0, -0.5), ("c", 1.0, 0.5), ("d", -1.0, 0.5)];
    let mounts = names.map(|(name, x, y)| {
        Mount::new(Vector3::new(x, y, 0.0), [1e6, 1e6, 4e6]).unwrap().with_name(name)
    });
    Installation::new(body.unwrap(), mounts.to_vec()).unwrap()
}

/// Weight 40 kN alone, and with a moment that shifts 4 kN from mounts a, b to c, d each.
fn two_cases() -> Envelope {
    let machine = machine(40e3 / 9.80665, 1.0);
    let case = |moment: f64| {
        let mut load = machine.weight_of(&machine.body);
        load[3] = moment;
        statics(&machine.system(), &load, &StaticsOptions::default()).unwrap()
    };
    envelope(&[("idle".into(), case(0.0)), ("die".into(), case(-8e3))]).unwrap()
}

fn rocking_of(height: f64) -> [Stability; 2] {
    let machine = machine(40e3 / 9.80665, height);
    let load = machine.weight_of(&machine.body);
    let found = statics(&machine.system(), &load, &StaticsOptions::default()).unwrap();
    stability(&machine.system(), &found).unwrap()
}

#[test]
fn each_stated_limit_is_one_check_with_its_governing_case() {
    let ranges = [
        LoadRange::new(Some(7e3), Some(12e3), None).unwrap(),
        LoadRange::default(),
        LoadRange::new(None, Some(13e3), None).unwrap(),
        LoadRange::new(Some(10e3 - 1.0), None, None).unwrap(),
    ];
    let checks = load_range(&two_cases(), &ranges).unwrap();
    assert_eq!(checks.len(), 4);
    let least = &checks[0];
    assert_eq!(least.question, "least static load of mount a");
    assert_eq!((least.governing_case.as_str(), &least.verdict), ("die", &Verdict::No));
    assert!((least.demand - 6e3).abs() < 1e-6 && (least.margin + 1.0 / 7.0).abs() < 1e-9);
    assert_eq!((checks[1].governing_case.as_str(), &checks[1].verdict), ("idle", &Verdict::Ok));
    assert_eq!((checks[2].governing_case.as_str(), &checks[2].verdict), ("die", &Verdict::No));
    assert_eq!((checks[3].governing_case.as_str(), &checks[3].verdict), ("idle", &Verdict::Ok));
    assert_eq!(overall(&checks).unwrap().governing, 0);
    assert!(load_range(&two_cases(), &ranges[..3]).is_err());
}

#[test]
fn a_mount_in_tension_fails_to_stay_loaded() {
    let fine = stays_loaded(&two_cases()).unwrap();
    assert!(fine.iter().all(|check| check.verdict == Verdict::Ok));
    let machine = machine(40e3 / 9.80665, 1.0);
    let mut load = machine.weight_of(&machine.body);
    load[3] = -24e3;
    let found = statics(&machine.system(), &load, &StaticsOptions::default()).unwrap();
    let all = envelope(&[("crane".into(), found)]).unwrap();
    let verdicts: Vec<Verdict> =
        stays_loaded(&all).unwrap().into_iter().map(|check| check.verdict).collect();
    assert_eq!(verdicts, [Verdict::No, Verdict::No, Verdict::Ok, Verdict::Ok]);
}

#[test]
fn rocking_is_plain_conditional_or_refused_by_its_ratio() {
    // k_theta about x is 16e6 x 0.25 = 4e6 N m/rad, so the ratio is height / 100 m.
    let verdict = |height: f64| {
        rocking(&rocking_of(height), AMPLIFICATION_LIMIT, "idle").unwrap()[0].verdict.clone()
    };
    assert_eq!(verdict(9.0), Verdict::Ok);
    let Verdict::OkIf(condition) = verdict(12.8) else { panic!("12.8 m is not conditional") };
    assert!(condition.starts_with("tilts 15 % larger about x are accepted"), "{condition}");
    assert_eq!(verdict(101.0), Verdict::No);
    assert!(rocking(&rocking_of(1.0), 1.0, "").is_err());
}

#[test]
fn tilt_and_dynamic_load_are_measured_against_their_limits() {
    let all = two_cases();
    // 8 kN m on 4e6 N m/rad.
    let checks = tilt(&all, 1.9e-3, "common practice").unwrap();
    assert!((checks[0].demand - 2e-3).abs() < 1e-12);
    assert_eq!((checks[0].governing_case.as_str(), &checks[0].verdict), ("die", &Verdict::No));
    assert_eq!(checks[1].verdict, Verdict::Ok);
    assert!(tilt(&all, 0.0, "").is_err());

    let ranges = [LoadRange::new(None, None, Some(16e3)).unwrap(); 4];
    let peaks = [1e3, 6.5e3, 1.9e3, 2.1e3];
    let checks = dynamic_load(&all, &peaks, &ranges, "break-through").unwrap();
    let verdicts: Vec<&Verdict> = checks.iter().map(|check| &check.verdict).collect();
    assert_eq!(verdicts, [&Verdict::Ok, &Verdict::No, &Verdict::Ok, &Verdict::No]);
    assert_eq!(checks[3].governing_case, "die + break-through");
    assert_eq!(checks[1].governing_case, "idle + break-through");
    assert!(dynamic_load(&all, &[-1.0; 4], &ranges, "").is_err());

    let checks = dynamic_contact(&all, &[5.9e3, 6.1e3, 9.9e3, 10.1e3], "emergency stop").unwrap();
    let verdicts: Vec<&Verdict> = checks.iter().map(|check| &check.verdict).collect();
    assert_eq!(verdicts, [&Verdict::Ok, &Verdict::No, &Verdict::Ok, &Verdict::No]);
}
