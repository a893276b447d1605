//! What does the job file say? A whole job as text: the machine, its mounts, load cases, shocks,
//! what to compute and what to compare it with.
//!
//! Three steps: the file as text with places ([`Job::load`] reads it, the `toml` crate parses it),
//! sections read one by one with every number in SI and in the register of inputs
//! ([`Job::inputs`]), and values of the core ([`Job::installation`] and the rest).
//!
//! Numbers are SI, texts with a unit (`"92 000 lb"`) or tables `{ value = "42 t", band = "10 %",
//! source = "nameplate" }`. A job can be read again with one number replaced
//! ([`Job::with_input`]): that is how bands and sensitivities are computed.
//!
//! Every error names file, line, column, key path, what was given and what is allowed.

mod analysis;
mod beside;
mod break_through;
mod calibration;
mod case;
mod condition;
mod drive_train;
mod duty;
mod event;
mod facts;
mod handling;
mod height;
mod interface;
mod law;
mod leveling;
mod limits;
mod machine;
mod mount;
mod names;
mod node;
mod options;
mod part;
mod point;
mod press;
mod quantity;
mod raw;
mod record;
mod register;
mod rotating;
mod shock;
mod slide;
mod work;

pub use analysis::{FrequencyRange, Harmonic};
pub use beside::WhatIf;
pub use break_through::SnapThroughAsked;
pub use calibration::CalibrationAsked;
pub use condition::Condition;
pub use event::{Event, EventLoad, Fact};
pub use handling::{Judged, StepAsked};
pub use limits::{DutyLimit, Height, Limits, PassLine, SidewaysLimit, TransmissibilityLimit};
pub use options::OptionsAsked;
pub use register::Input;
pub use shock::Shock;
pub use slide::{RateRange, Slide};

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::analysis::leveling::Request;
use crate::analysis::statics::StaticsOptions;
use crate::error::{Error, Result, did_you_mean, finite};
use crate::installation::{EmergencyStop, HANDLING, Installation, STANDARD_GRAVITY};
use crate::machine::FirstAnswer;
use crate::units::Dimension;
use handling::Surroundings;
use names::Names;
use node::{Context, Node};
use raw::Source;

/// Units of the report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ReportUnits {
    /// SI.
    #[default]
    Si,
    /// US customary units.
    Us,
}

/// A job: what the file says, as values of the core. It is stored as its text.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Stored", into = "Stored")]
pub struct Job {
    /// Title of the job.
    pub title: String,
    /// Units of the report.
    pub units: ReportUnits,
    /// Name of the machine.
    pub machine: String,
    /// Height of the machine, m; only reported.
    pub height: Option<f64>,
    /// Machine, mounts, load cases, points and gravity.
    pub installation: Installation,
    /// Short circuits that are not there, and what would follow if they were.
    pub what_if: Option<WhatIf>,
    /// Pulses of force and moment, emergency stops last.
    pub shocks: Vec<Shock>,
    /// What else strikes, starts, stops or shakes the machine.
    pub events: Vec<Event>,
    /// Work forces that break off.
    pub break_throughs: Vec<SnapThroughAsked>,
    /// Steps of the bolster's rails between load cases.
    pub steps: Vec<StepAsked>,
    /// What to remember of the work that the load cases describe.
    pub cautions: Vec<String>,
    /// Steady loads.
    pub harmonics: Vec<Harmonic>,
    /// The slide and how fast it runs; `None` if the job says nothing of it.
    pub slide: Option<Slide>,
    /// Frequencies of the transmissibility; `None` if the job does not ask for it.
    pub transmissibility: Option<FrequencyRange>,
    /// How the standing machine is computed; the floor is even.
    pub statics: StaticsOptions,
    /// Height differences between the feet, plus or minus, for which foot loads get a band, m.
    pub floor_unevenness: Option<f64>,
    /// How it is set level; `None` if the job does not ask.
    pub leveling: Option<Request>,
    /// Mount models that could stand there instead; `None` if the job does not ask.
    pub options: Option<OptionsAsked>,
    /// States of the mounts in which every check is judged besides the one as given.
    pub conditions: Vec<Condition>,
    /// What the results are compared with.
    pub limits: Limits,
    /// Every number of the file and every default, in file order.
    pub inputs: Vec<Input>,
    source: Arc<Source>,
    overrides: BTreeMap<String, f64>,
}

/// What a job is stored as: its text, the records it names, and the inputs replaced in it.
#[derive(Serialize, Deserialize)]
struct Stored {
    name: String,
    text: String,
    attached: BTreeMap<String, std::result::Result<String, String>>,
    catalog: Option<String>,
    overrides: BTreeMap<String, f64>,
}

impl From<Job> for Stored {
    fn from(job: Job) -> Self {
        let Source { name, text, attached, catalog } = (*job.source).clone();
        Self { name, text, attached, catalog, overrides: job.overrides }
    }
}

impl TryFrom<Stored> for Job {
    type Error = Error;

    fn try_from(stored: Stored) -> Result<Self> {
        let Stored { name, text, attached, catalog, overrides } = stored;
        lower(Arc::new(Source { name, text, attached, catalog }), overrides)
    }
}

impl Job {
    /// Reads a job file.
    ///
    /// # Errors
    /// [`Error::File`] if it cannot be read as text, [`Error::Job`] with line, column and key path
    /// for anything that is wrong in it.
    pub fn load(path: impl AsRef<Path>) -> Result<Self> {
        lower(Arc::new(Source::read(path.as_ref())?), BTreeMap::new())
    }

    /// Reads a job from text; `name` stands for the file in messages.
    ///
    /// # Errors
    /// [`Error::Job`] with line, column and key path.
    pub fn from_text(text: &str, name: &str) -> Result<Self> {
        lower(Arc::new(Source::new(name.into(), text.into())), BTreeMap::new())
    }

    /// A job that asks nothing of an installation but what its mounts allow, and these limits.
    pub(crate) fn bare(installation: Installation, limits: Limits) -> Self {
        Self {
            title: String::new(),
            units: ReportUnits::Si,
            machine: String::new(),
            height: None,
            installation,
            what_if: None,
            shocks: Vec::new(),
            events: Vec::new(),
            break_throughs: Vec::new(),
            steps: Vec::new(),
            cautions: Vec::new(),
            harmonics: Vec::new(),
            slide: None,
            transmissibility: None,
            statics: StaticsOptions::default(),
            floor_unevenness: None,
            leveling: None,
            options: None,
            conditions: Vec::new(),
            limits,
            inputs: Vec::new(),
            source: Arc::new(Source::new(String::new(), String::new())),
            overrides: BTreeMap::new(),
        }
    }

    /// The same job with one input replaced: `path` as in [`Input::path`], `value` in the unit of
    /// [`Input::value`] (a factor where [`Input::scales`] is not empty). Replacements add up.
    ///
    /// # Errors
    /// [`Error::Unknown`] if the job has no such input, [`Error::Invalid`] if the value is not
    /// finite, [`Error::Job`] if the job does not stand with it.
    pub fn with_input(&self, path: &str, value: f64) -> Result<Self> {
        self.with_inputs(&[(path, value)])
    }

    /// The same job with several inputs replaced, as [`Self::with_input`].
    ///
    /// # Errors
    /// As [`Self::with_input`].
    pub fn with_inputs(&self, values: &[(&str, f64)]) -> Result<Self> {
        let mut overrides = self.overrides.clone();
        for &(path, value) in values {
            let input = self.input(path)?;
            overrides.insert(path.into(), finite(path, value, &input.unit)?);
        }
        lower(Arc::clone(&self.source), overrides)
    }

    /// The input of that path.
    ///
    /// # Errors
    /// [`Error::Unknown`] if the job has no such input.
    pub fn input(&self, path: &str) -> Result<&Input> {
        self.inputs.iter().find(|i| i.path == path).ok_or_else(|| Error::Unknown {
            argument: "input".into(),
            value: path.into(),
            allowed: format!(
                "inputs of this job are listed by Job.inputs;{}",
                did_you_mean(path, self.inputs.iter().map(|i| i.path.as_str()))
            ),
        })
    }

    /// Inputs with a band: what an evaluation one at a time moves to `low` and to `high`.
    pub fn banded(&self) -> impl Iterator<Item = &Input> {
        self.inputs.iter().filter(|i| i.is_banded() && !i.informational)
    }

    /// What somebody has to confirm: inputs that are assumed, and defaults.
    pub fn assumptions(&self) -> impl Iterator<Item = &Input> {
        self.inputs.iter().filter(|i| i.assumed || i.default.is_some())
    }

    /// The text of the file.
    pub fn text(&self) -> &str {
        &self.source.text
    }

    /// The name of the file as given.
    pub fn file(&self) -> &str {
        &self.source.name
    }
}

/// A commented job that holds every key once, to start from; machine and numbers are invented.
pub fn template() -> &'static str {
    concat!(
        include_str!("template/machine.toml"),
        include_str!("template/loads.toml"),
        include_str!("template/asked.toml"),
    )
}

/// A commented job of a machine of which only a few facts are known; all invented.
pub fn template_of_facts() -> &'static str {
    include_str!("facts.toml")
}

fn lower(source: Arc<Source>, overrides: BTreeMap<String, f64>) -> Result<Job> {
    let tree = source.parse()?;
    let context = Context {
        source: &source,
        overrides: &overrides,
        inputs: RefCell::default(),
        warnings: RefCell::default(),
    };
    let root = Node::new(&context, tree.get_ref(), String::new(), 0);

    let title = root.text("title")?;
    let units = match root.choice_or("units", &["si", "us"], "si")? {
        "us" => ReportUnits::Us,
        _ => ReportUnits::Si,
    };
    let reason = "not given: standard gravity";
    let gravity = root.quantity_or("gravity", Dimension::ACCELERATION, STANDARD_GRAVITY, reason)?;
    let machine = machine::machine(&root)?;
    let press = press::press(&root, &machine)?;
    let (mounts, models) = mount::mounts(&root)?;
    let options = options::options(&root, &models, &mounts)?;
    let (bridges, what_if) = beside::bridges(&root)?;
    let stops = beside::stops(&root)?;
    let points = point::points(&root)?;
    let (mut case_names, mut shock_names) = (Names::default(), Names::default());
    let mut cases = case::cases(&root, &machine.body, &points, &mut case_names)?;
    let around = Surroundings {
        machine: &machine.body,
        first_die: machine.first.as_ref().and_then(|f| f.die.clone()),
        points: &points,
        gravity,
    };
    let handled = handling::handling(&root, &around, &mut case_names)?;
    let mut cautions = Vec::new();
    if !handled.cases.is_empty() {
        cautions.push(HANDLING.to_owned());
    }
    cases.extend(handled.cases);
    let mut shocks = shock::shocks(&root, &points, &cases, &mut shock_names)?;
    let (braked, lasting) =
        handling::stops(&root, &machine.body, &cases, &mut shock_names, &mut case_names)?;
    cautions.extend((!braked.is_empty()).then(|| EmergencyStop::SCOPE.to_owned()));
    let is_never_stopped = braked.is_empty();
    shocks.extend(braked);
    cases.extend(lasting);
    let slide = slide::slide(&root, &points, &cases, machine.body.mass())?;
    if slide.is_some() && !root.has("drive_train") && is_never_stopped {
        cautions.push(slide::NEVER_STOPPED.to_owned());
    }
    let break_throughs = break_through::break_throughs(
        &root,
        press.as_ref(),
        slide.as_ref(),
        &points,
        &cases,
        &mut shock_names,
    )?;
    let transmissibility = analysis::transmissibility(&root, &points)?;
    let mut harmonics = analysis::harmonics(&root, &points)?;
    if let Some(first) = &machine.first {
        if slide.is_none() {
            harmonics.push(Harmonic::of_slide(first).map_err(|e| root.blame(e))?);
        }
        cautions.push(FirstAnswer::SCOPE.to_owned());
    }
    let drive = slide.as_ref().map(|slide| &slide.drive);
    let place = event::Place { points: &points, cases: &cases, gravity, slide: drive };
    let events = event::events(&root, &place, &mut shock_names)?;
    let (statics, floor_unevenness) = analysis::statics(&root)?;
    let conditions = condition::conditions(&root)?;
    let leveling = leveling::leveling(&root, &mounts, &points, &cases, statics.gravity_stiffness)?;
    let moves = !(shocks.is_empty() && harmonics.is_empty());
    let limits = limits::limits(&root, &points, &cases, moves)?;
    root.finish()?;

    let installation = Installation::new(machine.body, mounts)
        .and_then(|i| i.with_gravity(gravity)?.with_points(points)?.with_cases(cases))
        .and_then(|i| i.with_bridges(bridges)?.with_stops(stops))
        .and_then(|i| press.map_or(Ok(i.clone()), |press| i.with_press(press)))
        .map_err(|e| root.blame(e))?;
    cautions.extend(context.warnings.take().into_iter().map(|(_, warning)| warning));
    let inputs = context.register(tree.get_ref());
    Ok(Job {
        title,
        units,
        machine: machine.name,
        height: machine.height,
        installation,
        what_if,
        shocks,
        events,
        break_throughs,
        steps: handled.steps,
        cautions,
        harmonics,
        slide,
        transmissibility,
        statics,
        floor_unevenness,
        leveling,
        options,
        conditions,
        limits,
        inputs,
        source: Arc::clone(&source),
        overrides: overrides.clone(),
    })
}
