//! How each element reaches the bodies: on which body it presses, where, and along which axes.
//!
//! The port matrix of an element holds, for a body it touches, the forces T (3 x r) and the
//! moments about the center of mass M (3 x r) of unit port forces. A force column t at arm r has
//! the moment r x t, so the arm follows from the columns: -S(t_j) r = m_j in the least-squares
//! sense. Two force directions fix it; along a single one it is taken from the point of the
//! ground, which lies on the line of action of a mount.

use nalgebra::{DMatrix, DVector, Matrix3, Matrix3xX, SymmetricEigen, Vector3};

use crate::error::{Error, Result};
use crate::law::Law;
use crate::system::{Dof, Element, System, cross_matrix};

/// Kind of element that carries the machine and may lift off.
pub const MOUNT: &str = "mount";
/// Kind of element that short-circuits the mounts: no support of its own.
pub const BRIDGE: &str = "bridge";
/// Kind of element that touches after a gap.
pub const STOP: &str = "stop";

/// One end of an element on a body.
#[derive(Debug, Clone)]
pub(super) struct End {
    /// Index into the list of bodies.
    pub body: usize,
    /// Row of each of the six degrees of freedom, where the body has it.
    pub rows: [Option<usize>; 6],
    /// T: force on the body, floor axes, from unit port forces.
    pub force: Matrix3xX<f64>,
    /// Moment about the port's own point.
    pub moment: Matrix3xX<f64>,
    /// Arm from the center of mass, m.
    pub arm: Vector3<f64>,
    /// False if the arm along the only force direction is not known.
    pub arm_known: bool,
}

impl End {
    /// Displacement of the port's point on this body, m.
    pub fn point_displacement(&self, x: &DVector<f64>) -> Vector3<f64> {
        let at = |i: usize| self.rows[i].map_or(0.0, |row| x[row]);
        let shift = Vector3::new(at(0), at(1), at(2));
        let turn = Vector3::new(at(3), at(4), at(5));
        shift + turn.cross(&self.arm)
    }

    fn turns(&self) -> bool {
        self.rows[3..].iter().any(Option::is_some)
    }
}

/// An element as statics sees it.
#[derive(Debug, Clone)]
pub(super) struct Joint {
    pub name: String,
    /// n x r.
    pub b: DMatrix<f64>,
    /// Static stiffness, r x r; of a curved law at its working point.
    pub k: DMatrix<f64>,
    /// The law itself.
    pub law: Law,
    /// Kind of part ("mount").
    pub kind: String,
    /// The machine's end first.
    pub ends: Vec<End>,
    /// Carries the machine: stands on the ground or is a mount.
    pub support: bool,
    /// A mount only pushes: it may lift off.
    pub can_lift: bool,
    /// tau = T' e_z (r): port motion from a rise of the far side by one meter, with minus sign.
    pub rise: DVector<f64>,
}

impl Joint {
    /// Port deformation e = B' x - tau h.
    pub fn deformation(&self, x: &DVector<f64>, height: f64) -> DVector<f64> {
        self.b.tr_mul(x) - &self.rise * height
    }

    /// Static force on the far side for a port deformation e, N (N m).
    pub fn force(&self, e: &DVector<f64>) -> DVector<f64> {
        if self.law.is_linear() { &self.k * e } else { self.law.static_force(e) }
    }

    /// Force (floor axes, N) and moment (about its own point, N m) on the body at `end`.
    pub fn reaction(
        &self,
        end: &End,
        x: &DVector<f64>,
        height: f64,
    ) -> (Vector3<f64>, Vector3<f64>) {
        let port = self.force(&self.deformation(x, height));
        (-(&end.force * &port), -(&end.moment * &port))
    }

    /// How far the mount is squeezed: minus the displacement of its top against its other end.
    pub fn compression(&self, x: &DVector<f64>, height: f64) -> Vector3<f64> {
        let mut squeezed = Vector3::new(0.0, 0.0, height);
        for (i, end) in self.ends.iter().enumerate() {
            let moved = end.point_displacement(x);
            squeezed += if i == 0 { -moved } else { moved };
        }
        squeezed
    }
}

/// All elements of a system, in its order.
pub(super) fn joints(system: &System) -> Result<Vec<Joint>> {
    let bodies = super::super::free_motion::body_names(&system.dofs);
    let centers: Vec<Option<Vector3<f64>>> =
        (0..bodies.len()).map(|body| center(system, &bodies, body)).collect();
    system
        .elements
        .iter()
        .enumerate()
        .map(|(index, element)| {
            joint(element, &system.dofs, &bodies, &centers)
                .map_err(|e| e.within(&format!("elements[{index}] ({})", element.label.name)))
        })
        .collect()
}

fn joint(
    element: &Element,
    dofs: &[Dof],
    bodies: &[&str],
    centers: &[Option<Vector3<f64>>],
) -> Result<Joint> {
    let (n, r) = element.b.shape();
    if n != dofs.len() || r != element.law.rank() {
        return Err(Error::Shape {
            argument: "b".into(),
            found: format!("({n}, {r})"),
            expected: format!("({}, {})", dofs.len(), element.law.rank()),
        });
    }
    let on_ground = element.ground.as_ref().map(|foot| foot.position);
    let ends: Vec<End> = (0..bodies.len())
        .filter_map(|body| {
            let guess = on_ground.zip(centers[body]).map(|(foot, center)| foot - center);
            end_on(&element.b, dofs, bodies, body, guess)
        })
        .collect();
    let is_mount = element.label.kind == MOUNT;
    let beside = element.label.kind == BRIDGE || element.label.kind == STOP;
    let support = (on_ground.is_some() && !beside) || is_mount;
    if support {
        check_support(&ends, on_ground.is_some())?;
    }
    let rise = match ends.first() {
        Some(end) if support => end.force.row(2).transpose(),
        _ => DVector::zeros(r),
    };
    Ok(Joint {
        name: element.label.name.clone(),
        b: element.b.clone(),
        k: element.law.static_stiffness(),
        law: element.law.clone(),
        kind: element.label.kind.clone(),
        ends,
        support,
        can_lift: is_mount,
        rise,
    })
}

fn check_support(ends: &[End], grounded: bool) -> Result<()> {
    let allowed = if grounded { 1 } else { 2 };
    if ends.len() != allowed {
        return Err(Error::invalid(
            "b",
            format!("{} bodies", ends.len()),
            format!("a mount {} must reach {allowed}", place(grounded)),
            "split it into one element for each body it carries",
        ));
    }
    if ends.iter().any(|end| !end.arm_known && end.turns()) {
        return Err(Error::invalid(
            "b",
            "one direction of force",
            "the point where it presses on the body must follow from the port",
            "give the port all three directions, with zero stiffness where there is none",
        ));
    }
    Ok(())
}

fn place(grounded: bool) -> &'static str {
    if grounded { "on the ground" } else { "between bodies" }
}

/// The end of a port matrix on one body, if it has any.
fn end_on(
    b: &DMatrix<f64>,
    dofs: &[Dof],
    bodies: &[&str],
    body: usize,
    guess: Option<Vector3<f64>>,
) -> Option<End> {
    let mut rows = [None; 6];
    for (row, dof) in dofs.iter().enumerate().filter(|(_, dof)| dof.body == bodies[body]) {
        rows[dof.axis as usize] = Some(row);
    }
    let block = |first: usize| {
        Matrix3xX::from_fn(b.ncols(), |i, j| rows[first + i].map_or(0.0, |row| b[(row, j)]))
    };
    let (force, about_center) = (block(0), block(3));
    if force.amax() == 0.0 && about_center.amax() == 0.0 {
        return None;
    }
    let (arm, arm_known) = arm(&force, &about_center, guess);
    let moment = &about_center - cross_matrix(&arm) * &force;
    Some(End { body, rows, force, moment, arm, arm_known })
}

/// Solves -S(t_j) r = m_j over the columns; `guess` serves where they leave r open.
fn arm(
    force: &Matrix3xX<f64>,
    moment: &Matrix3xX<f64>,
    guess: Option<Vector3<f64>>,
) -> (Vector3<f64>, bool) {
    let (mut normal, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for (t, m) in force.column_iter().zip(moment.column_iter()) {
        let (t, m) = (Vector3::new(t[0], t[1], t[2]), Vector3::new(m[0], m[1], m[2]));
        normal += Matrix3::identity() * t.norm_squared() - t * t.transpose();
        right += t.cross(&m);
    }
    let start = guess.unwrap_or_else(Vector3::zeros);
    let eigen = SymmetricEigen::new(normal);
    let bound = 1e-9 * eigen.eigenvalues.amax();
    let missing = right - normal * start;
    let (mut arm, mut known) = (start, true);
    for j in 0..3 {
        let (value, along) = (eigen.eigenvalues[j], eigen.eigenvectors.column(j));
        if value > bound {
            arm += along * (along.dot(&missing) / value);
        } else {
            known &= guess.is_some();
        }
    }
    (arm, known)
}

/// Center of mass of a body, m: the reference for the first, from a port for the others.
fn center(system: &System, bodies: &[&str], body: usize) -> Option<Vector3<f64>> {
    if body == 0 {
        return Some(system.reference);
    }
    system.ports.iter().find_map(|port| {
        let only = (0..bodies.len()).all(|other| {
            (end_on(&port.b, &system.dofs, bodies, other, None).is_some()) == (other == body)
        });
        let end = end_on(&port.b, &system.dofs, bodies, body, None)?;
        (only && end.arm_known).then(|| port.position - end.arm)
    })
}
