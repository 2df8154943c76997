//! Photoresistors.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::parameters::Parameters;
use super::thermistor_beta::log_ratio;

/// Illuminance (lx) at which photoresistors are specified.
const REFERENCE_LX: f64 = 10.0;

/// Darkest illuminance (lx) the power law is followed to.
const DARKEST_LX: f64 = 1e-3;

/// R = R₁₀·(E/10 lx)^−γ (common practice in the data sheets of cadmium
/// sulphide cells, which state R at 10 lx and γ between 10 lx and 100 lx).
pub(super) struct Photoresistor;

impl Law for Photoresistor {
    fn name(&self) -> &'static str {
        "photoresistor"
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::ILLUMINANCE)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Resistance
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::required(
                "resistance-10",
                Dimension::RESISTANCE,
                "resistance at 10 lx",
            ),
            ParameterSpec::required("gamma", Dimension::NONE, "exponent of the illuminance"),
        ];
        LIST
    }

    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        Some((0.1, 1e5))
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let darkest = p.builder().constant(DARKEST_LX);
        let light = quantity.max(darkest) / REFERENCE_LX;
        let (resistance, gamma) = (p.positive("resistance-10")?, p.positive("gamma")?);
        Ok(resistance * light.pow(-gamma))
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let (resistance, gamma) = (p.positive("resistance-10")?, p.positive("gamma")?);
        let log = log_ratio(electrical / resistance);
        Ok(REFERENCE_LX * (-(log / gamma)).exp())
    }
}
