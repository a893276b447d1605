//! A cursor over the tree of a job file: typed takers that say line, column and key path when
//! something is missing, unknown or of the wrong type.

use std::cell::RefCell;
use std::collections::BTreeMap;

use toml::de::{DeTable, DeValue};

use super::raw::Source;
use super::register::{Input, label};
use crate::error::did_you_mean;
use crate::error::{Error, Result};
use crate::machine::Assumption;
use crate::units::Dimension;

/// What all cursors of one reading share.
pub(super) struct Context<'a> {
    pub(super) source: &'a Source,
    /// Values (SI) that replace those of the file, by path.
    pub(super) overrides: &'a BTreeMap<String, f64>,
    /// Inputs with the byte at which they stand.
    pub(super) inputs: RefCell<Vec<(usize, Input)>>,
    /// Path of a section and what to know before trusting what was made of it.
    pub(super) warnings: RefCell<Vec<(String, String)>>,
}

impl Context<'_> {
    /// Marks the inputs of a key, whole or element by element, as only reported.
    pub(super) fn mark_informational(&self, key: &str) {
        for (_, input) in self.inputs.borrow_mut().iter_mut() {
            let rest = input.path.strip_prefix(key);
            if rest.is_some_and(|r| r.is_empty() || r.starts_with(['[', '.'])) {
                input.informational = true;
            }
        }
    }

    /// The inputs in file order.
    pub(super) fn register(&self, root: &DeTable<'_>) -> Vec<Input> {
        let mut inputs = self.inputs.take();
        inputs.sort_by_key(|(at, _)| *at);
        inputs
            .into_iter()
            .map(|(_, input)| {
                let named = !input.label.is_empty();
                let label = if named { input.label } else { label(root, &input.path) };
                Input { label, ..input }
            })
            .collect()
    }
}

/// A table of the file.
pub(super) struct Node<'a> {
    pub(super) context: &'a Context<'a>,
    pub(super) path: String,
    pub(super) at: usize,
    table: &'a DeTable<'a>,
    /// Keys that were asked for: what is allowed here.
    known: RefCell<Vec<&'static str>>,
}

/// A value of the file.
#[derive(Clone)]
pub(super) struct Value<'a> {
    pub(super) context: &'a Context<'a>,
    pub(super) path: String,
    pub(super) at: usize,
    pub(super) value: &'a DeValue<'a>,
}

impl<'a> Node<'a> {
    pub(super) fn new(
        context: &'a Context<'a>,
        table: &'a DeTable<'a>,
        path: String,
        at: usize,
    ) -> Self {
        Self { context, path, at, table, known: RefCell::default() }
    }

    /// Path of a key of this table.
    pub(super) fn join(&self, key: &str) -> String {
        if self.path.is_empty() { key.into() } else { format!("{}.{key}", self.path) }
    }

    pub(super) fn optional(&self, key: &'static str) -> Option<Value<'a>> {
        let mut known = self.known.borrow_mut();
        if !known.contains(&key) {
            known.push(key);
        }
        let value = self.table.get(key)?;
        let (path, at) = (self.join(key), value.span().start);
        Some(Value { context: self.context, path, at, value: value.get_ref() })
    }

    pub(super) fn required(&self, key: &'static str, what: &str) -> Result<Value<'a>> {
        self.optional(key).ok_or_else(|| self.missing(key, &format!("{what} is required")))
    }

    /// The error for a required key that is not given, or is misspelled.
    pub(super) fn missing(&self, key: &'static str, required: &str) -> Error {
        let known = self.known.borrow();
        let near = |k: &str| !known.contains(&k) && !did_you_mean(k, [key].into_iter()).is_empty();
        match self.table.keys().find(|k| near(k.get_ref())) {
            Some(slip) => {
                let name = slip.get_ref();
                let problem =
                    format!("{name:?} is not a key here; did you mean {key:?}? {required}");
                self.context.source.error(slip.span().start, &self.join(name), problem)
            }
            None => {
                let problem = format!("is missing; {required}");
                self.context.source.error(self.at, &self.join(key), problem)
            }
        }
    }

    /// Is the key given? Asking makes it an allowed key.
    pub(super) fn has(&self, key: &'static str) -> bool {
        self.optional(key).is_some()
    }

    /// Refuses the first of these keys that is given, with what is wrong with it.
    pub(super) fn without(&self, keys: &[&'static str], what: &str) -> Result<()> {
        match keys.iter().find(|key| self.has(key)) {
            Some(key) => Err(self.error(key, what)),
            None => Ok(()),
        }
    }

    /// A required text that is not blank.
    pub(super) fn text(&self, key: &'static str) -> Result<String> {
        let lacks = || self.missing(key, &format!("a text is required; write {key} = \"...\""));
        self.optional(key).ok_or_else(lacks)?.text()
    }

    /// An optional text that is not blank.
    pub(super) fn optional_text(&self, key: &'static str) -> Result<Option<String>> {
        self.optional(key).map(|v| v.text()).transpose()
    }

    /// One of the allowed words.
    pub(super) fn choice(
        &self,
        key: &'static str,
        allowed: &[&'static str],
    ) -> Result<&'static str> {
        self.required(key, &one_of(allowed))?.choice(allowed)
    }

    /// One of the allowed words, or the default.
    pub(super) fn choice_or(
        &self,
        key: &'static str,
        allowed: &[&'static str],
        default: &'static str,
    ) -> Result<&'static str> {
        self.optional(key).map_or(Ok(default), |v| v.choice(allowed))
    }

    /// True or false, or the default.
    pub(super) fn boolean_or(&self, key: &'static str, default: bool) -> Result<bool> {
        let Some(value) = self.optional(key) else { return Ok(default) };
        match value.value {
            DeValue::Boolean(b) => Ok(*b),
            _ => Err(value.wrong("true or false")),
        }
    }

    /// A table below this one.
    pub(super) fn table(&self, key: &'static str) -> Result<Option<Node<'a>>> {
        self.optional(key).map(|v| v.table("a table")).transpose()
    }

    /// A required list of quantities, SI: rows of a table, which stay out of the register.
    pub(super) fn list(&self, key: &'static str, dimension: Dimension) -> Result<Vec<f64>> {
        let items = self.required(key, "a list of numbers")?.items("a list of numbers")?;
        items.iter().map(|v| v.unregistered(dimension)).collect()
    }

    /// A required value that is a quantity, with an example where it is missing.
    pub(super) fn measured(&self, key: &'static str, dimension: Dimension) -> Result<Value<'a>> {
        let Dimension { words, example, .. } = dimension;
        let lacks = || self.missing(key, &format!("{words} is required, such as {example}"));
        self.optional(key).ok_or_else(lacks)
    }

    /// An array of tables below this one; none if the key is not given.
    pub(super) fn tables(&self, key: &'static str) -> Result<Vec<Node<'a>>> {
        let Some(value) = self.optional(key) else { return Ok(Vec::new()) };
        let hint = format!("a list of tables, such as [[{}]] sections", self.join(key));
        value.items(&hint)?.into_iter().map(|item| item.table("a table")).collect()
    }

    /// A required quantity, SI.
    pub(super) fn quantity(&self, key: &'static str, dimension: Dimension) -> Result<f64> {
        self.measured(key, dimension)?.quantity(dimension)
    }

    /// An optional quantity, SI.
    pub(super) fn optional_quantity(
        &self,
        key: &'static str,
        dimension: Dimension,
    ) -> Result<Option<f64>> {
        self.optional(key).map(|v| v.quantity(dimension)).transpose()
    }

    /// A quantity, SI, or a default that enters the register with its reason.
    pub(super) fn quantity_or(
        &self,
        key: &'static str,
        dimension: Dimension,
        default: f64,
        reason: &str,
    ) -> Result<f64> {
        match self.optional_quantity(key, dimension)? {
            Some(value) => Ok(value),
            None => Ok(self.default(key, default, dimension.si, reason, Vec::new())),
        }
    }

    /// Enters a default in the register; returns it, or what overrides it.
    pub(super) fn default(
        &self,
        key: &str,
        value: f64,
        unit: &str,
        reason: &str,
        scales: Vec<f64>,
    ) -> f64 {
        self.banded_default(key, (value, None, None), unit, reason, scales)
    }

    /// Enters a default with its band (value, low, high); returns it, or what overrides it.
    pub(super) fn banded_default(
        &self,
        key: &str,
        (value, low, high): (f64, Option<f64>, Option<f64>),
        unit: &str,
        reason: &str,
        scales: Vec<f64>,
    ) -> f64 {
        let path = self.join(key);
        let value = self.context.overrides.get(&path).copied().unwrap_or(value);
        let input = Input {
            path,
            label: String::new(),
            value,
            unit: unit.into(),
            low,
            high,
            source: None,
            assumed: false,
            confirm: None,
            default: Some(reason.into()),
            informational: false,
            scales,
            line: self.context.source.locate(self.at).0,
        };
        self.context.inputs.borrow_mut().push((self.at, input));
        value
    }

    /// A quantity, SI, or what is usual: an assumption with a band that enters the register.
    pub(super) fn quantity_or_usual(
        &self,
        key: &'static str,
        dimension: Dimension,
        usual: &Assumption,
    ) -> Result<f64> {
        if let Some(value) = self.optional_quantity(key, dimension)? {
            return Ok(value);
        }
        let path = self.join(key);
        let value = self.context.overrides.get(&path).copied().unwrap_or(usual.value);
        let input = Input {
            path,
            label: usual.what.clone(),
            value,
            unit: dimension.si.into(),
            low: Some(usual.low),
            high: Some(usual.high),
            source: Some(usual.source.clone()),
            assumed: true,
            confirm: Some(usual.confirm.clone()),
            default: Some(format!("not given: {}", usual.source)),
            informational: false,
            scales: Vec::new(),
            line: self.context.source.locate(self.at).0,
        };
        self.context.inputs.borrow_mut().push((self.at, input));
        Ok(value)
    }

    /// Three quantities, SI.
    pub(super) fn vector3(&self, key: &'static str, dimension: Dimension) -> Result<[f64; 3]> {
        self.required(key, "a list of three [x, y, z]")?.vector3(dimension)
    }

    /// Three quantities, SI, if given.
    pub(super) fn optional_vector3(
        &self,
        key: &'static str,
        dimension: Dimension,
    ) -> Result<Option<[f64; 3]>> {
        self.optional(key).map(|v| v.vector3(dimension)).transpose()
    }

    /// One quantity for all three directions or three, SI, if given.
    pub(super) fn one_or_three(
        &self,
        key: &'static str,
        dimension: Dimension,
    ) -> Result<Option<[f64; 3]>> {
        self.optional(key).map(|v| v.one_or_three(dimension)).transpose()
    }

    /// An error at a key of this table, or at the table if the key is not given.
    pub(super) fn error(&self, key: &str, problem: impl Into<String>) -> Error {
        self.context.source.error(self.place(key), &self.join(key), problem)
    }

    /// An error of the core, placed where its argument stands in the file.
    pub(super) fn blame(&self, error: Error) -> Error {
        let (argument, problem) = match error {
            Error::Invalid { argument, value, requirement, remedy } => {
                (argument, format!("{value}: {requirement}; {remedy}"))
            }
            Error::Shape { argument, found, expected } => {
                (argument, format!("has shape {found}: {expected} is required"))
            }
            Error::Unknown { argument, value, allowed } => {
                (argument, format!("{value:?} is not known; {allowed}"))
            }
            Error::Unit { argument, text, problem, remedy } => {
                (argument, format!("{text:?}: {problem}; {remedy}"))
            }
            done @ (Error::Job { .. } | Error::File { .. }) => return done,
            other => return self.context.source.error(self.at, &self.path, other.to_string()),
        };
        let key = argument.split(['.', '[']).next().unwrap_or_default();
        self.context.source.error(self.place(key), &self.join(&argument), problem)
    }

    /// Refuses keys that nobody asked for.
    pub(super) fn finish(&self) -> Result<()> {
        let known = self.known.borrow();
        let unknown = self.table.keys().filter(|k| !known.contains(&k.get_ref().as_ref()));
        let Some(key) = unknown.min_by_key(|k| k.span().start) else { return Ok(()) };
        let name = key.get_ref().as_ref();
        let problem = format!(
            "{name:?} is not a key here;{} allowed: {}",
            did_you_mean(name, known.iter().copied()),
            known.join(", ")
        );
        Err(self.context.source.error(key.span().start, &self.join(name), problem))
    }

    fn place(&self, key: &str) -> usize {
        self.table.get(key).map_or(self.at, |v| v.span().start)
    }
}

impl<'a> Value<'a> {
    /// An error at this value.
    pub(super) fn error(&self, problem: impl Into<String>) -> Error {
        self.context.source.error(self.at, &self.path, problem)
    }

    /// The error for a value of the wrong type.
    pub(super) fn wrong(&self, expected: &str) -> Error {
        let given = match self.value {
            DeValue::String(text) => format!("the text {text:?}"),
            DeValue::Integer(number) => format!("the number {number}"),
            DeValue::Float(number) => format!("the number {number}"),
            DeValue::Boolean(b) => format!("{b}"),
            DeValue::Datetime(d) => format!("the date {d}"),
            DeValue::Array(items) => format!("a list of {}", items.len()),
            DeValue::Table(_) => "a table".into(),
        };
        self.error(format!("is {given}; expected {expected}"))
    }

    pub(super) fn text(&self) -> Result<String> {
        match self.value {
            DeValue::String(text) if !text.trim().is_empty() => Ok(text.trim().to_string()),
            DeValue::String(_) => Err(self.error("is an empty text; write a few words")),
            _ => Err(self.wrong("a text in quotation marks")),
        }
    }

    pub(super) fn choice(&self, allowed: &[&'static str]) -> Result<&'static str> {
        let DeValue::String(text) = self.value else { return Err(self.wrong(&one_of(allowed))) };
        allowed.iter().copied().find(|word| *word == text).ok_or_else(|| {
            let hint = did_you_mean(text, allowed.iter().copied());
            self.error(format!("{text:?} is not known;{hint} allowed: {}", quoted(allowed)))
        })
    }

    pub(super) fn table(&self, expected: &str) -> Result<Node<'a>> {
        match self.value {
            DeValue::Table(table) => Ok(Node::new(self.context, table, self.path.clone(), self.at)),
            _ => Err(self.wrong(expected)),
        }
    }

    /// Elements of a list, each with its index in the path.
    pub(super) fn items(&self, expected: &str) -> Result<Vec<Value<'a>>> {
        let DeValue::Array(items) = self.value else { return Err(self.wrong(expected)) };
        let item = |(i, item): (usize, &'a toml::Spanned<DeValue<'a>>)| Value {
            context: self.context,
            path: format!("{}[{i}]", self.path),
            at: item.span().start,
            value: item.get_ref(),
        };
        Ok(items.iter().enumerate().map(item).collect())
    }
}

fn one_of(allowed: &[&str]) -> String {
    format!("one of {}", quoted(allowed))
}

fn quoted(words: &[&str]) -> String {
    words.iter().map(|w| format!("{w:?}")).collect::<Vec<_>>().join(", ")
}
