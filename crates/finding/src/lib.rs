//! What the program has to say: findings about a board, faults in its files.
//!
//! A finding is data: an id, how serious it is, a headline that stands alone,
//! where it belongs, the figures used, the working and the remedy. Renderers
//! turn it into text; nothing here knows any id or prints anything.

mod fault;
mod place;
mod record;

pub use fault::{InputFault, nearest_of};
pub use place::{Place, SourceId, Sources, Span};
pub use record::{FigureUsed, Finding, Kind, Severity};
