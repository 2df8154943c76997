//! The firmware: from code to reading.

use board::Number;
use parts::Rounding;
use tape::{Linear, Value};

use super::Unmodelled;
use super::site::Site;
use crate::formula;
use crate::law::Electrical;

impl<'t> Site<'_, 't> {
    /// The reading that the firmware makes of a code, SI.
    ///
    /// # Errors
    /// The conversion cannot be written.
    pub fn convert(&self, code: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        self.convert_in(code, &|kind| kind)
    }

    /// The same with the number types of the firmware's own formula changed.
    ///
    /// # Errors
    /// As [`Site::convert`].
    pub fn convert_in(
        &self,
        code: Value<'t>,
        kept_in: &dyn Fn(Number) -> Number,
    ) -> Result<Value<'t>, Unmodelled> {
        if !self.channel.conversion.steps.is_empty() {
            return self.own_formula(code, kept_in);
        }
        let believed = match &self.channel.conversion.assumed {
            Some(board) => {
                let channel = board
                    .channels
                    .iter()
                    .find(|c| c.name == self.channel.name)
                    .ok_or_else(|| Unmodelled::new("the assumed board lost the channel"))?;
                let site = Site {
                    board,
                    channel,
                    ..self.assumed()
                };
                site.inverse(code)?
            }
            None => self.assumed().inverse(code)?,
        };
        let law = self.law()?;
        let parameters = self.assumed().parameters(law)?;
        let mut auxiliaries = Vec::new();
        for &key in law.auxiliaries() {
            auxiliaries.push((key, self.read_auxiliary(key)?));
        }
        let aux = |key: &str| auxiliaries.iter().find(|(k, _)| *k == key).map(|(_, v)| *v);
        law.inverse(believed, &parameters, &aux)
            .map_err(|f| Unmodelled::new(f.to_string()))
    }

    /// The electrical value from the code by the inverse of the nominal
    /// chain.
    ///
    /// A linear network's output is an affine function of a voltage, current
    /// or ratio and a bilinear one of a resistance,
    /// e = (k0 + k1·c)/(1 + k2·c), so two (three) nominal points determine
    /// it. A converter that cuts off is read in the middle of the code.
    fn inverse(&self, code: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        let law = self.law()?;
        let (low, high) = self.channel.span.value;
        let points = [low, 0.5 * (low + high), high];
        let mut pairs = Vec::new();
        for q in points {
            let (electrical, code) = self.nominal_point(q)?;
            pairs.push((electrical, code));
        }
        let middle = if self.unit()?.rounding == Rounding::Floor {
            code + 0.5
        } else {
            code
        };
        let flat = || Unmodelled::new("the code does not depend on the quantity");
        let ((e0, c0), (e1, c1)) = (pairs[0], pairs[2]);
        if c0 == c1 {
            return Err(flat());
        }
        if law.electrical() != Electrical::Resistance {
            return Ok((middle - c0) * ((e1 - e0) / (c1 - c0)) + e0);
        }
        // Counted from the middle: at code zero a sensor above the signal has
        // an infinite resistance.
        let from = pairs[1].1;
        let mut system = Linear::new(self.builder, 3);
        for (i, &(e, c)) in pairs.iter().enumerate() {
            let c = c - from;
            system.add(i, 0, self.builder.one());
            system.add(i, 1, self.builder.constant(c));
            system.add(i, 2, self.builder.constant(-c * e));
            system.add_right(i, self.builder.constant(e));
        }
        let k = system.solve(self.builder, false).map_err(|_| flat())?;
        let c = middle - from;
        Ok((k[0] + k[1] * c) / (k[2] * c + 1.0))
    }

    /// Electrical value and code before rounding at a quantity, as assumed.
    ///
    /// # Errors
    /// The chain cannot be built.
    pub fn nominal_point(&self, quantity: f64) -> Result<(f64, f64), Unmodelled> {
        let quantity = self.builder.constant(quantity);
        let site = self.assumed().facing(quantity);
        let signal = site.signal(quantity)?;
        let code = site.ideal_code(signal.volt, site.reference()?)?;
        Ok((signal.electrical.nominal(), code.nominal()))
    }

    /// The firmware's own formula.
    fn own_formula(
        &self,
        code: Value<'t>,
        kept_in: &dyn Fn(Number) -> Number,
    ) -> Result<Value<'t>, Unmodelled> {
        let conversion = &self.channel.conversion;
        let mut made: Vec<(&str, Value<'t>)> = Vec::new();
        let mut others: Vec<(String, Value<'t>)> = Vec::new();
        let mut expressions = Vec::new();
        for step in &conversion.steps {
            let told = |f: formula::FormulaFault| {
                Unmodelled::at(
                    format!("{}; expected {}", f.message, f.expected),
                    step.formula.span,
                )
            };
            expressions.push(formula::parse(&step.formula.value).map_err(told)?);
        }
        // Readings that a step names are built before the formulas are.
        for (i, other) in self.board.channels.iter().enumerate() {
            let named = expressions.iter().any(|e| {
                formula::names(e)
                    .iter()
                    .any(|n| n.strip_suffix(".code").unwrap_or(n) == other.name)
            });
            if !named || other.name == self.channel.name {
                continue;
            }
            let truth = self.true_quantity(other)?;
            let (reading, whole) = self.other_reading(i, truth)?;
            others.push((
                other.name.clone(),
                (reading - other.unit.offset) / other.unit.factor,
            ));
            others.push((format!("{}.code", other.name), whole));
        }
        let reference = conversion.assumed_reference_v.as_ref().map(|v| v.value);
        let mut last = None;
        for (step, expression) in conversion.steps.iter().zip(&expressions) {
            let told = |f: formula::FormulaFault| {
                Unmodelled::at(
                    format!("{}; expected {}", f.message, f.expected),
                    step.formula.span,
                )
            };
            let lookup = |name: &str| {
                if name == "code" {
                    return Some(code);
                }
                if name == "pi" {
                    return Some(self.builder.constant(std::f64::consts::PI));
                }
                if name == "reference" {
                    return match reference {
                        Some(v) => Some(self.builder.constant(v)),
                        None => self.assumed().reference().ok(),
                    };
                }
                made.iter()
                    .rev()
                    .find(|(n, _)| *n == name)
                    .map(|(_, v)| *v)
                    .or_else(|| {
                        conversion
                            .constants
                            .get(name)
                            .map(|c| self.builder.constant(*c))
                    })
                    .or_else(|| others.iter().find(|(n, _)| n == name).map(|(_, v)| *v))
            };
            let value = formula::write(self.builder, expression, kept_in(step.kind), &lookup)
                .map_err(told)?;
            made.push((&step.name, value));
            last = Some(value);
        }
        let value = last.ok_or_else(|| Unmodelled::new("the conversion has no steps"))?;
        let unit = &self.channel.unit;
        Ok(value * unit.factor + unit.offset)
    }
}
