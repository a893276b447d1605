//! `[[mount]]` and `[[mount_model]]`: what the machine stands on.
//!
//! A mount takes from its model what it does not say itself. The numbers of a model enter the
//! register once, so that a band on them moves all its mounts together, as rubber of one batch
//! does.

use super::machine::axes;
use std::cell::RefCell;

use toml::de::DeValue;

use super::law;
use super::names::{Names, find};
use super::node::{Node, Value};
use super::part::{self, part};
use crate::error::Result;
use crate::law::{Curve, Dynamic};
use crate::support::{Allowed, AllowedQuantity, LoadRange, Mount, Screw};
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
    curve: Option<Curve>,
    dynamic_ratio: Option<f64>,
    laws: Option<[Option<Dynamic>; 3]>,
    allowed: Option<Vec<Allowed>>,
    creep_per_decade: Option<f64>,
    screw: Option<Screw>,
}

impl Properties {
    /// What is said in words wins over what the parts make; limits of both hold.
    fn over(self, made: Mount) -> Self {
        let some = |v: [f64; 3]| v.iter().any(|&x| x != 0.0).then_some(v);
        let range = (made.load_range != LoadRange::default()).then_some(made.load_range);
        let limits = [made.allowed, self.allowed.unwrap_or_default()].concat();
        // Parts in line with a dashpot make a law, which holds the stiffness of its axis.
        let stiffness = [0, 1, 2].map(|i| match made.dynamic[i] {
            Some(_) => 0.0,
            None => made.stiffness[i],
        });
        let lawful = made.dynamic.iter().any(Option::is_some);
        Self {
            stiffness: Some(stiffness),
            static_stiffness: self.static_stiffness.or(Some(made.static_stiffness)),
            damping: self.damping.or(some(made.damping)),
            loss_factor: self.loss_factor.or(some(made.loss_factor)),
            rotational_stiffness: self.rotational_stiffness,
            load_range: self.load_range.or(range),
            allowed: (!limits.is_empty()).then_some(limits),
            creep_per_decade: self.creep_per_decade.or(Some(made.creep_per_decade)),
            curve: self.curve.or(made.curve),
            dynamic_ratio: self.dynamic_ratio,
            screw: self.screw,
            laws: lawful.then_some(made.dynamic),
        }
    }
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
    told(root, &models);
    for model in &models {
        // What no mount takes stays in the file as an alternative and changes no result.
        let taken = model.taken.borrow();
        let parts = part::KEYS.iter().filter(|_| !taken.contains(&"stiffness"));
        let own = KEYS.iter().chain(&VERTICAL).filter(|key| !taken.contains(key));
        for key in own.chain(parts) {
            root.context.mark_informational(&format!("{}.{key}", model.path));
        }
    }
    Ok(mounts)
}

/// Keeps the warnings of the models that some mount takes, with their names.
fn told(root: &Node<'_>, models: &[Model]) {
    let mut all = root.context.warnings.borrow_mut();
    let heard = std::mem::take(&mut *all).into_iter().filter_map(|(path, warning)| {
        let own = |m: &&Model| path.strip_prefix(&m.path).is_some_and(|rest| rest.starts_with('.'));
        let model = models.iter().find(own)?;
        let taken = model.taken.borrow();
        taken
            .contains(&"stiffness")
            .then(|| (path, format!("mount model {}: {warning}", model.name)))
    });
    all.extend(heard.collect::<Vec<_>>());
}

fn models(root: &Node<'_>) -> Result<Vec<Model>> {
    let mut names = Names::default();
    let mut models = Vec::new();
    for node in root.tables("mount_model")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let mut properties = properties(&node)?;
        if let Some(made) = part(&node)? {
            if properties.stiffness.is_some() {
                let both = "is given beside rubber, spring, air_spring or damper, which make it; \
                            leave one of them out";
                return Err(node.error("stiffness", both));
            }
            if properties.laws.is_some() {
                let both = "cannot stand beside rubber, spring, air_spring or damper, which make \
                            the stiffness; leave one of them out";
                let key = law::KEYS.into_iter().find(|key| node.has(key)).unwrap_or("law");
                return Err(node.error(key, both));
            }
            properties = properties.over(made);
        }
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
    let laws = laws_of(own.laws.clone(), own.stiffness.is_some(), model);
    let lawful = laws.each_ref().map(Option::is_some);
    let Some(stiffness) = own
        .stiffness
        .or_else(|| model.lend("stiffness", shared.stiffness))
        .or(lawful.iter().all(|&l| l).then_some([0.0; 3]))
    else {
        let what = "a list of three [kx, ky, kz] is required, here or in the model";
        return Err(node.missing("stiffness", what));
    };
    if let Some(i) = (0..3).find(|&i| lawful[i] && stiffness[i] != 0.0) {
        let axis = ["x", "y", "z"][i];
        let what = format!("must be zero along {axis}, where the mount has a law of its own");
        return Err(node.error("stiffness", what));
    }
    let or_none = |key, own: Option<[f64; 3]>, shared, unit| {
        own.or_else(|| model.lend(key, shared)).unwrap_or_else(|| {
            if lawful.iter().all(|&l| l) && key != "rotational_stiffness" {
                return [0.0; 3];
            }
            let none = node.default(key, 0.0, unit, "not given: none", vec![]);
            // The damping of an axis with a law is in the law.
            let own = |lawful| if lawful && key != "rotational_stiffness" { 0.0 } else { none };
            lawful.map(own)
        })
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
        if lawful.iter().all(|&l| l) {
            return laws.each_ref().map(|l| l.as_ref().map_or(0.0, Dynamic::static_stiffness));
        }
        let reason = "not given: the dynamic stiffness";
        let unit = Dimension::STIFFNESS.si;
        let factor = node.default("static_stiffness", 1.0, unit, reason, stiffness.to_vec());
        let mut at_rest = stiffness.map(|k| k * factor);
        for (k, law) in at_rest.iter_mut().zip(&laws) {
            *k = law.as_ref().map_or(*k, Dynamic::static_stiffness);
        }
        at_rest
    });
    let given = own.curve.clone().or_else(|| model.lend("curve", shared.curve.clone()));
    let curve = given.map(|curve| (curve, dynamic_ratio(node, &own, model)));
    if curve.is_none() || matches!(curve, Some((_, None))) {
        // These entries count: a curve without a ratio of its own takes theirs.
        VERTICAL.iter().for_each(|key| model.taken.borrow_mut().push(key));
    } else {
        VERTICAL.iter().for_each(|key| node.context.mark_informational(&node.join(key)));
    }
    let load_range = own.load_range.or_else(|| model.lend("load_range", shared.load_range));
    let screw = own.screw.or_else(|| model.lend("screw", shared.screw));
    let allowed = own.allowed.or_else(|| model.lend("allowed", shared.allowed.clone()));
    let creep =
        own.creep_per_decade.or_else(|| model.lend("creep_per_decade", shared.creep_per_decade));
    let stiff = stiffness.iter().chain(&rotational).any(|&k| k != 0.0);
    if !stiff && curve.is_none() && !lawful.contains(&true) {
        return Err(node.error("stiffness", "is zero in every direction; the mount holds nothing"));
    }
    let build = || {
        let mount = Mount::new(position.into(), stiffness)?
            .with_name(name)
            .with_axes(axes)?
            .with_dynamic(laws)?
            .with_static_stiffness(at_rest)?
            .with_damping(damping)?
            .with_loss_factor(loss_factor)?
            .with_rotational_stiffness(rotational)?
            .with_load_range(load_range.unwrap_or_default())
            .with_allowed(allowed.unwrap_or_default())
            .with_creep_per_decade(creep.unwrap_or(0.0))?;
        let mount = match screw {
            Some(screw) => mount.with_screw(screw),
            None => mount,
        };
        match curve {
            Some((curve, ratio)) => mount.with_curve(curve, ratio),
            None => Ok(mount),
        }
    };
    let mount = build().map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(mount)
}

/// Laws of the mount itself, or of its model unless the mount gives a stiffness of its own.
fn laws_of(own: Option<[Option<Dynamic>; 3]>, stiff: bool, model: &Model) -> [Option<Dynamic>; 3] {
    let inherited = if own.is_some() || stiff { None } else { model.properties.laws.clone() };
    if inherited.is_some() {
        model.taken.borrow_mut().extend(law::KEYS);
    }
    own.or(inherited).unwrap_or([None, None, None])
}

/// The ratio of a curve: as given, 1 where no static stiffness tells it apart, `None` where the
/// stiffnesses do.
fn dynamic_ratio(node: &Node<'_>, own: &Properties, model: &Model) -> Option<f64> {
    let shared = &model.properties;
    let told_apart = own.static_stiffness.is_some()
        || (own.stiffness.is_none() && shared.static_stiffness.is_some());
    let given = own.dynamic_ratio.or_else(|| model.lend("dynamic_ratio", shared.dynamic_ratio));
    if given.is_some() || told_apart {
        return given;
    }
    let reason = "not given: the dynamic stiffness is the tangent of the curve";
    Some(node.default("dynamic_ratio", 1.0, "", reason, vec![]))
}

/// Entries that a curve with a ratio of its own leaves without effect.
const VERTICAL: [&str; 2] = ["stiffness[2]", "static_stiffness[2]"];

/// Keys that a mount may take from its model.
const KEYS: [&str; 16] = [
    "stiffness",
    "static_stiffness",
    "damping",
    "loss_factor",
    "rotational_stiffness",
    "load_range",
    "screw",
    law::KEYS[0],
    law::KEYS[1],
    law::KEYS[2],
    law::KEYS[3],
    law::KEYS[4],
    "allowed",
    "creep_per_decade",
    "curve",
    "dynamic_ratio",
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
        laws: law::laws(node)?,
        allowed: node.has("allowed").then(|| allowed(node)).transpose()?,
        creep_per_decade: node.optional_quantity("creep_per_decade", Dimension::RATIO)?,
        curve: node.optional("curve").map(|rows| curve(node, &rows)).transpose()?,
        dynamic_ratio: node.optional_quantity("dynamic_ratio", Dimension::RATIO)?,
    })
}

/// Rows [compression, load], or `thickness` and `terms` [a, p, q] of F = sum a (lam^p - lam^q).
fn curve(node: &Node<'_>, value: &Value<'_>) -> Result<Curve> {
    let formula = matches!(value.value, DeValue::Table(t) if t.get("value").is_none());
    if !formula {
        return Curve::table(&value.curve()?).map_err(|e| node.blame(e));
    }
    let inner = value.table("rows [compression, load], or a table with thickness and terms")?;
    let thickness = inner.quantity("thickness", Dimension::LENGTH)?;
    let expected = "a list of terms [a, p, q]";
    let mut terms = Vec::new();
    for term in inner.required("terms", expected)?.items(expected)? {
        let [a, p, q] = &term.items("a term [a, p, q]")?[..] else {
            return Err(term.wrong("a term [a, p, q]"));
        };
        let power = |value: &Value<'_>| value.quantity(Dimension::RATIO);
        terms.push((a.quantity(Dimension::FORCE)?, power(p)?, power(q)?));
    }
    inner.finish()?;
    Curve::compression(thickness, terms).map_err(|e| inner.blame(e))
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

fn allowed(node: &Node<'_>) -> Result<Vec<Allowed>> {
    let mut limits = Vec::new();
    for limit in node.tables("allowed")? {
        let question = limit.text("question")?;
        let quantity = match limit.choice("quantity", &["compression", "shear", "load"])? {
            "compression" => AllowedQuantity::Compression,
            "shear" => AllowedQuantity::Shear,
            _ => AllowedQuantity::Load,
        };
        let dimension = match quantity {
            AllowedQuantity::Load => Dimension::FORCE,
            _ => Dimension::LENGTH,
        };
        let max = limit.quantity("max", dimension)?;
        let source = limit.optional_text("source")?.unwrap_or_else(|| "job file".into());
        let in_motion = limit.boolean_or("in_motion", false)?;
        let allowed = Allowed::new(question, quantity, max, source).map_err(|e| limit.blame(e))?;
        limits.push(Allowed { in_motion, ..allowed });
        limit.finish()?;
    }
    Ok(limits)
}
