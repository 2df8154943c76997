//! The board in other circumstances, and what is claimed of it.

use std::sync::Arc;

use document::{Item, Located};
use finding::Span;
use quantity::Valued;

use crate::model::{Board, Supply};

/// One value of the file written otherwise: the path that leads to it, and
/// what then stands there.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Keys and list positions between dots.
    pub path: Located<String>,
    /// What stands there.
    pub value: Item,
}

/// The board in circumstances that have a name.
#[derive(Clone, Debug)]
pub struct Scenario {
    /// Its name.
    pub name: String,
    /// What is otherwise.
    pub set: Vec<Change>,
    /// What happens then, in the order of time.
    pub events: Vec<Event>,
    /// The firmware knows of it: what it believes follows the changes. Else it
    /// goes on as on the board as written.
    pub told: bool,
    /// The board as it then is; after the last event where there are some.
    /// `None` until it is read.
    pub board: Option<Arc<Board>>,
    /// Place of its table.
    pub span: Span,
}

/// Something that happens in a scenario.
#[derive(Clone, Debug)]
pub struct Event {
    /// When, s.
    pub at_s: f64,
    /// What is otherwise from then on.
    pub set: Vec<Change>,
    /// The board after it. `None` until it is read.
    pub board: Option<Arc<Board>>,
    /// Place.
    pub span: Span,
}

/// A suspected cause, or a quoted figure, to be checked.
#[derive(Clone, Debug)]
pub struct Claim {
    /// What is claimed, in words.
    pub name: String,
    /// The channel it is about, by position.
    pub channel: usize,
    /// The scenario it is about, by position.
    pub scenario: Option<usize>,
    /// Values of the quantity it is looked at, SI; the ends and the middle of
    /// the span where there are none.
    pub at: Vec<f64>,
    /// What is claimed.
    pub what: Claimed,
    /// Place of its table.
    pub span: Span,
}

/// What a claim says.
#[derive(Clone, Debug)]
pub enum Claimed {
    /// These causes move the reading by this much.
    Causes {
        /// Suspected causes.
        causes: Vec<Cause>,
        /// By how much the reading was seen to move, difference of the
        /// quantity, SI.
        error: Option<Located<(f64, f64)>>,
    },
    /// A result has this value.
    Figure {
        /// Which result.
        result: FigureOf,
        /// What it is said to be, SI.
        value: Located<Valued>,
    },
}

/// A suspected cause.
#[derive(Clone, Debug)]
pub struct Cause {
    /// As written.
    pub text: String,
    /// What it does.
    pub kind: CauseKind,
    /// Place.
    pub span: Span,
}

/// What a suspected cause does.
#[derive(Clone, Debug)]
pub enum CauseKind {
    /// Something stands so much higher than it should, V.
    Shift {
        /// By how much.
        volt: f64,
        /// What.
        of: ShiftOf,
    },
    /// A value of the file is another one. The board with it; `None` until it
    /// is read.
    Set {
        /// What is otherwise.
        set: Vec<Change>,
        /// The board with it.
        board: Option<Arc<Board>>,
    },
}

/// What a suspected shift moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShiftOf {
    /// Ground at the sensor against ground at the converter; which of them
    /// the signal's other resistors stand on is not said.
    Ground,
    /// Everything the converter sees, against its own ground.
    Input,
    /// The foot of the sensor alone.
    Foot,
    /// A rail or a reference.
    Supply(Supply),
}

/// A result that may be quoted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FigureOf {
    /// Voltage between the converter's inputs, V.
    PinVoltage,
    /// What the converter compares against, V.
    Reference,
    /// Code before rounding.
    Code,
    /// The reading.
    Reading,
    /// Reading less quantity.
    Error,
    /// Codes for each volt at the converter's input.
    CodesPerVolt,
    /// Change of the quantity for one code.
    CodeWidth,
}

impl FigureOf {
    /// All of them with the words of the file.
    pub const ALL: [(&'static str, FigureOf); 7] = [
        ("pin-voltage", FigureOf::PinVoltage),
        ("reference", FigureOf::Reference),
        ("code", FigureOf::Code),
        ("reading", FigureOf::Reading),
        ("error", FigureOf::Error),
        ("codes-per-volt", FigureOf::CodesPerVolt),
        ("code-width", FigureOf::CodeWidth),
    ];

    /// The word of the file.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(_, f)| *f == self)
            .map_or("", |(w, _)| w)
    }
}
