//! An unbalanced rotor runs down through the resonance of its mounts.
//!
//! Closed form with the complex error function at 130 digits and Duhamel quadrature
//! (`tests/reference/press/g1_rundown_slow.json`, derived there, not published): to 1e-10.

use approx::assert_relative_eq;
use nalgebra::{Matrix3, Vector3};
use serde_json::Value;
use std::f64::consts::{FRAC_PI_2, TAU};
use underfoot::analysis::transient::{Quantity, Shock, ShockOptions, shock_by};
use underfoot::excitation::{Rotating, SpeedRamp, UnbalancePlane};
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::Linear;

use crate::reference::{load, number};

/// A body on four mounts at the height of its center of mass, so that z stands by itself.
fn machine(given: &Value) -> Linear {
    let mass = number(&given["mass"]);
    let omega = TAU * number(&given["natural_frequency_Hz"]);
    let k = mass * omega * omega / 4.0;
    let c = 2.0 * number(&given["zeta"]) * mass * omega / 4.0;
    let body =
        RigidBody::new(mass, Vector3::new(0.0, 0.0, 0.7), Matrix3::identity() * mass).unwrap();
    let corners = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)];
    let mounts = corners.map(|(x, y)| {
        let mount = Mount::new(Vector3::new(x, y, 0.7), [0.6 * k, 0.7 * k, k]).unwrap();
        mount.with_damping([0.6 * c, 0.7 * c, c]).unwrap()
    });
    Installation::new(body, mounts.to_vec()).unwrap().system().linear()
}

/// phi is measured from the side, so that the vertical force is that of sin phi.
fn rotor(given: &Value) -> Rotating {
    let unbalance = number(&given["unbalance_mass_times_radius"]);
    let plane = UnbalancePlane { unbalance, at: None, angle: -FRAC_PI_2 };
    Rotating::new(Vector3::y(), vec![plane], 0.0).unwrap()
}

fn ramp(given: &Value, name: &str) -> SpeedRamp {
    let [from, time] = ["start_speed_Hz", "stop_time_s"].map(|key| number(&given[key]));
    let ramp = SpeedRamp::new(from, 0.0, time).unwrap();
    let ramp = if name.starts_with("rest") { ramp.from_rest() } else { ramp };
    if name.ends_with("centrifugal_only") { ramp.centrifugal_only() } else { ramp }
}

fn run_down(given: &Value, name: &str) -> (Shock, f64) {
    let options = ShockOptions { dt: Some(1.0), ..ShockOptions::default() };
    let (event, error) = rotor(given).ramp(&ramp(given, name)).unwrap();
    (shock_by(&machine(given), &event, &options).unwrap(), error)
}

#[test]
fn a_rotor_that_runs_down_passes_the_resonance_as_the_error_function_says() {
    let file = load("press/g1_rundown_slow");
    let outputs = file["outputs"].as_object().unwrap();
    assert_eq!(outputs.len(), 4);
    for (name, expected) in outputs {
        let (shock, error) = run_down(&file["inputs"], name);
        assert!(error < 2e-12, "{error:e}");
        let z = &shock.extrema(Quantity::Displacement)[2];
        let peak = number(&expected["signed_peak"]);
        assert_relative_eq!(z.max.value, peak, max_relative = 1e-10);
        assert_relative_eq!(z.min.value, number(&expected["opposite_peak"]), max_relative = 1e-10);
        assert_relative_eq!(z.max.time, number(&expected["t_peak"]), max_relative = 1e-9);
        assert_relative_eq!(z.min.time, number(&expected["t_opposite_peak"]), max_relative = 1e-9);
        for sample in expected["displacement_samples"].as_array().unwrap() {
            let [t, x] = [0, 1].map(|i| number(&sample[i]));
            let found = shock.transient.at(&shock.transient.displacement(), t).unwrap()[2];
            assert!((found - x).abs() < 1e-10 * peak, "{name} at {t}: {found:e} is not {x:e}");
        }
        let start = shock.transient.at(&shock.transient.velocity(), 0.0).unwrap()[2];
        assert!((start - number(&expected["v0"])).abs() < 1e-10, "{name}: {start:e}");
        // The peak comes after the resonance has been passed.
        let passed = ramp(&file["inputs"], name).passes(4.0).unwrap();
        assert_relative_eq!(passed, number(&expected["time_of_passing_natural_frequency"]));
        assert!(z.max.time > passed);
    }
}
