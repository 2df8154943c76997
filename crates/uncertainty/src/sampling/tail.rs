//! The largest values of a sample, without moving the whole of it.

use rayon::prelude::*;

/// Values looked at by one thread at a stretch.
pub(super) const STRETCH: usize = 1 << 15;
/// Values of the sample that are looked at first to see how far down the tail
/// reaches.
const SCOUTS: usize = 4096;
/// Values tested together before any of them is looked at.
const ROW: usize = 32;

/// The upper end of a sample in ascending order.
pub(super) struct Tail {
    /// Values in the sample, the lower ones included.
    count: usize,
    /// How many of them lie below those kept.
    below: usize,
    sorted: Vec<f64>,
}

impl Tail {
    /// The sample's values from probability `from` upwards, by `key`; values
    /// whose key is not a number do not belong to the sample. `count` values
    /// belong to it.
    ///
    /// What is found does not depend on how it is searched for.
    pub fn new(
        parts: &[Vec<f64>],
        key: impl Fn(f64) -> f64 + Copy + Sync,
        count: usize,
        from: f64,
    ) -> Self {
        let position = (from * count as f64 - 0.5).floor();
        let below = (position.max(0.0) as usize).min(count.saturating_sub(1));
        let wanted = count - below;
        let mut kept = beyond(parts, key, threshold(parts, key, count, wanted));
        if kept.len() < wanted {
            kept = beyond(parts, key, f64::NEG_INFINITY);
        }
        let spare = kept.len().saturating_sub(wanted);
        if spare > 0 {
            kept.select_nth_unstable_by(spare, f64::total_cmp);
            kept.drain(..spare);
        }
        kept.sort_unstable_by(f64::total_cmp);
        Tail {
            count,
            below,
            sorted: kept,
        }
    }

    /// Whether the quantile at `p` is among the values kept.
    pub fn reaches(&self, p: f64) -> bool {
        (p * self.count as f64 - 0.5).floor() >= self.below as f64 || self.below == 0
    }

    /// The quantile: the value of rank r stands at (r − ½)/n, lines between.
    /// The lowest value kept where it lies below.
    pub fn at(&self, p: f64) -> f64 {
        let last = self.count.saturating_sub(1) as f64;
        let position = (p * self.count as f64 - 0.5).clamp(0.0, last);
        let rank = position.floor() as usize;
        let at = |rank: usize| {
            rank.checked_sub(self.below)
                .map_or(self.sorted.first(), |i| {
                    self.sorted.get(i).or(self.sorted.last())
                })
                .copied()
                .unwrap_or(f64::NAN)
        };
        let (low, high) = (at(rank), at(rank + 1));
        let fraction = position - rank as f64;
        // Also where the next one is infinite.
        if low == high || fraction == 0.0 {
            return low;
        }
        low + fraction * (high - low)
    }
}

/// A value that about twice as many as wanted lie above, by a sample of the
/// sample.
fn threshold(
    parts: &[Vec<f64>],
    key: impl Fn(f64) -> f64 + Copy,
    count: usize,
    wanted: usize,
) -> f64 {
    let total: usize = parts.iter().map(Vec::len).sum();
    let stride = (total / SCOUTS).max(1);
    if stride < 4 {
        return f64::NEG_INFINITY;
    }
    let mut scouts: Vec<f64> = parts
        .iter()
        .flat_map(|part| part.iter().step_by(stride))
        .map(|&value| key(value))
        .filter(|k| !k.is_nan())
        .collect();
    // With a margin of four deviations of the count above it.
    let expected = wanted as f64 / count.max(1) as f64 * scouts.len() as f64;
    let above = (expected + 4.0 * expected.sqrt() + 8.0) as usize;
    if above >= scouts.len() {
        return f64::NEG_INFINITY;
    }
    let rank = scouts.len() - 1 - above;
    let (_, found, _) = scouts.select_nth_unstable_by(rank, f64::total_cmp);
    *found
}

/// The keys that are not below `threshold`, in the order of the trials.
fn beyond(parts: &[Vec<f64>], key: impl Fn(f64) -> f64 + Copy + Sync, threshold: f64) -> Vec<f64> {
    let one = |stretch: &[f64]| {
        let mut found = Vec::new();
        for row in stretch.chunks(ROW) {
            let any = row
                .iter()
                .fold(false, |any, &value| any | (key(value) >= threshold));
            if any {
                found.extend(row.iter().map(|&v| key(v)).filter(|&k| k >= threshold));
            }
        }
        found
    };
    let found: Vec<Vec<f64>> = parts
        .par_iter()
        .flat_map(|part| part.par_chunks(STRETCH))
        .map(one)
        .collect();
    found.concat()
}

#[cfg(test)]
mod tests {
    use super::*;
    use statistics::{Shape, quantile, stream};

    fn sample(count: usize) -> Vec<f64> {
        let mut values = vec![0.0; count];
        let shape = Shape::Normal {
            mean: 0.3,
            deviation: 1.0,
        };
        shape.fill(stream::key(5, count as u64), 0, &mut values);
        values
    }

    #[test]
    fn reference_tail_is_what_sorting_everything_finds() {
        for count in [1, 2, 3, 100, 5000, 70_000, 300_000] {
            for spoilt in [false, true] {
                let mut values = sample(count);
                if spoilt {
                    // Equal values, a few huge ones, and no numbers.
                    for (n, v) in values.iter_mut().enumerate() {
                        match n % 97 {
                            0 => *v = 1.0,
                            1 => *v = f64::NAN,
                            2 if n > 60_000 => *v = f64::INFINITY,
                            _ => {}
                        }
                    }
                }
                let halves = [values[..count / 3].to_vec(), values[count / 3..].to_vec()];
                let keys: [fn(f64) -> f64; 3] = [
                    |e| if e.is_nan() { f64::INFINITY } else { e.abs() },
                    |e| e,
                    |e| -e,
                ];
                for key in keys {
                    let mut all: Vec<f64> = values
                        .iter()
                        .map(|&v| key(v))
                        .filter(|k| !k.is_nan())
                        .collect();
                    if all.is_empty() {
                        continue;
                    }
                    quantile::sort(&mut all);
                    for from in [0.0, 0.5, 0.9, 0.995, 1.0] {
                        let tail = Tail::new(&halves, key, all.len(), from);
                        for p in [from, 0.5 * (1.0 + from), 0.9973, 1.0] {
                            if tail.reaches(p) {
                                let wanted = quantile::quantile_of_sorted(&all, p);
                                assert!(
                                    tail.at(p) == wanted || (tail.at(p) - wanted).abs() < 1e-15,
                                    "{count} {from} {p}: {} {wanted}",
                                    tail.at(p)
                                );
                            } else {
                                assert!(p < from + 1.0 / all.len() as f64);
                            }
                        }
                    }
                }
            }
        }
    }
}
