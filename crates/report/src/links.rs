//! How drivers and receivers understand each other.

use serde::Serialize;

use crate::check::{Condition, Verdict};
use crate::finding::Finding;
use crate::judged::Judged;

/// The links of a board.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Links {
    /// Version of the type.
    pub version: u32,
    /// The board.
    pub board: String,
    /// Each link, in the order of the file.
    pub links: Vec<LinkResult>,
    /// Pins of the board's controllers, used and proposed.
    pub pins: Vec<DevicePins>,
    /// What there is to say about them.
    pub findings: Vec<Finding>,
}

/// Pins of one device.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DevicePins {
    /// The device.
    pub device: String,
    /// Pins in use, and pins proposed for what the file leaves open.
    pub pins: Vec<PinRow>,
    /// What found no pin, in words.
    pub without: Vec<String>,
    /// Pins that nothing uses.
    pub unused: Vec<String>,
}

/// One pin with its user.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PinRow {
    /// The pin.
    pub pin: String,
    /// Who uses it.
    pub user: String,
    /// Function it takes; empty where it is a plain one.
    pub function: String,
    /// The file leaves it open, and this pin would do.
    pub proposed: bool,
}

/// One link.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LinkResult {
    /// Its name.
    pub name: String,
    /// Its kind, as in the file.
    pub kind: String,
    /// Rail that its idle level follows; empty where none does.
    pub supply: String,
    /// Who is on it.
    pub ends: Vec<String>,
    /// Why levels of some could not be judged, a sentence each.
    pub without: Vec<String>,
    /// Levels of every driver at every receiver.
    pub levels: Vec<LevelPair>,
    /// Everything else with limits: pull-ups, capacitance, clocks, polling.
    pub quantities: Vec<Judged>,
    /// The worst of them.
    pub verdict: Verdict,
}

/// One driver at one receiver, at the corners that leave least.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LevelPair {
    /// Who drives.
    pub driver: String,
    /// Who listens.
    pub receiver: String,
    /// Lines that are alike, such as `clock, data`.
    pub lines: String,
    /// Low level that arrives, lowest and highest, V.
    pub low: (f64, f64),
    /// High level that arrives, lowest and highest, V.
    pub high: (f64, f64),
    /// Highest voltage that surely reads low, at its worst corner, V.
    pub input_low: Option<f64>,
    /// Lowest voltage that surely reads high, at its worst corner, V.
    pub input_high: Option<f64>,
    /// Lowest and highest voltage the receiver's pin stands, V.
    pub permitted: (Option<f64>, Option<f64>),
    /// What is left of the low level, V.
    pub margin_low: Option<f64>,
    /// What is left of the high level, V.
    pub margin_high: Option<f64>,
    /// Rails at the worst corner.
    pub at: Vec<Condition>,
    /// How it stands.
    pub verdict: Verdict,
    /// Formulas with the numbers put in, and sources.
    pub working: Vec<String>,
}
