//! Stages of a chain: each one file, registered in [`STAGES`].

mod divider;
mod pull;
mod series;

use board::{Schema, Stage, Supply};
use circuit::{Network, Node};
use tape::Value;

/// What a stage needs to be written into a network.
pub struct Bench<'a, 't> {
    /// The network being written.
    pub network: &'a mut Network<'t>,
    /// The node the signal stands on; a stage may move it.
    pub signal: Node,
    /// A component's value with its tolerance and drift.
    pub component: &'a dyn Fn(&Stage, &str) -> Option<Value<'t>>,
    /// The node of a supply.
    pub supply: &'a dyn Fn(&mut Network<'t>, Supply) -> Node,
}

/// One kind of stage.
pub struct StageKind {
    /// How it is written.
    pub schema: Schema,
    /// Puts it into the network.
    pub write: fn(&Stage, &mut Bench<'_, '_>),
}

/// Every stage there is.
pub static STAGES: &[StageKind] = &[
    divider::DIVIDER,
    pull::PULL_UP,
    pull::PULL_DOWN,
    series::SERIES,
];

/// The stage of this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static StageKind> {
    STAGES.iter().find(|s| s.schema.name == name)
}
