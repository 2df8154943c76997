//! The board file: what may stand in it, and changing single values of it.
//!
//! What stages, elements and laws exist is told by a [`Vocabulary`] from the
//! layer that computes them, so that adding one is nobody else's business. No
//! equations here.

mod edit;
mod number;
mod vocabulary;

pub use edit::{EditFault, Setting, locate, with_value};
pub use number::Number;
pub use vocabulary::{Field, FieldKind, Schema, Vocabulary};
