//! Work forces: blanking, curves over way and time, break-through, cushions, stops, the pulse of a rigid
//! press.

use ndarray::Array2;
use pyo3::prelude::*;

use super::body::vector;
use super::convert::{list, scalar, shape, vector3};
use super::error::to_py;
use super::labeled::array;
use super::stored::stored;
use crate::excitation::equivalent_pulse::Swing;
use crate::excitation::forming::{Punch, coining, drawing};
use crate::excitation::{
    Blanking, BreakThrough, Cushion, EquivalentPulse, ForceCurve, SlideStop, TimeCurve,
};
use crate::units::Dimension;

fn optional(
    value: Option<&Bound<'_, PyAny>>,
    name: &str,
    dimension: Dimension,
) -> PyResult<Option<f64>> {
    value.map(|v| scalar(v, name, dimension)).transpose()
}

fn pairs<'py>(py: Python<'py>, knots: &[[f64; 2]]) -> PyResult<Bound<'py, PyAny>> {
    array(
        py,
        Array2::from_shape_fn((knots.len(), 2), |(i, j)| {
            knots.get(i).and_then(|k| k.get(j)).copied().unwrap_or_default()
        }),
    )
}

fn knots(
    x: &Bound<'_, PyAny>,
    force: &Bound<'_, PyAny>,
    name: &str,
    dimension: Dimension,
) -> PyResult<Vec<[f64; 2]>> {
    let ways = list(x, name, dimension)?;
    let forces = list(force, "force", Dimension::FORCE)?;
    if ways.len() != forces.len() {
        return Err(shape(force, "force", &format!("({},), as many as {name}", ways.len())));
    }
    Ok(ways.into_iter().zip(forces).map(|(x, f)| [x, f]).collect())
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
/// stroke_rate : float, str or quantity, optional
///     Strokes, 1/s ("40 spm"): to see that the force ends within the stroke.
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
                        stroke_rate=None))]
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
        stroke_rate: Option<&Bound<'_, PyAny>>,
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
            stroke_rate_spm: optional(stroke_rate, "stroke_rate", Dimension::FREQUENCY)?
                .map(|rate| 60.0 * rate),
        }
        .checked()
        .map(Self)
        .map_err(to_py)
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

/// A work force over the way of the slide from first contact: a polygon.
///
/// Parameters
/// ----------
/// way : (knot,)
///     m, ascending from zero.
/// force : (knot,)
///     N.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "ForceCurve", module = "underfoot")]
pub struct PyForceCurve(pub ForceCurve);

#[pymethods]
impl PyForceCurve {
    #[new]
    fn new(way: &Bound<'_, PyAny>, force: &Bound<'_, PyAny>) -> PyResult<Self> {
        let knots = knots(way, force, "way", Dimension::LENGTH)?;
        ForceCurve::new(knots).map(Self).map_err(to_py)
    }

    /// Knots (knot, 2): m and N.
    #[getter]
    fn knots<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        pairs(py, &self.0.knots)
    }

    /// Greatest force, N.
    #[getter]
    fn peak(&self) -> f64 {
        self.0.peak()
    }

    /// Work, the area under the curve, J.
    #[getter]
    fn forming_energy(&self) -> f64 {
        self.0.forming_energy()
    }

    /// Over time at a constant speed of the slide.
    ///
    /// Parameters
    /// ----------
    /// speed : float, str or quantity
    ///     m/s.
    ///
    /// Returns
    /// -------
    /// TimeCurve
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn at_speed(&self, speed: &Bound<'_, PyAny>) -> PyResult<PyTimeCurve> {
        let speed = scalar(speed, "speed", Dimension::VELOCITY)?;
        self.0.at_speed(speed).map(PyTimeCurve).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        format!(
            "ForceCurve(peak={:.6e} N, energy={:.6e} J, {} knots)",
            self.0.peak(),
            self.0.forming_energy(),
            self.0.knots.len()
        )
    }
}
stored!(PyForceCurve, ForceCurve);

/// A work force over time: a polygon that begins at t = 0.
///
/// Parameters
/// ----------
/// time : (knot,)
///     s, ascending from zero.
/// force : (knot,)
///     N.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "TimeCurve", module = "underfoot")]
pub struct PyTimeCurve(pub TimeCurve);

#[pymethods]
impl PyTimeCurve {
    #[new]
    fn new(time: &Bound<'_, PyAny>, force: &Bound<'_, PyAny>) -> PyResult<Self> {
        let knots = knots(time, force, "time", Dimension::TIME)?;
        TimeCurve::new(knots).map(Self).map_err(to_py)
    }

    /// Knots (knot, 2): s and N.
    #[getter]
    fn knots<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        pairs(py, &self.0.knots)
    }

    /// Greatest force, N.
    #[getter]
    fn peak(&self) -> f64 {
        self.0.peak()
    }

    fn __repr__(&self) -> String {
        format!("TimeCurve(peak={:.6e} N, {} knots)", self.0.peak(), self.0.knots.len())
    }
}
stored!(PyTimeCurve, TimeCurve);

/// Force over way of drawing a cup: F = pi d t UTS (D / d - 0.7) at a third of the depth (M. P. Groover,
/// from memory).
///
/// Parameters
/// ----------
/// punch_diameter, blank_diameter, thickness, depth : float, str or quantity
///     m.
/// tensile_strength : float, str or quantity
///     Pa.
///
/// Returns
/// -------
/// ForceCurve
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction]
pub fn drawing_force(
    punch_diameter: &Bound<'_, PyAny>,
    blank_diameter: &Bound<'_, PyAny>,
    thickness: &Bound<'_, PyAny>,
    tensile_strength: &Bound<'_, PyAny>,
    depth: &Bound<'_, PyAny>,
) -> PyResult<PyForceCurve> {
    let length = |value, name| scalar(value, name, Dimension::LENGTH);
    drawing(
        length(punch_diameter, "punch_diameter")?,
        length(blank_diameter, "blank_diameter")?,
        length(thickness, "thickness")?,
        scalar(tensile_strength, "tensile_strength", Dimension::PRESSURE)?,
        length(depth, "depth")?,
    )
    .map(PyForceCurve)
    .map_err(to_py)
}

/// Force over way of coining: F = p A (s / travel)^n.
///
/// Parameters
/// ----------
/// area : float, str or quantity
///     m^2.
/// pressure : float, str or quantity
///     At the bottom, Pa.
/// travel : float, str or quantity
///     m.
/// exponent : float
///     n.
///
/// Returns
/// -------
/// ForceCurve
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction]
#[pyo3(signature = (area, pressure, travel, exponent=3.0))]
pub fn coining_force(
    area: &Bound<'_, PyAny>,
    pressure: &Bound<'_, PyAny>,
    travel: &Bound<'_, PyAny>,
    exponent: f64,
) -> PyResult<PyForceCurve> {
    coining(
        scalar(area, "area", Dimension::AREA)?,
        scalar(pressure, "pressure", Dimension::PRESSURE)?,
        scalar(travel, "travel", Dimension::LENGTH)?,
        exponent,
    )
    .map(PyForceCurve)
    .map_err(to_py)
}

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
