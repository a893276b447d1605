//! Sweeps: a plan, its run in memory, and one chunk.

use std::ops::Range;

use ndarray::Array2;
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict};

use super::convert::{direction, point};
use super::detached;
use super::error::to_py;
use super::forming::work_of;
use super::installation::PyInstallation;
use super::job::PyJob;
use super::labeled::array;
use super::pulse::pulse;
use crate::analysis::SnapThroughOptions;
use crate::analysis::snap_through::press_of;
use crate::error::Error;
use crate::excitation::Work;
use crate::installation::Installation;
use crate::job::{Shock, SnapThroughAsked};
use crate::sweep::listing::{self, Axis};
use crate::sweep::outputs::{self, Labels};
use crate::sweep::{
    self, Base, Chunk, Column, Dim, Distribution, Loads, Method, Plan, Spec, VERSION,
};

/// Name, pulse, direction and point of a shock.
type AskedShock<'py> = (String, Bound<'py, PyAny>, Bound<'py, PyAny>, Option<Bound<'py, PyAny>>);
/// Name, columns with name, paths and values.
type ListDim = (String, Vec<(String, Vec<String>, Vec<f64>)>);
/// Name, count, method, seed, columns with name, paths, kind and parameters, correlation.
type SampleDim =
    (String, u64, String, u64, Vec<(String, Vec<String>, String, Vec<f64>)>, Option<Vec<f64>>);
/// Path, label, value, unit, kind of quantity, factor.
type AxisRow = (String, String, Option<f64>, String, String, bool);

/// A sweep made ready; see `underfoot.sweep`.
#[pyclass(frozen, name = "SweepPlan", module = "underfoot._core")]
pub struct PySweepPlan(Plan);

#[pymethods]
impl PySweepPlan {
    #[new]
    fn new(
        py: Python<'_>,
        base: &Bound<'_, PyAny>,
        shocks: Vec<AskedShock<'_>>,
        dims: Vec<Bound<'_, PyAny>>,
        outputs: Vec<String>,
        frequencies: Vec<f64>,
        chunk: u64,
    ) -> PyResult<Self> {
        let base = base_of(base, shocks)?;
        let dims = dims.iter().map(dim_of).collect::<PyResult<_>>()?;
        let version = VERSION.to_owned();
        let spec = Spec { version, base, dims, outputs, frequencies, chunk };
        detached(py, || Plan::new(spec)).map(Self)
    }

    /// The sweep as bytes, for `run_chunk`.
    fn to_bytes<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyBytes>> {
        let bytes = sweep::to_bytes(&self.0.spec).map_err(to_py)?;
        Ok(PyBytes::new(py, &bytes))
    }

    /// Platform and instructions that results are computed with.
    fn instruction_set(&self) -> String {
        self.0.instruction_set()
    }

    /// The base as JSON.
    fn base_json(&self) -> PyResult<String> {
        let text = match &self.0.spec.base {
            Base::Job(job) => serde_json::to_string(job),
            Base::Installation(inst, loads) => serde_json::to_string(&(inst, loads)),
        };
        text.map_err(|e| to_py(Error::invalid("base", "its numbers", e.to_string(), "report it")))
    }

    /// Lengths of the dimensions of the designs.
    #[getter]
    fn shape(&self) -> Vec<u64> {
        self.0.blocks.shape.clone()
    }

    /// Lengths of a chunk along them.
    #[getter]
    fn block(&self) -> Vec<u64> {
        self.0.blocks.block.clone()
    }

    /// Number of chunks.
    #[getter]
    fn chunks(&self) -> u64 {
        self.0.blocks.count()
    }

    /// First design of a chunk, and how many it has.
    fn range(&self, i: u64) -> (u64, u64) {
        self.0.blocks.range(i)
    }

    /// Doubles that one design leaves.
    #[getter]
    fn numbers_per_design(&self) -> usize {
        self.0.numbers_per_design()
    }

    /// (name, unit, long name, dims, shape, complex) of each output.
    #[allow(clippy::type_complexity)] // what Python unpacks
    #[getter]
    fn outputs(
        &self,
    ) -> Vec<(&'static str, &'static str, &'static str, &'static [&'static str], Vec<usize>, bool)>
    {
        let row =
            |o: &outputs::Laid| (o.name, o.unit, o.long_name, o.dims, o.shape.clone(), o.complex);
        self.0.layout.outputs.iter().map(row).collect()
    }

    /// Labels along the dims of the outputs: dim -> (labels, unit).
    fn labels<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let all = PyDict::new(py);
        for (dim, labels) in &self.0.layout.labels {
            match labels {
                Labels::Text(names) => all.set_item(dim, (names.clone(), ""))?,
                Labels::Numbers(values, unit) => all.set_item(dim, (values.clone(), *unit))?,
            }
        }
        Ok(all)
    }

    /// Units along dims whose entries differ in unit.
    #[getter]
    fn units(&self) -> Vec<(&'static str, Vec<String>)> {
        self.0.layout.units.clone()
    }

    /// Values at the places start .. stop of one dimension, an array for each column.
    fn along<'py>(
        &self,
        py: Python<'py>,
        dim: usize,
        start: u64,
        stop: u64,
    ) -> PyResult<Vec<Bound<'py, PyArray1<f64>>>> {
        if dim >= self.0.spec.dims.len() {
            let counted = format!("the sweep has {} dimensions", self.0.spec.dims.len());
            return Err(to_py(Error::invalid("dim", dim, counted, "ask for one of them")));
        }
        let columns = py.detach(|| self.0.along(dim, start..stop));
        Ok(columns.into_iter().map(|c| PyArray1::from_vec(py, c)).collect())
    }

    /// Runs chunks first .. last in memory: flat numbers of each output, and (design, reason) of
    /// what failed, designs counted from the first of the first chunk.
    ///
    /// `watch`, if given, is called with the number of designs done about every 0.1 s.
    #[allow(clippy::type_complexity)] // what Python unpacks
    fn run<'py>(
        &self,
        py: Python<'py>,
        first: u64,
        last: u64,
        threads: usize,
        watch: Option<Bound<'py, PyAny>>,
    ) -> PyResult<(Vec<Bound<'py, PyArray1<f64>>>, Vec<(u64, String)>)> {
        let watch = watch.map(Bound::unbind);
        let chunks: Range<u64> = first..last.min(self.0.blocks.count());
        let mut interrupted = None;
        let swept = detached(py, || {
            let mut asked = 0_u32;
            sweep::run(&self.0, chunks, threads, &mut |done| {
                asked += 1;
                let look = Python::attach(|py| {
                    py.check_signals()?;
                    match &watch {
                        Some(watch) if asked.is_multiple_of(2) => {
                            watch.call1(py, (done,)).map(|_| ())
                        }
                        _ => Ok(()),
                    }
                });
                interrupted = look.err();
                interrupted.is_none()
            })
        })?;
        if let Some(error) = interrupted {
            return Err(error);
        }
        let swept = swept.unwrap_or(sweep::Swept { values: vec![], failures: vec![] });
        let values = swept.values.into_iter().map(|v| PyArray1::from_vec(py, v)).collect();
        Ok((values, swept.failures))
    }

    /// The numbers of a chunk from the bytes of `run_chunk`: as `run`, with the instruction set.
    #[allow(clippy::type_complexity)] // what Python unpacks
    fn read<'py>(
        &self,
        py: Python<'py>,
        i: u64,
        bytes: &[u8],
    ) -> PyResult<(Vec<Bound<'py, PyArray1<f64>>>, Vec<(u64, String)>, String)> {
        let (chunk, isa) = Chunk::from_bytes(&self.0, i, bytes).map_err(to_py)?;
        let values = chunk.values.into_iter().map(|v| PyArray1::from_vec(py, v)).collect();
        Ok((values, chunk.failures, isa))
    }

    fn __repr__(&self) -> String {
        let blocks = &self.0.blocks;
        format!("SweepPlan({} designs in {} chunks)", blocks.designs(), blocks.count())
    }
}

/// One chunk of a sweep as bytes: a pure function of the sweep's bytes and the chunk's number.
#[pyfunction]
pub fn run_chunk<'py>(py: Python<'py>, spec: &[u8], i: u64) -> PyResult<Bound<'py, PyBytes>> {
    let bytes = detached(py, || sweep::run_chunk(spec, i))?;
    Ok(PyBytes::new(py, &bytes))
}

/// (path, label, value, unit, kind of quantity, factor) of every legal axis of a base.
#[pyfunction]
pub fn sweep_axes(base: &Bound<'_, PyAny>, shocks: Vec<AskedShock<'_>>) -> PyResult<Vec<AxisRow>> {
    let row = |a: Axis| (a.path, a.label, a.value, a.unit, a.dimension, a.factor);
    let axes = match base_of(base, shocks)? {
        Base::Job(job) => listing::of_job(&job),
        Base::Installation(inst, loads) => listing::of_installation(&inst, &loads),
    };
    Ok(axes.into_iter().map(row).collect())
}

/// (name, unit, long name) of every output of a sweep.
#[pyfunction]
pub fn sweep_outputs() -> Vec<(&'static str, &'static str, &'static str)> {
    outputs::all().collect()
}

/// Values (column, sample) drawn from independent distributions: kind and parameters of each.
#[pyfunction]
pub fn draw<'py>(
    py: Python<'py>,
    count: u64,
    method: &str,
    seed: u64,
    columns: Vec<(String, Vec<f64>)>,
) -> PyResult<Bound<'py, PyAny>> {
    let named = |(i, (kind, parameters)): (usize, &(String, Vec<f64>))| {
        let column = Column { name: format!("column {i}"), paths: Vec::new() };
        Ok((column, distribution(kind, parameters)?))
    };
    let dim = Dim::Sample {
        name: "sample".into(),
        count,
        method: Method::from_name(method).map_err(to_py)?,
        seed,
        columns: columns.iter().enumerate().map(named).collect::<PyResult<_>>()?,
        correlation: None,
    };
    let drawn = detached(py, || sweep::draw(&dim))?;
    rectangle(py, drawn)
}

/// Value below which a part of a distribution lies.
#[pyfunction]
pub fn quantile(kind: &str, parameters: Vec<f64>, part: f64) -> PyResult<f64> {
    let d = distribution(kind, &parameters)?.checked(kind).map_err(to_py)?;
    Ok(d.quantile(part))
}

fn rectangle<'py>(py: Python<'py>, columns: Vec<Vec<f64>>) -> PyResult<Bound<'py, PyAny>> {
    let places = columns.first().map_or(0, Vec::len);
    let flat: Vec<f64> = columns.iter().flatten().copied().collect();
    let shaped = Array2::from_shape_vec((columns.len(), places), flat);
    array(py, shaped.unwrap_or_default())
}

fn base_of(base: &Bound<'_, PyAny>, shocks: Vec<AskedShock<'_>>) -> PyResult<Base> {
    if let Ok(job) = base.cast::<PyJob>() {
        if !shocks.is_empty() {
            return Err(to_py(Error::invalid(
                "shocks",
                "some",
                "a job brings its own shocks",
                "write them into the job, or sweep its installation",
            )));
        }
        return Ok(Base::Job(Box::new(job.get().0.clone())));
    }
    let Ok(inst) = base.cast::<PyInstallation>() else {
        return Err(to_py(Error::invalid(
            "base",
            base.repr()?,
            "must be a Job or an Installation",
            "give what every design starts from",
        )));
    };
    let inst = Installation::from(inst.get().0.clone());
    let mut loads = Loads::default();
    for asked in shocks {
        match work_of(&asked.1) {
            Some(force) => loads.break_throughs.push(break_through(&asked, force, &inst)?),
            None => loads.shocks.push(shock(asked, &inst)?),
        }
    }
    Ok(Base::Installation(Box::new(inst), loads))
}

/// A work force among the shocks; it acts between slide and bed.
fn break_through(
    asked: &AskedShock<'_>,
    force: Work,
    inst: &Installation,
) -> PyResult<SnapThroughAsked> {
    let (name, _, _, at) = asked;
    if at.is_some() {
        return Err(to_py(Error::invalid(
            format!("shocks[{name:?}]"),
            "a work force with a point",
            "a work force has its point itself",
            "give BreakThrough(..., point=...)",
        )));
    }
    press_of(inst).map_err(to_py)?;
    Ok(SnapThroughAsked {
        name: name.clone(),
        force,
        forming_energy: None,
        calibration: None,
        equivalent_pulse: false,
        case: None,
        options: SnapThroughOptions::default(),
    })
}

fn shock(asked: AskedShock<'_>, inst: &Installation) -> PyResult<Shock> {
    let (name, of, along, at) = asked;
    let points: Vec<_> = inst.points.iter().map(|p| (p.name.clone(), p.at)).collect();
    Ok(Shock {
        pulse: pulse(&of, &format!("shocks[{name:?}]"))?,
        direction: direction(&along, &format!("shocks[{name:?}]"))?,
        at: at.map(|at| point(&at, &format!("shocks[{name:?}]"), &points)).transpose()?,
        moment: false,
        case: None,
        contacts: None,
        every: None,
        name,
    })
}

fn dim_of(dim: &Bound<'_, PyAny>) -> PyResult<Dim> {
    if let Ok((name, columns)) = dim.extract::<ListDim>() {
        let column = |(name, paths, values)| (Column { name, paths }, values);
        return Ok(Dim::List { name, columns: columns.into_iter().map(column).collect() });
    }
    let (name, count, method, seed, columns, correlation) = dim.extract::<SampleDim>()?;
    let column = |(name, paths, kind, parameters): (String, Vec<String>, String, Vec<f64>)| {
        let distribution = distribution(&kind, &parameters)?;
        Ok((Column { name, paths }, distribution))
    };
    Ok(Dim::Sample {
        name,
        count,
        method: Method::from_name(&method).map_err(to_py)?,
        seed,
        columns: columns.into_iter().map(column).collect::<PyResult<_>>()?,
        correlation,
    })
}

fn distribution(kind: &str, parameters: &[f64]) -> PyResult<Distribution> {
    match (kind, parameters) {
        ("uniform", &[low, high]) => Ok(Distribution::Uniform { low, high }),
        ("normal", &[mean, sd]) => Ok(Distribution::Normal { mean, sd }),
        ("lognormal", &[median, sigma]) => Ok(Distribution::LogNormal { median, sigma }),
        ("triangular", &[low, mode, high]) => Ok(Distribution::Triangular { low, mode, high }),
        _ => Err(to_py(Error::Unknown {
            argument: "axes".into(),
            value: kind.into(),
            allowed: "distributions are uniform, normal, lognormal and triangular".into(),
        })),
    }
}
