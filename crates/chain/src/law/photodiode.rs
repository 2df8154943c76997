//! Photodiodes.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::line::Line;
use super::parameters::Parameters;

/// I = current-per-unit·q + dark-current, reverse biased or short-circuited.
///
/// Instead of a current per unit of the quantity, for light power or
/// irradiance, the responsivity (A/W) may be given, with the sensitive area
/// for an irradiance.
pub(super) struct Photodiode;

fn line<'t>(p: &Parameters<'t>) -> Result<Line<'t>, LawFault> {
    let slope = match (p.maybe("current-per-unit"), p.maybe("responsivity")) {
        (None, Some(_)) if p.quantity() == Dimension::POWER => p.positive("responsivity")?,
        (None, Some(_)) if p.quantity() == Dimension::IRRADIANCE => {
            p.positive("responsivity")? * p.positive("area")?
        }
        _ => p.positive("current-per-unit")?,
    };
    Ok(Line {
        origin: p.builder().zero(),
        offset: p.get("dark-current")?,
        slope,
    })
}

impl Law for Photodiode {
    fn name(&self) -> &'static str {
        "photodiode"
    }

    /// Illuminance, irradiance or light power: whatever the current is
    /// stated for.
    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        Electrical::Current
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::optional(
                "current-per-unit",
                Dimension::CURRENT,
                "current per unit of the quantity",
            )
            .times_quantity(-1),
            ParameterSpec::optional(
                "responsivity",
                Dimension::CURRENT.over(Dimension::POWER),
                "current per light power",
            ),
            ParameterSpec::optional("area", Dimension::AREA, "sensitive area, for an irradiance"),
            ParameterSpec::with_default(
                "dark-current",
                Dimension::CURRENT,
                0.0,
                "current without light",
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
