//! Whether the firmware can tell a fault from a value.

use board::{Channel, Terminal};
use chain::channel::fault::{Faulty, Seen, State};
use chain::law::ne43;

/// What a reading may miss its span by where no accuracy is asked, as a share
/// of the span.
const LOOSE: f64 = 0.01;

/// Readings and codes that the firmware takes for real.
#[derive(Clone, Debug, PartialEq)]
pub struct Valid {
    /// Lowest and highest reading, SI.
    pub band: (f64, f64),
    /// What the band is, in words.
    pub by: &'static str,
    /// Codes that stand for a fault.
    pub fault_codes: Vec<(f64, f64)>,
}

impl Valid {
    /// The band the file states; else of a current loop that of NAMUR NE 43;
    /// else the span with its accuracy.
    #[must_use]
    pub fn of(channel: &Channel, said: Option<&Terminal>) -> Valid {
        let fault_codes = said
            .map(|t| t.fault_codes.iter().map(|c| c.value).collect())
            .unwrap_or_default();
        if let Some(valid) = said.and_then(|t| t.valid.as_ref()) {
            return Valid {
                band: valid.value,
                by: "the readings taken for real",
                fault_codes,
            };
        }
        if let Some(band) = loop_band(channel) {
            return Valid {
                band,
                by: "the bands of the loop (NAMUR NE 43)",
                fault_codes,
            };
        }
        let (low, high) = channel.span.value;
        let loose = LOOSE * (high - low);
        let more = |q: f64| channel.limit_at(q).unwrap_or(loose);
        Valid {
            band: (low - more(low), high + more(high)),
            by: "the span",
            fault_codes,
        }
    }
}

/// Quantities at the failure currents of a transmitter on a loop.
fn loop_band(channel: &Channel) -> Option<(f64, f64)> {
    if channel.sensor.law != "loop-current" {
        return None;
    }
    let f = |name: &str| channel.sensor.figures.get(name)?.typical();
    let (low, high) = (f("span-low")?, f("span-high")?);
    let (from, to) = (
        f("current-low").unwrap_or(4e-3),
        f("current-high").unwrap_or(20e-3),
    );
    let at = |a: f64| low + (high - low) * (a - from) / (to - from);
    let (a, b) = (at(ne43::FAILURE_LOW_A), at(ne43::FAILURE_HIGH_A));
    Some((a.min(b), a.max(b)))
}

/// How a fault shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// The code is at an end of the scale, which no value of the span reaches.
    End,
    /// The reading is none that is taken for real.
    Band,
    /// The code is one that stands for a fault.
    Code,
    /// The firmware's formula gives no number.
    NoNumber,
}

/// Whether the firmware can tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Told {
    /// At every corner, usually in this way.
    Yes(How),
    /// The reading stays within the accuracy asked.
    Harmless,
    /// The reading is one that may be real, at every corner, or at some. The
    /// lowest and the highest such reading, SI.
    No {
        /// It is so at every corner looked at.
        always: bool,
        /// Lowest plausible reading.
        low: f64,
        /// Highest plausible reading.
        high: f64,
    },
    /// There is no converter, or its samples alternate.
    Unknown,
}

/// How one reading shows the fault, if it does.
fn shows(s: &Seen, valid: &Valid, ends: (f64, f64)) -> Option<How> {
    if valid
        .fault_codes
        .iter()
        .any(|(a, b)| s.code >= *a && s.code <= *b)
    {
        return Some(How::Code);
    }
    if !s.reading.is_finite() {
        return Some(How::NoNumber);
    }
    if s.code <= ends.0 || s.code >= ends.1 {
        return Some(How::End);
    }
    let (low, high) = valid.band;
    (s.reading < low || s.reading > high).then_some(How::Band)
}

pub(super) fn told(faulty: &Faulty<'_>, valid: &Valid, intact: &State, state: &State) -> Told {
    let channel = faulty.channel();
    let (Some(count), Some(first)) = (faulty.codes(), state.seen.first()) else {
        return Told::Unknown;
    };
    if channel.ac.is_some() {
        return Told::Unknown;
    }
    // An end of the scale that values of the span reach tells nothing.
    let low_used = intact.seen.iter().any(|s| s.code <= 0.0);
    let high_used = intact.seen.iter().any(|s| s.code >= count - 1.0);
    let ends = (
        if low_used { f64::NEG_INFINITY } else { 0.0 },
        if high_used {
            f64::INFINITY
        } else {
            count - 1.0
        },
    );
    let loose = LOOSE * (channel.span.value.1 - channel.span.value.0);
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let (mut hidden, mut wrong) = (0, 0);
    for s in &state.seen {
        if shows(s, valid, ends).is_some() {
            continue;
        }
        hidden += 1;
        let limit = channel.limit_at(s.truth).unwrap_or(loose);
        if (s.reading - s.truth).abs() > limit {
            wrong += 1;
            low = low.min(s.reading);
            high = high.max(s.reading);
        }
    }
    if hidden == 0 {
        return Told::Yes(shows(first, valid, ends).unwrap_or(How::Band));
    }
    if wrong == 0 {
        return Told::Harmless;
    }
    Told::No {
        always: hidden == state.seen.len(),
        low,
        high,
    }
}
