//! The firmware: from code to reading.

use board::{Against, Number};
use parts::Rounding;
use tape::{Linear, Value};

use super::Unmodelled;
use super::site::Site;
use crate::formula;
use crate::law::{Electrical, Law};

/// The nominal chain at one value of the quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NominalPoint {
    /// Electrical value of the sensor, in the unit of its law.
    pub electrical: f64,
    /// Code before rounding.
    pub code: f64,
    /// What the sensor meets is the quantity times this.
    pub times: f64,
    /// Pieces of the sensor in its network.
    pub pieces: usize,
}

fn flat() -> Unmodelled {
    Unmodelled::new("the code does not depend on the quantity")
}

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
        // What the firmware believes: the nominal values of the board as
        // fitted, or those of the board that it assumes.
        let site = match &self.channel.conversion.assumed {
            Some(board) => {
                let channel = board
                    .channels
                    .iter()
                    .find(|c| c.name == self.channel.name)
                    .ok_or_else(|| Unmodelled::new("the assumed board lost the channel"))?;
                Site {
                    board,
                    channel,
                    ..self.assumed()
                }
            }
            None => self.assumed(),
        };
        let (believed, times) = site.inverse(code)?;
        let law = site.law()?;
        let parameters = site.parameters(law)?;
        let mut auxiliaries = Vec::new();
        for &key in law.auxiliaries() {
            auxiliaries.push((key, self.read_auxiliary(key)?));
        }
        let aux = |key: &str| auxiliaries.iter().find(|(k, _)| *k == key).map(|(_, v)| *v);
        let met = law
            .inverse(believed, &parameters, &aux)
            .map_err(|f| Unmodelled::new(f.to_string()))?;
        Ok(if times == 1.0 { met } else { met / times })
    }

    /// The electrical value from the code by the inverse of the nominal
    /// chain, and the factor between the quantity and what the sensor meets.
    ///
    /// A linear network's output is an affine function of a voltage, current
    /// or ratio and a bilinear one of a resistance, of which the ratio to a
    /// reference within the network is one of the same kind:
    /// e = (k0 + k1·c)/(1 + k2·c), so two (three) nominal points determine it.
    /// A sensor in several pieces may add k3·c², with four points. A converter
    /// that cuts off is read in the middle of the code.
    fn inverse(&self, code: Value<'t>) -> Result<(Value<'t>, f64), Unmodelled> {
        let law = self.law()?;
        let ((low, first), (high, last)) = self.told_apart(law)?;
        let at = |share: f64| self.nominal_point(low + (high - low) * share);
        let code = if self.unit()?.rounding == Rounding::Floor {
            code + 0.5
        } else {
            code
        };
        if first.code == last.code {
            return Err(flat());
        }
        let times = first.times;
        let between = matches!(
            self.channel.reference.as_ref().map(|r| &r.value),
            Some(Against::Nodes(..))
        );
        if law.electrical() != Electrical::Resistance && !between && first.pieces == 1 {
            let slope = (last.electrical - first.electrical) / (last.code - first.code);
            return Ok(((code - first.code) * slope + first.electrical, times));
        }
        let three = [first, at(0.5)?, last];
        let bilinear = self.fitted(&three, code)?;
        if first.pieces == 1 {
            return Ok((bilinear, times));
        }
        // Several pieces need not make a bilinear chain: seen at two further
        // points.
        let (second, third) = (at(0.25)?, at(0.75)?);
        let scale = (last.electrical - first.electrical).abs();
        let misses = |points: &[NominalPoint]| -> Result<f64, Unmodelled> {
            let mut most: f64 = 0.0;
            for p in [second, third] {
                let there = self.fitted(points, self.builder.constant(p.code))?;
                most = most.max((there.nominal() - p.electrical).abs() / scale);
            }
            Ok(most)
        };
        if misses(&three)? < 1e-9 {
            return Ok((bilinear, times));
        }
        let four = [first, at(1.0 / 3.0)?, at(2.0 / 3.0)?, last];
        if misses(&four)? < 1e-6 {
            return Ok((self.fitted(&four, code)?, times));
        }
        Err(Unmodelled::at(
            "the code follows the sensor's pieces by no simple ratio; write the firmware's formula as conversion = { formula = \"…\" }",
            self.channel.sensor.span,
        ))
    }

    /// The ends of the span the nominal points are taken over, and the chain
    /// there: the channel's span, or a wider one about its middle, within
    /// what the law holds for, where the whole span is less than a code. The
    /// digits that tell the points apart are few there.
    #[allow(
        clippy::type_complexity,
        reason = "two ends, each with its point; a name would say no more"
    )]
    fn told_apart(
        &self,
        law: &'static dyn Law,
    ) -> Result<((f64, NominalPoint), (f64, NominalPoint)), Unmodelled> {
        let (mut low, mut high) = self.channel.span.value;
        let (mut first, mut last) = (self.nominal_point(low)?, self.nominal_point(high)?);
        if (last.code - first.code).abs() < 1.0 {
            let holds = law.validity(&self.assumed().parameters(law)?);
            // Ten times fourfold is a million times the span.
            for _ in 0..10 {
                let wider = (2.5 * low - 1.5 * high, 2.5 * high - 1.5 * low);
                if holds.is_some_and(|(a, b)| wider.0 < a || wider.1 > b) {
                    break;
                }
                let (a, b) = (self.nominal_point(wider.0)?, self.nominal_point(wider.1)?);
                if !((b.code - a.code).abs() > (last.code - first.code).abs()) {
                    break;
                }
                ((low, high), (first, last)) = (wider, (a, b));
                if (last.code - first.code).abs() >= 1.0 {
                    break;
                }
            }
        }
        Ok(((low, first), (high, last)))
    }

    /// e = (k0 + k1·d + k3·d²)/(1 + k2·d), d the code counted from a point in
    /// the middle, through three (k3 = 0) or four points.
    ///
    /// Both are counted from that point and in shares of what the points
    /// span, so that k0 is nothing and a narrow span loses no digits.
    fn fitted(&self, points: &[NominalPoint], code: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        let b = self.builder;
        let (Some(first), Some(from), Some(last)) = (points.first(), points.get(1), points.last())
        else {
            return Err(flat());
        };
        let (codes, value) = (
            (last.code - first.code).abs(),
            (last.electrical - first.electrical).abs(),
        );
        if !(codes > 0.0 && value > 0.0) {
            return Err(flat());
        }
        // At code zero a sensor above the signal has an infinite resistance.
        let others = points.iter().enumerate().filter(|(i, _)| *i != 1);
        let mut system = Linear::new(b, points.len() - 1);
        for (i, (_, p)) in others.enumerate() {
            let d = (p.code - from.code) / codes;
            let e = (p.electrical - from.electrical) / value;
            system.add(i, 0, b.constant(d));
            system.add(i, 1, b.constant(-d * e));
            if points.len() > 3 {
                system.add(i, 2, b.constant(d * d));
            }
            system.add_right(i, b.constant(e));
        }
        let k = system.solve(b, false).map_err(|_| flat())?;
        let d = (code - from.code) / codes;
        let mut above = k[0] * d;
        if let Some(&square) = k.get(2) {
            above = above + square * d * d;
        }
        Ok(above / (k[1] * d + 1.0) * value + from.electrical)
    }

    /// Electrical value and code before rounding at a quantity, as assumed.
    ///
    /// # Errors
    /// The chain cannot be built.
    pub fn nominal_point(&self, quantity: f64) -> Result<NominalPoint, Unmodelled> {
        let quantity = self.builder.constant(quantity);
        let site = self.assumed().facing(quantity);
        let signal = site.signal(quantity)?;
        let reference = site.believed_reference(signal.reference)?;
        let code = site.ideal_code(signal.volt, reference)?;
        Ok(NominalPoint {
            electrical: signal.electrical.nominal(),
            code: code.nominal(),
            times: signal.times,
            pieces: signal.pieces,
        })
    }

    /// The reference in the middle of the span, as assumed, V.
    fn middle_reference(&self) -> Result<Value<'t>, Unmodelled> {
        let (low, high) = self.channel.span.value;
        let middle = self.builder.constant(0.5 * (low + high));
        let site = self.assumed().facing(middle);
        let signal = match self.channel.network {
            Some(_) => site.signal(middle)?.reference,
            None => None,
        };
        site.believed_reference(signal)
    }

    /// What the firmware takes the reference to be, V: the voltage assumed,
    /// else what stands between the reference's nodes, else the supply.
    fn believed_reference(&self, between: Option<Value<'t>>) -> Result<Value<'t>, Unmodelled> {
        match (&self.channel.conversion.assumed_reference_v, between) {
            (None, Some(volt)) => Ok(volt),
            _ => self.reference(),
        }
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
                        None => self.middle_reference().ok(),
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
