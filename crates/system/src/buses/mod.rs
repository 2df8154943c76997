//! Buses: what each kind asks of its lines, clocks, addresses and polling.

pub mod address;
pub mod addressing;
pub mod clocked;
pub mod polling;
pub mod segment;
pub mod serial;
pub mod two_wire;
pub mod warming;

use board::Board;

/// Everything about a board's buses.
#[derive(Clone, Debug, Default)]
pub struct Buses {
    /// Two-wire segments.
    pub segments: Vec<segment::Segment>,
    /// Addresses on two-wire buses.
    pub addressing: addressing::Addressing,
    /// Serial peripheral buses.
    pub serials: Vec<serial::Serial>,
    /// Asynchronous lines.
    pub asynchronous: Vec<serial::Asynchronous>,
    /// Single wires.
    pub singles: Vec<serial::SingleWire>,
    /// How often devices are read.
    pub polling: polling::Polling,
    /// How much temperature sensors warm themselves by converting.
    pub warmings: Vec<warming::Warming>,
}

/// Looks at every bus of a board.
#[must_use]
pub fn analyse(board: &Board) -> Buses {
    let links = || 0..board.links.len();
    let polling = polling::analyse(board);
    Buses {
        warmings: warming::analyse(board, &polling),
        segments: links().filter_map(|i| segment::segment(board, i)).collect(),
        addressing: addressing::analyse(board),
        serials: links().filter_map(|i| serial::serial(board, i)).collect(),
        asynchronous: links()
            .filter_map(|i| serial::asynchronous(board, i))
            .collect(),
        singles: links()
            .filter_map(|i| serial::single_wire(board, i))
            .collect(),
        polling,
    }
}
