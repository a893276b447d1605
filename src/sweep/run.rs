//! All chunks of a sweep in memory, by threads of its own.
//!
//! Threads are started for the call and end with it, so that nothing is left to hang in a forked child
//! and nothing else in the process is slowed. They take chunks one by one; where a chunk's numbers go
//! follows from its place alone, so that the result does not depend on how many threads there are.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Condvar, Mutex};
use std::time::Duration;

use super::chunk::Failures;
use super::plan::Plan;
use crate::error::{Error, Result};

/// How long the caller waits between two looks at whether to go on.
const WATCH: Duration = Duration::from_millis(50);

/// Results of a sweep in memory: for each output its numbers design by design, and what failed.
#[derive(Debug, Clone, PartialEq)]
pub struct Swept {
    /// For each output, numbers design by design.
    pub values: Vec<Vec<f64>>,
    /// Failed designs with their reasons, ascending.
    pub failures: Failures,
}

/// One chunk to be done: first design, count, where its numbers go.
type Task<'a> = (u64, u64, Vec<&'a mut [f64]>);

/// Runs the chunks `first .. last` on `threads` threads. `watch` is called about every 50 ms by the
/// calling thread with the number of designs done; `false` stops the work: the answer is then `None`.
///
/// # Errors
/// [`Error::Invalid`] if no thread is asked for, or the results do not fit into memory.
pub fn run(
    plan: &Plan,
    chunks: std::ops::Range<u64>,
    threads: usize,
    watch: &mut dyn FnMut(u64) -> bool,
) -> Result<Option<Swept>> {
    if threads == 0 {
        return Err(Error::invalid("threads", 0, "must be at least 1", "leave it out"));
    }
    if chunks.is_empty() {
        return Ok(Some(Swept {
            values: vec![vec![]; plan.layout.outputs.len()],
            failures: vec![],
        }));
    }
    let begin = plan.blocks.range(chunks.start).0;
    let (last, count) = plan.blocks.range(chunks.end - 1);
    let designs = last + count - begin;
    let mut values = room(plan, designs)?;
    let tasks = Mutex::new(tasks(plan, chunks, &mut values).into_iter());
    let stop = AtomicBool::new(false);
    let done = AtomicU64::new(0);
    let failures: Mutex<Failures> = Mutex::default();
    let left = Mutex::new(threads);
    let finished = Condvar::new();

    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                let _gone = Gone(&left, &finished);
                work(plan, begin, &tasks, &stop, &done, &failures);
            });
        }
        let mut working = lock(&left);
        while *working > 0 {
            let waited = finished.wait_timeout(working, WATCH);
            working = waited.unwrap_or_else(std::sync::PoisonError::into_inner).0;
            if !stop.load(Ordering::Relaxed) && *working > 0 {
                drop(working);
                if !watch(done.load(Ordering::Relaxed)) {
                    stop.store(true, Ordering::Relaxed);
                }
                working = lock(&left);
            }
        }
    });
    if stop.load(Ordering::Relaxed) {
        return Ok(None);
    }
    drop(tasks);
    let mut failures = failures.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    failures.sort_by_key(|(design, _)| *design);
    Ok(Some(Swept { values, failures }))
}

/// Counts a thread as gone when it ends, by a panic too: nobody waits for it in vain.
struct Gone<'a>(&'a Mutex<usize>, &'a Condvar);

impl Drop for Gone<'_> {
    fn drop(&mut self) {
        *lock(self.0) -= 1;
        self.1.notify_one();
    }
}

fn work(
    plan: &Plan,
    begin: u64,
    tasks: &Mutex<std::vec::IntoIter<Task<'_>>>,
    stop: &AtomicBool,
    done: &AtomicU64,
    failures: &Mutex<Failures>,
) {
    let go_on = || !stop.load(Ordering::Relaxed);
    loop {
        let task = lock(tasks).next();
        let Some((start, count, mut outs)) = task else { return };
        let Some(failed) = plan.compute(start, count, &mut outs, &go_on) else { return };
        done.fetch_add(count, Ordering::Relaxed);
        if !failed.is_empty() {
            let offset = start - begin;
            lock(failures).extend(failed.into_iter().map(|(i, reason)| (i + offset, reason)));
        }
    }
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// Room for all numbers, or an error in place of an abort.
fn room(plan: &Plan, designs: u64) -> Result<Vec<Vec<f64>>> {
    let too_large = |bytes: f64| {
        Error::invalid(
            "axes",
            format!("{designs} designs"),
            format!("their results ({:.1} GB) do not fit into memory", bytes / 1e9),
            "give store=, which keeps one chunk at a time in memory, or ask for fewer outputs",
        )
    };
    let mut values = Vec::new();
    for laid in &plan.layout.outputs {
        let bytes = 8.0 * laid.width() as f64 * designs as f64;
        let size = usize::try_from(designs).ok().and_then(|n| n.checked_mul(laid.width()));
        let size = size.ok_or_else(|| too_large(bytes))?;
        // Tried first, since the zeroed pages that cost nothing until they are written cannot fail softly.
        Vec::<f64>::new().try_reserve_exact(size).map_err(|_| too_large(bytes))?;
        values.push(vec![0.0; size]);
    }
    Ok(values)
}

/// The chunks, each with its own part of every output.
fn tasks<'a>(
    plan: &Plan,
    chunks: std::ops::Range<u64>,
    values: &'a mut [Vec<f64>],
) -> Vec<Task<'a>> {
    let widths: Vec<usize> = plan.layout.outputs.iter().map(|o| o.width()).collect();
    let mut rest: Vec<&mut [f64]> = values.iter_mut().map(Vec::as_mut_slice).collect();
    let mut tasks = Vec::new();
    for i in chunks {
        let (start, count) = plan.blocks.range(i);
        let mut outs = Vec::with_capacity(rest.len());
        for (rest, width) in rest.iter_mut().zip(&widths) {
            let (own, others) = std::mem::take(rest).split_at_mut(count as usize * width);
            outs.push(own);
            *rest = others;
        }
        tasks.push((start, count, outs));
    }
    tasks
}
