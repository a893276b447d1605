//! The equations of motion of whatever stands on whatever: degrees of freedom, mass, elements.
//!
//! Z(omega) = K + j H + j omega C - omega^2 M + sum B d(omega) B',
//! K = sum B k B', H = sum B h B', C = sum B c B', and d the laws that depend on frequency.
//!
//! Each body has six degrees of freedom at its center of mass, in the axes of the floor
//! (x left-right, y front-back, z up, small right-handed rotations). An element reaches the
//! bodies through its port: `B` (n x r) turns the r port forces into forces on the degrees of
//! freedom, and `B'` turns the motion of the bodies into the motion of the port. A second machine,
//! an inner mass, a block or a stop is one more row here, not new code.
//!
//! Assumptions: rigid bodies, small motions. Valid to about a third of the first elastic mode of
//! the frame (common practice).

use nalgebra::{DMatrix, DVector, Matrix3, Matrix6, Vector3};
use serde::{Deserialize, Serialize};
use std::fmt;

use crate::error::Result;
use crate::law::{Dynamic, Law};

/// A symmetric matrix; full storage.
pub type Sym = DMatrix<f64>;

/// Direction of a degree of freedom, in the order of every 6-vector of this crate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Axis {
    /// Left-right.
    X,
    /// Front-back.
    Y,
    /// Up.
    Z,
    /// Rotation about x.
    Rx,
    /// Rotation about y.
    Ry,
    /// Rotation about z.
    Rz,
}

impl Axis {
    /// `x y z rx ry rz`.
    pub const ALL: [Self; 6] = [Self::X, Self::Y, Self::Z, Self::Rx, Self::Ry, Self::Rz];

    /// Short name, as used for coordinates of arrays.
    pub fn name(self) -> &'static str {
        match self {
            Self::X => "x",
            Self::Y => "y",
            Self::Z => "z",
            Self::Rx => "rx",
            Self::Ry => "ry",
            Self::Rz => "rz",
        }
    }
}

/// One degree of freedom: which body, which way.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Dof {
    /// Name of the body.
    pub body: String,
    /// Direction.
    pub axis: Axis,
}

impl fmt::Display for Dof {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.body, self.axis.name())
    }
}

/// What an element is, for messages and tables.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Label {
    /// Kind of part ("mount").
    pub kind: String,
    /// Name of this one ("front left").
    pub name: String,
}

/// A named point where motion is observed or a force acts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Port {
    /// Name ("bolster.left").
    pub name: String,
    /// Position, m.
    pub position: Vector3<f64>,
    /// n x 6: forces on the degrees of freedom from a wrench at the point; transposed, the
    /// motion of the point from the motion of the bodies.
    pub b: DMatrix<f64>,
}

/// A spring-like part between bodies, or between a body and the ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Element {
    /// n x r port matrix.
    pub b: DMatrix<f64>,
    /// Dynamic stiffness on the port.
    pub law: Law,
    /// What it is.
    pub label: Label,
    /// How it reaches the ground; `None` between bodies.
    pub ground: Option<Footprint>,
}

/// Where and along which axes an element presses on the ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Footprint {
    /// Point of the ground, m.
    pub position: Vector3<f64>,
    /// 6 x r: force and moment on the ground, about `position` and in the axes of the floor, from
    /// unit port forces.
    pub wrench: DMatrix<f64>,
}

impl Footprint {
    /// 6 x r: the same wrench about another point, M' = M + (position - point) x F.
    pub fn about(&self, point: &Vector3<f64>) -> DMatrix<f64> {
        let arm = self.position - point;
        let mut moved = self.wrench.clone();
        for mut column in moved.column_iter_mut() {
            let force = Vector3::new(column[0], column[1], column[2]);
            let moment = arm.cross(&force);
            for i in 0..3 {
                column[3 + i] += moment[i];
            }
        }
        moved
    }
}

/// Degrees of freedom, mass and elements of an installation in one load case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct System {
    /// Names of the degrees of freedom.
    pub dofs: Vec<Dof>,
    /// Mass matrix, kg and kg m^2.
    pub mass: Sym,
    /// n x n: columns are the principal axes of inertia, in which the mass matrix is diagonal and
    /// kinetic energy splits into parts that are never negative. Orthogonal, but where masses move
    /// inside the machine.
    pub principal: DMatrix<f64>,
    /// Mounts and other springs.
    pub elements: Vec<Element>,
    /// Named points.
    pub ports: Vec<Port>,
    /// Point about which wrenches on the ground are given, m: the first body's center of mass.
    pub reference: Vector3<f64>,
}

impl System {
    /// Static stiffness sum of B k_static B'.
    pub fn static_stiffness(&self) -> Sym {
        let n = self.dofs.len();
        let mut k = DMatrix::zeros(n, n);
        for element in &self.elements {
            add_product(
                &mut k,
                &element.b,
                &element.law.static_stiffness(),
                &element.b.transpose(),
            );
        }
        symmetric(k)
    }

    /// The system for small motions about its working point.
    pub fn linear(&self) -> Linear {
        let n = self.dofs.len();
        let zero = || DMatrix::zeros(n, n);
        let (mut k, mut h, mut c) = (zero(), zero(), zero());
        let mut elements = Vec::with_capacity(self.elements.len());
        let mut dynamic = Vec::new();
        for element in &self.elements {
            let (ke, he, ce) = element.law.linear();
            let bt = element.b.transpose();
            add_product(&mut k, &element.b, &ke, &bt);
            add_product(&mut h, &element.b, &he, &bt);
            add_product(&mut c, &element.b, &ce, &bt);
            let own = element.law.dynamic().into_iter().map(|(b, law)| DynamicElement { b, law });
            let own: Vec<_> = own.collect();
            dynamic.extend(own.iter().map(|d| d.through(&element.b)));
            elements.push(LinearElement {
                b: element.b.clone(),
                k: ke,
                h: he,
                c: ce,
                dynamic: own,
                label: element.label.clone(),
                ground: element.ground.clone(),
            });
        }
        Linear {
            dofs: self.dofs.clone(),
            m: self.mass.clone(),
            k: symmetric(k),
            h: symmetric(h),
            c: symmetric(c),
            dynamic,
            principal: self.principal.clone(),
            elements,
            ports: self.ports.clone(),
            reference: self.reference,
        }
    }
}

/// A part of the dynamic stiffness that depends on frequency: b d(omega) b'.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DynamicElement {
    /// Port, n x q (of an element by itself: r x q).
    pub b: DMatrix<f64>,
    /// Law of each of its q directions.
    pub law: Dynamic,
}

impl DynamicElement {
    /// The same law as seen through a port: b' = B b.
    fn through(&self, port: &DMatrix<f64>) -> Self {
        Self { b: port * &self.b, law: self.law.clone() }
    }

    /// d(omega) b b' as real and imaginary part, omega in rad/s.
    fn at(&self, omega: f64) -> Result<[DMatrix<f64>; 2]> {
        let d = self.law.at(omega)?;
        let square = &self.b * self.b.transpose();
        Ok([&square * d.re, square * d.im])
    }
}

/// An element of a [`Linear`] system: port matrix and its small-motion matrices.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LinearElement {
    /// n x r port matrix.
    pub b: DMatrix<f64>,
    /// Stiffness, r x r.
    pub k: DMatrix<f64>,
    /// Hysteretic stiffness eta k, r x r.
    pub h: DMatrix<f64>,
    /// Viscous damping, r x r.
    pub c: DMatrix<f64>,
    /// What is added to k + j h + j omega c and depends on frequency; ports r x q.
    pub dynamic: Vec<DynamicElement>,
    /// What it is.
    pub label: Label,
    /// How it reaches the ground; `None` between bodies.
    pub ground: Option<Footprint>,
}

/// A system for small motions: all that the analyses know of a machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Linear {
    /// Names of the degrees of freedom.
    pub dofs: Vec<Dof>,
    /// Mass M.
    pub m: Sym,
    /// Dynamic stiffness K, without [`Self::dynamic`].
    pub k: Sym,
    /// Hysteretic stiffness H (loss factors).
    pub h: Sym,
    /// Viscous damping C.
    pub c: Sym,
    /// Parts of the dynamic stiffness that depend on frequency; those of all elements.
    pub dynamic: Vec<DynamicElement>,
    /// Principal axes of inertia, see [`System::principal`].
    pub principal: DMatrix<f64>,
    /// The elements, for the force in each.
    pub elements: Vec<LinearElement>,
    /// Named points.
    pub ports: Vec<Port>,
    /// Point about which wrenches on the ground are given, m.
    pub reference: Vector3<f64>,
}

impl Linear {
    /// Number of degrees of freedom n.
    pub fn size(&self) -> usize {
        self.dofs.len()
    }

    /// True for one machine of six degrees of freedom in front, and masses inside it that have one
    /// each.
    pub fn is_one_machine_with_inner_masses(&self) -> bool {
        let Some((machine, inner)) = self.dofs.split_at_checked(6) else { return false };
        let alone = |dof: &Dof| self.dofs.iter().filter(|d| d.body == dof.body).count() == 1;
        !inner.is_empty()
            && machine.iter().all(|dof| dof.body == machine[0].body)
            && inner.iter().all(alone)
    }

    /// The rows of a load or port of the machine alone (six), with none on the masses inside it;
    /// anything else as it is.
    pub fn widened(&self, rows: &DMatrix<f64>) -> DMatrix<f64> {
        let narrow = rows.nrows() == 6 && self.is_one_machine_with_inner_masses();
        if narrow { rows.clone().resize_vertically(self.size(), 0.0) } else { rows.clone() }
    }

    /// True if any loss factor is at work.
    pub fn is_hysteretic(&self) -> bool {
        self.h.iter().any(|&x| x != 0.0)
    }

    /// Elements that stand on the ground (the mounts), in order.
    pub fn grounded(&self) -> impl Iterator<Item = (&LinearElement, &Footprint)> {
        self.elements.iter().filter_map(|e| e.ground.as_ref().map(|g| (e, g)))
    }

    /// Names of the elements that stand on the ground, in order.
    pub fn mount_names(&self) -> Vec<String> {
        self.grounded().map(|(element, _)| element.label.name.clone()).collect()
    }

    /// Port of that name.
    pub fn port(&self, name: &str) -> Option<&Port> {
        self.ports.iter().find(|p| p.name == name)
    }

    /// True if some law depends on frequency otherwise than by a dashpot.
    pub fn is_frequency_dependent(&self) -> bool {
        !self.dynamic.is_empty()
    }

    /// The laws that depend on frequency, each once.
    pub fn laws(&self) -> Vec<&Dynamic> {
        let mut laws: Vec<&Dynamic> = Vec::new();
        for element in &self.dynamic {
            if !laws.contains(&&element.law) {
                laws.push(&element.law);
            }
        }
        laws
    }

    /// The system whose laws keep the value they have at omega (rad/s): Re d in k, Im d in h.
    ///
    /// # Errors
    /// [`Error::Invalid`](crate::Error::Invalid) outside a table, with its range.
    pub fn frozen(&self, omega: f64) -> Result<Self> {
        let mut out = self.clone();
        for element in std::mem::take(&mut out.dynamic) {
            let [k, h] = element.at(omega)?;
            out.k += k;
            out.h += h;
        }
        for element in &mut out.elements {
            for part in std::mem::take(&mut element.dynamic) {
                let [k, h] = part.at(omega)?;
                element.k += k;
                element.h += h;
            }
        }
        Ok(out)
    }

    /// 6 x n matrices k, h, c of the wrench on the ground about [`Self::reference`]:
    /// W(omega) = (k + j h + j omega c) x, and what [`LinearElement::dynamic`] adds.
    pub fn ground_wrench(&self) -> [DMatrix<f64>; 3] {
        let n = self.size();
        let mut out = [DMatrix::zeros(6, n), DMatrix::zeros(6, n), DMatrix::zeros(6, n)];
        for (element, foot) in self.grounded() {
            let g = foot.about(&self.reference);
            let bt = element.b.transpose();
            for (sum, law) in out.iter_mut().zip([&element.k, &element.h, &element.c]) {
                add_product(sum, &g, law, &bt);
            }
        }
        out
    }
}

/// Cross-product matrix: S(r) v = r x v.
pub fn cross_matrix(r: &Vector3<f64>) -> Matrix3<f64> {
    Matrix3::new(0.0, -r.z, r.y, r.z, 0.0, -r.x, -r.y, r.x, 0.0)
}

/// 6 x 6: wrench about `center` from a wrench at `point`; transposed, the motion of `point` from
/// the motion at `center` (u = t + theta x r).
pub fn wrench_transfer(point: &Vector3<f64>, center: &Vector3<f64>) -> Matrix6<f64> {
    let mut t = Matrix6::identity();
    t.fixed_view_mut::<3, 3>(3, 0).copy_from(&cross_matrix(&(point - center)));
    t
}

/// sum += a law b, in place; laws without damping or loss factor cost nothing.
fn add_product(sum: &mut DMatrix<f64>, a: &DMatrix<f64>, law: &DMatrix<f64>, b: &DMatrix<f64>) {
    if law.iter().any(|&x| x != 0.0) {
        sum.gemm(1.0, &(a * law), b, 1.0);
    }
}

/// The symmetric part: removes the rounding by which a sum of B k B' is not quite symmetric.
fn symmetric(a: DMatrix<f64>) -> Sym {
    (&a + a.transpose()) * 0.5
}

/// When does a part touch?
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum ContactRule {
    /// Where its coordinate says so, and it pushes: what damping would make a pull is no force.
    #[default]
    ForceClipped,
    /// Where its coordinate says so; its damping may pull just before it leaves.
    Geometric,
}

impl ContactRule {
    /// Names of the rules in the order of the type.
    pub const NAMES: [&str; 2] = ["force-clipped", "geometric"];

    /// Name in tables and messages.
    pub fn name(self) -> &'static str {
        Self::NAMES[usize::from(self == Self::Geometric)]
    }
}

/// A part that touches on one side or two, and carries nothing between.
///
/// Its coordinate is e = rest + along . B'x. It touches for e > ahead and for e < behind.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Gap {
    /// Index of its element in the linear system.
    pub element: usize,
    /// Unit vector of its coordinate in the port (r).
    pub along: DVector<f64>,
    /// Its coordinate at rest, m.
    pub rest: f64,
    /// Where it touches ahead, m.
    pub ahead: Option<f64>,
    /// Where it touches behind, m.
    pub behind: Option<f64>,
    /// Force on its port at rest, N (r).
    pub force: DVector<f64>,
    /// Spring in contact on a side where the linear system has none, N/m.
    pub stiffness: f64,
    /// Dashpot in contact on such a side, N s/m.
    pub damping: f64,
}

/// A system that is linear as long as no contact opens or closes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hybrid {
    /// For small motions about rest, with each part as it touches there.
    pub base: Linear,
    /// Parts that open and close.
    pub gaps: Vec<Gap>,
    /// When they touch.
    pub rule: ContactRule,
}
