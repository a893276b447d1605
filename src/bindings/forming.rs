//! Work forces: blanking and break-through.

use ndarray::Array2;
use pyo3::prelude::*;

use super::body::vector;
use super::convert::{scalar, vector3};
use super::error::to_py;
use super::force_curve::{PyForceCurve, PyTimeCurve};
use super::labeled::array;
use super::slide::{PySlideDrive, rate};
use super::stored::stored;
use crate::excitation::forming::Punch;
use crate::excitation::{Blanking, BreakThrough, Work};
use crate::units::Dimension;

pub(super) fn optional(
    value: Option<&Bound<'_, PyAny>>,
    name: &str,
    dimension: Dimension,
) -> PyResult<Option<f64>> {
    value.map(|v| scalar(v, name, dimension)).transpose()
}

pub(super) fn pairs<'py>(py: Python<'py>, knots: &[[f64; 2]]) -> PyResult<Bound<'py, PyAny>> {
    array(
        py,
        Array2::from_shape_fn((knots.len(), 2), |(i, j)| {
            knots.get(i).and_then(|k| k.get(j)).copied().unwrap_or_default()
        }),
    )
}

/// A work force of either class; `None`: something else.
pub(super) fn work_of(force: &Bound<'_, PyAny>) -> Option<Work> {
    if let Ok(force) = force.cast::<PyBreakThrough>() {
        return Some(force.get().0.clone().into());
    }
    force.cast::<PyTimeCurve>().ok().map(|curve| curve.get().0.clone().into())
}

/// A work force that rises, softens and breaks off, over time: straight lines.
///
/// It acts between slide and bed: its resultant on the press is nothing.
///
/// Parameters
/// ----------
/// force : float, str or quantity
///     Greatest force, N.
/// rise, release : float, str or quantity
///     Time to the greatest force; break-through time, s.
/// softened_to : float, str or quantity, optional
///     Part of the force at which the material breaks; 1.
/// softening_time : float, str or quantity, optional
///     Time in which it softens so far, s.
/// residual : float, str or quantity, optional
///     Part of the force that friction and the stripper hold after the break; 0.
/// residual_time : float, str or quantity, optional
///     Time in which that falls to nothing, s.
/// dwell : float, str or quantity, optional
///     Time at the greatest force, s.
/// point : (3,), optional
///     Where the tool is, m; by default below the slide. It changes guide loads and where the bed is
///     looked at.
/// stroke_rate_spm : float, str or quantity, optional
///     Strokes per minute: to see that the force ends within the stroke.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "BreakThrough", module = "underfoot")]
pub struct PyBreakThrough(pub BreakThrough);

#[pymethods]
impl PyBreakThrough {
    #[new]
    #[pyo3(signature = (force, rise, release, *, softened_to=None, softening_time=None,
                        residual=None, residual_time=None, dwell=None, point=None,
                        stroke_rate_spm=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        force: &Bound<'_, PyAny>,
        rise: &Bound<'_, PyAny>,
        release: &Bound<'_, PyAny>,
        softened_to: Option<&Bound<'_, PyAny>>,
        softening_time: Option<&Bound<'_, PyAny>>,
        residual: Option<&Bound<'_, PyAny>>,
        residual_time: Option<&Bound<'_, PyAny>>,
        dwell: Option<&Bound<'_, PyAny>>,
        point: Option<&Bound<'_, PyAny>>,
        stroke_rate_spm: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let time =
            |value, name| optional(value, name, Dimension::TIME).map(Option::unwrap_or_default);
        let part = |value, name| optional(value, name, Dimension::RATIO);
        BreakThrough {
            force: scalar(force, "force", Dimension::FORCE)?,
            rise: scalar(rise, "rise", Dimension::TIME)?,
            dwell: time(dwell, "dwell")?,
            softening_time: time(softening_time, "softening_time")?,
            softened_to: part(softened_to, "softened_to")?.unwrap_or(1.0),
            release: scalar(release, "release", Dimension::TIME)?,
            residual: part(residual, "residual")?.unwrap_or_default(),
            residual_time: time(residual_time, "residual_time")?,
            point: point.map(|p| vector3(p, "point", Dimension::LENGTH)).transpose()?,
            stroke_rate_spm: stroke_rate_spm.map(rate).transpose()?,
        }
        .checked()
        .map(Self)
        .map_err(to_py)
    }

    /// The force of a blank under a slide that meets the sheet at a height above bottom dead center: each
    /// time is the way of that part over the speed at contact.
    ///
    /// Parameters
    /// ----------
    /// blank : Blanking
    ///     All cut at once; staggered punches break one after the other, see `ForceCurve.under`.
    /// drive : SlideDrive
    /// stroke_rate_spm : float, str or quantity
    ///     Strokes per minute.
    /// height : float, str or quantity
    ///     Above bottom dead center, m.
    ///
    /// Returns
    /// -------
    /// BreakThrough
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     For a slide that stands there, a height outside the stroke, or a break that outlasts it.
    /// UnitError
    #[staticmethod]
    fn of_blank(
        blank: PyRef<'_, PyBlanking>,
        drive: PyRef<'_, PySlideDrive>,
        stroke_rate_spm: &Bound<'_, PyAny>,
        height: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let height = scalar(height, "height", Dimension::LENGTH)?;
        BreakThrough::of_blank(&blank.0, &drive.0, rate(stroke_rate_spm)?, height)
            .map(Self)
            .map_err(to_py)
    }

    /// Strokes per minute, where they are known.
    #[getter]
    fn stroke_rate_spm(&self) -> Option<f64> {
        self.0.stroke_rate_spm
    }

    /// Greatest force, N.
    #[getter]
    fn force(&self) -> f64 {
        self.0.force
    }

    /// Time to the greatest force, s.
    #[getter]
    fn rise(&self) -> f64 {
        self.0.rise
    }

    /// Break-through time, s.
    #[getter]
    fn release(&self) -> f64 {
        self.0.release
    }

    /// Part of the force at which the material breaks.
    #[getter]
    fn softened_to(&self) -> f64 {
        self.0.softened_to
    }

    /// Time in which it softens so far, s.
    #[getter]
    fn softening_time(&self) -> f64 {
        self.0.softening_time
    }

    /// Part of the force that is left after the break.
    #[getter]
    fn residual(&self) -> f64 {
        self.0.residual
    }

    /// Time in which that falls to nothing, s.
    #[getter]
    fn residual_time(&self) -> f64 {
        self.0.residual_time
    }

    /// Time at the greatest force, s.
    #[getter]
    fn dwell(&self) -> f64 {
        self.0.dwell
    }

    /// Where the tool is (3,), m.
    #[getter]
    fn point<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        self.0.point.map(|p| vector(py, &p)).transpose()
    }

    /// When the material begins to break, s.
    #[getter]
    fn breaks_at(&self) -> f64 {
        self.0.breaks_at()
    }

    /// When the force is over, s.
    #[getter]
    fn end(&self) -> f64 {
        self.0.end()
    }

    /// Knots (knot, 2): s and N.
    #[getter]
    fn knots<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        pairs(py, &self.0.knots())
    }

    fn __repr__(&self) -> String {
        format!(
            "BreakThrough(force={} N, rise={} s, softened_to={}, release={} s, residual={})",
            self.0.force, self.0.rise, self.0.softened_to, self.0.release, self.0.residual
        )
    }
}
stored!(PyBreakThrough, BreakThrough);

/// Cutting a sheet: F = S t L, with shear on the tool and staggered punches.
///
/// Parameters
/// ----------
/// perimeter, thickness : float, str or quantity
///     Length of cut and thickness, m.
/// shear_strength : float, str or quantity
///     Pa; 0.7 of the tensile strength where that alone is known.
/// penetration : float, str or quantity
///     Part of the thickness that is penetrated when it breaks: soft aluminum 0.60, low-carbon steel
///     0.38, 0.5 % carbon annealed 0.24 (press-tool text, read in an extract).
/// shear_height : float, str or quantity, optional
///     Height of the shear on the tool, m.
/// punches : sequence of (share, later)
///     Part of the length of cut of each punch, and how much later it meets the sheet, m.
/// softened_to : float, str or quantity, optional
///     Part of the force that is left when it breaks; 1.
/// tear : float, str or quantity, optional
///     Part of the remaining thickness over which it breaks; 0.1 (common practice, 0.02 to 0.3).
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "Blanking", module = "underfoot")]
pub struct PyBlanking(pub Blanking);

#[pymethods]
impl PyBlanking {
    #[new]
    #[pyo3(signature = (perimeter, thickness, shear_strength, penetration, *, shear_height=None,
                        punches=vec![], softened_to=None, tear=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        perimeter: &Bound<'_, PyAny>,
        thickness: &Bound<'_, PyAny>,
        shear_strength: &Bound<'_, PyAny>,
        penetration: &Bound<'_, PyAny>,
        shear_height: Option<&Bound<'_, PyAny>>,
        punches: Vec<(f64, Bound<'_, PyAny>)>,
        softened_to: Option<&Bound<'_, PyAny>>,
        tear: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let mut blank = Blanking::new(
            scalar(perimeter, "perimeter", Dimension::LENGTH)?,
            scalar(thickness, "thickness", Dimension::LENGTH)?,
            scalar(shear_strength, "shear_strength", Dimension::PRESSURE)?,
            scalar(penetration, "penetration", Dimension::RATIO)?,
        )
        .map_err(to_py)?;
        if let Some(height) = optional(shear_height, "shear_height", Dimension::LENGTH)? {
            blank.shear_height = height;
        }
        for (share, later) in punches {
            let later = scalar(&later, "punches", Dimension::LENGTH)?;
            blank.punches.push(Punch { share, later });
        }
        if let Some(part) = optional(softened_to, "softened_to", Dimension::RATIO)? {
            blank.softened_to = part;
        }
        if let Some(part) = optional(tear, "tear", Dimension::RATIO)? {
            blank.tear = part;
        }
        blank.checked().map(Self).map_err(to_py)
    }

    /// Greatest force with shear and stagger, N.
    #[getter]
    fn force(&self) -> f64 {
        self.0.force()
    }

    /// Force if all is cut at once by a flat tool, N.
    #[getter]
    fn flat_force(&self) -> f64 {
        self.0.flat_force()
    }

    /// Force over the way of the slide.
    #[getter]
    fn curve(&self) -> PyForceCurve {
        PyForceCurve(self.0.curve())
    }

    /// Work of the cut, J.
    #[getter]
    fn forming_energy(&self) -> f64 {
        self.0.curve().forming_energy()
    }

    /// The break-through under a slide that comes down at a speed: each time is its way over the speed.
    ///
    /// Parameters
    /// ----------
    /// speed : float, str or quantity
    ///     Of the slide at contact, m/s.
    /// point : (3,), optional
    ///     Where the tool is, m.
    ///
    /// Returns
    /// -------
    /// BreakThrough
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    #[pyo3(signature = (speed, point=None))]
    fn break_through(
        &self,
        speed: &Bound<'_, PyAny>,
        point: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyBreakThrough> {
        let speed = scalar(speed, "speed", Dimension::VELOCITY)?;
        let point = point.map(|p| vector3(p, "point", Dimension::LENGTH)).transpose()?;
        BreakThrough::at_speed(&self.0, speed)
            .and_then(|force| BreakThrough { point, ..force }.checked())
            .map(PyBreakThrough)
            .map_err(to_py)
    }

    /// Length of cut, m.
    #[getter]
    fn perimeter(&self) -> f64 {
        self.0.perimeter
    }

    /// Thickness, m.
    #[getter]
    fn thickness(&self) -> f64 {
        self.0.thickness
    }

    /// Shear strength, Pa.
    #[getter]
    fn shear_strength(&self) -> f64 {
        self.0.shear_strength
    }

    /// Part of the thickness that is penetrated when it breaks.
    #[getter]
    fn penetration(&self) -> f64 {
        self.0.penetration
    }

    /// Height of the shear on the tool, m.
    #[getter]
    fn shear_height(&self) -> f64 {
        self.0.shear_height
    }

    /// Share of each punch, and how much later it meets the sheet, m.
    #[getter]
    fn punches(&self) -> Vec<(f64, f64)> {
        self.0.punches.iter().map(|p| (p.share, p.later)).collect()
    }

    /// Part of the force that is left when it breaks.
    #[getter]
    fn softened_to(&self) -> f64 {
        self.0.softened_to
    }

    /// Part of the remaining thickness over which it breaks.
    #[getter]
    fn tear(&self) -> f64 {
        self.0.tear
    }

    fn __repr__(&self) -> String {
        format!(
            "Blanking(perimeter={} m, thickness={} m, force={:.6e} N, energy={:.6e} J)",
            self.0.perimeter,
            self.0.thickness,
            self.0.force(),
            self.0.curve().forming_energy()
        )
    }
}
stored!(PyBlanking, Blanking);
