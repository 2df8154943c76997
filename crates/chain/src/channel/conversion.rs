//! The firmware's conversion by itself: code in, readings out, so that it can
//! be looked at over every code.

use std::cell::RefCell;

use board::{Board, Channel, Conversion, Number};
use tape::{Builder, Tape};

use super::site::Site;
use super::{Unmodelled, sensor};
use crate::time::Timing;
use crate::variables::Variables;

/// Output: the reading as the firmware makes it, SI.
pub const AS_WRITTEN: usize = 0;
/// Output: the same with every whole number at least 32 bits wide.
pub const IN_32_BITS: usize = 1;
/// Output: the same with whole numbers that never overflow.
pub const IN_64_BITS: usize = 2;
/// Output: the same with all fractions kept.
pub const WITH_FRACTIONS: usize = 3;
/// Output: the reading that undoes what is fitted, everything at its nominal
/// value.
pub const RIGHT: usize = 4;

/// A channel's conversion as a tape. Its first input is the code; any others
/// are readings of other channels that it names, in the middle of their
/// spans.
pub struct ConversionModel {
    /// The tape; its outputs are named by the constants above. The formula's
    /// whole numbers need the exact reading of the tape.
    pub tape: Tape,
}

/// Builds the conversion of one channel that enters a converter.
///
/// # Errors
/// As [`super::build`].
pub fn conversion(board: &Board, channel: &Channel) -> Result<ConversionModel, Unmodelled> {
    let builder = Builder::new();
    let variables = Variables::new(&builder);
    let watched = RefCell::new(Vec::new());
    let others = RefCell::new(sensor::Others::default());
    if let Some(i) = board.channels.iter().position(|c| c.name == channel.name) {
        others.borrow_mut().begin(i);
    }
    // What is fitted is undone without what the firmware assumes.
    let undone = Channel {
        conversion: Conversion::default(),
        ..channel.clone()
    };
    let code = builder.input("code", "", 0.0);
    let timing = Timing::default();
    let site = Site {
        board,
        channel,
        watched: &watched,
        builder: &builder,
        variables: &variables,
        ambient: builder.constant(super::TOLERANCE_K),
        instance: "",
        real: true,
        quiet: false,
        trough: false,
        depth: 1,
        measured_rail: None,
        others: &others,
        timing: &timing,
    };
    let right = Site {
        channel: &undone,
        ..site
    };
    let at_least = |bits: u8| {
        move |kind: Number| match kind {
            Number::Whole { bits: now, signed } => Number::Whole {
                bits: now.max(bits),
                signed,
            },
            other => other,
        }
    };
    let outputs = [
        site.convert(code)?,
        site.convert_in(code, &at_least(32))?,
        site.convert_in(code, &at_least(52))?,
        site.convert_in(code, &|_| Number::Double)?,
        right.convert(code)?,
    ];
    Ok(ConversionModel {
        tape: builder.finish(&outputs),
    })
}
