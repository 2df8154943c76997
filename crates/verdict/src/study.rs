//! One channel's model and what can be read off it directly.

use board::{Board, Channel};
use chain::channel::{CODE, Check, ERROR, LIMIT, Unmodelled, VOLT, build_with};
use chain::time::Timing;
use chain::variables::Variable;
use report::Signal;
use tape::{Point, Reading};
use uncertainty::Model;

use crate::model::input;

/// A channel with its model.
pub(crate) struct Study<'a> {
    pub board: &'a Board,
    pub channel: &'a Channel,
    pub model: Model,
    /// The same with the outputs for error and limit alone, for what is read
    /// many times.
    pub lean: Model,
    pub variables: Vec<Variable>,
    /// What must hold for the numbers to be meant.
    pub checks: Vec<Check>,
    /// Range over which the sensor's law is given, SI.
    pub validity: Option<(f64, f64)>,
    /// Noise of one conversion before rounding, codes rms.
    pub single_noise_codes: f64,
    /// Codes at which the converter's scale begins and ends; `None` where the
    /// channel enters no converter.
    pub codes: Option<(f64, f64)>,
}

impl<'a> Study<'a> {
    /// Builds the model of the static errors alone.
    pub fn new(board: &'a Board, channel: &'a Channel) -> Result<Self, Unmodelled> {
        Study::timed(board, channel, &Timing::default())
    }

    /// Builds the model with what sampling adds.
    pub fn timed(
        board: &'a Board,
        channel: &'a Channel,
        timing: &Timing,
    ) -> Result<Self, Unmodelled> {
        let built = build_with(board, channel, timing)?;
        let lean = Model {
            inputs: built.variables.iter().map(input).collect(),
            tape: built.lean,
            error: ERROR,
            limit: channel.accuracy.is_some().then_some(LIMIT),
        };
        let model = Model {
            tape: built.tape,
            ..lean.clone()
        };
        Ok(Study {
            board,
            channel,
            model,
            lean,
            variables: built.variables,
            checks: built.checks,
            validity: built.validity,
            single_noise_codes: built.single_noise_codes,
            codes: codes(board, channel),
        })
    }

    /// Codes for each volt between the converter's inputs, everything nominal.
    pub fn codes_per_volt(&self) -> f64 {
        let (low, high) = self.channel.span.value;
        let (a, b) = (self.at_quantity(VOLT, low), self.at_quantity(VOLT, high));
        let codes = self.at_quantity(CODE, high) - self.at_quantity(CODE, low);
        (codes / (b - a)).abs()
    }

    /// An output with everything at its nominal value and the conditions
    /// given (one value per condition, the quantity first).
    pub fn nominal(&self, output: usize, conditions: &[f64]) -> f64 {
        let mut inputs = self.model.tape.nominal_inputs().to_vec();
        for (&i, &x) in self.model.conditions().iter().zip(conditions) {
            if let Some(input) = inputs.get_mut(i) {
                *input = x;
            }
        }
        let mut point = Point::default();
        point.evaluate(&self.model.tape, &inputs, Reading::Smooth);
        point.output(&self.model.tape, output)
    }

    /// The same with one more input at a value of its own.
    pub fn with_input(&self, output: usize, conditions: &[f64], input: usize, value: f64) -> f64 {
        let mut inputs = self.model.tape.nominal_inputs().to_vec();
        for (&i, &x) in self.model.conditions().iter().zip(conditions) {
            if let Some(place) = inputs.get_mut(i) {
                *place = x;
            }
        }
        if let Some(place) = inputs.get_mut(input) {
            *place = value;
        }
        let mut point = Point::default();
        point.evaluate(&self.model.tape, &inputs, Reading::Smooth);
        point.output(&self.model.tape, output)
    }

    /// All conditions at the middle of their grids.
    pub fn usual_conditions(&self) -> Vec<f64> {
        self.model
            .conditions()
            .into_iter()
            .map(|i| {
                let grid = &self.model.inputs[i].grid;
                grid.get(grid.len() / 2).copied().unwrap_or(0.0)
            })
            .collect()
    }

    /// An output at a value of the quantity, everything else as usual.
    pub fn at_quantity(&self, output: usize, quantity: f64) -> f64 {
        let mut conditions = self.usual_conditions();
        if let Some(q) = conditions.first_mut() {
            *q = quantity;
        }
        self.nominal(output, &conditions)
    }

    /// Whether a value of the quantity has a code of its own; true where the
    /// channel enters no converter.
    pub fn is_on_scale(&self, quantity: f64) -> bool {
        self.codes.is_none_or(|(first, last)| {
            let code = self.at_quantity(CODE, quantity);
            // A code's rounding beyond either end is none.
            code > first - 1.0 && code < last + 1.0
        })
    }

    /// How the span lies on the converter's scale.
    pub fn signal(&self) -> Option<Signal> {
        let (first, last) = self.codes?;
        let (low, high) = self.channel.span.value;
        let (mut v_low, v_high) = (self.at_quantity(VOLT, low), self.at_quantity(VOLT, high));
        let (mut c_low, c_high) = (self.at_quantity(CODE, low), self.at_quantity(CODE, high));
        if self.channel.ac.is_some() {
            // Outputs are those of the upper peak; the lower one lies as far
            // below the bias.
            v_low = 2.0 * self.at_quantity(VOLT, 0.0) - v_high;
            c_low = 2.0 * self.at_quantity(CODE, 0.0) - c_high;
        }
        let volt_per_code = (v_high - v_low) / (c_high - c_low);
        if !volt_per_code.is_finite() || volt_per_code == 0.0 {
            return None;
        }
        // What is only rounding beside the width of the scale is nothing.
        let least = 1e-9 * (volt_per_code * (last - first)).abs();
        let shown = |volt: f64| if volt.abs() < least { 0.0 } else { volt };
        let volt_at = |code: f64| shown(v_low + (code - c_low) * volt_per_code);
        let width = |at: f64, step: f64| {
            let codes = self.at_quantity(CODE, at + step) - self.at_quantity(CODE, at);
            let unit = &self.channel.unit;
            unit.number_of_difference((step / codes).abs())
        };
        let step = (high - low) * 1e-4;
        // Where a stage stands still a code has no width; the other end's is
        // then the only one there is.
        let (at_low, at_high) = (width(low, step), width(high, -step));
        let finite = |a: f64, b: f64| if a.is_finite() { a } else { b };
        let inside = |c: f64| c.clamp(first, last);
        Some(Signal {
            scale_low: volt_at(first),
            scale_high: volt_at(last),
            at_low: shown(v_low),
            at_high: shown(v_high),
            codes: last - first,
            codes_used: (inside(c_high) - inside(c_low)).abs(),
            code_width_low: finite(at_low, at_high),
            code_width_high: finite(at_high, at_low),
        })
    }

    /// The value of the quantity at which the code crosses `code`, between
    /// the ends of the span; `None` if it does not.
    pub fn quantity_at_code(&self, code: f64) -> Option<f64> {
        self.crossing(CODE, code)
    }

    /// The value of the quantity at which an output crosses `value`, between
    /// the ends of the span, everything else as usual, by bisection; `None`
    /// if it does not.
    pub fn crossing(&self, output: usize, value: f64) -> Option<f64> {
        let mut inputs = self.model.tape.nominal_inputs().to_vec();
        for (&i, x) in self.model.conditions().iter().zip(self.usual_conditions()) {
            if let Some(input) = inputs.get_mut(i) {
                *input = x;
            }
        }
        self.crossing_with(&inputs, output, value)
    }

    /// The same with all inputs as given but the quantity.
    pub fn crossing_with(&self, inputs: &[f64], output: usize, value: f64) -> Option<f64> {
        let (mut low, mut high) = self.channel.span.value;
        let quantity = *self.model.conditions().first()?;
        let mut inputs = inputs.to_vec();
        let mut point = Point::default();
        let mut above = |q: f64| {
            if let Some(input) = inputs.get_mut(quantity) {
                *input = q;
            }
            point.evaluate(&self.model.tape, &inputs, Reading::Smooth);
            point.output(&self.model.tape, output) > value
        };
        let at_low = above(low);
        if at_low == above(high) {
            return None;
        }
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if above(middle) == at_low {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(0.5 * (low + high))
    }

    /// A value of the quantity with its unit.
    pub fn value(&self, si: f64) -> String {
        crate::words::value(self.channel, si)
    }

    /// An error or a limit with its unit.
    pub fn size(&self, si: f64, digits: usize) -> String {
        crate::words::size(self.channel, si, digits)
    }
}

/// First and last code of a channel's converter, the last being the one
/// after the highest: the scale's end.
fn codes(board: &Board, channel: &Channel) -> Option<(f64, f64)> {
    let input = channel.input.as_ref()?;
    let unit = board
        .devices
        .get(input.device)?
        .part
        .converters
        .get(input.unit)?;
    let count = (0..unit.bits).fold(1.0, |n, _| n * 2.0);
    // A bipolar converter's zero is the middle of its codes.
    Some((0.0, count))
}
