//! What the moment of sampling adds to a reading.

use parts::Figure;
use tape::{Table, Value};

use super::Unmodelled;
use super::site::Site;
use crate::time::Sampled;
use crate::time::noise::wide_hz;
use crate::variables::{Kind, Lies, Trace, Variable};

/// Errors below this are none, codes.
const NOTHING_CODES: f64 = 1e-4;
/// Lines of noise that are shown by themselves; the others together.
const LINES: usize = 5;
/// Standard deviations between the ends of what a data sheet calls peak to
/// peak: 0.1 % of the time noise lies beyond (common practice).
pub const PEAK_TO_PEAK: f64 = 6.6;

impl<'t> Site<'_, 't> {
    pub(super) fn in_time(&self) -> Option<&Sampled> {
        if !self.real {
            return None;
        }
        let board = &self.board.channels;
        let i = board.iter().position(|c| c.name == self.channel.name)?;
        self.timing.channel(i)
    }

    /// What sampling adds to the voltage between the converter's inputs, V:
    /// what the sample capacitor has not reached, and noise.
    ///
    /// # Errors
    /// The span has no width.
    pub fn sampled(&self, truth: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        let mut sum = self.builder.zero();
        let Some(time) = self.in_time() else {
            return Ok(sum);
        };
        if let Some(u) = &time.settling
            && u.largest_codes() > NOTHING_CODES
        {
            let told = |_| Unmodelled::new("the span has no width");
            let middle: Vec<f64> = u.error_v.iter().map(|(a, b)| 0.5 * (a + b)).collect();
            let half: Vec<f64> = u.error_v.iter().map(|(a, b)| 0.5 * (b - a)).collect();
            let table = |y: &[f64]| Table::lines(&u.quantity, y).map_err(told);
            let lookup = |y: &[f64]| Ok(self.builder.lookup(&table(y)?, truth));
            sum = sum + lookup(&middle)?;
            let figures = self
                .timing
                .converters
                .iter()
                .filter_map(|c| c.scan.as_ref().ok())
                .find(|s| s.channels.iter().any(|c| c.channel == u.channel))
                .map(|s| &s.sampler);
            let trace = Trace {
                source: figures.map_or_else(String::new, |f| f.source.clone()),
                basis: figures.map(|f| f.basis),
                span: None,
            };
            if half.iter().any(|h| *h > 0.0) {
                let share = self.deviation(Variable::board(
                    &format!("channels.{}.unsettled", self.channel.name),
                    "unsettled sampling, spread of the parts",
                    "",
                    Lies::Between(-1.0, 1.0),
                    Kind::Other,
                    trace.clone(),
                ));
                sum = sum + share * lookup(&half)?;
            }
            for &(other, share) in &u.memory {
                let swing = u.swings.iter().find(|s| s.0 == other);
                let half = swing.map_or(0.0, |s| 0.5 * (s.2 - s.1));
                if (share * half * u.codes_per_volt).abs() < NOTHING_CODES {
                    continue;
                }
                let name = &self.board.channels[other].name;
                let before = self.deviation(
                    Variable::board(
                        &self.reading_key(&format!("memory of {name}")),
                        &self.reading_name(&format!("memory of {name}")),
                        "V",
                        Lies::Between(-half, half),
                        Kind::Random,
                        trace.clone(),
                    )
                    .per_reading(),
                );
                sum = sum + before * share;
            }
        }
        if let Some(noise) = &time.noise {
            sum = sum + self.noise_at_input(noise);
        }
        Ok(sum)
    }

    /// Noise at the converter's input, V: one variable where it is drawn,
    /// its lines where it is propagated.
    fn noise_at_input(&self, noise: &crate::time::noise::ChannelNoise) -> Value<'t> {
        let mut sum = self.builder.zero();
        let repeats = self.repeats().sqrt();
        let all = noise.reading_v() / repeats;
        if all == 0.0 {
            return sum;
        }
        let line = |name: &str, rms: f64, trace: Trace| {
            Variable::board(
                &self.reading_key(&format!("noise of {name}")),
                &self.reading_name(&format!("noise, {name}")),
                "V",
                Lies::About(0.0, rms),
                Kind::Random,
                trace,
            )
            .per_reading()
        };
        let together = line("the analog network", all, Trace::arithmetic());
        sum = sum + self.deviation(together.only(true, false, true));
        let (first, rest) = noise.lines.split_at(noise.lines.len().min(LINES));
        for (k, l) in first.iter().enumerate() {
            let trace = Trace {
                source: l.origin.source.clone(),
                basis: l.origin.basis,
                span: l.origin.span,
            };
            // Two resistors of a stage may have one name.
            let mut variable = line(&l.origin.name, l.reading_v / repeats, trace);
            variable.key = self.reading_key(&format!("noise {k}"));
            sum = sum + self.deviation(variable.only(false, true, false));
        }
        let rest = rest
            .iter()
            .map(|l| l.reading_v * l.reading_v)
            .sum::<f64>()
            .sqrt();
        let others = line("all other parts", rest / repeats, Trace::arithmetic());
        sum + self.deviation(others.only(false, true, false))
    }

    /// Noise of what the converter compares against that is too fast for the
    /// chain to follow, as a share of it.
    pub fn reference_noise(&self) -> Value<'t> {
        let zero = self.builder.zero();
        let Some(board::Against::Supply(board::Supply::Reference(i))) =
            self.channel.reference.as_ref().map(|r| &r.value)
        else {
            return zero;
        };
        let (Some(time), Some(reference)) = (self.in_time(), self.board.references.get(*i)) else {
            return zero;
        };
        let Some(part) = &reference.part else {
            return zero;
        };
        let (Some(f), Some(volt)) = (
            part.figures.get("noise-wide"),
            part.figures.get("voltage").and_then(Figure::typical),
        ) else {
            return zero;
        };
        let wide_hz = wide_hz(f);
        let independent = time.noise.as_ref().map_or(1.0, |n| n.independent(wide_hz));
        let rms = f.typical().unwrap_or(0.0).abs() / volt / (independent * self.repeats()).sqrt();
        self.deviation(
            Variable::board(
                &self.reading_key(&format!("references.{}.noise-wide", reference.name)),
                &self.reading_name(&format!(
                    "{}, noise up to {}",
                    reference.name,
                    quantity::display(quantity::Dimension::FREQUENCY, wide_hz, 2)
                )),
                "",
                Lies::About(0.0, rms),
                Kind::Random,
                Trace::figure(f),
            )
            .per_reading(),
        )
    }

    /// Slow noise of a reference, 0.1 Hz to 10 Hz, as a share of its voltage:
    /// the chain follows it, and averaging for seconds leaves it.
    pub(super) fn slow_noise(&self, key: &str, name: &str, f: &Figure, volt: f64) -> Value<'t> {
        if !self.real {
            return self.builder.zero();
        }
        let relative = if f.dimension == quantity::Dimension::NONE {
            1.0
        } else {
            1.0 / volt
        };
        let size = f.typical().unwrap_or(0.0).abs() * relative;
        let rms = if f.peak_to_peak == Some(true) {
            size / PEAK_TO_PEAK
        } else {
            size
        };
        let variable = Variable::board(
            &format!("{key}.noise@{}", self.instance),
            &self.reading_name(&format!("{name}, noise 0.1 Hz to 10 Hz")),
            "",
            Lies::About(0.0, rms),
            Kind::Random,
            Trace::figure(f),
        );
        self.deviation(variable.per_reading())
    }
}
