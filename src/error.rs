//! What can go wrong, said so that the reader can mend it: which argument or key, what it was
//! (with its unit), what is required, and what to do.

mod nearest;

pub use nearest::did_you_mean;
pub(crate) use nearest::distance;

use thiserror::Error;

/// Result of every fallible call in this crate.
pub type Result<T> = std::result::Result<T, Error>;

/// Every error of this crate; each case carries its fields.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Error {
    /// A value is outside what the argument allows.
    #[error("{argument} = {value}: {requirement}; {remedy}")]
    Invalid {
        /// Argument, field or key, with an index where it is one of many (`mounts[3].stiffness`).
        argument: String,
        /// What was given, with its unit.
        value: String,
        /// What is required.
        requirement: String,
        /// What to do about it.
        remedy: String,
    },

    /// An array has the wrong shape.
    #[error("{argument} has shape {found}: {expected} is required")]
    Shape {
        /// Argument name.
        argument: String,
        /// Shape that was given.
        found: String,
        /// Shape that is required.
        expected: String,
    },

    /// The mounts leave the machine free to move.
    #[error("the mounts leave the machine {motion}; {remedy}")]
    FreeMotion {
        /// The free motion in words ("free to slide along y").
        motion: String,
        /// What to do about it.
        remedy: String,
    },

    /// The machine stands, but tips over: gravity overcomes the mounts, or every mount lifts.
    #[error("the machine is unstable: {reason}; {remedy}")]
    Unstable {
        /// What makes it unstable, with numbers.
        reason: String,
        /// What to do about it.
        remedy: String,
    },

    /// A quantity could not be read or has the wrong dimension.
    #[error("{argument} = {text:?}: {problem}; {remedy}")]
    Unit {
        /// Argument or key.
        argument: String,
        /// The text that was given.
        text: String,
        /// What is wrong with it.
        problem: String,
        /// What to do about it.
        remedy: String,
    },

    /// Two parts of the input contradict each other or a name is unknown.
    #[error("{argument}: {value:?} is not known; {allowed}")]
    Unknown {
        /// Argument or key.
        argument: String,
        /// The name that was given.
        value: String,
        /// The names that would do.
        allowed: String,
    },

    /// A job file cannot be used.
    #[error("{file}:{line}:{column}: {path}: {problem}")]
    Job {
        /// File name as given.
        file: String,
        /// Line, from 1 (0 if the file could not be read at all).
        line: usize,
        /// Column, from 1.
        column: usize,
        /// Key path (`mount[2].stiffness[0]`).
        path: String,
        /// What was given and what is allowed.
        problem: String,
    },

    /// A file cannot be read or written.
    #[error("{path}: {problem}")]
    File {
        /// Path as given.
        path: String,
        /// What happened.
        problem: String,
    },

    /// A table cannot be used; row and column are empty where the whole table is meant.
    #[error("{table}{}{}: {problem}", part(", row ", row), part(", column ", column))]
    Table {
        /// Name of the table or file.
        table: String,
        /// Row, from 1 below the head, with what it is about ("3 (pad 60)").
        row: String,
        /// Column.
        column: String,
        /// What is wrong, and what to do about it.
        problem: String,
    },

    /// A numerical method did not reach its accuracy; never a silent wrong number.
    #[error("{what} did not converge: {detail}; {remedy}")]
    NotConverged {
        /// Which computation.
        what: String,
        /// How far it came.
        detail: String,
        /// What to do about it.
        remedy: String,
    },
}

impl Error {
    /// A value outside its range; the commonest case, so it gets a short constructor.
    pub fn invalid(
        argument: impl Into<String>,
        value: impl ToString,
        requirement: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self::Invalid {
            argument: argument.into(),
            value: value.to_string(),
            requirement: requirement.into(),
            remedy: remedy.into(),
        }
    }

    /// A table that cannot be used, at a row and a column.
    pub fn table(
        table: impl Into<String>,
        row: impl Into<String>,
        column: impl Into<String>,
        problem: impl Into<String>,
    ) -> Self {
        Self::Table {
            table: table.into(),
            row: row.into(),
            column: column.into(),
            problem: problem.into(),
        }
    }

    /// The same error where an argument goes by another name: `pitch` -> `screw_pitch`.
    pub fn renamed(self, from: &str, to: &str) -> Self {
        self.called(|argument| (argument == from).then(|| to.to_owned()))
    }

    /// The same error with the name that the user knows for its argument, where there is one.
    pub fn called(self, name: impl Fn(&str) -> Option<String>) -> Self {
        match self {
            Self::Invalid { argument, value, requirement, remedy } => {
                let argument = name(&argument).unwrap_or(argument);
                Self::Invalid { argument, value, requirement, remedy }
            }
            other => other,
        }
    }

    /// The same error with its argument placed inside an outer one: `stiffness` -> `mounts[2].stiffness`.
    pub fn within(self, outer: &str) -> Self {
        let place = |argument: String| format!("{outer}.{argument}");
        match self {
            Self::Invalid { argument, value, requirement, remedy } => {
                Self::Invalid { argument: place(argument), value, requirement, remedy }
            }
            Self::Shape { argument, found, expected } => {
                Self::Shape { argument: place(argument), found, expected }
            }
            Self::Unit { argument, text, problem, remedy } => {
                Self::Unit { argument: place(argument), text, problem, remedy }
            }
            Self::Unknown { argument, value, allowed } => {
                Self::Unknown { argument: place(argument), value, allowed }
            }
            other => other,
        }
    }
}

/// `value` if it is finite.
pub fn finite(argument: &str, value: f64, unit: &str) -> Result<f64> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(Error::invalid(argument, with_unit(value, unit), "must be finite", "give a number"))
    }
}

/// What goes by a name, or an error with the names there are: `listed` introduces them, `none` stands
/// for an empty list.
pub fn by_name<'a, T>(
    argument: &str,
    wanted: &str,
    named: impl Iterator<Item = (&'a str, T)> + Clone,
    [listed, none]: [&str; 2],
) -> Result<T> {
    if let Some((_, found)) = named.clone().find(|(name, _)| *name == wanted) {
        return Ok(found);
    }
    let names: Vec<_> = named.map(|(name, _)| format!("{name:?}")).collect();
    let allowed =
        if names.is_empty() { none.into() } else { format!("{listed} {}", names.join(", ")) };
    Err(Error::Unknown { argument: argument.into(), value: wanted.into(), allowed })
}

/// Each of `values` by one of the checks of this module; the message names its place in the list.
pub fn each<'a>(
    check: fn(&str, f64, &str) -> Result<f64>,
    argument: &str,
    values: impl IntoIterator<Item = &'a f64>,
    unit: &str,
) -> Result<()> {
    for (i, &value) in values.into_iter().enumerate() {
        // The name is put together only for an error.
        if check("", value, unit).is_err() {
            check(&format!("{argument}[{i}]"), value, unit)?;
        }
    }
    Ok(())
}

/// `value` if it is finite and greater than zero.
pub fn positive(argument: &str, value: f64, unit: &str) -> Result<f64> {
    if finite(argument, value, unit)? > 0.0 {
        Ok(value)
    } else {
        Err(Error::invalid(
            argument,
            with_unit(value, unit),
            "must be greater than zero",
            "check the sign and the unit",
        ))
    }
}

/// `value` if it is finite and not negative.
pub fn not_negative(argument: &str, value: f64, unit: &str) -> Result<f64> {
    if finite(argument, value, unit)? >= 0.0 {
        Ok(value)
    } else {
        Err(Error::invalid(
            argument,
            with_unit(value, unit),
            "must not be negative",
            "check the sign and the unit",
        ))
    }
}

/// A part of a place, where there is one.
fn part(label: &str, value: &str) -> String {
    if value.is_empty() { String::new() } else { format!("{label}{value}") }
}

fn with_unit(value: f64, unit: &str) -> String {
    if unit.is_empty() { format!("{value}") } else { format!("{value} {unit}") }
}
