//! Monte Carlo.

use rayon::prelude::*;
use statistics::{binomial, stream};
use tape::{Block, DEFAULT_LANES, Reading};

use crate::model::{Model, ModelFault, Role};

/// How much to sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Seed of all streams.
    pub seed: u64,
    /// Probability the interval covers.
    pub probability: f64,
    /// Trials of the first look; doubled until the tolerance is met.
    pub first_trials: u64,
    /// Trials at the most.
    pub most_trials: u64,
    /// Relative numerical tolerance asked of the half-width (95 %).
    pub tolerance: f64,
    /// Trials read at once.
    pub lanes: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            seed: 1,
            probability: 0.9973,
            first_trials: 1 << 15,
            most_trials: 1 << 20,
            tolerance: 0.01,
            lanes: DEFAULT_LANES,
        }
    }
}

/// What sampling found at one set of conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct Sampled {
    /// Trials made.
    pub trials: u64,
    /// Mean error.
    pub mean: f64,
    /// Standard deviation of the error.
    pub deviation: f64,
    /// Ends of the probabilistically symmetric interval.
    pub interval: (f64, f64),
    /// Smallest h with |error| ≤ h in the share of trials asked for.
    pub half_width: f64,
    /// Numerical uncertainty of the half-width, 95 %.
    pub half_width_tolerance: f64,
    /// Share of trials within the limit with its 95 % interval, where there
    /// is a limit.
    pub met: Option<(f64, f64, f64)>,
    /// The tolerance asked for was reached before the cap.
    pub reached: bool,
    /// Trials whose error was not a number; they count as not met.
    pub lost: u64,
}

/// Samples the error at one set of conditions (JCGM 101:2008, clause 7),
/// doubling the number of trials until the half-width is known to the
/// tolerance or the cap is reached.
///
/// Trial i of an input depends on the seed, the input's stream and i alone,
/// so the result is the same for any number of threads and any block size.
/// Rounding is exact.
///
/// # Errors
/// The model does not fit its tape or the conditions.
pub fn sample(
    model: &Model,
    conditions: &[f64],
    settings: &Settings,
) -> Result<Sampled, ModelFault> {
    let centre = model.centre(conditions, |_| false)?;
    let mut errors: Vec<f64> = Vec::new();
    let mut limit = None;
    let mut wanted = settings
        .first_trials
        .clamp(1000, settings.most_trials.max(1000));
    loop {
        let first = errors.len() as u64;
        errors.resize(usize::try_from(wanted).unwrap_or(usize::MAX), 0.0);
        let from = usize::try_from(first).unwrap_or(usize::MAX);
        let found = fill(model, &centre, settings, first, &mut errors[from..]);
        limit = found.or(limit);
        let result = summarise(&errors, limit, settings);
        if result.reached || wanted >= settings.most_trials {
            return Ok(result);
        }
        wanted = (wanted * 2).min(settings.most_trials);
    }
}

/// Draws and computes the trials from `first` on; gives the limit.
fn fill(
    model: &Model,
    centre: &[f64],
    settings: &Settings,
    first: u64,
    errors: &mut [f64],
) -> Option<f64> {
    let lanes = settings.lanes.max(1);
    let drawn: Vec<(usize, u64)> = model
        .inputs
        .iter()
        .enumerate()
        .filter(|(i, input)| {
            input.sampled && input.role != Role::Condition && model.tape.uses_input(*i)
        })
        .map(|(i, input)| (i, stream::key(settings.seed, input.stream)))
        .collect();
    let limits: Vec<Option<f64>> = errors
        .par_chunks_mut(lanes * 64)
        .enumerate()
        .map_init(
            || {
                let mut block = Block::new(&model.tape, lanes);
                for (i, &x) in centre.iter().enumerate() {
                    block.input_mut(i).fill(x);
                }
                block
            },
            |block, (chunk, part)| {
                let start = first + (chunk * lanes * 64) as u64;
                for (n, piece) in part.chunks_mut(lanes).enumerate() {
                    let trial = start + (n * lanes) as u64;
                    for &(input, key) in &drawn {
                        let length = piece.len();
                        model.inputs[input].shape.fill(
                            key,
                            trial,
                            &mut block.input_mut(input)[..length],
                        );
                    }
                    block.run(&model.tape, Reading::Exact);
                    piece.copy_from_slice(&block.output(&model.tape, model.error)[..piece.len()]);
                }
                model
                    .limit
                    .and_then(|o| block.output(&model.tape, o).first().copied())
            },
        )
        .collect();
    limits.into_iter().flatten().next()
}

fn summarise(errors: &[f64], limit: Option<f64>, settings: &Settings) -> Sampled {
    let lost = errors.iter().filter(|e| e.is_nan()).count() as u64;
    let mut sorted: Vec<f64> = errors.iter().copied().filter(|e| !e.is_nan()).collect();
    sorted.sort_unstable_by(f64::total_cmp);
    let n = sorted.len().max(1) as f64;
    let mean = sorted.iter().sum::<f64>() / n;
    let deviation =
        (sorted.iter().map(|e| (e - mean) * (e - mean)).sum::<f64>() / (n - 1.0).max(1.0)).sqrt();
    let p = settings.probability;
    let at = |sorted: &[f64], q: f64| {
        if sorted.is_empty() {
            return f64::NAN;
        }
        statistics::quantile::quantile_of_sorted(sorted, q.clamp(0.0, 1.0))
    };
    let interval = (at(&sorted, 0.5 - 0.5 * p), at(&sorted, 0.5 + 0.5 * p));
    let mut sizes: Vec<f64> = sorted.iter().map(|e| e.abs()).collect();
    sizes.sort_unstable_by(f64::total_cmp);
    let half_width = at(&sizes, p);
    // The order statistics 1.96 binomial deviations either side bound the
    // quantile at 95 % without knowing the density.
    let spread = 1.959_964 * (p * (1.0 - p) / n).sqrt();
    let half_width_tolerance = 0.5 * (at(&sizes, p + spread) - at(&sizes, p - spread));
    let met = limit.map(|limit| {
        let good = sizes.partition_point(|&s| s <= limit) as u64;
        let total = errors.len() as u64;
        let interval = binomial::clopper_pearson(good, total, 0.95);
        (
            good as f64 / total.max(1) as f64,
            interval.low,
            interval.high,
        )
    });
    Sampled {
        trials: errors.len() as u64,
        mean,
        deviation,
        interval,
        half_width,
        half_width_tolerance,
        met,
        reached: half_width_tolerance <= settings.tolerance * half_width,
        lost,
    }
}
