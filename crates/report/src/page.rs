//! The answers of `explain` and `new`.

use serde::Serialize;

/// All findings there are.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Explanations {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// The findings by id.
    pub findings: Vec<Page>,
}

/// One kind of finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Page {
    /// Its id.
    pub id: String,
    /// Usual severity.
    pub severity: finding::Severity,
    /// What it is about.
    pub title: String,
}

/// A page on one kind of finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Explained {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Which.
    #[serde(flatten)]
    pub page: Page,
    /// The page, Markdown.
    pub text: String,
}

/// A starter board that was written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Started {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// The file.
    pub file: String,
    /// Channels in it.
    pub channels: Vec<String>,
}

/// What a starter board can be made of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Offers {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Controllers, carriers and converters.
    pub devices: Vec<Offered>,
    /// Sensors.
    pub sensors: Vec<Offered>,
}

/// A part that a starter board can be made of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Offered {
    /// Its name.
    pub id: String,
    /// Kind of part.
    pub kind: String,
    /// What it is.
    pub title: String,
}
