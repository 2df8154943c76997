//! The voltage of each rail with its limits.

use board::{Board, Rail, RailSource, Supply};
use chain::channel::supply_range;

use super::line::Volts;

/// The rail that has this rail's voltage while everything is on: one taken
/// from another directly, or through a switch that is closed, with nothing in
/// between, is the same net.
#[must_use]
pub fn root(board: &Board, rail: usize) -> usize {
    followed(board, rail, true)
}

/// The rail that is on and off together with this one: as [`root`], but a rail
/// with a switch of its own stands by itself.
#[must_use]
pub fn switched_root(board: &Board, rail: usize) -> usize {
    followed(board, rail, false)
}

fn followed(board: &Board, mut rail: usize, through_switches: bool) -> usize {
    // Rails come after what feeds them, so this ends.
    while let Some(Rail {
        source: RailSource::Direct { from },
        voltage: None,
        power,
        ..
    }) = board.rails.get(rail)
    {
        let between = power.source_resistance.is_some() || power.connector.is_some();
        if between || (power.switched && !through_switches) || *from >= rail {
            break;
        }
        rail = *from;
    }
    rail
}

/// Voltage of a rail over its set point's tolerance, its travel, the ambient
/// range and the sag that the board's surroundings tell of. None where nothing
/// says it.
#[must_use]
pub fn volts(board: &Board, rail: usize) -> Option<Volts> {
    let range = supply_range(board, Supply::Rail(rail)).ok()?;
    Some(Volts {
        low: range.low_v,
        nominal: range.nominal_v,
        high: range.high_v,
    })
}
