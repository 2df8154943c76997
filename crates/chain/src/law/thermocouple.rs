//! Thermocouples.

mod reference;

use quantity::Dimension;
use tape::{Builder, Iteration, Table, Value};

use super::interface::{
    Auxiliaries, Electrical, Law, LawFault, ParameterSpec, WordSpec, ZERO_CELSIUS_K,
};
use super::newton;
use super::parameters::Parameters;
use reference::{Piece, REFERENCES, Reference};

/// V = E(t′) − E(t_cj) + extension-voltage with the reference function E of
/// the ITS-90 and t_cj the temperature of the terminals (`cold-junction`).
///
/// Voltages are subtracted, never temperatures: 3 mV of type K over terminals
/// at 25 °C are 97.7 °C, not 73.6 °C + 25 °C.
///
/// A tolerance class is "the greater of a and b·|t|" (IEC 60584-1), one
/// deviation of the pair of wires: t′ = t + class-share·max(class-absolute,
/// class-relative·|t|), where the share lies anywhere between −1 and 1.
///
/// Between −270 °C (type B: 50 °C) and the end of the function the reading is
/// its inverse to rounding. Beyond both ends the function is continued
/// straight.
pub(super) struct Thermocouple;

/// Spacing of the points from which an inverse starts, °C.
const START_SPACING_C: f64 = 10.0;

/// How far the inverse runs beyond the function, °C.
const BEYOND_C: f64 = 5e3;

impl Piece {
    /// Emf in mV, by Horner's scheme.
    fn emf<'t>(&self, t: Value<'t>) -> Value<'t> {
        let sum = t.polynomial(self.coefficients);
        match self.hump {
            None => sum,
            Some([a0, a1, a2]) => {
                let away = t - a2;
                sum + a0 * (a1 * (away * away)).exp()
            }
        }
    }

    /// Slope in mV/°C.
    fn slope<'t>(&self, t: Value<'t>) -> Value<'t> {
        let rise = self.coefficients.iter().enumerate().skip(1);
        let powers: Vec<f64> = rise.map(|(n, c)| c * n as f64).collect();
        let sum = t.polynomial(&powers);
        match self.hump {
            None => sum,
            Some([a0, a1, a2]) => {
                let away = t - a2;
                sum + (2.0 * a0 * a1) * away * (a1 * (away * away)).exp()
            }
        }
    }
}

impl Reference {
    fn ends(&self) -> (f64, f64) {
        let from = self.pieces.first().map_or(0.0, |p| p.from_c);
        let to = self.pieces.last().map_or(0.0, |p| p.to_c);
        (from, to)
    }

    /// The piece that counts at t, chosen on the tape.
    fn choose<'t>(&self, t: Value<'t>, read: impl Fn(&Piece) -> Value<'t>) -> Value<'t> {
        let builder = t.builder();
        let from_cold = self.pieces.iter();
        let chosen = from_cold.fold(None, |colder: Option<Value<'t>>, piece| {
            let value = read(piece);
            Some(match colder {
                None => value,
                Some(colder) => builder.select(t - piece.from_c, value, colder),
            })
        });
        chosen.unwrap_or_else(|| builder.zero())
    }

    /// Emf (mV) and slope (mV/°C) within the function's range.
    fn within<'t>(&self, t: Value<'t>) -> (Value<'t>, Value<'t>) {
        (
            self.choose(t, |piece| piece.emf(t)),
            self.choose(t, |piece| piece.slope(t)),
        )
    }

    /// The same at a fixed temperature.
    fn nominal(&self, t_c: f64) -> (f64, f64) {
        let builder = Builder::new();
        let (emf, slope) = self.within(builder.constant(t_c));
        (emf.nominal(), slope.nominal())
    }

    /// Emf (mV) and slope (mV/°C), straight below `from_c` and above the end
    /// of the function.
    fn continued<'t>(&self, t: Value<'t>, from_c: f64) -> (Value<'t>, Value<'t>) {
        let builder = t.builder();
        let to_c = self.ends().1;
        let inside = t.clamp(builder.constant(from_c), builder.constant(to_c));
        let (emf, slope) = self.within(inside);
        let (below, above) = (self.nominal(from_c).1, self.nominal(to_c).1);
        let outside = t - inside;
        let middle = 0.5 * (from_c + to_c);
        let end_slope =
            builder.select(t - middle, builder.constant(above), builder.constant(below));
        (emf + end_slope * outside, slope)
    }

    /// Emf in mV at a temperature in °C.
    fn emf<'t>(&self, t: Value<'t>) -> Value<'t> {
        self.continued(t, self.ends().0).0
    }

    /// Temperature in °C at an emf in mV.
    fn temperature<'t>(&self, emf: Value<'t>, p: &Parameters<'t>) -> Result<Value<'t>, LawFault> {
        let (from_c, to_c) = (self.single_from_c, self.ends().1);
        let count = ((to_c - from_c) / START_SPACING_C).ceil();
        let places: Vec<f64> = (0..=count as u32)
            .map(|i| from_c + (to_c - from_c) * f64::from(i) / count)
            .collect();
        let (emfs, inverse_slopes): (Vec<f64>, Vec<f64>) = places
            .iter()
            .map(|&t| self.nominal(t))
            .map(|(emf, slope)| (emf, 1.0 / slope))
            .unzip();
        let start = Table::cubics(&emfs, &places, &inverse_slopes)
            .map_err(|_| p.no_inverse("the reference function does not rise"))?;
        let builder = p.builder();
        // A step of 0.1 mK leaves an error far below its square, and one
        // more step follows.
        let settings = Iteration {
            most: 40,
            absolute: 1e-4,
            relative: 0.0,
        };
        let bounds = (from_c - BEYOND_C, to_c + BEYOND_C);
        let start = builder.lookup(&start, emf);
        Ok(newton::root(builder, start, bounds, settings, |t| {
            let (value, slope) = self.continued(t, from_c);
            (value - emf, slope)
        }))
    }
}

fn reference(p: &Parameters<'_>) -> Result<&'static Reference, LawFault> {
    let letter = p.word("type")?;
    let found = REFERENCES.iter().find(|r| r.letter == letter);
    found.ok_or_else(|| p.no_inverse("no reference function of this letter"))
}

impl Law for Thermocouple {
    fn name(&self) -> &'static str {
        "thermocouple"
    }

    fn quantity(&self) -> Option<Dimension> {
        Some(Dimension::TEMPERATURE)
    }

    fn electrical(&self) -> Electrical {
        Electrical::Voltage
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::with_default(
                "class-absolute",
                Dimension::TEMPERATURE,
                0.0,
                "limit of the class near 0 °C",
            ),
            ParameterSpec::with_default(
                "class-relative",
                Dimension::NONE,
                0.0,
                "limit of the class per kelvin away from 0 °C; the greater limit counts",
            ),
            ParameterSpec::with_default(
                "class-share",
                Dimension::NONE,
                0.0,
                "deviation within the class, from −1 to 1 of its limit",
            ),
            ParameterSpec::with_default(
                "extension-voltage",
                Dimension::VOLTAGE,
                0.0,
                "deviation from the extension wires",
            ),
            ParameterSpec::optional(
                "loop-resistance",
                Dimension::RESISTANCE,
                "both wires together",
            ),
        ];
        LIST
    }

    fn words(&self) -> &'static [WordSpec] {
        &[WordSpec {
            name: "type",
            choices: &["B", "E", "J", "K", "N", "R", "S", "T"],
            default: None,
            meaning: "letter of the pair of metals",
        }]
    }

    fn auxiliaries(&self) -> &'static [&'static str] {
        &["cold-junction"]
    }

    /// The reference function, as far as an emf has a single temperature:
    /// that of type B starts to rise above room temperature only.
    fn validity(&self, p: &Parameters<'_>) -> Option<(f64, f64)> {
        let reference = reference(p).ok()?;
        Some((
            reference.single_from_c + ZERO_CELSIUS_K,
            reference.ends().1 + ZERO_CELSIUS_K,
        ))
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        aux: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let reference = reference(p)?;
        let terminals = p.auxiliary(aux, "cold-junction")? - ZERO_CELSIUS_K;
        let t = quantity - ZERO_CELSIUS_K;
        let (absolute, relative) = (p.get("class-absolute")?, p.get("class-relative")?);
        let limit = absolute.max(relative * t.abs());
        let hot = reference.emf(t + p.get("class-share")? * limit);
        let hot = hot.named("E(hot junction)/mV", "");
        let cold = reference.emf(terminals).named("E(cold junction)/mV", "");
        let emf_v = (hot - cold) * 1e-3;
        Ok(emf_v + p.get("extension-voltage")?)
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        aux: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let builder = p.builder();
        let reference = reference(p)?;
        let terminals = p.auxiliary(aux, "cold-junction")? - ZERO_CELSIUS_K;
        let measured_mv = (electrical - p.get("extension-voltage")?) * 1e3;
        let cold = reference.emf(terminals).named("E(cold junction)/mV", "");
        let hot = (measured_mv + cold).named("E(hot junction)/mV", "");
        let shifted = reference.temperature(hot, p)?.named("t/°C", "");
        let share = p.get("class-share")?;
        let (absolute, relative) = (p.get("class-absolute")?, p.get("class-relative")?);
        // Undo whichever of the two limits is the greater.
        let near = shifted - share * absolute;
        let factor = share * relative;
        let far = builder.select(shifted, shifted / (1.0 + factor), shifted / (1.0 - factor));
        let t = builder.select(relative * near.abs() - absolute, far, near);
        Ok(t + ZERO_CELSIUS_K)
    }

    fn source_resistance<'t>(
        &self,
        _: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Option<Value<'t>>, LawFault> {
        Ok(p.maybe("loop-resistance"))
    }
}
