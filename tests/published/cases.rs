//! Machines as the reference files write them.

use nalgebra::{Matrix3, Vector3};
use serde_json::Value;
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::reference::{number, numbers, triple};

/// The machine of a case with its center of mass at the origin; keys say which unit they have, and
/// the units of a case are coherent, so they pass through.
pub fn machine(mass: f64, inertia: Matrix3<f64>, mounts: &Value) -> Installation {
    let body = RigidBody::new(mass, Vector3::zeros(), inertia).unwrap();
    let mounts = mounts.as_array().unwrap().iter().map(mount).collect();
    Installation::new(body, mounts).unwrap()
}

/// A case with the keys `m`, `J` and `mounts`.
pub fn machine_of(case: &Value) -> Installation {
    machine(number(&case["m"]), tensor(&case["J"]), &case["mounts"])
}

/// The four-mount machine in which a planar bar on two springs is one pair of modes.
pub fn embedded(case: &Value) -> Installation {
    let embedding = &case["inputs"]["embedding_6dof"];
    machine(number(&embedding["mass"]), tensor(&embedding["J"]), &embedding["mounts"])
}

/// Three rows, or three principal moments.
pub fn tensor(value: &Value) -> Matrix3<f64> {
    if value[0].is_array() {
        let rows: Vec<_> = value.as_array().unwrap().iter().flat_map(numbers).collect();
        Matrix3::from_row_slice(&rows)
    } else {
        Matrix3::from_diagonal(&Vector3::from(triple(value)))
    }
}

fn mount(value: &Value) -> Mount {
    let key = |name: &str, in_inches: &str| match &value[name] {
        Value::Null => triple(&value[in_inches]),
        found => triple(found),
    };
    let mount = Mount::new(Vector3::from(key("r", "r_in")), key("k", "k_lbf_in")).unwrap();
    match &value["R"] {
        Value::Null => mount,
        axes => mount.with_axes(tensor(axes)).unwrap(),
    }
}
