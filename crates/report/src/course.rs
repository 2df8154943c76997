//! The answer of `course`.

use serde::Serialize;

use crate::check::Condition;

/// How a channel's network moves in time, with every limit of its parts.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Course {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// The channel.
    pub channel: String,
    /// Where the network stands otherwise.
    pub at: Vec<Condition>,
    /// What happens, in words.
    pub event: String,
    /// Moments computed, s, rising; what happens begins at 0.
    pub time_s: Vec<f64>,
    /// What moves.
    pub traces: Vec<Trace>,
    /// When the converter's input is within what for good.
    pub settling: Vec<crate::SettlingTime>,
    /// Why there is no course, where there is none.
    pub reason: String,
}

/// One thing that moves.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trace {
    /// Its name.
    pub name: String,
    /// Unit of the values.
    pub unit: String,
    /// One for each moment.
    pub values: Vec<f64>,
}
