//! Where a figure comes from and how far it can be relied on.

use std::fmt;

/// How well a figure is founded, best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Basis {
    /// Printed by the maker or in a standard; the source names document and place.
    Published,
    /// Measured on the part or board at hand.
    Measured,
    /// Remembered, no document at hand.
    FromMemory,
    /// A rule of the trade rather than a figure of this part.
    CommonPractice,
    /// Made up for a fictional part.
    Invented,
}

impl Basis {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, Basis); 5] = [
        ("published", Basis::Published),
        ("measured", Basis::Measured),
        ("from-memory", Basis::FromMemory),
        ("common-practice", Basis::CommonPractice),
        ("invented", Basis::Invented),
    ];

    /// The word used in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Basis::Published => "published",
            Basis::Measured => "measured",
            Basis::FromMemory => "from-memory",
            Basis::CommonPractice => "common-practice",
            Basis::Invented => "invented",
        }
    }

    /// Whether a verdict may rest on the figure without saying so: published
    /// in a document that is named, or measured on the thing itself.
    #[must_use]
    pub fn is_documented(self) -> bool {
        matches!(self, Basis::Published | Basis::Measured)
    }
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Basis::FromMemory => "from memory",
            Basis::CommonPractice => "common practice",
            other => other.word(),
        })
    }
}

/// The document a figure was read in.
///
/// ```
/// let source = parts::Source {
///     document: "ADR504x data sheet".into(),
///     revision: "Rev. B".into(),
///     place: "Table 3".into(),
/// };
/// assert_eq!(source.to_string(), "ADR504x data sheet, Rev. B, Table 3");
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Source {
    /// Title or number of the document.
    pub document: String,
    /// Revision, edition or date; empty if the document names none.
    pub revision: String,
    /// Table, section, figure or page; empty if not recorded.
    pub place: String,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut first = true;
        for piece in [&self.document, &self.revision, &self.place] {
            if !piece.is_empty() {
                if !first {
                    f.write_str(", ")?;
                }
                f.write_str(piece)?;
                first = false;
            }
        }
        Ok(())
    }
}

/// Where a part was described.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Origin {
    /// In the library that comes with the program.
    Shipped,
    /// In a file of the user's, under this name.
    User(String),
    /// In the board file itself.
    InPlace,
}

impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Origin::Shipped => f.write_str("the shipped library"),
            Origin::User(path) => f.write_str(path),
            Origin::InPlace => f.write_str("the board file"),
        }
    }
}
