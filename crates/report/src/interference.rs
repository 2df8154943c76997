//! The answer of `interference`.

use serde::Serialize;

/// What disturbing tones leave in the readings of a board's channels.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Interference {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// The channels asked about, in the order of the file.
    pub channels: Vec<Disturbed>,
    /// Channels that were asked about and have no answer, with the reason.
    pub without: Vec<(String, String)>,
}

/// One channel and the tones on their way into its readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Disturbed {
    /// Its name.
    pub channel: String,
    /// Unit of errors of the quantity.
    pub unit: String,
    /// How a reading is made.
    pub readout: Readout,
    /// Change of the quantity for a volt at the converter's input, in `unit`;
    /// none where the reading does not follow the voltage.
    pub unit_per_volt: Option<f64>,
    /// Codes for a volt at the converter's input.
    pub codes_per_volt: Option<f64>,
    /// Permitted error where the span is strictest, in `unit`, if any.
    pub limit: Option<f64>,
    /// Share of the permitted error from which on a cause is told by itself.
    pub known_error: f64,
    /// The tones, by source and then by number.
    pub tones: Vec<Tone>,
    /// What all tones of known amplitude leave together; none where no
    /// amplitude is known.
    pub together: Option<Residue>,
    /// Averages that null the mains, the shortest first.
    pub windows: Vec<Window>,
    /// The shortest that nulls the grids of 50 Hz and of 60 Hz alike, where
    /// the board names one of them.
    pub both_grids: Option<Window>,
    /// Data rates of the converter, the one that leaves least of the mains
    /// first; empty for converters without a filter of their own.
    pub data_rates: Vec<DataRate>,
    /// Where switching regulators and other interferers above the conversion
    /// rate must not lie, one entry each.
    pub avoid: Vec<Avoid>,
    /// What a tone seen in the readings may be, if one was asked about.
    pub seen: Option<Seen>,
    /// What was taken for granted, in words.
    pub taken: Vec<String>,
}

/// A tone seen in the readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Seen {
    /// Where it is seen, Hz.
    pub hz: f64,
    /// How well that is known, Hz.
    pub tolerance_hz: f64,
    /// How far the rate of the readings may be off, as a share of it.
    pub rate_tolerance: f64,
    /// What it may be, the most plausible first.
    pub explanations: Vec<Explanation>,
    /// Harmonics that stand still at the nominal rate and frequency, each
    /// with the source and the multiple of the rate it meets.
    pub still: Vec<(String, u32, u32)>,
}

/// One way in which a tone may come about.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Explanation {
    /// What makes it: `mains`, or the name of an interferer.
    pub source: String,
    /// Number of the harmonic.
    pub number: u32,
    /// Multiple of the rate of the readings that it lies next to.
    pub multiple: u32,
    /// What must differ from its nominal value: `nothing`, `frequency` or
    /// `rate`.
    pub off: String,
    /// The fundamental it takes, Hz.
    pub fundamental_hz: f64,
    /// The rate it takes, Hz.
    pub rate_hz: f64,
    /// How far that is from the nominal value, in shares of what is
    /// permitted.
    pub stretch: f64,
    /// It needs nothing beyond what is permitted.
    pub plausible: bool,
    /// How far the tone moves for each further reading a second, Hz.
    pub moves_hz: f64,
}

/// How a reading is made from the voltage at the converter's input.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Readout {
    /// Rate of the conversions in a row, Hz.
    pub sample_rate_hz: f64,
    /// Conversions averaged into one reading.
    pub count: u32,
    /// Length of the average, s.
    pub window_s: f64,
    /// Readings per second; none where the file does not say.
    pub reading_rate_hz: Option<f64>,
    /// Order of the converter's own filter, if it has one.
    pub filter_order: Option<u32>,
    /// First notch of that filter, Hz.
    pub filter_notch_hz: Option<f64>,
}

/// One tone, arrived.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tone {
    /// What makes it: `mains`, or the name of an interferer.
    pub source: String,
    /// Where it gets in, in words.
    pub on: String,
    /// Number of the harmonic: one for the fundamental.
    pub number: u32,
    /// Lowest frequency, Hz.
    pub low_hz: f64,
    /// Nominal frequency, Hz.
    pub nominal_hz: f64,
    /// Highest frequency, Hz.
    pub high_hz: f64,
    /// Magnitude at the converter's input per volt where it gets in, at the
    /// worst frequency.
    pub response: f64,
    /// How much the chain damps it, dB, at the worst frequency: against a slow
    /// change at the same place for what comes with the sensor, else against
    /// one volt per volt.
    pub chain_db: f64,
    /// How much filter and averaging damp the nominal frequency, dB; `null`
    /// where nothing is left.
    pub averaging_nominal_db: f64,
    /// How much they damp it at the worst frequency of its range, dB.
    pub averaging_db: f64,
    /// Lowest apparent frequency in the readings, Hz; this and the next two
    /// none where their rate is not known.
    pub seen_low_hz: Option<f64>,
    /// Highest apparent frequency, Hz.
    pub seen_high_hz: Option<f64>,
    /// Apparent frequency of the nominal one, Hz.
    pub seen_nominal_hz: Option<f64>,
    /// The nominal tone stands still in the readings, as an offset.
    pub stands_still: bool,
    /// Peak amplitude where it gets in, V; none where nobody knows it.
    pub amplitude_v: Option<f64>,
    /// What is left of it in a reading.
    pub left: Option<Residue>,
    /// Amplitude where it gets in that would take the share of the permitted
    /// error from which on a cause is told by itself, V; none without a need.
    pub bearable_v: Option<f64>,
}

/// What is left in a reading.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Residue {
    /// Peak at the converter's input, V.
    pub peak_v: f64,
    /// The same in codes.
    pub peak_codes: Option<f64>,
    /// The same in the quantity, in the unit of the channel's errors.
    pub peak: Option<f64>,
    /// Standard uncertainty of it with the phase unknown, in the same unit.
    pub u: Option<f64>,
}

/// An average that nulls the mains.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Window {
    /// Its length, s.
    pub seconds: f64,
    /// Conversions nearest to it at the present rate, or spread over it.
    pub count: u32,
    /// The rate at which so many last exactly as long, Hz.
    pub rate_hz: f64,
    /// How much it damps the mains at worst at the present rate, dB; none for
    /// conversions spread over it because they would be too many at that rate.
    pub now_db: Option<f64>,
    /// How much at that rate: what the ends of the grid's tolerance leave, dB.
    pub exact_db: f64,
}

/// A data rate of a converter with a filter of its own.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DataRate {
    /// The rate, Hz.
    pub rate_hz: f64,
    /// How much it damps the nominal mains and its harmonics at worst, dB;
    /// `null` where nothing is left.
    pub nominal_db: f64,
    /// How much within the grid's tolerance, dB.
    pub worst_db: f64,
    /// It is the one in use.
    pub used: bool,
}

/// Where an interferer must not lie.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Avoid {
    /// The interferer.
    pub source: String,
    /// Its lowest and highest frequency, Hz.
    pub range_hz: (f64, f64),
    /// Rate whose multiples are to be avoided, Hz.
    pub rate_hz: f64,
    /// By so much either way, Hz.
    pub half_width_hz: f64,
    /// Share of the amplitude that averaging keeps outside the bands at most.
    pub kept: f64,
    /// The first bands that overlap its range, Hz.
    pub bands_hz: Vec<(f64, f64)>,
    /// Number of bands that do.
    pub count: f64,
    /// Share of its range that lies within bands.
    pub covered: f64,
}
