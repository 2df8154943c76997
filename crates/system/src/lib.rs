//! What holds a board together besides its channels: links and their levels,
//! pins, rails and what they carry, heat, shared returns, and what happens
//! when a wire goes wrong.
//!
//! [`analyse`] works all of it out once for a board. Values come back with
//! their units in their names; what is to be said of them is said above.

use board::Board;

/// Everything the system layer says of a board.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct Analysis {}

/// Works out everything the system layer says of a board.
#[must_use]
pub fn analyse(_board: &Board) -> Analysis {
    Analysis::default()
}
