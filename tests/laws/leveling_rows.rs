//! Machines to be leveled, and the limits of a plan written anew: nothing of the library's leveling
//! is used to make them.

use nalgebra::{DMatrix, DVector, Matrix3, Vector3};
use proptest::prelude::*;
use underfoot::analysis::leveling::{LimitKind, Objective, Request};
use underfoot::installation::{Installation, STANDARD_GRAVITY};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

/// Feet near the corners and sides of a rectangle, unlike stiffness, weight off the middle.
pub fn press(feet: std::ops::RangeInclusive<usize>) -> impl Strategy<Value = Installation> {
    let foot = ((0.8..1.2f64), (0.8..1.2f64), 6.5..7.3f64);
    (prop::collection::vec(foot, feet), -0.2..0.2f64, -0.15..0.15f64, 4.0..4.8f64).prop_map(
        |(feet, cx, cy, mass)| {
            let corner =
                [[-1.5, -0.9], [1.5, -0.9], [1.5, 0.9], [-1.5, 0.9], [0.0, -1.0], [0.0, 1.0]];
            let mounts = feet
                .iter()
                .zip(corner)
                .map(|(&(u, v, k), [x, y])| {
                    let k = 10f64.powf(k);
                    Mount::new(Vector3::new(u * x, v * y, 0.0), [0.4 * k, 0.4 * k, k]).unwrap()
                })
                .collect();
            let mass = 10f64.powf(mass);
            let body = RigidBody::new(mass, Vector3::new(cx, cy, 1.4), Matrix3::identity() * mass)
                .unwrap();
            Installation::new(body, mounts).unwrap()
        },
    )
}

pub fn settlement() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(0.0..1.5e-3f64, 6)
}

/// A request: level tolerance, load band, travel and objective drawn, sometimes exactly level.
pub fn request() -> impl Strategy<Value = Request> {
    let exact = prop::bool::weighted(0.25);
    let band = prop::option::weighted(0.8, 0.02..0.2f64);
    (settlement(), 2e-5..2e-4f64, exact, band, 0.3e-3..4e-3f64, any::<bool>(), any::<bool>())
        .prop_map(|(settlement, tolerance, exact, load_band, travel, raise_only, motion)| Request {
            settlement: Some(settlement),
            level_tolerance: if exact { 0.0 } else { tolerance },
            load_band,
            travel: Some(vec![[-travel, travel]; 6]),
            raise_only,
            objective: if motion { Objective::LeastMotion } else { Objective::LeastTravel },
            ..Request::default()
        })
}

/// The request for a machine with fewer than six feet.
pub fn cut(request: &Request, feet: usize) -> Request {
    let first = |v: &Vec<f64>| v[..feet].to_vec();
    Request {
        settlement: request.settlement.as_ref().map(first),
        travel: request.travel.as_ref().map(|t| t[..feet].to_vec()),
        ..request.clone()
    }
}

/// A machine on vertical springs, from its stiffness and places alone: nothing of the library's
/// leveling is used. R = K - K B (B'K B)^-1 B'K, T from (B'K B)^-1 B'K, B = [1 x y].
pub struct Plate {
    pub load: DMatrix<f64>,
    pub tilt: [DVector<f64>; 2],
    pub level: DVector<f64>,
}

impl Plate {
    pub fn of(inst: &Installation) -> Self {
        let n = inst.mounts.len();
        let b = DMatrix::from_fn(n, 3, |i, j| {
            [1.0, inst.mounts[i].position.x, inst.mounts[i].position.y][j]
        });
        let k = DMatrix::from_diagonal(&DVector::from_fn(n, |i, _| inst.mounts[i].stiffness[2]));
        let kb = &k * &b;
        let inverse = (b.transpose() * &kb).try_inverse().unwrap();
        let follow = &inverse * kb.transpose();
        let (weight, center) = (inst.body.mass() * STANDARD_GRAVITY, inst.body.center());
        let moment = DVector::from_column_slice(&[weight, weight * center.x, weight * center.y]);
        Self {
            load: &k - &kb * &follow,
            tilt: [follow.row(2).transpose(), -follow.row(1).transpose()],
            level: kb * inverse * moment,
        }
    }
}

/// Rows g'a <= b of unit length, made anew.
pub struct Rows {
    pub kind: Vec<LimitKind>,
    pub g: Vec<DVector<f64>>,
    pub b: Vec<f64>,
    pub exact: Vec<bool>,
}

pub fn rows(inst: &Installation, asked: &Request) -> Rows {
    let plate = Plate::of(inst);
    let n = inst.mounts.len();
    let mut out = Rows { kind: vec![], g: vec![], b: vec![], exact: vec![] };
    let mut add = |kind: LimitKind, g: DVector<f64>, b: f64, exact: bool| {
        let length = g.norm();
        out.kind.push(kind);
        out.g.push(g / length);
        out.b.push(b / length);
        out.exact.push(exact);
    };
    let settled = DVector::from_column_slice(asked.settlement.as_ref().unwrap());
    let tolerance = asked.level_tolerance;
    for (axis, row) in plate.tilt.iter().enumerate() {
        let now = -row.dot(&settled);
        if tolerance == 0.0 {
            add(LimitKind::Level(axis, 0), row.clone(), -now, true);
        } else {
            add(LimitKind::Level(axis, 1), row.clone(), tolerance - now, false);
            add(LimitKind::Level(axis, -1), -row, tolerance + now, false);
        }
    }
    if let Some(band) = asked.load_band {
        for i in 0..n {
            let row = plate.load.row(i).transpose();
            let (off, room) = (-row.dot(&settled), band * plate.level[i].abs());
            add(LimitKind::LoadHigh(i), row.clone(), room - off, false);
            add(LimitKind::LoadLow(i), -row, room + off, false);
        }
    }
    for (i, [low, high]) in asked.travel.iter().flatten().enumerate() {
        let unit = DVector::from_fn(n, |j, _| f64::from(u8::from(i == j)));
        add(LimitKind::Down(i), -&unit, if asked.raise_only { 0.0 } else { -low }, false);
        add(LimitKind::Up(i), unit, *high, false);
    }
    out
}

impl Rows {
    pub fn excess(&self, a: &DVector<f64>) -> f64 {
        (0..self.g.len())
            .map(|i| {
                let over = self.g[i].dot(a) - self.b[i];
                if self.exact[i] { over.abs() } else { over }
            })
            .fold(f64::NEG_INFINITY, f64::max)
    }

    pub fn only(&self, kinds: &[LimitKind]) -> Self {
        let at: Vec<usize> =
            kinds.iter().map(|kind| self.kind.iter().position(|k| k == kind).unwrap()).collect();
        Self {
            kind: kinds.to_vec(),
            g: at.iter().map(|&i| self.g[i].clone()).collect(),
            b: at.iter().map(|&i| self.b[i]).collect(),
            exact: at.iter().map(|&i| self.exact[i]).collect(),
        }
    }

    /// Farkas: rows conflict and any one fewer do not, exactly if one combination of them alone
    /// vanishes, sum lambda g = 0, with lambda > 0 on every row (of either sign on an equation) and
    /// sum lambda b < 0.
    pub fn conflict_and_none_can_be_spared(&self) -> Result<(), TestCaseError> {
        let (m, n) = (self.g.len(), self.g[0].len());
        let gram = DMatrix::from_fn(m, m, |i, j| self.g[i].dot(&self.g[j]));
        prop_assert!(m <= n + 1, "{m} rows of {n} screws");
        let eigen = gram.symmetric_eigen();
        let mut order: Vec<usize> = (0..m).collect();
        order.sort_by(|&i, &j| eigen.eigenvalues[i].total_cmp(&eigen.eigenvalues[j]));
        prop_assert!(eigen.eigenvalues[order[0]].abs() <= 1e-12, "no combination vanishes");
        prop_assert!(m < 2 || eigen.eigenvalues[order[1]] > 1e-12, "more than one vanishes");
        let mut lambda = eigen.eigenvectors.column(order[0]).clone_owned();
        let sum: f64 = lambda.iter().zip(&self.b).map(|(l, b)| l * b).sum();
        if sum > 0.0 {
            lambda = -lambda;
        }
        prop_assert!(sum != 0.0);
        for (l, exact) in lambda.iter().zip(&self.exact) {
            prop_assert!(*l > 0.0 || *exact && l.abs() > 0.0, "{lambda}");
        }
        Ok(())
    }

    /// The least cost of whole steps below `cost`, by trying all of them: by strong convexity none
    /// is farther from the exact optimum than |a - a*|^2 = 2 (J - J*).
    pub fn cheapest(&self, optimum: &[f64], step: f64, cost: f64) -> f64 {
        let least = Objective::LeastMotion.of(optimum);
        let room = 2.0 * (cost - least).max(0.0) * (1.0 + 1e-9);
        let mut best = f64::INFINITY;
        self.near(optimum, step, room, &mut Vec::new(), &mut best);
        best
    }

    pub fn near(&self, optimum: &[f64], step: f64, room: f64, a: &mut Vec<f64>, best: &mut f64) {
        let Some(exact) = optimum.get(a.len()) else {
            if self.excess(&DVector::from_column_slice(a)) <= 1e-11 {
                *best = best.min(Objective::LeastMotion.of(a));
            }
            return;
        };
        let reach = room.max(0.0).sqrt();
        let (first, last) = ((exact - reach) / step, (exact + reach) / step);
        for count in first.ceil() as i64..=last.floor() as i64 {
            a.push(count as f64 * step);
            let off = a[a.len() - 1] - exact;
            self.near(optimum, step, room - off * off, a, best);
            a.pop();
        }
    }

    /// The shortest a that keeps the rows, by trying every active set.
    pub fn shortest(&self) -> Option<DVector<f64>> {
        let n = self.g[0].len();
        let always: Vec<usize> = (0..self.g.len()).filter(|&i| self.exact[i]).collect();
        let free: Vec<usize> = (0..self.g.len()).filter(|&i| !self.exact[i]).collect();
        let mut best: Option<DVector<f64>> = None;
        for size in 0..=n - always.len() {
            for set in subsets(&free, size) {
                let active: Vec<usize> = always.iter().chain(&set).copied().collect();
                let Some(a) = self.on(&active) else { continue };
                let better = best.as_ref().is_none_or(|b| a.norm() < b.norm());
                if better && self.excess(&a) <= 1e-12 {
                    best = Some(a);
                }
            }
            // The optimum is the shortest feasible of all; every smaller set was tried before.
        }
        best
    }

    /// The shortest a with these rows as equations.
    pub fn on(&self, active: &[usize]) -> Option<DVector<f64>> {
        let n = self.g[0].len();
        if active.is_empty() {
            return Some(DVector::zeros(n));
        }
        let m = DMatrix::from_fn(active.len(), n, |i, j| self.g[active[i]][j]);
        let b = DVector::from_fn(active.len(), |i, _| self.b[active[i]]);
        let normal = &m * m.transpose();
        if normal.symmetric_eigenvalues().min() < 1e-10 {
            return None;
        }
        let lu = normal.lu();
        let mut a = m.tr_mul(&lu.solve(&b)?);
        a += m.tr_mul(&lu.solve(&(&b - &m * &a))?);
        Some(a)
    }
}

pub fn subsets(of: &[usize], size: usize) -> Vec<Vec<usize>> {
    if size == 0 {
        return vec![vec![]];
    }
    let mut out = Vec::new();
    for (i, &first) in of.iter().enumerate() {
        for mut rest in subsets(&of[i + 1..], size - 1) {
            rest.insert(0, first);
            out.push(rest);
        }
    }
    out
}
