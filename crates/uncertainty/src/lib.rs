//! What is known of a result when its inputs are not known exactly.
//!
//! A [`Model`] is a tape together with what is known of each of its inputs.
//! Three answers are given side by side: [`propagate`] (JCGM 100),
//! [`worst_case`] and [`sample`] (JCGM 101). No electronics here.

mod model;
mod propagation;
mod sampling;
mod worst;

pub use model::{Category, Input, Model, ModelFault, Role};
pub use propagation::{Contribution, Propagated, propagate};
pub use sampling::{Sampled, Settings, sample};
pub use worst::{Extreme, WorstCase, worst_case};
