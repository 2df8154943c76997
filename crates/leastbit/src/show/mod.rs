//! Results as text for the terminal, ink on paper.

mod bars;
mod bound;
mod budget;
mod check;
mod explain;
mod faults;
mod finding;
mod ink;
mod interference;
mod lines;
mod new;
mod parts;

pub(crate) use bound::bound;
pub(crate) use budget::budget;
pub(crate) use check::check;
pub(crate) use explain::{explained, explanations};
pub(crate) use faults::faults;
pub(crate) use interference::interference;
pub(crate) use new::{offers, started};
pub(crate) use parts::{part, parts};
