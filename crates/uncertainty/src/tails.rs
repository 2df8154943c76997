//! Large errors, drawn where they happen.
//!
//! A need is judged by errors that come about three times in a thousand; plain
//! trials see little of them. Here a third of the trials is drawn as ever, a
//! third tilted towards large positive errors and a third towards large
//! negative ones, by the sensitivities, and each counts as much as it is more
//! likely untilted than drawn (importance sampling with a defensive mixture:
//! T. Hesterberg, "Weighted average importance sampling and defensive mixture
//! distributions", Technometrics 37, 1995). No trial counts more than three
//! ordinary ones, so a model that is nothing like its tangent costs a few
//! times the trials at the most, and is not answered wrongly.

use rayon::prelude::*;
use statistics::shape::third_weights;
use statistics::{Shape, normal, stream};
use tape::{Point, Reading};

use crate::coverage::{Spread, half_width};
use crate::model::{Model, ModelFault};
use crate::sampling::{Worker, decided, keyed};
use crate::settings::Settings;

/// Trials drawn one way at a stretch.
const RUN: usize = 384;
/// Runs of one thread at a stretch; a multiple of the three ways.
const SHARE: usize = 9;
/// Untilted trials of the first look for each that should lie beyond the
/// half-width: one that the tangent knows nothing of is then seen with 95 %.
const SEEN: f64 = 3.0;
/// Confidence of what is said.
const CONFIDENCE: f64 = 0.95;
/// Streams lie apart from those of plain trials under one seed.
const TAIL_STREAM: u64 = 0x7a11_5000_0000_0000;
/// Largest tilt, in reciprocal deviations of the error.
const STEEPEST: f64 = 12.0;

/// What tilted sampling found at one set of conditions; lengths in the unit
/// of the error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tails {
    /// Trials made.
    pub trials: u64,
    /// Smallest h with |error| ≤ h in the share asked for.
    pub half_width: f64,
    /// Numerical uncertainty of the half-width, 95 %.
    pub half_width_tolerance: f64,
    /// Probability that the error is within the limit, where there is one:
    /// estimate, and the ends of its 95 % interval.
    pub met: Option<(f64, f64, f64)>,
    /// The tolerance asked for was reached before the cap.
    pub reached: bool,
}

/// A tilted variable.
struct Tilted {
    input: usize,
    shape: Shape,
    key: u64,
    slope: f64,
}

/// One way of drawing: λ per unit of the linear part, and ln M of the sum.
#[derive(Clone, Copy, Default)]
struct Way {
    tilt: f64,
    log_moment: f64,
}

struct Sampler<'a> {
    model: &'a Model,
    centre: Vec<f64>,
    variables: Vec<Tilted>,
    /// Untilted, upwards, downwards.
    ways: [Way; 3],
    /// Sizes that matter lie beyond this, as far as the tangent tells.
    hint: f64,
}

/// Samples the tails of the error at one set of conditions, doubling the
/// number of trials until the half-width is known to the tolerance, and a need
/// is known to be met or not, or [`Settings::most_trials`] is reached.
///
/// What is drawn depends on the seed, the inputs' streams and the number of
/// the trial alone. Rounding is exact, as in [`crate::sample`]. Where
/// nothing can be tilted, or the tangent is no guide, this is plain sampling
/// with a third to all of the trials.
///
/// # Errors
/// The model does not fit its tape, the conditions, or a setting has no
/// sense.
pub fn sample_tails(
    model: &Model,
    conditions: &[f64],
    settings: &Settings,
) -> Result<Tails, ModelFault> {
    model.check()?;
    settings.check()?;
    let (sampler, limit) = Sampler::new(model, conditions, settings)?;
    let most = usize::try_from(settings.most_trials)
        .unwrap_or(usize::MAX)
        .div_ceil(RUN)
        .next_multiple_of(3);
    let first = 3.0 * SEEN / (1.0 - settings.probability) / RUN as f64;
    let mut runs = (first as usize + 1).next_multiple_of(3).min(most);
    let mut drawn: Vec<(f64, f64)> = Vec::new();
    loop {
        sampler.extend(&mut drawn, runs);
        let mut found = read(&drawn, settings.probability, limit, sampler.hint);
        found.reached = found.half_width_tolerance <= settings.tolerance * found.half_width;
        if runs >= most || (found.reached && decided(found.met, settings)) {
            return Ok(found);
        }
        runs = (runs * 2).min(most);
    }
}

impl<'a> Sampler<'a> {
    /// The sampler and the largest permitted error.
    fn new(
        model: &'a Model,
        conditions: &[f64],
        settings: &Settings,
    ) -> Result<(Self, Option<f64>), ModelFault> {
        let centre = model.centre(conditions, |_| false)?;
        let mut means = centre.clone();
        let drawn = keyed(model, |_| true);
        for variable in &drawn {
            means[variable.input] = variable.shape.mean();
        }
        let mut point = Point::default();
        point.evaluate(&model.tape, &means, Reading::Smooth);
        let bias = point.output(&model.tape, model.error);
        let limit = model.limit.map(|o| point.output(&model.tape, o));
        let mut slopes = vec![0.0; model.inputs.len()];
        point.gradient(&model.tape, model.error, Reading::Smooth, &mut slopes);
        let seed = stream::key(settings.seed, TAIL_STREAM);
        let mut variance = 0.0;
        let variables: Vec<Tilted> = drawn
            .iter()
            .map(|v| {
                let slope = slopes.get(v.input).copied().unwrap_or(0.0);
                let usable = v.shape.can_tilt() && slope.is_finite();
                let slope = if usable { slope } else { 0.0 };
                variance += (slope * v.shape.deviation()) * (slope * v.shape.deviation());
                Tilted {
                    input: v.input,
                    shape: v.shape,
                    key: stream::key(seed, v.stream),
                    slope,
                }
            })
            .collect();
        let mut sampler = Sampler {
            model,
            centre,
            variables,
            ways: [Way::default(); 3],
            hint: 0.0,
        };
        let u = f64::sqrt(variance);
        if u > 0.0 && u.is_finite() && bias.is_finite() {
            let h = half_width(&Spread::Normal { u }, bias, settings.probability);
            sampler.hint = 0.95 * h;
            let (up, down) = (h - bias, -h - bias);
            // A side that is never reached is not worth a third.
            let (up, down) = match (up > 2.0 * -down, -down > 2.0 * up) {
                (true, _) => (down, down),
                (_, true) => (up, up),
                _ => (up, down),
            };
            sampler.ways[1] = sampler.way(up, u);
            sampler.ways[2] = sampler.way(down, u);
        }
        Ok((sampler, limit))
    }

    /// The way that moves the mean of the linear part by `target`, as far as
    /// it goes.
    fn way(&self, target: f64, u: f64) -> Way {
        let shift = |tilt: f64| -> f64 {
            self.variables
                .iter()
                .map(|v| v.slope * v.shape.tilted_shift(tilt * v.slope))
                .sum()
        };
        let (mut low, mut high) = (0.0, STEEPEST / u);
        // How far exactly does not matter: the weights know.
        for _ in 0..16 {
            let middle = 0.5 * (low + high);
            if shift(middle) < target.abs() {
                low = middle;
            } else {
                high = middle;
            }
        }
        let tilt = low.copysign(target);
        Way {
            tilt,
            log_moment: self
                .variables
                .iter()
                .map(|v| v.shape.log_moment(tilt * v.slope))
                .sum(),
        }
    }

    /// Appends (size of the error, weight) until there are `runs` runs.
    fn extend(&self, drawn: &mut Vec<(f64, f64)>, runs: usize) {
        let old = drawn.len() / RUN;
        drawn.resize(runs * RUN, (0.0, 0.0));
        let Some(fresh) = drawn.get_mut(old * RUN..) else {
            return;
        };
        let work = |(n, share): (usize, &mut [(f64, f64)])| {
            let mut worker = Worker::new(RUN, &self.centre);
            let mut linear = vec![0.0; RUN];
            for (k, run) in share.chunks_mut(RUN).enumerate() {
                self.run(&mut worker, old + n * SHARE + k, &mut linear, run);
            }
        };
        // A handful is done before another thread is awake.
        if fresh.len() > 2 * SHARE * RUN {
            fresh.par_chunks_mut(SHARE * RUN).enumerate().for_each(work);
        } else {
            fresh.chunks_mut(SHARE * RUN).enumerate().for_each(work);
        }
    }

    fn run(&self, worker: &mut Worker, run: usize, linear: &mut [f64], out: &mut [(f64, f64)]) {
        let way = self.ways.get(run % 3).copied().unwrap_or_default();
        let first = (run * RUN) as u64;
        let block = worker.block(self.model, RUN);
        linear.fill(0.0);
        for v in &self.variables {
            let values = block.input_mut(v.input);
            v.shape
                .fill_tilted(way.tilt * v.slope, v.key, first, values);
            if v.slope != 0.0 {
                let mean = v.shape.mean();
                for (sum, &x) in linear.iter_mut().zip(values.iter()) {
                    *sum += v.slope * (x - mean);
                }
            }
        }
        let [_, plus, minus] = self.ways;
        third_weights(
            linear,
            (plus.tilt, plus.log_moment),
            (minus.tilt, minus.log_moment),
        );
        block.run(&self.model.tape, Reading::Exact);
        let errors = block.output(&self.model.tape, self.model.error);
        for ((slot, &e), &w) in out.iter_mut().zip(errors).zip(linear.iter()) {
            // What is no number lies beyond every limit.
            let size = if e.is_nan() { f64::INFINITY } else { e.abs() };
            *slot = (size, w);
        }
    }
}

/// Half of the 95 % interval of a mean over `n` trials, from its sum and the
/// sum of squares.
fn tolerance(sum: f64, squares: f64, n: f64) -> f64 {
    let mean = sum / n;
    let variance = (squares / n - mean * mean).max(0.0) / n;
    normal::quantile(0.5 + 0.5 * CONFIDENCE) * variance.sqrt()
}

/// What the trials say; sizes are searched from `hint` upwards first.
fn read(drawn: &[(f64, f64)], probability: f64, limit: Option<f64>, hint: f64) -> Tails {
    let n = drawn.len() as f64;
    let beyond = (1.0 - probability) * n;
    let upper = |from: f64| {
        let mut upper: Vec<(f64, f64)> = drawn.iter().copied().filter(|s| !(s.0 < from)).collect();
        // Sizes are not negative: their bits are in their order.
        upper.sort_unstable_by_key(|s| std::cmp::Reverse(s.0.to_bits()));
        upper
    };
    // Weights outside the tail, and how well that is known.
    let known = |sorted: &[(f64, f64)]| {
        let (mut sum, mut squares) = (0.0, 0.0);
        for &(_, w) in sorted {
            if sum + w > beyond {
                break;
            }
            sum += w;
            squares += w * w;
        }
        tolerance(sum, squares, n) * n
    };
    let mut sorted = upper(hint);
    let mut spread = known(&sorted);
    if sorted.iter().map(|s| s.1).sum::<f64>() <= beyond + spread {
        sorted = upper(0.0);
        spread = known(&sorted);
    }
    // The size that trials of a given weight in all lie beyond.
    let at = |weight: f64| -> f64 {
        let mut sum = 0.0;
        sorted
            .iter()
            .find(|s| {
                sum += s.1;
                sum > weight
            })
            .or(sorted.last())
            .map_or(f64::NAN, |s| s.0)
    };
    let met = limit.map(|limit| {
        let (sum, squares) = drawn
            .iter()
            .filter(|s| !(s.0 <= limit))
            .fold((0.0, 0.0), |(a, b), &(_, w)| (a + w, b + w * w));
        let share = 1.0 - sum / n;
        // Three untilted trials that might have shown one.
        let half = if squares > 0.0 {
            tolerance(sum, squares, n)
        } else {
            9.0 / n
        };
        (
            share.max(0.0),
            (share - half).max(0.0),
            (share + half).clamp(0.0, 1.0),
        )
    });
    Tails {
        trials: drawn.len() as u64,
        half_width: at(beyond),
        half_width_tolerance: 0.5 * (at((beyond - spread).max(0.0)) - at(beyond + spread)),
        met,
        reached: false,
    }
}

#[cfg(test)]
mod tests;
