//! Which axes does a base have? Every legal path with its unit and present value.

use super::axes::{FACTOR, FIELD_TABLE, PULSE, TENSOR, XYZ, setter, target};
use super::inside::{BREAK, PRESS};
use super::numbers::Numbers;
use super::spec::Loads;
use crate::installation::Installation;
use crate::job::Job;
use crate::units::Dimension;

/// A legal axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Path.
    pub path: String,
    /// What it is, in words.
    pub label: String,
    /// Present value in SI; `None` where it is not one number for all that moves.
    pub value: Option<f64>,
    /// SI unit; empty for a ratio or a factor.
    pub unit: String,
    /// Kind of quantity of a value.
    pub dimension: String,
    /// True if the value multiplies what the base says.
    pub factor: bool,
}

/// Every legal axis of an installation and what strikes it.
pub fn of_installation(inst: &Installation, loads: &Loads) -> Vec<Axis> {
    let mut paths = vec!["mass_and_inertia.factor".to_owned()];
    let body: Vec<String> = std::iter::once("mass".to_owned())
        .chain(XYZ.iter().map(|x| format!("center[{x}]")))
        .chain(TENSOR.iter().map(|(ij, ..)| format!("inertia[{ij}]")))
        .collect();
    paths.extend(body.iter().cloned());
    paths.push("gravity".into());
    paths.extend(mount_paths(inst));
    for point in &inst.points {
        paths.extend(XYZ.iter().map(|x| format!("points[{}].at[{x}]", point.name)));
    }
    for case in &inst.cases {
        paths.extend(body.iter().map(|path| format!("cases[{}].{path}", case.name)));
    }
    paths.extend(PRESS.iter().map(|(name, _)| format!("press.{name}")));
    for asked in &loads.break_throughs {
        paths
            .extend(BREAK.iter().map(|(name, _)| format!("break_throughs[{}].{name}", asked.name)));
    }
    for shock in &loads.shocks {
        paths.extend(PULSE.iter().map(|(name, _)| format!("shocks[{}].{name}", shock.name)));
        paths.extend(XYZ.iter().map(|x| format!("shocks[{}].at[{x}]", shock.name)));
    }
    described(paths, inst, loads)
}

/// Every legal axis of a job.
pub fn of_job(job: &Job) -> Vec<Axis> {
    let inputs = job.inputs.iter().filter(|i| !i.informational).map(|input| {
        let factor = !input.scales.is_empty();
        Axis {
            path: input.path.clone(),
            label: input.label.clone(),
            value: Some(input.value),
            unit: if factor { String::new() } else { input.unit.clone() },
            dimension: if factor { Dimension::RATIO.name.into() } else { kind(&input.unit) },
            factor,
        }
    });
    let mounts = described(mount_paths(&job.installation), &job.installation, &Loads::default());
    inputs.chain(mounts).collect()
}

/// Kind of quantity of an SI unit.
fn kind(unit: &str) -> String {
    let found = Dimension::ALL.iter().find(|d| d.si == unit);
    found.map_or(Dimension::RATIO.name, |d| d.name).into()
}

fn mount_paths(inst: &Installation) -> Vec<String> {
    let heads = std::iter::once("mounts".to_owned())
        .chain(inst.mounts.iter().map(|m| format!("mounts[{}]", m.name)));
    let mut paths = Vec::new();
    for head in heads {
        for (field, ..) in FIELD_TABLE {
            if field != "position" {
                paths.push(format!("{head}.{field}"));
            }
            paths.extend(XYZ.iter().map(|x| format!("{head}.{field}[{x}]")));
        }
        paths.push(format!("{head}.stiffness{FACTOR}"));
    }
    paths
}

fn described(paths: Vec<String>, inst: &Installation, loads: &Loads) -> Vec<Axis> {
    let numbers = Numbers::of(inst, &loads.shocks, &loads.break_throughs);
    let axis = |path: String| {
        let plain = path.strip_suffix(FACTOR).unwrap_or(&path);
        let (_, dimension) = target(plain, inst, loads)?;
        let setter = setter(&path, inst, loads)?;
        let dimension = if setter.factor { Dimension::RATIO } else { dimension };
        Some(Axis {
            label: words(&path),
            value: if setter.factor { Some(1.0) } else { setter.read(&numbers) },
            unit: dimension.si.into(),
            dimension: dimension.name.into(),
            factor: setter.factor,
            path,
        })
    };
    paths.into_iter().filter_map(axis).collect()
}

/// "mounts[rear left].stiffness[z]" -> "stiffness z of rear left".
fn words(path: &str) -> String {
    let (plain, factor) = path.strip_suffix(FACTOR).map_or((path, ""), |p| (p, "factor on "));
    let (owner, field) = match plain.rsplit_once("].") {
        Some((head, field)) => {
            let name = head.split_once('[').map_or(head, |(_, name)| name);
            (format!(" of {name}"), field)
        }
        None => match plain.strip_prefix("mounts.") {
            Some(field) => (" of every mount".to_owned(), field),
            None => (String::new(), plain),
        },
    };
    let field = field.replace(['_', '['], " ").replace(']', "");
    format!("{factor}{field}{owner}")
}
