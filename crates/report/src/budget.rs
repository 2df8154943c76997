//! The answer of `budget`.

use serde::Serialize;

use crate::check::{Channel, Condition};

/// Where a channel's error comes from.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Budget {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// The channel as `check` has it.
    pub channel: Channel,
    /// The budget before calibration, or the only one; none where the channel
    /// cannot be judged.
    pub before: Option<Table>,
    /// The budget after the calibration that the file describes.
    pub after: Option<Table>,
}

/// All contributors at one set of conditions.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Table {
    /// Conditions: where this budget is worst.
    pub at: Vec<Condition>,
    /// Permitted error there, if any.
    pub limit: Option<f64>,
    /// Error with all inputs at their means.
    pub bias: f64,
    /// Combined standard uncertainty.
    pub u: f64,
    /// Coverage factor.
    pub k: f64,
    /// Half-width at the probability asked.
    pub half_width: f64,
    /// Lines, largest first.
    pub lines: Vec<Line>,
    /// Shares of the variance by kind of contributor, largest first.
    pub kinds: Vec<(String, f64)>,
    /// How the error follows from the quantity at that point, a line each.
    pub working: Vec<String>,
}

/// One contributor of a budget.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// Its name.
    pub name: String,
    /// Its kind: fixed, temperature, …
    pub kind: String,
    /// Lower limit, in `unit`; three standard uncertainties where there is
    /// no limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Its limits are a bound.
    pub bound: bool,
    /// Standard uncertainty, in `unit`.
    pub u: f64,
    /// Unit of the input.
    pub unit: String,
    /// Change of the error per unit of the input, error unit per `unit`.
    pub sensitivity: f64,
    /// Standard uncertainty of the error from it alone, error unit.
    pub contribution: f64,
    /// Share of the variance.
    pub share: f64,
    /// The figure it rests on.
    pub source: String,
    /// How well that is founded; empty where the board file states it.
    pub basis: String,
    /// `file:line:column` of the figure, if it has a place.
    pub place: String,
}
