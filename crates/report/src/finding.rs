//! Findings as shown.

use finding::{Place, Severity};
use serde::Serialize;

/// One thing the program has to say; equal ones are one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Stable dotted id; `explain` has a page on it.
    pub id: String,
    /// How serious it is.
    pub severity: Severity,
    /// What it concerns: channels, rails, parts; empty for the whole board.
    pub subjects: Vec<String>,
    /// Understandable alone, with the decisive numbers.
    pub headline: String,
    /// Where it belongs, the most telling place first.
    pub places: Vec<Spot>,
    /// Figures used.
    pub figures: Vec<Figure>,
    /// Formulas with the numbers put in, a line each.
    pub working: Vec<String>,
    /// What to do.
    pub remedies: Vec<String>,
}

/// A place with the line it is on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Spot {
    /// File, line and column.
    #[serde(flatten)]
    pub place: Place,
    /// The whole line.
    pub text: String,
}

/// A figure a finding rests on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Figure {
    /// What it is.
    pub name: String,
    /// The value with its unit.
    pub value: String,
    /// Where it comes from.
    pub source: String,
}
