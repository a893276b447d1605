//! What moves a slide: crank, link drive, table.

use ndarray::Array1;
use pyo3::prelude::*;

use super::super::convert::{choice, list, name_of, scalar, shape};
use super::super::error::to_py;
use super::super::labeled::array;
use super::super::stored::stored;
use super::or_zero;
use crate::excitation::slide::{Branch, Crank, CrankSide, Link, Profile};
use crate::units::Dimension;

/// A slider-crank or eccentric by its lengths, as `motion` of a `SlideDrive`.
///
/// z = r cos theta -+ sqrt(l^2 - (r sin theta - e)^2), theta = 0 with the pin at the top.
///
/// Parameters
/// ----------
/// crank_radius : float, str or quantity
///     r, m; of an eccentric its eccentricity.
/// rod_length : float, str or quantity
///     l between the pins, m.
/// offset : float, str or quantity
///     e of the slide's line from the crankshaft, m; positive on the side to which the pin moves at
///     the top.
/// crank : {"above", "below"}
///     Where the crankshaft stands: in the crown, or under the bed.
///
/// Raises
/// ------
/// InvalidError
///     Rod not longer than the crank, or an offset that locks it.
#[pyclass(frozen, name = "SliderCrank", module = "underfoot")]
pub struct PySliderCrank(pub Crank);

#[pymethods]
impl PySliderCrank {
    #[new]
    #[pyo3(signature = (crank_radius, rod_length, offset=None, crank="above"))]
    fn new(
        crank_radius: &Bound<'_, PyAny>,
        rod_length: &Bound<'_, PyAny>,
        offset: Option<&Bound<'_, PyAny>>,
        crank: &str,
    ) -> PyResult<Self> {
        let mut out = Crank::new(
            scalar(crank_radius, "crank_radius", Dimension::LENGTH)?,
            scalar(rod_length, "rod_length", Dimension::LENGTH)?,
            offset.map_or(Ok(0.0), |e| scalar(e, "offset", Dimension::LENGTH))?,
        )
        .map_err(to_py)?;
        out.side = choice("crank", crank, &CrankSide::ALL)?;
        Ok(Self(out))
    }

    /// r, m.
    #[getter]
    fn crank_radius(&self) -> f64 {
        self.0.radius
    }

    /// l, m.
    #[getter]
    fn rod_length(&self) -> f64 {
        self.0.rod_length
    }

    /// e, m.
    #[getter]
    fn offset(&self) -> f64 {
        self.0.offset
    }

    /// Where the crankshaft stands.
    #[getter]
    fn crank(&self) -> &'static str {
        name_of(self.0.side, &CrankSide::ALL)
    }

    /// Stroke, m.
    #[getter]
    fn stroke(&self) -> f64 {
        self.0.stroke()
    }

    fn __repr__(&self) -> String {
        let c = &self.0;
        format!(
            "SliderCrank(crank_radius={} m, rod_length={} m, offset={} m, crank={:?})",
            c.radius,
            c.rod_length,
            c.offset,
            self.crank()
        )
    }
}
stored!(PySliderCrank, Crank);

/// A six-bar link drive (knuckle joint, fast return), as `motion` of a `SlideDrive`.
///
/// Crank pin A = r (sin, cos); the rocker turns about `pivot` and carries the pin B; the coupler joins
/// A and B; the connecting rod hangs from the point D of the coupler. `coupler_point = (coupler_length,
/// 0)` puts D on B, the knuckle joint. Lengths in the plane of the drive: to the side and up from the
/// crankshaft.
///
/// Parameters
/// ----------
/// crank_radius, coupler_length, rocker_length, rod_length : float, str or quantity
///     m.
/// pivot : (2,)
///     Fixed pivot of the rocker, to the side and up, m.
/// coupler_point : (2,)
///     D from the crank pin: along the coupler and across it (from up toward the side), m.
/// branch : {"left", "right"}
///     On which side of the line from crank pin to pivot the rocker pin lies.
/// offset : float, str or quantity
///     Place of the slide's line beside the crankshaft, m.
/// crank_pin_mass, rocker_pin_mass : float, str or quantity
///     Shares of coupler and rocker that go with these pins, kg.
///
/// Raises
/// ------
/// InvalidError
///     Lengths with which the crank cannot turn over.
#[pyclass(frozen, name = "LinkDrive", module = "underfoot")]
pub struct PyLinkDrive(pub Link);

#[pymethods]
impl PyLinkDrive {
    #[new]
    #[pyo3(signature = (crank_radius, coupler_length, rocker_length, pivot, rod_length, *,
                        coupler_point=None, branch="left", offset=None, crank_pin_mass=None,
                        rocker_pin_mass=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        crank_radius: &Bound<'_, PyAny>,
        coupler_length: &Bound<'_, PyAny>,
        rocker_length: &Bound<'_, PyAny>,
        pivot: &Bound<'_, PyAny>,
        rod_length: &Bound<'_, PyAny>,
        coupler_point: Option<&Bound<'_, PyAny>>,
        branch: &str,
        offset: Option<&Bound<'_, PyAny>>,
        crank_pin_mass: Option<&Bound<'_, PyAny>>,
        rocker_pin_mass: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let coupler_length = scalar(coupler_length, "coupler_length", Dimension::LENGTH)?;
        let link = Link {
            crank_radius: scalar(crank_radius, "crank_radius", Dimension::LENGTH)?,
            coupler_length,
            rocker_length: scalar(rocker_length, "rocker_length", Dimension::LENGTH)?,
            pivot: pair(pivot, "pivot")?,
            branch: choice("branch", branch, &Branch::ALL)?,
            coupler_point: coupler_point
                .map_or(Ok([coupler_length, 0.0]), |d| pair(d, "coupler_point"))?,
            rod_length: scalar(rod_length, "rod_length", Dimension::LENGTH)?,
            offset: or_zero(offset, "offset", Dimension::LENGTH)?,
            crank_pin_mass: or_zero(crank_pin_mass, "crank_pin_mass", Dimension::MASS)?,
            rocker_pin_mass: or_zero(rocker_pin_mass, "rocker_pin_mass", Dimension::MASS)?,
        };
        link.checked().map(Self).map_err(to_py)
    }

    /// r, m.
    #[getter]
    fn crank_radius(&self) -> f64 {
        self.0.crank_radius
    }

    /// Between crank pin and rocker pin, m.
    #[getter]
    fn coupler_length(&self) -> f64 {
        self.0.coupler_length
    }

    /// Between pivot and rocker pin, m.
    #[getter]
    fn rocker_length(&self) -> f64 {
        self.0.rocker_length
    }

    /// Pivot of the rocker (2,), m.
    #[getter]
    fn pivot<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from(self.0.pivot.to_vec()))
    }

    /// Between coupler point and slide, m.
    #[getter]
    fn rod_length(&self) -> f64 {
        self.0.rod_length
    }

    /// Of the rod's driven pin on the coupler, from the crank pin: along it and across (2,), m.
    #[getter]
    fn coupler_point<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from(self.0.coupler_point.to_vec()))
    }

    /// On which side of the line from crank pin to pivot the rocker pin is.
    #[getter]
    fn branch(&self) -> &'static str {
        name_of(self.0.branch, &Branch::ALL)
    }

    /// Of the slide's line from the crankshaft, m.
    #[getter]
    fn offset(&self) -> f64 {
        self.0.offset
    }

    /// kg.
    #[getter]
    fn crank_pin_mass(&self) -> f64 {
        self.0.crank_pin_mass
    }

    /// kg.
    #[getter]
    fn rocker_pin_mass(&self) -> f64 {
        self.0.rocker_pin_mass
    }

    fn __repr__(&self) -> String {
        let l = &self.0;
        format!(
            "LinkDrive(crank_radius={} m, coupler_length={} m, rocker_length={} m, pivot={:?} m, \
             rod_length={} m, coupler_point={:?} m, branch={:?}, offset={} m)",
            l.crank_radius,
            l.coupler_length,
            l.rocker_length,
            l.pivot,
            l.rod_length,
            l.coupler_point,
            name_of(l.branch, &Branch::ALL),
            l.offset
        )
    }
}
stored!(PyLinkDrive, Link);

/// A tabulated slide motion, as `motion` of a `SlideDrive`: one cycle of a servo's profile, joined by a
/// periodic cubic spline. Make one by `from_angle` or `from_time`.
#[pyclass(frozen, name = "MotionProfile", module = "underfoot")]
pub struct PyMotionProfile(pub Profile);

#[pymethods]
impl PyMotionProfile {
    /// Height of the slide against crank angle.
    ///
    /// Parameters
    /// ----------
    /// angle : (row,)
    ///     rad, ascending, within one turn; a closing row repeats the first one turn later.
    /// height : (row,)
    ///     m over any level, up positive.
    ///
    /// Returns
    /// -------
    /// MotionProfile
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     A cycle that does not close, or a jump in speed (with its crank angle).
    #[staticmethod]
    fn from_angle(angle: &Bound<'_, PyAny>, height: &Bound<'_, PyAny>) -> PyResult<Self> {
        let angle = list(angle, "angle", Dimension::ANGLE)?;
        let height = list(height, "height", Dimension::LENGTH)?;
        Profile::from_angle(&angle, &height).map(Self).map_err(to_py)
    }

    /// Height of the slide against time.
    ///
    /// Parameters
    /// ----------
    /// time : (row,)
    ///     s, ascending, exactly one cycle: the last row closes it. The stroke rate of a calculation
    ///     stretches it.
    /// height : (row,)
    ///     m over any level, up positive.
    ///
    /// Returns
    /// -------
    /// MotionProfile
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     A cycle that does not close, or a jump in speed (with its crank angle).
    #[staticmethod]
    fn from_time(time: &Bound<'_, PyAny>, height: &Bound<'_, PyAny>) -> PyResult<Self> {
        let time = list(time, "time", Dimension::TIME)?;
        let height = list(height, "height", Dimension::LENGTH)?;
        Profile::from_time(&time, &height).map(Self).map_err(to_py)
    }

    /// Angle of each row (row,), rad.
    #[getter]
    fn angle<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from(self.0.angle.clone()))
    }

    /// Height of each row (row,), m.
    #[getter]
    fn height<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from(self.0.height.clone()))
    }

    /// What to know of the table: speeds that jump a little, rounded by the spline.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.0.notes.clone()
    }

    fn __repr__(&self) -> String {
        let end = |f: fn(f64, f64) -> f64, from| self.0.height.iter().copied().fold(from, f);
        format!(
            "MotionProfile({} rows, height {} to {} m)",
            self.0.angle.len(),
            end(f64::min, f64::INFINITY),
            end(f64::max, f64::NEG_INFINITY)
        )
    }
}
stored!(PyMotionProfile, Profile);

fn pair(value: &Bound<'_, PyAny>, argument: &str) -> PyResult<[f64; 2]> {
    let list = list(value, argument, Dimension::LENGTH)?;
    list.try_into().map_err(|_| shape(value, argument, "(2,)"))
}
