//! Thermistors by the three coefficients of Steinhart and Hart.

use quantity::Dimension;
use tape::{Iteration, Value};

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::newton;
use super::parameters::Parameters;
use super::thermistor_beta::{RANGE_K, from_reciprocal};

/// Natural logarithms of the smallest and largest resistance (Ω) given.
const LOG_RANGE: (f64, f64) = (-14.0, 35.0);

/// 1/T = a + b·ln R + c·(ln R)³, T in kelvin, R in ohms (J. S. Steinhart,
/// S. R. Hart, Deep-Sea Research 15, 1968, p. 497).
///
/// The formula is the firmware's direction; the resistance comes from its
/// only root, which exists for every temperature while b and c are positive.
/// Coefficients have no useful tolerance one by one, so that the spread
/// between parts is a shift of the temperature.
pub(super) struct ThermistorSteinhart;

impl Law for ThermistorSteinhart {
    fn name(&self) -> &'static str {
        "thermistor-steinhart"
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::TEMPERATURE)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Resistance
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::required("a", Dimension::PER_KELVIN, "constant term of 1/T"),
            ParameterSpec::required("b", Dimension::PER_KELVIN, "factor of ln(R/Ω)"),
            ParameterSpec::with_default("c", Dimension::PER_KELVIN, 0.0, "factor of ln(R/Ω)³"),
            ParameterSpec::with_default(
                "shift",
                Dimension::TEMPERATURE,
                0.0,
                "deviation between parts, in temperature",
            ),
        ];
        LIST
    }

    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        Some(RANGE_K)
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let (a, b, c) = (p.get("a")?, p.positive("b")?, p.get("c")?);
        let over_constant = 1.0 / (quantity + p.get("shift")?) - a;
        let mut bounds = LOG_RANGE;
        if c.nominal() < 0.0 {
            // With a negative cube the curve turns back here.
            let turn = (b.nominal() / (-3.0 * c.nominal())).sqrt();
            bounds = (bounds.0.max(-0.95 * turn), bounds.1.min(0.95 * turn));
        }
        // A step of 1e-6 leaves an error below its square.
        let settings = Iteration {
            most: 60,
            absolute: 1e-6,
            relative: 0.0,
        };
        let start = over_constant / b;
        let log = newton::root(p.builder(), start, bounds, settings, |x| {
            let square = x * x;
            (x * (b + c * square) - over_constant, b + 3.0 * (c * square))
        });
        Ok(log.named("ln(R/Ω)", "").exp())
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let (a, b, c) = (p.get("a")?, p.positive("b")?, p.get("c")?);
        let least = p.builder().constant(elementary::exp(LOG_RANGE.0));
        let x = electrical.max(least).ln().named("ln(R/Ω)", "");
        Ok(from_reciprocal(a + x * (b + c * (x * x))) - p.get("shift")?)
    }
}
