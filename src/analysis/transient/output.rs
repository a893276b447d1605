//! Quantities that follow from the state and the loads: y = rows u + feed f.

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
use crate::system::{Axis, Linear, Port};

const LENGTH: [&str; 3] = ["m", "m/s", "m/s^2"];
const ANGLE: [&str; 3] = ["rad", "rad/s", "rad/s^2"];

/// A quantity with one or more components, as a linear function of state and load. It belongs to
/// the [`Transient`](super::Transient) that made it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Output {
    /// Names of the components ("press.z", "front left.x").
    pub names: Vec<String>,
    /// Unit of each component.
    pub units: Vec<String>,
    pub(super) rows: DMatrix<f64>,
    /// One column for each load.
    pub(super) feed: DMatrix<f64>,
    /// What multiplies the signals of a Fourier transform; no columns where there is none.
    pub(super) correction: DMatrix<f64>,
}

impl Output {
    /// Number of components.
    pub fn len(&self) -> usize {
        self.names.len()
    }

    /// True if it has no component (a machine without mounts has no mount force).
    pub fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    /// One number as a weighted sum of the components of several outputs; for quantities such as
    /// the motion of one point against another or the force in two mounts together. Weights have
    /// the order of the components; the unit is that of the first component.
    pub fn combined(&self, name: &str, weights: &[f64]) -> Result<Self> {
        if weights.len() != self.len() || self.is_empty() {
            return Err(Error::Shape {
                argument: "weights".to_string(),
                found: format!("({},)", weights.len()),
                expected: format!("({},), one entry for each component,", self.len()),
            });
        }
        let w = DVector::from_column_slice(weights);
        Ok(Self {
            names: vec![name.to_string()],
            units: vec![self.units[0].clone()],
            rows: row(self.rows.tr_mul(&w)),
            feed: row(self.feed.tr_mul(&w)),
            correction: row(self.correction.tr_mul(&w)),
        })
    }

    /// Components as one list, those of `self` first. Both must come from the same transient.
    pub fn joined(&self, other: &Self) -> Result<Self> {
        let same = self.rows.ncols() == other.rows.ncols()
            && self.feed.ncols() == other.feed.ncols()
            && self.correction.ncols() == other.correction.ncols();
        if !same {
            return Err(Error::Shape {
                argument: "other".to_string(),
                found: format!("({},) states", other.rows.ncols()),
                expected: format!("({},) states, of the same transient,", self.rows.ncols()),
            });
        }
        Ok(Self {
            names: self.names.iter().chain(&other.names).cloned().collect(),
            units: self.units.iter().chain(&other.units).cloned().collect(),
            rows: below(&self.rows, &other.rows),
            feed: below(&self.feed, &other.feed),
            correction: below(&self.correction, &other.correction),
        })
    }

    /// The same with what multiplies the signals of a Fourier transform.
    pub(super) fn corrected(self, correction: DMatrix<f64>) -> Self {
        Self { correction, ..self }
    }

    pub(super) fn value(&self, u: &[f64], f: &[f64]) -> DVector<f64> {
        DVector::from_fn(self.len(), |i, _| {
            let (row, feed) = (self.rows.row(i), self.feed.row(i));
            let free = row.iter().zip(u).map(|(c, x)| c * x).sum::<f64>();
            free + feed.iter().zip(f).map(|(c, f)| c * f).sum::<f64>()
        })
    }

    /// `order` derivatives of the displacement of the degrees of freedom.
    pub(super) fn of_dofs(
        linear: &Linear,
        rows: DMatrix<f64>,
        feed: DMatrix<f64>,
        order: usize,
    ) -> Self {
        Self {
            names: linear.dofs.iter().map(ToString::to_string).collect(),
            units: linear.dofs.iter().map(|d| unit(d.axis, order)).collect(),
            feed,
            correction: DMatrix::zeros(rows.nrows(), 0),
            rows,
        }
    }

    pub(super) fn of_point(
        port: &Port,
        rows: &DMatrix<f64>,
        feed: &DMatrix<f64>,
        order: usize,
    ) -> Result<Self> {
        if port.b.shape() != (rows.nrows(), 6) {
            return Err(Error::Shape {
                argument: format!("port {:?}", port.name),
                found: format!("{:?}", port.b.shape()),
                expected: format!("({}, 6), degrees of freedom by coordinates,", rows.nrows()),
            });
        }
        let bt = port.b.transpose();
        Ok(Self {
            names: Axis::ALL.iter().map(|a| format!("{}.{}", port.name, a.name())).collect(),
            units: Axis::ALL.iter().map(|&a| unit(a, order)).collect(),
            rows: &bt * rows,
            feed: &bt * feed,
            correction: DMatrix::zeros(6, 0),
        })
    }

    /// Forces in N of named parts, each with the same components.
    pub(super) fn forces(
        parts: Vec<(String, DMatrix<f64>)>,
        components: &[&str],
        size: usize,
        loads: usize,
    ) -> Self {
        let r = components.len();
        let mut rows = DMatrix::zeros(r * parts.len(), size);
        let mut names = Vec::with_capacity(r * parts.len());
        for (i, (name, part)) in parts.iter().enumerate() {
            rows.rows_mut(r * i, r).copy_from(part);
            names.extend(components.iter().map(|c| format!("{name}.{c}")));
        }
        let feed = DMatrix::zeros(names.len(), loads);
        let correction = DMatrix::zeros(names.len(), 0);
        Self { units: vec!["N".to_string(); names.len()], names, rows, feed, correction }
    }

    pub(super) fn wrench(rows: DMatrix<f64>, loads: usize) -> Self {
        Self {
            names: Axis::ALL.iter().map(|a| a.name().to_string()).collect(),
            units: (0..6).map(|i| if i < 3 { "N" } else { "N m" }.to_string()).collect(),
            rows,
            feed: DMatrix::zeros(6, loads),
            correction: DMatrix::zeros(6, 0),
        }
    }
}

fn unit(axis: Axis, order: usize) -> String {
    let turns = matches!(axis, Axis::Rx | Axis::Ry | Axis::Rz);
    if turns { ANGLE[order] } else { LENGTH[order] }.to_string()
}

/// One below the other.
fn below(above: &DMatrix<f64>, more: &DMatrix<f64>) -> DMatrix<f64> {
    let mut out = DMatrix::zeros(above.nrows() + more.nrows(), above.ncols());
    out.rows_mut(0, above.nrows()).copy_from(above);
    out.rows_mut(above.nrows(), more.nrows()).copy_from(more);
    out
}

fn row(entries: DVector<f64>) -> DMatrix<f64> {
    DMatrix::from_row_slice(1, entries.len(), entries.as_slice())
}
