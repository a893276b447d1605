//! The one place where core errors become Python exceptions.

use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::error::Error;

/// The exception of `underfoot.errors` for a core error, with its fields as attributes.
pub fn to_py(error: Error) -> PyErr {
    Python::attach(|py| exception(py, &error).unwrap_or_else(|failure| failure))
}

fn exception(py: Python<'_>, error: &Error) -> PyResult<PyErr> {
    let fields = PyDict::new(py);
    let class = |name: &'static str, parts: &[(&str, &str)]| -> PyResult<&'static str> {
        for (key, value) in parts {
            fields.set_item(key, value)?;
        }
        Ok(name)
    };
    let name = match error {
        Error::Invalid { argument, value, requirement, remedy } => class(
            "InvalidError",
            &[
                ("argument", argument),
                ("value", value),
                ("requirement", requirement),
                ("remedy", remedy),
            ],
        )?,
        Error::Shape { argument, found, expected } => class(
            "ShapeError",
            &[("argument", argument), ("found", found), ("expected", expected)],
        )?,
        Error::Unit { argument, text, problem, remedy } => class(
            "UnitError",
            &[("argument", argument), ("text", text), ("problem", problem), ("remedy", remedy)],
        )?,
        Error::Unknown { argument, value, allowed } => class(
            "UnknownNameError",
            &[("argument", argument), ("value", value), ("allowed", allowed)],
        )?,
        Error::FreeMotion { motion, remedy } => {
            class("FreeMotionError", &[("motion", motion), ("remedy", remedy)])?
        }
        Error::Unstable { reason, remedy } => {
            class("UnstableError", &[("reason", reason), ("remedy", remedy)])?
        }
        Error::Job { file, line, column, path, problem } => {
            fields.set_item("line", line)?;
            fields.set_item("column", column)?;
            let parts = [("file", &**file), ("path", path), ("problem", problem)];
            for (key, value) in parts {
                fields.set_item(key, value)?;
            }
            "JobFileError"
        }
        Error::Table { table, row, column, problem } => class(
            "TableError",
            &[("table", table), ("row", row), ("column", column), ("problem", problem)],
        )?,
        Error::File { path, problem } => {
            class("FileError", &[("path", path), ("problem", problem)])?
        }
        Error::NotConverged { what, detail, remedy } => {
            class("NotConvergedError", &[("what", what), ("detail", detail), ("remedy", remedy)])?
        }
    };
    let kind = py.import("underfoot.errors")?.getattr(name)?;
    let value = kind.call((error.to_string(),), Some(&fields))?;
    Ok(PyErr::from_value(value))
}
