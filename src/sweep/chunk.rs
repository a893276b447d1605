//! One chunk of a sweep: a pure function of the sweep and the chunk's number, so that a loop, a
//! thread, another process or a resumed run all give the same bytes.
//!
//! Bytes of a chunk: the length and text of the instruction set, then for each output its numbers
//! design by design (little-endian doubles), then the number of failures and for each the design
//! (counted from the chunk's first), the length and the text of its reason.

use super::fast::Fast;
use super::plan::Plan;
use super::rebuild::Built;
use super::spec::Spec;
use crate::error::{Error, Result};

/// Designs that failed, with the reason.
pub type Failures = Vec<(u64, String)>;

/// What a chunk gives: numbers by output, and what failed.
#[derive(Debug, Clone, PartialEq)]
pub struct Chunk {
    /// For each output, numbers design by design.
    pub values: Vec<Vec<f64>>,
    /// Failed designs, counted from the first of the chunk.
    pub failures: Failures,
}

impl Plan {
    /// Designs `start .. start + count` into one slice for each output. `go_on` is asked now and
    /// then; `false` ends the work with nothing of use in the slices.
    pub fn compute(
        &self,
        start: u64,
        count: u64,
        outs: &mut [&mut [f64]],
        go_on: &dyn Fn() -> bool,
    ) -> Option<Failures> {
        let mut failures = Vec::new();
        let mut fast = Fast::new(self);
        let mut place = vec![0; self.spec.dims.len()];
        let mut values = vec![0.0; self.width];
        let block = super::fast::WIDTH as u64;
        let mut first = 0;
        while first < count {
            if !go_on() {
                return None;
            }
            let many = block.min(count - first);
            let served = fast.block(start + first, many as usize, first as usize, outs);
            for i in 0..many as usize {
                if fast.all_stand(&served, i) {
                    continue;
                }
                if !go_on() {
                    return None;
                }
                self.draw(start + first + i as u64, &mut place, &mut values);
                let skip = |o| fast.stands(&served, o, i);
                if let Some(reason) = self.one(&values, first as usize + i, outs, &skip) {
                    failures.push((first + i as u64, reason));
                }
            }
            first += many;
        }
        Some(failures)
    }

    /// One design by the analyses; the reason if something of it failed.
    fn one(
        &self,
        values: &[f64],
        row: usize,
        outs: &mut [&mut [f64]],
        skip: &dyn Fn(usize) -> bool,
    ) -> Option<String> {
        let built = Built::new(self, values);
        let mut reasons: Vec<String> = Vec::new();
        for (index, (laid, out)) in self.layout.outputs.iter().zip(outs).enumerate() {
            if built.is_ok() && skip(index) {
                continue;
            }
            let width = laid.width();
            let place = &mut out[row * width..(row + 1) * width];
            let done = match &built {
                Ok(built) => built.write(laid, place),
                Err(error) => Err(error.clone()),
            };
            if let Err(error) = done {
                place.fill(f64::NAN);
                let reason = error.to_string();
                if !reasons.contains(&reason) {
                    reasons.push(reason);
                }
            }
        }
        (!reasons.is_empty()).then(|| reasons.join("; "))
    }

    /// One chunk, or `None` if `go_on` said no.
    pub fn chunk(&self, i: u64, go_on: &dyn Fn() -> bool) -> Option<Chunk> {
        let (start, count) = self.blocks.range(i);
        let mut values: Vec<Vec<f64>> =
            self.layout.outputs.iter().map(|o| vec![0.0; o.width() * count as usize]).collect();
        let mut outs: Vec<&mut [f64]> = values.iter_mut().map(Vec::as_mut_slice).collect();
        let failures = self.compute(start, count, &mut outs, go_on)?;
        Some(Chunk { values, failures })
    }
}

/// Chunk `i` of a sweep given as bytes, as bytes.
///
/// # Errors
/// [`Error::Invalid`] for bytes that are no sweep of this version or a chunk that is not there.
pub fn run_chunk(spec: &[u8], i: u64) -> Result<Vec<u8>> {
    let plan = Plan::new(from_bytes(spec)?)?;
    if i >= plan.blocks.count() {
        return Err(Error::invalid(
            "chunk",
            i,
            format!("the sweep has {} chunks, counted from 0", plan.blocks.count()),
            "ask for one of them",
        ));
    }
    // A worker computes its one chunk to the end: who cancels, takes its task away.
    let never_canceled = || true;
    let chunk = plan.chunk(i, &never_canceled);
    Ok(chunk.map(|c| c.to_bytes(&plan.instruction_set())).unwrap_or_default())
}

/// A sweep as bytes.
///
/// # Errors
/// [`Error::Invalid`] if it cannot be written.
pub fn to_bytes(spec: &Spec) -> Result<Vec<u8>> {
    postcard::to_stdvec(spec).map_err(|e| {
        Error::invalid("sweep", "the plan", format!("cannot be stored: {e}"), "report it")
    })
}

/// A sweep from its bytes.
///
/// # Errors
/// [`Error::Invalid`] for other bytes, or those of another version.
pub fn from_bytes(bytes: &[u8]) -> Result<Spec> {
    let wrong = |why: String| {
        Error::invalid("sweep", format!("{} bytes", bytes.len()), why, "make the plan anew")
    };
    let (spec, rest): (Spec, &[u8]) =
        postcard::take_from_bytes(bytes).map_err(|e| wrong(format!("must be a plan: {e}")))?;
    if !rest.is_empty() || spec.version != VERSION {
        return Err(wrong(format!("must be a plan of version {VERSION}")));
    }
    Ok(spec)
}

/// Version of this crate, which a plan must share.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

impl Chunk {
    fn to_bytes(&self, instruction_set: &str) -> Vec<u8> {
        let numbers: usize = self.values.iter().map(Vec::len).sum();
        let mut bytes = Vec::with_capacity(64 + 8 * numbers);
        let text = |bytes: &mut Vec<u8>, text: &str| {
            bytes.extend((text.len() as u64).to_le_bytes());
            bytes.extend(text.as_bytes());
        };
        text(&mut bytes, instruction_set);
        for value in self.values.iter().flatten() {
            bytes.extend(value.to_le_bytes());
        }
        bytes.extend((self.failures.len() as u64).to_le_bytes());
        for (design, reason) in &self.failures {
            bytes.extend(design.to_le_bytes());
            text(&mut bytes, reason);
        }
        bytes
    }

    /// A chunk from its bytes, with the instruction set that made it.
    ///
    /// # Errors
    /// [`Error::Invalid`] for bytes of another length.
    pub fn from_bytes(plan: &Plan, i: u64, bytes: &[u8]) -> Result<(Self, String)> {
        let mut reader = Reader { rest: bytes };
        let (_, count) = plan.blocks.range(i);
        let isa = reader.text()?;
        let mut values = Vec::new();
        for laid in &plan.layout.outputs {
            let numbers = reader.take(8 * laid.width() * count as usize)?;
            let number = |b: &[u8]| f64::from_le_bytes(b.try_into().unwrap_or_default());
            values.push(numbers.chunks_exact(8).map(number).collect());
        }
        let mut failures = Vec::new();
        for _ in 0..reader.word()? {
            failures.push((reader.word()?, reader.text()?));
        }
        if reader.rest.is_empty() { Ok((Self { values, failures }, isa)) } else { Err(torn()) }
    }
}

struct Reader<'a> {
    rest: &'a [u8],
}

impl<'a> Reader<'a> {
    fn take(&mut self, n: usize) -> Result<&'a [u8]> {
        let (taken, rest) = self.rest.split_at_checked(n).ok_or_else(torn)?;
        self.rest = rest;
        Ok(taken)
    }

    fn word(&mut self) -> Result<u64> {
        Ok(u64::from_le_bytes(self.take(8)?.try_into().unwrap_or_default()))
    }

    fn text(&mut self) -> Result<String> {
        let length = usize::try_from(self.word()?).unwrap_or(usize::MAX);
        Ok(String::from_utf8_lossy(self.take(length)?).into_owned())
    }
}

fn torn() -> Error {
    Error::invalid("chunk", "its bytes", "must be those of a whole chunk", "compute it again")
}
