//! What of the floor force is the break's, and what the cushions'?

use crate::analysis::hybrid::{HybridOptions, Load};
use crate::analysis::motion::Motion;
use crate::analysis::transient::Extrema;
use crate::error::Result;
use crate::excitation::{Segment, Source};
use crate::system::Hybrid;

/// Wrench on the ground by the work alone and by the cushions alone.
pub(super) fn by_source(
    system: &Hybrid,
    load: &Load,
    work: usize,
    run: &HybridOptions,
    all: &[Extrema],
) -> Result<Vec<(Source, Vec<Extrema>)>> {
    let (work, cushions) = load.segments.split_at(work);
    if cushions.is_empty() {
        return Ok(vec![(Source::BreakThrough, all.to_vec())]);
    }
    let alone = |(source, segments): (Source, &[Segment])| {
        let only = Load { segments: segments.to_vec(), ..load.clone() };
        let motion = Motion::new(system, std::slice::from_ref(&only), run)?;
        Ok((source, motion.extrema(&motion.ground_wrench())))
    };
    [(Source::Contact, cushions), (Source::BreakThrough, work)].into_iter().map(alone).collect()
}
