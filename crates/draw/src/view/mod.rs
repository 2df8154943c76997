//! One view for each result type that has pictures: which picture shows what
//! of it.

mod board;
mod course;
mod faults;
mod links;
mod noise;
mod rails;
mod response;
mod schedule;

pub use board::{bar, board, strip};
pub use course::course;
pub use faults::faults;
pub use links::links;
pub use noise::noise;
pub use rails::rails;
pub use response::response;
pub use schedule::schedule;

use report::{Condition, number};

use crate::axis::amount;

/// Conditions as text.
fn conditions(at: &[Condition]) -> String {
    let list: Vec<String> = at
        .iter()
        .map(|c| format!("{} {}", c.name, number::about(c.value, &c.unit)))
        .collect();
    list.join(", ")
}

/// What several channels have no picture of, each with its reason.
fn without<'a>(channels: impl Iterator<Item = (&'a str, &'a str)>) -> Option<String> {
    let list: Vec<String> = channels
        .filter(|(_, reason)| !reason.is_empty())
        .map(|(name, reason)| format!("{name}: {reason}."))
        .collect();
    (!list.is_empty()).then(|| list.join(" "))
}

/// A frequency as text.
fn hertz(hz: f64) -> String {
    amount(hz, "Hz")
}
