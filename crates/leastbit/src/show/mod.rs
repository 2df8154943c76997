//! Results as text for the terminal, ink on paper.

mod bars;
mod check;
mod faults;
mod finding;
mod ink;
mod lines;

pub(crate) use check::check;
pub(crate) use faults::faults;
