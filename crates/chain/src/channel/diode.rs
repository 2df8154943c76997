//! Diodes by the points of their curves.

use circuit::{Curve, doubling};
use finding::Span;
use parts::Part;
use quantity::Dimension;
use tape::Value;

use super::Unmodelled;
use super::site::{Site, TOLERANCE_K};
use crate::variables::{Kind, Lies, Trace, Variable};

/// Spread of the voltages of a typical curve, as a share, either way: what
/// parts of one type differ by (common practice). Zener diodes are sold in
/// steps of 5 %.
const TYPICAL_VOLTAGE_SHARE: f64 = 0.1;
const ZENER_VOLTAGE_SHARE: f64 = 0.05;
/// Reverse voltage at which a leakage has reached its value, V.
const LEAKAGE_KNEE_V: f64 = 0.1;
/// Reverse voltage up to which a leakage is drawn where none is stated, V.
const REVERSE_V: f64 = 100.0;
/// Least leakage, A, far below any stated one: it keeps the curve rising.
const LEAST_LEAKAGE_A: f64 = 1e-18;

impl<'t> Site<'_, 't> {
    /// The curve of a diode from anode to cathode.
    ///
    /// Forwards by the points of `forward-voltage`, backwards by those of
    /// `zener-voltage`, else by `leakage`, which doubles with each 10 K. The
    /// forward drift is put into the current: a junction whose voltage rises
    /// by s for each factor e of current and falls by d for each kelvin
    /// carries exp(d·ΔT/s) times the current at one voltage.
    ///
    /// # Errors
    /// The points make no curve, or a figure has no value.
    pub fn diode(
        &self,
        key: &str,
        name: &str,
        part: &Part,
        place: Span,
    ) -> Result<Curve<'t>, Unmodelled> {
        let b = self.builder;
        let points = |figure: &str| {
            part.figure(figure)
                .filter(|f| f.variable == Some(Dimension::CURRENT))
                .map_or(&[][..], |f| f.points.as_slice())
        };
        let forward = points("forward-voltage");
        let reverse = points("zener-voltage");
        if forward.is_empty() {
            return Err(Unmodelled::at(
                format!("{name}: `forward-voltage` has no points against current"),
                place,
            ));
        }
        let spread = |figure: &str, share: f64| {
            let trace = Trace {
                span: part.figure(figure).map(|f| f.span),
                ..Trace::practice("parts of one type differ; the curve is typical")
            };
            self.deviation(Variable::board(
                &format!("{key}.{figure}"),
                &format!("{name}, {}", figure.replace('-', " ")),
                "",
                Lies::Between(-share, share),
                Kind::Fixed,
                trace,
            )) + 1.0
        };
        let higher = spread("forward-voltage", TYPICAL_VOLTAGE_SHARE);
        let mut warmth = b.one();
        if let (Some(f), [first, second, ..]) = (part.figure("forward-drift"), forward)
            && let Some(drift) = f.typical()
            && first.0 > 0.0
            && second.0 > first.0
        {
            let decades = (b.constant(second.0) / first.0).ln().nominal();
            let steepness_v = (second.1 - first.1) / decades;
            if steepness_v > 0.0 {
                warmth = ((self.ambient - TOLERANCE_K) * (-drift / steepness_v)).exp();
            }
        }
        let mut curve: Vec<(Value<'t>, Value<'t>)> = Vec::new();
        if reverse.is_empty() {
            if let Some(f) = part.figure("leakage") {
                let label = format!("{name}, leakage");
                let leakage = self.figure(&format!("{key}.leakage"), &label, f, Kind::Fixed)?;
                let at = f.reference_temperature_k.unwrap_or(TOLERANCE_K);
                let leakage = doubling(leakage, self.ambient, at).max(b.constant(LEAST_LEAKAGE_A));
                let far = part
                    .figure("reverse-voltage")
                    .and_then(|f| f.max)
                    .map_or(REVERSE_V, f64::abs);
                curve.push((b.constant(-far), -leakage));
                curve.push((b.constant(-LEAKAGE_KNEE_V), -leakage));
            }
        } else {
            let wider = spread("zener-voltage", ZENER_VOLTAGE_SHARE);
            for &(ampere, volt) in reverse.iter().rev() {
                curve.push((wider * -volt, b.constant(-ampere)));
            }
        }
        curve.push((b.zero(), b.zero()));
        for &(ampere, volt) in forward {
            curve.push((higher * volt, warmth * ampere));
        }
        Curve::knee(&curve).map_err(|f| Unmodelled::at(format!("{name}: {f}"), place))
    }
}
