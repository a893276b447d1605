//! What stands beside the tool: cushions, slide stops, and the pulse on a rigid press.

use pyo3::prelude::*;

use super::body::vector;
use super::convert::{list, scalar, vector3};
use super::error::to_py;
use super::forming::{PyBreakThrough, optional};
use super::labeled::array;
use super::stored::stored;
use crate::excitation::equivalent_pulse::Swing;
use crate::excitation::{Cushion, EquivalentPulse, SlideStop};
use crate::units::Dimension;

/// Nitrogen cylinders or a cushion between slide and bed: a step at contact, gone on the return.
///
/// Parameters
/// ----------
/// force : float, str or quantity
///     At contact, N.
/// contact, release : float, str or quantity
///     When the slide meets it and leaves it, s on the clock of the work force.
/// final_force : float, str or quantity, optional
///     When it is left, N; by default the same.
/// name : str
///     Name.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "Cushion", module = "underfoot")]
pub struct PyCushion(pub Cushion);

#[pymethods]
impl PyCushion {
    #[new]
    #[pyo3(signature = (force, contact, release, final_force=None, name=""))]
    fn new(
        force: &Bound<'_, PyAny>,
        contact: &Bound<'_, PyAny>,
        release: &Bound<'_, PyAny>,
        final_force: Option<&Bound<'_, PyAny>>,
        name: &str,
    ) -> PyResult<Self> {
        let force = scalar(force, "force", Dimension::FORCE)?;
        Cushion {
            name: name.into(),
            force,
            final_force: optional(final_force, "final_force", Dimension::FORCE)?.unwrap_or(force),
            contact: scalar(contact, "contact", Dimension::TIME)?,
            release: scalar(release, "release", Dimension::TIME)?,
        }
        .checked()
        .map(Self)
        .map_err(to_py)
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// At contact, N.
    #[getter]
    fn force(&self) -> f64 {
        self.0.force
    }

    /// When it is left, N.
    #[getter]
    fn final_force(&self) -> f64 {
        self.0.final_force
    }

    /// When the slide meets it, s.
    #[getter]
    fn contact(&self) -> f64 {
        self.0.contact
    }

    /// When the slide leaves it, s.
    #[getter]
    fn release(&self) -> f64 {
        self.0.release
    }

    fn __repr__(&self) -> String {
        let c = &self.0;
        format!("Cushion(force={} N, contact={} s, release={} s)", c.force, c.contact, c.release)
    }
}
stored!(PyCushion, Cushion);

/// A stop block or a break-through damper cylinder between slide and bed, beside the tool.
///
/// It carries k (height - w) - c w' for w < height, w the elastic motion of the slide against the bed; it
/// only pushes.
///
/// Parameters
/// ----------
/// height : float, str or quantity
///     Of the slide above its place at rest where it touches, m: positive for a damper that touches before
///     the break, negative for a block.
/// stiffness : float, str or quantity, optional
///     N/m.
/// damping : float, str or quantity, optional
///     N s/m.
/// name : str
///     Name.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "SlideStop", module = "underfoot")]
pub struct PySlideStop(pub SlideStop);

#[pymethods]
impl PySlideStop {
    #[new]
    #[pyo3(signature = (height, stiffness=None, damping=None, name=""))]
    fn new(
        height: &Bound<'_, PyAny>,
        stiffness: Option<&Bound<'_, PyAny>>,
        damping: Option<&Bound<'_, PyAny>>,
        name: &str,
    ) -> PyResult<Self> {
        let height = scalar(height, "height", Dimension::LENGTH)?;
        let k = optional(stiffness, "stiffness", Dimension::STIFFNESS)?.unwrap_or_default();
        let c = optional(damping, "damping", Dimension::DAMPING)?.unwrap_or_default();
        SlideStop::new(name, height, k, c).map(Self).map_err(to_py)
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Where it touches, m.
    #[getter]
    fn height(&self) -> f64 {
        self.0.height
    }

    /// N/m.
    #[getter]
    fn stiffness(&self) -> f64 {
        self.0.stiffness
    }

    /// N s/m.
    #[getter]
    fn damping(&self) -> f64 {
        self.0.damping
    }

    fn __repr__(&self) -> String {
        let s = &self.0;
        format!(
            "SlideStop(height={} m, stiffness={} N/m, damping={} N s/m)",
            s.height, s.stiffness, s.damping
        )
    }
}
stored!(PySlideStop, SlideStop);

/// The net inertial force of snap-through on a rigid press, for `Installation.shock`.
///
/// q'' / w^2 + 2 zeta q' / w + q = F(t), f(t) = -share q'' / w^2: not the cutting force, which is internal.
/// It suffices for the force on the floor where the frame's frequency is at least three times the stiffest
/// mode on the mounts, and mounts have no loss factor; `Installation.equivalent_pulse` makes it from
/// a press, with both swings of its frame, and says whether it does.
///
/// Parameters
/// ----------
/// force : BreakThrough
///     The work force.
/// frequency : float, str or quantity
///     Of the frame, mounts taken away, Hz.
/// damping_ratio : float, str or quantity, optional
///     Of the frame; 0.03 (common practice, 0.01 to 0.05).
/// share : float, str or quantity, optional
///     Stretch under unit force, times mass, summed over crown and slide, times w^2; 1.
/// point : (3,), optional
///     Where it acts, m; by default at the center of mass.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "EquivalentPulse", module = "underfoot")]
pub struct PyEquivalentPulse(pub EquivalentPulse);

#[pymethods]
impl PyEquivalentPulse {
    #[new]
    #[pyo3(signature = (force, frequency, damping_ratio=None, share=None, point=None))]
    fn new(
        force: PyRef<'_, PyBreakThrough>,
        frequency: &Bound<'_, PyAny>,
        damping_ratio: Option<&Bound<'_, PyAny>>,
        share: Option<&Bound<'_, PyAny>>,
        point: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let swing = Swing {
            frequency: scalar(frequency, "frequency", Dimension::FREQUENCY)?,
            damping_ratio: optional(damping_ratio, "damping_ratio", Dimension::RATIO)?
                .unwrap_or(0.03),
            share: optional(share, "share", Dimension::RATIO)?.unwrap_or(1.0),
        };
        let point = point.map(|p| vector3(p, "point", Dimension::LENGTH)).transpose()?;
        EquivalentPulse::new(force.0.knots(), vec![swing], point).map(Self).map_err(to_py)
    }

    /// Slowest swing of the frame, Hz.
    #[getter]
    fn frequency(&self) -> f64 {
        self.0.frequency()
    }

    /// (frequency in Hz, damping ratio, share) of each swing of the frame.
    #[getter]
    fn swings(&self) -> Vec<(f64, f64, f64)> {
        self.0.swings.iter().map(|s| (s.frequency, s.damping_ratio, s.share)).collect()
    }

    /// Where it acts (3,), m.
    #[getter]
    fn point<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        self.0.point.map(|p| vector(py, &p)).transpose()
    }

    /// Force (time,) at each time, N, up positive.
    ///
    /// Parameters
    /// ----------
    /// time : (time,)
    ///     s.
    ///
    /// Returns
    /// -------
    /// array (time,)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    fn value<'py>(&self, py: Python<'py>, time: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        let time = list(time, "time", Dimension::TIME)?;
        let segments = self.0.segments();
        let at = |t: f64| -> f64 {
            segments.iter().filter(|s| s.start <= t && t < s.end).map(|s| s.value(t)).sum()
        };
        array(py, time.into_iter().map(at).collect::<ndarray::Array1<f64>>())
    }

    fn __repr__(&self) -> String {
        format!(
            "EquivalentPulse(frequency={:.4} Hz, {} swings)",
            self.0.frequency(),
            self.0.swings.len()
        )
    }
}
stored!(PyEquivalentPulse, EquivalentPulse);
