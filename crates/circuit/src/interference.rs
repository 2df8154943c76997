//! Families of disturbing tones (the mains, a switching regulator, a pulse
//! width) on their way through chain, converter filter and averaging into the
//! readings.

mod explain;
mod nulls;

use statistics::{alias, averaging};

use crate::linearised::Response;
use crate::tone::Tone;

pub use explain::{Explanation, Off, explain_tone, zero_beats};
pub use nulls::{Avoid, NullWindow, Rejection, null_windows, rejections, to_avoid};

/// A fundamental that lies somewhere between two frequencies, with its
/// harmonics.
#[derive(Clone, Debug, PartialEq)]
pub struct Family {
    /// Lowest frequency of the fundamental, Hz.
    pub low_hz: f64,
    /// Its nominal frequency, Hz.
    pub nominal_hz: f64,
    /// Its highest frequency, Hz.
    pub high_hz: f64,
    /// Number of tones, the fundamental counted.
    pub harmonics: u32,
    /// Peak amplitudes at the stimulus in its unit, from the fundamental on.
    /// Empty: nobody knows. One for several harmonics: the n-th has 1/n of it,
    /// the envelope of a square wave's. Those a longer list leaves out are
    /// unknown.
    pub amplitudes: Vec<f64>,
}

impl Family {
    /// Peak amplitude of the n-th tone, counted from one.
    #[must_use]
    pub fn amplitude(&self, number: u32) -> Option<f64> {
        match (self.amplitudes.as_slice(), number) {
            (_, 0) => None,
            ([one], n) => Some(one.abs() / f64::from(n)),
            (list, n) => list.get(n as usize - 1).map(|a| a.abs()),
        }
    }

    /// The n-th tone over its whole range.
    #[must_use]
    pub fn tone(&self, number: u32) -> Tone {
        Tone {
            low_hz: f64::from(number) * self.low_hz,
            high_hz: f64::from(number) * self.high_hz,
            amplitude: self.amplitude(number),
        }
    }

    fn usable(&self) -> bool {
        self.low_hz > 0.0
            && self.nominal_hz >= self.low_hz
            && self.high_hz >= self.nominal_hz
            && self.high_hz.is_finite()
    }
}

/// The filter inside a delta-sigma converter: means one after another whose
/// notches lie at the multiples of its data rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SincFilter {
    /// How many means.
    pub order: u32,
    /// First notch, Hz.
    pub notch_hz: f64,
    /// Modulator samples in each mean. Near the multiples of the modulator's
    /// rate nothing is damped; `None` where that rate is unknown, then it is
    /// taken to be out of reach.
    pub decimation: Option<u32>,
}

/// Stands for a modulator that is out of reach.
const FAR: u32 = 1 << 20;

impl SincFilter {
    fn decimation(&self) -> u32 {
        self.decimation.unwrap_or(FAR).max(1)
    }

    /// The modulator's rate, Hz, where it is known.
    #[must_use]
    pub fn modulator_hz(&self) -> Option<f64> {
        self.decimation.map(|n| f64::from(n.max(1)) * self.notch_hz)
    }

    /// Share of a tone's amplitude that it keeps at a frequency.
    #[must_use]
    pub fn kept(&self, hz: f64) -> f64 {
        let count = self.decimation();
        averaging::sinc_power(hz / (f64::from(count) * self.notch_hz), count, self.order).sqrt()
    }

    /// Largest share it may keep of a tone between two frequencies.
    fn largest(&self, low_hz: f64, high_hz: f64) -> f64 {
        let count = self.decimation();
        let modulator_hz = f64::from(count) * self.notch_hz;
        let one =
            averaging::largest_power(low_hz / modulator_hz, high_hz / modulator_hz, count).sqrt();
        (0..self.order).fold(1.0, |product, _| product * one)
    }
}

/// How a reading is made from what stands at the converter's input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Readout {
    /// Rate of the conversions in a row that are averaged, Hz.
    pub sample_rate_hz: f64,
    /// Conversions averaged into one reading.
    pub count: u32,
    /// Readings per second.
    pub reading_rate_hz: f64,
    /// The filter inside the converter, if it has one.
    pub filter: Option<SincFilter>,
}

/// Lobes up to which the joint maximum of filter and averaging is looked for;
/// beyond it each is taken at its own worst, which is a bound.
const LOBES: f64 = 512.0;

/// Points looked at in each lobe before the best is refined.
const IN_LOBE: f64 = 12.0;

impl Readout {
    fn usable(&self) -> bool {
        let rate = |hz: f64| hz > 0.0 && hz.is_finite();
        rate(self.sample_rate_hz)
            && rate(self.reading_rate_hz)
            && self.filter.is_none_or(|f| rate(f.notch_hz))
    }

    /// Share of a tone's amplitude that the mean of the conversions keeps.
    #[must_use]
    pub fn window(&self, hz: f64) -> f64 {
        averaging::window_power(hz / self.sample_rate_hz, self.count).sqrt()
    }

    /// Share of a tone's amplitude that filter and averaging together keep.
    #[must_use]
    pub fn kept(&self, hz: f64) -> f64 {
        self.filter.map_or(1.0, |f| f.kept(hz)) * self.window(hz)
    }

    /// Length of the averaging, s.
    #[must_use]
    pub fn window_s(&self) -> f64 {
        f64::from(self.count.max(1)) / self.sample_rate_hz
    }

    /// Largest share of its amplitude that is kept of a tone that may lie
    /// anywhere between two frequencies.
    #[must_use]
    pub fn largest(&self, low_hz: f64, high_hz: f64) -> f64 {
        let window = averaging::largest_power(
            low_hz / self.sample_rate_hz,
            high_hz / self.sample_rate_hz,
            self.count,
        )
        .sqrt();
        let Some(filter) = self.filter else {
            return window;
        };
        let bound = window * filter.largest(low_hz, high_hz);
        let lobe_hz = filter.notch_hz.min(1.0 / self.window_s());
        let lobes = (high_hz - low_hz) / lobe_hz;
        if !(lobes <= LOBES) {
            return bound;
        }
        largest_of(|hz| self.kept(hz), low_hz, high_hz, lobes).min(bound)
    }
}

/// Largest value of a lobed function between two frequencies.
fn largest_of(of: impl Fn(f64) -> f64, low: f64, high: f64, lobes: f64) -> f64 {
    let points = (lobes * IN_LOBE).ceil().max(64.0);
    let step = (high - low) / points;
    let at = |k: f64| (low + k * step).min(high);
    let (mut best, mut place, mut k) = (of(low).max(of(high)), 0.0, 0.0);
    while k <= points {
        let value = of(at(k));
        if value >= best {
            (best, place) = (value, k);
        }
        k += 1.0;
    }
    let (mut a, mut b) = (at((place - 1.0).max(0.0)), at(place + 1.0));
    for _ in 0..80 {
        let (x, y) = (a + 0.382 * (b - a), b - 0.382 * (b - a));
        if of(x) > of(y) {
            b = y;
        } else {
            a = x;
        }
    }
    best.max(of(0.5 * (a + b)))
}

/// One tone of a family, arrived.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrival {
    /// Which: one for the fundamental.
    pub number: u32,
    /// Lowest, nominal and highest frequency, Hz.
    pub hz: (f64, f64, f64),
    /// Magnitude of the chain at the worst frequency: converter's input per
    /// stimulus.
    pub response: f64,
    /// What filter and averaging keep at the nominal frequency.
    pub kept_nominal: f64,
    /// What they keep at the worst frequency of the range.
    pub kept: f64,
    /// Apparent frequencies in the readings, Hz: lowest and highest.
    pub alias_hz: (f64, f64),
    /// Apparent frequency of the nominal one, Hz.
    pub alias_nominal_hz: f64,
    /// Whether the nominal tone stands still in the readings.
    pub stands_still: bool,
    /// Amplitude in the reading, V at the converter's input; a bound, for
    /// chain and averaging are each taken at their worst.
    pub amplitude: Option<f64>,
}

impl Arrival {
    /// How much the chain damps the tone at the worst frequency against what
    /// it does to a slow change of `slow` per stimulus, dB; infinite where
    /// nothing arrives.
    #[must_use]
    pub fn chain_db(&self, slow: f64) -> f64 {
        decibel(slow.abs() / self.response)
    }

    /// How much filter and averaging damp it at the worst frequency, dB.
    #[must_use]
    pub fn kept_db(&self) -> f64 {
        decibel(1.0 / self.kept)
    }
}

/// Share of a tone's frequency that counts as none: below what rates and
/// frequencies are written with.
const STILL: f64 = 1e-9;

/// Multiples of the rate beyond which that share is no longer small beside the
/// rate, so that nobody can say where a tone stands.
const FURTHEST: f64 = 1e6;

/// Whether a tone stands still in readings at a rate: an offset that no look
/// at them gives away.
fn stands_still(hz: f64, rate_hz: f64) -> bool {
    let turns = hz / rate_hz;
    (0.5..FURTHEST).contains(&turns) && alias::frequency(hz, rate_hz) <= STILL * hz
}

/// Lowest and highest relative error of the root mean square of `count`
/// samples, their mean taken off, of a sine whose frequency lies between two
/// shares of the sample rate.
#[must_use]
pub fn rms_window(low: f64, high: f64, count: u32) -> (f64, f64) {
    statistics::alternating::largest_rms_error_without_mean(low, high, count)
}

/// How much lower than the peak the largest of `count` samples may be, as a
/// share of it, where the frequency lies between two shares of the sample
/// rate.
#[must_use]
pub fn sampled_peak(low: f64, high: f64, count: u32) -> f64 {
    (0..=8)
        .map(|k| low + (high - low) * f64::from(k) / 8.0)
        .map(|x| statistics::alternating::missed_peak(x, count))
        .fold(0.0, f64::max)
}

/// 20·log10 of a ratio.
#[must_use]
pub fn decibel(ratio: f64) -> f64 {
    20.0 * elementary::log10(ratio)
}

/// What all tones of some families together leave.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Together {
    /// All at their peaks at once, V.
    pub peak: f64,
    /// Standard deviation with every phase unknown, V: a tone of unknown
    /// phase is arcsine distributed, u = a/√2 (JCGM 101, 6.4.6).
    pub deviation: f64,
    /// Tones without a known amplitude, which are in neither.
    pub unknown: usize,
}

impl Together {
    /// The sum over some arrivals.
    #[must_use]
    pub fn of(arrivals: &[Arrival]) -> Self {
        let (mut peak, mut power, mut unknown) = (0.0, 0.0, 0);
        for a in arrivals {
            match a.amplitude {
                Some(v) => {
                    peak += v;
                    power += 0.5 * v * v;
                }
                None => unknown += 1,
            }
        }
        Together {
            peak,
            deviation: power.sqrt(),
            unknown,
        }
    }
}

/// What a family leaves where the chain is known by its largest magnitude
/// (output per stimulus) over the range of each tone, the fundamental first.
///
/// `None` for frequencies and rates that are no positive numbers, for ranges
/// that run backwards, and for fewer magnitudes than tones.
#[must_use]
pub fn arrivals(family: &Family, readout: &Readout, chain: &[f64]) -> Option<Vec<Arrival>> {
    if !(family.usable() && readout.usable()) {
        return None;
    }
    let count = family.harmonics.max(1);
    if chain.len() < count as usize {
        return None;
    }
    let one = |(number, &response): (u32, &f64)| {
        let tone = family.tone(number);
        let nominal_hz = f64::from(number) * family.nominal_hz;
        let kept = readout.largest(tone.low_hz, tone.high_hz);
        Arrival {
            number,
            hz: (tone.low_hz, nominal_hz, tone.high_hz),
            response,
            kept_nominal: readout.kept(nominal_hz),
            kept,
            alias_hz: alias::range(tone.low_hz, tone.high_hz, readout.reading_rate_hz),
            alias_nominal_hz: alias::frequency(nominal_hz, readout.reading_rate_hz),
            stands_still: stands_still(nominal_hz, readout.reading_rate_hz),
            amplitude: tone.amplitude.map(|a| a * response * kept),
        }
    };
    Some((1..=count).zip(chain).map(one).collect())
}

impl Response<'_> {
    /// What a family of tones at the stimulus leaves in the readings. `None`
    /// as [`arrivals`].
    #[must_use]
    pub fn family(&self, family: &Family, readout: &Readout) -> Option<Vec<Arrival>> {
        let chain: Vec<f64> = (1..=family.harmonics.max(1))
            .map(|n| family.tone(n))
            .map(|t| self.largest(t.low_hz, t.high_hz))
            .collect();
        arrivals(family, readout, &chain)
    }
}
