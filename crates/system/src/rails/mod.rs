//! Rails: what draws from them, what they come to under it, what it costs.

mod loads;
mod solve;

use board::Board;

pub use loads::{Load, LoadKind, Loads, gather, quiescent};
pub use solve::{Feed, HeatState, Power, RailState, ends, limits, solve, source_rail};

/// What is said of all rails.
#[derive(Clone, Debug, Default)]
pub struct Rails {
    /// What draws from each, and the circuits behind.
    pub loads: Loads,
    /// Currents, voltages and powers, settled together.
    pub power: Power,
}

/// Puts it together.
#[must_use]
pub fn analyse(_board: &Board, loads: Loads, power: Power) -> Rails {
    Rails { loads, power }
}
