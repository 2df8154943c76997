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

use crate::model::{Model, ModelFault};
use crate::sampling::{Worker, decided, keyed};
use crate::settings::Settings;

/// Trials drawn one way at a stretch.
const RUN: usize = 384;
/// Untilted trials of the first look for each that should lie beyond the
/// half-width: one that the tangent knows nothing of is then seen with 95 %.
const SEEN: f64 = 3.0;
/// Confidence of what is said.
const CONFIDENCE: f64 = 0.95;
/// Streams lie apart from those of plain trials under one seed.
const TAIL_STREAM: u64 = 0x7a11_5000_0000_0000;
/// Largest tilt, in reciprocal deviations of the error.
const STEEPEST: f64 = 12.0;
/// Share of the tail below which a side is not worth a third of the trials.
const NEVER: f64 = 0.02;

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
    /// The half-width, as far as the tangent tells.
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
            let (tilt, h) = sampler.aim(bias, u, 1.0 - settings.probability);
            // Towards the nearer limit, and towards the farther one unless
            // that is never reached.
            let near = tilt.copysign(bias);
            let both = elementary::exp(-2.0 * bias.abs() * tilt) > NEVER;
            sampler.hint = h;
            sampler.ways[1] = sampler.way(near);
            sampler.ways[2] = sampler.way(if both { -near } else { near });
        }
        Ok((sampler, limit))
    }

    fn way(&self, tilt: f64) -> Way {
        Way {
            tilt,
            log_moment: self.log_moment(tilt),
        }
    }

    /// ln E[exp(tilt·t)] of the linear part t about its mean.
    fn log_moment(&self, tilt: f64) -> f64 {
        let of = |v: &Tilted| v.shape.log_moment(tilt * v.slope);
        self.variables.iter().map(of).sum()
    }

    /// The derivative of that: the mean of the tilted linear part.
    fn shift(&self, tilt: f64) -> f64 {
        let of = |v: &Tilted| v.slope * v.shape.tilted_shift(tilt * v.slope);
        self.variables.iter().map(of).sum()
    }

    /// The tilt that moves the linear part to where its tail begins, and the
    /// size of the error there. The tail's probability is that of the
    /// saddlepoint (R. Lugannani, S. O. Rice, "Saddle point approximation for
    /// the distribution of the sum of independent random variables", Adv.
    /// Appl. Prob. 12, 1980), some per cent right; the weights know the rest.
    fn aim(&self, bias: f64, u: f64, beyond: f64) -> (f64, f64) {
        let tail = |tilt: f64| {
            let (x, more) = (self.shift(tilt), self.shift(1.02 * tilt));
            let exponent = (tilt * x - self.log_moment(tilt)).max(0.0);
            let w = (2.0 * exponent).sqrt();
            let v = tilt * ((more - x) / (0.02 * tilt)).max(0.0).sqrt();
            let one = normal::cdf(-w) + normal::pdf(w) * (1.0 / v - 1.0 / w);
            one * (1.0 + elementary::exp(-2.0 * bias.abs() * tilt))
        };
        let (mut low, mut high) = (0.1 / u, STEEPEST / u);
        for _ in 0..12 {
            let middle = 0.5 * (low + high);
            if tail(middle) > beyond {
                low = middle;
            } else {
                high = middle;
            }
        }
        (low, bias.abs() + self.shift(low))
    }

    /// Appends (size of the error, weight) until there are `runs` runs.
    fn extend(&self, drawn: &mut Vec<(f64, f64)>, runs: usize) {
        let old = drawn.len() / RUN;
        drawn.resize(runs * RUN, (0.0, 0.0));
        let Some(fresh) = drawn.get_mut(old * RUN..) else {
            return;
        };
        // One share for each thread: each has its own working space.
        let count = fresh.len() / RUN;
        let share = count.div_ceil(rayon::current_num_threads()).max(1);
        fresh
            .par_chunks_mut(share * RUN)
            .enumerate()
            .for_each(|(n, part)| {
                let mut worker = Worker::new(RUN, &self.centre);
                let mut linear = vec![0.0; RUN];
                for (k, run) in part.chunks_mut(RUN).enumerate() {
                    self.run(&mut worker, old + n * share + k, &mut linear, run);
                }
            });
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

/// The larger sizes of a sample with their weights.
struct Upper {
    /// Weight, and sum of squared weights, of what lies above the window.
    above: (f64, f64),
    /// The window, the largest first.
    sorted: Vec<(f64, f64)>,
}

impl Upper {
    fn new(drawn: &[(f64, f64)], low: f64, high: f64) -> Self {
        let mut above = (0.0, 0.0);
        let mut sorted = Vec::with_capacity(drawn.len());
        for &(size, w) in drawn {
            if size > high {
                above = (above.0 + w, above.1 + w * w);
            } else if size >= low {
                sorted.push((size, w));
            }
        }
        // Sizes are not negative: their bits are in their order.
        sorted.sort_unstable_by_key(|s| std::cmp::Reverse(s.0.to_bits()));
        Upper { above, sorted }
    }

    /// How well it is known which trials lie beyond a weight in all, in
    /// weight.
    fn spread(&self, beyond: f64, n: f64) -> f64 {
        let (mut sum, mut squares) = self.above;
        for &(_, w) in &self.sorted {
            if sum + w > beyond {
                break;
            }
            sum += w;
            squares += w * w;
        }
        tolerance(sum, squares, n) * n
    }

    /// Whether the sizes at both weights are in the window.
    fn holds(&self, low: f64, high: f64) -> bool {
        let window: f64 = self.sorted.iter().map(|s| s.1).sum();
        self.above.0 <= low && self.above.0 + window > high
    }

    /// The size that trials of a given weight in all lie beyond.
    fn at(&self, weight: f64) -> f64 {
        let mut sum = self.above.0;
        self.sorted
            .iter()
            .find(|s| {
                sum += s.1;
                sum > weight
            })
            .or(self.sorted.last())
            .map_or(f64::NAN, |s| s.0)
    }
}

/// What the trials say; `hint` is about where the half-width lies.
fn read(drawn: &[(f64, f64)], probability: f64, limit: Option<f64>, hint: f64) -> Tails {
    let n = drawn.len() as f64;
    let beyond = (1.0 - probability) * n;
    let mut upper = Upper::new(drawn, 0.94 * hint, 1.06 * hint);
    let mut spread = upper.spread(beyond, n);
    if !upper.holds((beyond - spread).max(0.0), beyond + spread) {
        upper = Upper::new(drawn, 0.0, f64::INFINITY);
        spread = upper.spread(beyond, n);
    }
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
        half_width: upper.at(beyond),
        half_width_tolerance: 0.5
            * (upper.at((beyond - spread).max(0.0)) - upper.at(beyond + spread)),
        met,
        reached: false,
    }
}

#[cfg(test)]
mod tests;
