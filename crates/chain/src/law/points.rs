//! Functions given by points, and their inverses.

use tape::{Iteration, Table, TableFault, Value};

use super::interface::WordSpec;
use super::newton;

/// How points are joined; the word `curve` of every law given by points.
pub(super) const CURVE: WordSpec = WordSpec {
    name: "curve",
    choices: &["smooth", "straight"],
    default: Some("smooth"),
    meaning: "whether the points are joined smoothly (monotone cubics) or by straight lines",
};

/// Samples per interval from which the search for an inverse starts.
const START_SAMPLES: u32 = 16;

/// Half width, as a share of the shorter neighbour, over which the slope's
/// corner at a point is rounded.
const CORNER: f64 = 1e-6;

/// How far, in ranges, the inverse may run beyond the points.
const BEYOND: f64 = 100.0;

/// A function through points, straight beyond both ends.
pub(super) struct Curve {
    table: Table,
    x: Vec<f64>,
    y: Vec<f64>,
    smooth: bool,
}

impl Curve {
    /// Through the points (x rising), smoothly or by straight lines.
    pub(super) fn new(x: Vec<f64>, y: Vec<f64>, smooth: bool) -> Result<Curve, TableFault> {
        let table = if smooth {
            Table::monotone(&x, &y)?
        } else {
            Table::lines(&x, &y)?
        };
        Ok(Curve {
            table,
            x,
            y,
            smooth,
        })
    }

    /// The value at x.
    pub(super) fn at<'t>(&self, x: Value<'t>) -> Value<'t> {
        x.builder().lookup(&self.table, x)
    }

    /// Where the function has the value y; `None` unless the points rise or
    /// fall throughout.
    pub(super) fn back<'t>(&self, y: Value<'t>) -> Option<Value<'t>> {
        let rises = self.y.windows(2).all(|w| w[0] < w[1]);
        let falls = self.y.windows(2).all(|w| w[0] > w[1]);
        if !(rises || falls) {
            return None;
        }
        let builder = y.builder();
        if !self.smooth {
            let swapped = swapped(&self.x, &self.y, rises).ok()?;
            return Some(builder.lookup(&swapped, y));
        }
        let fine: Vec<f64> = self.x.windows(2).flat_map(subdivided).collect();
        let values: Vec<f64> = fine.iter().map(|&x| self.table.value(x)).collect();
        let start = builder.lookup(&swapped(&fine, &values, rises).ok()?, y);
        let slope = self.slope_table().ok()?;
        let (low, high) = self.table.domain();
        let span = high - low;
        let settings = Iteration {
            most: 60,
            absolute: 1e-9 * span,
            relative: 0.0,
        };
        let bounds = (low - BEYOND * span, high + BEYOND * span);
        Some(newton::root(builder, start, bounds, settings, |x| {
            (self.at(x) - y, builder.lookup(&slope, x))
        }))
    }

    /// The slope of the smooth curve as a table of its own.
    ///
    /// Between points the slope is a parabola, which cubics reproduce; at a
    /// point it has a corner, for which each point stands twice, a little to
    /// either side. Beyond the ends it is constant.
    fn slope_table(&self) -> Result<Table, TableFault> {
        let (low, high) = self.table.domain();
        let span = high - low;
        let (mut knots, mut values, mut slopes) = (Vec::new(), Vec::new(), Vec::new());
        let mut push = |x: f64, value: f64, slope: f64| {
            knots.push(x);
            values.push(value);
            slopes.push(slope);
        };
        let (first, last) = (self.table.slope(low), self.table.slope(high));
        push(low - span, first, 0.0);
        push(low - CORNER * span, first, 0.0);
        for pair in self.x.windows(2) {
            let h = pair[1] - pair[0];
            let gap = CORNER * h;
            let step = (h - 2.0 * gap) / 2.0;
            let at = |i: f64| self.table.slope(pair[0] + gap + i * step);
            let (a, b, c) = (at(0.0), at(1.0), at(2.0));
            // Three values determine the parabola and so its own slope.
            push(pair[0] + gap, a, (4.0 * b - 3.0 * a - c) / (2.0 * step));
            push(pair[1] - gap, c, (3.0 * c + a - 4.0 * b) / (2.0 * step));
        }
        push(high + CORNER * span, last, 0.0);
        push(high + span, last, 0.0);
        Table::cubics(&knots, &values, &slopes)
    }
}

/// The points of an interval: its left end and the places between.
fn subdivided(pair: &[f64]) -> Vec<f64> {
    let (a, b) = (pair[0], pair[1]);
    let place = |i: u32| a + (b - a) * f64::from(i) / f64::from(START_SAMPLES);
    (0..=START_SAMPLES).map(place).collect()
}

/// x over y by straight lines.
fn swapped(x: &[f64], y: &[f64], rises: bool) -> Result<Table, TableFault> {
    let mut pairs: Vec<(f64, f64)> = y.iter().copied().zip(x.iter().copied()).collect();
    if !rises {
        pairs.reverse();
    }
    pairs.dedup_by(|a, b| a.0 <= b.0);
    let (y, x): (Vec<f64>, Vec<f64>) = pairs.into_iter().unzip();
    Table::lines(&y, &x)
}
