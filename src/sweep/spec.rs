//! What is swept? The base, what moves along which dimension, what is asked, and how designs are cut
//! into chunks: plain data that travels to other threads, processes and machines as bytes.
//!
//! A design is one combination of the dimensions, the last running fastest. A chunk is a block of the
//! array of designs that is contiguous in that order, so that it is also one chunk of an array on
//! disk: trailing dimensions whole, one dimension cut, leading dimensions one by one.

use serde::{Deserialize, Serialize};

use super::sample::{Distribution, Method};
use crate::error::{Error, Result, each, finite};
use crate::installation::Installation;
use crate::job::{Job, Shock, SnapThroughAsked};

/// What strikes an installation.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Loads {
    /// Shocks.
    pub shocks: Vec<Shock>,
    /// Work forces that break off, on a press.
    pub break_throughs: Vec<SnapThroughAsked>,
}

/// What every design starts from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Base {
    /// A job file.
    Job(Box<Job>),
    /// An installation and what strikes it.
    Installation(Box<Installation>, Loads),
}

impl Base {
    /// The installation as it stands in the base.
    pub fn installation(&self) -> &Installation {
        match self {
            Self::Job(job) => &job.installation,
            Self::Installation(installation, _) => installation,
        }
    }

    /// The shocks of the base.
    pub fn shocks(&self) -> &[Shock] {
        match self {
            Self::Job(job) => &job.shocks,
            Self::Installation(_, loads) => &loads.shocks,
        }
    }

    /// The work forces of the base that break off.
    pub fn break_throughs(&self) -> &[SnapThroughAsked] {
        match self {
            Self::Job(job) => &job.break_throughs,
            Self::Installation(_, loads) => &loads.break_throughs,
        }
    }
}

/// One dimension of the array of designs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Dim {
    /// Values one by one; several columns are paired.
    List {
        /// Name of the dimension.
        name: String,
        /// What moves, with a value for each place.
        columns: Vec<(Column, Vec<f64>)>,
    },
    /// Values drawn from distributions.
    Sample {
        /// Name of the dimension.
        name: String,
        /// Number of samples.
        count: u64,
        /// How points are drawn.
        method: Method,
        /// Seed.
        seed: u64,
        /// What moves, with its distribution.
        columns: Vec<(Column, Distribution)>,
        /// Correlation matrix of the normal scores, row by row.
        correlation: Option<Vec<f64>>,
    },
}

/// What one number moves.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Column {
    /// Name in the results.
    pub name: String,
    /// Paths that take the number, one or several together.
    pub paths: Vec<String>,
}

impl Dim {
    /// Name of the dimension.
    pub fn name(&self) -> &str {
        match self {
            Self::List { name, .. } | Self::Sample { name, .. } => name,
        }
    }

    /// Number of places along it.
    pub fn len(&self) -> u64 {
        match self {
            Self::List { columns, .. } => columns.first().map_or(0, |(_, v)| v.len() as u64),
            Self::Sample { count, .. } => *count,
        }
    }

    /// True if there is no place along it.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// What moves along it.
    pub fn columns(&self) -> Vec<&Column> {
        match self {
            Self::List { columns, .. } => columns.iter().map(|(c, _)| c).collect(),
            Self::Sample { columns, .. } => columns.iter().map(|(c, _)| c).collect(),
        }
    }

    /// Refuses what cannot be swept.
    ///
    /// # Errors
    /// [`Error::Invalid`] and [`Error::Shape`].
    pub fn check(&self) -> Result<()> {
        if self.columns().is_empty() {
            return Err(empty(self.name(), "give at least one axis"));
        }
        match self {
            Self::List { columns, .. } => {
                let (first, length) = (&columns[0].0.name, columns[0].1.len());
                for (column, values) in columns {
                    if values.is_empty() {
                        return Err(empty(&column.name, "give at least one value"));
                    }
                    if values.len() != length {
                        return Err(Error::Shape {
                            argument: column.name.clone(),
                            found: format!("({},)", values.len()),
                            expected: format!("({length},), as many as its partner {first},"),
                        });
                    }
                    each(finite, &column.name, values, "")?;
                }
            }
            Self::Sample { count, columns, .. } => {
                if *count == 0 {
                    return Err(empty("samples", "give the number of samples"));
                }
                if *count > MOST_SAMPLES {
                    return Err(Error::invalid(
                        "samples",
                        count,
                        format!("at most {MOST_SAMPLES} samples are drawn"),
                        "sweep in parts with different seeds",
                    ));
                }
                for (column, distribution) in columns {
                    distribution.checked(&column.name)?;
                }
            }
        }
        Ok(())
    }
}

/// Points of the Sobol sequence.
const MOST_SAMPLES: u64 = 1 << 32;

fn empty(argument: &str, remedy: &str) -> Error {
    Error::invalid(argument, "nothing", "must not be empty", remedy)
}

/// A whole sweep.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Spec {
    /// Version of this crate that made it.
    pub version: String,
    /// What every design starts from.
    pub base: Base,
    /// Dimensions of the array of designs, the last running fastest.
    pub dims: Vec<Dim>,
    /// Names of the outputs.
    pub outputs: Vec<String>,
    /// Frequencies of the transmissibility, Hz.
    pub frequencies: Vec<f64>,
    /// Designs of a chunk, at most (at least one).
    pub chunk: u64,
}

impl Spec {
    /// Refuses what cannot be swept.
    ///
    /// # Errors
    /// [`Error::Invalid`] and [`Error::Shape`].
    pub fn check(&self) -> Result<()> {
        if self.dims.is_empty() {
            return Err(empty("axes", "give at least one axis"));
        }
        let mut names = std::collections::HashSet::new();
        let mut paths = std::collections::HashSet::new();
        for dim in &self.dims {
            dim.check()?;
            if !names.insert(dim.name().to_owned()) {
                return Err(twice("axes", dim.name(), "name every dimension differently"));
            }
            for path in dim.columns().iter().flat_map(|c| &c.paths) {
                if !paths.insert(path.clone()) {
                    return Err(twice("axes", path, "an input moves along one axis only"));
                }
            }
        }
        if self.chunk == 0 {
            return Err(Error::invalid("chunk", 0, "must be at least 1", "leave it out"));
        }
        let count = self.dims.iter().try_fold(1_u64, |n, dim| n.checked_mul(dim.len()));
        if count.is_none_or(|n| n > 1 << 52) {
            return Err(Error::invalid(
                "axes",
                "more than 2^52 designs",
                "cannot be counted",
                "use fewer values for each axis, or samples",
            ));
        }
        Ok(())
    }

    /// How designs are cut into chunks.
    pub fn blocks(&self) -> Blocks {
        Blocks::new(&self.dims.iter().map(Dim::len).collect::<Vec<_>>(), self.chunk)
    }
}

fn twice(argument: &str, value: &str, remedy: &str) -> Error {
    Error::invalid(argument, format!("{value:?} twice"), "must be given once", remedy)
}

/// Blocks of the array of designs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blocks {
    /// Length of every dimension.
    pub shape: Vec<u64>,
    /// Length of a block along every dimension (the last block of the cut one may be shorter).
    pub block: Vec<u64>,
    /// Product of the dimensions before the one that is cut.
    lead: u64,
    /// Length of the dimension that is cut.
    cut: u64,
    /// Length of a block along it.
    step: u64,
    /// Product of the dimensions after it.
    trail: u64,
}

impl Blocks {
    /// Blocks of at most `most` designs (of one place of the last dimension at least).
    pub fn new(shape: &[u64], most: u64) -> Self {
        let mut trail = 1;
        let mut cut = shape.len() - 1;
        while cut > 0 && trail * shape[cut] <= most {
            trail *= shape[cut];
            cut -= 1;
        }
        let step = (most / trail).clamp(1, shape[cut]);
        let block = (0..shape.len())
            .map(|d| match d.cmp(&cut) {
                std::cmp::Ordering::Less => 1,
                std::cmp::Ordering::Equal => step,
                std::cmp::Ordering::Greater => shape[d],
            })
            .collect();
        let lead = shape[..cut].iter().product();
        Self { shape: shape.to_vec(), block, lead, cut: shape[cut], step, trail }
    }

    /// Number of designs.
    pub fn designs(&self) -> u64 {
        self.lead * self.cut * self.trail
    }

    /// Number of chunks.
    pub fn count(&self) -> u64 {
        self.lead * self.cut.div_ceil(self.step)
    }

    /// First design of chunk `i`, and how many it has.
    pub fn range(&self, i: u64) -> (u64, u64) {
        let per_lead = self.cut.div_ceil(self.step);
        let (lead, block) = (i / per_lead, i % per_lead);
        let first = block * self.step;
        let start = (lead * self.cut + first) * self.trail;
        (start, self.step.min(self.cut - first) * self.trail)
    }

    /// Place of design `i` along every dimension.
    pub fn place(&self, mut i: u64, place: &mut [u64]) {
        let Some((first, rest)) = place.split_first_mut() else { return };
        for (p, n) in rest.iter_mut().zip(&self.shape[1..]).rev() {
            *p = i % n;
            i /= n;
        }
        *first = i;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chunks_cover_every_design_once_and_in_order() {
        for shape in [vec![7], vec![3, 5], vec![4, 3, 2], vec![1, 1], vec![2, 1000], vec![1000, 2]]
        {
            for most in [1, 2, 3, 7, 64, 10_000] {
                let blocks = Blocks::new(&shape, most);
                let mut next = 0;
                for i in 0..blocks.count() {
                    let (start, count) = blocks.range(i);
                    assert_eq!(start, next, "{shape:?} {most}");
                    assert!(count > 0 && count <= most.max(1), "{shape:?} {most}: {count}");
                    next += count;
                }
                assert_eq!(next, blocks.designs());
                assert_eq!(next, shape.iter().product::<u64>());
            }
        }
    }

    #[test]
    fn the_last_dimension_runs_fastest() {
        let blocks = Blocks::new(&[2, 3], 4);
        let mut place = [0; 2];
        blocks.place(4, &mut place);
        assert_eq!(place, [1, 1]);
    }
}
