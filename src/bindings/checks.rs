//! Checks in Python: one, a table of them, and the questions that an installation answers.

use nalgebra::Vector2;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PySlice};

use super::convert;
use super::detached;
use super::error::to_py;
use super::installation::PyInstallation;
use super::labeled::labeled;
use super::results::{PyResponse, PyShock};
use super::stored::stored;
use crate::analysis::Response;
use crate::analysis::transient::Shock;
use crate::checks::installed::{self, Motion};
use crate::checks::{
    Budget, Check, Duty, Friction, Interface, Sense, Verdict, creep_decades, friction_needed,
    kick_impulse, kick_velocity, overall, steady_contact,
};
use crate::error::Error;
use crate::installation::STANDARD_GRAVITY;
use crate::system::Axis;
use crate::units::Dimension;

/// One check: demand against capacity.
#[pyclass(frozen, name = "Check", module = "underfoot")]
pub struct PyCheck(pub Check);

#[pymethods]
impl PyCheck {
    /// What is asked.
    #[getter]
    fn question(&self) -> &str {
        &self.0.question
    }

    /// What the machine asks, in `unit`.
    #[getter]
    fn demand(&self) -> f64 {
        self.0.demand
    }

    /// What is allowed, in `unit`.
    #[getter]
    fn capacity(&self) -> f64 {
        self.0.capacity
    }

    /// Unit of demand and capacity.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.unit
    }

    /// "at most" or "at least".
    #[getter]
    fn sense(&self) -> &'static str {
        sense(&self.0)
    }

    /// Relative margin; positive: it holds.
    #[getter]
    fn margin(&self) -> f64 {
        self.0.margin
    }

    /// "OK", "OK IF ..." or "NO".
    #[getter]
    fn verdict(&self) -> String {
        self.0.verdict.to_string()
    }

    /// Least and greatest demand within the bands of the inputs.
    #[getter]
    fn band(&self) -> Option<(f64, f64)> {
        self.0.band.map(|[low, high]| (low, high))
    }

    /// Load case, load or instant that governs it.
    #[getter]
    fn governing_case(&self) -> &str {
        &self.0.governing_case
    }

    /// Where the limit comes from.
    #[getter]
    fn source(&self) -> &str {
        &self.0.source
    }

    fn __repr__(&self) -> String {
        format!("Check({})", self.0)
    }
}
stored!(PyCheck, Check);

fn sense(check: &Check) -> &'static str {
    match check.sense {
        Sense::AtMost => "at most",
        Sense::AtLeast => "at least",
    }
}

/// "OK", "OK IF" or "NO".
fn short(check: &Check) -> &'static str {
    match check.verdict {
        Verdict::Ok => "OK",
        Verdict::OkIf(_) => "OK IF",
        Verdict::No => "NO",
    }
}

labeled! {
    /// A table of checks: a sequence of `Check`, and its numbers as arrays.
    ///
    /// Checks are data: filter them, show them, add tables with +, turn them into a dict of columns
    /// (for a DataFrame) or an xarray.Dataset.
    PyChecks "Checks" (Vec<Check>)
    coords {
        "check" => |r| r.iter().map(|c| c.question.clone()).collect::<Vec<_>>();
    }
    fields {
        demand: ["check"] "as in unit" "what the machine asks" => |r| r.iter().map(|c| c.demand).collect::<Vec<_>>();
        capacity: ["check"] "as in unit" "what is allowed" => |r| r.iter().map(|c| c.capacity).collect::<Vec<_>>();
        margin: ["check"] "1" "relative margin, positive where it holds" => |r| r.iter().map(|c| c.margin).collect::<Vec<_>>();
        low: ["check"] "as in unit" "least demand within its band" => |r| r.iter().map(|c| c.band.map_or(c.demand, |b| b[0])).collect::<Vec<_>>();
        high: ["check"] "as in unit" "greatest demand within its band" => |r| r.iter().map(|c| c.band.map_or(c.demand, |b| b[1])).collect::<Vec<_>>();
        holds: ["check"] "1" "true unless the verdict is NO" => |r| r.iter().map(|c| c.verdict != Verdict::No).collect::<Vec<_>>();
    }
}

#[pymethods]
impl PyChecks {
    /// Parameters
    /// ----------
    /// checks : sequence of Check
    #[new]
    fn new(checks: Vec<PyRef<'_, PyCheck>>) -> Self {
        Self(checks.iter().map(|c| c.0.clone()).collect())
    }

    fn __len__(&self) -> usize {
        self.0.len()
    }

    fn __getitem__<'py>(
        &self,
        py: Python<'py>,
        index: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let count = self.0.len() as isize;
        if let Ok(slice) = index.cast::<PySlice>() {
            let at = slice.indices(count)?;
            let mut chosen = Vec::new();
            let mut i = at.start;
            while (at.step > 0 && i < at.stop) || (at.step < 0 && i > at.stop) {
                chosen.extend(self.0.get(i as usize).cloned());
                i += at.step;
            }
            return Ok(Bound::new(py, Self(chosen))?.into_any());
        }
        let i: isize = index.extract()?;
        let place = if i < 0 { i + count } else { i };
        let found = usize::try_from(place).ok().and_then(|i| self.0.get(i));
        let found = found.ok_or_else(|| {
            pyo3::exceptions::PyIndexError::new_err(format!("check {i} of {count}"))
        })?;
        Ok(Bound::new(py, PyCheck(found.clone()))?.into_any())
    }

    fn __add__(&self, other: PyRef<'_, Self>) -> Self {
        Self(self.0.iter().chain(&other.0).cloned().collect())
    }

    /// Those checks that meet every condition given.
    ///
    /// Parameters
    /// ----------
    /// question : str, optional
    ///     Part of the question, in any case of letters.
    /// verdict : "OK", "OK IF" or "NO", optional
    /// case : str, optional
    ///     Part of the governing case.
    /// source : str, optional
    ///     Part of the source.
    /// margin_below : float, optional
    ///     Relative margin less than this.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (question=None, *, verdict=None, case=None, source=None, margin_below=None))]
    fn filter(
        &self,
        question: Option<&str>,
        verdict: Option<&str>,
        case: Option<&str>,
        source: Option<&str>,
        margin_below: Option<f64>,
    ) -> PyResult<Self> {
        if let Some(wanted) = verdict.filter(|v| !["OK", "OK IF", "NO"].contains(v)) {
            return Err(to_py(Error::Unknown {
                argument: "verdict".into(),
                value: wanted.into(),
                allowed: "use OK, OK IF or NO".into(),
            }));
        }
        let has = |text: &str, part: Option<&str>| {
            part.is_none_or(|p| text.to_lowercase().contains(&p.to_lowercase()))
        };
        let keep = |c: &&Check| {
            has(&c.question, question)
                && verdict.is_none_or(|v| v == short(c))
                && has(&c.governing_case, case)
                && has(&c.source, source)
                && margin_below.is_none_or(|m| c.margin < m)
        };
        Ok(Self(self.0.iter().filter(keep).cloned().collect()))
    }

    /// The verdict of all together: "OK", "OK IF ..." or "NO"; None for an empty table.
    #[getter]
    fn verdict(&self) -> Option<String> {
        overall(&self.0).map(|o| o.verdict.to_string())
    }

    /// The check that governs: the worst verdict, then the least margin; None for an empty table.
    #[getter]
    fn governing(&self) -> Option<PyCheck> {
        overall(&self.0).and_then(|o| self.0.get(o.governing).cloned()).map(PyCheck)
    }

    /// Columns by name, as lists: pandas.DataFrame(checks.to_dict()) makes a table of it.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let columns = PyDict::new(py);
        let text = |of: fn(&Check) -> String| self.0.iter().map(of).collect::<Vec<_>>();
        let number = |of: fn(&Check) -> f64| self.0.iter().map(of).collect::<Vec<_>>();
        columns.set_item("question", text(|c| c.question.clone()))?;
        columns.set_item("verdict", text(|c| c.verdict.to_string()))?;
        columns.set_item("demand", number(|c| c.demand))?;
        columns.set_item("low", number(|c| c.band.map_or(c.demand, |b| b[0])))?;
        columns.set_item("high", number(|c| c.band.map_or(c.demand, |b| b[1])))?;
        columns.set_item("sense", text(|c| sense(c).into()))?;
        columns.set_item("capacity", number(|c| c.capacity))?;
        columns.set_item("unit", text(|c| c.unit.clone()))?;
        columns.set_item("margin", number(|c| c.margin))?;
        columns.set_item("governing_case", text(|c| c.governing_case.clone()))?;
        columns.set_item("source", text(|c| c.source.clone()))?;
        Ok(columns)
    }

    /// Text columns along the checks, for `to_xarray`.
    fn _labels<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let columns = self.to_dict(py)?;
        let labels = PyDict::new(py);
        for name in ["verdict", "sense", "unit", "governing_case", "source"] {
            labels.set_item(name, columns.get_item(name)?)?;
        }
        Ok(labels)
    }

    /// The table as lines of text, one for each check.
    fn __str__(&self) -> String {
        self.0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    }
}

/// A point of the machine beside something that stands on the floor: feed, transfer, robot, pipe.
///
/// Parameters
/// ----------
/// name : str
/// at : (3,)
///     Point of the machine, m.
/// directions : str
///     Directions in which motion matters, such as "xz".
/// aligned_in : str, optional
///     Load case in which it was aligned; by default the machine as it runs.
/// static_limit, dynamic_limit : float, str or quantity, optional
///     How far it may shift between load cases, and swing, either way, m.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "Interface", module = "underfoot")]
pub struct PyInterface(pub Interface);

#[pymethods]
impl PyInterface {
    #[new]
    #[pyo3(signature = (name, at, directions="xyz", *, aligned_in=None, static_limit=None, dynamic_limit=None))]
    fn new(
        name: String,
        at: &Bound<'_, PyAny>,
        directions: &str,
        aligned_in: Option<String>,
        static_limit: Option<&Bound<'_, PyAny>>,
        dynamic_limit: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let axes = [Axis::X, Axis::Y, Axis::Z];
        let find = |letter: char| axes.into_iter().find(|a| a.name().starts_with(letter));
        let chosen: Option<Vec<Axis>> = directions.chars().map(find).collect();
        let chosen = chosen.ok_or_else(|| {
            to_py(Error::Unknown {
                argument: "directions".into(),
                value: directions.into(),
                allowed: "use letters of xyz".into(),
            })
        })?;
        let length = |value: Option<&Bound<'_, PyAny>>, name| {
            value.map(|v| convert::scalar(v, name, Dimension::LENGTH)).transpose()
        };
        let interface = Interface {
            name,
            at: convert::vector3(at, "at", Dimension::LENGTH)?,
            directions: chosen,
            aligned_in,
            static_limit: length(static_limit, "static_limit")?,
            dynamic_limit: length(dynamic_limit, "dynamic_limit")?,
        };
        interface.checked().map(Self).map_err(to_py)
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Point of the machine (3,), m.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        super::body::vector(py, &self.0.at)
    }

    /// Directions that matter, as letters.
    #[getter]
    fn directions(&self) -> String {
        self.0.directions.iter().map(|d| d.name()).collect()
    }

    /// Load case in which it was aligned.
    #[getter]
    fn aligned_in(&self) -> Option<&str> {
        self.0.aligned_in.as_deref()
    }

    /// How far it may shift between load cases, m.
    #[getter]
    fn static_limit(&self) -> Option<f64> {
        self.0.static_limit
    }

    /// How far it may swing, m.
    #[getter]
    fn dynamic_limit(&self) -> Option<f64> {
        self.0.dynamic_limit
    }

    fn __repr__(&self) -> String {
        let of = |limit: Option<f64>| limit.map_or("None".into(), |l| format!("{l} m"));
        let (shift, swing) = (of(self.0.static_limit), of(self.0.dynamic_limit));
        let directions = self.directions();
        format!("Interface({:?}, {directions}, static {shift}, dynamic {swing})", self.0.name)
    }
}
stored!(PyInterface, Interface);

/// A shock or a steady response, out of Python's hands.
enum Given {
    Shock(Box<Shock>),
    Steady(Box<Response>),
}

impl Given {
    fn new(motion: &Bound<'_, PyAny>) -> PyResult<Self> {
        if let Ok(shock) = motion.cast::<PyShock>() {
            return Ok(Self::Shock(Box::new(shock.get().0.clone())));
        }
        if let Ok(response) = motion.cast::<PyResponse>() {
            return Ok(Self::Steady(Box::new(response.get().0.clone())));
        }
        let kind = motion.get_type().name()?.to_string();
        Err(to_py(Error::invalid(
            "motion",
            kind,
            "must be a Shock or a Response",
            "compute it with Installation.shock or Installation.response",
        )))
    }

    fn motion(&self) -> Motion<'_> {
        match self {
            Self::Shock(shock) => Motion::Shock(shock),
            Self::Steady(response) => Motion::Steady(response),
        }
    }
}

#[pymethods]
impl PyInstallation {
    /// Does it stand? Load ranges, lift-off, limits of the parts and rocking, over all load cases.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// FreeMotionError, UnstableError
    fn check_loads(&self, py: Python<'_>) -> PyResult<PyChecks> {
        detached(py, || installed::at_rest(&self.0)).map(PyChecks)
    }

    /// Does it walk? Horizontal force and yaw moment of all feet against friction, at the worst
    /// instant, which is solved for; and the foot that is nearest to slipping alone.
    ///
    /// Parameters
    /// ----------
    /// motion : Shock or Response
    ///     A motion of this installation. Of a response each frequency counts.
    /// friction : float, str or quantity
    ///     Coefficient; 0.1 to 0.2 oily, 0.5 to 0.7 dry (common practice).
    /// safety : float, str or quantity
    ///     Safety against sliding, 1 or more; 1.5 to 2 is common practice.
    /// case : str, optional
    ///     Load case of the motion; by default the machine as it runs.
    /// name : str
    ///     What to call the motion.
    ///
    /// Returns
    /// -------
    /// Checks
    ///     Friction used by all feet, and by one foot; 1 is all there is.
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    #[pyo3(signature = (motion, friction=None, safety=None, *, case=None, name="motion"))]
    fn check_walking(
        &self,
        py: Python<'_>,
        motion: &Bound<'_, PyAny>,
        friction: Option<&Bound<'_, PyAny>>,
        safety: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
        name: &str,
    ) -> PyResult<PyChecks> {
        let given = Given::new(motion)?;
        let friction = Friction::new(
            ratio_or(friction, "friction", Friction::OILY)?,
            ratio_or(safety, "safety", Friction::SAFETY)?,
        );
        let friction = friction.map_err(to_py)?;
        detached(py, || installed::walks(&self.0, case, &given.motion(), &friction, name))
            .map(PyChecks)
    }

    /// Greatest horizontal force of one foot on the floor, static and dynamic.
    ///
    /// Parameters
    /// ----------
    /// motion : Shock or Response
    /// limit : float, str or quantity
    ///     N.
    /// case : str, optional
    ///     Load case of the motion; by default the machine as it runs.
    /// name : str
    ///     What to call the motion.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError, UnknownNameError
    #[pyo3(signature = (motion, limit, *, case=None, name="motion"))]
    fn check_lateral(
        &self,
        py: Python<'_>,
        motion: &Bound<'_, PyAny>,
        limit: &Bound<'_, PyAny>,
        case: Option<&str>,
        name: &str,
    ) -> PyResult<PyChecks> {
        let given = Given::new(motion)?;
        let limit = convert::scalar(limit, "limit", Dimension::FORCE)?;
        detached(py, || installed::foot_force(&self.0, case, &given.motion(), limit, name))
            .map(PyChecks)
    }

    /// Does each mount stay loaded? The part of its static load that is left when it lifts most.
    ///
    /// Parameters
    /// ----------
    /// motion : Shock or Response
    /// reserve : float, str or quantity
    ///     The part that must be left, 0 to 1.
    /// case : str, optional
    ///     Load case of the motion; by default the machine as it runs.
    /// name : str
    ///     What to call the motion.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError, UnknownNameError
    #[pyo3(signature = (motion, reserve=None, *, case=None, name="motion"))]
    fn check_contact(
        &self,
        py: Python<'_>,
        motion: &Bound<'_, PyAny>,
        reserve: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
        name: &str,
    ) -> PyResult<PyChecks> {
        let given = Given::new(motion)?;
        let reserve = ratio_or(reserve, "reserve", 0.0)?;
        detached(py, || installed::contact(&self.0, case, &given.motion(), reserve, name))
            .map(PyChecks)
    }

    /// Does it tip, and what must hold it down? A quasi-static horizontal acceleration in four
    /// directions and every load case. Local seismic codes and licensed practice govern.
    ///
    /// Parameters
    /// ----------
    /// acceleration : float, str or quantity
    ///     As a part of g.
    /// hold_down : float, str or quantity
    ///     Force with which each mount is held down, N; by default it only stands.
    /// share : float, str or quantity, optional
    ///     Greatest part of a horizontal force that one mount may take.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError, UnstableError
    #[pyo3(signature = (acceleration, hold_down=None, *, share=None))]
    fn check_sideways(
        &self,
        py: Python<'_>,
        acceleration: &Bound<'_, PyAny>,
        hold_down: Option<&Bound<'_, PyAny>>,
        share: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyChecks> {
        let acceleration = convert::scalar(acceleration, "acceleration", Dimension::RATIO)?;
        let hold_down =
            hold_down.map_or(Ok(0.0), |h| convert::scalar(h, "hold_down", Dimension::FORCE))?;
        let share = share.map(|s| convert::scalar(s, "share", Dimension::RATIO)).transpose()?;
        detached(py, || installed::pushed(&self.0, acceleration, hold_down, share)).map(PyChecks)
    }

    /// Level error of every load case against the machine as it runs, the weight's own moment
    /// included.
    ///
    /// Parameters
    /// ----------
    /// limit : float, str or quantity
    ///     rad, or such as "0.1 mm/m".
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn check_level(&self, py: Python<'_>, limit: &Bound<'_, PyAny>) -> PyResult<PyChecks> {
        let limit = convert::scalar(limit, "limit", Dimension::ANGLE)?;
        detached(py, || installed::level(&self.0, limit)).map(PyChecks)
    }

    /// Screw travel: floor + unequal deflection + creep + settlement + reserve, for each mount that
    /// has a screw.
    ///
    /// Parameters
    /// ----------
    /// floor : float, str or quantity
    ///     Highest less lowest spot of the floor under the feet, m.
    /// settlement, reserve : float, str or quantity
    ///     Differential settlement to come, and travel to be left, m.
    /// creep_time : float, str or quantity, optional
    ///     Time between two levelings, s, one minute or more; by default no creep.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (floor=None, settlement=None, reserve=None, creep_time=None))]
    fn check_travel(
        &self,
        py: Python<'_>,
        floor: Option<&Bound<'_, PyAny>>,
        settlement: Option<&Bound<'_, PyAny>>,
        reserve: Option<&Bound<'_, PyAny>>,
        creep_time: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyChecks> {
        let length = |value: Option<&Bound<'_, PyAny>>, name| {
            value.map_or(Ok(0.0), |v| convert::scalar(v, name, Dimension::LENGTH))
        };
        let (floor, settlement, reserve) = (
            length(floor, "floor")?,
            length(settlement, "settlement")?,
            length(reserve, "reserve")?,
        );
        let decades = match creep_time {
            Some(time) => convert::scalar(time, "creep_time", Dimension::TIME)
                .and_then(|t| creep_decades(t).map_err(to_py))?,
            None => 0.0,
        };
        let budget = Budget { floor, settlement, reserve, creep_decades: decades };
        detached(py, || installed::travel(&self.0, &budget)).map(PyChecks)
    }

    /// Shift of an interface over the load cases, and its swing in named motions.
    ///
    /// Parameters
    /// ----------
    /// interface : Interface
    /// motions : dict of name -> Shock or Response
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    #[pyo3(signature = (interface, motions=None))]
    fn check_interface(
        &self,
        py: Python<'_>,
        interface: PyRef<'_, PyInterface>,
        motions: Option<&Bound<'_, PyDict>>,
    ) -> PyResult<PyChecks> {
        let mut given = Vec::new();
        for (name, motion) in motions.into_iter().flatten() {
            given.push((name.extract::<String>()?, Given::new(&motion)?));
        }
        let interface = interface.0.clone();
        detached(py, || {
            let motions: Vec<_> = given.iter().map(|(n, g)| (n.clone(), g.motion())).collect();
            installed::interface(&self.0, &interface, &motions)
        })
        .map(PyChecks)
    }
}

fn ratio_or(value: Option<&Bound<'_, PyAny>>, name: &str, default: f64) -> PyResult<f64> {
    value.map_or(Ok(default), |v| convert::scalar(v, name, Dimension::RATIO))
}

/// Least coefficient of friction at which feet hold a horizontal force and a yaw moment together.
///
/// max over sliding motions (v, w) of (H . v + M w) / sum of N_i |v + w e_z x r_i|: the limit
/// surface of feet that share by slipping.
///
/// Parameters
/// ----------
/// position : (foot, 2)
///     x and y of each foot, m.
/// load : (foot,)
///     What each presses with, N; not negative.
/// force : (2,)
///     Horizontal force, N.
/// yaw : float, str or quantity
///     Yaw moment about the origin, N m.
///
/// Returns
/// -------
/// float
///     Infinite where no friction holds it.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyfunction(name = "friction_needed")]
pub fn py_friction_needed(
    position: Vec<Bound<'_, PyAny>>,
    load: &Bound<'_, PyAny>,
    force: &Bound<'_, PyAny>,
    yaw: &Bound<'_, PyAny>,
) -> PyResult<f64> {
    let two = |value: &Bound<'_, PyAny>, name: &str, dimension| -> PyResult<Vector2<f64>> {
        let list = convert::list(value, name, dimension)?;
        let two: [f64; 2] =
            list.try_into().map_err(|_| convert::shape(value, name, "(2,): x, y"))?;
        Ok(Vector2::from(two))
    };
    let loads = convert::list(load, "load", Dimension::FORCE)?;
    crate::error::each(crate::error::not_negative, "load", &loads, "N").map_err(to_py)?;
    if loads.len() != position.len() {
        return Err(convert::shape(load, "load", &format!("({},)", position.len())));
    }
    let mut feet = Vec::new();
    for (i, (at, load)) in position.iter().zip(loads).enumerate() {
        feet.push((two(at, &format!("position[{i}]"), Dimension::LENGTH)?, load));
    }
    let force = two(force, "force", Dimension::FORCE)?;
    Ok(friction_needed(&feet, force, convert::scalar(yaw, "yaw", Dimension::MOMENT)?))
}

/// First look at lift-off, one undamped degree of freedom on its static deflection: a kick by a
/// velocity, v0 <= g / omega; a short impulse on a mass, I <= m g / omega; a steady force,
/// F0 / |1 - (f / f_n)^2| <= m g.
///
/// Parameters
/// ----------
/// natural_frequency : float, str or quantity
///     Hz.
/// velocity, impulse, force, frequency, mass : float, str or quantity, optional
///     m/s, N s, N, Hz, kg. An impulse needs the mass; a force needs mass and frequency.
/// gravity : float, str or quantity, optional
///     m/s^2.
///
/// Returns
/// -------
/// Checks
///     One for each of velocity, impulse and force that is given.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction]
#[pyo3(signature = (natural_frequency, *, velocity=None, impulse=None, force=None, frequency=None, mass=None, gravity=None))]
#[allow(clippy::too_many_arguments)] // one keyword each, as users write them
pub fn lift_off_checks(
    natural_frequency: &Bound<'_, PyAny>,
    velocity: Option<&Bound<'_, PyAny>>,
    impulse: Option<&Bound<'_, PyAny>>,
    force: Option<&Bound<'_, PyAny>>,
    frequency: Option<&Bound<'_, PyAny>>,
    mass: Option<&Bound<'_, PyAny>>,
    gravity: Option<&Bound<'_, PyAny>>,
) -> PyResult<PyChecks> {
    let read = |value: Option<&Bound<'_, PyAny>>, name: &str, dimension| {
        value.map(|v| convert::scalar(v, name, dimension)).transpose()
    };
    let needed = |value: Option<f64>, name: &str| {
        value.ok_or_else(|| {
            to_py(Error::invalid(name, "not given", "is needed for this check", "give it"))
        })
    };
    let natural = convert::scalar(natural_frequency, "natural_frequency", Dimension::FREQUENCY)?;
    let gravity = read(gravity, "gravity", Dimension::ACCELERATION)?.unwrap_or(STANDARD_GRAVITY);
    let mass = read(mass, "mass", Dimension::MASS)?;
    let frequency = read(frequency, "frequency", Dimension::FREQUENCY)?;
    let mut all = Vec::new();
    if let Some(v0) = read(velocity, "velocity", Dimension::VELOCITY)? {
        all.push(kick_velocity(v0, natural, gravity).map_err(to_py)?);
    }
    if let Some(impulse) = read(impulse, "impulse", Dimension::IMPULSE)? {
        let mass = needed(mass, "mass")?;
        all.push(kick_impulse(impulse, mass, natural, gravity).map_err(to_py)?);
    }
    if let Some(force) = read(force, "force", Dimension::FORCE)? {
        let weight = needed(mass, "mass")? * gravity;
        let f = needed(frequency, "frequency")?;
        all.push(steady_contact(force, f, natural, weight).map_err(to_py)?);
    }
    Ok(PyChecks(all))
}

/// Strokes in service against the strokes that mounts, anchors or welds bear.
///
/// Parameters
/// ----------
/// stroke_rate_spm : float
///     Strokes a minute while it runs.
/// years : float
///     Years of service.
/// endurance : float
///     Strokes that the parts bear.
/// hours_per_day, utilization, days_per_year : float
///     24 h, 0.7 and 365 by default: 40 spm make 14.7 million strokes a year.
///
/// Returns
/// -------
/// Check
///
/// Raises
/// ------
/// InvalidError
#[pyfunction]
#[pyo3(signature = (stroke_rate_spm, years, endurance, *, hours_per_day=24.0, utilization=0.7, days_per_year=365.0))]
pub fn fatigue_check(
    stroke_rate_spm: f64,
    years: f64,
    endurance: f64,
    hours_per_day: f64,
    utilization: f64,
    days_per_year: f64,
) -> PyResult<PyCheck> {
    let duty = Duty { stroke_rate_spm, hours_per_day, utilization, days_per_year };
    duty.fatigue(years, endurance).map(PyCheck).map_err(to_py)
}
