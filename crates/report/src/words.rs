//! The answer of `words`.

use serde::Serialize;

/// What the words of a board can say, and what bytes that were seen mean.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Words {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// One per word, in the order of the file.
    pub words: Vec<Word>,
}

impl Words {
    /// Whether every word holds what it must and everything decoded may be
    /// used.
    #[must_use]
    pub fn is_met(&self) -> bool {
        let good = |w: &Word| !w.is_too_small && w.seen.iter().all(|s| s.is_usable);
        self.words.iter().all(good)
    }
}

/// One word.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Word {
    /// Its name.
    pub name: String,
    /// The fitted device it comes from.
    pub device: Option<String>,
    /// The channel whose reading it is.
    pub channel: Option<String>,
    /// Unit of the quantity.
    pub unit: String,
    /// Unit of a difference of it.
    pub difference_unit: String,
    /// Bits of the number.
    pub bits: u8,
    /// Bytes without the check.
    pub bytes: u8,
    /// Bits below the number.
    pub below: u8,
    /// Sign form, as files name it.
    pub form: String,
    /// Which byte comes first.
    pub order: String,
    /// What guards it, in words; empty where nothing does.
    pub check: String,
    /// Change of the quantity for one code.
    pub step: f64,
    /// Lowest and highest number.
    pub codes: (i64, i64),
    /// Lowest and highest quantity it can say.
    pub holds: (f64, f64),
    /// What it must be able to say.
    pub range: Option<(f64, f64)>,
    /// Whether that is more than it can.
    pub is_too_small: bool,
    /// Where step and zero are from.
    pub source: String,
    /// The ends of the range as they look on the bus.
    pub ends: Vec<WordEnd>,
    /// Bytes that were seen.
    pub seen: Vec<SeenWord>,
    /// Readings that a driver shows, and what may stand behind each.
    pub shown: Vec<ShownReading>,
}

/// A reading that a driver shows.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ShownReading {
    /// The reading.
    pub value: f64,
    /// Whether the word can say it at all.
    pub is_possible: bool,
    /// What would show so if it were read wrongly.
    pub behind: Vec<BehindReading>,
}

/// What a wrong reading may stand for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BehindReading {
    /// The wrong way of reading.
    pub how: String,
    /// Lowest and highest value within the range that shows so.
    pub values: (f64, f64),
    /// The bytes of one of them.
    pub bytes: String,
}

/// One value on the bus.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WordEnd {
    /// The quantity.
    pub value: f64,
    /// The number.
    pub code: i64,
    /// The bytes as they come.
    pub bytes: String,
    /// What it would be taken for.
    pub misread: Vec<Misread>,
}

/// The same bytes taken in a wrong way.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Misread {
    /// In which.
    pub how: String,
    /// What is read.
    pub value: f64,
    /// Whether it could be believed.
    pub is_plausible: bool,
}

/// Bytes that were seen.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct SeenWord {
    /// The bytes.
    pub bytes: String,
    /// Why they are no word, where they are none.
    pub reason: String,
    /// The number.
    pub code: i64,
    /// The quantity.
    pub value: f64,
    /// Flags that are set, and those that forbid the number, in words.
    pub flags: Vec<String>,
    /// What the check says, in words; empty without one.
    pub check: String,
    /// Whether check and flags let the number be used, and it is within the
    /// range.
    pub is_usable: bool,
    /// What else the bytes would be if a driver took them in another way.
    pub misread: Vec<Misread>,
}
