//! Outputs that are a share of the supply, along a straight line.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::line::Line;
use super::parameters::Parameters;

/// V/V_supply = offset-ratio + slope-ratio·(q − origin); for the origin see
/// the law `linear-voltage`.
pub(super) struct RatiometricVoltage;

/// The line of the parameters `offset-ratio`, `slope-ratio` and `origin`.
pub(super) fn line<'t>(p: &Parameters<'t>) -> Result<Line<'t>, LawFault> {
    Ok(Line {
        origin: p.origin(),
        offset: p.get("offset-ratio")?,
        slope: p.nonzero("slope-ratio")?,
    })
}

impl Law for RatiometricVoltage {
    fn name(&self) -> &'static str {
        "ratiometric-voltage"
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        Electrical::VoltageRatio
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::with_default(
                "offset-ratio",
                Dimension::NONE,
                0.0,
                "share of the supply at the origin",
            ),
            ParameterSpec::required(
                "slope-ratio",
                Dimension::NONE,
                "share of the supply per unit of the quantity",
            )
            .times_quantity(-1),
            ParameterSpec::optional(
                "origin",
                Dimension::NONE,
                "quantity at which the share is the offset; 0 °C or zero if not given",
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
