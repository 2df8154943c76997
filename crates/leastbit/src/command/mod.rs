//! The commands: one file each.

pub(crate) mod bound;
pub(crate) mod budget;
pub(crate) mod check;
pub(crate) mod course;
pub(crate) mod explain;
pub(crate) mod faults;
pub(crate) mod interference;
pub(crate) mod links;
pub(crate) mod new;
pub(crate) mod noise;
pub(crate) mod parts;
pub(crate) mod rails;
pub(crate) mod response;
pub(crate) mod schedule;
pub(crate) mod timed;
pub(crate) mod words;

use serde::Serialize;

use crate::Ended;

/// Prints a result as JSON; `good` is how the command ends if that works.
pub(crate) fn json<T: Serialize>(result: &T, good: Ended) -> Ended {
    match serde_json::to_string_pretty(result) {
        Ok(text) => {
            out(&format!("{text}\n"));
            good
        }
        Err(fault) => {
            anstream::eprintln!("the result cannot be written as JSON: {fault}");
            Ended::Unusable
        }
    }
}

/// Prints a text; a reader that has closed its end is no fault of ours.
pub(crate) fn out(text: &str) {
    use std::io::Write;
    let mut stream = anstream::stdout().lock();
    let _ = stream.write_all(text.as_bytes());
    let _ = stream.flush();
}
