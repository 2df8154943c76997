//! Glass electrodes for pH.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::parameters::Parameters;
use super::thermistor_beta::T25_K;

/// Molar gas constant, J/(mol·K) (CODATA 2018, exact).
const GAS_CONSTANT: f64 = 8.314_462_618_153_24;

/// Faraday constant, C/mol (CODATA 2018, exact).
const FARADAY: f64 = 96_485.332_123_310_02;

/// Nernst's slope per kelvin, ln 10·R/F, V/(pH·K).
const NERNST_V_PER_KELVIN: f64 = std::f64::consts::LN_10 * GAS_CONSTANT / FARADAY;

/// E = zero-offset + slope-share·k·[T·(pH_iso − pH) + 298.15 K·(zero-point −
/// pH_iso)], with k = ln 10·R/F = 0.198 mV/K (Nernst).
///
/// The lines of all temperatures meet at the isopotential point. The zero
/// point is the pH at which an electrode at 25 °C gives no voltage; if only
/// one of the two is given they coincide, and E = (pH₀ − pH)·59.16 mV at
/// 25 °C.
///
/// The resistance of the glass doubles with every 8 K to 10 K of cooling
/// (common practice).
pub(super) struct GlassElectrode;

/// Slope per kelvin, V/(pH·K).
fn slope<'t>(p: &Parameters<'t>) -> Result<Value<'t>, LawFault> {
    Ok(p.positive("slope-share")? * NERNST_V_PER_KELVIN)
}

/// Slope at the temperature of the electrode, V/pH.
fn slope_at<'t>(p: &Parameters<'t>, aux: Auxiliaries<'_, 't>) -> Result<Value<'t>, LawFault> {
    let per_ph = slope(p)? * p.auxiliary(aux, "temperature")?;
    Ok(per_ph.named("electrode slope", "V/pH"))
}

/// The pH at which the isotherms meet, and the voltage there.
fn meeting<'t>(p: &Parameters<'t>) -> Result<(Value<'t>, Value<'t>), LawFault> {
    let (iso, zero) = (p.maybe("iso-potential"), p.maybe("zero-point"));
    let neutral = p.builder().constant(7.0);
    let iso_ph = iso.or(zero).unwrap_or(neutral);
    let zero_ph = zero.unwrap_or(iso_ph);
    let there = slope(p)? * T25_K * (zero_ph - iso_ph) + p.get("zero-offset")?;
    Ok((iso_ph, there))
}

impl Law for GlassElectrode {
    fn name(&self) -> &'static str {
        "glass-electrode"
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::PH)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Voltage
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::with_default(
                "slope-share",
                Dimension::NONE,
                1.0,
                "slope as a share of Nernst's",
            ),
            ParameterSpec::optional(
                "zero-point",
                Dimension::PH,
                "pH without voltage at 25 °C; the isopotential pH, else 7, if not given",
            ),
            ParameterSpec::optional(
                "iso-potential",
                Dimension::PH,
                "pH at which temperature does not count; the zero point if not given",
            ),
            ParameterSpec::with_default(
                "zero-offset",
                Dimension::VOLTAGE,
                0.0,
                "deviation added to the voltage",
            ),
            ParameterSpec::optional("resistance-25", Dimension::RESISTANCE, "glass at 25 °C"),
            ParameterSpec::with_default(
                "doubling-interval",
                Dimension::TEMPERATURE,
                9.0,
                "cooling that doubles the resistance",
            ),
        ];
        LIST
    }

    fn auxiliaries(&self) -> &'static [&'static str] {
        &["temperature"]
    }

    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        Some((0.0, 14.0))
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        aux: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let per_ph = slope_at(p, aux)?;
        let (iso_ph, there) = meeting(p)?;
        Ok(per_ph * (iso_ph - quantity) + there)
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        aux: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let per_ph = slope_at(p, aux)?;
        let (iso_ph, there) = meeting(p)?;
        Ok(iso_ph - (electrical - there) / per_ph)
    }

    fn source_resistance<'t>(
        &self,
        _: Value<'t>,
        p: &Parameters<'t>,
        aux: Auxiliaries<'_, 't>,
    ) -> Result<Option<Value<'t>>, LawFault> {
        let Some(glass) = p.maybe("resistance-25") else {
            return Ok(None);
        };
        let cooling = T25_K - p.auxiliary(aux, "temperature")?;
        let doublings = cooling / p.positive("doubling-interval")?;
        Ok(Some(glass * (doublings * std::f64::consts::LN_2).exp()))
    }
}
