//! The answer of `schedule`.

use serde::Serialize;

/// When converters read their channels, and what of it settles.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Schedule {
    /// See [`crate::VERSION`].
    pub version: u32,
    /// Name of the board.
    pub board: String,
    /// One per converter that has channels.
    pub converters: Vec<ConverterSchedule>,
}

impl Schedule {
    /// Whether every channel settles and is read as often as asked.
    #[must_use]
    pub fn is_met(&self) -> bool {
        let met = |t: &Turn| t.settles != Some(false) && t.is_in_time != Some(false);
        self.converters
            .iter()
            .all(|c| c.misfits.is_empty() && c.turns.iter().all(met))
    }
}

/// One converter's turns.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct ConverterSchedule {
    /// The converter.
    pub name: String,
    /// Clock after the prescaler, Hz.
    pub clock_hz: Option<f64>,
    /// Sample capacitor, F.
    pub sample_farad: Option<f64>,
    /// Resistance of the switch, Ω.
    pub switch_ohm: Option<f64>,
    /// What the sample capacitor begins an acquisition with, in words.
    pub start: String,
    /// Time of all turns, s.
    pub sequence_s: f64,
    /// Time from the begin of one sequence to that of the next, s.
    pub period_s: f64,
    /// Share of the period in which it is busy.
    pub busy: f64,
    /// Turns in their order.
    pub turns: Vec<Turn>,
    /// So many sequences in a second still settle where every time in them,
    /// pauses too, grows or shrinks alike; the part's own limits are not
    /// looked at. None where none does.
    pub fastest_hz: Option<f64>,
    /// Settings that the part does not do, in sentences.
    pub misfits: Vec<String>,
    /// What was taken for granted, in sentences.
    pub assumed: Vec<String>,
    /// Why there is no schedule, where there is none.
    pub reason: String,
}

/// One channel's turn.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Turn {
    /// The channel.
    pub channel: String,
    /// Unit of an error of its quantity.
    pub error_unit: String,
    /// Begin in the sequence, s.
    pub from_s: f64,
    /// Acquisition of one conversion, s.
    pub acquire_s: f64,
    /// The rest of one conversion, s.
    pub convert_s: f64,
    /// Conversions in a row.
    pub repeats: u32,
    /// Readings per second.
    pub rate_hz: f64,
    /// Readings per second asked for.
    pub asked_hz: Option<f64>,
    /// Whether it is read as often as asked; none where nothing is asked.
    pub is_in_time: Option<bool>,
    /// What settling leaves over the span, the other channels in the middle
    /// of theirs.
    pub errors: Vec<SettlingError>,
    /// The largest, the other channels where they disturb it most.
    pub worst: Option<SettlingError>,
    /// What of another channel's change is left in this one, the largest
    /// first.
    pub memory: Vec<Memory>,
    /// Largest settling error taken for none, codes.
    pub limit_codes: f64,
    /// Whether the error is within it everywhere; none where it cannot be
    /// told.
    pub settles: Option<bool>,
    /// Resistance that the converter sees, Ω.
    pub source_ohm: Option<f64>,
    /// The largest resistance of a plain source at the pin from which it would
    /// settle, Ω; none where it would from none.
    pub largest_ohm: Option<f64>,
    /// The shortest acquisition with which it settles, s; none where it does
    /// with none.
    pub shortest_acquire_s: Option<f64>,
    /// Capacitor at the pin with which it settles although the acquisition
    /// stays, F; none where it needs none or none helps.
    pub pin_farad: Option<f64>,
    /// What to write, in words; empty where it settles.
    pub proposal: String,
    /// Why there is no settling, where there is none.
    pub reason: String,
}

/// What settling leaves at one value of the quantity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SettlingError {
    /// The quantity, in the channel's unit.
    pub at: f64,
    /// Error, codes.
    pub codes: f64,
    /// Error, in the error unit.
    pub error: f64,
}

/// What of another channel is left.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Memory {
    /// The other channel.
    pub of: String,
    /// Share of its change.
    pub share: f64,
}
