//! A record from a table in text: time and value in columns.

use super::Record;
use crate::error::{Error, Result};

impl Record {
    /// The record as text with a heading, time (s) and value in columns, as [`Self::from_csv`] reads it.
    pub fn to_csv(&self) -> String {
        let row = |(i, value): (usize, &f64)| format!("{},{value}\n", i as f64 * self.interval);
        let rows = self.values.iter().enumerate().map(row);
        std::iter::once("time (s),value\n".to_owned()).chain(rows).collect()
    }

    /// Reads columns separated by semicolons, tabs, commas or spaces: time (s) in one column, the value
    /// in another (counted from 0). Lines before the first number are a heading; lines that begin with
    /// `#` and empty lines are left out. Decimal commas are read where semicolons or tabs separate
    /// and no number of the file has a point. `name` stands for the file in messages.
    ///
    /// # Errors
    /// [`Error::Invalid`] with the line for what is no number; those of [`Record::from_times`].
    pub fn from_csv(text: &str, name: &str, time: usize, value: usize) -> Result<Self> {
        let (mut times, mut values) = (Vec::new(), Vec::new());
        let commas = !text.lines().filter(|line| begins_with_number(line)).any(|l| l.contains('.'));
        for (index, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let (fields, apart) = fields(line);
            let field = |column: usize| fields.get(column).copied().unwrap_or("");
            let read = |column: usize| match field(column) {
                text if commas && apart => text.replacen(',', ".", 1).parse::<f64>(),
                text => text.parse::<f64>(),
            };
            match (read(time), read(value)) {
                (Ok(t), Ok(y)) => {
                    times.push(t);
                    values.push(y);
                }
                (Err(_), _) if times.is_empty() => {}
                (t, _) => {
                    let column = if t.is_err() { time } else { value };
                    return Err(Error::invalid(
                        format!("{name}, line {}", index + 1),
                        format!("{:?} in column {column}", field(column)),
                        "must be a number with a decimal point",
                        "check the columns (counted from 0) and gaps; decimal commas are read where \
                         semicolons separate the columns",
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

/// Fields of a line, and whether something else than a comma separates them.
fn fields(line: &str) -> (Vec<&str>, bool) {
    let separator = [';', '\t', ','].into_iter().find(|mark| line.contains(*mark));
    match separator {
        Some(mark) => {
            let all = line.split(mark).map(|field| field.trim().trim_matches('"'));
            (all.collect(), mark != ',')
        }
        None => (line.split_whitespace().map(|field| field.trim_matches('"')).collect(), true),
    }
}

fn begins_with_number(line: &str) -> bool {
    let start = line.trim_start().trim_start_matches(['"', '-', '+']);
    start.starts_with(|c: char| c.is_ascii_digit())
}
