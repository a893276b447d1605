//! Job files: what is read, what is refused and how, that nothing makes the reader panic, and what
//! comes out of whole jobs.

mod beside;
mod contacts;
mod events;
mod handling;
mod laws;
mod leveling;
mod limits;
mod messages;
mod parts;
mod published;
mod rank;
mod reading;
mod reverse_load;
mod robustness;
mod slide;
mod summary;
mod trade;
mod work;

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

/// A job file under `tests/jobs`.
fn job(name: &str) -> Job {
    let file = format!("{}/tests/jobs/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    Job::load(&file).unwrap_or_else(|e| panic!("{e}"))
}

/// The study of the template, which takes a while: computed once for all that only read it.
fn template_study() -> &'static underfoot::study::Study {
    static STUDY: std::sync::OnceLock<underfoot::study::Study> = std::sync::OnceLock::new();
    STUDY.get_or_init(|| {
        underfoot::study::Study::of(&read(underfoot::job::template())).expect("the template stands")
    })
}
