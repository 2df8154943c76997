//! Sensors that report the quantity as a number.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::parameters::Parameters;

/// reading = quantity·(1 + gain-error) + offset: what lies between the two is
/// the sensor's own accuracy, stated in its data sheet as such.
pub(super) struct Digital;

impl Law for Digital {
    fn name(&self) -> &'static str {
        "digital"
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        Electrical::Reading
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::with_default(
                "gain-error",
                Dimension::NONE,
                0.0,
                "relative deviation, growing from the origin",
            ),
            ParameterSpec::with_default("offset", Dimension::NONE, 0.0, "deviation at the origin")
                .times_quantity(1),
            ParameterSpec::optional(
                "origin",
                Dimension::NONE,
                "quantity from which the gain error grows; 0 °C or zero if not given",
            )
            .times_quantity(1),
        ];
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
        let growth = p.get("gain-error")? * (quantity - p.origin());
        Ok(quantity + growth + p.get("offset")?)
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let (gain, origin) = (1.0 + p.get("gain-error")?, p.origin());
        let from_origin = electrical - p.get("offset")? - origin;
        Ok(origin + from_origin / gain)
    }
}
