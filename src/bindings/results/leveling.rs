//! Results of leveling: the plane of readings, influence, what settlement does.

use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::super::convert::{list, scalar};
use super::super::error::to_py;
use super::super::labeled::{Values, array, labeled};
use crate::analysis::leveling::influence::Influence;
use crate::analysis::leveling::{Plane, Settled, parallelism};
use crate::error::{Error, positive};
use crate::units::Dimension;

labeled! {
    /// The plane of level and height readings; see `level_readings`.
    PyLevelPlane "LevelPlane" (Plane)
    coords {
        "tilt_axis" => |_r| vec!["rx", "ry"];
        "reading" => |r| r.readings.iter().map(|x| x.station.clone()).collect::<Vec<_>>();
    }
    fields {
        tilt: ["tilt_axis"] "rad" "tilt about x and about y" => |r| r.tilt();
        corrected: ["reading"] "rad, m" "reading with reversal and own error taken out" => |r| r.corrected;
        residual: ["reading"] "rad, m" "what each reading leaves of the plane" => |r| r.residual;
    }
}

#[pymethods]
impl PyLevelPlane {
    /// How far each level reading of the slide is out of parallel with this plane, rad.
    ///
    /// Parameters
    /// ----------
    /// readings : sequence of LevelReading
    ///     Under the slide, at the bottom of its stroke.
    ///
    /// Returns
    /// -------
    /// list of (station, rad)
    ///     Level of the slide less that of the plane along the same direction.
    fn parallelism(&self, readings: Vec<Bound<'_, PyAny>>) -> PyResult<Vec<(String, f64)>> {
        Ok(parallelism(&self.0, &super::super::leveling::readings_of(&readings)?))
    }

    /// Names of the stations, one for each reading.
    #[getter]
    fn stations(&self) -> Vec<String> {
        self.0.readings.iter().map(|r| r.station.clone()).collect()
    }

    /// Standard errors of the tilt about x and about y, rad; None where they cannot be told.
    #[getter]
    fn tilt_standard_error(&self) -> Option<(f64, f64)> {
        let [x, y] = [0, 1].map(|i| self.0.tilt.get(i).and_then(|t| t.standard_error));
        Some((x?, y?))
    }

    /// Twist: difference of level between opposite ends, rad; None if the stations cannot tell.
    #[getter]
    fn twist(&self) -> Option<f64> {
        self.0.twist.map(|t| t.value)
    }

    /// Standard error of the twist, rad.
    #[getter]
    fn twist_standard_error(&self) -> Option<f64> {
        self.0.twist.and_then(|t| t.standard_error)
    }

    /// Bow along x and along y: difference of level between opposite ends, rad.
    #[getter]
    fn bow(&self) -> (Option<f64>, Option<f64>) {
        let [x, y] = self.0.bow;
        (x.map(|b| b.value), y.map(|b| b.value))
    }

    /// Standard errors of the bow along x and along y, rad.
    #[getter]
    fn bow_standard_error(&self) -> (Option<f64>, Option<f64>) {
        let [x, y] = self.0.bow;
        (x.and_then(|b| b.standard_error), y.and_then(|b| b.standard_error))
    }

    /// The level's own error from reversed readings, rad.
    #[getter]
    fn own_error(&self) -> Option<f64> {
        self.0.own_error
    }

    /// True if twist or a reading passes its limit: no plane then levels every station.
    #[getter]
    fn contradictory(&self) -> bool {
        self.0.contradictory
    }

    /// What to know before using the plane.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }
}

labeled! {
    /// What raising each mount by one meter does; see `Installation.leveling_influence`.
    PyLevelingInfluence "LevelingInfluence" (Influence)
    coords {
        "mount" => |r| r.mount_names.clone();
        "raised" => |r| r.mount_names.clone();
        "tilt_axis" => |_r| vec!["rx", "ry"];
    }
    fields {
        load: ["mount", "raised"] "N/m" "change of each load when one mount is raised" => |r| r.load;
        tilt: ["tilt_axis", "raised"] "rad/m" "change of the tilt when one mount is raised" => |r| r.tilt;
        rise: ["raised"] "1" "rise of the machine over the origin of the floor" => |r| r.rise;
        twist: ["raised"] "1" "rise of the corners of the frame by twist" => |r| r.twist;
    }
}

#[pymethods]
impl PyLevelingInfluence {
    /// Names of the mounts.
    #[getter]
    fn mounts(&self) -> Vec<String> {
        self.0.mount_names.clone()
    }

    /// Change of the level (raised,) at a station along a direction, rad for each meter of screw.
    ///
    /// Parameters
    /// ----------
    /// at : (2,) or (3,)
    ///     Where the station is, m.
    /// along : (2,)
    ///     Unit direction in the plan.
    ///
    /// Returns
    /// -------
    /// array (raised,)
    ///
    /// Raises
    /// ------
    /// ShapeError, UnitError
    fn station<'py>(
        &self,
        py: Python<'py>,
        at: &Bound<'py, PyAny>,
        along: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let at = list(at, "at", Dimension::LENGTH)?;
        let along = list(along, "along", Dimension::RATIO)?;
        let (&[x, y, ..], &[dx, dy]) = (&at[..], &along[..]) else {
            return Err(to_py(Error::Shape {
                argument: "at, along".into(),
                found: format!("({},), ({},)", at.len(), along.len()),
                expected: "(2,) or (3,): a place, and (2,): a unit direction in the plan".into(),
            }));
        };
        array(py, self.0.station([x, y], [dx, dy]).values())
    }

    /// What one turn of each screw does: {"load": (mount, raised) N, "tilt": (2, raised) rad}.
    ///
    /// Parameters
    /// ----------
    /// screw_pitch : float, str or quantity
    ///     Lift in one turn, m.
    ///
    /// Returns
    /// -------
    /// dict of arrays
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn per_turn<'py>(
        &self,
        py: Python<'py>,
        screw_pitch: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let pitch = scalar(screw_pitch, "screw_pitch", Dimension::LENGTH)?;
        let pitch = positive("screw_pitch", pitch, "m").map_err(to_py)?;
        let table = PyDict::new(py);
        table.set_item("load", array(py, (&self.0.load * pitch).values())?)?;
        table.set_item("tilt", array(py, (&self.0.tilt * pitch).values())?)?;
        Ok(table)
    }
}

labeled! {
    /// Load and level after settlement; see `Installation.level_from_settlement`.
    PyLevelState "LevelState" (Settled)
    coords {
        "mount" => |r| r.mount_names.clone();
        "tilt_axis" => |_r| vec!["rx", "ry"];
    }
    fields {
        settlement: ["mount"] "m" "settlement of each foot, down positive" => |r| r.settlement;
        load_before: ["mount"] "N" "vertical load of the level machine" => |r| r.before.load;
        load: ["mount"] "N" "vertical load after settlement" => |r| r.after.load;
        tilt: ["tilt_axis"] "rad" "tilt after settlement" => |r| r.after.tilt;
        creep_tilt: ["tilt_axis"] "rad" "change of tilt by creep in a decade of time" => |r| r.drift.tilt;
    }
}

#[pymethods]
impl PyLevelState {
    /// Names of the mounts.
    #[getter]
    fn mounts(&self) -> Vec<String> {
        self.0.mount_names.clone()
    }

    /// Rise of the frame's corners by its twist, m; zero for a rigid frame.
    #[getter]
    fn twist(&self) -> f64 {
        self.0.after.twist
    }

    /// Feet that would have to pull, or leave their load range.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }

    /// Age under load (s) at which creep takes a level machine out of a tolerance; None: never.
    ///
    /// Parameters
    /// ----------
    /// level_tolerance : float, str or quantity
    ///     Greatest tilt about either axis, rad.
    /// leveled : float, str or quantity
    ///     Age under load at which it was leveled, s (60 s at least).
    ///
    /// Returns
    /// -------
    /// float or None
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn tolerance_lost(
        &self,
        level_tolerance: &Bound<'_, PyAny>,
        leveled: &Bound<'_, PyAny>,
    ) -> PyResult<Option<f64>> {
        let tolerance = scalar(level_tolerance, "level_tolerance", Dimension::ANGLE)?;
        let leveled = scalar(leveled, "leveled", Dimension::TIME)?;
        self.0.drift.lost([0.0; 2], leveled, tolerance).map_err(to_py)
    }
}
