//! Current transformers.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::parameters::Parameters;

/// I_secondary = I_primary·(1 + ratio-error)/ratio.
///
/// A built-in burden lies beside the secondary current. Without any burden
/// the secondary of an energised transformer drives its open terminals to
/// dangerous voltages.
pub(super) struct CurrentTransformer;

fn share<'t>(p: &Parameters<'t>) -> Result<Value<'t>, LawFault> {
    Ok((1.0 + p.get("ratio-error")?) / p.positive("ratio")?)
}

impl Law for CurrentTransformer {
    fn name(&self) -> &'static str {
        "current-transformer"
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::CURRENT)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Current
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::required(
                "ratio",
                Dimension::NONE,
                "primary current per secondary current",
            ),
            ParameterSpec::with_default(
                "ratio-error",
                Dimension::NONE,
                0.0,
                "relative deviation of the secondary current",
            ),
            ParameterSpec::optional("burden", Dimension::RESISTANCE, "built-in burden"),
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
        Ok(quantity * share(p)?)
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(electrical / share(p)?)
    }

    fn source_resistance<'t>(
        &self,
        _: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Option<Value<'t>>, LawFault> {
        Ok(p.maybe("burden"))
    }
}
