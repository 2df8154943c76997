//! When the board's channels are read, and what disturbs them meanwhile.

use document::Located;
use finding::{SourceId, Span};
use quantity::Valued;

use crate::model::{Board, Supply};

/// How long a converter's sample capacitor is connected to what it measures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Acquisition {
    /// In clocks of the converter, the prescaler counted.
    Cycles(f64),
    /// In seconds.
    Seconds(f64),
}

/// What the sample capacitor begins an acquisition with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ScanStart {
    /// The voltage of the channel converted before.
    Previous,
    /// Nothing: it is discharged first.
    Discharged,
    /// This voltage, V.
    Volt(f64),
}

/// What a reference pin stood at before it was switched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ReferenceFrom {
    /// A rail or a reference.
    Supply(Supply),
    /// A voltage, V.
    Volt(f64),
}

/// How a device's channels are taken in turn: what one `[scan]` table says, or
/// several of them merged ([`Board::scan_of`]). What is not written is `None`.
#[derive(Clone, Debug)]
pub struct ScanSpec {
    /// The device, or every one.
    pub device: Option<usize>,
    /// Clock that the prescaler divides, Hz.
    pub clock_hz: Option<Located<f64>>,
    /// Divides the clock.
    pub prescaler: Option<Located<u32>>,
    /// Acquisition of the channels that name none.
    pub acquisition: Option<Located<Acquisition>>,
    /// Channels in their turn; the order of the file where empty. Of a device
    /// that is named at all, every channel is here exactly once.
    pub order: Vec<Located<usize>>,
    /// Time from the start of a sequence to that of the next, s.
    pub every_s: Option<Located<f64>>,
    /// What the sample capacitor begins with.
    pub start: Option<Located<ScanStart>>,
    /// Noise slower than one period of this length counts as drift, s.
    pub observed_s: Option<Located<f64>>,
    /// Capacitor at the converter's reference pin.
    pub reference_capacitor: Option<Located<Valued>>,
    /// What the reference pin stood at before it was switched.
    pub reference_from: Option<Located<ReferenceFrom>>,
    /// Wait between switching the reference and the first conversion, s.
    pub reference_wait_s: Option<Located<f64>>,
    /// Place of the table; that of the device where there is none.
    pub span: Span,
}

impl ScanSpec {
    /// A table in which nothing is written.
    #[must_use]
    pub fn empty(device: Option<usize>, span: Span) -> Self {
        ScanSpec {
            device,
            clock_hz: None,
            prescaler: None,
            acquisition: None,
            order: Vec::new(),
            every_s: None,
            start: None,
            observed_s: None,
            reference_capacitor: None,
            reference_from: None,
            reference_wait_s: None,
            span,
        }
    }
}

impl Board {
    /// What the file says of how a device's channels are taken in turn: its own
    /// table key by key before that of all devices. `order` holds channels of
    /// this device only.
    #[must_use]
    pub fn scan_of(&self, device: usize) -> ScanSpec {
        let own = self.scans.iter().find(|s| s.device == Some(device));
        let all = self.scans.iter().find(|s| s.device.is_none());
        let place = self.devices.get(device).map(|d| d.span);
        let Some(span) = own.or(all).map(|s| s.span).or(place) else {
            // There is no such device, so nothing is said of it either.
            return ScanSpec::empty(Some(device), Span::new(SourceId(0), 0..0));
        };
        let mut merged = ScanSpec::empty(Some(device), span);
        for said in [own, all].into_iter().flatten() {
            merged.clock_hz = merged.clock_hz.or(said.clock_hz);
            merged.prescaler = merged.prescaler.or(said.prescaler);
            merged.acquisition = merged.acquisition.or(said.acquisition);
            merged.every_s = merged.every_s.or(said.every_s);
            merged.start = merged.start.or(said.start);
            merged.observed_s = merged.observed_s.or(said.observed_s);
            merged.reference_from = merged.reference_from.or(said.reference_from);
            merged.reference_wait_s = merged.reference_wait_s.or(said.reference_wait_s);
            if merged.reference_capacitor.is_none() {
                merged
                    .reference_capacitor
                    .clone_from(&said.reference_capacitor);
            }
            if merged.order.is_empty() {
                merged.order = said
                    .order
                    .iter()
                    .filter(|c| {
                        let input = self.channels.get(c.value).and_then(|c| c.input.as_ref());
                        input.is_some_and(|i| i.device == device)
                    })
                    .copied()
                    .collect();
            }
        }
        merged
    }
}

/// Where an interferer reaches a channel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum InterferesOn {
    /// At the sensor: in series with it, unless it comes through a capacitor.
    Sensor,
    /// At the converter's input.
    Input,
    /// As ripple of a rail, by its position.
    Rail(usize),
    /// At a node of a network, through a capacitor.
    Node(String),
}

/// A tone with its harmonics that comes from elsewhere.
#[derive(Clone, Debug)]
pub struct Interferer {
    /// Its name in the file; `mains` for the one that follows from the
    /// conditions.
    pub name: String,
    /// Lowest, nominal and highest frequency of the fundamental, Hz, all above
    /// zero and finite.
    pub frequency_hz: Located<(f64, f64, f64)>,
    /// Number of harmonics looked at, the fundamental counted.
    pub harmonics: u32,
    /// Peak of each harmonic, V, the fundamental first: as many as there are
    /// harmonics, or none where nothing is known of them. What was written as
    /// one amplitude falls with the number of the harmonic, and what a list
    /// does not name is zero.
    pub amplitude_v: Vec<f64>,
    /// Where it reaches a channel.
    pub on: InterferesOn,
    /// The capacitor it comes through.
    pub coupling_farad: Option<Located<Valued>>,
    /// Channels it reaches, by position; every analog one where empty.
    pub channels: Vec<usize>,
    /// Place of its table, or of what it follows from.
    pub span: Span,
}
