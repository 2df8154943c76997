//! What holds a board together besides its channels: links and their levels,
//! pins, rails and what they carry, heat, shared returns, and what happens
//! when a wire goes wrong.
//!
//! [`analyse`] works all of it out once for a board. Values come back with
//! their units in their names; what is to be said of them is said above.

pub mod buses;
pub mod words;

use board::Board;

/// Everything the system layer says of a board.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct Analysis {
    /// What the words on its buses can say, one for each.
    pub words: Vec<words::WordAnalysis>,
}

/// Works out everything the system layer says of a board.
#[must_use]
pub fn analyse(board: &Board) -> Analysis {
    Analysis {
        words: words::analyse(board),
    }
}
