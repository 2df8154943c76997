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
    /// The value as written.
    pub written: String,
    /// Whether the largest value is asked for, or the smallest.
    pub largest: bool,
    /// The channel the result is of.
    pub channel: String,
    /// The result in words.
    pub result: String,
    /// Unit of the result.
    pub result_unit: String,
    /// The limit it must stay within.
    pub limit: f64,
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
    pub preferred: Vec<(String, f64)>,
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

/// The result at points over the range; none where the board has no result.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sweep {
    /// Value and result.
    pub points: Vec<(f64, Option<f64>)>,
}
