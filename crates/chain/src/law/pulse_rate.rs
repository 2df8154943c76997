//! Sensors that give pulses, such as flow meters and anemometers.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::line::Line;
use super::parameters::Parameters;

/// f = pulses-per-unit·q + offset. For a flow the unit is one of volume: a
/// meter of 450 pulses per litre gives 7.5 Hz at 1 L/min.
///
/// Many turbine meters are slow at small flows, which a negative offset says.
pub(super) struct PulseRate;

fn line<'t>(p: &Parameters<'t>) -> Result<Line<'t>, LawFault> {
    Ok(Line {
        origin: p.builder().zero(),
        offset: p.get("offset")?,
        slope: p.positive("pulses-per-unit")?,
    })
}

impl Law for PulseRate {
    fn name(&self) -> &'static str {
        "pulse-rate"
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        Electrical::Frequency
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::required(
                "pulses-per-unit",
                Dimension::FREQUENCY,
                "frequency per unit of the quantity",
            )
            .times_quantity(-1),
            ParameterSpec::with_default(
                "offset",
                Dimension::FREQUENCY,
                0.0,
                "frequency at zero of the quantity, from the straight line",
            ),
        ];
        LIST
    }

    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        None
    }

    /// Never below zero: a meter that stands still gives no pulses.
    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(line(p)?.at(quantity).max(p.builder().zero()))
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(line(p)?.back(electrical))
    }
}
