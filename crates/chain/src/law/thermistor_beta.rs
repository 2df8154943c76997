//! Thermistors by their beta value.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec, ZERO_CELSIUS_K};
use super::parameters::Parameters;

/// 25 °C in kelvin: where thermistors are specified.
pub(super) const T25_K: f64 = 25.0 + ZERO_CELSIUS_K;

/// The range over which thermistors are made, −55 °C to 300 °C, in kelvin.
pub(super) const RANGE_K: (f64, f64) = (-55.0 + ZERO_CELSIUS_K, 300.0 + ZERO_CELSIUS_K);

/// Hottest reading, in kelvin; a short circuit reads this.
const HOTTEST_K: f64 = 2000.0;

/// Least resistance ratio whose logarithm is taken.
const LEAST_RATIO: f64 = 1e-12;

/// R = R₂₅·exp(β·(1/T − 1/298.15 K)), T in kelvin (common practice; the
/// definition of B in IEC 60539-1).
pub(super) struct ThermistorBeta;

/// ln of a resistance ratio, finite for a short circuit and below.
pub(super) fn log_ratio(ratio: Value<'_>) -> Value<'_> {
    ratio.max(ratio.builder().constant(LEAST_RATIO)).ln()
}

/// T from 1/T, finite for a short circuit.
pub(super) fn from_reciprocal(reciprocal: Value<'_>) -> Value<'_> {
    1.0 / reciprocal.max(reciprocal.builder().constant(1.0 / HOTTEST_K))
}

impl Law for ThermistorBeta {
    fn name(&self) -> &'static str {
        "thermistor-beta"
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::TEMPERATURE)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Resistance
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::required(
                "resistance-25",
                Dimension::RESISTANCE,
                "resistance at 25 °C",
            ),
            ParameterSpec::required(
                "beta",
                Dimension::TEMPERATURE,
                "exponent of the resistance over 1/T",
            ),
        ];
        LIST
    }

    /// The formula has no limits of its own, but departs from real parts far
    /// from where beta was taken.
    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        Some(RANGE_K)
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let (resistance, beta) = (p.positive("resistance-25")?, p.positive("beta")?);
        Ok(resistance * (beta * (1.0 / quantity - 1.0 / T25_K)).exp())
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let (resistance, beta) = (p.positive("resistance-25")?, p.positive("beta")?);
        let log = log_ratio(electrical / resistance);
        Ok(from_reciprocal(log / beta + 1.0 / T25_K))
    }
}
