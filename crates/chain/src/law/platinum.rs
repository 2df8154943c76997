//! Industrial platinum resistance thermometers, IEC 60751.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec, ZERO_CELSIUS_K};
use super::parameters::Parameters;

/// Coefficients of IEC 60751:2022 (the same in the editions since 1995), for
/// temperatures in °C; 1/°C, 1/°C², 1/°C⁴.
const A: f64 = 3.9083e-3;
const B: f64 = -5.775e-7;
const C: f64 = -4.183e-12;

/// Least discriminant of the quadratic: reached at 7.6 times the nominal
/// resistance, beyond 3000 °C, where only a broken wire can be.
const LEAST_DISCRIMINANT: f64 = 1e-8;

/// R = R₀·(1 + A·t + B·t² + C·(t − 100 °C)·t³), the last term below 0 °C.
///
/// The tolerance class shifts the temperature that the element acts on:
/// t′ = t + class-at-zero + class-slope·|t|. Both parts are deviations about
/// zero, so that what is fixed and what grows with temperature stay apart in
/// a budget; class A, for example, is ±0.15 K and ±0.002.
pub(super) struct Platinum;

/// R/R₀ at t in °C.
fn ratio(t: Value<'_>) -> Value<'_> {
    let cold = t.min(t.builder().zero());
    1.0 + t * (A + t * B) + C * (cold - 100.0) * cold * cold * cold
}

/// One step of Newton's method towards R/R₀ = r, from t ≤ 0 °C.
fn cold_step<'t>(t: Value<'t>, r: Value<'t>) -> Value<'t> {
    let ratio = t.polynomial(&[1.0, A, B, -100.0 * C, C]);
    let slope = t.polynomial(&[A, 2.0 * B, -300.0 * C, 4.0 * C]);
    t - (ratio - r) / slope
}

impl Law for Platinum {
    fn name(&self) -> &'static str {
        "platinum"
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
                "nominal-resistance",
                Dimension::RESISTANCE,
                "resistance at 0 °C",
            ),
            ParameterSpec::with_default(
                "class-at-zero",
                Dimension::TEMPERATURE,
                0.0,
                "deviation of the class at 0 °C",
            ),
            ParameterSpec::with_default(
                "class-slope",
                Dimension::NONE,
                0.0,
                "deviation of the class per kelvin away from 0 °C",
            ),
        ];
        LIST
    }

    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        Some((-200.0 + ZERO_CELSIUS_K, 850.0 + ZERO_CELSIUS_K))
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let nominal = p.positive("nominal-resistance")?;
        let t = (quantity - ZERO_CELSIUS_K).named("t/°C", "");
        let shifted = t + p.get("class-at-zero")? + p.get("class-slope")? * t.abs();
        Ok(nominal * ratio(shifted).named("R/R₀", ""))
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let builder = p.builder();
        let r = (electrical / p.positive("nominal-resistance")?).named("R/R₀", "");
        let discriminant = A * A + (4.0 * B) * (r - 1.0);
        let root = discriminant
            .max(builder.constant(LEAST_DISCRIMINANT))
            .sqrt();
        // This form of the quadratic's root loses no digits at 0 °C.
        let warm = (2.0 * (r - 1.0) / (A + root)).named("t/°C by the quadratic", "");
        // Below zero the quadratic is 2.4 K off at −200 °C; three steps of
        // Newton's method leave less than 1e-9 K.
        let mut cold = warm.min(builder.zero());
        for step in ["first", "second", "third"] {
            cold = cold_step(cold, r).named(&format!("t/°C below 0 °C, {step} step"), "");
        }
        let shifted = builder.select(warm, warm, cold).named("t/°C", "");
        let slope = p.get("class-slope")?;
        let away = shifted - p.get("class-at-zero")?;
        let t = builder.select(away, away / (1.0 + slope), away / (1.0 - slope));
        Ok(t + ZERO_CELSIUS_K)
    }
}
