//! Voltages given by points, as from a calibration or a curve in a data sheet.

use quantity::Dimension;
use tape::Value;

use super::interface::{
    Auxiliaries, Electrical, Law, LawFault, ParameterSpec, PointsSpec, WordSpec,
};
use super::parameters::Parameters;
use super::points::{CURVE, Curve};

/// V = offset + factor·f(q + shift) with f through the points (quantity, V),
/// or through (quantity, share of the supply).
pub(super) struct VoltageTable {
    /// Whether the points are shares of the supply and not volts.
    pub ratiometric: bool,
}

/// The parameters; `dimension` is that of the output.
const fn specs(dimension: Dimension) -> [ParameterSpec; 3] {
    [
        ParameterSpec::with_default("offset", dimension, 0.0, "deviation added to the output"),
        ParameterSpec::with_default(
            "factor",
            Dimension::NONE,
            1.0,
            "factor on all points, for a tolerance of the part",
        ),
        ParameterSpec::with_default(
            "shift",
            Dimension::NONE,
            0.0,
            "deviation between parts, in the quantity",
        )
        .times_quantity(1),
    ]
}

const IN_VOLTS: &[ParameterSpec] = &specs(Dimension::VOLTAGE);
const IN_SHARES: &[ParameterSpec] = &specs(Dimension::NONE);

fn curve(p: &Parameters<'_>) -> Result<Curve, LawFault> {
    let (x, y) = p.points("points")?.iter().copied().unzip();
    let smooth = p.word("curve")? == "smooth";
    Curve::new(x, y, smooth).map_err(|_| p.no_inverse("the points make no curve"))
}

impl Law for VoltageTable {
    fn name(&self) -> &'static str {
        if self.ratiometric {
            "ratiometric-table"
        } else {
            "voltage-table"
        }
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        if self.ratiometric {
            Electrical::VoltageRatio
        } else {
            Electrical::Voltage
        }
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        if self.ratiometric {
            IN_SHARES
        } else {
            IN_VOLTS
        }
    }

    fn words(&self) -> &'static [WordSpec] {
        &[CURVE]
    }

    fn points(&self) -> &'static [PointsSpec] {
        const fn spec(dimension: Dimension, meaning: &'static str) -> PointsSpec {
            PointsSpec {
                name: "points",
                dimension,
                meaning,
            }
        }
        const VOLTS: &[PointsSpec] = &[spec(Dimension::VOLTAGE, "pairs of quantity and voltage")];
        const SHARES: &[PointsSpec] = &[spec(
            Dimension::NONE,
            "pairs of quantity and share of the supply",
        )];
        if self.ratiometric { SHARES } else { VOLTS }
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
        let value = curve(p)?.at(quantity + p.get("shift")?);
        Ok(p.get("offset")? + p.nonzero("factor")? * value)
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        let value = (electrical - p.get("offset")?) / p.nonzero("factor")?;
        let back = curve(p)?.back(value);
        let shifted =
            back.ok_or_else(|| p.no_inverse("the points neither rise nor fall throughout"))?;
        Ok(shifted - p.get("shift")?)
    }
}
