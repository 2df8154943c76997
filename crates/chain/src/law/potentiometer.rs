//! Potentiometers: a share of the voltage across them.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::line::Line;
use super::parameters::Parameters;

/// Share of the voltage at the wiper, a straight line from `ratio-low` at
/// `travel-low` to `ratio-high` at `travel-high`.
///
/// Seen from the wiper the track is R·s·(1 − s) at the share s (both halves
/// of the track side by side), largest in the middle.
pub(super) struct Potentiometer;

fn line<'t>(p: &Parameters<'t>) -> Result<Line<'t>, LawFault> {
    let (low, high) = p.distinct("travel-low", "travel-high")?;
    let (at_low, at_high) = p.distinct("ratio-low", "ratio-high")?;
    let bend = p.get("linearity")?;
    Ok(Line::through((low, at_low + bend), (high, at_high + bend)))
}

impl Law for Potentiometer {
    fn name(&self) -> &'static str {
        "potentiometer"
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        Electrical::VoltageRatio
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::with_default(
                "travel-low",
                Dimension::NONE,
                0.0,
                "quantity at the low end of the travel",
            )
            .times_quantity(1),
            ParameterSpec::required(
                "travel-high",
                Dimension::NONE,
                "quantity at the high end of the travel",
            )
            .times_quantity(1),
            ParameterSpec::with_default(
                "ratio-low",
                Dimension::NONE,
                0.0,
                "share of the voltage at the low end",
            ),
            ParameterSpec::with_default(
                "ratio-high",
                Dimension::NONE,
                1.0,
                "share of the voltage at the high end",
            ),
            ParameterSpec::with_default(
                "linearity",
                Dimension::NONE,
                0.0,
                "deviation of the share from the straight line",
            ),
            ParameterSpec::optional("resistance", Dimension::RESISTANCE, "whole track"),
        ];
        LIST
    }

    fn validity(&self, p: &Parameters<'_>) -> Option<(f64, f64)> {
        p.between("travel-low", "travel-high")
    }

    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(line(p)?.at(quantity))
    }

    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault> {
        Ok(line(p)?.back(electrical))
    }

    fn source_resistance<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        _: Auxiliaries<'_, 't>,
    ) -> Result<Option<Value<'t>>, LawFault> {
        let Some(track) = p.maybe("resistance") else {
            return Ok(None);
        };
        let builder = p.builder();
        let share = line(p)?.at(quantity).clamp(builder.zero(), builder.one());
        // At an end nothing of the track is left in the way, and nothing
        // cannot be divided by: a billionth of the track stays.
        let least = builder.constant(1e-9);
        Ok(Some(track * (share * (1.0 - share)).max(least)))
    }
}
