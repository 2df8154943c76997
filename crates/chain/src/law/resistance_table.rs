//! Resistances given by points, as in the table of a data sheet.

use quantity::Dimension;
use tape::Value;

use super::interface::{
    Auxiliaries, Electrical, Law, LawFault, ParameterSpec, PointsSpec, WordSpec,
};
use super::parameters::Parameters;
use super::points::{CURVE, Curve};

/// Least resistance (Ω) whose logarithm is taken.
const LEAST_OHM: f64 = 1e-9;

/// R = factor·f(q + shift) with f through the points (quantity, Ω).
///
/// On the logarithmic scale it is ln R that is joined from point to point:
/// between the points of a thermistor's table a straight line is off by a
/// part of its tolerance, the logarithm by very little.
pub(super) struct ResistanceTable;

const WORDS: &[WordSpec] = &[
    CURVE,
    WordSpec {
        name: "scale",
        choices: &["logarithmic", "linear"],
        default: Some("logarithmic"),
        meaning: "whether the logarithm of the resistance or the resistance itself is joined",
    },
];

/// The curve of the points, and whether it is one of logarithms.
fn curve(p: &Parameters<'_>) -> Result<(Curve, bool), LawFault> {
    let logarithmic = p.word("scale")? == "logarithmic";
    let points = p.points("points")?;
    if logarithmic && points.iter().any(|(_, ohm)| *ohm <= 0.0) {
        return Err(p.no_inverse("a resistance is not above zero"));
    }
    let scaled = |ohm: f64| {
        if logarithmic {
            elementary::ln(ohm)
        } else {
            ohm
        }
    };
    let (x, y) = points.iter().map(|&(x, y)| (x, scaled(y))).unzip();
    let smooth = p.word("curve")? == "smooth";
    let curve = Curve::new(x, y, smooth).map_err(|_| p.no_inverse("the points make no curve"))?;
    Ok((curve, logarithmic))
}

impl Law for ResistanceTable {
    fn name(&self) -> &'static str {
        "resistance-table"
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        Electrical::Resistance
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::with_default(
                "factor",
                Dimension::NONE,
                1.0,
                "factor on all resistances, for a tolerance of the part",
            ),
            ParameterSpec::with_default(
                "shift",
                Dimension::NONE,
                0.0,
                "deviation between parts, in the quantity",
            )
            .times_quantity(1),
        ];
        LIST
    }

    fn words(&self) -> &'static [WordSpec] {
        WORDS
    }

    fn points(&self) -> &'static [PointsSpec] {
        &[PointsSpec {
            name: "points",
            dimension: Dimension::RESISTANCE,
            meaning: "pairs of quantity and resistance",
        }]
    }

    fn validity(&self, p: &Parameters<'_>) -> Option<(f64, f64)> {
        p.ends("points")
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let (curve, logarithmic) = curve(p)?;
        let value = curve.at(quantity + p.get("shift")?);
        let ohm = if logarithmic { value.exp() } else { value };
        Ok(p.positive("factor")? * ohm)
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let (curve, logarithmic) = curve(p)?;
        let ohm = electrical / p.positive("factor")?;
        let value = if logarithmic {
            ohm.max(p.builder().constant(LEAST_OHM)).ln()
        } else {
            ohm
        };
        let back = curve.back(value);
        let shifted =
            back.ok_or_else(|| p.no_inverse("the points neither rise nor fall throughout"))?;
        Ok(shifted - p.get("shift")?)
    }
}
