//! The answer of `faults`.

use serde::Serialize;

use crate::check::Verdict;
use crate::finding::Finding;

/// What happens when a wire or a component of a channel breaks.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Faults {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// One for each channel with wires, in the order of the file.
    pub channels: Vec<FaultChannel>,
    /// Findings about faults, the most serious first.
    pub findings: Vec<Finding>,
}

impl Faults {
    /// Whether the board stands every fault it must, and tells those it must.
    #[must_use]
    pub fn is_met(&self) -> bool {
        self.channels
            .iter()
            .flat_map(|c| &c.rows)
            .all(|r| r.verdict != Verdict::Fails)
    }
}

/// One channel's faults.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultChannel {
    /// The channel.
    pub name: String,
    /// Name of the table that says more of its wires; empty where there is
    /// none.
    pub terminal: String,
    /// Unit of readings.
    pub unit: String,
    /// Readings that the firmware takes for real.
    pub valid: (f64, f64),
    /// What that band is, in words.
    pub valid_by: String,
    /// The faults.
    pub rows: Vec<FaultRow>,
    /// Why there are none, where there are none.
    pub reason: String,
}

/// Lowest, usual and highest value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Reach {
    /// Lowest found.
    pub low: f64,
    /// With everything nominal.
    pub nominal: f64,
    /// Highest found.
    pub high: f64,
}

/// One fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultRow {
    /// Word of its kind, as in `must-detect`.
    pub kind: String,
    /// What is wrong.
    pub what: String,
    /// Pins and amplifier inputs.
    pub pins: Vec<FaultPin>,
    /// What gets hottest and how hot, W.
    pub hottest: Option<(String, f64)>,
    /// Current that clamps feed into rails, A.
    pub into_rails: Vec<(String, f64)>,
    /// Code that results.
    pub code: Option<Reach>,
    /// Reading that results, in the channel's unit.
    pub reading: Option<Reach>,
    /// Whether the firmware can tell: `told`, `reads like a value`, `harmless`
    /// or `not known`.
    pub told: String,
    /// How, or between which readings it hides, in words.
    pub how: String,
    /// What it destroys, in words.
    pub damage: Vec<String>,
    /// Counts as a fault the board must stand.
    pub judged: bool,
    /// The firmware must be able to tell it.
    pub must_detect: bool,
    /// How it stands.
    pub verdict: Verdict,
    /// Why nothing can be told, where nothing can.
    pub reason: String,
}

/// A pin, or an amplifier's input, in a fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultPin {
    /// Its name.
    pub name: String,
    /// Its voltage against ground, V.
    pub volt: Reach,
    /// Lowest voltage it may stand at, V.
    pub limit_low_v: f64,
    /// Highest voltage it may stand at, V.
    pub limit_high_v: f64,
    /// What is left to the limits at the worst corner, V; below zero beyond.
    pub margin_v: f64,
    /// Largest current into its supply, A.
    pub into_supply_a: f64,
    /// Largest current out of ground, A.
    pub from_ground_a: f64,
}
