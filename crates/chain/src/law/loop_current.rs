//! Transmitters on a current loop of 4 mA to 20 mA.

use quantity::Dimension;
use tape::Value;

use super::interface::{Auxiliaries, Electrical, Law, LawFault, ParameterSpec};
use super::line::Line;
use super::parameters::Parameters;

/// Currents that divide a loop's signal into measurement and failure, in
/// amperes (NAMUR recommendation NE 43, 2003).
pub mod ne43 {
    /// At or below: the transmitter reports a failure, or the loop is broken.
    pub const FAILURE_LOW_A: f64 = 3.6e-3;
    /// From here up: a measured value, possibly at the end of the range.
    pub const MEASUREMENT_LOW_A: f64 = 3.8e-3;
    /// Up to here: a measured value.
    pub const MEASUREMENT_HIGH_A: f64 = 20.5e-3;
    /// At or above: the transmitter reports a failure, or the loop is shorted.
    pub const FAILURE_HIGH_A: f64 = 21e-3;

    /// What a loop current says.
    #[derive(Clone, Copy, PartialEq, Eq, Debug)]
    pub enum Band {
        /// Failure, signalled low.
        FailureLow,
        /// A measured value.
        Measurement,
        /// Failure, signalled high.
        FailureHigh,
        /// Between the bands (or no number): nothing can be told.
        Undefined,
    }

    /// The band of a loop current in amperes.
    ///
    /// ```
    /// use chain::law::ne43::{Band, band};
    /// assert_eq!(band(12e-3), Band::Measurement);
    /// assert_eq!(band(3.7e-3), Band::Undefined);
    /// ```
    #[must_use]
    pub fn band(current_a: f64) -> Band {
        if current_a <= FAILURE_LOW_A {
            Band::FailureLow
        } else if current_a >= FAILURE_HIGH_A {
            Band::FailureHigh
        } else if (MEASUREMENT_LOW_A..=MEASUREMENT_HIGH_A).contains(&current_a) {
            Band::Measurement
        } else {
            Band::Undefined
        }
    }
}

/// Largest resistance (Ω) in a loop fed from `supply_v` that still leaves the
/// transmitter `minimum_v` at `current_a`: (supply − minimum)/current.
#[must_use]
pub fn largest_loop_resistance<'t>(
    supply_v: Value<'t>,
    minimum_v: Value<'t>,
    current_a: Value<'t>,
) -> Value<'t> {
    (supply_v - minimum_v) / current_a
}

/// I = low + (high − low)·(q − span-low)/(span-high − span-low).
pub(super) struct LoopCurrent;

fn line<'t>(p: &Parameters<'t>) -> Result<Line<'t>, LawFault> {
    let (low, high) = p.distinct("span-low", "span-high")?;
    let (at_low, at_high) = p.distinct("current-low", "current-high")?;
    Ok(Line::through((low, at_low), (high, at_high)))
}

impl Law for LoopCurrent {
    fn name(&self) -> &'static str {
        "loop-current"
    }

    fn quantity(&self) -> Option<Dimension> {
        None
    }

    fn electrical(&self) -> Electrical {
        Electrical::Current
    }

    fn parameters(&self) -> &'static [ParameterSpec] {
        const LIST: &[ParameterSpec] = &[
            ParameterSpec::required("span-low", Dimension::NONE, "quantity at the low current")
                .times_quantity(1),
            ParameterSpec::required("span-high", Dimension::NONE, "quantity at the high current")
                .times_quantity(1),
            ParameterSpec::with_default(
                "current-low",
                Dimension::CURRENT,
                4e-3,
                "current at the low end of the span",
            ),
            ParameterSpec::with_default(
                "current-high",
                Dimension::CURRENT,
                20e-3,
                "current at the high end of the span",
            ),
        ];
        LIST
    }

    fn validity(&self, p: &Parameters<'_>) -> Option<(f64, f64)> {
        p.between("span-low", "span-high")
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
}
