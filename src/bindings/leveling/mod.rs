//! Leveling: readings, what settlement does, and the plan.

mod readings;

use pyo3::prelude::*;

use super::convert::{list, scalar, shape};
use super::detached;
use super::error::to_py;
use super::installation::PyInstallation;
use super::results::{PlacedPlan, PyLevelPlane, PyLevelState, PyLevelingInfluence, PyLevelingPlan};
use crate::analysis::leveling::influence::Influence;
use crate::analysis::leveling::request::STEPS_PER_TURN;
use crate::analysis::leveling::tolerance::COMMON_PRACTICE;
use crate::analysis::leveling::{
    Objective, Request, Start, Subgrade, Surfaces, leveling_plan, settled,
};
use crate::error::Error;
use crate::support::screw::steps;
use crate::units::Dimension;

pub(super) use readings::readings_of;
pub use readings::{PyHeightReading, PyLevelReading, level_readings};

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
        let request = Request {
            settlement: settlement.map(|s| list(s, "settlement", Dimension::LENGTH)).transpose()?,
            subgrade: subgrade(self, subgrade_modulus, plate_area)?,
            case: case.map(str::to_owned),
            gravity_stiffness,
            frame_twist_stiffness: optional(
                frame_twist_stiffness,
                "frame_twist_stiffness",
                Dimension::STIFFNESS,
            )?,
            ..Request::default()
        };
        detached(py, || settled(&self.0, &request)).map(PyLevelState)
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
    /// subgrade_modulus : float, str or quantity, optional
    ///     Instead of a survey: stiffness of the ground per area, N/m^3, with `plate_area`.
    /// plate_area : one or (mount,), optional
    ///     Area of the plate under each mount, m^2.
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
    /// steps_per_turn : int, optional
    ///     Steps of one turn that can be set, with screw_pitch; by default 8, eighth turns.
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
                        raise_only=false, screw_pitch=None, *, steps_per_turn=None,
                        subgrade_modulus=None, plate_area=None, readings=None, start="level", target=None, objective="least motion", reserve=None,
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
        steps_per_turn: Option<i64>,
        subgrade_modulus: Option<&Bound<'_, PyAny>>,
        plate_area: Option<&Bound<'_, PyAny>>,
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
            subgrade: subgrade(self, subgrade_modulus, plate_area)?,
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
            screw: screw(optional(screw_pitch, "screw_pitch", Dimension::LENGTH)?, steps_per_turn)?,
            tilt_on_the_way: optional(tilt_on_the_way, "tilt_on_the_way", Dimension::ANGLE)?,
            age: optional(age, "age", Dimension::TIME)?.unwrap_or(default.age),
        };
        detached(py, || leveling_plan(&self.0, &request)?.plan().map(PlacedPlan))
            .map(PyLevelingPlan)
    }
}

/// One screw for all mounts: steps are those of a pitch.
fn screw(pitch: Option<f64>, steps_per_turn: Option<i64>) -> PyResult<Option<(f64, u32)>> {
    let count = steps_per_turn.map(steps).transpose().map_err(to_py)?;
    match (pitch, count) {
        (Some(pitch), count) => Ok(Some((pitch, count.unwrap_or(STEPS_PER_TURN)))),
        (None, None) => Ok(None),
        (None, Some(count)) => Err(to_py(Error::invalid(
            "steps_per_turn",
            count,
            "needs screw_pitch: steps without a pitch lift by nobody knows how much",
            "give screw_pitch too, or neither: the screws of the mounts then count",
        ))),
    }
}

/// The ground under the plates: both arguments or none; one area stands for all mounts.
fn subgrade(
    inst: &PyInstallation,
    modulus: Option<&Bound<'_, PyAny>>,
    area: Option<&Bound<'_, PyAny>>,
) -> PyResult<Option<Subgrade>> {
    let modulus = optional(modulus, "subgrade_modulus", Dimension::SUBGRADE_MODULUS)?;
    let area = area.map(|a| list(a, "plate_area", Dimension::AREA)).transpose()?;
    match (modulus, area) {
        (Some(modulus), Some(area)) => {
            let plate_area = match area[..] {
                [one] => vec![one; inst.0.mounts.len()],
                _ => area,
            };
            Ok(Some(Subgrade { modulus, plate_area }))
        }
        (None, None) => Ok(None),
        (modulus, _) => {
            let missing = if modulus.is_some() { "plate_area" } else { "subgrade_modulus" };
            Err(to_py(Error::invalid(
                missing,
                "not given",
                "settlement from load and ground needs both subgrade_modulus and plate_area",
                "give both, or a surveyed settlement",
            )))
        }
    }
}

fn optional(
    value: Option<&Bound<'_, PyAny>>,
    argument: &str,
    dimension: Dimension,
) -> PyResult<Option<f64>> {
    value.map(|v| scalar(v, argument, dimension)).transpose()
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
