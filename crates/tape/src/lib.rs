//! Physics written once, read in several ways.
//!
//! A [`Builder`] hands out [`Value`]s that behave like numbers in formulas;
//! what is computed with them is recorded as a straight list of primitive
//! operations. The finished [`Tape`] is read forwards at a point
//! ([`Tape::values`]), for many trials at once ([`Block`]), backwards for all
//! sensitivities in one pass ([`Tape::gradient`]) and as text
//! ([`Tape::working`]). Every reading gives the same bits for the same inputs,
//! whatever the block size, the thread or the processor.
//!
//! The crate knows nothing of electronics.

mod block;
mod builder;
mod compile;
mod derivative;
mod linear;
mod op;
mod scalar;
mod slots;
mod table;
mod value;
mod working;

pub use block::{Block, DEFAULT_LANES};
pub use builder::{Builder, Iteration, Label};
pub use compile::Tape;
pub use linear::{Linear, Singular};
pub use op::Reading;
pub use scalar::Point;
pub use table::{Table, TableFault};
pub use value::{Operand, Value};
pub use working::Line;
