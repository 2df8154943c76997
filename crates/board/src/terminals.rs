//! Wires that leave the board, and what may happen to them.

use document::Located;
use finding::Span;

use crate::model::Supply;

/// The wires of one sensor, or one node that leaves the board.
#[derive(Clone, Debug)]
pub struct Terminal {
    /// Its name in the file.
    pub name: String,
    /// The channel whose sensor hangs on it, by position.
    pub channel: usize,
    /// A node of the channel's network that the wire belongs to, where it is
    /// not one of the sensor's own.
    pub node: Option<Located<String>>,
    /// Rails and references whose wires lie in the same cable.
    pub rails_in_cable: Vec<Located<Supply>>,
    /// Channels whose wires lie beside it, by position.
    pub neighbours: Vec<Located<usize>>,
    /// Voltages that may come to the wire from outside, V.
    pub over_voltages_v: Vec<Located<f64>>,
    /// Resistance such a voltage comes through, Ω.
    pub over_voltage_ohm: f64,
    /// The two wires may be swapped.
    pub reversed: bool,
    /// States of the sensor that have a name.
    pub states: Vec<SensorState>,
    /// Which faults the firmware must be able to tell.
    pub must_detect: MustDetect,
    /// Readings that the firmware takes for real, SI; the channel's span with
    /// its accuracy where absent.
    pub valid: Option<Located<(f64, f64)>>,
    /// Codes that the firmware takes for a fault, both ends counted.
    pub fault_codes: Vec<Located<(f64, f64)>>,
    /// Single faults of components count like those of wires.
    pub components: bool,
    /// Place of its table.
    pub span: Span,
}

/// A state of a sensor, by what it then looks like from the board.
#[derive(Clone, Debug)]
pub struct SensorState {
    /// What it is called.
    pub name: String,
    /// What stands between the wires.
    pub stands: Stands,
    /// Place.
    pub span: Span,
}

/// What a sensor looks like in a state of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stands {
    /// Nothing is connected.
    Open,
    /// It gives this current, A.
    Current(f64),
    /// It gives a voltage through a resistance, V and Ω.
    Voltage(f64, f64),
    /// It is a resistance, Ω.
    Resistance(f64),
}

/// Faults that must not read like a value.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MustDetect {
    /// Every fault.
    pub all: bool,
    /// These, by the words of [`FAULT_WORDS`] or the names of states.
    pub words: Vec<String>,
    /// Where it is written.
    pub span: Option<Span>,
}

impl MustDetect {
    /// Whether a fault of this word, or a state of this name, must be told.
    #[must_use]
    pub fn asks(&self, word: &str) -> bool {
        self.all || self.words.iter().any(|w| w == word)
    }
}

/// Faults by the words of the file.
pub const FAULT_WORDS: &[&str] = &[
    "open",
    "short",
    "short-to-ground",
    "short-to-rail",
    "neighbour",
    "over-voltage",
    "reversed",
    "states",
    "components",
];
