//! The result of a leveling plan.

use nalgebra::DVector;
use ndarray::{Array1, Array2};
use pyo3::prelude::*;

use super::super::convert::list;
use super::super::error::to_py;
use super::super::labeled::{array, labeled};
use super::leveling::PyLevelingInfluence;
use crate::analysis::leveling::{
    LevelingPlan, OneTurn, SheetUnits, one_turn_words, setting, sheet_html, sheet_text,
};
use crate::error::Error;
use crate::units::Dimension;

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
        "raised" => |r| r.0.influence.mount_names.clone();
        "station" => |r| r.0.stations.iter().map(|s| s.name.clone()).collect::<Vec<_>>();
        "step" => |r| (1..=step_adjustment(&r.0).len()).collect::<Vec<_>>();
        "case" => |r| r.0.cases.iter().map(|c| c.case.clone()).collect::<Vec<_>>();
        "check" => |r| r.0.later.iter().map(|l| l.when.clone()).collect::<Vec<_>>();
    }
    fields {
        positions: ["mount", "plan_axis"] "m" "where the mounts stand" => |r| pairs(r.0.influence.positions.iter().copied());
        adjustment: ["mount"] "m" "adjustment of each screw, up positive" => |r| r.0.adjustment;
        optimum: ["mount"] "m" "exact optimum before whole steps" => |r| r.0.optimum;
        settlement: ["mount"] "m" "settlement of each foot, down positive; zeros if none is known" => |r| settlement(&r.0);
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
        one_turn_lift: ["raised"] "m" "lift of one turn, one shim, or 1 mm without either" => |r| one(&r.0, |t| vec![t.lift]).flatten().to_owned();
        one_turn_load: ["raised", "mount"] "N" "change of each load by it" => |r| one(&r.0, |t| t.load.clone());
        one_turn_tilt: ["raised", "tilt_axis"] "rad" "change of the tilt by it" => |r| one(&r.0, |t| t.tilt.to_vec());
        one_turn_level: ["raised", "station"] "rad" "change of the level at each station by it" => |r| one(&r.0, |t| t.level.clone());
        later_tilt: ["check", "tilt_axis"] "rad" "level at later checks, by creep" => |r| pairs(r.0.later.iter().map(|l| l.tilt));
    }
}

fn settlement(plan: &LevelingPlan) -> Vec<f64> {
    plan.settlement.clone().unwrap_or_else(|| vec![0.0; plan.target.len()])
}

/// A row of the influence table for each screw.
fn one(plan: &LevelingPlan, row: impl Fn(&OneTurn) -> Vec<f64>) -> Array2<f64> {
    let rows: Vec<Vec<f64>> = plan.one_turn().iter().map(row).collect();
    let columns = rows.first().map_or(0, Vec::len);
    Array2::from_shape_vec((rows.len(), columns), rows.concat()).unwrap_or_default()
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

    /// Turns of each screw, up positive; None where no pitch is stated, and for shims.
    #[getter]
    fn turns(&self) -> Vec<Option<f64>> {
        self.0.0.turns.clone()
    }

    /// What is set at each mount, in words: "raise 1 3/8 turns", "lower 2 shims", "none".
    #[getter]
    fn settings(&self) -> Vec<String> {
        let plan = &self.0.0;
        let all = plan.adjustment.iter().zip(&plan.screws);
        all.map(|(a, screw)| setting::words(screw.as_ref(), *a)).collect()
    }

    /// The same for each step, in order.
    #[getter]
    fn step_settings(&self) -> Vec<String> {
        let plan = &self.0.0;
        let screw = |i: usize| plan.screws.get(i).and_then(Option::as_ref);
        let steps = plan.sequence.steps.iter();
        steps.map(|s| setting::words(screw(s.mount), s.adjustment)).collect()
    }

    /// What one_turn_lift is for each mount: "1 turn", "1 shim" or "1 mm".
    #[getter]
    fn one_turn(&self) -> Vec<&'static str> {
        self.0.0.screws.iter().map(|s| one_turn_words(s.as_ref())).collect()
    }

    /// What raising each mount by one meter does.
    #[getter]
    fn influence(&self) -> PyLevelingInfluence {
        PyLevelingInfluence(self.0.0.influence.clone())
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
