//! A press from a few facts: what follows from them, what is assumed, what is refused.
//!
//! The factors are common practice, from memory: mass 12 to 20 kg/kN straight-side, 6 to 10
//! gap-frame; center of mass at 0.50 to 0.60, 0.45 to 0.52, 0.55 to 0.65 of the height; radius of
//! gyration 0.29 to 0.36 of the diagonal; slide 8 to 15 % of the mass.

use std::f64::consts::PI;

use underfoot::machine::estimate::{Assumption, HEAVIEST_DIE};
use underfoot::machine::{Facts, FirstAnswer, Practice, PressKind, first_answer};

fn facts(kind: PressKind) -> Facts {
    Facts {
        kind,
        tonnage: 4e6,
        mass: Some(62e3),
        outline: [3.6, 2.4, 5.2],
        stroke_rate: 40.0 / 60.0,
        stroke: 0.3,
        heaviest_die: 9e3,
    }
}

fn usual(facts: &Facts) -> underfoot::Result<FirstAnswer> {
    first_answer(facts, &Practice::of(facts.kind))
}

fn assumed<'a>(answer: &'a FirstAnswer, key: &str) -> &'a Assumption {
    answer.assumptions.iter().find(|a| a.key == key).unwrap_or_else(|| panic!("{key}"))
}

#[test]
fn a_straight_side_press_is_what_practice_says() {
    let answer = usual(&facts(PressKind::StraightSide)).unwrap();
    let body = &answer.body;
    assert_eq!(body.mass(), 62e3);
    assert!((body.center().z - 0.55 * 5.2).abs() < 1e-12 && body.center().y == 0.0);
    let gyration = (body.inertia()[(0, 0)] / 62e3).sqrt();
    assert!((gyration - 0.325 * 5.2f64.hypot(2.4)).abs() < 1e-12);
    let yaw = (body.inertia()[(2, 2)] / 62e3).sqrt();
    assert!((yaw - 0.325 * 3.6f64.hypot(2.4)).abs() < 1e-12);
    // m r omega^2 of the slide and half the die.
    let moving = 0.115 * 62e3 + 0.5 * 9e3;
    let force = moving * 0.15 * (2.0 * PI * 40.0 / 60.0).powi(2);
    assert!((answer.moving_mass / moving - 1.0).abs() < 1e-12);
    assert!((answer.slide_force / force - 1.0).abs() < 1e-12);
    assert_eq!(answer.die.map(|d| (d.name, d.mass)), Some((HEAVIEST_DIE.to_owned(), 9e3)));
}

#[test]
fn the_factor_of_gyration_of_a_box_is_that_of_a_box() {
    let mut practice = Practice::of(PressKind::StraightSide);
    practice.gyration.value = (1.0f64 / 12.0).sqrt();
    let answer = first_answer(&facts(PressKind::StraightSide), &practice).unwrap();
    let cuboid = underfoot::machine::Cuboid::new(
        62e3,
        [3.6, 2.4, 5.2],
        *answer.body.center(),
        nalgebra::Matrix3::identity(),
    );
    let cuboid = underfoot::machine::RigidBody::from_parts(&[underfoot::machine::Part::Box(
        cuboid.unwrap(),
    )])
    .unwrap();
    assert!((answer.body.inertia() - cuboid.inertia()).norm() < 1e-9 * cuboid.inertia().norm());
    // Practice says 0.29; a box has 0.2887.
    let low = Practice::of(PressKind::StraightSide).gyration.low;
    assert!((low - practice.gyration.value).abs() < 0.005);
}

#[test]
fn bands_are_those_of_practice_by_kind() {
    for (kind, mass, height) in [
        (PressKind::StraightSide, [12.0, 20.0], [0.50, 0.60]),
        (PressKind::GapFrame, [6.0, 10.0], [0.45, 0.52]),
        (PressKind::Hydraulic, [6.0, 14.0], [0.55, 0.65]),
    ] {
        let practice = Practice::of(kind);
        assert_eq!([practice.mass_per_kn.low, practice.mass_per_kn.high], mass);
        assert_eq!([practice.center_height.low, practice.center_height.high], height);
        assert_eq!([practice.slide_share.low, practice.slide_share.high], [0.08, 0.15]);
        assert_eq!([practice.gyration.low, practice.gyration.high], [0.29, 0.36]);
        assert_eq!(PressKind::from_name(kind.name()), Ok(kind));
        for assumption in practice.clone().all_mut() {
            assert!(assumption.low < assumption.value && assumption.value < assumption.high);
            assert!(!assumption.confirm.is_empty() && assumption.source == "common practice");
        }
    }
}

#[test]
fn a_mass_that_is_not_known_comes_from_the_tonnage_and_is_assumed() {
    let known = usual(&facts(PressKind::StraightSide)).unwrap();
    assert!(!known.assumptions.iter().any(|a| a.key == "mass_per_kN"));
    let unknown = usual(&Facts { mass: None, ..facts(PressKind::StraightSide) }).unwrap();
    assert_eq!(unknown.body.mass(), 16.0 * 4000.0);
    assert_eq!(assumed(&unknown, "mass_per_kN").unit, "kg/kN");
    let hydraulic = usual(&Facts { mass: None, ..facts(PressKind::Hydraulic) }).unwrap();
    assert_eq!(hydraulic.body.mass(), 10.0 * 4000.0);
}

#[test]
fn a_gap_frame_has_its_weight_behind_the_throat() {
    let answer = usual(&facts(PressKind::GapFrame)).unwrap();
    assert!((answer.body.center().y - 0.10 * 2.4).abs() < 1e-12);
    assert_eq!(assumed(&answer, "center_back").high, 0.15);
}

#[test]
fn without_die_nothing_is_assumed_of_it() {
    let answer = usual(&Facts { heaviest_die: 0.0, ..facts(PressKind::StraightSide) }).unwrap();
    assert_eq!(answer.die, None);
    assert!(!answer.assumptions.iter().any(|a| a.key.contains("die")));
}

#[test]
fn facts_that_cannot_be_are_refused_with_their_remedy() {
    let base = facts(PressKind::StraightSide);
    for (facts, words) in [
        (Facts { tonnage: 400.0, ..base.clone() }, ["tonnage = 400 N", "tonf"]),
        (Facts { tonnage: -1.0, ..base.clone() }, ["tonnage", "greater than zero"]),
        (Facts { mass: Some(0.0), ..base.clone() }, ["mass = 0 kg", "greater than zero"]),
        (Facts { outline: [3.6, 0.0, 5.2], ..base.clone() }, ["outline[1] = 0 m", "greater"]),
        (Facts { stroke: 0.0, ..base.clone() }, ["stroke = 0 m", "greater"]),
        (Facts { stroke_rate: 60.0, ..base.clone() }, ["stroke_rate = 60 Hz", "spm"]),
        (Facts { stroke_rate: f64::NAN, ..base.clone() }, ["stroke_rate", "finite"]),
        (Facts { heaviest_die: -1.0, ..base.clone() }, ["heaviest_die = -1 kg", "negative"]),
    ] {
        let text = usual(&facts).unwrap_err().to_string();
        assert!(words.iter().all(|w| text.contains(w)), "{text}");
    }
    let mut practice = Practice::of(base.kind);
    practice.center_height.value = 1.2;
    let text = first_answer(&base, &practice).unwrap_err().to_string();
    assert!(text.contains("center_height = 1.2: must be between 0 and 1"), "{text}");
    assert!(PressKind::from_name("screw").unwrap_err().to_string().contains("\"gap-frame\""));
}
