//! `[options]`: mount models that could stand there instead, to be judged and ranked.
//!
//! Models come from this file (`[[mount_model]]` by name), from a catalog beside it, or both. The
//! catalog's text is kept with the job, so that a stored job needs no file.

use serde::{Deserialize, Serialize};
use toml::de::DeValue;

use super::mount::Model;
use super::node::{Node, Value};
use crate::error::Result;
use crate::support::Mount;
use crate::support::catalog::Catalog;

/// What the job asks of a ranking of mount options.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OptionsAsked {
    /// Models to choose from.
    pub catalog: Catalog,
    /// What is asked for, the most important first, and whether more of it is better; empty: as
    /// usual.
    pub objectives: Vec<(String, Option<bool>)>,
    /// Mounts that get one model, by name; `None`: left-right mirror images.
    pub groups: Option<Vec<Vec<String>>>,
    /// Whether groups may get different models.
    pub mixed: bool,
}

pub(super) fn options(
    root: &Node<'_>,
    models: &[Model],
    mounts: &[Mount],
) -> Result<Option<OptionsAsked>> {
    let Some(node) = root.table("options")? else { return Ok(None) };
    let mut catalog = match node.optional("catalog") {
        Some(file) => read(&file)?,
        None => Catalog { name: root.context.source.name.clone(), models: Vec::new() },
    };
    let own: Vec<&Model> = match node.optional("models") {
        Some(value) => {
            let named = models.iter().map(|m| (m.name.as_str(), m));
            let items = value.items("a list of names of [[mount_model]]s")?;
            let find = |item| super::names::find(item, "mount_model", named.clone());
            items.iter().map(find).collect::<Result<_>>()?
        }
        None if node.has("catalog") => Vec::new(),
        None => models.iter().collect(),
    };
    for model in own {
        if catalog.models.iter().any(|other| other.name == model.name) {
            let problem = format!("{:?} stands in it twice, or in the catalog too", model.name);
            return Err(node.error("models", problem));
        }
        catalog.models.push(model.offered().map_err(|e| node.blame(e))?);
    }
    if catalog.models.is_empty() {
        return Err(node.error("models", "names no model; there is nothing to choose from"));
    }
    let asked = OptionsAsked {
        catalog,
        objectives: objectives(&node)?,
        groups: groups(&node, mounts)?,
        mixed: node.boolean_or("mixed", false)?,
    };
    node.finish()?;
    Ok(Some(asked))
}

/// The catalog of a file beside the job.
fn read(file: &Value<'_>) -> Result<Catalog> {
    let name = file.text()?;
    let text = file.context.source.catalog_text(&name).map_err(|e| file.error(e.to_string()))?;
    let catalog = match name.to_lowercase().ends_with(".toml") {
        true => Catalog::from_toml(&text, &name),
        false => Catalog::from_csv(&text, &name),
    };
    catalog.map_err(|e| file.error(e.to_string()))
}

/// Texts, or tables `{ name, sense }` with sense "least" or "greatest".
fn objectives(node: &Node<'_>) -> Result<Vec<(String, Option<bool>)>> {
    let Some(value) = node.optional("objectives") else { return Ok(Vec::new()) };
    let expected = "a list of \"price\", \"margin\" or names of key figures";
    let one = |item: &Value<'_>| match item.value {
        DeValue::Table(_) => {
            let inner = item.table(expected)?;
            let name = inner.text("name")?;
            let greatest = inner.choice("sense", &["least", "greatest"])? == "greatest";
            inner.finish()?;
            Ok((name, Some(greatest)))
        }
        _ => Ok((item.text()?, None)),
    };
    value.items(expected)?.iter().map(one).collect()
}

/// Lists of names of mounts.
fn groups(node: &Node<'_>, mounts: &[Mount]) -> Result<Option<Vec<Vec<String>>>> {
    let Some(value) = node.optional("groups") else { return Ok(None) };
    let expected = "a list of lists of names of mounts";
    let named = mounts.iter().map(|m| (m.name.as_str(), m.name.clone()));
    let member = |item: &Value<'_>| super::names::find(item, "mount", named.clone());
    let group = |item: &Value<'_>| item.items(expected)?.iter().map(member).collect();
    value.items(expected)?.iter().map(group).collect::<Result<_>>().map(Some)
}
