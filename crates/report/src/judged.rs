//! A value against what it may be.

use serde::Serialize;

use crate::check::Verdict;

/// One value and the limits it is held against.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judged {
    /// What it is, such as `pull-up`.
    pub name: String,
    /// The value; `null` where it is not known.
    pub value: f64,
    /// Unit of the value and of its limits, without a prefix.
    pub unit: String,
    /// Lowest value permitted.
    pub low: Option<f64>,
    /// Highest value permitted.
    pub high: Option<f64>,
    /// What is left to the nearer limit, in the unit; negative beyond it.
    pub margin: Option<f64>,
    /// How it stands.
    pub verdict: Verdict,
    /// The formula with the numbers put in.
    pub working: String,
    /// Where the limits come from.
    pub source: String,
}
