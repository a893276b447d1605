//! Does a press walk when its crank is braked? Horizontal force on the set against friction.
//!
//! Source: reference pack of the project, job 8 (computed twice by different people; stated
//! tolerance of the peaks 1e-6): 60 t, center of mass 2.1 m over mounts at +-1.3 m, 36 MN/m
//! vertical, 18 MN/m horizontal, the weight's own moment included, 6 % damping in each mode, brake
//! torque rectangular.

use approx::assert_relative_eq;
use nalgebra::{DMatrix, DVector, Matrix3, Vector3};
use underfoot::analysis::modes;
use underfoot::analysis::statics::{StaticsOptions, statics};
use underfoot::analysis::transient::{ShockOptions, shock};
use underfoot::checks::{Feet, Friction, Sliding, Verdict, sliding, walking};
use underfoot::excitation::Pulse;
use underfoot::installation::Installation;
use underfoot::law::{Constant, Law};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::{Element, Label, Linear};

use crate::reference::{load, number};

const ZETA: f64 = 0.06;

fn press() -> Installation {
    let body =
        RigidBody::new(60e3, Vector3::new(0.0, 0.0, 2.1), Matrix3::identity() * 60e3 * 1.5 * 1.5);
    let mounts = [("a", -1.3, -1.0), ("b", 1.3, -1.0), ("c", 1.3, 1.0), ("d", -1.3, 1.0)];
    let mounts = mounts.map(|(name, x, y)| {
        Mount::new(Vector3::new(x, y, 0.0), [4.5e6, 4.5e6, 9e6]).unwrap().with_name(name)
    });
    Installation::new(body.unwrap(), mounts.to_vec()).unwrap()
}

/// The press with the weight's moment as a spring that pushes, and the same damping in each mode.
fn linear(press: &Installation) -> Linear {
    let mut system = press.system();
    let weight = 60e3 * press.gravity;
    let mut b = DMatrix::zeros(6, 1);
    b[(4, 0)] = 1.0;
    let law = Constant {
        stiffness: vec![-weight * 2.1],
        static_stiffness: vec![-weight * 2.1],
        loss_factor: vec![0.0],
        damping: vec![0.0],
    };
    let label = Label { kind: "weight".into(), name: "tilting weight".into() };
    system.elements.push(Element { b, law: Law::Constant(law), label, ground: None });
    let mut linear = system.linear();
    let found = modes(&linear).unwrap();
    // C = M Phi (2 zeta Omega) Phi' M for mass-normalized modes.
    for (i, f) in found.frequency.iter().enumerate() {
        let shape = found.shape.column(i).clone_owned();
        let mass = (shape.transpose() * &linear.m * &shape)[0];
        let p = &linear.m * shape / mass.sqrt();
        linear.c += &p * p.transpose() * (2.0 * ZETA * std::f64::consts::TAU * f);
    }
    linear
}

fn stopped(torque: f64, time: f64) -> Sliding {
    let press = press();
    let linear = linear(&press);
    let weight = press.weight_of(&press.body);
    let still = statics(&press.system(), &weight, &StaticsOptions::default()).unwrap();
    let load = Pulse::rectangular(torque, time).unwrap().segments();
    let mut direction = DVector::zeros(6);
    direction[4] = 1.0;
    let shock = shock(&linear, &load, &direction, &ShockOptions::default()).unwrap();
    let feet = Feet::new(&linear, &still).unwrap();
    let output = feet.output(&shock.transient).unwrap();
    let joint = shock.transient.joint(&output).unwrap();
    sliding(&feet, &joint).unwrap()
}

#[test]
fn the_braked_press_has_the_modes_of_the_closed_form() {
    let answers = &load("jobs/job_08")["answers"];
    let found = modes(&linear(&press())).unwrap();
    for mode in answers["modes_Hz"].as_array().unwrap() {
        let wanted = number(mode);
        let nearest = found.frequency.iter().map(|f| (f / wanted - 1.0).abs());
        assert!(nearest.fold(f64::MAX, f64::min) < 1e-9, "{wanted} Hz");
    }
}

#[test]
fn the_braked_press_slides_at_a_friction_of_two_tenths() {
    let answers = &load("jobs/job_08")["answers"];
    for (key, time) in [("brake_0.1s", 0.1), ("brake_0.05s", 0.05)] {
        let expected = &answers[key];
        let found = stopped(number(&expected["torque_N_m"]), time);
        assert_relative_eq!(
            found.friction_needed,
            number(&expected["set_ratio"]),
            max_relative = 1e-6
        );
        assert_relative_eq!(
            found.time,
            number(&expected["horizontal_spring_t"]),
            max_relative = 1e-4
        );
        let force = number(&expected["horizontal_spring_peak_N"]);
        assert_relative_eq!(found.force[0].abs(), force, max_relative = 1e-6);
        assert_relative_eq!(found.load, number(&answers["weight_N"]), max_relative = 1e-9);
        assert_relative_eq!(
            found.foot_friction_needed,
            number(&expected["foot_ratio"]),
            max_relative = 1e-6
        );
        let friction = Friction::new(0.2, 1.0).unwrap();
        let [set, foot] = walking(&found, &friction, "emergency stop").unwrap();
        assert_eq!(set.verdict, Verdict::No);
        assert!(matches!(foot.verdict, Verdict::OkIf(_)), "a foot that slips is reported");
        let dry = Friction::new(0.5, 1.5).unwrap();
        let [set, foot] = walking(&found, &dry, "emergency stop").unwrap();
        let holds = time == 0.1 || found.friction_needed < 0.5 / 1.5;
        assert_eq!(set.verdict == Verdict::Ok, holds);
        assert_eq!(foot.verdict == Verdict::Ok, found.foot_friction_needed <= 0.5 / 1.5);
    }
}
