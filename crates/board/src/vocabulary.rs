//! What stages, elements and laws a board file may name.

use quantity::Dimension;

/// What may be written for one key of a stage or element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FieldKind {
    /// A value with tolerance and drift, `"10 kΩ 0.1 %"`.
    Valued(Dimension),
    /// A difference with tolerance, `"3 K"`.
    ValuedDifference(Dimension),
    /// A rail, a reference or `gnd`.
    Supply,
    /// A node of the channel's network, a rail, a reference or `gnd`.
    Node,
    /// A part of one of these kinds, from the library or in place.
    Part(&'static [&'static str]),
    /// One of these words.
    Word(&'static [&'static str]),
    /// A number without unit.
    Number,
    /// true or false.
    Truth,
    /// Another channel.
    Channel,
    /// Points of a curve: pairs of texts with these dimensions.
    Points(Dimension, Dimension),
    /// A list of values with tolerance.
    ValuedList(Dimension),
}

/// One key of a stage or element.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// The key.
    pub key: &'static str,
    /// What it holds.
    pub kind: FieldKind,
    /// Whether it must be there.
    pub required: bool,
    /// What it means, for messages and documentation.
    pub meaning: &'static str,
}

impl Field {
    /// A key that must be there.
    #[must_use]
    pub const fn required(key: &'static str, kind: FieldKind, meaning: &'static str) -> Self {
        Field {
            key,
            kind,
            required: true,
            meaning,
        }
    }

    /// A key that may be there.
    #[must_use]
    pub const fn optional(key: &'static str, kind: FieldKind, meaning: &'static str) -> Self {
        Field {
            key,
            kind,
            required: false,
            meaning,
        }
    }
}

/// How a stage or element is written.
#[derive(Clone, Copy, Debug)]
pub struct Schema {
    /// Its name: the key that makes a table this stage.
    pub name: &'static str,
    /// The field that a text directly behind the name fills:
    /// `{ pull-up = "10 kΩ" }` is `{ pull-up = { r = "10 kΩ" } }`.
    pub primary: Option<&'static str>,
    /// Its keys.
    pub fields: &'static [Field],
    /// What it does, in one sentence.
    pub meaning: &'static str,
}

/// Everything a board file may name that is computed elsewhere.
#[derive(Clone, Debug)]
pub struct Vocabulary {
    /// Stages of a chain, in signal order.
    pub stages: Vec<Schema>,
    /// Elements of a network between named nodes.
    pub elements: Vec<Schema>,
    /// Names of sensor laws.
    pub laws: Vec<&'static str>,
    /// Other channels a law's conversion needs, by key.
    pub law_auxiliaries: fn(&str) -> &'static [&'static str],
}
