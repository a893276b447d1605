//! `[[mount]]` and `[[mount_model]]`: what the machine stands on.
//!
//! A mount takes from its model what it does not say itself. The numbers of a model enter the
//! register once, so that a band on them moves all its mounts together, as rubber of one batch
//! does.

use super::machine::axes;
use std::cell::RefCell;

use super::names::{Names, find};
use super::node::Node;
use crate::error::Result;
use crate::support::{LoadRange, Mount, Screw};
use crate::units::Dimension;

/// What a mount or a model says; `None` where it says nothing.
#[derive(Default)]
struct Properties {
    stiffness: Option<[f64; 3]>,
    static_stiffness: Option<[f64; 3]>,
    damping: Option<[f64; 3]>,
    loss_factor: Option<[f64; 3]>,
    rotational_stiffness: Option<[f64; 3]>,
    load_range: Option<LoadRange>,
    screw: Option<Screw>,
}

/// A `[[mount_model]]`, and which of its keys some mount takes.
#[derive(Default)]
struct Model {
    name: String,
    path: String,
    properties: Properties,
    taken: RefCell<Vec<&'static str>>,
}

impl Model {
    /// The model's value of a key, noted as taken.
    fn lend<T>(&self, key: &'static str, value: Option<T>) -> Option<T> {
        if value.is_some() {
            self.taken.borrow_mut().push(key);
        }
        value
    }
}

pub(super) fn mounts(root: &Node<'_>) -> Result<Vec<Mount>> {
    let models = models(root)?;
    let nodes = root.tables("mount")?;
    if nodes.is_empty() {
        return Err(root.error("mount", "at least one mount is required; add a [[mount]] section"));
    }
    let mut names = Names::default();
    let mut mounts = Vec::with_capacity(nodes.len());
    for (i, node) in nodes.iter().enumerate() {
        let name = node.optional_text("name")?.unwrap_or_else(|| format!("mount {}", i + 1));
        names.add(node, "name", &name)?;
        mounts.push(mount(node, name, &models)?);
    }
    for model in &models {
        // What no mount takes stays in the file as an alternative and changes no result.
        let taken = model.taken.borrow();
        for key in KEYS.iter().filter(|key| !taken.contains(key)) {
            root.context.mark_informational(&format!("{}.{key}", model.path));
        }
    }
    Ok(mounts)
}

fn models(root: &Node<'_>) -> Result<Vec<Model>> {
    let mut names = Names::default();
    let mut models = Vec::new();
    for node in root.tables("mount_model")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let properties = properties(&node)?;
        node.finish()?;
        models.push(Model { name, path: node.path, properties, ..Model::default() });
    }
    Ok(models)
}

fn mount(node: &Node<'_>, name: String, models: &[Model]) -> Result<Mount> {
    let position = node.vector3("position", Dimension::LENGTH)?;
    let none = Model::default();
    let model = match node.optional("model") {
        Some(value) => find(&value, "mount_model", models.iter().map(|m| (m.name.as_str(), m)))?,
        None => &none,
    };
    let (own, shared) = (properties(node)?, &model.properties);
    let axes = axes(node)?;
    let Some(stiffness) = own.stiffness.or_else(|| model.lend("stiffness", shared.stiffness))
    else {
        let what = "a list of three [kx, ky, kz] is required, here or in the model";
        return Err(node.missing("stiffness", what));
    };
    let or_none = |key, own: Option<[f64; 3]>, shared, unit| {
        own.or_else(|| model.lend(key, shared))
            .unwrap_or_else(|| [node.default(key, 0.0, unit, "not given: none", vec![]); 3])
    };
    let damping = or_none("damping", own.damping, shared.damping, Dimension::DAMPING.si);
    let loss_factor = or_none("loss_factor", own.loss_factor, shared.loss_factor, "");
    let rotational = or_none(
        "rotational_stiffness",
        own.rotational_stiffness,
        shared.rotational_stiffness,
        Dimension::ROTATIONAL_STIFFNESS.si,
    );
    // A static stiffness of the model belongs to the stiffness of the model.
    let inherited = if own.stiffness.is_some() { None } else { shared.static_stiffness };
    let at_rest = own.static_stiffness.or_else(|| model.lend("static_stiffness", inherited));
    let at_rest = at_rest.unwrap_or_else(|| {
        let reason = "not given: the dynamic stiffness";
        let unit = Dimension::STIFFNESS.si;
        let factor = node.default("static_stiffness", 1.0, unit, reason, stiffness.to_vec());
        stiffness.map(|k| k * factor)
    });
    let load_range = own.load_range.or_else(|| model.lend("load_range", shared.load_range));
    let screw = own.screw.or_else(|| model.lend("screw", shared.screw));
    if stiffness.iter().chain(&rotational).all(|&k| k == 0.0) {
        return Err(node.error("stiffness", "is zero in every direction; the mount holds nothing"));
    }
    let build = || {
        let mount = Mount::new(position.into(), stiffness)?
            .with_name(name)
            .with_axes(axes)?
            .with_static_stiffness(at_rest)?
            .with_damping(damping)?
            .with_loss_factor(loss_factor)?
            .with_rotational_stiffness(rotational)?
            .with_load_range(load_range.unwrap_or_default());
        Ok(match screw {
            Some(screw) => mount.with_screw(screw),
            None => mount,
        })
    };
    let mount = build().map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(mount)
}

/// Keys that a mount may take from its model.
const KEYS: [&str; 7] = [
    "stiffness",
    "static_stiffness",
    "damping",
    "loss_factor",
    "rotational_stiffness",
    "load_range",
    "screw",
];

fn properties(node: &Node<'_>) -> Result<Properties> {
    Ok(Properties {
        stiffness: node.optional_vector3("stiffness", Dimension::STIFFNESS)?,
        static_stiffness: node.optional_vector3("static_stiffness", Dimension::STIFFNESS)?,
        damping: node.one_or_three("damping", Dimension::DAMPING)?,
        loss_factor: node.one_or_three("loss_factor", Dimension::RATIO)?,
        rotational_stiffness: node
            .optional_vector3("rotational_stiffness", Dimension::ROTATIONAL_STIFFNESS)?,
        load_range: node.table("load_range")?.map(|range| load_range(&range)).transpose()?,
        screw: node.table("screw")?.map(|screw| screw_of(&screw)).transpose()?,
    })
}

fn load_range(node: &Node<'_>) -> Result<LoadRange> {
    let force = |key| node.optional_quantity(key, Dimension::FORCE);
    let (min, max, dynamic_max) = (force("min")?, force("max")?, force("dynamic_max")?);
    let range = LoadRange::new(min, max, dynamic_max).map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(range)
}

/// Keys `pitch` and `steps_per_turn`, and what travel is left `down` and `up`.
fn screw_of(node: &Node<'_>) -> Result<Screw> {
    let pitch = node.quantity("pitch", Dimension::LENGTH)?;
    let steps = node.required("steps_per_turn", "a whole number")?.whole(1)?;
    let down = node.quantity("down", Dimension::LENGTH)?;
    let up = node.quantity("up", Dimension::LENGTH)?;
    let screw = Screw::new(pitch, steps, down, up).map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(screw)
}
