//! Catalogs of mount models.

use std::path::PathBuf;

use pyo3::prelude::*;
use pyo3::types::{PyBool, PyString};

use super::convert::{shape, vector3};
use super::detached;
use super::error::to_py;
use super::mount::PyMount;
use super::stored::stored;
use crate::support::catalog::{COLUMNS, Catalog, Cell, Model, Table};
use crate::units::Dimension;

/// A mount model of a catalog: what it is as a mount, its size and its price.
#[pyclass(frozen, name = "MountModel", module = "underfoot")]
pub struct PyMountModel(pub Model);

#[pymethods]
impl PyMountModel {
    /// Name of the model.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// What it is as a mount, standing at the origin.
    #[getter]
    fn mount(&self) -> PyMount {
        PyMount(self.0.mount.clone())
    }

    /// Height unloaded, m; None where the catalog does not say.
    #[getter]
    fn height(&self) -> Option<f64> {
        self.0.height
    }

    /// Length and width on the floor, m; None where the catalog does not say.
    #[getter]
    fn footprint(&self) -> Option<(f64, f64)> {
        self.0.footprint.map(|[length, width]| (length, width))
    }

    /// Price of one, in the currency of the catalog; None where it does not say.
    #[getter]
    fn price(&self) -> Option<f64> {
        self.0.price
    }

    /// A mount of this model.
    ///
    /// Parameters
    /// ----------
    /// position : (3,)
    ///     Where the machine sits on it, m.
    /// name : str
    ///     Tag; by default its number.
    ///
    /// Returns
    /// -------
    /// Mount
    #[pyo3(signature = (position, name=""))]
    fn at(&self, position: &Bound<'_, PyAny>, name: &str) -> PyResult<PyMount> {
        let position = vector3(position, "position", Dimension::LENGTH)?;
        let mount = crate::support::Mount { position, ..self.0.mount.clone() };
        Ok(PyMount(mount.with_name(name)))
    }

    fn __repr__(&self) -> String {
        let m = &self.0;
        let price = m.price.map_or(String::new(), |price| format!(", price={price}"));
        format!("MountModel({:?}, stiffness={:?} N/m{price})", m.name, m.mount.stiffness)
    }
}
stored!(PyMountModel, Model);

/// Mount models to choose from, read from a table with one row for each model.
///
/// Made by `Catalog.load(path)` (.csv or .toml), `Catalog.from_csv(text)` or
/// `Catalog.from_table(columns)`. Columns are listed by `Catalog.columns()`. A number without
/// unit is SI; a column states its unit in its head (`stiffness_z [kN/mm]`) or in every cell.
///
/// Raises
/// ------
/// TableError
///     Naming table, row and column.
#[pyclass(frozen, name = "Catalog", module = "underfoot")]
pub struct PyCatalog(pub Catalog);

#[pymethods]
impl PyCatalog {
    /// Reads a catalog from a .csv or .toml file.
    ///
    /// Parameters
    /// ----------
    /// path : str or path
    ///     The file; a .toml file has one [[model]] for each model.
    ///
    /// Raises
    /// ------
    /// FileError, TableError
    #[staticmethod]
    fn load(py: Python<'_>, path: PathBuf) -> PyResult<Self> {
        detached(py, || Catalog::load(path)).map(Self)
    }

    /// Reads a catalog from CSV text.
    ///
    /// Parameters
    /// ----------
    /// text : str
    ///     One line for each model below a line with the columns.
    /// name : str
    ///     Stands for the file in messages.
    ///
    /// Raises
    /// ------
    /// TableError
    #[staticmethod]
    #[pyo3(signature = (text, name="catalog"))]
    fn from_csv(text: &str, name: &str) -> PyResult<Self> {
        Catalog::from_csv(text, name).map(Self).map_err(to_py)
    }

    /// Reads a catalog from columns: a dict of lists, a data frame, or anything else whose
    /// `items()` gives names and sequences.
    ///
    /// Parameters
    /// ----------
    /// columns : mapping of str to sequence
    ///     Cells are numbers, texts with a unit, or None and NaN where there is nothing. A curve
    ///     is a text ("2 mm: 9 kN; 4 mm: 21 kN") or a sequence of (compression, load).
    /// name : str
    ///     Stands for the table in messages.
    ///
    /// Raises
    /// ------
    /// TableError, ShapeError
    #[staticmethod]
    #[pyo3(signature = (columns, name="catalog"))]
    fn from_table(columns: &Bound<'_, PyAny>, name: &str) -> PyResult<Self> {
        let items = columns
            .call_method0("items")
            .map_err(|_| shape(columns, "columns", "a mapping of names to sequences"))?;
        let mut read = Vec::new();
        for item in items.try_iter()? {
            let (head, cells): (String, Bound<'_, PyAny>) = item?.extract()?;
            let cells = cells.try_iter().map_err(|_| shape(&cells, &head, "a sequence"))?;
            let cells = cells.map(|cell| cell_of(&cell?)).collect::<PyResult<_>>()?;
            read.push((head, cells));
        }
        let table = Table::from_columns(name, read).map_err(to_py)?;
        Catalog::from_table(&table).map(Self).map_err(to_py)
    }

    /// Columns of a catalog: (name, SI unit, what it is).
    #[staticmethod]
    fn columns() -> Vec<(&'static str, &'static str, &'static str)> {
        COLUMNS.iter().map(|(name, kind, what)| (*name, kind.si(), *what)).collect()
    }

    /// What the catalog is called.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// The models, in the order of the table.
    #[getter]
    fn models(&self) -> Vec<PyMountModel> {
        self.0.models.iter().cloned().map(PyMountModel).collect()
    }

    fn __len__(&self) -> usize {
        self.0.models.len()
    }

    fn __getitem__(&self, name: &str) -> PyResult<PyMountModel> {
        self.0.model(name).cloned().map(PyMountModel).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        let names: Vec<_> = self.0.models.iter().map(|m| format!("{:?}", m.name)).collect();
        format!("Catalog({:?}: {})", self.0.name, names.join(", "))
    }
}
stored!(PyCatalog, Catalog);

/// A cell from Python; None and NaN are empty, as data frames have them.
fn cell_of(value: &Bound<'_, PyAny>) -> PyResult<Cell> {
    if value.is_none() {
        return Ok(Cell::Empty);
    }
    if let Ok(text) = value.cast::<PyString>() {
        let text = text.to_cow()?.trim().to_owned();
        return Ok(if text.is_empty() { Cell::Empty } else { Cell::Text(text) });
    }
    match value.extract::<f64>() {
        Ok(number) if number.is_nan() => Ok(Cell::Empty),
        Ok(number) if !value.is_instance_of::<PyBool>() => Ok(Cell::Number(number)),
        // A pint quantity reads as the text that it prints.
        _ => Ok(points_of(value)?.unwrap_or(Cell::Text(value.str()?.to_string()))),
    }
}

/// Points of a curve from a sequence of pairs (lists, tuples, rows of an array); None for anything
/// else.
fn points_of(value: &Bound<'_, PyAny>) -> PyResult<Option<Cell>> {
    let Ok(rows) = value.try_iter() else { return Ok(None) };
    let mut points = Vec::new();
    for row in rows {
        let row = row?;
        let Ok(pair) = row.try_iter() else { return Ok(None) };
        let pair = pair.map(|part| written(&part?)).collect::<PyResult<Vec<_>>>()?;
        let Ok(point) = <[String; 2]>::try_from(pair) else { return Ok(None) };
        points.push(point);
    }
    Ok(Some(Cell::Points(points)))
}

/// A number or a text as it stands in a point.
fn written(part: &Bound<'_, PyAny>) -> PyResult<String> {
    match part.extract::<f64>() {
        Ok(number) => Ok(number.to_string()),
        Err(_) => Ok(part.str()?.to_string().trim().to_owned()),
    }
}
