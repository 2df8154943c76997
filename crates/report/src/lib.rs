//! What renderers see: one serialisable, versioned type per question.
//!
//! The terminal, files and pages take their numbers from here, so that they
//! cannot disagree. Numbers are in the unit named beside them, without a
//! prefix of their own; a number that is not one is `null` in JSON.

mod bound;
mod budget;
mod check;
mod course;
mod faults;
mod finding;
pub mod interference;
mod judged;
mod library;
mod links;
mod noise;
pub mod number;
mod page;
mod rails;
mod response;
mod schedule;
mod words;

pub use ::finding::Severity;
pub use bound::{Bound, Buy, Found, Sweep};
pub use budget::{Budget, Line, Table};
pub use check::{
    Channel, Check, Condition, Contributor, Counts, Met, MonteCarlo, Need, Propagation,
    ScenarioVerdict, Signal, Unpublished, Verdict, WorstCase, Yield,
};
pub use course::{Course, Trace};
pub use faults::{FaultChannel, FaultPin, FaultRow, Faults, Reach};
pub use finding::{Figure, Finding, Spot};
pub use interference::Interference;
pub use judged::Judged;
pub use library::{Part, PartFigure, PartLine, Parts};
pub use links::{DevicePins, LevelPair, LinkResult, Links, PinRow};
pub use noise::{ChannelNoise, Noise, NoiseContributor, NoiseTotal, SpectrumPoint};
pub use page::{Explained, Explanations, Offered, Offers, Page, Started};
pub use rails::{HeatResult, LoadLine, RailResult, Rails, ReturnResult, Shifted, WarmLine};
pub use response::{
    ChannelResponse, NamedFrequency, Pole, Response, ResponsePoint, SensorLag, SettlingTime,
    StepPoint,
};
pub use schedule::{ConverterSchedule, Memory, Schedule, SettlingError, Turn};
pub use words::{BehindReading, Misread, SeenWord, ShownReading, Word, WordEnd, Words};

/// Version of the types; changes when a field changes its meaning or goes.
/// A field may be added without a change.
pub const VERSION: u32 = 2;
