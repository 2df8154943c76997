//! What the errors of all trials say.

use rayon::prelude::*;
use statistics::moments::Moments;
use statistics::{binomial, normal, student};

use super::draw::{Drawer, Trials};
use super::tail::{STRETCH, Tail};
use super::{Histogram, LinearPart, Sampled};
use crate::settings::Settings;

/// Cells of the histogram.
const CELLS: usize = 64;
/// Fewer misses or hits than this are judged by the binomial distribution,
/// however the points were chosen: their scatter over the scrambles says too
/// little.
const FEW: u64 = 32;
/// Confidence of all intervals given.
const CONFIDENCE: f64 = 0.95;

/// How well a share of trials is known.
#[derive(Clone, Copy)]
struct Share {
    /// Half of the width of its 95 % interval.
    tolerance: f64,
    /// What it must be in the trials for the probability to be met, given
    /// what the control says of the trials.
    level: f64,
    correlation: f64,
}

/// How far below the level the tail is looked at to begin with, in standard
/// deviations of the level.
const MARGIN: f64 = 8.0;

/// What decides whether there are enough trials.
pub(super) struct Look {
    half_width: f64,
    half_width_tolerance: f64,
    pub met: Option<(f64, f64, f64)>,
    pub reached: bool,
    correlation: f64,
}

fn total(trials: &Trials) -> usize {
    trials.errors.iter().map(Vec::len).sum()
}

/// The half-width and the share of trials within the limit.
pub(super) fn look(drawer: &Drawer<'_>, trials: &Trials, settings: &Settings) -> Look {
    let count = total(trials);
    let p = settings.probability;
    // An error that is no number lies beyond every limit.
    let size = |e: f64| if e.is_nan() { f64::INFINITY } else { e.abs() };
    let sizes = |from: f64| Tail::new(&trials.errors, size, count, from);
    let spread = MARGIN * (p * (1.0 - p) / count.max(1) as f64).sqrt();
    let mut tail = sizes(p - spread);
    let mut at = |level: f64| {
        if !tail.reaches(level) {
            tail = sizes(level - spread);
        }
        tail.at(level)
    };
    let mut share = share_at(trials, at(p), drawer.linear(), p);
    if share.correlation != 0.0 {
        // The control tells most where it is compared at the right place:
        // once more at the corrected half-width.
        for _ in 0..2 {
            share = share_at(trials, at(share.level.min(1.0)), drawer.linear(), p);
        }
    }
    let half_width = at(share.level);
    let half_width_tolerance =
        0.5 * (at(share.level + share.tolerance) - at(share.level - share.tolerance));
    let wanted = (settings.tolerance * half_width)
        .max(settings.tolerance_of_limit * drawer.limit().unwrap_or(0.0));
    Look {
        half_width,
        half_width_tolerance,
        met: drawer.limit().map(|limit| met(trials, limit)),
        reached: half_width_tolerance <= wanted,
        correlation: share.correlation,
    }
}

/// Everything else that the trials say.
pub(super) fn summarise(trials: &Trials, settings: &Settings, look: Look) -> Sampled {
    let count = total(trials);
    let outline = Outline::of(&trials.errors);
    let good = count - outline.lost as usize;
    let (moments, (interval, interval_tolerance)) = rayon::join(
        || moments(&trials.errors, &outline),
        || interval(trials, good, settings.probability),
    );
    Sampled {
        trials: count as u64,
        mean: moments.mean(),
        deviation: moments.deviation(),
        interval,
        interval_tolerance,
        half_width: look.half_width,
        half_width_tolerance: look.half_width_tolerance,
        met: look.met,
        reached: look.reached,
        lost: outline.lost,
        histogram: histogram(&trials.errors, &outline),
        worst_trials: Vec::new(),
        resolved: trials.resolved,
        unsettled: trials.unsettled,
        control_correlation: look.correlation,
    }
}

fn moments(errors: &[Vec<f64>], outline: &Outline) -> Moments {
    let mut moments = Moments::about(outline.first.unwrap_or(0.0));
    for errors in errors {
        if outline.lost == 0 {
            moments.add(errors);
        } else {
            let good: Vec<f64> = errors.iter().copied().filter(|e| !e.is_nan()).collect();
            moments.add(&good);
        }
    }
    moments
}

/// The probabilistically symmetric interval and the numerical uncertainty of
/// its ends, as if the trials were independent; `good` errors are numbers.
fn interval(trials: &Trials, good: usize, p: f64) -> ((f64, f64), f64) {
    let beyond = 0.5 - 0.5 * p;
    let n = good.max(1) as f64;
    let spread = normal::quantile(0.5 + 0.5 * CONFIDENCE) * (beyond * (1.0 - beyond) / n).sqrt();
    let level = 1.0 - beyond;
    // The lower end is the upper one of the mirrored sample.
    let [low, high] = [-1.0, 1.0].map(|sign: f64| {
        let tail = Tail::new(&trials.errors, |e| sign * e, good, level - spread);
        let tolerance = 0.5 * (tail.at(level + spread) - tail.at(level - spread));
        (sign * tail.at(level), tolerance)
    });
    ((low.0, high.0), low.1.max(high.1))
}

fn within(e: f64, limit: f64) -> bool {
    e.abs() <= limit
}

/// How well the share of trials with |error| ≤ h is known, and its level
/// corrected by the control (J. C. Hsu, B. L. Nelson, "Control variates for
/// quantile estimation", Management Science 36, 1990): the same share of the
/// linear part is known exactly, and as much as the trials are off there they
/// are, in proportion to the regression of one on the other, off here.
fn share_at(trials: &Trials, h: f64, control: Option<&LinearPart>, p: f64) -> Share {
    if control.is_none() && trials.errors.len() < 2 {
        let n = total(trials).max(1) as f64;
        let binomial = (p * (1.0 - p) / n).sqrt();
        return Share {
            tolerance: (normal::quantile(0.5 + 0.5 * CONFIDENCE) * binomial).max(1.0 / n),
            level: p,
            correlation: 0.0,
        };
    }
    let mut replicates: Vec<(f64, f64)> = Vec::with_capacity(trials.errors.len());
    let (mut total, mut hits, mut control_hits, mut both) = (0u64, 0u64, 0u64, 0u64);
    for (n, errors) in trials.errors.iter().enumerate() {
        let (mut a, mut b) = (0u64, 0u64);
        match (control, trials.linear.get(n)) {
            (Some(control), Some(linear)) => {
                for (&e, &l) in errors.iter().zip(linear) {
                    let (x, y) = (within(e, h), within(l, control.level));
                    a += u64::from(x);
                    b += u64::from(y);
                    both += u64::from(x & y);
                }
            }
            _ => a = errors.iter().map(|&e| u64::from(within(e, h))).sum(),
        }
        total += errors.len() as u64;
        hits += a;
        control_hits += b;
        let each = errors.len().max(1) as f64;
        replicates.push((a as f64 / each, b as f64 / each));
    }
    let n = total.max(1) as f64;
    let (a, b, ab) = (hits as f64 / n, control_hits as f64 / n, both as f64 / n);
    let (slope, correlation) = if control.is_some() && b > 0.0 && b < 1.0 && a < 1.0 {
        let covariance = ab - a * b;
        (
            covariance / (b * (1.0 - b)),
            covariance / (a * (1.0 - a) * b * (1.0 - b)).sqrt(),
        )
    } else {
        (0.0, 0.0)
    };
    let binomial = (p * (1.0 - p) * (1.0 - correlation * correlation).max(0.0) / n).sqrt();
    let tolerance = if replicates.len() < 2 {
        normal::quantile(0.5 + 0.5 * CONFIDENCE) * binomial
    } else {
        scatter(replicates.iter().map(|(a, b)| a - slope * b))
    };
    Share {
        // However well the control knows the share, the trials stand apart.
        tolerance: tolerance.max(1.0 / n),
        level: p + slope * (b - p),
        correlation,
    }
}

/// Half of the 95 % interval of the mean of replicates (Student).
fn scatter(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    let t = student::quantile(0.5 + 0.5 * CONFIDENCE, values.len() as f64 - 1.0);
    t * statistics::moments::deviation_of_mean(&values)
}

/// Share of trials within the limit, with its 95 % interval.
fn met(trials: &Trials, limit: f64) -> (f64, f64, f64) {
    let hits: Vec<u64> = trials
        .errors
        .iter()
        .map(|errors| errors.iter().map(|&e| u64::from(within(e, limit))).sum())
        .collect();
    let total: u64 = trials.errors.iter().map(|e| e.len() as u64).sum();
    let hit: u64 = hits.iter().sum();
    let share = hit as f64 / total.max(1) as f64;
    if hits.len() < 2 || hit < FEW || total - hit < FEW {
        let interval = binomial::clopper_pearson(hit, total, CONFIDENCE);
        return (share, interval.low, interval.high);
    }
    let each = total as f64 / hits.len() as f64;
    let half = scatter(hits.iter().map(|&h| h as f64 / each));
    (share, (share - half).max(0.0), (share + half).min(1.0))
}

/// Ends of the finite errors and how many are no numbers.
#[derive(Clone, Copy)]
struct Outline {
    /// The first that is a number.
    first: Option<f64>,
    low: f64,
    high: f64,
    lost: u64,
}

impl Outline {
    fn of(errors: &[Vec<f64>]) -> Self {
        let one = |part: &[f64]| {
            part.iter().fold(
                (f64::INFINITY, f64::NEG_INFINITY, 0),
                |(low, high, lost), &e| {
                    let finite = e.abs() < f64::INFINITY;
                    let (l, h) = if finite { (e, e) } else { (low, high) };
                    (
                        if l < low { l } else { low },
                        if h > high { h } else { high },
                        lost + u64::from(e.is_nan()),
                    )
                },
            )
        };
        let (low, high, lost) = errors
            .par_iter()
            .flat_map(|part| part.par_chunks(STRETCH))
            .map(one)
            .reduce(
                || (f64::INFINITY, f64::NEG_INFINITY, 0),
                |a, b| (a.0.min(b.0), a.1.max(b.1), a.2 + b.2),
            );
        Outline {
            first: errors.iter().flatten().copied().find(|e| !e.is_nan()),
            low,
            high,
            lost,
        }
    }
}

fn histogram(errors: &[Vec<f64>], outline: &Outline) -> Histogram {
    let (low, high) = (outline.low, outline.high);
    let scale = CELLS as f64 / (high - low);
    let one = |part: &[f64]| {
        let mut counts = [0u64; CELLS];
        for &e in part.iter().filter(|e| e.is_finite()) {
            // Equal values all: one cell holds them.
            let cell = if scale.is_finite() {
                ((e - low) * scale) as usize
            } else {
                CELLS / 2
            };
            counts[cell.min(CELLS - 1)] += 1;
        }
        counts
    };
    let counts = errors
        .par_iter()
        .flat_map(|part| part.par_chunks(STRETCH))
        .map(one)
        .reduce(
            || [0; CELLS],
            |mut a, b| {
                for (a, b) in a.iter_mut().zip(b) {
                    *a += b;
                }
                a
            },
        );
    Histogram {
        low,
        high,
        counts: counts.to_vec(),
    }
}
