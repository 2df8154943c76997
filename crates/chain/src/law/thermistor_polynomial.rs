//! Thermistors by the four coefficients of a data sheet.

use quantity::Dimension;
use tape::{Iteration, Value};

use super::interface::{
    Auxiliaries, Electrical, Law, LawFault, ParameterSpec, WordSpec, ZERO_CELSIUS_K,
};
use super::newton;
use super::parameters::Parameters;
use super::thermistor_beta::{T25_K, from_reciprocal, log_ratio};

/// Hottest and coldest temperature that is read back, in kelvin.
const READABLE_K: (f64, f64) = (2000.0, 50.0);

/// ln(R/R₂₅) = A + B/T + C/T² + D/T³, T in kelvin, as printed in the data
/// sheets of thermistors (for example Vishay, document 29049).
///
/// The sheets print a second set of coefficients for the way back,
/// 1/T = A₁ + B₁·x + C₁·x² + D₁·x³ with x = ln(R/R₂₅). The two sets agree to
/// some millikelvins only. A firmware that uses the second set has that
/// error, which `conversion = "published"` shows; otherwise the first set is
/// read backwards and no such error is made.
pub(super) struct ThermistorPolynomial;

const SPECS: &[ParameterSpec] = &[
    ParameterSpec::required(
        "resistance-25",
        Dimension::RESISTANCE,
        "resistance at 25 °C",
    ),
    ParameterSpec::required("a", Dimension::NONE, "constant term of ln(R/R25)"),
    ParameterSpec::required("b", Dimension::TEMPERATURE, "factor of 1/T"),
    ParameterSpec::with_default("c", Dimension::TEMPERATURE.power(2), 0.0, "factor of 1/T²"),
    ParameterSpec::with_default("d", Dimension::TEMPERATURE.power(3), 0.0, "factor of 1/T³"),
    ParameterSpec::with_default(
        "beta-deviation",
        Dimension::NONE,
        0.0,
        "relative deviation of beta, stretching ln(R/R25)",
    ),
    ParameterSpec::optional("inverse-a", Dimension::PER_KELVIN, "constant term of 1/T"),
    ParameterSpec::optional("inverse-b", Dimension::PER_KELVIN, "factor of ln(R/R25)"),
    ParameterSpec::optional("inverse-c", Dimension::PER_KELVIN, "factor of ln(R/R25)²"),
    ParameterSpec::optional("inverse-d", Dimension::PER_KELVIN, "factor of ln(R/R25)³"),
];

/// The coefficients of ln(R/R₂₅) over 1/T, constant first.
struct Coefficients<'t>([Value<'t>; 4]);

impl<'t> Coefficients<'t> {
    fn of(p: &Parameters<'t>) -> Result<Self, LawFault> {
        Ok(Coefficients([
            p.get("a")?,
            p.get("b")?,
            p.get("c")?,
            p.get("d")?,
        ]))
    }

    /// ln(R/R₂₅) at u = 1/T.
    fn log(&self, u: Value<'t>) -> Value<'t> {
        let Coefficients([a, b, c, d]) = *self;
        a + u * (b + u * (c + u * d))
    }

    /// d ln(R/R₂₅)/du.
    fn slope(&self, u: Value<'t>) -> Value<'t> {
        let Coefficients([_, b, c, d]) = *self;
        b + u * (2.0 * c + u * (3.0 * d))
    }

    /// How far u may go from 1/298.15 K towards `end` before the nominal
    /// curve flattens to a twentieth of its slope at 25 °C.
    fn readable(&self, end: f64) -> f64 {
        let [_, b, c, d] = self.0.map(Value::nominal);
        let slope = |u: f64| b + u * (2.0 * c + u * 3.0 * d);
        let least = 0.05 * slope(1.0 / T25_K);
        let steps = 200;
        let at = |i: i32| 1.0 / T25_K + (end - 1.0 / T25_K) * f64::from(i) / f64::from(steps);
        let steep = (1..=steps).take_while(|&i| slope(at(i)) > least);
        at(steep.last().unwrap_or(0))
    }
}

impl Law for ThermistorPolynomial {
    fn name(&self) -> &'static str {
        "thermistor-polynomial"
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::TEMPERATURE)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Resistance
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        SPECS
    }

    fn words(&self) -> &'static [WordSpec] {
        &[WordSpec {
            name: "conversion",
            choices: &["exact", "published"],
            default: Some("exact"),
            meaning: "whether the firmware reads the law backwards or uses the sheet's inverse",
        }]
    }

    /// Data sheets give such coefficients for −40 °C to 125 °C or 150 °C.
    fn validity(&self, _: &Parameters<'_>) -> Option<(f64, f64)> {
        Some((-40.0 + ZERO_CELSIUS_K, 150.0 + ZERO_CELSIUS_K))
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let log = Coefficients::of(p)?
            .log(1.0 / quantity)
            .named("ln(R/R₂₅)", "");
        Ok(p.positive("resistance-25")? * (log * (1.0 + p.get("beta-deviation")?)).exp())
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let log = log_ratio(electrical / p.positive("resistance-25")?)
            / (1.0 + p.get("beta-deviation")?);
        if p.word("conversion")? == "published" {
            let (a, b) = (p.get("inverse-a")?, p.get("inverse-b")?);
            let (c, d) = (p.get("inverse-c")?, p.get("inverse-d")?);
            return Ok(from_reciprocal(a + log * (b + log * (c + log * d))));
        }
        let coefficients = Coefficients::of(p)?;
        let at_25 = p.builder().constant(1.0 / T25_K);
        let slope_at_25 = coefficients.slope(at_25);
        if slope_at_25.nominal() <= 0.0 {
            return Err(p.no_inverse("the resistance does not fall with the temperature at 25 °C"));
        }
        let bounds = (
            coefficients.readable(1.0 / READABLE_K.0),
            coefficients.readable(1.0 / READABLE_K.1),
        );
        // A step of 1e-9/K (0.1 mK) leaves an error far below its square.
        let settings = Iteration {
            most: 60,
            absolute: 1e-9,
            relative: 0.0,
        };
        let start = at_25 + (log - coefficients.log(at_25)) / slope_at_25;
        let u = newton::root(p.builder(), start, bounds, settings, |u| {
            (coefficients.log(u) - log, coefficients.slope(u))
        });
        Ok(1.0 / u)
    }
}
