//! A table as cells: rows and columns before anything is known of mounts.

use std::path::Path;

use crate::error::{Error, Result};

/// What stands in a cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// Text, possibly a number with its unit.
    Text(String),
    /// A number without unit.
    Number(f64),
    /// Points of a curve: compression and load as they were written.
    Points(Vec<[String; 2]>),
}

/// Rows of cells under named columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What the table is called in messages.
    pub name: String,
    /// Heads of the columns, with the unit in brackets where the column states it once.
    pub columns: Vec<String>,
    /// Rows, as long as `columns`.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// From columns of equal length, as a data frame has them.
    ///
    /// # Errors
    /// [`Error::Table`] for columns of different length.
    pub fn from_columns(name: &str, columns: Vec<(String, Vec<Cell>)>) -> Result<Self> {
        let length = columns.first().map_or(0, |(_, cells)| cells.len());
        if let Some((head, cells)) = columns.iter().find(|(_, cells)| cells.len() != length) {
            return Err(Error::table(
                name,
                "",
                head,
                format!(
                    "has {} values, the first column {length}; columns are of equal length",
                    cells.len()
                ),
            ));
        }
        let mut rows = vec![Vec::with_capacity(columns.len()); length];
        let mut heads = Vec::with_capacity(columns.len());
        for (head, cells) in columns {
            heads.push(head);
            for (row, cell) in rows.iter_mut().zip(cells) {
                row.push(cell);
            }
        }
        Ok(Self { name: name.into(), columns: heads, rows })
    }

    /// From CSV text, see [`super::Catalog::from_csv`].
    ///
    /// # Errors
    /// [`Error::Table`] naming the row that is not as long as the head.
    pub fn from_csv(text: &str, name: &str) -> Result<Self> {
        let head = text.lines().next().unwrap_or("");
        let delimiter = if head.contains(';') && !head.contains(',') { b';' } else { b',' };
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .trim(csv::Trim::All)
            .flexible(true)
            .comment(Some(b'#'))
            .from_reader(text.as_bytes());
        let broken = |e: csv::Error| Error::table(name, "", "", e.to_string());
        let columns: Vec<String> =
            reader.headers().map_err(broken)?.iter().map(str::to_owned).collect();
        let mut rows = Vec::new();
        for (i, record) in reader.records().enumerate() {
            let record = record.map_err(broken)?;
            if record.len() != columns.len() {
                let problem = format!(
                    "has {} fields under {} columns; quote a field that holds the delimiter, and \
                     write decimals with a decimal point",
                    record.len(),
                    columns.len()
                );
                return Err(Error::table(name, (i + 1).to_string(), "", problem));
            }
            rows.push(record.iter().map(text_cell).collect());
        }
        Ok(Self { name: name.into(), columns, rows })
    }

    /// From TOML text with one `[[model]]` for each row.
    ///
    /// # Errors
    /// [`Error::Table`] for text that is not TOML or holds anything else.
    pub fn from_toml(text: &str, name: &str) -> Result<Self> {
        let refuse = |row: &str, column: &str, problem: String| {
            Error::table(name, row.to_owned(), column, problem)
        };
        let root: toml::Table =
            text.parse().map_err(|e: toml::de::Error| refuse("", "", e.message().to_owned()))?;
        if let Some(key) = root.keys().find(|key| *key != "model") {
            return Err(refuse("", key, "is not known; models stand in [[model]] tables".into()));
        }
        let no_tables = || refuse("", "model", "must be tables: write [[model]]".into());
        let models = match root.get("model") {
            Some(value) => value.as_array().ok_or_else(no_tables)?.as_slice(),
            None => &[],
        };
        let mut columns: Vec<String> = Vec::new();
        let mut rows: Vec<Vec<Cell>> = Vec::new();
        for (i, model) in models.iter().enumerate() {
            let mut row = vec![Cell::Empty; columns.len()];
            for (key, value) in model.as_table().ok_or_else(no_tables)? {
                let at = columns.iter().position(|c| c == key).unwrap_or_else(|| {
                    columns.push(key.clone());
                    row.push(Cell::Empty);
                    columns.len() - 1
                });
                row[at] = toml_cell(value).ok_or_else(|| {
                    let row = (i + 1).to_string();
                    let wanted = "is no number, text or list of points [compression, load]";
                    refuse(&row, key, format!("{value} {wanted}"))
                })?;
            }
            rows.push(row);
        }
        for row in &mut rows {
            row.resize(columns.len(), Cell::Empty);
        }
        Ok(Self { name: name.into(), columns, rows })
    }

    /// From a file by its ending, `.csv` or `.toml`.
    ///
    /// # Errors
    /// [`Error::File`] if it cannot be read as text; [`Error::Table`] for what it holds.
    pub fn load(path: &Path) -> Result<Self> {
        let name = path.display().to_string();
        let refuse = |problem: String| Error::File { path: name.clone(), problem };
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        let read = match ending.as_deref() {
            Some("csv") => Self::from_csv,
            Some("toml") => Self::from_toml,
            _ => return Err(refuse("is not a catalog: give a .csv or a .toml file".into())),
        };
        let text = std::fs::read_to_string(path).map_err(|e| refuse(e.to_string()))?;
        read(text.trim_start_matches('\u{feff}'), &name)
    }
}

fn text_cell(text: &str) -> Cell {
    if text.is_empty() { Cell::Empty } else { Cell::Text(text.to_owned()) }
}

fn toml_cell(value: &toml::Value) -> Option<Cell> {
    match value {
        toml::Value::String(text) => Some(text_cell(text.trim())),
        toml::Value::Integer(number) => Some(Cell::Number(*number as f64)),
        toml::Value::Float(number) => Some(Cell::Number(*number)),
        toml::Value::Array(points) => {
            points.iter().map(toml_point).collect::<Option<_>>().map(Cell::Points)
        }
        _ => None,
    }
}

fn toml_point(point: &toml::Value) -> Option<[String; 2]> {
    let [compression, load] = &point.as_array()?[..] else { return None };
    let written = |value: &toml::Value| match value {
        toml::Value::String(text) => Some(text.trim().to_owned()),
        toml::Value::Integer(number) => Some(number.to_string()),
        toml::Value::Float(number) => Some(number.to_string()),
        _ => None,
    };
    Some([written(compression)?, written(load)?])
}
