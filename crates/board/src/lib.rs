//! The board file: what an engineer writes, resolved and checked.
//!
//! [`read`] turns one TOML text into a [`Board`] in which every name is bound,
//! every unit checked and every part attached, or into all the faults of the
//! file at once. What stages, elements and laws exist is told by a
//! [`Vocabulary`] from the layer that computes them, so that adding one is
//! nobody else's business. No equations here.

mod edit;
mod links;
mod model;
mod number;
mod pins;
mod power;
mod read;
mod scenario;
mod terminals;
mod timing;
mod vocabulary;
mod word;

pub use edit::{EditFault, Listed, Setting, listed, locate, with_value};
pub use links::{BusMode, Cable, Gauge, Link, LinkKind, Member, Port, Via};
pub use model::*;
pub use number::Number;
pub use pins::{PinSetting, Pull};
pub use power::*;
pub use read::{bytes_of, read};
pub use scenario::{Cause, CauseKind, Change, Claim, Claimed, Event, FigureOf, Scenario, ShiftOf};
pub use terminals::{FAULT_WORDS, MustDetect, SensorState, Stands, Terminal};
pub use timing::{Acquisition, Interferer, InterferesOn, ReferenceFrom, ScanSpec, ScanStart};
pub use vocabulary::{Field, FieldKind, Schema, Vocabulary};
pub use word::{Check, CheckRule, Flag, Form, Word};
