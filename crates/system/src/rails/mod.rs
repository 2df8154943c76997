//! Rails: what draws from them, what they come to under it, what it costs.

mod judge;
mod loads;
mod solve;

use board::Board;

pub use judge::{Row, What};
pub use loads::{Load, LoadKind, Loads, gather, quiescent};
pub use solve::{Feed, HeatState, Power, RailState, ends, limits, passed, solve, source_rail};

/// What is said of all rails.
#[derive(Clone, Debug, Default)]
pub struct Rails {
    /// What draws from each, and the circuits behind.
    pub loads: Loads,
    /// Currents, voltages and powers, settled together.
    pub power: Power,
    /// What each rail must hold.
    pub rows: Vec<Vec<Row>>,
}

/// Puts it together.
#[must_use]
pub fn analyse(board: &Board, loads: Loads, power: Power) -> Rails {
    Rails {
        rows: judge::judge(board, &loads, &power),
        loads,
        power,
    }
}
