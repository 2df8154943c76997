//! The answers of `parts`.

use serde::Serialize;

/// A list of parts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Parts {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Words searched for; empty for all.
    pub words: String,
    /// The parts, in the order of the library.
    pub parts: Vec<PartLine>,
}

/// One part in a list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PartLine {
    /// Name used in board files.
    pub id: String,
    /// Kind of part.
    pub kind: String,
    /// What it is.
    pub title: String,
    /// Who makes it; empty for generic parts.
    pub maker: String,
    /// Where it was described.
    pub origin: String,
}

/// One part with all its figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Part {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// The part.
    #[serde(flatten)]
    pub line: PartLine,
    /// The quantity it measures, for sensors.
    pub quantity: String,
    /// Its law, for sensors.
    pub law: String,
    /// What it is made of, in words: converters, pins, buses, supplies.
    pub facts: Vec<(String, String)>,
    /// Free text.
    pub note: String,
    /// All figures.
    pub figures: Vec<PartFigure>,
    /// Document most figures come from.
    pub source: String,
}

/// One figure of a part, as it is written in the file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PartFigure {
    /// Where in the part: empty for the part itself, else such as `adc`.
    pub group: String,
    /// Its name.
    pub name: String,
    /// Smallest value.
    pub min: String,
    /// Typical value.
    pub typ: String,
    /// Largest value.
    pub max: String,
    /// Conditions it holds under.
    pub conditions: String,
    /// deviation, level or limit.
    pub role: String,
    /// How well it is founded.
    pub basis: String,
    /// Document and place.
    pub source: String,
    /// The same figure under other conditions.
    pub alternatives: Vec<PartFigure>,
}
