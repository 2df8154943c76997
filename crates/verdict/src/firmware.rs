//! The firmware's conversion, looked at over every code.

use chain::channel::{AS_WRITTEN, CODE, IN_32_BITS, IN_64_BITS, RIGHT, WITH_FRACTIONS, conversion};
use parts::Rounding;
use tape::{Point as Values, Reading, Tape};

use crate::known::{self, Point};
use crate::study::Study;

/// Codes looked at; of a converter with more, as many evenly spread ones.
const CODES: usize = 1 << 16;

/// One code and what is made of it; SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct At {
    pub code: f64,
    pub written: f64,
    pub in_32_bits: f64,
    pub in_64_bits: f64,
    pub fractions: f64,
    pub right: f64,
}

/// The conversion over the codes of the span.
pub(crate) struct Firmware {
    tape: Tape,
    /// Codes of the span in their order.
    pub points: Vec<At>,
    /// Every code was looked at.
    pub every: bool,
    /// A code stands for the values from it up to the next one.
    pub floors: bool,
    /// The highest code there is.
    pub last: f64,
}

impl Firmware {
    /// Of a channel that states a formula or assumes values; `None` of others
    /// and where it cannot be built.
    pub fn of(study: &Study<'_>) -> Option<Firmware> {
        let channel = study.channel;
        let c = &channel.conversion;
        if c.steps.is_empty() && c.assumed.is_none() && c.assumed_reference_v.is_none() {
            return None;
        }
        let (first, end) = study.codes?;
        let input = channel.input.as_ref()?;
        let unit = study
            .board
            .devices
            .get(input.device)?
            .part
            .converters
            .get(input.unit)?;
        let tape = conversion(study.board, channel).ok()?.tape;
        // Whole codes count from zero, also where they stand for both signs.
        let last = end - first - 1.0;
        let (low, high) = channel.span.value;
        let whole = |q: f64| (study.at_quantity(CODE, q)).floor().clamp(0.0, last);
        let (a, b) = (whole(low), whole(high));
        let (from, to) = (a.min(b), a.max(b));
        if !from.is_finite() || !to.is_finite() {
            return None;
        }
        let count = to - from + 1.0;
        let every = count <= CODES as f64;
        let step = if every { 1.0 } else { count / CODES as f64 };
        let mut firmware = Firmware {
            tape,
            points: Vec::new(),
            every,
            floors: unit.rounding == Rounding::Floor,
            last,
        };
        let mut values = Values::default();
        let mut code = from;
        while code <= to {
            firmware.points.push(firmware.at(&mut values, code.floor()));
            code += step;
        }
        Some(firmware)
    }

    fn at(&self, values: &mut Values, code: f64) -> At {
        let mut inputs = self.tape.nominal_inputs().to_vec();
        if let Some(i) = inputs.first_mut() {
            *i = code;
        }
        values.evaluate(&self.tape, &inputs, Reading::Exact);
        let output = |n: usize| values.output(&self.tape, n);
        At {
            code,
            written: output(AS_WRITTEN),
            in_32_bits: output(IN_32_BITS),
            in_64_bits: output(IN_64_BITS),
            fractions: output(WITH_FRACTIONS),
            right: output(RIGHT),
        }
    }

    /// What is made of a code.
    pub fn code(&self, code: f64) -> At {
        self.at(&mut Values::default(), code)
    }

    /// What the mean reading is at the values of the quantity at which errors
    /// are shown, fractions kept: with the code at which everything nominal
    /// puts them.
    pub fn marks(&self, study: &Study<'_>) -> Vec<Point> {
        let half = if self.floors { 0.5 } else { 0.0 };
        known::marks(study.channel)
            .into_iter()
            .filter_map(|q| {
                let code = study.at_quantity(CODE, q);
                let at = self.code(code - half);
                (code >= 0.0 && code <= self.last + 1.0).then_some(Point {
                    right: q,
                    read: q + (at.fractions - at.right),
                })
            })
            .collect()
    }

    /// Errors of the codes, fractions kept, with the widths of the codes.
    pub fn errors(&self) -> Vec<(Point, f64)> {
        let mut list = Vec::with_capacity(self.points.len());
        for (n, p) in self.points.iter().enumerate() {
            let other = self
                .points
                .get(n + 1)
                .or_else(|| n.checked_sub(1).and_then(|m| self.points.get(m)));
            let width = other.map_or(f64::NAN, |o| {
                ((o.right - p.right) / (o.code - p.code)).abs()
            });
            let point = Point {
                right: p.right,
                read: p.fractions,
            };
            list.push((point, width));
        }
        list
    }

    /// The largest error in codes.
    pub fn largest_in_codes(&self) -> f64 {
        self.errors()
            .iter()
            .map(|(p, width)| (p.error() / width).abs())
            .filter(|x| x.is_finite())
            .fold(0.0, f64::max)
    }
}

/// How far values over equally spread codes lie from the straight line
/// through their ends, at most, as a share of their range.
pub(crate) fn curvature(values: &[(f64, f64)]) -> f64 {
    let (Some(&(x0, y0)), Some(&(x1, y1))) = (values.first(), values.last()) else {
        return 0.0;
    };
    let slope = (y1 - y0) / (x1 - x0);
    let far = values
        .iter()
        .map(|&(x, y)| (y - y0 - slope * (x - x0)).abs())
        .fold(0.0, f64::max);
    far / (y1 - y0).abs()
}
