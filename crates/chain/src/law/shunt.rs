//! Current shunts.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::parameters::Parameters;

/// V = I·R, sensed at four terminals.
pub(super) struct Shunt;

impl Law for Shunt {
    fn name(&self) -> &'static str {
        "shunt"
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::CURRENT)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Voltage
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[ParameterSpec::required(
            "resistance",
            Dimension::RESISTANCE,
            "between the sense terminals",
        )];
        LIST
    }

    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        None
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(quantity * p.positive("resistance")?)
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(electrical / p.positive("resistance")?)
    }

    fn source_resistance<'t>(
        &self,
        _: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Option<Value<'t>>, LawFault> {
        Ok(p.maybe("resistance"))
    }
}
