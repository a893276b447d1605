//! Which mounts shall it stand on? Every model of a catalog, and mixtures of models, judged by
//! the checks of a job and ranked by what the engineer asks for.
//!
//! An option gives each group of mounts one model. Groups are named, or pairs of mounts that are
//! left-right mirror images of each other: a press is alike left and right, rarely front and rear.
//! With n models and g groups there are n options of one model and n^g with the mixtures.
//!
//! Hard limits come first: an option for which a check says NO, or which cannot stand at all, is
//! rejected with every reason. The others are put in order by the first objective, equal ones by
//! the next. An option that no other one beats in every objective is marked as unbeaten (Pareto):
//! the order of the objectives is the engineer's, not nature's.
//!
//! Limits: the checks are judged for the inputs as given, without bands; heights of the mounts do
//! not move the machine.

use serde::{Deserialize, Serialize};

use super::figures::figures;
use super::parallel::side_by_side;
use super::text::{quantity, table};
use super::verdicts::{Computed, checks};
use crate::checks::{Check, Sense, Verdict};
use crate::error::{Error, Result, by_name, did_you_mean};
use crate::installation::Installation;
use crate::job::{Job, Limits, ReportUnits};
use crate::support::Mount;
use crate::support::catalog::{Catalog, Model};

/// Objective: what all mounts cost together.
pub const PRICE: &str = "price";

/// Objective: the least relative margin of all checks.
pub const MARGIN: &str = "margin";

/// Mirror images of a position may differ by this much, m.
const MIRROR: f64 = 1e-3;

/// What is asked of a good option.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Objective {
    /// [`PRICE`], [`MARGIN`], or the name of a key figure of the study.
    pub name: String,
    /// Whether more of it is better.
    pub greatest: bool,
}

impl Objective {
    /// The least of a figure or of the price, the greatest margin.
    pub fn new(name: impl Into<String>) -> Self {
        let name = name.into();
        Self { greatest: name == MARGIN, name }
    }

    /// Before (`Less`) is better; what could not be computed comes last.
    fn order(&self, a: Option<f64>, b: Option<f64>) -> std::cmp::Ordering {
        match (a, b) {
            (Some(a), Some(b)) if self.greatest => b.total_cmp(&a),
            (Some(a), Some(b)) => a.total_cmp(&b),
            (a, b) => b.is_some().cmp(&a.is_some()),
        }
    }
}

/// How options are formed and ranked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RankOptions {
    /// What is asked for, the most important first; empty: price where every model has one, then
    /// margin.
    pub objectives: Vec<Objective>,
    /// Mounts that get one model, by name; `None`: left-right mirror images.
    pub groups: Option<Vec<Vec<String>>>,
    /// Whether groups may get different models.
    pub mixed: bool,
    /// Most options that are tried; more is an error.
    pub most: usize,
}

impl Default for RankOptions {
    fn default() -> Self {
        Self { objectives: Vec::new(), groups: None, mixed: true, most: 2000 }
    }
}

/// One option: a model for each group.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Choice {
    /// Model of each group.
    pub models: Vec<String>,
    /// What all mounts cost together, where every model has a price.
    pub price: Option<f64>,
    /// Value of each objective, SI; `None` where it could not be computed.
    pub values: Vec<Option<f64>>,
    /// Least relative margin of all checks.
    pub margin: Option<f64>,
    /// Checks that say NO.
    pub rejected_by: Vec<Check>,
    /// Why it cannot be computed at all, if so.
    pub failed: Option<String>,
    /// Accepted, and no other accepted option is better in one objective and as good in all.
    pub unbeaten: bool,
}

impl Choice {
    /// True if no hard limit rejects it.
    pub fn is_accepted(&self) -> bool {
        self.failed.is_none() && self.rejected_by.is_empty()
    }

    /// Why it is rejected, one sentence each.
    pub fn reasons(&self, units: ReportUnits) -> Vec<String> {
        let by_check = self.rejected_by.iter().map(|check| sentence(check, units));
        self.failed.iter().cloned().chain(by_check).collect()
    }

    /// The model, or the models of the groups in their order.
    pub fn label(&self) -> String {
        let first = &self.models[..1.min(self.models.len())];
        let alike = self.models.iter().all(|model| first.contains(model));
        if alike { first.concat() } else { self.models.join(" | ") }
    }
}

/// All options in order, the best first and the rejected ones last.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ranking {
    /// Name of the catalog.
    pub catalog: String,
    /// Names of the mounts of each group.
    pub groups: Vec<Vec<String>>,
    /// What is asked for.
    pub objectives: Vec<Objective>,
    /// SI unit of each objective.
    pub units: Vec<String>,
    /// The options.
    pub choices: Vec<Choice>,
}

impl Ranking {
    /// The options that no hard limit rejects, the best first.
    pub fn accepted(&self) -> impl Iterator<Item = &Choice> {
        self.choices.iter().filter(|choice| choice.is_accepted())
    }

    /// The options as a table, each rejected one with its first reason and how many more.
    pub fn table(&self, units: ReportUnits) -> String {
        let mut header = vec!["", "option"];
        header.extend(self.objectives.iter().map(|o| o.name.as_str()));
        header.push("rejected because");
        let rows: Vec<Vec<String>> = self
            .choices
            .iter()
            .enumerate()
            .map(|(i, choice)| {
                let place = if choice.is_accepted() { (i + 1).to_string() } else { "-".into() };
                let unbeaten = if choice.unbeaten { " *" } else { "" };
                let mut row = vec![place, format!("{}{unbeaten}", choice.label())];
                let shown = choice.values.iter().zip(&self.units);
                row.extend(shown.map(|(value, unit)| {
                    value.map_or_else(String::new, |value| quantity(units, value, unit))
                }));
                row.push(match choice.reasons(units).as_slice() {
                    [] => String::new(),
                    [only] => only.clone(),
                    [first, more @ ..] => format!("{first}; and {} more", more.len()),
                });
                row
            })
            .collect();
        let mut text = String::new();
        if self.groups.len() > 1 {
            let groups = self.groups.iter().map(|group| group.join(", "));
            text += &format!("Groups: {}.\n\n", groups.collect::<Vec<_>>().join(" | "));
        }
        table(&mut text, &header, &rows);
        text + "* no accepted option is better in one objective and as good in all.\n"
    }
}

/// Judges every option by the checks of the job (load ranges in every case, limits, shocks) and
/// ranks those that hold.
///
/// # Errors
/// [`Error::Unknown`] for a mount or an objective that does not exist; [`Error::Invalid`] for
/// groups that leave a mount out or name it twice, for too many options, or for the price as an
/// objective where a model has none.
pub fn rank_options(job: &Job, catalog: &Catalog, options: &RankOptions) -> Result<Ranking> {
    let mounts = &job.installation.mounts;
    let groups = match &options.groups {
        Some(names) => named_groups(mounts, names)?,
        None => mirror_groups(mounts),
    };
    let objectives = objectives(catalog, options)?;
    let picked = assignments(catalog.models.len(), groups.len(), options)?;
    let judged = side_by_side(&picked, |picked| {
        let models: Vec<&Model> = picked.iter().map(|&m| &catalog.models[m]).collect();
        let mut variant = job.clone();
        for (group, model) in groups.iter().zip(&models) {
            for &i in group {
                variant.installation.mounts[i] = model.in_place_of(&mounts[i]);
            }
        }
        judge(&variant, &models, &groups, &objectives)
    })?;
    let (mut choices, each): (Vec<Choice>, Vec<Vec<String>>) = judged.into_iter().unzip();
    // A choice that could not be computed knows no units.
    let unit = |i: usize| each.iter().map(|u| u[i].clone()).find(|u| !u.is_empty());
    let units = (0..objectives.len()).map(|i| unit(i).unwrap_or_default()).collect();
    mark_unbeaten(&mut choices, &objectives);
    choices.sort_by(|a, b| {
        let by_objective = objectives
            .iter()
            .zip(a.values.iter().zip(&b.values))
            .map(|(objective, (&a, &b))| objective.order(a, b))
            .fold(std::cmp::Ordering::Equal, std::cmp::Ordering::then);
        (b.is_accepted().cmp(&a.is_accepted())).then(by_objective)
    });
    let name_of = |group: &Vec<usize>| group.iter().map(|&i| mounts[i].name.clone()).collect();
    Ok(Ranking {
        catalog: catalog.name.clone(),
        groups: groups.iter().map(name_of).collect(),
        objectives,
        units,
        choices,
    })
}

/// The same for an installation without a job: load ranges, limits of the parts, lift-off and rocking
/// in every load case, and what `limits` asks of the standing machine.
///
/// # Errors
/// As [`rank_options`].
pub fn rank_installation(
    inst: &Installation,
    limits: Limits,
    catalog: &Catalog,
    options: &RankOptions,
) -> Result<Ranking> {
    rank_options(&Job::bare(inst.clone(), limits), catalog, options)
}

fn judge(
    job: &Job,
    models: &[&Model],
    groups: &[Vec<usize>],
    objectives: &[Objective],
) -> Result<(Choice, Vec<String>)> {
    let mut units = vec![String::new(); objectives.len()];
    let cost = |(model, group): (&&Model, &Vec<usize>)| model.price.map(|p| p * group.len() as f64);
    let price = models.iter().zip(groups).map(cost).sum();
    let mut choice = Choice {
        models: models.iter().map(|model| model.name.clone()).collect(),
        price,
        values: vec![None; objectives.len()],
        margin: None,
        rejected_by: Vec::new(),
        failed: None,
        unbeaten: false,
    };
    let computed = Computed::of(job).and_then(|found| Ok((checks(job, &found)?, found.results)));
    let (asked, results) = match computed {
        Ok(computed) => computed,
        Err(error) => {
            choice.failed = Some(error.to_string());
            return Ok((choice, units));
        }
    };
    choice.margin = asked.iter().map(|a| a.check.margin).min_by(f64::total_cmp);
    choice.rejected_by =
        asked.into_iter().map(|a| a.check).filter(|c| c.verdict == Verdict::No).collect();
    let figures = figures(&results);
    for (i, objective) in objectives.iter().enumerate() {
        choice.values[i] = match objective.name.as_str() {
            PRICE => choice.price,
            MARGIN => choice.margin,
            name => {
                let found = figures.iter().find(|f| f.name == name).ok_or_else(|| {
                    let names = || figures.iter().map(|f| f.name.as_str()).chain([PRICE, MARGIN]);
                    Error::Unknown {
                        argument: "objectives".into(),
                        value: name.into(),
                        allowed: format!(
                            "use price, margin or a key figure;{} figures are {}",
                            did_you_mean(name, names()),
                            names().collect::<Vec<_>>().join(", ")
                        ),
                    }
                })?;
                units[i] = found.dimension.si.to_owned();
                Some(found.value)
            }
        };
    }
    Ok((choice, units))
}

fn objectives(catalog: &Catalog, options: &RankOptions) -> Result<Vec<Objective>> {
    let unpriced = catalog.models.iter().find(|model| model.price.is_none());
    if options.objectives.is_empty() {
        let price = unpriced.is_none().then(|| Objective::new(PRICE));
        return Ok(price.into_iter().chain([Objective::new(MARGIN)]).collect());
    }
    match unpriced {
        Some(model) if options.objectives.iter().any(|o| o.name == PRICE) => Err(Error::invalid(
            "objectives",
            PRICE,
            format!("needs a price for every model; {:?} has none", model.name),
            "fill the column price, or ask for something else",
        )),
        _ => Ok(options.objectives.clone()),
    }
}

/// Model of each group for every option: one model for all first, then mixtures.
fn assignments(models: usize, groups: usize, options: &RankOptions) -> Result<Vec<Vec<usize>>> {
    let mixed = options.mixed && groups > 1;
    let count = if mixed {
        u32::try_from(groups).ok().and_then(|g| models.checked_pow(g)).unwrap_or(usize::MAX)
    } else {
        models
    };
    if count > options.most {
        return Err(Error::invalid(
            "most",
            options.most,
            format!("there are {count} options ({models} models in {groups} groups)"),
            "raise it, name fewer groups, or set mixed = false",
        ));
    }
    let mut all: Vec<Vec<usize>> = (0..models).map(|model| vec![model; groups]).collect();
    if mixed {
        let digits = |mut number: usize| -> Vec<usize> {
            let digit = |_| {
                let digit = number % models;
                number /= models;
                digit
            };
            (0..groups).map(digit).collect()
        };
        all.extend((0..count).map(digits).filter(|p| p.iter().any(|&m| m != p[0])));
    }
    Ok(all)
}

fn named_groups(mounts: &[Mount], names: &[Vec<String>]) -> Result<Vec<Vec<usize>>> {
    let mut seen = vec![false; mounts.len()];
    let mut groups = Vec::with_capacity(names.len());
    for group in names.iter().filter(|group| !group.is_empty()) {
        let mut members = Vec::with_capacity(group.len());
        for name in group {
            let named = mounts.iter().enumerate().map(|(i, m)| (m.name.as_str(), i));
            let i = by_name("groups", name, named, ["mounts are", "there are no mounts"])?;
            if std::mem::replace(&mut seen[i], true) {
                let remedy = "name each mount in one group";
                return Err(Error::invalid("groups", format!("{name:?}"), "stands twice", remedy));
            }
            members.push(i);
        }
        groups.push(members);
    }
    match seen.iter().position(|named| !named) {
        Some(i) => Err(Error::invalid(
            "groups",
            format!("{names:?}"),
            format!("must hold every mount; {:?} is in none", mounts[i].name),
            "name each mount in one group",
        )),
        None => Ok(groups),
    }
}

/// Mounts that are left-right mirror images about the middle of all.
fn mirror_groups(mounts: &[Mount]) -> Vec<Vec<usize>> {
    let x = || mounts.iter().map(|mount| mount.position.x);
    let middle = 0.5 * (x().fold(f64::MAX, f64::min) + x().fold(f64::MIN, f64::max));
    let alike = |a: &Mount, b: &Mount| {
        let arm = |mount: &Mount| (mount.position.x - middle).abs();
        (arm(a) - arm(b)).abs() < MIRROR && (a.position.y - b.position.y).abs() < MIRROR
    };
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (i, mount) in mounts.iter().enumerate() {
        match groups.iter_mut().find(|group| alike(mount, &mounts[group[0]])) {
            Some(group) => group.push(i),
            None => groups.push(vec![i]),
        }
    }
    groups
}

fn mark_unbeaten(choices: &mut [Choice], objectives: &[Objective]) {
    let beats = |a: &Choice, b: &Choice| {
        let orders = || {
            objectives
                .iter()
                .zip(a.values.iter().zip(&b.values))
                .map(|(objective, (&a, &b))| objective.order(a, b))
        };
        orders().all(std::cmp::Ordering::is_le) && orders().any(std::cmp::Ordering::is_lt)
    };
    let unbeaten: Vec<bool> = choices
        .iter()
        .map(|b| b.is_accepted() && !choices.iter().any(|a| a.is_accepted() && beats(a, b)))
        .collect();
    for (choice, unbeaten) in choices.iter_mut().zip(unbeaten) {
        choice.unbeaten = unbeaten;
    }
}

/// "greatest static load of mount 5 is 52.1 kN in case 'bolster out'; at most 48.0 kN (load range
/// of the mount)".
fn sentence(check: &Check, units: ReportUnits) -> String {
    let show = |value: f64| quantity(units, value, &check.unit);
    let case = match check.governing_case.as_str() {
        "" => String::new(),
        case => format!(" in case '{case}'"),
    };
    let bound = if check.sense == Sense::AtMost { "at most" } else { "at least" };
    format!(
        "{} is {}{case}; {bound} {} ({})",
        check.question,
        show(check.demand),
        show(check.capacity),
        check.source
    )
}
