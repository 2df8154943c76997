//! Quantities that alternate: what the firmware's root mean square or peak
//! makes of them.

use board::Alternating;
use circuit::interference::{rms_window, sampled_peak};
use tape::Value;

use super::site::Site;
use super::straight::relative_over;
use super::{Reading, Unmodelled};
use crate::time::interferer::timing;
use crate::variables::{Kind, Lies, Trace, Variable};

/// What a window of samples does to an alternating quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Windowed {
    /// Lowest and highest relative error of a reading.
    pub error: (f64, f64),
    /// Samples in it.
    pub count: u32,
    /// Their rate, Hz.
    pub rate_hz: f64,
}

/// What the window of a channel's samples does to its alternating quantity;
/// `None` where it does not alternate, or nothing says how it is sampled: then
/// whole periods are taken.
#[must_use]
pub fn windowed(board: &board::Board, channel: &board::Channel) -> Option<Windowed> {
    let ac = channel.ac.as_ref()?;
    let readout = timing(board, channel)?.readout;
    if readout.count < 2 || readout.filter.is_some() {
        return None;
    }
    let (low, _, high) = ac.frequency_hz;
    let share = |hz: f64| hz / readout.sample_rate_hz;
    let error = if ac.is_peak {
        (-sampled_peak(share(low), share(high), readout.count), 0.0)
    } else {
        rms_window(share(low), share(high), readout.count)
    };
    Some(Windowed {
        error,
        count: readout.count,
        rate_hz: readout.sample_rate_hz,
    })
}

impl<'t> Site<'_, 't> {
    /// The reading of an alternating quantity.
    ///
    /// The chain is solved at both peaks; half of their difference, times what
    /// the circuit leaves at the frequency, is the swing, in which every offset
    /// is gone. Noise of single samples enters the root mean square of N as it
    /// enters their mean (mean of s·n over the root mean square of s), and the
    /// peak as it is.
    ///
    /// # Errors
    /// As [`Site::reading`], and where direct current does not pass.
    pub(super) fn alternating(
        &self,
        truth: Value<'t>,
        ac: &Alternating,
    ) -> Result<Reading<'t>, Unmodelled> {
        let crest = if ac.is_peak { 1.0 } else { ac.crest };
        let peak = truth * crest;
        let quiet = Site {
            quiet: true,
            ..*self
        };
        let high = quiet.reading_here(peak)?;
        let trough = Site {
            trough: true,
            ..quiet
        };
        let low = trough.reading_here(-peak)?;
        trough.watch_converter(&low)?;
        let noisy = self.reading_here(peak)?;
        let mut swing = (high.reading - low.reading) * (0.5 / crest);
        if self.real {
            swing = swing * self.passes(ac)?;
        }
        let samples = self
            .channel
            .input
            .as_ref()
            .map_or(1.0, |i| f64::from(i.average.max(1)));
        // A figure of noise counts for the mean of them.
        let single = if ac.is_peak { samples.sqrt() } else { 1.0 };
        let mut reading = swing + (noisy.reading - high.reading) * single;
        if let Some(w) = windowed(self.board, self.channel).filter(|_| self.real) {
            let error = self.deviation(
                Variable::board(
                    &self.reading_key("window"),
                    &self.reading_name("samples over part of a period"),
                    "",
                    Lies::Between(w.error.0, w.error.1),
                    Kind::Random,
                    Trace::board(Some(ac.span)),
                )
                .per_reading(),
            );
            reading = reading * (error + 1.0);
        }
        Ok(Reading { reading, ..high })
    }

    /// What the circuit leaves at the frequency, against direct current, which
    /// is what the conversion knows.
    fn passes(&self, ac: &Alternating) -> Result<Value<'t>, Unmodelled> {
        let (low_hz, nominal_hz, high_hz) = ac.frequency_hz;
        let all = [low_hz, nominal_hz, high_hz];
        let (mut low, mut high) = relative_over(self.board, self.channel, all)?;
        // A converter that averages by its nature damps it as well.
        if let Some(filter) = timing(self.board, self.channel).and_then(|t| t.readout.filter) {
            let kept = all.map(|hz| filter.kept(hz));
            low *= kept.into_iter().fold(f64::INFINITY, f64::min);
            high *= kept.into_iter().fold(0.0, f64::max);
        }
        if !(low.is_finite() && high.is_finite()) {
            return Err(Unmodelled::at(
                "no direct current passes this chain, so nothing says what its conversion makes of the alternating one",
                ac.span,
            ));
        }
        let middle = 0.5 * (low + high);
        let half = 0.5 * (high - low);
        let name = format!("chain at {}", quantity::engineering(nominal_hz, "Hz", 3));
        let spread = self.deviation(Variable::board(
            &format!("channels.{}.chain-at-frequency", self.channel.name),
            &name,
            "",
            Lies::Between(-half, half),
            Kind::Fixed,
            Trace::board(Some(ac.span)),
        ));
        Ok(spread + middle)
    }
}
