//! Quantities of a motion with contacts: those of the linear system at rest, and what each part
//! that is not as at rest adds.

use nalgebra::{DMatrix, DVector};

use super::model::Pattern;
use super::motion::HybridMotion;
use crate::analysis::transient::Output;
use crate::error::{Error, Result};
use crate::system::{Footprint, Port};

/// A quantity with one or more components. It belongs to the motion that made it.
#[derive(Debug, Clone, PartialEq)]
pub struct HybridOutput {
    /// Names of the components.
    pub names: Vec<String>,
    /// Unit of each component.
    pub units: Vec<String>,
    /// On the states.
    pub(super) rows: DMatrix<f64>,
    /// On the loads.
    pub(super) feed: DMatrix<f64>,
    /// On the force of each part beyond that at rest.
    pub(super) parts: Vec<DMatrix<f64>>,
    /// What stays, such as a force at rest.
    pub(super) constant: DVector<f64>,
}

/// A quantity in one pattern: constant + rows u + feed f.
#[derive(Debug, Clone)]
pub(super) struct Seen {
    pub constant: Vec<f64>,
    pub rows: Vec<Vec<f64>>,
    pub feed: Vec<Vec<f64>>,
}

impl HybridOutput {
    /// Number of components.
    pub fn len(&self) -> usize {
        self.names.len()
    }

    /// True if it has no component.
    pub fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    /// The same with a constant added to each component, in its unit.
    #[must_use]
    pub fn with_constant(mut self, constant: &[f64]) -> Self {
        self.constant += DVector::from_column_slice(constant);
        self
    }

    /// One number as a weighted sum of the components; the unit is that of the first.
    ///
    /// # Errors
    /// [`Error::Shape`] for another number of weights.
    pub fn combined(&self, name: &str, weights: &[f64]) -> Result<Self> {
        if weights.len() != self.len() || self.is_empty() {
            return Err(Error::Shape {
                argument: "weights".into(),
                found: format!("({},)", weights.len()),
                expected: format!("({},), one entry for each component,", self.len()),
            });
        }
        let w = DMatrix::from_row_slice(1, weights.len(), weights);
        Ok(Self {
            names: vec![name.into()],
            units: vec![self.units[0].clone()],
            rows: &w * &self.rows,
            feed: &w * &self.feed,
            parts: self.parts.iter().map(|p| &w * p).collect(),
            constant: &w * &self.constant,
        })
    }

    /// Components as one list, those of `self` first. Both must come from the same motion.
    ///
    /// # Errors
    /// [`Error::Shape`] for another number of states or parts.
    pub fn joined(&self, other: &Self) -> Result<Self> {
        let fits = |a: &DMatrix<f64>, b: &DMatrix<f64>| a.ncols() == b.ncols();
        let parts = self.parts.len() == other.parts.len()
            && self.parts.iter().zip(&other.parts).all(|(a, b)| fits(a, b));
        if !(parts && fits(&self.rows, &other.rows) && fits(&self.feed, &other.feed)) {
            return Err(Error::Shape {
                argument: "other".into(),
                found: format!("({},) states", other.rows.ncols()),
                expected: format!("({},) states, of the same motion,", self.rows.ncols()),
            });
        }
        let (r, all) = (self.len(), self.len() + other.len());
        let below = |a: &DMatrix<f64>, b: &DMatrix<f64>| {
            let mut out = a.clone().resize_vertically(all, 0.0);
            out.rows_mut(r, b.nrows()).copy_from(b);
            out
        };
        let mut constant = self.constant.clone().resize_vertically(all, 0.0);
        constant.rows_mut(r, other.len()).copy_from(&other.constant);
        Ok(Self {
            names: self.names.iter().chain(&other.names).cloned().collect(),
            units: self.units.iter().chain(&other.units).cloned().collect(),
            rows: below(&self.rows, &other.rows),
            feed: below(&self.feed, &other.feed),
            parts: self.parts.iter().zip(&other.parts).map(|(a, b)| below(a, b)).collect(),
            constant,
        })
    }

    pub(super) fn in_pattern(&self, pattern: &Pattern) -> Seen {
        let (mut rows, mut constant) = (self.rows.clone(), self.constant.clone());
        for (part, excess) in self.parts.iter().zip(&pattern.excess) {
            if let Some(force) = excess {
                rows += part * &force.rows;
                constant += part * &force.constant;
            }
        }
        let lists = |m: &DMatrix<f64>| {
            m.row_iter().map(|r| r.iter().copied().collect()).collect::<Vec<Vec<f64>>>()
        };
        Seen {
            constant: constant.iter().copied().collect(),
            rows: lists(&rows),
            feed: lists(&self.feed),
        }
    }
}

impl HybridMotion {
    /// A quantity of the linear system with what loads and parts add to it.
    fn wrapped(
        &self,
        output: &Output,
        feeds: Option<&DMatrix<f64>>,
        part: impl Fn(usize, usize) -> Option<DMatrix<f64>>,
    ) -> HybridOutput {
        let count = output.len();
        let loads = self.model.inputs.len();
        let gaps = self.system().gaps.iter().enumerate();
        let parts = gaps.map(|(i, gap)| {
            let r = self.model.parts[i].input.ncols();
            part(i, gap.element).unwrap_or_else(|| DMatrix::zeros(count, r))
        });
        HybridOutput {
            names: output.names.clone(),
            units: output.units.clone(),
            rows: output.parts().0.clone(),
            feed: feeds.cloned().unwrap_or_else(|| DMatrix::zeros(count, loads)),
            parts: parts.collect(),
            constant: DVector::zeros(count),
        }
    }

    /// n x loads: M^-1 g of each load.
    fn feeds(&self) -> DMatrix<f64> {
        let n = self.system().base.size();
        DMatrix::from_fn(n, self.model.feeds.len(), |i, l| self.model.feeds[l][i])
    }

    /// Displacement of every degree of freedom, m and rad.
    pub fn displacement(&self) -> HybridOutput {
        self.wrapped(&self.base.displacement(), None, |_, _| None)
    }

    /// Velocity of every degree of freedom, m/s and rad/s.
    pub fn velocity(&self) -> HybridOutput {
        self.wrapped(&self.base.velocity(), None, |_, _| None)
    }

    /// Acceleration of every degree of freedom, m/s^2 and rad/s^2.
    pub fn acceleration(&self) -> HybridOutput {
        let output = self.base.acceleration();
        self.wrapped(&output, Some(&self.feeds()), |i, _| {
            Some(self.model.parts[i].acceleration.clone())
        })
    }

    /// Displacement of a point, x y z rx ry rz, m and rad.
    ///
    /// # Errors
    /// [`Error::Shape`] for a port of another system.
    pub fn point_displacement(&self, port: &Port) -> Result<HybridOutput> {
        Ok(self.wrapped(&self.base.point_displacement(port)?, None, |_, _| None))
    }

    /// Velocity of a point, m/s and rad/s.
    ///
    /// # Errors
    /// [`Error::Shape`] for a port of another system.
    pub fn point_velocity(&self, port: &Port) -> Result<HybridOutput> {
        Ok(self.wrapped(&self.base.point_velocity(port)?, None, |_, _| None))
    }

    /// Acceleration of a point, m/s^2 and rad/s^2.
    ///
    /// # Errors
    /// [`Error::Shape`] for a port of another system.
    pub fn point_acceleration(&self, port: &Port) -> Result<HybridOutput> {
        let output = self.base.point_acceleration(port)?;
        let bt = self.system().base.widened(&port.b).transpose();
        let feeds = &bt * self.feeds();
        Ok(self
            .wrapped(&output, Some(&feeds), |i, _| Some(&bt * &self.model.parts[i].acceleration)))
    }

    /// Force of each mount (grounded element, in order) on the ground beyond that at rest, x y z of
    /// each, N.
    pub fn mount_force(&self) -> HybridOutput {
        let output = self.base.mount_force();
        let elements = &self.system().base.elements;
        let grounded: Vec<usize> =
            (0..elements.len()).filter(|&i| elements[i].ground.is_some()).collect();
        self.wrapped(&output, None, |_, element| {
            let place = grounded.iter().position(|&i| i == element)?;
            let foot = elements[element].ground.as_ref()?;
            let mut more = DMatrix::zeros(output.len(), foot.wrench.ncols());
            more.rows_mut(3 * place, 3).copy_from(&foot.wrench.rows(0, 3));
            Some(more)
        })
    }

    /// Wrench on the ground beyond that at rest, about [`crate::system::Linear::reference`], N and
    /// N m.
    pub fn ground_wrench(&self) -> HybridOutput {
        let base = &self.system().base;
        let about = |foot: &Footprint| foot.about(&base.reference);
        self.wrapped(&self.base.ground_wrench(), None, |_, element| {
            base.elements[element].ground.as_ref().map(about)
        })
    }

    /// Force of an element on the far side of its port beyond that at rest, N.
    pub fn element_force(&self, element: usize) -> Option<HybridOutput> {
        let output = self.base.element_force(element)?;
        let r = output.len();
        Some(
            self.wrapped(&output, None, |_, own| (own == element).then(|| DMatrix::identity(r, r))),
        )
    }

    /// Coordinate e of part i (of [`crate::system::Hybrid::gaps`]), m.
    pub fn coordinate(&self, gap: usize) -> Option<HybridOutput> {
        let part = self.model.parts.get(gap)?;
        let (constant, row) = &part.coordinate;
        let loads = self.model.inputs.len();
        Some(HybridOutput {
            names: vec![part.name.clone()],
            units: vec!["m".into()],
            rows: DMatrix::from_row_slice(1, row.len(), row),
            feed: DMatrix::zeros(1, loads),
            parts: self.model.parts.iter().map(|p| DMatrix::zeros(1, p.input.ncols())).collect(),
            constant: DVector::from_element(1, *constant),
        })
    }

    /// Components at time t (s, from 0 to the duration); just after a change of contact.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a time outside the motion.
    pub fn at(&self, output: &HybridOutput, t: f64) -> Result<DVector<f64>> {
        if !(0.0..=self.duration).contains(&t) {
            return Err(Error::invalid(
                "time",
                format!("{t} s"),
                format!("must lie between 0 and the duration, {} s", self.duration),
                "ask for a time inside the motion or give a longer duration",
            ));
        }
        let index = self.steps.partition_point(|s| s.start <= t).saturating_sub(1);
        let Some(step) = self.steps.get(index) else {
            return Ok(DVector::zeros(output.len()));
        };
        let seen = output.in_pattern(&self.patterns[step.pattern]);
        let series = self.series(step);
        let s = ((t - step.start) / step.length).clamp(0.0, 1.0);
        let value = |i: usize| {
            super::polynomial::value(
                &series.through(seen.constant[i], &seen.rows[i], &seen.feed[i]),
                s,
            )
        };
        Ok(DVector::from_fn(output.len(), |i, _| value(i)))
    }

    /// The quantity at t = 0, dt, 2 dt ... up to the duration (time, component).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a step that is not positive or leaves too many values.
    pub fn sample(&self, outputs: &[&HybridOutput], dt: f64) -> Result<Vec<ndarray::Array2<f64>>> {
        crate::error::positive("dt", dt, "s")?;
        let count = (self.duration / dt * (1.0 + 1e-12)).floor() + 1.0;
        let components: usize = outputs.iter().map(|o| o.len()).sum();
        if count * components as f64 > MOST_VALUES {
            return Err(Error::invalid(
                "dt",
                format!("{dt} s"),
                format!("must leave at most {MOST_VALUES:.0e} values"),
                "give a greater dt or a shorter duration; peaks do not depend on dt",
            ));
        }
        let count = count as usize;
        let mut tables: Vec<_> =
            outputs.iter().map(|o| ndarray::Array2::zeros((count, o.len()))).collect();
        let seen: Vec<Vec<Seen>> = outputs
            .iter()
            .map(|o| self.patterns.iter().map(|p| o.in_pattern(p)).collect())
            .collect();
        let mut next = 0;
        for (index, step) in self.steps.iter().enumerate() {
            let last = index + 1 == self.steps.len();
            let within = |i: usize| {
                let t = i as f64 * dt;
                last || t < step.start + step.length
            };
            if next >= count || !within(next) {
                continue;
            }
            let series = self.series(step);
            while next < count && within(next) {
                let s = ((next as f64 * dt - step.start) / step.length).clamp(0.0, 1.0);
                let state = series.at(s);
                let loads: Vec<f64> =
                    series.loads.iter().map(|f| super::polynomial::value(f, s)).collect();
                for (table, seen) in tables.iter_mut().zip(&seen) {
                    let seen = &seen[step.pattern];
                    for i in 0..seen.rows.len() {
                        let dot = |a: &[f64], b: &[f64]| -> f64 {
                            a.iter().zip(b).map(|(a, b)| a * b).sum()
                        };
                        table[[next, i]] = seen.constant[i]
                            + dot(&seen.rows[i], &state)
                            + dot(&seen.feed[i], &loads);
                    }
                }
                next += 1;
            }
        }
        Ok(tables)
    }
}

/// More numbers than this in one answer is an input error.
const MOST_VALUES: f64 = 2e8;
