//! Number types of firmware.

/// How firmware keeps a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Number {
    /// Signed or unsigned whole numbers of so many bits (at most 52, which a
    /// double holds exactly); division truncates towards zero, overflow wraps.
    Whole {
        /// Width in bits.
        bits: u8,
        /// Whether negative values exist.
        signed: bool,
    },
    /// Single precision.
    Single,
    /// Double precision.
    Double,
}
