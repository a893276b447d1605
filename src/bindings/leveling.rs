//! Leveling: readings, what settlement does, and the plan.

use numpy::ndarray::Array1;
use pyo3::prelude::*;

use super::convert::{list, scalar, shape, vector3};
use super::detached;
use super::error::to_py;
use super::installation::PyInstallation;
use super::labeled::array;
use super::results::{
    PlacedPlan, PyLevelPlane, PyLevelState, PyLevelingInfluence, PyLevelingPlan, Settled,
};
use super::stored::stored;
use crate::analysis::leveling::influence::Influence;
use crate::analysis::leveling::settlement::{Drift, State};
use crate::analysis::leveling::tolerance::COMMON_PRACTICE;
use crate::analysis::leveling::{
    Objective, Quantity, Reading, ReadingOptions, Request, Start, Surfaces, divisions,
    from_subgrade, leveling_plan, plane,
};
use crate::analysis::statics::{StaticsOptions, statics};
use crate::error::Error;
use crate::units::Dimension;

/// A level reading at a station.
///
/// A level reads the slope along a direction; turned end for end on the same spot it reads minus
/// the slope plus the same own error: slope = (value - reversed) / 2.
///
/// Parameters
/// ----------
/// station : str
///     Name of the station.
/// at : (3,)
///     Where it is, m.
/// along : "x", "y" or a unit vector (2,)
///     Direction in the plan along which a positive reading rises.
/// value : float, str or quantity
///     What it reads: an angle or slope, rad; a count where `division` is given.
/// reversed : float, str or quantity, optional
///     What it reads turned end for end, in its own sense.
/// division : float, str or quantity, optional
///     Division of the level, rad: value and reversed then count divisions.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "LevelReading", module = "underfoot")]
pub struct PyLevelReading(pub Reading);

#[pymethods]
impl PyLevelReading {
    #[new]
    #[pyo3(signature = (station, at, along, value, reversed=None, *, division=None))]
    fn new(
        station: &str,
        at: &Bound<'_, PyAny>,
        along: &Bound<'_, PyAny>,
        value: &Bound<'_, PyAny>,
        reversed: Option<&Bound<'_, PyAny>>,
        division: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let division = division.map(|d| scalar(d, "division", Dimension::ANGLE)).transpose()?;
        let read = |given: &Bound<'_, PyAny>, argument: &str| match division {
            Some(division) => {
                divisions(scalar(given, argument, Dimension::RATIO)?, division).map_err(to_py)
            }
            None => scalar(given, argument, Dimension::ANGLE),
        };
        let value = read(value, "value")?;
        let reversed = reversed.map(|r| read(r, "reversed")).transpose()?;
        let at = vector3(at, "at", Dimension::LENGTH)?;
        Reading::level(station, at.into(), direction(along)?, value, reversed)
            .map(Self)
            .map_err(to_py)
    }

    /// Name of the station.
    #[getter]
    fn station(&self) -> &str {
        &self.0.station
    }

    /// Where it is (3,), m.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from_iter(self.0.at))
    }

    /// What it reads, rad.
    #[getter]
    fn value(&self) -> f64 {
        match self.0.quantity {
            Quantity::Level { value, .. } => value,
            Quantity::Height(height) => height,
        }
    }

    fn __repr__(&self) -> String {
        format!("LevelReading({:?}, {} rad)", self.0.station, self.value())
    }
}
stored!(PyLevelReading, Reading);

/// A dial or optical height at a station, over a common datum.
///
/// Parameters
/// ----------
/// station : str
///     Name of the station.
/// at : (3,)
///     Where it is, m.
/// height : float, str or quantity
///     m, up positive.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "HeightReading", module = "underfoot")]
pub struct PyHeightReading(pub Reading);

#[pymethods]
impl PyHeightReading {
    #[new]
    fn new(station: &str, at: &Bound<'_, PyAny>, height: &Bound<'_, PyAny>) -> PyResult<Self> {
        let at = vector3(at, "at", Dimension::LENGTH)?;
        let height = scalar(height, "height", Dimension::LENGTH)?;
        Reading::height(station, at.into(), height).map(Self).map_err(to_py)
    }

    /// Name of the station.
    #[getter]
    fn station(&self) -> &str {
        &self.0.station
    }

    /// Where it is (3,), m.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from_iter(self.0.at))
    }

    /// Height over the datum, m.
    #[getter]
    fn height(&self) -> f64 {
        match self.0.quantity {
            Quantity::Level { value, .. } => value,
            Quantity::Height(height) => height,
        }
    }

    fn __repr__(&self) -> String {
        format!("HeightReading({:?}, {} m)", self.0.station, self.height())
    }
}
stored!(PyHeightReading, Reading);

/// The least-squares plane of level and height readings, with twist, bow and the level's own error.
///
/// tilt about x = dz/dy, about y = -dz/dx; twist and bow are told as the difference of level
/// between opposite ends. Twist above its limit is reported, never averaged away.
///
/// Parameters
/// ----------
/// readings : sequence of LevelReading and HeightReading
///     At three stations or more that are not on a line.
/// level_uncertainty, height_uncertainty : float, str or quantity, optional
///     Standard uncertainty of one reading, rad and m; by default from what the fit leaves.
/// twist_limit : float, str or quantity, optional
///     Twist above which the readings contradict a plane, rad.
///
/// Returns
/// -------
/// LevelPlane
///
/// Raises
/// ------
/// InvalidError
///     For fewer than three stations, stations on a line, or one direction only.
///
/// References
/// ----------
/// Reversal: US Army TM 38-260, 7-6 (quoted in a secondary source); uncertainty: GUM, JCGM
/// 100:2008, 4.2 (from memory).
#[pyfunction]
#[pyo3(signature = (readings, *, level_uncertainty=None, height_uncertainty=None, twist_limit=None))]
pub fn level_readings(
    readings: Vec<Bound<'_, PyAny>>,
    level_uncertainty: Option<&Bound<'_, PyAny>>,
    height_uncertainty: Option<&Bound<'_, PyAny>>,
    twist_limit: Option<&Bound<'_, PyAny>>,
) -> PyResult<PyLevelPlane> {
    let all = readings_of(&readings)?;
    let options = ReadingOptions {
        level_uncertainty: optional(level_uncertainty, "level_uncertainty", Dimension::ANGLE)?,
        height_uncertainty: optional(height_uncertainty, "height_uncertainty", Dimension::LENGTH)?,
        twist_limit: optional(twist_limit, "twist_limit", Dimension::ANGLE)?,
    };
    plane(&all, &options).map(PyLevelPlane).map_err(to_py)
}

/// Readings of both kinds.
pub(super) fn readings_of(readings: &[Bound<'_, PyAny>]) -> PyResult<Vec<Reading>> {
    let mut all = Vec::with_capacity(readings.len());
    for (i, given) in readings.iter().enumerate() {
        if let Ok(level) = given.cast::<PyLevelReading>() {
            all.push(level.get().0.clone());
        } else if let Ok(height) = given.cast::<PyHeightReading>() {
            all.push(height.get().0.clone());
        } else {
            return Err(to_py(Error::invalid(
                format!("readings[{i}]"),
                given.repr()?,
                "must be a LevelReading or a HeightReading",
                "build it with one of these",
            )));
        }
    }
    Ok(all)
}

#[pymethods]
impl PyInstallation {
    /// What raising each mount does to every load and to the level, per meter of screw.
    ///
    /// dF = R a, d(tilt) = T a. R has rank n - 3: a plane set of adjustments only moves the machine.
    ///
    /// Parameters
    /// ----------
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    /// gravity_stiffness : bool
    ///     The weight softens the mounts against tilting.
    /// frame_twist_stiffness : float, str or quantity, optional
    ///     Force at one corner per distance off the plane of the others, N/m; by default rigid.
    ///
    /// Returns
    /// -------
    /// LevelingInfluence
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError, FreeMotionError
    #[pyo3(signature = (case=None, *, gravity_stiffness=false, frame_twist_stiffness=None))]
    fn leveling_influence(
        &self,
        py: Python<'_>,
        case: Option<&str>,
        gravity_stiffness: bool,
        frame_twist_stiffness: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyLevelingInfluence> {
        let frame = optional(frame_twist_stiffness, "frame_twist_stiffness", Dimension::STIFFNESS)?;
        detached(py, || Influence::of(&self.0, case, gravity_stiffness, frame))
            .map(PyLevelingInfluence)
    }

    /// Load and level after the foundation has settled, of a machine that was level before.
    ///
    /// Parameters
    /// ----------
    /// settlement : (mount,), optional
    ///     How far each foot went down, m, down positive.
    /// subgrade_modulus : float, str or quantity, optional
    ///     Instead of a survey: stiffness of the ground per area, N/m^3, with `plate_area`.
    /// plate_area : one or (mount,), optional
    ///     Area of the plate under each mount, m^2.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    /// gravity_stiffness : bool
    ///     The weight softens the mounts against tilting.
    /// frame_twist_stiffness : float, str or quantity, optional
    ///     Force at one corner per distance off the plane of the others, N/m; by default rigid.
    ///
    /// Returns
    /// -------
    /// LevelState
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError, UnknownNameError
    #[pyo3(signature = (settlement=None, *, subgrade_modulus=None, plate_area=None, case=None,
                        gravity_stiffness=false, frame_twist_stiffness=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn level_from_settlement(
        &self,
        py: Python<'_>,
        settlement: Option<&Bound<'_, PyAny>>,
        subgrade_modulus: Option<&Bound<'_, PyAny>>,
        plate_area: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
        gravity_stiffness: bool,
        frame_twist_stiffness: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyLevelState> {
        let n = self.0.mounts.len();
        let settlement =
            settlement.map(|s| list(s, "settlement", Dimension::LENGTH)).transpose()?;
        let modulus = optional(subgrade_modulus, "subgrade_modulus", Dimension::SUBGRADE_MODULUS)?;
        let area = plate_area.map(|a| list(a, "plate_area", Dimension::AREA)).transpose()?;
        let frame = optional(frame_twist_stiffness, "frame_twist_stiffness", Dimension::STIFFNESS)?;
        detached(py, || {
            let (body, loads) = self.0.case(case)?;
            let options = StaticsOptions { gravity_stiffness, ..StaticsOptions::default() };
            let load = self.0.static_load(body, loads);
            let level = statics(&self.0.system_of(body), &load, &options)?;
            let before = State { load: level.load.column(2).to_vec(), tilt: [0.0; 2], twist: 0.0 };
            let settlement = match (settlement, modulus, area) {
                (Some(surveyed), None, None) => surveyed,
                (None, Some(modulus), Some(area)) => {
                    let area = if let [one] = area[..] { vec![one; n] } else { area };
                    from_subgrade(&before.load, &area, modulus)?
                }
                _ => {
                    return Err(Error::invalid(
                        "settlement",
                        "not told",
                        "needs either settlement, or subgrade_modulus and plate_area",
                        "give one of the two",
                    ));
                }
            };
            let influence = Influence::of(&self.0, case, gravity_stiffness, frame)?;
            let after = before.settled(&influence, &settlement)?;
            let drift = Drift::of(&self.0, case, &influence)?;
            let mount_names = influence.mount_names;
            Ok(Settled { mount_names, settlement, before, after, drift })
        })
        .map(PyLevelState)
    }

    /// Which screw is turned, which way, by how much and in which order.
    ///
    /// Least motion: min sum a^2 / 2; least travel: min sum |a|; under |tilt| <= level_tolerance,
    /// (1 - load_band) target <= load <= (1 + load_band) target, and the travel of the screws. Then
    /// whole steps of the screws, and an order without overload, unload or tilt on the way.
    ///
    /// Cautions: lock out the press, never work under it while it is raised, jack only at its stated
    /// points, follow the maker's and the plant's own procedure and licensed practice.
    ///
    /// Parameters
    /// ----------
    /// settlement : (mount,), optional
    ///     How far each foot went down, m, down positive.
    /// level_tolerance : float, str or quantity, optional
    ///     Greatest tilt about either axis, rad; zero asks for exactly level. By default half a
    ///     thousandth of an inch per foot (common practice).
    /// load_band : float, str or quantity, optional
    ///     Part by which each load may leave its target; by default loads are free.
    /// travel : float, (2,) or (mount, 2), optional
    ///     Least and greatest adjustment of each screw, m; one number: that much each way. By
    ///     default the travel of the screws of the mounts.
    /// raise_only : bool
    ///     Screws may only be raised.
    /// screw_pitch : float, str or quantity, optional
    ///     Lift in one turn of every screw, m; by default that of the screws of the mounts. With
    ///     screws the plan is in whole steps.
    /// steps_per_turn : int
    ///     Steps of one turn that can be set, with screw_pitch (8: eighth turns).
    /// readings : LevelPlane, optional
    ///     Readings that say how it is tilted now.
    /// start : "level" or "even"
    ///     Before it settled: it was level, or its screws were never set.
    /// target : (mount,), optional
    ///     Target loads, N; by default those of the level machine.
    /// objective : "least motion" or "least travel"
    ///     Every screw a little, or few screws.
    /// reserve : float, str or quantity, optional
    ///     Travel of the screws kept for later at each end, m.
    /// frame_twist_stiffness : float, str or quantity, optional
    ///     Force at one corner per distance off the plane of the others, N/m; by default rigid.
    /// gravity_stiffness : bool
    ///     The weight softens the mounts against tilting.
    /// tilt_on_the_way : float, str or quantity, optional
    ///     Greatest tilt after any step, rad.
    /// age : float, str or quantity, optional
    ///     Time the rubber has been under load when it is leveled, s; by default 48 h.
    /// case : str, optional
    ///     Load case in which it is leveled; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// LevelingPlan
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     Also if limits conflict: it names them and says by how much they must give.
    #[pyo3(signature = (settlement=None, level_tolerance=None, load_band=None, travel=None,
                        raise_only=false, screw_pitch=None, *, steps_per_turn=8, readings=None,
                        start="level", target=None, objective="least motion", reserve=None,
                        frame_twist_stiffness=None, gravity_stiffness=false, tilt_on_the_way=None,
                        age=None, case=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn leveling_plan(
        &self,
        py: Python<'_>,
        settlement: Option<&Bound<'_, PyAny>>,
        level_tolerance: Option<&Bound<'_, PyAny>>,
        load_band: Option<&Bound<'_, PyAny>>,
        travel: Option<&Bound<'_, PyAny>>,
        raise_only: bool,
        screw_pitch: Option<&Bound<'_, PyAny>>,
        steps_per_turn: u32,
        readings: Option<PyRef<'_, PyLevelPlane>>,
        start: &str,
        target: Option<&Bound<'_, PyAny>>,
        objective: &str,
        reserve: Option<&Bound<'_, PyAny>>,
        frame_twist_stiffness: Option<&Bound<'_, PyAny>>,
        gravity_stiffness: bool,
        tilt_on_the_way: Option<&Bound<'_, PyAny>>,
        age: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
    ) -> PyResult<PyLevelingPlan> {
        let n = self.0.mounts.len();
        let default = Request::default();
        let request = Request {
            surfaces: Surfaces::default(),
            case: case.map(str::to_owned),
            gravity_stiffness,
            frame_twist_stiffness: optional(
                frame_twist_stiffness,
                "frame_twist_stiffness",
                Dimension::STIFFNESS,
            )?,
            start: word("start", start, &[("level", Start::Level), ("even", Start::Even)])?,
            settlement: settlement.map(|s| list(s, "settlement", Dimension::LENGTH)).transpose()?,
            plane: readings.map(|r| r.0.clone()),
            level_tolerance: optional(level_tolerance, "level_tolerance", Dimension::ANGLE)?
                .unwrap_or(COMMON_PRACTICE),
            load_band: optional(load_band, "load_band", Dimension::RATIO)?,
            target: target.map(|t| list(t, "target", Dimension::FORCE)).transpose()?,
            travel: travel.map(|t| travel_of(t, n)).transpose()?,
            raise_only,
            reserve: optional(reserve, "reserve", Dimension::LENGTH)?.unwrap_or(0.0),
            objective: word(
                "objective",
                objective,
                &[
                    ("least motion", Objective::LeastMotion),
                    ("least travel", Objective::LeastTravel),
                ],
            )?,
            screw: optional(screw_pitch, "screw_pitch", Dimension::LENGTH)?
                .map(|pitch| (pitch, steps_per_turn)),
            tilt_on_the_way: optional(tilt_on_the_way, "tilt_on_the_way", Dimension::ANGLE)?,
            age: optional(age, "age", Dimension::TIME)?.unwrap_or(default.age),
        };
        detached(py, || leveling_plan(&self.0, &request)?.plan().map(PlacedPlan))
            .map(PyLevelingPlan)
    }
}

fn optional(
    value: Option<&Bound<'_, PyAny>>,
    argument: &str,
    dimension: Dimension,
) -> PyResult<Option<f64>> {
    value.map(|v| scalar(v, argument, dimension)).transpose()
}

/// "x", "y" or a unit vector of the plan.
fn direction(value: &Bound<'_, PyAny>) -> PyResult<[f64; 2]> {
    if let Ok(text) = value.extract::<String>() {
        return word("along", &text, &[("x", [1.0, 0.0]), ("y", [0.0, 1.0])]);
    }
    let list = list(value, "along", Dimension::RATIO)?;
    list.try_into().map_err(|_| shape(value, "along", "\"x\", \"y\" or (2,): a unit vector"))
}

fn word<T: Copy>(argument: &str, given: &str, allowed: &[(&str, T)]) -> PyResult<T> {
    let found = allowed.iter().find(|(name, _)| *name == given).map(|(_, value)| *value);
    found.ok_or_else(|| {
        let names: Vec<_> = allowed.iter().map(|(name, _)| format!("{name:?}")).collect();
        to_py(Error::Unknown {
            argument: argument.into(),
            value: given.into(),
            allowed: format!("use {}", names.join(" or ")),
        })
    })
}

/// That much each way, one pair for all, or a pair for each mount.
fn travel_of(value: &Bound<'_, PyAny>, n: usize) -> PyResult<Vec<[f64; 2]>> {
    let expected = "one number, (2,): least and greatest, or (mount, 2)";
    let rows: Option<Vec<Bound<'_, PyAny>>> =
        value.try_iter().ok().and_then(|rows| rows.collect::<PyResult<Vec<_>>>().ok());
    let nested = rows.as_ref().is_some_and(|rows| {
        rows.iter().any(|row| {
            row.extract::<String>().is_err() && row.len().is_ok_and(|length| length == 2)
        })
    });
    let pair = |given: &Bound<'_, PyAny>| match list(given, "travel", Dimension::LENGTH)?[..] {
        [low, high] => Ok([low, high]),
        _ => Err(shape(value, "travel", expected)),
    };
    match rows {
        Some(rows) if nested => rows.iter().map(pair).collect(),
        Some(_) => match pair_of_texts(value)? {
            Some(both) => Ok(vec![both; n]),
            None => Ok(vec![pair(value)?; n]),
        },
        None => {
            let each = scalar(value, "travel", Dimension::LENGTH)?;
            if each < 0.0 {
                return Err(to_py(Error::invalid(
                    "travel",
                    format!("{each} m"),
                    "must not be negative: it is what is left each way",
                    "give a length, or (least, greatest)",
                )));
            }
            Ok(vec![[-each, each]; n])
        }
    }
}

/// A text is one number for both ways.
fn pair_of_texts(value: &Bound<'_, PyAny>) -> PyResult<Option<[f64; 2]>> {
    if value.extract::<String>().is_err() {
        return Ok(None);
    }
    let each = scalar(value, "travel", Dimension::LENGTH)?;
    Ok(Some([-each.abs(), each.abs()]))
}
