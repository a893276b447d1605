//! Small systems built by hand and reference files, for the checks of shock.

pub use crate::reference::number;
use nalgebra::{DMatrix, DVector, Vector3};
use serde_json::Value;

use crate::reference::load;
use underfoot::system::{Axis, Dof, Footprint, Label, Linear, LinearElement};

/// The file of that name in `tests/reference/shock`.
pub fn reference(name: &str) -> Value {
    load(&format!("shock/{name}"))
}

/// `x` within the relative tolerance of `expected`, or with this message.
pub fn assert_close(x: f64, expected: f64, relative: f64, what: &str) {
    let error = (x - expected).abs();
    assert!(error <= relative * expected.abs(), "{what}: {x:e} is not {expected:e}");
}

/// Spring and dashpot between masses `from` (`None`: the ground) and `to`; the force is positive
/// where the spring is in tension on the ground's side.
pub struct Link {
    pub name: &'static str,
    pub from: Option<usize>,
    pub to: usize,
    pub stiffness: f64,
    pub damping: f64,
    pub loss_factor: f64,
}

/// Masses that move along z only.
pub fn chain(masses: &[(&str, f64)], links: &[Link]) -> Linear {
    let n = masses.len();
    let (mut k, mut h, mut c) = (DMatrix::zeros(n, n), DMatrix::zeros(n, n), DMatrix::zeros(n, n));
    let mut elements = Vec::new();
    for link in links {
        let mut b = DMatrix::zeros(n, 1);
        b[(link.to, 0)] = 1.0;
        if let Some(from) = link.from {
            b[(from, 0)] = -1.0;
        }
        let one = |x: f64| DMatrix::from_element(1, 1, x);
        let ke = one(link.stiffness);
        let (he, ce) = (&ke * link.loss_factor, one(link.damping));
        k += &b * &ke * b.transpose();
        h += &b * &he * b.transpose();
        c += &b * &ce * b.transpose();
        let wrench = DMatrix::from_fn(6, 1, |i, _| if i == 2 { 1.0 } else { 0.0 });
        elements.push(LinearElement {
            b,
            k: ke,
            h: he,
            c: ce,
            dynamic: Vec::new(),
            label: Label { kind: "mount".into(), name: link.name.into() },
            ground: link.from.is_none().then(|| Footprint { position: Vector3::zeros(), wrench }),
        });
    }
    Linear {
        dofs: masses.iter().map(|(b, _)| Dof { body: (*b).into(), axis: Axis::Z }).collect(),
        m: DMatrix::from_diagonal(&DVector::from_iterator(n, masses.iter().map(|m| m.1))),
        k,
        h,
        c,
        dynamic: Vec::new(),
        principal: DMatrix::identity(n, n),
        elements,
        ports: Vec::new(),
        reference: Vector3::zeros(),
    }
}

/// One mass on one mount.
pub fn single(mass: f64, stiffness: f64, damping: f64) -> Linear {
    let link = Link { name: "mount", from: None, to: 0, stiffness, damping, loss_factor: 0.0 };
    chain(&[("mass", mass)], &[link])
}
