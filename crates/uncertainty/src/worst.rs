//! The worst case.

use tape::{Point, Reading};

use crate::model::{Model, ModelFault, Role};

/// Rounds of sign flipping at the most; each must grow the error.
const ROUNDS: usize = 40;

/// One end of the worst case.
#[derive(Clone, Debug, PartialEq)]
pub struct Extreme {
    /// The error there.
    pub error: f64,
    /// The largest permitted error there, if there is a need.
    pub limit: Option<f64>,
    /// Values of the conditions.
    pub conditions: Vec<f64>,
    /// Values of all inputs.
    pub inputs: Vec<f64>,
}

/// Largest and smallest error found over all conditions and corners.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstCase {
    /// The largest error.
    pub high: Extreme,
    /// The smallest error.
    pub low: Extreme,
    /// Every input that matters has limits that are a bound.
    pub bound: bool,
    /// How often the model was evaluated.
    pub evaluations: u64,
}

impl WorstCase {
    /// The larger magnitude of the two ends.
    #[must_use]
    pub fn magnitude(&self) -> f64 {
        self.high.error.abs().max(self.low.error.abs())
    }
}

/// The largest and the smallest error over the grid of conditions and the
/// limits of the inputs.
///
/// At each point of the grid the signs of the sensitivities pick a corner;
/// there the sensitivities are taken again and signs flipped until nothing
/// changes. Inputs whose sensitivity changes sign between the corners are also
/// searched inside their limits. It is the largest found and not a proof,
/// except for models that are monotone in every input. With a limit, the
/// condition where |error| is the largest share of the limit counts; both
/// ends are then reported for their own worst condition.
///
/// # Errors
/// The model does not fit its tape.
pub fn worst_case(model: &Model) -> Result<WorstCase, ModelFault> {
    model.check()?;
    let mut search = Search {
        model,
        point: Point::default(),
        evaluations: 0,
        mattered: vec![false; model.inputs.len()],
    };
    let mut high: Option<Extreme> = None;
    let mut low: Option<Extreme> = None;
    for conditions in model.grid() {
        let up = search.towards(&conditions, 1.0)?;
        if high.as_ref().is_none_or(|h| weight(&up) > weight(h)) {
            high = Some(up);
        }
        let down = search.towards(&conditions, -1.0)?;
        if low.as_ref().is_none_or(|l| -weight(&down) > -weight(l)) {
            low = Some(down);
        }
    }
    let bound = model
        .inputs
        .iter()
        .zip(&search.mattered)
        .all(|(i, &m)| !m || i.bound);
    let evaluations = search.evaluations;
    match (high, low) {
        (Some(high), Some(low)) => Ok(WorstCase {
            high,
            low,
            bound,
            evaluations,
        }),
        _ => Err(ModelFault::BadInput("conditions".to_owned())),
    }
}

/// The error as a share of its limit where there is one.
fn weight(e: &Extreme) -> f64 {
    match e.limit {
        Some(limit) if limit > 0.0 => e.error / limit,
        _ => e.error,
    }
}

struct Search<'a> {
    model: &'a Model,
    point: Point,
    evaluations: u64,
    mattered: Vec<bool>,
}

impl Search<'_> {
    fn error(&mut self, inputs: &[f64]) -> f64 {
        self.evaluations += 1;
        self.point
            .evaluate(&self.model.tape, inputs, Reading::Smooth);
        self.point.output(&self.model.tape, self.model.error)
    }

    fn slopes(&mut self, inputs: &[f64], slopes: &mut [f64]) -> f64 {
        let error = self.error(inputs);
        self.point
            .gradient(&self.model.tape, self.model.error, Reading::Smooth, slopes);
        error
    }

    /// The extreme in one direction (+1 largest, −1 smallest).
    fn towards(&mut self, conditions: &[f64], direction: f64) -> Result<Extreme, ModelFault> {
        let model = self.model;
        let takes_part =
            |i: usize| model.inputs[i].cornered && model.inputs[i].role != Role::Condition;
        let mut inputs = model.centre(conditions, |i| i.cornered && i.role != Role::Condition)?;
        let mut slopes = vec![0.0; inputs.len()];
        let mut error = self.slopes(&inputs, &mut slopes);
        let mut turned: Vec<bool> = vec![false; inputs.len()];
        let first = slopes.clone();
        for _ in 0..ROUNDS {
            let mut trial = inputs.clone();
            for i in 0..trial.len() {
                if !takes_part(i) || slopes[i] == 0.0 {
                    continue;
                }
                self.mattered[i] = true;
                turned[i] |= slopes[i] * first[i] < 0.0;
                let (low, high) = model.inputs[i].corners();
                trial[i] = if slopes[i] * direction > 0.0 {
                    high
                } else {
                    low
                };
            }
            if trial == inputs {
                break;
            }
            let mut new_slopes = vec![0.0; inputs.len()];
            let new = self.slopes(&trial, &mut new_slopes);
            if !((new - error) * direction > 0.0) {
                break;
            }
            inputs = trial;
            error = new;
            slopes = new_slopes;
        }
        // One input at a time: both corners, and inside where the slope turns.
        for i in 0..inputs.len() {
            if !takes_part(i) || !(self.mattered[i] || slopes[i] != 0.0) {
                continue;
            }
            let (low, high) = model.inputs[i].corners();
            let inside: &[f64] = if turned[i] || slopes[i] * first[i] < 0.0 {
                &[0.0, 0.25, 0.5, 0.75, 1.0]
            } else {
                &[0.0, 1.0]
            };
            for &share in inside {
                let mut trial = inputs.clone();
                trial[i] = low + share * (high - low);
                if trial[i] == inputs[i] {
                    continue;
                }
                let new = self.error(&trial);
                if (new - error) * direction > 0.0 {
                    error = new;
                    inputs = trial;
                }
            }
        }
        self.error(&inputs);
        let limit = model.limit.map(|o| self.point.output(&model.tape, o));
        Ok(Extreme {
            error,
            limit,
            conditions: conditions.to_vec(),
            inputs,
        })
    }
}
