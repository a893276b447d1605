//! Results of leveling: the plane of readings, influence, what settlement does, the plan.

use nalgebra::DVector;
use ndarray::{Array1, Array2};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::super::convert::{list, scalar};
use super::super::error::to_py;
use super::super::labeled::{Values, array, labeled};
use crate::analysis::leveling::influence::Influence;
use crate::analysis::leveling::settlement::{Drift, State};
use crate::analysis::leveling::{
    LevelingPlan, Plane, SheetUnits, parallelism, sheet_html, sheet_text,
};
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

/// A machine before and after settlement, and how creep drifts it.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Settled {
    pub mount_names: Vec<String>,
    pub settlement: Vec<f64>,
    pub before: State,
    pub after: State,
    pub drift: Drift,
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

/// A plan as Python holds it.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PlacedPlan(pub LevelingPlan);

labeled! {
    /// A leveling plan; see `Installation.leveling_plan`.
    ///
    /// `adjustment` is what is to be set, up positive: whole steps where the screws have steps.
    /// `optimum` is the exact optimum, judged by its optimality conditions: `excess` and
    /// `stationarity`.
    PyLevelingPlan "LevelingPlan" (PlacedPlan)
    coords {
        "mount" => |r| r.0.influence.mount_names.clone();
        "tilt_axis" => |_r| vec!["rx", "ry"];
        "plan_axis" => |_r| vec!["x", "y"];
        "step" => |r| (1..=step_adjustment(&r.0).len()).collect::<Vec<_>>();
        "case" => |r| r.0.cases.iter().map(|c| c.case.clone()).collect::<Vec<_>>();
        "check" => |r| r.0.later.iter().map(|l| l.when.clone()).collect::<Vec<_>>();
    }
    fields {
        positions: ["mount", "plan_axis"] "m" "where the mounts stand" => |r| pairs(r.0.influence.positions.iter().copied());
        adjustment: ["mount"] "m" "adjustment of each screw, up positive" => |r| r.0.adjustment;
        optimum: ["mount"] "m" "exact optimum before whole steps" => |r| r.0.optimum;
        target: ["mount"] "N" "target load" => |r| r.0.target;
        load_before: ["mount"] "N" "vertical load now" => |r| r.0.before.load;
        load_after: ["mount"] "N" "vertical load after the plan" => |r| r.0.after.load;
        tilt_before: ["tilt_axis"] "rad" "tilt now" => |r| r.0.before.tilt;
        tilt_after: ["tilt_axis"] "rad" "tilt after the plan" => |r| r.0.after.tilt;
        step_adjustment: ["step"] "m" "adjustment of each step in order" => |r| step_adjustment(&r.0);
        step_load: ["step", "mount"] "N" "loads after each step" => |r| step_load(&r.0);
        step_tilt: ["step", "tilt_axis"] "rad" "tilt after each step" => |r| step_tilt(&r.0);
        case_tilt: ["case", "tilt_axis"] "rad" "level in each load case after the plan, gravity included" => |r| pairs(r.0.cases.iter().map(|c| c.tilt_with_gravity));
        amplification: ["case", "tilt_axis"] "1" "1 / (1 - m g h / k_theta)" => |r| pairs(r.0.cases.iter().map(|c| c.amplification));
        later_tilt: ["check", "tilt_axis"] "rad" "level at later checks, by creep" => |r| pairs(r.0.later.iter().map(|l| l.tilt));
    }
}

fn pairs(rows: impl Iterator<Item = [f64; 2]>) -> Array2<f64> {
    let flat: Vec<f64> = rows.flatten().collect();
    Array2::from_shape_vec((flat.len() / 2, 2), flat).unwrap_or_default()
}

fn step_adjustment(plan: &LevelingPlan) -> Array1<f64> {
    plan.sequence.steps.iter().map(|s| s.adjustment).collect()
}

fn step_load(plan: &LevelingPlan) -> Array2<f64> {
    let steps = &plan.sequence.steps;
    let flat: Vec<f64> = steps.iter().flat_map(|s| s.state.load.iter().copied()).collect();
    Array2::from_shape_vec((steps.len(), plan.target.len()), flat).unwrap_or_default()
}

fn step_tilt(plan: &LevelingPlan) -> Array2<f64> {
    pairs(plan.sequence.steps.iter().map(|s| s.state.tilt))
}

#[pymethods]
impl PyLevelingPlan {
    /// Names of the mounts.
    #[getter]
    fn mounts(&self) -> Vec<String> {
        self.0.0.influence.mount_names.clone()
    }

    /// Turns of each screw, up positive; None where no pitch is stated.
    #[getter]
    fn turns(&self) -> Vec<Option<f64>> {
        self.0.0.turns.clone()
    }

    /// Names of the mounts in the order in which they are turned.
    #[getter]
    fn order(&self) -> Vec<String> {
        let names = &self.0.0.influence.mount_names;
        let steps = self.0.0.sequence.steps.iter();
        steps.filter_map(|s| names.get(s.mount).cloned()).collect()
    }

    /// Passes into which the turns are split.
    #[getter]
    fn passes(&self) -> usize {
        self.0.0.sequence.passes
    }

    /// Level tolerance, rad.
    #[getter]
    fn level_tolerance(&self) -> f64 {
        self.0.0.request.level_tolerance
    }

    /// Value of the objective at `adjustment`: m^2 (half the sum of squares) or m (the sum).
    #[getter]
    fn objective(&self) -> f64 {
        self.0.0.objective
    }

    /// Greatest excess of `optimum` over its limits, m of screw.
    #[getter]
    fn excess(&self) -> f64 {
        self.0.0.conditions.excess
    }

    /// What the multipliers leave of the gradient at `optimum`, relative to it.
    #[getter]
    fn stationarity(&self) -> f64 {
        self.0.0.conditions.stationarity
    }

    /// Limits that hold `optimum` back, with their multipliers: m, or 1 for least travel.
    #[getter]
    fn multipliers(&self) -> Vec<(String, f64)> {
        let names = &self.0.0.influence.mount_names;
        let all = self.0.0.conditions.multipliers.iter();
        all.map(|(kind, value)| (kind.words(names), *value)).collect()
    }

    /// True if the plan in whole steps keeps every limit, and no state on the way breaks one.
    #[getter]
    fn keeps_limits(&self) -> bool {
        let whole = self.0.0.quantized.as_ref().is_none_or(|q| q.keeps_limits);
        whole && self.0.0.sequence.keeps_limits
    }

    /// True if the whole steps are proved the best of all; None without steps.
    #[getter]
    fn proved(&self) -> Option<bool> {
        self.0.0.quantized.as_ref().map(|q| q.proved)
    }

    /// Level at every station: (name, before, after), rad.
    #[getter]
    fn stations(&self) -> Vec<(String, f64, f64)> {
        let all = self.0.0.stations.iter();
        all.map(|s| (s.name.clone(), s.before, s.after)).collect()
    }

    /// Time after leveling at which creep takes the level out of tolerance, s; None: never.
    #[getter]
    fn lost_after(&self) -> Option<f64> {
        self.0.0.lost_after
    }

    /// What to know before turning a screw.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.0.warnings.clone()
    }

    /// Loads (mount,) after any other adjustments of the machine as it stands now, N.
    ///
    /// Parameters
    /// ----------
    /// adjustment : (mount,)
    ///     m, up positive.
    ///
    /// Returns
    /// -------
    /// array (mount,)
    ///
    /// Raises
    /// ------
    /// ShapeError, UnitError
    fn load_for<'py>(
        &self,
        py: Python<'py>,
        adjustment: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let plan = &self.0.0;
        let given = list(adjustment, "adjustment", Dimension::LENGTH)?;
        if given.len() != plan.target.len() {
            let expected = format!("({},), one for each mount", plan.target.len());
            return Err(super::super::convert::shape(adjustment, "adjustment", &expected));
        }
        let moved = plan.before.moved(&plan.influence, &DVector::from_vec(given));
        array(py, Array1::from_vec(moved.load))
    }

    /// The work sheet for the millwright, with its cautions.
    ///
    /// Parameters
    /// ----------
    /// units : "si", "us" or "both"
    ///     Units of the sheet.
    /// html : bool
    ///     A page that prints in big type, instead of text.
    ///
    /// Returns
    /// -------
    /// str
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (units="both", *, html=false))]
    fn sheet(&self, units: &str, html: bool) -> PyResult<String> {
        let units = match units {
            "si" => SheetUnits::Si,
            "us" => SheetUnits::Us,
            "both" => SheetUnits::Both,
            other => {
                return Err(to_py(Error::Unknown {
                    argument: "units".into(),
                    value: other.into(),
                    allowed: "use \"si\", \"us\" or \"both\"".into(),
                }));
            }
        };
        let write = if html { sheet_html } else { sheet_text };
        Ok(write(&self.0.0, units))
    }
}
