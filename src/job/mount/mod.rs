//! `[[mount]]` and `[[mount_model]]`: what the machine stands on.
//!
//! A mount takes from its model what it does not say itself. The numbers of a model enter the
//! register once, so that a band on them moves all its mounts together, as rubber of one batch
//! does.

mod build;
mod properties;

use std::cell::RefCell;

use super::law;
use super::names::Names;
use super::node::Node;
use super::part::{self, part};
use crate::error::Result;
use crate::support::Mount;
use crate::support::catalog;
use crate::units::Dimension;
use build::{VERTICAL, alone, mount};
use properties::{KEYS, Properties, properties};

/// A `[[mount_model]]`, and which of its keys some mount takes.
#[derive(Default)]
pub(super) struct Model {
    pub(super) name: String,
    path: String,
    properties: Properties,
    taken: RefCell<Vec<&'static str>>,
    price: Option<f64>,
    height: Option<f64>,
    footprint: Option<[f64; 2]>,
}

impl Model {
    /// The model as one to choose.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] where it does not say enough to stand by itself.
    pub(super) fn offered(&self) -> Result<catalog::Model> {
        Ok(catalog::Model {
            height: self.height,
            footprint: self.footprint,
            price: self.price,
            ..catalog::Model::new(&self.name, alone(&self.name, &self.properties)?)
        })
    }

    /// The model's value of a key, noted as taken.
    fn lend<T>(&self, key: &'static str, value: Option<T>) -> Option<T> {
        if value.is_some() {
            self.taken.borrow_mut().push(key);
        }
        value
    }
}

/// The mounts, and all models.
pub(super) fn mounts(root: &Node<'_>) -> Result<(Vec<Mount>, Vec<Model>)> {
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
    Ok((mounts, models))
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
        let (price, height, footprint) = offer(&node)?;
        node.finish()?;
        let path = node.path;
        let taken = RefCell::default();
        models.push(Model { name, path, properties, taken, price, height, footprint });
    }
    Ok(models)
}

/// Price, height and footprint of a model: what matters when it is chosen.
type Offer = (Option<f64>, Option<f64>, Option<[f64; 2]>);

fn offer(node: &Node<'_>) -> Result<Offer> {
    let one = |key, dimension| {
        let value = node.optional(key).map(|v| v.informational(dimension)).transpose()?;
        let unit = dimension.si;
        value.map(|v| super::limits::above_zero(node, key, v, unit)).transpose()
    };
    let (price, height) = (one("price", Dimension::RATIO)?, one("height", Dimension::LENGTH)?);
    let Some(sides) = node.optional("footprint") else { return Ok((price, height, None)) };
    let expected = "a list of two lengths [length, width]";
    let [length, width] = &sides.items(expected)?[..] else { return Err(sides.wrong(expected)) };
    let side = |v: &super::node::Value<'_>| {
        let side = v.informational(Dimension::LENGTH)?;
        super::limits::above_zero(node, "footprint", side, "m")
    };
    Ok((price, height, Some([side(length)?, side(width)?])))
}
