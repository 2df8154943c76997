//! What the errors of all trials say.

use statistics::moments::Moments;
use statistics::{binomial, normal, quantile, student};

use super::draw::{Drawer, Trials};
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

pub(super) fn summarise(drawer: &Drawer<'_>, trials: &Trials, settings: &Settings) -> Sampled {
    let count = trials.errors.iter().map(Vec::len).sum::<usize>();
    let mut good: Vec<f64> = Vec::with_capacity(count);
    let mut sizes: Vec<f64> = Vec::with_capacity(count);
    for errors in &trials.errors {
        for &e in errors {
            if e.is_nan() {
                // Beyond every limit.
                sizes.push(f64::INFINITY);
            } else {
                good.push(e);
                sizes.push(e.abs());
            }
        }
    }
    let lost = (count - good.len()) as u64;
    let mut moments = Moments::about(good.first().copied().unwrap_or(0.0));
    moments.add(&good);
    let histogram = histogram(&good);

    let p = settings.probability;
    let pilot = quantile::quantile_in_place(&mut sizes, p);
    let mut share = share_at(trials, pilot, drawer.linear(), p);
    if share.correlation != 0.0 {
        // The control tells most where it is compared at the right place:
        // once more at the corrected half-width.
        for _ in 0..2 {
            let corrected = quantile::quantile_in_place(&mut sizes, share.level.min(1.0));
            share = share_at(trials, corrected, drawer.linear(), p);
        }
    }
    let mut tail = Tail::new(&mut sizes, share.level - share.tolerance);
    let half_width = tail.at(share.level);
    let half_width_tolerance =
        0.5 * (tail.at(share.level + share.tolerance) - tail.at(share.level - share.tolerance));

    let (interval, interval_tolerance) = interval(&mut good, p);
    let met = drawer.limit().map(|limit| met(trials, limit));
    let wanted = (settings.tolerance * half_width)
        .max(settings.tolerance_of_limit * drawer.limit().unwrap_or(0.0));
    Sampled {
        trials: count as u64,
        mean: moments.mean(),
        deviation: moments.deviation(),
        interval,
        interval_tolerance,
        half_width,
        half_width_tolerance,
        met,
        reached: half_width_tolerance <= wanted,
        lost,
        histogram,
        worst_trials: Vec::new(),
        resolved: trials.resolved,
        unsettled: trials.unsettled,
        control_correlation: share.correlation,
    }
}

/// The probabilistically symmetric interval and the numerical uncertainty of
/// its ends, as if the trials were independent.
fn interval(good: &mut [f64], p: f64) -> ((f64, f64), f64) {
    let beyond = 0.5 - 0.5 * p;
    let n = good.len().max(1) as f64;
    let spread = normal::quantile(0.5 + 0.5 * CONFIDENCE) * (beyond * (1.0 - beyond) / n).sqrt();
    let mut ends = [0.0; 2];
    let mut tolerance = 0.0_f64;
    for end in &mut ends {
        // The lower end is the upper one of the mirrored sample.
        for e in good.iter_mut() {
            *e = -*e;
        }
        let level = 1.0 - beyond;
        let mut tail = Tail::new(good, level - spread);
        *end = tail.at(level);
        tolerance = tolerance.max(0.5 * (tail.at(level + spread) - tail.at(level - spread)));
    }
    ((-ends[0], ends[1]), tolerance)
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

/// The upper end of a sample, sorted.
struct Tail<'a> {
    count: usize,
    below: usize,
    sorted: &'a [f64],
}

impl<'a> Tail<'a> {
    /// From probability `from` upwards.
    fn new(values: &'a mut [f64], from: f64) -> Self {
        let count = values.len();
        let position = (from * count as f64 - 0.5).floor();
        let below = (position.max(0.0) as usize).min(count.saturating_sub(1));
        if count > 0 {
            values.select_nth_unstable_by(below, f64::total_cmp);
        }
        let upper = values.get_mut(below..).unwrap_or_default();
        upper.sort_unstable_by(f64::total_cmp);
        Tail {
            count,
            below,
            sorted: upper,
        }
    }

    /// The value of rank r stands at (r − ½)/n, lines between.
    fn at(&mut self, p: f64) -> f64 {
        let last = self.count.saturating_sub(1) as f64;
        let position = (p * self.count as f64 - 0.5).clamp(0.0, last);
        let rank = position.floor() as usize;
        let at = |rank: usize| {
            rank.checked_sub(self.below)
                .and_then(|i| self.sorted.get(i))
                .or(self.sorted.last())
                .copied()
                .unwrap_or(f64::NAN)
        };
        let (low, high) = (at(rank), at(rank + 1));
        if low == high {
            return low;
        }
        low + (position - rank as f64) * (high - low)
    }
}

fn histogram(values: &[f64]) -> Histogram {
    let (low, high) = values
        .iter()
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &v| {
            (low.min(v), high.max(v))
        });
    let mut counts = vec![0u64; CELLS];
    let scale = CELLS as f64 / (high - low);
    for &v in values.iter().filter(|v| v.is_finite()) {
        // Equal values all: one cell holds them.
        let cell = if scale.is_finite() {
            ((v - low) * scale) as usize
        } else {
            CELLS / 2
        };
        if let Some(count) = counts.get_mut(cell.min(CELLS - 1)) {
            *count += 1;
        }
    }
    Histogram { low, high, counts }
}
