//! Climbing from corner to corner of the inputs' limits.

use tape::{Block, Point, Reading};

use super::Extreme;
use crate::model::{Model, ModelFault};
use crate::search::peak;

/// Rounds of flipping at the most; each must grow the error.
const ROUNDS: usize = 40;
/// Inputs tried in all combinations of their limits.
const COMBINED: usize = 8;
/// Passes over all inputs, one at a time.
const PASSES: usize = 6;

/// Searches at fixed conditions; keeps its working space.
pub(super) struct Climber<'a> {
    model: &'a Model,
    point: Point,
    block: Option<Block>,
    /// Inputs that vary, with their limits.
    varied: Vec<(usize, f64, f64)>,
    condition_places: Vec<usize>,
    /// Means of what varies, nominal values of the rest.
    centre: Vec<f64>,
    /// By input: a sensitivity was not zero somewhere.
    mattered: Vec<bool>,
    slopes: Vec<f64>,
    trial: Vec<f64>,
    /// By input: the sign of its sensitivity first seen, and whether another
    /// was seen since; for the climb under way.
    sign: Vec<f64>,
    turned: Vec<bool>,
    pub evaluations: u64,
}

impl<'a> Climber<'a> {
    pub fn new(model: &'a Model) -> Result<Self, ModelFault> {
        let count = model.inputs.len();
        let condition_places = model.conditions();
        let middle: Vec<f64> = model.spans().iter().map(|s| s.0).collect();
        let varied = model
            .inputs
            .iter()
            .enumerate()
            .filter(|(i, input)| input.is_cornered() && model.tape.uses_input(*i))
            .map(|(i, input)| {
                let (low, high) = input.corners();
                (i, low, high)
            })
            .filter(|(_, low, high)| low < high)
            .collect();
        Ok(Climber {
            model,
            point: Point::default(),
            block: None,
            varied,
            condition_places,
            centre: model.centre(&middle, |i| i.is_cornered())?,
            mattered: vec![false; count],
            slopes: vec![0.0; count],
            trial: vec![0.0; count],
            sign: vec![0.0; count],
            turned: vec![false; count],
            evaluations: 0,
        })
    }

    /// Whether everything that ever mattered has limits that are a bound.
    pub fn bound(&self) -> bool {
        self.model
            .inputs
            .iter()
            .zip(&self.mattered)
            .all(|(input, &mattered)| !mattered || input.bound)
    }

    /// The extreme by flipping signs from the centre.
    pub fn corner(&mut self, conditions: &[f64], direction: f64) -> Extreme {
        let mut inputs = self.centre.clone();
        self.set_conditions(&mut inputs, conditions);
        self.climbed(inputs, direction)
    }

    /// The extreme by flipping signs from given inputs, which are first
    /// brought within the limits.
    pub fn from(&mut self, start: &[f64], direction: f64) -> Extreme {
        let mut inputs = self.centre.clone();
        for &place in &self.condition_places {
            inputs[place] = start[place];
        }
        for &(i, low, high) in &self.varied {
            if start[i].is_finite() {
                inputs[i] = start[i].clamp(low, high);
            }
        }
        self.climbed(inputs, direction)
    }

    /// The extreme by flipping signs from the inputs of a neighbouring one.
    pub fn near(&mut self, corner: &[f64], conditions: &[f64], direction: f64) -> Extreme {
        let mut inputs = corner.to_vec();
        self.set_conditions(&mut inputs, conditions);
        self.climbed(inputs, direction)
    }

    fn set_conditions(&self, inputs: &mut [f64], conditions: &[f64]) {
        for (&place, &x) in self.condition_places.iter().zip(conditions) {
            inputs[place] = x;
        }
    }

    fn error(&mut self, inputs: &[f64]) -> f64 {
        self.evaluations += 1;
        self.point
            .evaluate(&self.model.tape, inputs, Reading::Smooth);
        self.point.output(&self.model.tape, self.model.error)
    }

    /// Error and sensitivities; notes which of them turn.
    fn steep(&mut self, inputs: &[f64]) -> f64 {
        let error = self.error(inputs);
        self.point.gradient(
            &self.model.tape,
            self.model.error,
            Reading::Smooth,
            &mut self.slopes,
        );
        for &(i, _, _) in &self.varied {
            let slope = self.slopes[i];
            if slope == 0.0 || slope.is_nan() {
                continue;
            }
            self.mattered[i] = true;
            if self.sign[i] == 0.0 {
                self.sign[i] = slope;
            } else if self.sign[i] * slope < 0.0 {
                self.turned[i] = true;
            }
        }
        error
    }

    fn climbed(&mut self, mut inputs: Vec<f64>, direction: f64) -> Extreme {
        self.sign.fill(0.0);
        self.turned.fill(false);
        let error = self.climb(&mut inputs, direction);
        self.extreme(error, inputs)
    }

    fn extreme(&mut self, error: f64, inputs: Vec<f64>) -> Extreme {
        let limit = self.model.limit.map(|output| {
            self.point
                .evaluate(&self.model.tape, &inputs, Reading::Smooth);
            self.point.output(&self.model.tape, output)
        });
        Extreme {
            error,
            limit,
            conditions: self.condition_places.iter().map(|&i| inputs[i]).collect(),
            inputs,
        }
    }

    /// Flips signs until nothing changes or nothing is gained; the error
    /// reached.
    fn climb(&mut self, inputs: &mut Vec<f64>, direction: f64) -> f64 {
        let mut error = self.steep(inputs);
        let mut trial = std::mem::take(&mut self.trial);
        for _ in 0..ROUNDS {
            trial.clone_from(inputs);
            for &(i, low, high) in &self.varied {
                let up = self.slopes[i] * direction;
                if up > 0.0 {
                    trial[i] = high;
                } else if up < 0.0 {
                    trial[i] = low;
                }
            }
            if trial == *inputs {
                break;
            }
            let new = self.steep(&trial);
            // Away from no number anything is a gain.
            if (new - error) * direction > 0.0 || (error.is_nan() && !new.is_nan()) {
                std::mem::swap(inputs, &mut trial);
                error = new;
            } else {
                break;
            }
        }
        self.trial = trial;
        error
    }

    /// One input after the other at its other limit, and inside where its
    /// sensitivity turns; then the doubtful ones in all combinations. Repeated
    /// while something is gained.
    pub fn polish(&mut self, extreme: &mut Extreme, direction: f64) {
        let mut inputs = extreme.inputs.clone();
        let mut error = self.steep(&inputs);
        if error.is_nan() {
            return;
        }
        for _ in 0..PASSES {
            let before = error;
            for index in 0..self.varied.len() {
                error = self.along(index, &mut inputs, error, direction);
            }
            error = self.combined(&mut inputs, error, direction);
            if !((error - before) * direction > 1e-12 * before.abs()) {
                break;
            }
            let climbed = self.climb(&mut inputs, direction);
            if (climbed - error) * direction > 0.0 {
                error = climbed;
            }
        }
        *extreme = self.extreme(error, inputs);
    }

    /// Best place of one input with all others held.
    fn along(&mut self, index: usize, inputs: &mut [f64], error: f64, direction: f64) -> f64 {
        let (i, low, high) = self.varied[index];
        let here = inputs[i];
        let mut best = (here, error);
        let mut inward = false;
        for end in [low, high] {
            inputs[i] = end;
            let value = self.steep(inputs);
            if (value - best.1) * direction > 0.0 {
                best = (end, value);
            }
            let outward = if end == low { -1.0 } else { 1.0 };
            inward |= self.slopes[i] * direction * outward < 0.0;
        }
        // With the error growing inwards from the better end, or from both,
        // the extreme may lie inside.
        if inward && (self.turned[i] || (best.0 != low && best.0 != high)) {
            inputs[i] = best.0;
            let mut trial = inputs.to_vec();
            let middle = if best.0 > low && best.0 < high {
                best.0
            } else {
                0.5 * (low + high)
            };
            trial[i] = middle;
            let start = direction * self.error(&trial);
            let (place, value) = peak(low, middle, high, start, |x| {
                trial[i] = x;
                direction * self.error(&trial)
            });
            let value = direction * value;
            if (value - best.1) * direction > 0.0 {
                best = (place, value);
            }
        }
        inputs[i] = best.0;
        best.1
    }

    /// All combinations of limits of the inputs whose sensitivity turned, or
    /// of all if they are few.
    fn combined(&mut self, inputs: &mut [f64], error: f64, direction: f64) -> f64 {
        let mut chosen: Vec<(usize, f64, f64)> = self
            .varied
            .iter()
            .copied()
            .filter(|(i, _, _)| self.mattered[*i])
            .collect();
        if chosen.len() > COMBINED {
            chosen.retain(|(i, _, _)| self.turned[*i]);
            chosen.truncate(COMBINED);
        }
        if chosen.len() < 2 {
            return error;
        }
        let model = self.model;
        let block = self
            .block
            .get_or_insert_with(|| Block::new(&model.tape, 1 << COMBINED));
        for (i, &x) in inputs.iter().enumerate() {
            block.input_mut(i).fill(x);
        }
        for (bit, &(i, low, high)) in chosen.iter().enumerate() {
            for (lane, x) in block.input_mut(i).iter_mut().enumerate() {
                *x = if lane >> bit & 1 == 1 { high } else { low };
            }
        }
        block.run(&model.tape, Reading::Smooth);
        let combinations = 1usize << chosen.len();
        self.evaluations += combinations as u64;
        let values = block.output(&model.tape, model.error);
        let mut best = (None, error);
        for (lane, &value) in values.iter().take(combinations).enumerate() {
            if (value - best.1) * direction > 0.0 {
                best = (Some(lane), value);
            }
        }
        if let Some(lane) = best.0 {
            for (bit, &(i, low, high)) in chosen.iter().enumerate() {
                inputs[i] = if lane >> bit & 1 == 1 { high } else { low };
            }
        }
        best.1
    }
}
