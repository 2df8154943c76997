//! What the tests of all laws share: a sensor with its numbers, read at
//! points, and the properties that every law must have.
#![allow(dead_code, reason = "each test file uses a part of this")]
#![allow(clippy::panic, reason = "a test that cannot start should say why")]

use chain::law::{Law, LawFault, Parameters, find};
use quantity::Dimension;
use tape::{Block, Builder, Point, Reading, Tape, Value};

/// A sensor by its law, parameters (SI) and auxiliary values (kelvin).
#[derive(Clone)]
pub struct Sensor {
    pub law: &'static dyn Law,
    pub quantity: Dimension,
    pub numbers: Vec<(&'static str, f64)>,
    pub words: Vec<(&'static str, &'static str)>,
    pub points: Vec<(&'static str, Vec<(f64, f64)>)>,
    pub auxiliaries: Vec<(&'static str, f64)>,
}

/// A sensor's two directions as one tape with the inputs quantity, electrical
/// value, numbers, auxiliaries and the outputs forward, inverse, inverse of
/// forward.
pub struct Curve {
    tape: Tape,
    inputs: Vec<f64>,
}

/// 0 °C.
pub const ICE: f64 = 273.15;

pub fn sensor(law: &str) -> Sensor {
    Sensor {
        law: find(law).unwrap_or_else(|| panic!("no law {law}")),
        quantity: Dimension::TEMPERATURE,
        numbers: Vec::new(),
        words: Vec::new(),
        points: Vec::new(),
        auxiliaries: Vec::new(),
    }
}

impl Sensor {
    pub fn measuring(mut self, quantity: Dimension) -> Self {
        self.quantity = quantity;
        self
    }

    pub fn with(mut self, name: &'static str, value: f64) -> Self {
        self.numbers.retain(|n| n.0 != name);
        self.numbers.push((name, value));
        self
    }

    pub fn word(mut self, name: &'static str, word: &'static str) -> Self {
        self.words.retain(|n| n.0 != name);
        self.words.push((name, word));
        self
    }

    pub fn points(mut self, name: &'static str, points: &[(f64, f64)]) -> Self {
        self.points.push((name, points.to_vec()));
        self
    }

    pub fn beside(mut self, name: &'static str, kelvin: f64) -> Self {
        self.auxiliaries.retain(|n| n.0 != name);
        self.auxiliaries.push((name, kelvin));
        self
    }

    /// The parameters as inputs of a tape.
    pub fn parameters<'t>(&self, builder: &'t Builder) -> Result<Parameters<'t>, LawFault> {
        let mut p = Parameters::new(builder, self.law, self.quantity);
        for &(name, value) in &self.numbers {
            p.set(name, builder.input(name, "", value))?;
        }
        for &(name, word) in &self.words {
            p.set_word(name, word)?;
        }
        for (name, points) in &self.points {
            p.set_points(name, points.clone())?;
        }
        Ok(p)
    }

    pub fn try_curve(&self, at: f64) -> Result<Curve, LawFault> {
        let builder = Builder::new();
        let quantity = builder.input("quantity", "", at);
        let electrical = builder.input("electrical", "", 1.0);
        let p = self.parameters(&builder)?;
        let beside: Vec<(&str, Value<'_>)> = self
            .auxiliaries
            .iter()
            .map(|&(name, value)| (name, builder.input(name, "K", value)))
            .collect();
        let aux = |name: &str| beside.iter().find(|b| b.0 == name).map(|b| b.1);
        let forward = self.law.forward(quantity, &p, &aux)?;
        let inverse = self.law.inverse(electrical, &p, &aux)?;
        let there_and_back = self.law.inverse(forward, &p, &aux)?;
        let tape = builder.finish(&[forward, inverse, there_and_back]);
        let inputs = tape.nominal_inputs().to_vec();
        Ok(Curve { tape, inputs })
    }

    pub fn curve(&self) -> Curve {
        let (low, high) = self.validity().unwrap_or((0.0, 1.0));
        self.try_curve(0.5 * (low + high))
            .unwrap_or_else(|fault| panic!("{fault}"))
    }

    pub fn validity(&self) -> Option<(f64, f64)> {
        let builder = Builder::new();
        let p = self
            .parameters(&builder)
            .unwrap_or_else(|fault| panic!("{fault}"));
        self.law.validity(&p)
    }

    pub fn forward(&self, quantity: f64) -> f64 {
        self.curve().forward(quantity)
    }

    pub fn inverse(&self, electrical: f64) -> f64 {
        self.curve().inverse(electrical)
    }

    /// Electrical value at a temperature in °C.
    pub fn at_celsius(&self, celsius: f64) -> f64 {
        self.forward(celsius + ICE)
    }

    /// Reading in °C.
    pub fn celsius(&self, electrical: f64) -> f64 {
        self.inverse(electrical) - ICE
    }

    /// Resistance within the sensor, Ω.
    pub fn source_resistance(&self, quantity: f64) -> Option<f64> {
        let builder = Builder::new();
        let q = builder.input("quantity", "", quantity);
        let p = self.parameters(&builder).ok()?;
        let beside = &self.auxiliaries;
        let aux = |name: &str| {
            let found = beside.iter().find(|b| b.0 == name);
            found.map(|b| builder.constant(b.1))
        };
        let found = self.law.source_resistance(q, &p, &aux).ok()?;
        found.map(|r| r.nominal())
    }
}

impl Curve {
    fn read(&self, quantity: f64, electrical: f64) -> Vec<f64> {
        let mut inputs = self.inputs.clone();
        inputs[0] = quantity;
        inputs[1] = electrical;
        let mut point = Point::default();
        point.evaluate(&self.tape, &inputs, Reading::Exact);
        assert_eq!(point.unsettled, 0, "at {quantity} or {electrical}");
        (0..3).map(|k| point.output(&self.tape, k)).collect()
    }

    /// Forward, and the inverse of it, for many quantities at once.
    pub fn block(&self, quantities: &[f64]) -> [Vec<f64>; 2] {
        let mut block = Block::new(&self.tape, quantities.len());
        block.input_mut(0).copy_from_slice(quantities);
        block.run(&self.tape, Reading::Exact);
        [0, 2].map(|output| block.output(&self.tape, output).to_vec())
    }

    pub fn forward(&self, quantity: f64) -> f64 {
        self.read(quantity, 1.0)[0]
    }

    pub fn inverse(&self, electrical: f64) -> f64 {
        self.read(self.inputs[0], electrical)[1]
    }

    pub fn there_and_back(&self, quantity: f64) -> f64 {
        self.read(quantity, 1.0)[2]
    }

    /// Slope of forward by the quantity, from the tape.
    pub fn slope(&self, quantity: f64) -> f64 {
        let mut inputs = self.inputs.clone();
        inputs[0] = quantity;
        self.tape.gradient(&inputs, 0, Reading::Exact)[0]
    }

    /// Slope of the reading by the electrical value, from the tape.
    pub fn inverse_slope(&self, electrical: f64) -> f64 {
        let mut inputs = self.inputs.clone();
        inputs[1] = electrical;
        self.tape.gradient(&inputs, 1, Reading::Exact)[1]
    }

    /// Largest relative disagreement of the tape's gradient (forward and
    /// inverse, by every input but numbers that are zero) with central
    /// differences.
    fn gradient_error(&self, quantity: f64, step: f64) -> f64 {
        let mut inputs = self.inputs.clone();
        inputs[0] = quantity;
        inputs[1] = self.forward(quantity);
        let mut worst: f64 = 0.0;
        for output in 0..2 {
            let gradient = self.tape.gradient(&inputs, output, Reading::Exact);
            for (i, &g) in gradient.iter().enumerate() {
                let h = match i {
                    0 => step,
                    1 => step * self.slope(quantity).abs(),
                    _ => inputs[i].abs() * 1e-5,
                };
                if h == 0.0 {
                    // Nothing tells how large a step would be small.
                    continue;
                }
                let at = |x: f64| {
                    let mut moved = inputs.clone();
                    moved[i] = x;
                    self.tape.values(&moved, Reading::Exact)[output]
                };
                let difference = (at(inputs[i] + h) - at(inputs[i] - h)) / (2.0 * h);
                // What rounding of the outputs alone may cost.
                let rounding = 1e-15 * at(inputs[i]).abs() / h;
                let scale = g.abs().max(difference.abs());
                if (g - difference).abs() > 4.0 * rounding {
                    worst = worst.max((g - difference).abs() / scale);
                }
            }
        }
        worst
    }
}

/// What every law must do between `low` and `high`: read back what it gave
/// to 1e-9 of the range, rise or fall throughout, and have on the tape the
/// slopes that differences show.
pub fn check_properties(sensor: &Sensor, low: f64, high: f64) {
    let name = sensor.law.name();
    let curve = sensor.curve();
    let span = high - low;
    let steps = 997;
    let mut last = curve.forward(low);
    let rising = curve.forward(high) > last;
    for i in 0..=steps {
        let x = low + span * f64::from(i) / f64::from(steps);
        let back = curve.there_and_back(x);
        assert!(
            (back - x).abs() <= 1e-9 * span,
            "{name} at {x}: reads {back}, off by {:e} of the range",
            (back - x) / span
        );
        let value = curve.forward(x);
        let slope = curve.slope(x);
        assert!(
            slope != 0.0 && (slope > 0.0) == rising,
            "{name} at {x}: slope {slope}"
        );
        if i > 0 {
            assert!(value != last && (value > last) == rising, "{name} at {x}");
        }
        last = value;
    }
    // Uneven places, so that no kink of a piecewise law is straddled.
    for i in 0..37 {
        let x = low + span * (0.013_57 + 0.973_1 * f64::from(i) / 37.0);
        let error = curve.gradient_error(x, span * 1e-6);
        assert!(error < 1e-5, "{name} at {x}: gradient off by {error:e}");
    }
    // Somewhat beyond the range there is still a number.
    for x in [low - 0.1 * span, high + 0.1 * span] {
        assert!(curve.forward(x).is_finite(), "{name} at {x}");
        assert!(curve.there_and_back(x).is_finite(), "{name} at {x}");
    }
}

/// The rows of a table with commas, without its comment and heading lines.
pub fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    let data = text
        .lines()
        .filter(|l| !l.starts_with('#') && !l.is_empty());
    data.skip(1).map(|line| line.split(',').collect())
}

/// A field as a number.
pub fn number(field: &str) -> f64 {
    field
        .parse()
        .unwrap_or_else(|_| panic!("`{field}` is no number"))
}

/// Asserts that two numbers agree within an absolute tolerance.
#[track_caller]
pub fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected} within {tolerance}"
    );
}
