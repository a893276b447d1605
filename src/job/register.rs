//! The register of inputs: every number of a job with its band and where it comes from.

use serde::{Deserialize, Serialize};
use toml::de::{DeTable, DeValue};

/// One number of the job file, or one that was put in its place by default.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Input {
    /// Key path, counted from 0: `mount[2].stiffness[0]`.
    pub path: String,
    /// The same in words, with the names that the file gives: "rubber pad: stiffness".
    pub label: String,
    /// Value in SI; a plain factor (1 as written) where [`Self::scales`] is not empty.
    pub value: f64,
    /// SI unit of the value, or of what the factor scales; empty for a ratio.
    pub unit: String,
    /// Lower end of the band, as `value`.
    pub low: Option<f64>,
    /// Upper end of the band, as `value`.
    pub high: Option<f64>,
    /// Where the number comes from, as the file says.
    pub source: Option<String>,
    /// True if the file says that it is assumed.
    pub assumed: bool,
    /// Who can confirm it.
    pub confirm: Option<String>,
    /// Why a value stands here that the file does not give; `None` if the file gives it.
    pub default: Option<String>,
    /// True if it is only reported and changes no result.
    pub informational: bool,
    /// The numbers (SI) that move together when the value is a factor; empty otherwise.
    pub scales: Vec<f64>,
    /// Line of the file, from 1: of the value, or of the section for a default.
    pub line: usize,
}

impl Input {
    /// True if the input has a band.
    pub fn is_banded(&self) -> bool {
        self.low.is_some() || self.high.is_some()
    }
}

/// A key path in words: what stands in a named section is called by that name.
pub(super) fn label(root: &DeTable<'_>, path: &str) -> String {
    let (mut table, mut name, mut words) = (Some(root), None, Vec::new());
    for step in path.split('.') {
        let (key, index) = step.split_once('[').unwrap_or((step, ""));
        let index = index.trim_end_matches(']').parse::<usize>().ok();
        let value = table.and_then(|t| t.get(key)).map(|v| v.get_ref());
        let section = match (value, index) {
            (Some(DeValue::Table(inner)), None) => Some(inner),
            (Some(DeValue::Array(items)), Some(i)) => match items.get(i).map(|v| v.get_ref()) {
                Some(DeValue::Table(inner)) => Some(inner),
                _ => None,
            },
            _ => None,
        };
        let called = section.and_then(|t| t.get("name")).and_then(|n| n.get_ref().as_str());
        match called {
            Some(called) => {
                name = Some(called.to_owned());
                words.clear();
            }
            None => {
                // A number of a list of three is called by its axis.
                let axis = match (value, index) {
                    (Some(DeValue::Array(list)), Some(i)) if list.len() == 3 => {
                        [" x", " y", " z"].get(i)
                    }
                    _ => None,
                };
                words.push(match axis {
                    Some(axis) => key.replace('_', " ") + axis,
                    None => step.replace('_', " "),
                });
            }
        }
        table = section;
    }
    let words = words.join(" ");
    name.map_or(words.clone(), |name| format!("{name}: {words}"))
}
