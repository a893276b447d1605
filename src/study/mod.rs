//! The whole job: what the machine does on its mounts, how sure that is, and whether it holds.
//!
//! A [`Study`] computes a [`Job`] once as given and twice more for each input
//! with a band, at its two ends, all others as given. Each key figure and each check gets the band
//! that follows: the changes of one side are combined as the root of the sum of their squares
//! (independent inputs, effects that add up; GUM, JCGM 100:2008, section 5.1.2, from memory, with
//! end-to-end changes in place of derivatives). An OK whose band reaches beyond the limit becomes
//! OK IF, and names the input that moves it most.
//!
//! Limits: effects of two inputs together are not seen; a band is the range the user stated, not a
//! probability.

mod asks;
mod bands;
mod conditions;
mod confirm;
mod contacts;
mod events;
mod figures;
mod floor_force;
mod leveling;
mod levels;
mod limits_at_rest;
mod limits_in_motion;
mod options;
mod parallel;
pub mod rank;
mod results;
mod running;
mod snap_through;
mod standing;
mod summary;
mod text;
mod verdicts;
mod work_forces;

pub use asks::Ask;
pub use bands::Figure;
pub use events::event_of;
pub use figures::Plain;
pub use rank::{Choice, Objective, RankOptions, Ranking, rank_installation, rank_options};
pub use results::{
    CaseResult, HarmonicResult, PointPeak, Results, ShockResult, SnapThroughResult, shock_of,
    working_of,
};
pub use running::{PointRun, Running, SlideResult};
pub use text::reading_unit;
pub use work_forces::{Equivalent, WorkForceTold};

use serde::{Deserialize, Serialize};

use crate::checks::{Check, Overall, overall};
use crate::error::Result;
use crate::job::{Input, Job, Limits, ReportUnits};
use crate::support::catalog::Model;

/// A job computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Study {
    /// Title of the job.
    pub title: String,
    /// Name of the machine.
    pub machine: String,
    /// Units of the report.
    pub units: ReportUnits,
    /// Every number of the job, with band and source.
    pub inputs: Vec<Input>,
    /// What the results are compared with.
    pub limits: Limits,
    /// Unevenness of the floor that the bands of the foot loads hold, m.
    pub floor_unevenness: Option<f64>,
    /// Everything computed, for the inputs as given.
    pub results: Results,
    /// Key figures with their bands.
    pub figures: Vec<Figure>,
    /// Checks with their bands and verdicts.
    pub checks: Vec<Check>,
    /// Mount models that could stand there instead, the best first; `None` if the job does not ask.
    pub options: Option<Ranking>,
    /// The models of these options.
    pub models: Vec<Model>,
    /// What else is told of work forces, where the job asks: equivalent pulse, calibration.
    pub work_forces: Vec<WorkForceTold>,
    /// Assumed inputs to ask the client for, the most decisive first.
    pub asks: Vec<Ask>,
    /// The verdict of all checks together; `None` if the job sets nothing to check.
    pub overall: Option<Overall>,
    /// What to know before trusting the numbers.
    pub warnings: Vec<String>,
}

/// Key figures and checks of a job for its inputs as given, without bands and histories.
#[derive(Debug, Clone, PartialEq)]
pub struct AsGiven {
    /// Key figures; the same list for every value of the inputs.
    pub figures: Vec<Plain>,
    /// Checks; the same list for every value of the inputs.
    pub checks: Vec<Check>,
}

impl AsGiven {
    /// Computes them.
    ///
    /// # Errors
    /// Those of the analyses.
    pub fn of(job: &Job) -> Result<Self> {
        let found = verdicts::Computed::of(job)?;
        let checks = verdicts::checks(job, &found)?.into_iter().map(|asked| asked.check);
        Ok(Self { figures: figures::figures(&found.results), checks: checks.collect() })
    }
}

impl Study {
    /// Computes a job.
    ///
    /// # Errors
    /// Those of the analyses; for an end of a band, with the input named.
    pub fn of(job: &Job) -> Result<Self> {
        let inputs: Vec<&Input> = job.banded().collect();
        Self::with_bands_of(job, &inputs)
    }

    /// Computes a job for the inputs as given: the bands of its inputs are left out, those of the
    /// floor stay.
    ///
    /// # Errors
    /// Those of the analyses.
    pub fn as_given(job: &Job) -> Result<Self> {
        Self::with_bands_of(job, &[])
    }

    fn with_bands_of(job: &Job, inputs: &[&Input]) -> Result<Self> {
        let results = Results::of(job)?;
        let bands = bands::Bands::of(job, inputs)?;
        let checks = bands.checks()?;
        Ok(Self {
            title: job.title.clone(),
            machine: job.machine.clone(),
            units: job.units,
            inputs: job.inputs.clone(),
            limits: job.limits.clone(),
            floor_unevenness: job.floor_unevenness,
            figures: bands.figures(),
            asks: bands.asks(),
            overall: overall(&checks),
            checks,
            options: options::ranked(job)?,
            work_forces: work_forces::told(job)?,
            models: job.options.as_ref().map_or_else(Vec::new, |o| o.catalog.models.clone()),
            warnings: results.warnings(job),
            results,
        })
    }

    /// The study on a page, as Markdown: verdicts, key figures with bands, loads, modes,
    /// assumptions, warnings.
    pub fn summary(&self) -> String {
        summary::summary(self)
    }

    /// Key figures, checks, register and tables as JSON (histories and curves are left out).
    ///
    /// # Errors
    /// [`crate::Error::NotConverged`] if a number cannot be written.
    pub fn to_json(&self) -> Result<String> {
        summary::json(self)
    }
}
