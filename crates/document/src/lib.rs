//! TOML texts with positions kept, and reading them fault by fault.
//!
//! A text becomes a [`Table`] of [`Item`]s that know their byte range.
//! [`Fields`] then takes keys out of a table one by one; whatever does not
//! fit is collected in [`Faults`] and reading goes on, so that all faults of
//! a file come in one go. Keys nobody asked for are reported at the end with
//! the nearest key that somebody did ask for.

mod fields;
mod tree;

pub use fields::{Faults, Fields, Located};
pub use tree::{Content, Item, Key, Table, parse};
