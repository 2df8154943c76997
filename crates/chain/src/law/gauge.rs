//! A single strain gauge as a resistance.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::parameters::Parameters;

/// R = R0·(1 + k·ε), the gauge factor k being defined by it. Gauges of a
/// bridge are written as elements of a network, each with its share of the
/// strain; a whole bridge on two nodes is the law `strain-gauge`.
pub(super) struct Gauge;

impl Law for Gauge {
    fn name(&self) -> &'static str {
        "gauge"
    }

    /// Strain is a plain number.
    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::NONE)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Resistance
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::required(
                "nominal-resistance",
                Dimension::RESISTANCE,
                "resistance without strain",
            ),
            ParameterSpec::required(
                "gauge-factor",
                Dimension::NONE,
                "relative change of resistance per strain",
            ),
        ];
        LIST
    }

    /// Metal gauges are used to a few per cent of strain.
    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        Some((-0.03, 0.03))
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let ohm = p.positive("nominal-resistance")?;
        Ok(ohm * (p.positive("gauge-factor")? * quantity + 1.0))
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let share = electrical / p.positive("nominal-resistance")?;
        Ok((share - 1.0) / p.positive("gauge-factor")?)
    }
}
