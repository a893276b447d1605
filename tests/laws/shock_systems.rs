//! A machine of two bodies on four mounts, with numbers drawn by the property tests.

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};
use proptest::prelude::*;
use underfoot::system::{
    Axis, Dof, Footprint, Label, Linear, LinearElement, Port, wrench_transfer,
};

/// What is drawn.
#[derive(Debug, Clone)]
pub struct Machine {
    pub mass: [f64; 2],
    pub inertia: [f64; 3],
    /// kx, ky, kz of each mount, N/m.
    pub stiffness: Vec<[f64; 3]>,
    /// Corner offsets, m.
    pub offsets: Vec<[f64; 2]>,
    /// Fraction of critical damping of a mount by itself.
    pub damping_ratio: f64,
    pub loss_factor: f64,
    /// Inner spring, N/m.
    pub inner: f64,
}

/// Two bodies of 12 degrees of freedom in all, on four mounts.
pub fn machine() -> impl Strategy<Value = Machine> {
    let body = (5e3..5e4_f64, 5e2..5e3_f64, prop::array::uniform3(1e4..1e5_f64));
    let mounts = prop::collection::vec(prop::array::uniform3(1e6..5e7_f64), 4);
    let offsets = prop::collection::vec(prop::array::uniform2(-0.2..0.2_f64), 4);
    let damping = (0.005..0.2_f64, 0.01..0.3_f64, 1e7..1e9_f64);
    (body, mounts, offsets, damping).prop_map(|(body, stiffness, offsets, damping)| Machine {
        mass: [body.0, body.1],
        inertia: body.2,
        stiffness,
        offsets,
        damping_ratio: damping.0,
        loss_factor: damping.1,
        inner: damping.2,
    })
}

impl Machine {
    /// With dashpots, loss factors, or both.
    pub fn linear(&self, dashpots: bool, loss: bool) -> Linear {
        let centers = [Vector3::new(0.0, 0.1, 1.2), Vector3::new(0.1, 0.0, 2.0)];
        let n = 12;
        let eta = if loss { self.loss_factor } else { 0.0 };
        let zeta = if dashpots { self.damping_ratio } else { 0.0 };
        let mut elements = Vec::new();
        for i in 0..4 {
            let side = |bit: usize| if i & bit == 0 { 1.0 } else { -1.0 };
            let [dx, dy] = self.offsets[i];
            let foot = Vector3::new(side(1) * 1.4 + dx, side(2) + dy, 0.0);
            let mut b = DMatrix::zeros(n, 3);
            let transfer = wrench_transfer(&foot, &centers[0]);
            b.view_mut((0, 0), (6, 3)).copy_from(&transfer.fixed_view::<6, 3>(0, 0));
            let mut wrench = DMatrix::zeros(6, 3);
            wrench.view_mut((0, 0), (3, 3)).copy_from(&Matrix3::identity());
            let ground = Some(Footprint { position: foot, wrench });
            elements.push(self.element(b, &self.stiffness[i], zeta, eta, ground, i));
        }
        let joint = Vector3::new(0.05, 0.0, 1.7);
        let mut b = DMatrix::zeros(n, 6);
        b.view_mut((0, 0), (6, 6)).copy_from(&-wrench_transfer(&joint, &centers[0]));
        b.view_mut((6, 0), (6, 6)).copy_from(&wrench_transfer(&joint, &centers[1]));
        let inner: Vec<f64> = (0..6).map(|i| self.inner * (1.0 + 0.3 * f64::from(i))).collect();
        elements.push(self.element(b, &inner, 0.2 * zeta, 0.3 * eta, None, 4));
        let sum = |of: &dyn Fn(&LinearElement) -> DMatrix<f64>| {
            elements.iter().fold(DMatrix::zeros(n, n), |s, e| s + &e.b * of(e) * e.b.transpose())
        };
        let mut port = DMatrix::zeros(n, 6);
        let bolster = Vector3::new(0.3, -0.2, 0.9);
        port.view_mut((0, 0), (6, 6)).copy_from(&wrench_transfer(&bolster, &centers[0]));
        let body = |name: &str| Axis::ALL.map(|axis| Dof { body: name.into(), axis });
        Linear {
            dofs: body("press").into_iter().chain(body("slide")).collect(),
            m: self.mass_matrix(),
            k: sum(&|e| e.k.clone()),
            h: sum(&|e| e.h.clone()),
            c: sum(&|e| e.c.clone()),
            dynamic: Vec::new(),
            principal: DMatrix::identity(n, n),
            ports: vec![Port { name: "bolster".into(), position: bolster, b: port }],
            reference: centers[0],
            elements,
        }
    }

    fn element(
        &self,
        b: DMatrix<f64>,
        stiffness: &[f64],
        zeta: f64,
        eta: f64,
        ground: Option<Footprint>,
        index: usize,
    ) -> LinearElement {
        let k = DMatrix::from_diagonal(&DVector::from_column_slice(stiffness));
        let c = k.map(|k| 2.0 * zeta * (k * 0.25 * self.mass[0]).sqrt());
        // Unequal loss factors, so that the modes are coupled.
        let h = &k * (eta * (0.5 + 0.25 * index as f64));
        let name = format!("mount {index}");
        let label = Label { kind: "mount".into(), name };
        LinearElement { b, k, h, c, dynamic: Vec::new(), label, ground }
    }

    fn mass_matrix(&self) -> DMatrix<f64> {
        let (m, i) = (self.mass, self.inertia);
        let diagonal = [m[0], m[0], m[0], i[0], i[1], i[2], m[1], m[1], m[1]];
        let small = i.map(|x| 0.05 * x);
        let all: Vec<f64> = diagonal.into_iter().chain(small).collect();
        let mut matrix = DMatrix::from_diagonal(&DVector::from_vec(all));
        // A product of inertia.
        (matrix[(3, 4)], matrix[(4, 3)]) = (-0.1 * i[0].min(i[1]), -0.1 * i[0].min(i[1]));
        matrix
    }
}

/// Force along z and x at the bolster.
pub fn at_bolster(linear: &Linear) -> DVector<f64> {
    let wrench = DVector::from_column_slice(&[0.3, 0.1, 1.0, 0.0, 0.0, 0.0]);
    &linear.port("bolster").unwrap().b * wrench
}
