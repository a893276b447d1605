//! Names in a job file: each once, and each that is used must exist.

use super::node::{Node, Value};
use crate::error::{Result, did_you_mean};

/// Names given so far, with the paths where they stand.
#[derive(Default)]
pub(super) struct Names(Vec<(String, String)>);

impl Names {
    /// Refuses a name that was given before.
    pub(super) fn add(&mut self, node: &Node<'_>, key: &str, name: &str) -> Result<()> {
        if let Some((_, first)) = self.0.iter().find(|(n, _)| n == name) {
            let problem = format!("{name:?} is also the name of {first}; names must differ");
            return Err(node.error(key, problem));
        }
        self.0.push((name.into(), node.path.clone()));
        Ok(())
    }
}

/// What a name stands for.
pub(super) fn find<'n, T>(
    value: &Value<'_>,
    section: &str,
    named: impl Iterator<Item = (&'n str, T)> + Clone,
) -> Result<T> {
    let name = value.text()?;
    if let Some((_, found)) = named.clone().find(|(n, _)| *n == name) {
        return Ok(found);
    }
    let names: Vec<&str> = named.map(|(n, _)| n).collect();
    let allowed = if names.is_empty() {
        format!("there is no [[{section}]]")
    } else {
        let list: Vec<_> = names.iter().map(|n| format!("{n:?}")).collect();
        format!("[[{section}]] names are {}", list.join(", "))
    };
    let hint = did_you_mean(&name, names.iter().copied());
    Err(value.error(format!("{name:?} is not known;{hint} {allowed}")))
}
