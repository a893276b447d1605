//! What a `[[mount]]` or a `[[mount_model]]` says of itself.

use toml::de::DeValue;

use super::super::law;
use super::super::node::{Node, Value};
use crate::error::Result;
use crate::law::{Curve, Dynamic};
use crate::support::{Allowed, AllowedQuantity, LoadRange, Mount, Screw};
use crate::units::Dimension;

/// What a mount or a model says; `None` where it says nothing.
#[derive(Default)]
pub(super) struct Properties {
    pub(super) stiffness: Option<[f64; 3]>,
    pub(super) static_stiffness: Option<[f64; 3]>,
    pub(super) damping: Option<[f64; 3]>,
    pub(super) loss_factor: Option<[f64; 3]>,
    pub(super) rotational_stiffness: Option<[f64; 3]>,
    pub(super) load_range: Option<LoadRange>,
    pub(super) curve: Option<Curve>,
    pub(super) dynamic_ratio: Option<f64>,
    pub(super) laws: Option<[Option<Dynamic>; 3]>,
    pub(super) allowed: Option<Vec<Allowed>>,
    pub(super) creep_per_decade: Option<f64>,
    pub(super) screw: Option<Screw>,
}

impl Properties {
    /// What is said in words wins over what the parts make; limits of both hold.
    pub(super) fn over(self, made: Mount) -> Self {
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

/// Keys that a mount may take from its model.
pub(super) const KEYS: [&str; 16] = [
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

pub(super) fn properties(node: &Node<'_>) -> Result<Properties> {
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

/// Keys `pitch` and `steps_per_turn`, or `shim`; and what travel is left `down` and `up`.
fn screw_of(node: &Node<'_>) -> Result<Screw> {
    let length = |key| node.quantity(key, Dimension::LENGTH);
    let screw = if node.has("shim") {
        if node.has("pitch") {
            let what = "a foot is set by a screw (pitch, steps_per_turn) or by shims: give one";
            return Err(node.error("shim", what));
        }
        Screw::shims(length("shim")?, length("down")?, length("up")?)
            .map_err(|e| node.blame(e.renamed("thickness", "shim")))
    } else {
        let pitch = length("pitch")?;
        let steps = node.required("steps_per_turn", "a whole number")?.whole(1)?;
        Screw::new(pitch, steps, length("down")?, length("up")?).map_err(|e| node.blame(e))
    }?;
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
