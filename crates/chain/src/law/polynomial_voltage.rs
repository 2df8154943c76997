//! Outputs along a polynomial.

use quantity::Dimension;
use tape::{Builder, Iteration, Table, Value};

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::newton;
use super::parameters::Parameters;

/// V = c0 + c1·x + … + c6·x⁶ with x = q − origin, in volts or as a share of
/// the supply; for the origin see the law `linear-voltage`.
///
/// Read backwards between `valid-low` and `valid-high`, where the polynomial
/// must rise or fall throughout, and as far beyond as it keeps doing so.
pub(super) struct PolynomialVoltage {
    /// Whether the output is a share of the supply and not volts.
    pub ratiometric: bool,
}

const NAMES: [&str; 7] = ["c0", "c1", "c2", "c3", "c4", "c5", "c6"];

/// Intervals in which the nominal curve is looked at beforehand.
const SAMPLES: u32 = 64;

/// How far, in ranges, the inverse may run beyond the valid range.
const BEYOND: f64 = 0.5;

/// The parameters; `dimension` is that of the output.
const fn specs(dimension: Dimension) -> [ParameterSpec; 10] {
    const fn term(
        name: &'static str,
        dimension: Dimension,
        power: i8,
        meaning: &'static str,
    ) -> ParameterSpec {
        ParameterSpec::with_default(name, dimension, 0.0, meaning).times_quantity(-power)
    }
    [
        term(NAMES[0], dimension, 0, "output at the origin"),
        ParameterSpec::required(NAMES[1], dimension, "slope at the origin").times_quantity(-1),
        term(NAMES[2], dimension, 2, "factor of the square"),
        term(NAMES[3], dimension, 3, "factor of the cube"),
        term(NAMES[4], dimension, 4, "factor of the fourth power"),
        term(NAMES[5], dimension, 5, "factor of the fifth power"),
        term(NAMES[6], dimension, 6, "factor of the sixth power"),
        ParameterSpec::optional(
            "origin",
            Dimension::NONE,
            "quantity from which the powers count; 0 °C or zero if not given",
        )
        .times_quantity(1),
        ParameterSpec::required("valid-low", Dimension::NONE, "low end of the valid range")
            .times_quantity(1),
        ParameterSpec::required("valid-high", Dimension::NONE, "high end of the valid range")
            .times_quantity(1),
    ]
}

const IN_VOLTS: &[ParameterSpec] = &specs(Dimension::VOLTAGE);
const IN_SHARES: &[ParameterSpec] = &specs(Dimension::NONE);

/// The coefficients that are there, constant first.
struct Polynomial<'t> {
    builder: &'t Builder,
    coefficients: Vec<Value<'t>>,
}

impl<'t> Polynomial<'t> {
    fn of(p: &Parameters<'t>) -> Result<Self, LawFault> {
        let coefficients = NAMES.iter().map(|name| p.get(name));
        let mut coefficients = coefficients.collect::<Result<Vec<_>, _>>()?;
        while coefficients.last().is_some_and(|c| c.is_zero()) {
            coefficients.pop();
        }
        Ok(Polynomial {
            builder: p.builder(),
            coefficients,
        })
    }

    fn at(&self, x: Value<'t>) -> Value<'t> {
        let highest_first = self.coefficients.iter().rev();
        highest_first.fold(self.builder.zero(), |sum, &c| sum * x + c)
    }

    fn slope(&self, x: Value<'t>) -> Value<'t> {
        let highest_first = self.coefficients.iter().enumerate().skip(1).rev();
        highest_first.fold(self.builder.zero(), |sum, (power, &c)| {
            sum * x + c * power as f64
        })
    }

    /// Value and slope of the nominal curve.
    fn nominal(&self, x: f64) -> (f64, f64) {
        let highest_first = self.coefficients.iter().rev();
        highest_first.fold((0.0, 0.0), |(value, slope), c| {
            (value * x + c.nominal(), slope * x + value)
        })
    }
}

/// Where the inverse is sought, and a first guess for it.
struct Search {
    start: Table,
    bounds: (f64, f64),
}

impl Search {
    /// `None` unless the nominal curve rises or falls from `low` to `high`.
    fn plan(polynomial: &Polynomial<'_>, low: f64, high: f64) -> Option<Search> {
        let step = (high - low) / f64::from(SAMPLES);
        let sign = polynomial.nominal(low).1.signum();
        let keeps_on = |x: f64, least: f64| polynomial.nominal(x).1 * sign > least;
        let inside: Vec<f64> = (0..=SAMPLES).map(|i| low + step * f64::from(i)).collect();
        if !inside.iter().all(|&x| keeps_on(x, 0.0)) {
            return None;
        }
        let values: Vec<f64> = inside.iter().map(|&x| polynomial.nominal(x).0).collect();
        let start = if sign > 0.0 {
            Table::lines(&values, &inside)
        } else {
            let (mut values, mut places) = (values, inside);
            values.reverse();
            places.reverse();
            Table::lines(&values, &places)
        };
        // Beyond an end as far as the slope keeps a tenth of what it is there.
        let reach = |end: f64, step: f64| {
            let least = 0.1 * polynomial.nominal(end).1.abs();
            let most = (BEYOND * f64::from(SAMPLES)) as u32;
            let steps = (1..=most).take_while(|&i| keeps_on(end + step * f64::from(i), least));
            end + step * f64::from(steps.last().unwrap_or(0))
        };
        Some(Search {
            start: start.ok()?,
            bounds: (reach(low, -step), reach(high, step)),
        })
    }
}

impl Law for PolynomialVoltage {
    fn name(&self) -> &'static str {
        if self.ratiometric {
            "ratiometric-polynomial"
        } else {
            "polynomial-voltage"
        }
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        if self.ratiometric {
            Electrical::VoltageRatio
        } else {
            Electrical::Voltage
        }
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        if self.ratiometric {
            IN_SHARES
        } else {
            IN_VOLTS
        }
    }

    fn validity(&self, p: &Parameters<'_>) -> Option<(f64, f64)> {
        p.between("valid-low", "valid-high")
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(Polynomial::of(p)?.at(quantity - p.origin()))
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let polynomial = Polynomial::of(p)?;
        let (low, high) = p.ordered("valid-low", "valid-high")?;
        let zero = p.origin().nominal();
        let (low, high) = (low.nominal() - zero, high.nominal() - zero);
        let search = Search::plan(&polynomial, low, high).ok_or_else(|| {
            p.no_inverse("the polynomial neither rises nor falls throughout its valid range")
        })?;
        // The square of a step's share of the range is left over, once more
        // reduced by the last step.
        let settings = Iteration {
            most: 60,
            absolute: 1e-6 * (high - low),
            relative: 0.0,
        };
        let start = p.builder().lookup(&search.start, electrical);
        let x = newton::root(p.builder(), start, search.bounds, settings, |x| {
            (polynomial.at(x) - electrical, polynomial.slope(x))
        });
        Ok(x + p.origin())
    }
}
