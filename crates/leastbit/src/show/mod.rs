//! Results as text for the terminal, ink on paper.

mod bars;
mod bound;
mod budget;
mod check;
mod course;
mod explain;
mod fault_table;
mod faults;
mod finding;
mod ink;
mod interference;
mod lines;
mod links;
mod new;
mod noise;
mod parts;
mod rails;
mod response;
mod schedule;
mod words;

pub(crate) use bound::bound;
pub(crate) use budget::budget;
pub(crate) use check::check;
pub(crate) use course::course;
pub(crate) use explain::{explained, explanations};
pub(crate) use fault_table::fault_table;
pub(crate) use faults::faults;
pub(crate) use interference::interference;
pub(crate) use links::links;
pub(crate) use new::{offers, started};
pub(crate) use noise::noise;
pub(crate) use parts::{part, parts};
pub(crate) use rails::rails;
pub(crate) use response::response;
pub(crate) use schedule::schedule;
pub(crate) use words::words;
