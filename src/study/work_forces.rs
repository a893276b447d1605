//! What else a job asks of a work force: the pulse on a rigid press that stands for it, and what a
//! tonnage record tells of it. Both are for the inputs as given, without bands.

use std::fmt::Write as _;

use serde::{Deserialize, Serialize};

use super::Study;
use super::text::{show, table};
use crate::analysis::snap_through::{Calibration, calibrate_snap_through, equivalent_pulse};
use crate::analysis::transient::{NO_HISTORIES, Quantity, ShockOptions, shock};
use crate::error::Result;
use crate::excitation::{BreakThrough, EquivalentPulse};
use crate::installation::{Installation, Wrench};
use crate::job::{Job, SnapThroughAsked};
use crate::units::Dimension;

/// The pulse that stands for a break on a rigid press.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Equivalent {
    /// The pulse.
    pub pulse: EquivalentPulse,
    /// Does it suffice for the force on the floor, by the rule of
    /// [`crate::excitation::equivalent_pulse`]?
    pub suffices: bool,
    /// Greatest vertical force on the floor under it, down and up, N.
    pub floor_force: [f64; 2],
}

/// What is told of one work force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WorkForceTold {
    /// Name of the work force.
    pub name: String,
    /// `None` where the job does not ask.
    pub equivalent: Option<Equivalent>,
    /// `None` without a tonnage record.
    pub calibration: Option<Calibration>,
}

/// All that the job asks for.
pub(super) fn told(job: &Job) -> Result<Vec<WorkForceTold>> {
    let inst = &job.installation;
    let asks = |a: &&SnapThroughAsked| a.equivalent_pulse || a.calibration.is_some();
    let one = |asked: &SnapThroughAsked| {
        let force = asked.force.break_through();
        let equivalent = match force.filter(|_| asked.equivalent_pulse) {
            Some(force) => Some(equivalent(inst, asked.case.as_deref(), force)?),
            None => None,
        };
        let calibration = match force.zip(asked.calibration.as_ref()) {
            Some((guess, by)) => {
                let (time, record) = (by.times(), &by.record.values);
                Some(calibrate_snap_through(inst, &time, record, guess, &by.options)?)
            }
            None => None,
        };
        Ok(WorkForceTold { name: asked.name.clone(), equivalent, calibration })
    };
    job.break_throughs.iter().filter(asks).map(one).collect()
}

fn equivalent(inst: &Installation, case: Option<&str>, force: &BreakThrough) -> Result<Equivalent> {
    let (body, _) = inst.case(case)?;
    let as_in_case = Installation { body: body.clone(), ..inst.clone() };
    let (pulse, suffices) = equivalent_pulse(&as_in_case, force)?;
    let mut rigid = as_in_case;
    rigid.press = None;
    let up = Wrench::new(nalgebra::Vector3::z(), nalgebra::Vector3::zeros(), pulse.point)?;
    let options = ShockOptions { dt: Some(NO_HISTORIES), ..ShockOptions::default() };
    let load = up.about(rigid.body.center());
    let found = shock(&rigid.system().linear(), &pulse.segments(), &load, &options)?;
    let wrench = found.transient.extrema(&found.output(Quantity::GroundWrench));
    let z = wrench.get(2).map_or([0.0; 2], |e| [-e.min.value, e.max.value]);
    Ok(Equivalent { pulse, suffices, floor_force: z.map(|f| f.max(0.0)) })
}

/// The sections of the summary.
pub(super) fn section(study: &Study, text: &mut String) {
    let force = |value: f64| show(study, value, Dimension::FORCE);
    for told in &study.work_forces {
        let Some(found) = &told.equivalent else { continue };
        let [down, up] = found.floor_force;
        let _ = writeln!(
            text,
            "{}: the equivalent pulse on a rigid press puts {} down and {} up on the floor; it {} (its \
             slowest swing is {}, and {} times the stiffest mode on mounts without loss factor are asked \
             for). It says nothing of drive and column.\n",
            told.name,
            force(down),
            force(up),
            if found.suffices { "suffices for the floor" } else { "does not suffice here" },
            show(study, found.pulse.frequency(), Dimension::FREQUENCY),
            crate::excitation::equivalent_pulse::ENOUGH,
        );
    }
    for told in &study.work_forces {
        let Some(found) = &told.calibration else { continue };
        let _ = writeln!(text, "### What the tonnage record tells of {}\n", told.name);
        let rows: Vec<Vec<String>> = found
            .names
            .iter()
            .zip(found.values.iter().zip(&found.errors))
            .map(|(name, (value, error))| {
                let unit = unit(name);
                let error = if error.is_finite() {
                    show(study, *error, unit)
                } else {
                    "not told by the record".into()
                };
                vec![name.clone(), show(study, *value, unit), error]
            })
            .collect();
        table(text, &["parameter", "fitted", "standard error"], &rows);
        let _ = writeln!(text, "Left over: {} (root mean square).", force(found.residual_rms));
        for group in &found.not_separated {
            let _ = writeln!(text, "The record cannot separate {}.", group.join(", "));
        }
        for warning in &found.warnings {
            let _ = writeln!(text, "{warning}.");
        }
        text.push('\n');
    }
}

fn unit(parameter: &str) -> Dimension {
    match parameter {
        "force" => Dimension::FORCE,
        "softened_to" | "residual" => Dimension::RATIO,
        _ => Dimension::TIME,
    }
}
