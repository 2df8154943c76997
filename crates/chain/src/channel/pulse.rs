//! Sensors without a converter: digital words and pulses.

use board::PeriodTimer;
use tape::Value;

use super::Unmodelled;
use super::site::Site;
use crate::law::Law;
use crate::variables::{Kind, Lies, Trace, Variable};

impl<'t> Site<'_, 't> {
    /// The reading of a digital sensor: what it met, in steps of its
    /// resolution.
    ///
    /// # Errors
    /// A figure cannot be used.
    pub fn digital(&self, met: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        let Some(f) = self
            .channel
            .sensor
            .figures
            .get("resolution")
            .filter(|_| self.real)
        else {
            return Ok(met);
        };
        let step = f.typical().unwrap_or(0.0).abs();
        if step == 0.0 {
            return Ok(met);
        }
        let rounding = self.rounding(
            "word",
            "resolution of the word",
            &self.channel.unit.symbol,
            step,
        );
        Ok((met * (1.0 / step) + 0.5).quantised() * step + rounding)
    }

    /// The reading of a pulse rate counted over a gate: whole pulses, the
    /// first of them at any phase, the gate as long as the clock makes it.
    ///
    /// # Errors
    /// The gate time is not stated, or the law cannot be read backwards.
    pub fn counted(
        &self,
        law: &'static dyn Law,
        hertz: Value<'t>,
    ) -> Result<Value<'t>, Unmodelled> {
        let parameters = self.assumed().parameters(law)?;
        let clock = self.channel.clock_tolerance.as_ref().map_or_else(
            || self.builder.zero(),
            |c| {
                self.deviation(Variable::board(
                    "clock",
                    "clock, tolerance",
                    "",
                    Lies::Between(-c.value, c.value),
                    Kind::Fixed,
                    Trace::board(Some(c.span)),
                ))
            },
        );
        let phase = if self.real {
            self.variables.value(
                Variable::board(
                    &self.reading_key("phase"),
                    "phase of the first pulse",
                    "",
                    Lies::Between(0.0, 1.0),
                    Kind::Random,
                    Trace::arithmetic(),
                )
                .per_reading(),
                0.5,
            )
        } else {
            self.builder.constant(0.5)
        };
        if let Some(timer) = &self.channel.period {
            if self.real {
                self.not_below(
                    "timer-lowest",
                    "the timer",
                    Some(timer.span),
                    hertz,
                    self.builder.constant(timer.value.lowest_hz()),
                    "clock and bits of the timer",
                );
            }
            let rate = self.timed(timer.value, hertz, clock, phase);
            return law
                .inverse(rate, &parameters, &|_| None)
                .map_err(|f| Unmodelled::new(f.to_string()));
        }
        let gate = self.gate()?;
        let pulses = (hertz * gate * (clock + 1.0)
            + phase
            + self.rounding("count", "whole pulses", "", 1.0))
        .quantised();
        let rate = pulses * (1.0 / gate);
        law.inverse(rate, &parameters, &|_| None)
            .map_err(|f| Unmodelled::new(f.to_string()))
    }

    /// The rate that a timer finds from how long so many periods take: whole
    /// counts of its clock, the first of them at any phase, and its lowest
    /// rate where it would overflow.
    fn timed(
        &self,
        timer: PeriodTimer,
        hertz: Value<'t>,
        clock: Value<'t>,
        phase: Value<'t>,
    ) -> Value<'t> {
        let ticks = timer.clock_hz * f64::from(timer.periods);
        let slowest = self.builder.constant(timer.lowest_hz());
        let counts = (self.builder.constant(ticks) * (clock + 1.0) / hertz.max(slowest)
            + phase
            + self.rounding("count", "whole counts of the timer", "", 1.0))
        .quantised()
        .max(self.builder.constant(1.0));
        self.builder.constant(ticks) / counts
    }

    /// Time over which pulses are counted, s.
    fn gate(&self) -> Result<f64, Unmodelled> {
        self.channel
            .gate_s
            .as_ref()
            .map(|g| g.value)
            .ok_or_else(|| {
                Unmodelled::new(
                    "a pulse rate needs the time over which it is counted, gate = \"1 s\", or the timer of its period, period = { clock = \"1 MHz\" }",
                )
            })
    }

    /// Pulses between two quantities over the gate, as assumed.
    ///
    /// # Errors
    /// The gate time is not stated, or the law has no equations.
    pub fn nominal_counts(&self, low: f64, high: f64) -> Result<f64, Unmodelled> {
        let law = self.law()?;
        let parameters = self.assumed().parameters(law)?;
        let at = |q: f64| {
            law.forward(self.builder.constant(q), &parameters, &|_| None)
                .map_err(|f| Unmodelled::new(f.to_string()))
        };
        if let Some(timer) = &self.channel.period {
            let counts = |q: f64| at(q).map(|f| timer.value.counts(f.nominal()));
            return Ok((counts(high)? - counts(low)?).abs());
        }
        let gate = self.gate()?;
        Ok((at(high)?.nominal() - at(low)?.nominal()).abs() * gate)
    }
}
