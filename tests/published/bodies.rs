//! Several bodies on springs, written out row by row as a [`System`].
//!
//! A spring between two bodies is the element of a mount under the upper one, less the element of
//! the same mount as the lower one sees it.

use nalgebra::{DMatrix, Matrix3, Vector3};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::{Axis, Dof, System};

/// A spring under body `upper`, standing on body `lower` or, without one, on the ground.
pub struct Spring {
    pub upper: usize,
    pub lower: Option<usize>,
    pub mount: Mount,
}

/// The equations of motion of named bodies on springs; springs on the ground come first, in order.
pub fn system(bodies: &[(&str, RigidBody)], springs: &[Spring]) -> System {
    let n = 6 * bodies.len();
    let mut mass = DMatrix::zeros(n, n);
    let mut principal = DMatrix::identity(n, n);
    for (i, (_, body)) in bodies.iter().enumerate() {
        let first = 6 * i;
        mass.view_mut((first, first), (3, 3)).copy_from(&(Matrix3::identity() * body.mass()));
        mass.view_mut((first + 3, first + 3), (3, 3)).copy_from(body.inertia());
        principal.view_mut((first + 3, first + 3), (3, 3)).copy_from(&body.principal().1);
    }
    let elements = springs.iter().map(|spring| {
        let seen = |body: usize| spring.mount.element(n, 6 * body, bodies[body].1.center());
        let mut element = seen(spring.upper);
        if let Some(lower) = spring.lower {
            element.b -= seen(lower).b;
            element.ground = None;
        }
        element
    });
    System {
        dofs: bodies
            .iter()
            .flat_map(|(name, _)| Axis::ALL.map(|axis| Dof { body: (*name).to_owned(), axis }))
            .collect(),
        mass,
        principal,
        elements: elements.collect(),
        ports: Vec::new(),
        reference: *bodies[0].1.center(),
    }
}

/// A vertical chain: masses from the top down, one meter apart; `between[i]` is the spring under
/// mass i (stiffness, damping), the last one on the ground; `beside[i]` holds mass i to the ground.
///
/// All springs act through the vertical axis, so the chain along z stands by itself among the
/// 6 n degrees of freedom; sideways and turning springs of another order keep the rest in place.
pub fn chain(masses: &[f64], between: &[[f64; 2]], beside: &[f64]) -> System {
    let names = ["top", "middle", "bottom"];
    let count = masses.len();
    let height = |i: usize| Vector3::new(0.0, 0.0, (count - i) as f64);
    let bodies: Vec<_> = masses
        .iter()
        .enumerate()
        .map(|(i, &m)| {
            let inertia = Matrix3::from_diagonal(&Vector3::new(0.3, 0.4, 0.2)) * m;
            (names[i], RigidBody::new(m, height(i), inertia).unwrap())
        })
        .collect();
    let spring = |upper: usize, lower: Option<usize>, at: Vector3<f64>, [k, c]: [f64; 2]| {
        let mount = Mount::new(at, [0.31 * k, 0.37 * k, k])
            .and_then(|m| m.with_rotational_stiffness([0.71 * k, 0.53 * k, 0.41 * k]))
            .and_then(|m| m.with_damping([0.2 * c, 0.3 * c, c]))
            .unwrap();
        Spring { upper, lower, mount }
    };
    let below = Vector3::new(0.0, 0.0, -0.4);
    let mut springs: Vec<_> = between
        .iter()
        .enumerate()
        .map(|(i, &kc)| spring(i, (i + 1 < count).then_some(i + 1), height(i) + below, kc))
        .collect();
    for (i, &k) in beside.iter().enumerate().filter(|(_, k)| **k > 0.0) {
        springs.push(spring(i, None, height(i), [k, 0.0]));
    }
    system(&bodies, &springs)
}

/// Index of the vertical degree of freedom of body i.
pub fn z(body: usize) -> usize {
    6 * body + Axis::Z as usize
}
