//! What could it stand on? A table of mount models to choose from.
//!
//! One row is one model: stiffness along its axes (dynamic, and static where it differs), damping,
//! the load it may carry, its screw, size and price. A [`Catalog`] is read from CSV, from TOML
//! (`[[model]]` tables with the same keys as the columns) or from columns of a data frame; every
//! way ends in the same table of cells and the same reader.
//!
//! Units: a number without unit is SI. A column may state its unit once, in its head
//! (`stiffness_z [kN/mm]`), or in every cell (`14 kN/mm`); cells of one column that differ in unit
//! are refused, since a slip of the pen there looks like a stiff mount.
//!
//! A mount that stiffens under load has its vertical `curve` of load over compression instead of
//! `stiffness_z`, with a `dynamic_ratio` of dynamic to static stiffness.
//!
//! Errors name table, row (with its model) and column.

mod columns;
mod points;
mod read;
mod table;

use serde::{Deserialize, Serialize};

pub use columns::{COLUMNS, Kind};
pub use table::{Cell, Table};

use super::Mount;
use crate::error::{Result, by_name};

/// A model of the catalog.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Model {
    /// Name of the model.
    pub name: String,
    /// What it is as a mount, standing at the origin.
    pub mount: Mount,
    /// Height unloaded, m.
    pub height: Option<f64>,
    /// Length and width of what stands on the floor, m.
    pub footprint: Option<[f64; 2]>,
    /// Price of one, in the currency of the catalog.
    pub price: Option<f64>,
}

impl Model {
    /// A model that is only a mount, without size or price.
    pub fn new(name: impl Into<String>, mount: Mount) -> Self {
        Self { name: name.into(), mount, height: None, footprint: None, price: None }
    }

    /// A mount of this model where `mount` stands: its position, axes and name.
    pub fn in_place_of(&self, mount: &Mount) -> Mount {
        Mount {
            name: mount.name.clone(),
            position: mount.position,
            axes: mount.axes,
            ..self.mount.clone()
        }
    }
}

/// Mount models to choose from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Catalog {
    /// What the catalog is called in messages and tables.
    pub name: String,
    /// The models, in the order of the table.
    pub models: Vec<Model>,
}

impl Catalog {
    /// Reads a table.
    ///
    /// # Errors
    /// [`crate::Error::Table`] naming row and column: a missing or unknown column, a name twice,
    /// mixed units, a value that cannot be read, a load range upside down.
    pub fn from_table(table: &Table) -> Result<Self> {
        Ok(Self { name: table.name.clone(), models: read::models(table)? })
    }

    /// Reads CSV text; `name` stands for the file in messages. The first line holds the columns;
    /// fields are divided by commas, or by semicolons where the first line has these and no comma.
    ///
    /// # Errors
    /// As [`Self::from_table`].
    pub fn from_csv(text: &str, name: &str) -> Result<Self> {
        Self::from_table(&Table::from_csv(text, name)?)
    }

    /// Reads TOML text with one `[[model]]` for each model.
    ///
    /// # Errors
    /// As [`Self::from_table`].
    pub fn from_toml(text: &str, name: &str) -> Result<Self> {
        Self::from_table(&Table::from_toml(text, name)?)
    }

    /// Reads a file by its ending: `.csv` or `.toml`.
    ///
    /// # Errors
    /// [`crate::Error::File`] if it cannot be read as text; else as [`Self::from_table`].
    pub fn load(path: impl AsRef<std::path::Path>) -> Result<Self> {
        Self::from_table(&Table::load(path.as_ref())?)
    }

    /// The model of that name.
    ///
    /// # Errors
    /// [`crate::Error::Unknown`] with the names there are.
    pub fn model(&self, name: &str) -> Result<&Model> {
        let named = self.models.iter().map(|m| (m.name.as_str(), m));
        by_name("model", name, named, ["models of the catalog are", "the catalog is empty"])
    }
}
