//! Hall sensors with a voltage output that follows their supply.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::parameters::Parameters;
use super::ratiometric_voltage::line;

/// V/V_supply = offset-ratio + slope-ratio·q for a current or a flux density
/// q; at rest the output is at half the supply, so that both signs fit.
pub(super) struct Hall;

impl Law for Hall {
    fn name(&self) -> &'static str {
        "hall"
    }

    /// Current through the sensor, or flux density: either.
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
                0.5,
                "share of the supply without current or field",
            ),
            ParameterSpec::required(
                "slope-ratio",
                Dimension::NONE,
                "share of the supply per unit of current or field",
            )
            .times_quantity(-1),
            ParameterSpec::optional("output-resistance", Dimension::RESISTANCE, "of the output"),
        ];
        LIST
    }

    /// Where the output reaches a supply rail at the latest.
    fn validity(&self, p: &Parameters<'_>) -> Option<(f64, f64)> {
        let line = line(p).ok()?;
        let (a, b) = (
            line.back(p.builder().zero()).nominal(),
            line.back(p.builder().one()).nominal(),
        );
        Some((a.min(b), a.max(b)))
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
