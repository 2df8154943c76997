//! Current outputs proportional to absolute temperature.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::line::Line;
use super::parameters::Parameters;

/// I = offset + slope·T, T in kelvin; usually 1 µA/K and no offset.
pub(super) struct CurrentPerKelvin;

fn line<'t>(p: &Parameters<'t>) -> Result<Line<'t>, LawFault> {
    Ok(Line {
        origin: p.builder().zero(),
        offset: p.get("offset")?,
        slope: p.nonzero("slope")?,
    })
}

impl Law for CurrentPerKelvin {
    fn name(&self) -> &'static str {
        "current-per-kelvin"
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::TEMPERATURE)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Current
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::with_default(
                "slope",
                Dimension::CURRENT.over(Dimension::TEMPERATURE),
                1e-6,
                "current per kelvin",
            ),
            ParameterSpec::with_default(
                "offset",
                Dimension::CURRENT,
                0.0,
                "deviation added to the current",
            ),
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
}
