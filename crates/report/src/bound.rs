//! The answer of `bound`.

use serde::Serialize;

/// How far one value of the board may go for one result to stay within its
/// limit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bound {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// Path of the value in the file.
    pub path: String,
    /// What of it is varied: its value, tolerance, drift, low or high end.
    pub varied: String,
    /// The text at the path as written.
    pub written: String,
    /// The number as written, in `value_unit`.
    pub written_value: Option<f64>,
    /// Whether the largest value is asked for, or the smallest.
    pub largest: bool,
    /// The channel that decides.
    pub channel: String,
    /// The result in words.
    pub result: String,
    /// Unit of the result.
    pub result_unit: String,
    /// The limit it must stay within.
    pub limit: f64,
    /// Whether the result must stay below the limit; a share of boards must
    /// stay above.
    pub within: bool,
    /// The result with the file as it is; none if it has none.
    pub as_written: Option<f64>,
    /// Unit of the value.
    pub value_unit: String,
    /// What was found.
    pub found: Found,
    /// Range looked at.
    pub range: (f64, f64),
    /// The result over that range.
    pub sweep: Sweep,
    /// The next preferred value on the safe side (IEC 60063, E24 and E96), for
    /// resistances and capacitances.
    pub buy: Vec<Buy>,
    /// What decides at the value found.
    pub decides: String,
    /// Why there is no result beyond the value found, where that is what ends
    /// it; empty otherwise.
    pub beyond: String,
    /// What else fails at the value found and does not as written.
    pub breaks: Vec<String>,
}

/// What was found.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Found {
    /// Up to (down to) this value.
    Value {
        /// The value.
        value: f64,
        /// The border lies within this distance of it.
        tolerance: f64,
        /// The result there.
        result: f64,
        /// Other values at which the result crosses the limit.
        other_crossings: Vec<f64>,
    },
    /// Within the limit over the whole range.
    Always,
    /// Nowhere within the limit.
    Never,
}

/// A value that can be bought.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Buy {
    /// Series of IEC 60063.
    pub series: String,
    /// The value.
    pub value: f64,
    /// The result with it.
    pub result: f64,
}

/// The result at points over the range; none where the board has no result.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sweep {
    /// Value and result.
    pub points: Vec<(f64, Option<f64>)>,
}
