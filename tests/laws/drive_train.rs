//! Drive trains: what the frame feels is the momentum that rotors and slide lose.

use approx::assert_relative_eq;
use nalgebra::{Vector3, Vector6};
use std::f64::consts::{FRAC_PI_2, TAU};
use underfoot::excitation::slide::{Crank, Rotation};
use underfoot::excitation::{
    Action, Before, DriveEvent, DriveMotion, DriveTrain, Excitation, Rotor, Side, SlideDrive,
    Source,
};

const SPEED: f64 = 50.0 / 60.0;

fn slide() -> SlideDrive {
    let crank = Crank::new(0.12, 0.7, 0.01).unwrap();
    let mut drive = SlideDrive::crank(3000.0, crank).unwrap();
    drive.upper_die_mass = 900.0;
    drive.rod_mass = 400.0;
    drive.at = Vector3::new(0.1, 0.05, 2.6);
    drive.checked().unwrap()
}

fn rotor(name: &str, inertia: f64, ratio: f64, side: Side) -> Rotor {
    Rotor::new(name, inertia, ratio, side).unwrap()
}

/// Motor, flywheel, an intermediate shaft that turns the other way, and the crank with its gear.
fn geared(slide: Option<SlideDrive>) -> DriveTrain {
    let rotors = vec![
        rotor("motor", 2.0, 30.0, Side::Driving),
        rotor("flywheel", 90.0, -6.0, Side::Driving),
        rotor("pinion shaft", 4.0, -6.0, Side::Driven),
        rotor("crank and gear", 700.0, 1.0, Side::Driven),
    ];
    DriveTrain::new(Vector3::y(), SPEED, rotors, slide).unwrap()
}

fn all_events() -> Vec<DriveEvent> {
    vec![
        DriveEvent::Start { clutch_time: 0.25, torque_rise: 0.05 },
        DriveEvent::Stop { brake_time: 0.2, torque_rise: 0.0, angle: Some(FRAC_PI_2) },
        DriveEvent::Stop { brake_time: 0.3, torque_rise: 0.1, angle: None },
        DriveEvent::Inch {
            speed_share: 0.1,
            clutch_time: 0.05,
            brake_time: 0.04,
            pause: 0.3,
            count: 3,
        },
    ]
}

/// Integral of what acts on the frame about a point up to a time, by a fine trapezoid rule on each segment.
fn impulse(actions: &[Action], point: &Vector3<f64>, until: f64) -> Vector6<f64> {
    let mut sum = Vector6::zeros();
    for action in actions {
        let unit = Vector6::from_row_slice(&action.about(point));
        for segment in &action.segments {
            let Some(part) = segment.part(0.0, until) else { continue };
            let steps = 64;
            let h = (part.end - part.start) / f64::from(steps);
            // Simpson's rule.
            let area: f64 = (0..=steps)
                .map(|i| {
                    let weight = match i {
                        0 => 1.0,
                        _ if i == steps => 1.0,
                        _ if i % 2 == 1 => 4.0,
                        _ => 2.0,
                    };
                    weight * part.value(part.start + h * f64::from(i))
                })
                .sum();
            sum += unit * (area * h / 3.0);
        }
    }
    sum
}

#[test]
fn the_frame_gets_all_the_momentum_that_rotors_and_slide_lose() {
    let drive = geared(Some(slide()));
    let slide = drive.slide.clone().unwrap();
    let driven: f64 = 700.0 - 6.0 * 4.0;
    for event in all_events() {
        let motion = drive.motion(&event).unwrap();
        assert!(motion.error < 2e-12);
        let moments: Vec<Action> = motion
            .excitation
            .actions
            .iter()
            .filter(|a| a.source == Source::StartStop)
            .cloned()
            .collect();
        let slides: Vec<Action> = motion
            .excitation
            .actions
            .iter()
            .filter(|a| a.source == Source::SlideInertia)
            .cloned()
            .collect();
        let first = motion.crank[0];
        for now in &motion.crank[1..] {
            let [t, theta, omega, _] = *now;
            // The slide's momentum, and its moment about its own point.
            let lost = slide.momentum(first[1], first[2]) - slide.momentum(theta, omega);
            let got = impulse(&slides, &slide.at, t);
            assert_relative_eq!(got, lost, epsilon = 1e-8 * slide.momentum(FRAC_PI_2, 5.0).amax());
            if matches!(event, DriveEvent::Stop { .. }) {
                // The brake is grounded in the frame: all that the driven rotors had.
                let got = impulse(&moments, &Vector3::zeros(), t)[4];
                assert_relative_eq!(got, driven * (first[2] - omega), max_relative = 1e-9);
            }
        }
    }
}

#[test]
fn while_the_clutch_slips_energy_and_momentum_of_the_flywheel_pay_for_the_start() {
    // Straight on the flywheel, with a slide: the frame gets back the slide's torque alone.
    let rotors = vec![
        rotor("flywheel", 900.0, 1.0, Side::Driving),
        rotor("crank", 700.0, 1.0, Side::Driven),
    ];
    let drive = DriveTrain::new(Vector3::y(), SPEED, rotors, Some(slide())).unwrap();
    let event = DriveEvent::Start { clutch_time: 0.25, torque_rise: 0.05 };
    let motion = drive.motion(&event).unwrap();
    let slide = drive.slide.clone().unwrap();
    for t in [0.01, 0.06, 0.13, 0.249] {
        let at = |i: usize| motion.crank[i];
        let piece = usize::from(t >= at(1)[0]);
        let [from, theta, omega, alpha] = at(piece);
        let jerk = (at(1)[3] - at(0)[3]) / at(1)[0] * if piece == 0 { 1.0 } else { 0.0 };
        let tau = t - from;
        let (theta, omega, alpha) = (
            theta + omega * tau + alpha * tau * tau / 2.0 + jerk * tau.powi(3) / 6.0,
            omega + alpha * tau + jerk * tau * tau / 2.0,
            alpha + jerk * tau,
        );
        let torque: f64 = motion
            .excitation
            .actions
            .iter()
            .filter(|a| a.source == Source::StartStop)
            .map(|a| a.moment.y * a.value(t))
            .sum();
        let by_slide = slide.slide_mass()
            * slide.velocity(theta, 1.0)
            * slide.acceleration(theta, omega, alpha);
        assert_relative_eq!(torque, by_slide, epsilon = 1e-7 * by_slide.abs().max(100.0));
    }
}

#[test]
fn a_clutch_straight_on_the_flywheel_gives_the_frame_no_torque() {
    for inertia in [30.0, 900.0, 1e6] {
        let rotors = vec![
            rotor("flywheel", inertia, 1.0, Side::Driving),
            rotor("crank", 4200.0, 1.0, Side::Driven),
        ];
        let drive = DriveTrain::new(Vector3::y(), SPEED, rotors, None).unwrap();
        let event = DriveEvent::Start { clutch_time: 0.2, torque_rise: 0.0 };
        let motion = drive.motion(&event).unwrap();
        let slipping = 4200.0 * TAU * SPEED / 0.2;
        assert!(motion.excitation.actions[0].value(0.1).abs() < 1e-12 * slipping);
    }
}

#[test]
fn a_brake_on_the_frame_gives_all_of_the_torque() {
    let rotors = vec![
        rotor("flywheel", 3000.0, -7.0, Side::Driving),
        rotor("crank", 4200.0, 1.0, Side::Driven),
    ];
    let drive = DriveTrain::new(Vector3::y(), SPEED, rotors, None).unwrap();
    let event = DriveEvent::Stop { brake_time: 0.1, torque_rise: 0.0, angle: None };
    let motion = drive.motion(&event).unwrap();
    assert_relative_eq!(
        motion.excitation.actions[0].value(0.05),
        4200.0 * TAU * SPEED / 0.1,
        max_relative = 1e-14
    );
    assert_eq!(motion.excitation.actions[0].value(0.1), 0.0);
    assert_eq!(motion.end, 0.1);
    // With a torque that rises at first the same momentum is lost, at a higher torque.
    let event = DriveEvent::Stop { brake_time: 0.1, torque_rise: 0.04, angle: None };
    let slow = drive.motion(&event).unwrap();
    assert_relative_eq!(
        slow.excitation.actions[0].value(0.09),
        4200.0 * TAU * SPEED / 0.08,
        max_relative = 1e-13
    );
    assert_relative_eq!(slow.crank.last().unwrap()[2], 0.0, epsilon = 1e-12);
}

#[test]
fn gears_add_or_cancel_by_their_sense_of_rotation() {
    let start = |ratio: f64| -> f64 {
        let rotors = vec![
            rotor("flywheel", 90.0, ratio, Side::Driving),
            rotor("crank", 700.0, 1.0, Side::Driven),
        ];
        let drive = DriveTrain::new(Vector3::y(), SPEED, rotors, None).unwrap();
        let event = DriveEvent::Start { clutch_time: 0.2, torque_rise: 0.0 };
        drive.motion(&event).unwrap().excitation.actions[0].value(0.1)
    };
    let alpha = TAU * SPEED / 0.2;
    // The flywheel loses 1/ratio of what the crank gains.
    assert_relative_eq!(start(6.0), -700.0 * alpha * (1.0 - 1.0 / 6.0), max_relative = 1e-13);
    assert_relative_eq!(start(-6.0), -700.0 * alpha * (1.0 + 1.0 / 6.0), max_relative = 1e-13);
}

#[test]
fn a_stop_begins_in_steady_running_and_a_stop_without_angle_ends_at_the_top() {
    let drive = geared(Some(slide()));
    let stop = DriveEvent::Stop { brake_time: 0.2, torque_rise: 0.0, angle: None };
    let DriveMotion { excitation, crank, .. } = drive.motion(&stop).unwrap();
    let Excitation { before, actions, .. } = excitation;
    let Before { actions: earlier, period } = before.unwrap();
    assert_relative_eq!(period, 1.0 / SPEED);
    let slide = drive.slide.clone().unwrap();
    let top = slide.top_dead_center();
    let end = crank.last().unwrap()[1];
    assert!((end - top).rem_euclid(TAU).min((top - end).rem_euclid(TAU)) < 1e-9);
    // The slide's force goes on from the running before, but for the jump of the brake's torque.
    let alpha = -TAU * SPEED / 0.2;
    let up = |all: &[Action], t: f64| -> f64 { all.iter().map(|a| a.force.z * a.value(t)).sum() };
    let jump = up(&actions, 0.0) - up(&earlier, 0.0);
    let begin = crank[0];
    let expected = slide.inertia_wrench(begin[1], begin[2], alpha)
        - slide.inertia_wrench(begin[1], begin[2], 0.0);
    assert_relative_eq!(jump, expected[2], epsilon = 1e-7 * expected[2].abs().max(1.0));
}

#[test]
fn a_crank_that_sticks_lets_the_flywheel_turn_the_frame() {
    let drive = geared(Some(slide()));
    let stick = DriveEvent::Stick { stop_time: 0.03, clutch_torque: 50e3, slip_time: 0.4 };
    let motion = drive.motion(&stick).unwrap();
    // J_f / R_f of motor and flywheel.
    let share = (2.0 * 30.0 - 6.0 * 90.0) / (2.0 * 900.0 + 90.0 * 36.0);
    assert_relative_eq!(
        motion.excitation.actions[0].value(0.2),
        50e3 * share,
        max_relative = 1e-13
    );
    let free = DriveEvent::Free { clutch_torque: 50e3, rise: 0.1, hold: 0.2 };
    let motion = drive.motion(&free).unwrap();
    assert_relative_eq!(
        motion.excitation.actions[0].value(0.05),
        -25e3 * share,
        max_relative = 1e-13
    );
    assert_relative_eq!(
        motion.excitation.actions[0].value(0.2),
        -50e3 * share,
        max_relative = 1e-13
    );
    assert_eq!(motion.excitation.actions[0].value(0.31), 0.0);
}

#[test]
fn a_servo_drive_turns_the_frame_by_all_its_rotors() {
    let drive = geared(Some(slide()));
    // Slow through the bottom, fast back: one turn.
    let knots = [[0.0, 0.5], [0.5, 0.5], [0.7, 1.0], [1.0, 1.0], [1.1, 0.5], [1.25, 0.5]];
    let turned: f64 =
        knots.windows(2).map(|p| (p[1][0] - p[0][0]) * (p[0][1] + p[1][1]) / 2.0).sum();
    let knots = knots.map(|[t, f]| [t, f / turned]);
    let before = drive.servo(&knots, 0.0).unwrap();
    assert_eq!(before.every, Some(1.25));
    let all = 2.0 * 30.0 - 90.0 * 6.0 - 4.0 * 6.0 + 700.0;
    let alpha = TAU * (knots[2][1] - knots[1][1]) / 0.2;
    assert_relative_eq!(before.actions[0].value(0.6), -all * alpha, max_relative = 1e-12);
    // Nothing is gained in a period.
    let whole = impulse(&before.actions, &drive.slide.as_ref().unwrap().at, 1.25);
    assert!(whole.amax() < 1e-6 * all * alpha, "{whole}");
    for (bad, word) in [
        (vec![[0.0, 1.0]], "two or more"),
        (vec![[0.0, 1.0], [0.0, 1.0]], "ascend"),
        (vec![[0.0, 1.0], [1.0, 0.9]], "come back"),
        (vec![[0.0, 1.0], [1.1, 1.0]], "whole turns"),
        (vec![[0.0, f64::NAN], [1.0, 1.0]], "finite"),
    ] {
        let error = drive.servo(&bad, 0.0).unwrap_err().to_string();
        assert!(error.contains(word), "{error}");
    }
}

#[test]
fn numbers_that_no_drive_has_are_refused_with_a_remedy() {
    let refused = |result: underfoot::Result<Rotor>| result.unwrap_err().to_string();
    assert!(refused(Rotor::new("gear", 5.0, 0.0, Side::Driven)).contains("must not be zero"));
    assert!(refused(Rotor::new("gear", 0.0, 1.0, Side::Driven)).starts_with("inertia"));
    let drive = geared(None);
    let stop = |brake_time, torque_rise| DriveEvent::Stop { brake_time, torque_rise, angle: None };
    for (event, word) in [
        (stop(0.0, 0.0), "brake_time"),
        (stop(-1.0, 0.0), "brake_time"),
        (stop(0.2, 0.2), "torque_rise"),
        (stop(0.2, f64::NAN), "torque_rise"),
        (DriveEvent::Start { clutch_time: 0.0, torque_rise: 0.0 }, "clutch_time"),
        (
            DriveEvent::Inch {
                speed_share: 1.5,
                clutch_time: 0.1,
                brake_time: 0.1,
                pause: 0.1,
                count: 2,
            },
            "speed_share",
        ),
        (DriveEvent::Stick { stop_time: 0.1, clutch_torque: 0.0, slip_time: 1.0 }, "clutch_torque"),
    ] {
        let error = drive.motion(&event).unwrap_err().to_string();
        assert!(error.starts_with(word), "{error}");
    }
    let lone = vec![rotor("crank", 700.0, 1.0, Side::Driven)];
    let drive = DriveTrain::new(Vector3::y(), SPEED, lone.clone(), None).unwrap();
    let start = DriveEvent::Start { clutch_time: 0.2, torque_rise: 0.0 };
    assert!(drive.motion(&start).unwrap_err().to_string().contains("driving side"));
    let flywheel = vec![rotor("flywheel", 700.0, 1.0, Side::Driving)];
    assert!(DriveTrain::new(Vector3::y(), SPEED, flywheel, None).is_err());
    assert!(DriveTrain::new(Vector3::y(), 0.0, lone.clone(), None).is_err());
    assert!(DriveTrain::new(Vector3::x(), SPEED, lone.clone(), Some(slide())).is_err());
    let mut left = slide();
    left.rotation = Rotation::Left;
    assert!(DriveTrain::new(Vector3::y(), SPEED, lone.clone(), Some(left.clone())).is_err());
    assert!(DriveTrain::new(-Vector3::y(), SPEED, lone, Some(left)).is_ok());
}
