//! A record from a table in text: time and value in columns.

use super::Record;
use crate::error::{Error, Result};

impl Record {
    /// Reads columns separated by commas, semicolons, tabs or spaces: time (s) in one column, the value
    /// in another (counted from 0). Lines before the first number are a heading; lines that begin with
    /// `#` and empty lines are left out. `name` stands for the file in messages.
    ///
    /// # Errors
    /// [`Error::Invalid`] with the line for what is no number; those of [`Record::from_times`].
    pub fn from_csv(text: &str, name: &str, time: usize, value: usize) -> Result<Self> {
        let (mut times, mut values) = (Vec::new(), Vec::new());
        for (index, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let split = |c: char| matches!(c, ',' | ';' | '\t') || c.is_whitespace();
            let marks = line.contains([',', ';', '\t']);
            let fields: Vec<&str> = line
                .split(|c: char| if marks { matches!(c, ',' | ';' | '\t') } else { split(c) })
                .map(|field| field.trim().trim_matches('"'))
                .filter(|field| marks || !field.is_empty())
                .collect();
            let field = |column: usize| fields.get(column).copied().unwrap_or("");
            let read = |column: usize| field(column).parse::<f64>();
            match (read(time), read(value)) {
                (Ok(t), Ok(y)) => {
                    times.push(t);
                    values.push(y);
                }
                _ if times.is_empty() => {}
                (t, _) => {
                    let column = if t.is_err() { time } else { value };
                    return Err(Error::invalid(
                        format!("{name}, line {}", index + 1),
                        format!("{:?} in column {column}", field(column)),
                        "must be a number with a decimal point",
                        "check the columns (counted from 0), decimal commas and gaps",
                    ));
                }
            }
        }
        if times.is_empty() {
            return Err(Error::invalid(
                name,
                format!("no line with numbers in columns {time} and {value}"),
                "must hold columns of time (s) and value",
                "check which columns they are, counted from 0",
            ));
        }
        Self::from_times(&times, values).map_err(|e| e.within(name))
    }
}
