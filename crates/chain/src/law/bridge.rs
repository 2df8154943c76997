//! Bridges with a rated output, such as load cells and pressure sensors.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::line::Line;
use super::parameters::Parameters;

/// V/V_ex = zero-balance + sensitivity·q/rated; a sensitivity of 2 mV/V is
/// the plain number 0.002.
pub(super) struct Bridge;

fn line<'t>(p: &Parameters<'t>) -> Result<Line<'t>, LawFault> {
    Ok(Line {
        origin: p.builder().zero(),
        offset: p.get("zero-balance")?,
        slope: p.nonzero("sensitivity")? / p.nonzero("rated")?,
    })
}

impl Law for Bridge {
    fn name(&self) -> &'static str {
        "bridge"
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        Electrical::VoltageRatio
    }

    fn is_differential(&self) -> bool {
        true
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::required(
                "sensitivity",
                Dimension::NONE,
                "output at the rated quantity per volt of excitation",
            ),
            ParameterSpec::required("rated", Dimension::NONE, "rated quantity").times_quantity(1),
            ParameterSpec::with_default(
                "zero-balance",
                Dimension::NONE,
                0.0,
                "output without load per volt of excitation",
            ),
            ParameterSpec::optional(
                "resistance",
                Dimension::RESISTANCE,
                "between the output terminals",
            ),
        ];
        LIST
    }

    fn validity(&self, p: &Parameters<'_>) -> Option<(f64, f64)> {
        let rated = p.maybe("rated")?.nominal();
        Some((rated.min(0.0), rated.max(0.0)))
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
        Ok(p.maybe("resistance"))
    }
}
