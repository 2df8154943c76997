//! How single pins are set, as the file states it.

use document::Located;
use finding::Span;

/// A built-in resistor of a pin that is switched on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pull {
    /// To the supply.
    Up,
    /// To ground.
    Down,
    /// None.
    Off,
}

impl Pull {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, Pull); 3] =
        [("up", Pull::Up), ("down", Pull::Down), ("off", Pull::Off)];

    /// The word used in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(_, p)| *p == self)
            .map_or("", |(w, _)| w)
    }
}

/// What is said of one pin beside what links and channels say.
#[derive(Clone, Debug)]
pub struct PinSetting {
    /// Position of its device among the board's.
    pub device: usize,
    /// The pin.
    pub pin: String,
    /// Built-in resistor as the firmware sets it.
    pub pull: Option<Located<Pull>>,
    /// What else it is used for, in words.
    pub usage: Option<Located<String>>,
    /// Place of its name.
    pub span: Span,
}
