//! The inverse question: how far may a quantity go?

/// How finely to look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Search {
    /// Points of the first look over the whole range, its ends among them.
    pub scan: usize,
    /// Relative tolerance of the value found (of the range where it includes
    /// zero or less).
    pub tolerance: f64,
}

impl Default for Search {
    fn default() -> Self {
        Search {
            scan: 17,
            tolerance: 1e-6,
        }
    }
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// The result stays within the limit up to this value.
    Value {
        /// The value; the result there is within the limit.
        value: f64,
        /// The result there.
        result: f64,
        /// The limit lies within this distance of the value.
        tolerance: f64,
        /// Every other value at which the result crosses the limit, ascending:
        /// with any, the value found is not the only border.
        other_crossings: Vec<f64>,
    },
    /// Within the limit at every point looked at.
    Always,
    /// Within the limit at none.
    Never,
    /// The range or the limit is no number, or the range is empty.
    NoRange,
}

/// The largest value of a quantity for which the result `f` stays at or below
/// `limit`, between `low` and `high`.
///
/// Begins with points over the whole range, in equal ratios if `low` > 0, in
/// equal steps otherwise, so that a result that crosses the limit more than
/// once is noticed (between two neighbouring points it still may). From the
/// low end upwards, the first stretch within the limit is followed to its
/// upper end; where the low end itself is outside, its lower end is among the
/// other crossings. `None` from `f`, and NaN, count as not within.
///
/// ```
/// use uncertainty::inverse::{Answer, Search, largest};
/// // 1 kΩ with 9 kΩ in series: the error of a divider by its source
/// // resistance, r/(r + 9 kΩ) ≤ 1 %
/// let answer = largest(|r| Some(r / (r + 9e3)), 1.0, 1e4, 0.01, &Search::default());
/// match answer {
///     Answer::Value { value, .. } => assert!((value - 9e3 / 99.0).abs() < 1e-3),
///     _ => panic!("not found"),
/// }
/// ```
pub fn largest(
    f: impl FnMut(f64) -> Option<f64>,
    low: f64,
    high: f64,
    limit: f64,
    search: &Search,
) -> Answer {
    Inverse { f, limit }.run(low, high, true, search)
}

/// The smallest value of a quantity for which the result `f` stays at or
/// below `limit`; as [`largest`], looked at from the high end downwards.
pub fn smallest(
    f: impl FnMut(f64) -> Option<f64>,
    low: f64,
    high: f64,
    limit: f64,
    search: &Search,
) -> Answer {
    Inverse { f, limit }.run(low, high, false, search)
}

struct Inverse<F> {
    f: F,
    limit: f64,
}

/// A point: where, and how far above the limit (infinite if there is no
/// result).
type Looked = (f64, f64);

impl<F: FnMut(f64) -> Option<f64>> Inverse<F> {
    fn look(&mut self, x: f64) -> Looked {
        let excess = match (self.f)(x) {
            Some(y) if !y.is_nan() => y - self.limit,
            _ => f64::INFINITY,
        };
        (x, excess)
    }

    fn run(&mut self, low: f64, high: f64, upwards: bool, search: &Search) -> Answer {
        if !(low < high && low.is_finite() && high.is_finite()) || self.limit.is_nan() {
            return Answer::NoRange;
        }
        let geometric = low > 0.0;
        let mut points: Vec<Looked> = scan(low, high, search.scan.max(2), geometric)
            .into_iter()
            .map(|x| self.look(x))
            .collect();
        if !upwards {
            points.reverse();
        }
        let within = |p: &Looked| p.1 <= 0.0;
        if points.iter().all(within) {
            return Answer::Always;
        }
        if !points.iter().any(within) {
            return Answer::Never;
        }
        let tolerance = |x: f64| {
            if geometric {
                search.tolerance * x.abs()
            } else {
                search.tolerance * (high - low)
            }
        };
        let mut found: Option<(Looked, f64)> = None;
        let mut crossings = Vec::new();
        let mut was_within = within(&points[0]);
        for pair in points.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            if within(&a) == within(&b) {
                continue;
            }
            let (inside, width) = self.border(a, b, geometric, &tolerance);
            if was_within && found.is_none() {
                found = Some((inside, width));
            } else {
                crossings.push(inside.0);
            }
            was_within = within(&b);
        }
        let (at, tolerance) = match found {
            Some(found) => found,
            // Within from somewhere up to the far end of the range.
            None => match points.last() {
                Some(&end) => (end, 0.0),
                None => return Answer::NoRange,
            },
        };
        crossings.sort_unstable_by(f64::total_cmp);
        Answer::Value {
            value: at.0,
            result: at.1 + self.limit,
            tolerance,
            other_crossings: crossings,
        }
    }

    /// Closes in on the border between a point within and one that is not:
    /// the point within, and the distance to the other. Straight lines where
    /// both are numbers (regula falsi with the halving of Illinois; M. Dowell,
    /// P. Jarratt, BIT 11, 1971), halving whenever that closes in slowly.
    fn border(
        &mut self,
        a: Looked,
        b: Looked,
        geometric: bool,
        tolerance: &dyn Fn(f64) -> f64,
    ) -> (Looked, f64) {
        let (mut inside, mut outside) = if a.1 <= 0.0 { (a, b) } else { (b, a) };
        // Weights of the two results on the straight line.
        let (mut weight_in, mut weight_out) = (1.0, 1.0);
        let mut last_inside = None;
        for round in 0..200 {
            let width = (outside.0 - inside.0).abs();
            if width <= tolerance(inside.0) {
                break;
            }
            let middle = if geometric {
                (inside.0 * outside.0).sqrt()
            } else {
                0.5 * (inside.0 + outside.0)
            };
            let (y_in, y_out) = (inside.1 * weight_in, outside.1 * weight_out);
            let share = y_in / (y_in - y_out);
            let line = inside.0 + share * (outside.0 - inside.0);
            let usable = share > 0.0 && share < 1.0 && y_out.is_finite() && round % 3 != 2;
            // A little further than the line, so that the border is soon
            // enclosed from both sides.
            let push = 0.5 * tolerance(line);
            let x = if usable {
                let direction = if outside.0 > inside.0 { 1.0 } else { -1.0 };
                match last_inside {
                    Some(true) => line + direction * push,
                    Some(false) => line - direction * push,
                    None => line,
                }
            } else {
                middle
            };
            let (lower, upper) = if inside.0 < outside.0 {
                (inside.0, outside.0)
            } else {
                (outside.0, inside.0)
            };
            let x = if x > lower && x < upper { x } else { middle };
            if x <= lower || x >= upper {
                break;
            }
            let looked = self.look(x);
            if looked.1 <= 0.0 {
                inside = looked;
                weight_in = 1.0;
                if last_inside == Some(true) {
                    weight_out *= 0.5;
                }
                last_inside = Some(true);
            } else {
                outside = looked;
                weight_out = 1.0;
                if last_inside == Some(false) {
                    weight_in *= 0.5;
                }
                last_inside = Some(false);
            }
        }
        (inside, (outside.0 - inside.0).abs())
    }
}

/// Points over a range, the ends exactly.
fn scan(low: f64, high: f64, count: usize, geometric: bool) -> Vec<f64> {
    let last = count - 1;
    let ratio = elementary::ln(high / low);
    (0..count)
        .map(|i| {
            let share = i as f64 / last as f64;
            if i == 0 {
                low
            } else if i == last {
                high
            } else if geometric {
                low * elementary::exp(ratio * share)
            } else {
                low + (high - low) * share
            }
        })
        .collect()
}
