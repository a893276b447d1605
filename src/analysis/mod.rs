//! What happens to the machine: one file per question.

pub mod transient;
