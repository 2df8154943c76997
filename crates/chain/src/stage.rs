//! Stages of a chain: each one file, registered in [`STAGES`].

mod bench;
mod buffer;
mod burden;
mod cable;
mod clamp;
mod difference;
mod divider;
mod instrumentation;
mod inverting;
mod isolation;
mod level_shift;
mod low_pass;
mod multiplexer;
mod non_inverting;
mod plain;
mod pull;
mod sallen_key;
mod series;
mod summing;
mod transimpedance;

use board::{Schema, Stage};

pub use bench::{Bench, Rated, Rating};

use crate::channel::Unmodelled;

/// One kind of stage.
pub struct StageKind {
    /// How it is written.
    pub schema: Schema,
    /// Puts it into the network.
    pub write: fn(&Stage, &mut Bench<'_, '_>) -> Result<(), Unmodelled>,
}

/// Every stage there is.
pub static STAGES: &[StageKind] = &[
    series::SERIES,
    plain::RESISTOR,
    pull::PULL_UP,
    pull::PULL_DOWN,
    plain::CURRENT_SOURCE,
    plain::VOLTAGE_SOURCE,
    burden::BURDEN,
    divider::DIVIDER,
    level_shift::LEVEL_SHIFT,
    low_pass::LOW_PASS,
    clamp::CLAMP,
    cable::CABLE,
    multiplexer::MULTIPLEXER,
    buffer::BUFFER,
    non_inverting::NON_INVERTING,
    inverting::INVERTING,
    summing::SUMMING,
    difference::DIFFERENCE,
    instrumentation::INSTRUMENTATION,
    transimpedance::TRANSIMPEDANCE,
    sallen_key::SALLEN_KEY,
    isolation::ISOLATION,
];

/// The stage of this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static StageKind> {
    STAGES.iter().find(|s| s.schema.name == name)
}
