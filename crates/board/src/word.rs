//! Words that digital parts put out.

use document::Located;
use finding::Span;
use quantity::{Dimension, UnitScale};

/// How the sign of a number is kept in its bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Form {
    /// No sign.
    #[default]
    Unsigned,
    /// −x is 2^bits − x.
    TwosComplement,
    /// −x has every bit of x turned; there are two zeros.
    OnesComplement,
    /// The uppermost bit is the sign, the others the magnitude; two zeros.
    SignMagnitude,
    /// The number plus 2^(bits − 1): the middle of the codes is zero.
    OffsetBinary,
}

impl Form {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, Form); 5] = [
        ("unsigned", Form::Unsigned),
        ("twos-complement", Form::TwosComplement),
        ("ones-complement", Form::OnesComplement),
        ("sign-magnitude", Form::SignMagnitude),
        ("offset-binary", Form::OffsetBinary),
    ];

    /// The word used in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(_, f)| *f == self)
            .map_or("", |(w, _)| w)
    }
}

/// What guards the bytes of a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckRule {
    /// A cyclic redundancy check.
    Crc {
        /// Bits of the check, 8 or 16.
        width: u8,
        /// Generator without its uppermost term.
        polynomial: u16,
        /// What the register begins with.
        initial: u16,
        /// Bytes enter, and the check leaves, lowest bit first.
        reflect: bool,
        /// What the register is combined with in the end (exclusive or).
        last: u16,
    },
    /// The bytes added, the lowest eight bits of it.
    Sum,
    /// The bytes and the check add up to zero in the lowest eight bits.
    SumToZero,
    /// Exclusive or of the bytes.
    Xor,
    /// One bit of the word makes the number of its ones even or odd.
    Parity {
        /// Which bit of the word; 0 is the lowest.
        bit: u8,
        /// Odd, and not even.
        is_odd: bool,
    },
}

impl CheckRule {
    /// Bytes that follow the word.
    #[must_use]
    pub fn bytes(self) -> usize {
        match self {
            CheckRule::Crc { width, .. } => usize::from(width / 8),
            CheckRule::Sum | CheckRule::SumToZero | CheckRule::Xor => 1,
            CheckRule::Parity { .. } => 0,
        }
    }
}

/// A check as it is written.
#[derive(Clone, Debug)]
pub struct Check {
    /// The rule.
    pub rule: CheckRule,
    /// Bytes that were on the bus before those of the word and are guarded
    /// with them, such as the address.
    pub before: Vec<u8>,
    /// A check of two bytes comes with its lower byte first.
    pub is_low_first: bool,
    /// Where it is written.
    pub span: Span,
}

/// A bit beside the number that says something.
#[derive(Clone, Debug)]
pub struct Flag {
    /// Which bit of the word; 0 is the lowest.
    pub bit: u8,
    /// What it says.
    pub name: String,
    /// The state in which the number is not to be used, if there is one.
    pub bad: Option<bool>,
}

/// A word on a bus: how a number stands in its bytes, and what it means.
#[derive(Clone, Debug)]
pub struct Word {
    /// Its name in the file.
    pub name: String,
    /// Bits of the number.
    pub bits: u8,
    /// Bytes of the word without its check.
    pub bytes: u8,
    /// Bits below the number.
    pub below: u8,
    /// How the sign is kept.
    pub form: Form,
    /// Whether the lowest byte comes first.
    pub is_low_first: bool,
    /// Bits beside the number.
    pub flags: Vec<Flag>,
    /// What guards it.
    pub check: Option<Check>,
    /// Change of the quantity for one code, SI.
    pub step: f64,
    /// The quantity at code zero, SI.
    pub zero: f64,
    /// Where step and zero are from, as text for showing.
    pub source: String,
    /// Dimension of the quantity.
    pub dimension: Dimension,
    /// Unit it is shown in.
    pub unit: UnitScale,
    /// What the word must be able to hold, SI.
    pub range: Option<Located<(f64, f64)>>,
    /// The channel whose reading it is.
    pub channel: Option<usize>,
    /// The fitted device that puts it out.
    pub device: Option<usize>,
    /// Place of its table.
    pub span: Span,
}
