//! How much work is spent on an answer.

use crate::model::ModelFault;
use tape::DEFAULT_LANES;

/// How points are chosen for Monte Carlo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Points {
    /// Independent: trial i of a variable depends on (seed, stream, i) alone,
    /// so a variable has the same value in every model of the board.
    Streams,
    /// Scrambled Sobol points, sixteen independent scrambles: fewer trials
    /// for the same tolerance where the error is smooth, about as many where
    /// it is not.
    Scrambled,
}

/// How much to look, and for which probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Seed of all streams.
    pub seed: u64,
    /// Probability that intervals cover and that a need must be met with.
    pub probability: f64,
    /// Trials of the first look; doubled until the tolerance is met.
    pub first_trials: u64,
    /// Trials at the most, for one set of conditions.
    pub most_trials: u64,
    /// Numerical tolerance (95 %) asked of the half-width, relative to it.
    pub tolerance: f64,
    /// The same relative to the limit, where there is one; whichever is
    /// reached first ends the sampling.
    pub tolerance_of_limit: f64,
    /// Trials read at once. Never changes a result.
    pub lanes: usize,
    /// How points are chosen.
    pub points: Points,
    /// Whether the linear part of the error, whose distribution is known, is
    /// used to sharpen the half-width.
    pub control: bool,
    /// Points of the grid that are looked at closely.
    pub worst_points: usize,
    /// Boards drawn for the yield at the most.
    pub most_boards: u64,
    /// Digits of the standard uncertainty that are meaningful when
    /// propagation is held against Monte Carlo.
    pub digits: u32,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            seed: 1,
            probability: 0.9973,
            first_trials: 1 << 14,
            most_trials: 1 << 20,
            tolerance: 0.01,
            tolerance_of_limit: 0.0,
            lanes: DEFAULT_LANES,
            points: Points::Streams,
            control: false,
            worst_points: 3,
            most_boards: 1 << 14,
            digits: 2,
        }
    }
}

impl Settings {
    /// Checks that every number has a sense.
    ///
    /// # Errors
    /// [`ModelFault::BadSetting`] with the name of the first that has none.
    pub fn check(&self) -> Result<(), ModelFault> {
        let within = |x: f64| x > 0.0 && x < 1.0;
        let faults = [
            ("probability", !within(self.probability)),
            ("tolerance", !(self.tolerance >= 0.0)),
            ("tolerance_of_limit", !(self.tolerance_of_limit >= 0.0)),
            ("lanes", self.lanes == 0 || self.lanes > 1 << 16),
            ("first_trials", self.first_trials == 0),
            (
                "most_trials",
                self.most_trials == 0 || self.most_trials > 1 << 34,
            ),
            ("digits", self.digits == 0 || self.digits > 15),
            ("most_boards", self.most_boards == 0),
        ];
        match faults.iter().find(|(_, bad)| *bad) {
            Some((name, _)) => Err(ModelFault::BadSetting(name)),
            None => Ok(()),
        }
    }
}
