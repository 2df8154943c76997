//! What is wrong with a piece of text, where, and what would be right.

use std::fmt;

/// A text that could not be read as the quantity expected in its place.
///
/// The layer above turns this into a diagnostic at the right line and column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// First byte of the offending part of the text.
    pub start: usize,
    /// Byte after the offending part; `start..end` always lies on character boundaries.
    pub end: usize,
    /// What is wrong, as one clause without a full stop.
    pub message: String,
    /// What was expected instead, with an example.
    pub expected: String,
    /// Text that may replace `start..end`, where one right spelling is near.
    pub suggestion: Option<String>,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; expected {}", self.message, self.expected)?;
        match &self.suggestion {
            Some(suggestion) => write!(f, "; did you mean \"{suggestion}\"?"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Fault {}
