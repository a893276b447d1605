//! Inputs from the edge of sense: an error in words or a finite answer, never NaN, never a panic.

use nalgebra::{Matrix3, Vector3};
use num_complex::Complex64;
use proptest::prelude::*;
use underfoot::analysis::{modes, response, transmissibility};
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::random::{axes, config, magnitude, point};

/// Nothing, or a number over many orders of magnitude.
fn wild(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 3 => magnitude(low, high)]
}

fn triple(low: f64, high: f64) -> impl Strategy<Value = [f64; 3]> {
    [wild(low, high), wild(low, high), wild(low, high)]
}

fn wild_mount() -> impl Strategy<Value = Mount> {
    (point(1e3), axes(), triple(-3.0, 14.0), triple(-3.0, 12.0), triple(-6.0, 3.0)).prop_map(
        |(at, axes, k, c, eta)| {
            Mount::new(at, k)
                .and_then(|m| m.with_axes(axes))
                .and_then(|m| m.with_damping(c))
                .and_then(|m| m.with_loss_factor(eta))
                .unwrap()
        },
    )
}

fn wild_machine() -> impl Strategy<Value = Option<Installation>> {
    let mounts = prop::collection::vec(wild_mount(), 1..6);
    (magnitude(-3.0, 8.0), magnitude(-3.0, 2.0), mounts).prop_map(|(mass, radius, mounts)| {
        let inertia = Matrix3::from_diagonal_element(mass * radius * radius);
        let body = RigidBody::new(mass, Vector3::zeros(), inertia).unwrap();
        // A mount without any stiffness is refused, as it must be.
        Installation::new(body, mounts).ok()
    })
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn modes_are_finite_or_refused(inst in wild_machine()) {
        let Some(inst) = inst else { return Ok(()) };
        match modes(&inst.system().linear()) {
            Err(error) => prop_assert!(!error.to_string().contains("NaN"), "{error}"),
            Ok(found) => {
                prop_assert!(found.frequency.iter().all(|f| f.is_finite() && *f > 0.0));
                // Negative damping would be a motion that grows.
                prop_assert!(found.damping_ratio.iter().all(|z| z.is_finite() && *z >= -1e-6));
                prop_assert!(found.damped_frequency.iter().all(|f| f.is_finite()));
                prop_assert!(found.eigenvalue.iter().all(|s| s.is_finite()));
                prop_assert!(found.shape.iter().all(|x| x.is_finite()));
                prop_assert!(found.damped_shape.iter().all(|x| x.is_finite()));
                prop_assert!(found.energy.iter().all(|e| (0.0..=1.0).contains(e)));
            }
        }
    }

    #[test]
    fn responses_are_finite_or_refused(inst in wild_machine(), f in wild(-6.0, 7.0)) {
        let Some(inst) = inst else { return Ok(()) };
        let linear = inst.system().linear();
        match transmissibility(&linear, &[f], None) {
            Err(error) => prop_assert!(error.to_string().contains("resonance"), "{error}"),
            Ok(found) => {
                prop_assert!(found.matrix.iter().all(|x| x.is_finite()));
                prop_assert!(found.mount().unwrap().iter().all(|x| x.is_finite()));
            }
        }
        match response(&linear, &[f], &[Complex64::ONE; 6]) {
            Err(error) => prop_assert!(error.to_string().contains("resonance"), "{error}"),
            Ok(found) => {
                prop_assert!(found.displacement.iter().all(|x| x.is_finite()));
                prop_assert!(found.ground_wrench().unwrap().iter().all(|x| x.is_finite()));
            }
        }
    }
}
