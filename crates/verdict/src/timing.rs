//! The times of a board, its channels worked on side by side.

use board::Board;
use chain::time::Timing;
use chain::time::settle::SettledScan;
use rayon::prelude::*;

/// What sampling does to every reading.
pub(crate) fn of(board: &Board) -> Timing {
    Timing::of_with(board, |jobs, work| jobs.par_iter().map(work).collect())
}

/// What it does to the readings that one channel's reading rests on.
pub(crate) fn of_channel(board: &Board, channel: &str) -> Timing {
    Timing::for_channel(board, channel, |jobs, work| {
        jobs.par_iter().map(work).collect()
    })
}

/// Largest resistance that may stand behind a pin for a quarter code, if it
/// were a resistance alone, Ω.
pub(crate) fn largest_source(scan: &SettledScan, turn: usize) -> Option<f64> {
    scan.largest_source(turn).filter(|ohm| *ohm > 0.0)
}
