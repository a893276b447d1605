//! Job files: what is read, what is refused and how, and that nothing makes the reader panic.

mod messages;
mod reading;
mod robustness;

use underfoot::job::Job;

/// A small job; the line numbers in `messages.rs` are those of this text.
const SMALL: &str = include_str!("small.toml");

fn read(text: &str) -> Job {
    Job::from_text(text, "job.toml").unwrap_or_else(|e| panic!("{e}"))
}

/// The small job with one piece of text replaced.
fn edited(from: &str, to: &str) -> String {
    assert_eq!(SMALL.matches(from).count(), 1, "{from:?} must stand once in the small job");
    SMALL.replace(from, to)
}
