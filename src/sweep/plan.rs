//! A sweep made ready: paths resolved to setters, outputs laid out, samplers prepared. Whatever needs
//! a name or can fail for the whole sweep happens here, once; what remains for each design is numbers.

use super::axes::{self, FACTOR, Setter, Touches};
use super::listing;
use super::nearest::nearest;
use super::numbers::Numbers;
use super::outputs::Layout;
use super::rebuild::Built;
use super::sample::Sampler;
use super::spec::{Base, Blocks, Column, Dim, Spec};
use crate::analysis::statics::StaticsOptions;
use crate::error::{Error, Result};
use crate::installation::Installation;
use crate::lanes::{Isa, instruction_set};

/// A sweep ready to run.
#[derive(Debug)]
pub struct Plan {
    /// What is swept.
    pub spec: Spec,
    /// How designs are cut into chunks.
    pub blocks: Blocks,
    /// Outputs and their shapes.
    pub layout: Layout,
    /// Columns of numbers that a design is made of, by dimension.
    pub(super) sources: Vec<Source>,
    /// Number of columns.
    pub(super) width: usize,
    /// Inputs of the job's register that columns replace: column, path.
    pub(super) inputs: Vec<(usize, String)>,
    /// Numbers of the installation that columns set, values before factors.
    pub(super) moves: Vec<(usize, Setter)>,
    /// What the moves can change.
    pub(super) touches: Touches,
    /// Numbers of the base.
    pub(super) base: Numbers,
    /// How statics are computed.
    pub(super) statics: StaticsOptions,
    /// Instructions that the lanes use.
    pub(super) isa: Isa,
}

/// Where the columns of one dimension come from.
#[derive(Debug)]
pub(super) enum Source {
    /// Column by column, its values.
    List(Vec<Vec<f64>>),
    /// Drawn.
    Sample(Sampler, usize),
}

impl Plan {
    /// Resolves and checks a sweep.
    ///
    /// # Errors
    /// [`Error::Unknown`] for an axis or output that is none, with the nearest names;
    /// [`Error::Invalid`] and [`Error::Shape`] for what cannot be swept.
    pub fn new(spec: Spec) -> Result<Self> {
        let isa = instruction_set()?;
        spec.check()?;
        let layout = Layout::of(&spec)?;
        let (mut inputs, mut moves) = (Vec::new(), Vec::new());
        let mut sources = Vec::new();
        let mut width = 0;
        for dim in &spec.dims {
            for column in dim.columns() {
                resolve(column, width, &spec.base, &mut inputs, &mut moves)?;
                width += 1;
            }
            sources.push(source(dim)?);
        }
        moves.sort_by_key(|(_, setter)| setter.factor);
        let mut touches = Touches::default();
        for (_, setter) in &moves {
            touches = touches.or(setter.touches());
        }
        let statics = match &spec.base {
            Base::Job(job) => job.statics.clone(),
            Base::Installation(..) => StaticsOptions::default(),
        };
        Ok(Self {
            blocks: spec.blocks(),
            base: Numbers::of(
                spec.base.installation(),
                spec.base.shocks(),
                spec.base.break_throughs(),
            ),
            layout,
            sources,
            width,
            inputs,
            moves,
            touches,
            statics,
            isa,
            spec,
        })
    }

    /// Numbers of design `i`, one for each column.
    pub fn draw(&self, i: u64, place: &mut [u64], values: &mut [f64]) {
        self.blocks.place(i, place);
        let mut rest = values;
        for (source, &at) in self.sources.iter().zip(place.iter()) {
            match source {
                Source::List(columns) => {
                    let (own, others) = rest.split_at_mut(columns.len());
                    for (value, column) in own.iter_mut().zip(columns) {
                        *value = column[at as usize];
                    }
                    rest = others;
                }
                Source::Sample(sampler, width) => {
                    let (own, others) = rest.split_at_mut(*width);
                    sampler.draw(at, own);
                    rest = others;
                }
            }
        }
    }

    /// The installation of design `i`, built anew.
    ///
    /// # Errors
    /// Those of the constructors, for a design that breaks their rules.
    pub fn installation(&self, i: u64) -> Result<Installation> {
        let mut place = vec![0; self.spec.dims.len()];
        let mut values = vec![0.0; self.width];
        self.draw(i, &mut place, &mut values);
        Built::new(self, &values).map(Built::into_installation)
    }

    /// Values of every column at some places along one dimension.
    pub fn along(&self, dim: usize, places: std::ops::Range<u64>) -> Vec<Vec<f64>> {
        let last = places.end.min(self.spec.dims[dim].len());
        let places = places.start.min(last)..last;
        self.sources[dim].at(places)
    }

    /// Platform and instruction set that results are computed with: those of two that differ may
    /// differ in their last bits.
    pub fn instruction_set(&self) -> String {
        format!("{} {}", std::env::consts::ARCH, self.isa)
    }

    /// Numbers of one design over all outputs.
    pub fn numbers_per_design(&self) -> usize {
        self.layout.outputs.iter().map(|o| o.width()).sum()
    }
}

impl Source {
    fn at(&self, places: std::ops::Range<u64>) -> Vec<Vec<f64>> {
        match self {
            Self::List(columns) => {
                let part = places.start as usize..places.end as usize;
                columns.iter().map(|c| c[part.clone()].to_vec()).collect()
            }
            Self::Sample(sampler, width) => {
                let count = places.end - places.start;
                let mut columns = vec![Vec::with_capacity(count as usize); *width];
                let mut values = vec![0.0; *width];
                for i in places {
                    sampler.draw(i, &mut values);
                    columns.iter_mut().zip(&values).for_each(|(c, v)| c.push(*v));
                }
                columns
            }
        }
    }
}

/// Values of every column along a dimension, without a base.
///
/// # Errors
/// [`Error::Invalid`] and [`Error::Shape`] for what is no dimension.
pub fn draw(dim: &Dim) -> Result<Vec<Vec<f64>>> {
    dim.check()?;
    Ok(source(dim)?.at(0..dim.len()))
}

fn source(dim: &Dim) -> Result<Source> {
    Ok(match dim {
        Dim::List { columns, .. } => Source::List(columns.iter().map(|(_, v)| v.clone()).collect()),
        Dim::Sample { method, seed, columns, correlation, .. } => {
            let distributions: Vec<_> = columns.iter().map(|(_, d)| *d).collect();
            let width = distributions.len();
            let sampler = Sampler::new(*method, *seed, distributions, correlation.as_deref())?;
            Source::Sample(sampler, width)
        }
    })
}

fn resolve(
    column: &Column,
    index: usize,
    base: &Base,
    inputs: &mut Vec<(usize, String)>,
    moves: &mut Vec<(usize, Setter)>,
) -> Result<()> {
    for path in &column.paths {
        match base {
            Base::Job(job) if job.inputs.iter().any(|i| i.path == *path) => {
                inputs.push((index, path.clone()));
            }
            Base::Job(job) => match axes::mount_setter(path, &job.installation) {
                Some(setter) => moves.push((index, setter)),
                None => return Err(unknown(path, listing::of_job(job))),
            },
            Base::Installation(inst, loads) => match axes::setter(path, inst, loads) {
                Some(setter) => moves.push((index, setter)),
                None => return Err(unknown(path, listing::of_installation(inst, loads))),
            },
        }
    }
    Ok(())
}

fn unknown(path: &str, axes: Vec<listing::Axis>) -> Error {
    let plain = path.strip_suffix(FACTOR).unwrap_or(path);
    let near = nearest(plain, axes.iter().map(|a| a.path.as_str()));
    Error::Unknown {
        argument: "axes".into(),
        value: path.into(),
        allowed: format!("{near} the axes of this base are listed by underfoot.axes(base)")
            .trim()
            .into(),
    }
}
