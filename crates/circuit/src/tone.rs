//! A disturbing tone on its way into a reading.

use std::f64::consts::TAU;

use statistics::{alias, averaging};

use crate::linearised::{Linearised, Response};

/// Points looked at between the ends of a tone's range, besides the poles.
const POINTS: u32 = 16;

/// A tone that lies somewhere between two frequencies: a harmonic of the
/// mains within the grid's tolerance, a switching regulator over its spread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tone {
    /// Lowest frequency, Hz.
    pub low_hz: f64,
    /// Highest frequency, Hz.
    pub high_hz: f64,
    /// Amplitude at the stimulus, in its unit; `None` where nobody knows it.
    /// Then what is left is given as a share and no error is made up.
    pub amplitude: Option<f64>,
}

/// How readings are taken: the mean of `count` samples at a rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sampling {
    /// Samples per second.
    pub rate_hz: f64,
    /// Samples averaged into one reading.
    pub count: u32,
}

/// What a tone leaves in a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Left {
    /// Largest magnitude of the response over the tone's range, output per
    /// stimulus.
    pub response: f64,
    /// Largest share of its amplitude that the mean keeps.
    pub kept: f64,
    /// Lowest and highest frequency at which single samples show it, Hz.
    pub alias_hz: (f64, f64),
    /// Amplitude in the reading, in the unit of the output: a bound, for
    /// response and mean are each taken at their worst.
    pub amplitude: Option<f64>,
}

impl Tone {
    /// A harmonic of a frequency within a relative tolerance: the fourth of
    /// 50 Hz ± 1 % lies between 198 and 202 Hz.
    #[must_use]
    pub fn harmonic(number: u32, hz: f64, tolerance: f64, amplitude: Option<f64>) -> Self {
        let centre = f64::from(number) * hz;
        Tone {
            low_hz: centre * (1.0 - tolerance),
            high_hz: centre * (1.0 + tolerance),
            amplitude,
        }
    }
}

impl Linearised {
    /// Frequencies worth looking at between two, Hz: the ends, those of poles
    /// between them and some more.
    #[must_use]
    pub fn looked_at(&self, low_hz: f64, high_hz: f64) -> Vec<f64> {
        let ratio = high_hz / low_hz;
        let poles = self.poles().unwrap_or_default();
        let within = poles
            .into_iter()
            .map(|p| p.abs() / TAU)
            .filter(|hz| *hz > low_hz && *hz < high_hz);
        let mut list: Vec<f64> = (0..POINTS)
            .map(|k| low_hz * elementary::pow(ratio, f64::from(k) / f64::from(POINTS)))
            .chain([high_hz])
            .chain(within)
            .collect();
        if low_hz == high_hz {
            list.truncate(1);
        }
        list
    }
}

impl Response<'_> {
    /// Largest magnitude between two frequencies: at the ends, at poles
    /// between them and at some points more.
    #[must_use]
    pub fn largest(&self, low_hz: f64, high_hz: f64) -> f64 {
        let looked_at = self.network().looked_at(low_hz, high_hz);
        let sizes = looked_at.into_iter().map(|hz| self.at(hz).abs());
        sizes.fold(0.0, f64::max)
    }

    /// What a tone at the stimulus leaves in a reading of the output.
    ///
    /// `None` for a tone at zero frequency (an offset, which no averaging
    /// removes), a range that runs backwards, and a rate that is not
    /// positive.
    #[must_use]
    pub fn tone(&self, tone: &Tone, sampling: &Sampling) -> Option<Left> {
        let usable = tone.low_hz > 0.0
            && tone.high_hz >= tone.low_hz
            && tone.high_hz.is_finite()
            && sampling.rate_hz > 0.0
            && sampling.rate_hz.is_finite();
        if !usable {
            return None;
        }
        let response = self.largest(tone.low_hz, tone.high_hz);
        let (low, high) = (
            tone.low_hz / sampling.rate_hz,
            tone.high_hz / sampling.rate_hz,
        );
        let kept = averaging::largest_power(low, high, sampling.count).sqrt();
        Some(Left {
            response,
            kept,
            alias_hz: alias::range(tone.low_hz, tone.high_hz, sampling.rate_hz),
            amplitude: tone.amplitude.map(|a| a.abs() * response * kept),
        })
    }
}
