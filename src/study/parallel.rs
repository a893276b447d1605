//! The same work on many things, on as many threads as the machine has.

use crate::error::Result;

/// `work` on each item; the order stays.
///
/// # Errors
/// The first error in the order of the items' shares.
pub fn side_by_side<T: Sync, U: Send>(
    items: &[T],
    work: impl Fn(&T) -> Result<U> + Sync,
) -> Result<Vec<U>> {
    let threads = std::thread::available_parallelism().map_or(1, |n| n.get());
    let share = items.len().div_ceil(threads).max(1);
    std::thread::scope(|scope| {
        let run = |part: &[T]| part.iter().map(&work).collect::<Result<Vec<U>>>();
        let workers: Vec<_> =
            items.chunks(share).map(|part| scope.spawn(move || run(part))).collect();
        let mut all = Vec::with_capacity(items.len());
        for worker in workers {
            all.extend(worker.join().unwrap_or_else(|p| std::panic::resume_unwind(p))?);
        }
        Ok(all)
    })
}
