//! Stages of a chain: each one file, registered in [`STAGES`].

mod bench;
mod buffer;
mod burden;
mod divider;
mod low_pass;
mod non_inverting;
mod pull;
mod series;

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
    buffer::BUFFER,
    burden::BURDEN,
    divider::DIVIDER,
    low_pass::LOW_PASS,
    non_inverting::NON_INVERTING,
    pull::PULL_UP,
    pull::PULL_DOWN,
    series::SERIES,
];

/// The stage of this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static StageKind> {
    STAGES.iter().find(|s| s.schema.name == name)
}
