//! What is known of a result when its inputs are not known exactly.
//!
//! A [`Model`] is a tape together with what is known of each of its inputs.
//! Three answers are given side by side: [`propagate`] (JCGM 100),
//! [`worst_case`] and [`sample`] (JCGM 101). No electronics here.

mod boards;
mod coverage;
mod evaluation;
mod grid;
pub mod inverse;
mod model;
mod propagation;
mod sampling;
mod search;
mod settings;
mod tails;
mod worst;

pub use boards::{Yield, yield_share};
pub use evaluation::{
    Conclusion, Evaluation, Progress, SampledPoint, Screened, Stage, Validation, evaluate, screened,
};
pub use grid::MOST_GRID_POINTS;
pub use model::{Category, Input, Model, ModelFault, Role};
pub use propagation::{Contribution, Doubt, Propagated, SecondOrder, covariance, propagate};
pub use sampling::{Histogram, SCRAMBLES, Sampled, sample};
pub use settings::{Points, Settings};
pub use tails::{Tails, sample_tails};
pub use worst::{Extreme, WorstCase, smallest_case, worst_case, worst_case_from};
