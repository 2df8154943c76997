//! Voltage outputs along a straight line.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::line::Line;
use super::parameters::Parameters;

/// V = offset + slope·(q − origin), whatever the supply.
///
/// The origin is where people put the zero of the quantity: 0 °C for
/// temperatures, otherwise zero. So a sensor of 0.5 V at 0 °C and 10 mV/K is
/// `offset = 0.5 V`, `slope = 10 mV/K`.
pub(super) struct LinearVoltage;

fn line<'t>(p: &Parameters<'t>) -> Result<Line<'t>, LawFault> {
    Ok(Line {
        origin: p.origin(),
        offset: p.get("offset")?,
        slope: p.nonzero("slope")?,
    })
}

impl Law for LinearVoltage {
    fn name(&self) -> &'static str {
        "linear-voltage"
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        Electrical::Voltage
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::with_default("offset", Dimension::VOLTAGE, 0.0, "output at the origin"),
            ParameterSpec::required(
                "slope",
                Dimension::VOLTAGE,
                "output per unit of the quantity",
            )
            .times_quantity(-1),
            ParameterSpec::optional(
                "origin",
                Dimension::NONE,
                "quantity at which the output is the offset; 0 °C or zero if not given",
            )
            .times_quantity(1),
            ParameterSpec::optional("output-resistance", Dimension::RESISTANCE, "of the output"),
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
        Ok(line(p)?.at(quantity))
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(line(p)?.back(electrical))
    }

    fn source_resistance<'t>(
        &self,
        _: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Option<Value<'t>>, LawFault> {
        Ok(p.maybe("output-resistance"))
    }
}
