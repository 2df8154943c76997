//! Strain gauges in a bridge of four equal resistances.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec, WordSpec};
use super::parameters::Parameters;

/// V/V_ex of a bridge under the strain ε with the gauge factor k, x = k·ε and
/// ν Poisson's ratio, exactly:
///
/// | gauges | V/V_ex |
/// | --- | --- |
/// | quarter | x/(4 + 2x) |
/// | half, bending | x/2 |
/// | half, Poisson | x(1 + ν)/(4 + 2x(1 − ν)) |
/// | full, bending | x |
/// | full, Poisson | x(1 + ν)/(2 + x(1 − ν)) |
///
/// They follow from the dividers with the resistances R(1 + x) and R(1 − νx).
/// A firmware that leaves the denominators out (`conversion = "linear"`) errs
/// by x/2 of the reading with one gauge.
pub(super) struct StrainGauge;

/// V/V_ex = numerator·x/(constant + bend·x).
struct Gauges<'t> {
    numerator: Value<'t>,
    constant: f64,
    bend: Value<'t>,
}

fn gauges<'t>(p: &Parameters<'t>) -> Result<Gauges<'t>, LawFault> {
    let builder = p.builder();
    let poisson = p.get("poisson")?;
    let (numerator, constant, bend) = match p.word("gauges")? {
        "half-bending" => (builder.one(), 2.0, builder.zero()),
        "half-poisson" => (1.0 + poisson, 4.0, 2.0 * (1.0 - poisson)),
        "full-bending" => (builder.one(), 1.0, builder.zero()),
        "full-poisson" => (1.0 + poisson, 2.0, 1.0 - poisson),
        _ => (builder.one(), 4.0, builder.constant(2.0)),
    };
    Ok(Gauges {
        numerator,
        constant,
        bend,
    })
}

impl Law for StrainGauge {
    fn name(&self) -> &'static str {
        "strain-gauge"
    }

    /// Strain is a plain number.
    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::NONE)
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
                "gauge-factor",
                Dimension::NONE,
                "relative change of resistance per strain",
            ),
            ParameterSpec::with_default(
                "poisson",
                Dimension::NONE,
                0.3,
                "transverse contraction of the material per strain (0.3: steel)",
            ),
            ParameterSpec::with_default(
                "zero-balance",
                Dimension::NONE,
                0.0,
                "output without strain per volt of excitation",
            ),
            ParameterSpec::optional(
                "resistance",
                Dimension::RESISTANCE,
                "between the output terminals",
            ),
        ];
        LIST
    }

    fn words(&self) -> &'static [WordSpec] {
        const LIST: &[WordSpec] = &[
            WordSpec {
                name: "gauges",
                choices: &[
                    "quarter",
                    "half-bending",
                    "half-poisson",
                    "full-bending",
                    "full-poisson",
                ],
                default: None,
                meaning: "how many gauges the bridge has and how they are strained",
            },
            WordSpec {
                name: "conversion",
                choices: &["exact", "linear"],
                default: Some("exact"),
                meaning: "whether the firmware allows for the bridge's bend",
            },
        ];
        LIST
    }

    /// Metal gauges are used to a few per cent of strain.
    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        Some((-0.03, 0.03))
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let gauges = gauges(p)?;
        let x = p.positive("gauge-factor")? * quantity;
        let ratio = gauges.numerator * x / (gauges.constant + gauges.bend * x);
        Ok(p.get("zero-balance")? + ratio)
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let gauges = gauges(p)?;
        let ratio = electrical - p.get("zero-balance")?;
        let bend = if p.word("conversion")? == "linear" {
            p.builder().zero()
        } else {
            gauges.bend
        };
        let x = gauges.constant * ratio / (gauges.numerator - bend * ratio);
        Ok(x / p.positive("gauge-factor")?)
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
