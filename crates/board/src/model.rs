//! The resolved board.

use std::collections::BTreeMap;
use std::sync::Arc;

use document::Located;
use finding::{SourceId, Span};
use parts::{Figure, Part};
use quantity::{AccuracyTerm, Dimension, Range, UnitScale, Valued};

use crate::links::{Link, Member};
use crate::number::Number;
use crate::pins::PinSetting;
use crate::power::{Draws, HeatSpec, RailPower, ReturnSpec, Surroundings};
use crate::timing::{Acquisition, Interferer, ScanSpec};
use crate::word::Word;

/// Everything one board file says.
#[derive(Clone, Debug)]
pub struct Board {
    /// Its name.
    pub name: String,
    /// What it must live with.
    pub conditions: Conditions,
    /// Supply nets, in an order in which each comes after what feeds it.
    pub rails: Vec<Rail>,
    /// Controllers and converters.
    pub devices: Vec<Device>,
    /// Reference parts.
    pub references: Vec<Reference>,
    /// Networks of named nodes.
    pub networks: Vec<NetworkSpec>,
    /// Digital connections, in the order of the file.
    pub links: Vec<Link>,
    /// How single pins are set.
    pub pins: Vec<PinSetting>,
    /// Measured quantities, in the order of the file, then derived ones.
    pub channels: Vec<Channel>,
    /// Wires that leave the board, where the file says more of them than their
    /// sensors do.
    pub terminals: Vec<crate::terminals::Terminal>,
    /// How channels are taken in turn; [`Board::scan_of`] merges what holds for
    /// one device.
    pub scans: Vec<ScanSpec>,
    /// Tones from elsewhere. The mains that the conditions name are among them,
    /// without amplitude, unless the file describes an interferer `mains`.
    pub interferers: Vec<Interferer>,
    /// How numbers stand in the bytes that digital parts put out.
    pub words: Vec<Word>,
    /// Who turns how much into heat beside whom.
    pub heats: Vec<HeatSpec>,
    /// By which ways currents return.
    pub returns: Vec<ReturnSpec>,
    /// What all this does to the channels; nothing as a board is read.
    pub surroundings: Surroundings,
    /// The same board in other circumstances.
    pub scenarios: Vec<crate::scenario::Scenario>,
    /// Suspected causes and quoted figures to be checked.
    pub claims: Vec<crate::scenario::Claim>,
    /// Margins that separate `thin` from `meets`, and the probability asked.
    pub judging: Judging,
}

impl Board {
    /// The address under which a device answers on a link: what the link
    /// says, else what the device says, else the first its part offers.
    #[must_use]
    pub fn address_of(&self, member: &Member) -> Option<u8> {
        let device = self.devices.get(member.port.device)?;
        member
            .address
            .as_ref()
            .or(device.address.as_ref())
            .map(|a| a.value)
            .or_else(|| device.part.addresses.first().copied())
    }
}

/// The conditions a board must live with.
#[derive(Clone, Debug)]
pub struct Conditions {
    /// Ambient temperature, K; one temperature where none is given.
    pub ambient_k: (f64, f64),
    /// Where the ambient range was written.
    pub ambient_span: Option<Span>,
    /// Mains frequency, Hz.
    pub mains_hz: Option<f64>,
    /// Lowest and highest mains frequency, Hz.
    pub mains_range_hz: Option<(f64, f64)>,
    /// Where the mains frequency was written.
    pub mains_span: Option<Span>,
    /// Service life, s.
    pub service_s: Option<f64>,
    /// Where the service life was written.
    pub service_span: Option<Span>,
    /// Wet surroundings: the lower touch limits count.
    pub wet: bool,
    /// Situations that call for a caution, such as `fermentation-gas`.
    pub dangers: Vec<Located<String>>,
}

/// What decides between `meets`, `thin` and `fails`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judging {
    /// Share of readings that must be within the accuracy at the worst point.
    pub probability: f64,
    /// Share of the limit that must be left for accuracy.
    pub accuracy_margin: f64,
    /// Share of the limit that must be left for currents.
    pub current_margin: f64,
    /// Share of the variance up to which typical-only and unsourced figures
    /// are only summed up.
    pub figure_share: f64,
    /// Share of the codes below which a span is said to use few.
    pub few_codes: f64,
    /// Share of the permitted error up to which a sensor may warm itself.
    pub self_heating: f64,
    /// Share of the permitted error from which on a known cause of error is
    /// told by itself.
    pub known_error: f64,
    /// Peak of a disturbing tone of which nobody knows how large it is, V, from
    /// whose trace in the readings on it is told by itself.
    pub pickup_v: f64,
    /// What must be left between a logic level and the threshold it has to
    /// pass, V.
    pub level_margin_v: f64,
    /// Share of its limit that must be left to a bus's pull-up.
    pub window_margin: f64,
    /// How far below its limit the inside of a part must stay, K.
    pub junction_margin_k: f64,
}

impl Default for Judging {
    fn default() -> Self {
        Judging {
            probability: 0.9973,
            accuracy_margin: 0.2,
            current_margin: 0.2,
            figure_share: 0.05,
            few_codes: 0.25,
            self_heating: 0.25,
            known_error: 0.1,
            pickup_v: 0.01,
            level_margin_v: 0.1,
            window_margin: 0.1,
            junction_margin_k: 10.0,
        }
    }
}

/// What feeds a rail.
#[derive(Clone, Debug)]
#[allow(clippy::large_enum_variant, reason = "a board has few rails")]
pub enum RailSource {
    /// Something outside the board.
    External,
    /// Another rail through a regulator.
    Regulator {
        /// Feeding rail.
        from: usize,
        /// The regulator.
        part: Arc<Part>,
    },
    /// Another rail directly, through a resistor or diode drop if given.
    Direct {
        /// Feeding rail.
        from: usize,
    },
    /// Another rail through a switching converter, which takes power and not
    /// current from it.
    Switching {
        /// Feeding rail.
        from: usize,
        /// Share of the power taken that it gives.
        efficiency: Located<Valued>,
    },
    /// Another rail divided by two resistors.
    Divided {
        /// Feeding rail.
        from: usize,
        /// Upper resistor.
        top: Located<Valued>,
        /// Lower resistor.
        bottom: Located<Valued>,
    },
}

/// A supply net.
#[derive(Clone, Debug)]
pub struct Rail {
    /// Its name.
    pub name: String,
    /// Nominal voltage with the tolerance of its set point.
    pub voltage: Option<Located<Valued>>,
    /// Range it moves through as a condition (battery, load), V.
    pub travel: Option<Located<Range>>,
    /// What feeds it.
    pub source: RailSource,
    /// Largest current, A.
    pub limit_a: Option<Located<f64>>,
    /// Current drawn from it that is not otherwise known, A.
    pub load_a: Option<Located<f64>>,
    /// How it is fed and what draws from it.
    pub power: RailPower,
    /// Place of its table.
    pub span: Span,
}

/// A controller, a converter or another part with digital pins on the board.
#[derive(Clone, Debug)]
pub struct Device {
    /// Its name in the file.
    pub name: String,
    /// The part.
    pub part: Arc<Part>,
    /// Rail that feeds it.
    pub supply: Option<usize>,
    /// Rail that feeds its analog side; the same where not given.
    pub analog_supply: Option<usize>,
    /// Rail that feeds the second side of a translator.
    pub supply_b: Option<usize>,
    /// Its seven-bit address, where the file says which it is strapped to.
    pub address: Option<Located<u8>>,
    /// What it draws, where the board says more than its part.
    pub draws: Draws,
    /// Place of its table.
    pub span: Span,
}

/// A reference part on the board, or a reference voltage given in place.
#[derive(Clone, Debug)]
pub struct Reference {
    /// Its name.
    pub name: String,
    /// The part, if one is named.
    pub part: Option<Arc<Part>>,
    /// Voltage given in place.
    pub voltage: Option<Located<Valued>>,
    /// Rail that feeds it.
    pub supply: Option<usize>,
    /// Series resistor of a shunt reference.
    pub series: Option<Located<Valued>>,
    /// Current drawn from it, A.
    pub load_a: Option<Located<f64>>,
    /// Place of its table.
    pub span: Span,
}

/// A voltage that something is fed from or measured against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Supply {
    /// The common return.
    Ground,
    /// A rail.
    Rail(usize),
    /// A reference part.
    Reference(usize),
    /// A reference inside a device: device, converter unit, choice.
    Internal(usize, usize, usize),
}

/// A network of elements between named nodes, shared by channels.
#[derive(Clone, Debug)]
pub struct NetworkSpec {
    /// Its name.
    pub name: String,
    /// Its elements.
    pub elements: Vec<Stage>,
    /// Place of its table.
    pub span: Span,
}

/// A stage of a chain or an element of a network.
#[derive(Clone, Debug)]
pub struct Stage {
    /// Which one.
    pub kind: &'static str,
    /// Name given to it, or its position.
    pub name: String,
    /// Path in the file, `channels.tank-1.chain.0`.
    pub path: String,
    /// What was written for its keys.
    pub fields: BTreeMap<&'static str, Located<FieldValue>>,
    /// Place of the stage.
    pub span: Span,
}

impl Stage {
    /// A value with tolerance.
    #[must_use]
    pub fn valued(&self, key: &str) -> Option<Located<&Valued>> {
        match self.fields.get(key) {
            Some(Located {
                value: FieldValue::Valued(v),
                span,
            }) => Some(Located {
                value: v,
                span: *span,
            }),
            _ => None,
        }
    }
    /// A supply.
    #[must_use]
    pub fn supply(&self, key: &str) -> Option<Located<Supply>> {
        match self.fields.get(key) {
            Some(Located {
                value: FieldValue::Supply(v),
                span,
            }) => Some(Located {
                value: *v,
                span: *span,
            }),
            _ => None,
        }
    }
    /// A node.
    #[must_use]
    pub fn node(&self, key: &str) -> Option<&NodeRef> {
        match self.fields.get(key) {
            Some(Located {
                value: FieldValue::Node(v),
                ..
            }) => Some(v),
            _ => None,
        }
    }
    /// A part.
    #[must_use]
    pub fn part(&self, key: &str) -> Option<&Arc<Part>> {
        match self.fields.get(key) {
            Some(Located {
                value: FieldValue::Part(v),
                ..
            }) => Some(v),
            _ => None,
        }
    }
    /// A word or text.
    #[must_use]
    pub fn word(&self, key: &str) -> Option<&str> {
        match self.fields.get(key) {
            Some(Located {
                value: FieldValue::Word(v),
                ..
            }) => Some(v),
            _ => None,
        }
    }
    /// A number.
    #[must_use]
    pub fn number(&self, key: &str) -> Option<f64> {
        match self.fields.get(key) {
            Some(Located {
                value: FieldValue::Number(v),
                ..
            }) => Some(*v),
            _ => None,
        }
    }
    /// true or false; false where absent.
    #[must_use]
    pub fn truth(&self, key: &str) -> bool {
        matches!(
            self.fields.get(key),
            Some(Located {
                value: FieldValue::Truth(true),
                ..
            })
        )
    }
    /// Points of a curve.
    #[must_use]
    pub fn points(&self, key: &str) -> Option<&[(f64, f64)]> {
        match self.fields.get(key) {
            Some(Located {
                value: FieldValue::Points(v),
                ..
            }) => Some(v),
            _ => None,
        }
    }
    /// Another channel.
    #[must_use]
    pub fn channel(&self, key: &str) -> Option<usize> {
        match self.fields.get(key) {
            Some(Located {
                value: FieldValue::Channel(v),
                ..
            }) => Some(*v),
            _ => None,
        }
    }
    /// A list of values.
    #[must_use]
    pub fn valued_list(&self, key: &str) -> &[Valued] {
        match self.fields.get(key) {
            Some(Located {
                value: FieldValue::ValuedList(v),
                ..
            }) => v,
            _ => &[],
        }
    }
    /// Place of a key's value, or of the stage.
    #[must_use]
    pub fn span_of(&self, key: &str) -> Span {
        self.fields.get(key).map_or(self.span, |f| f.span)
    }
}

/// What was written for a key of a stage.
#[derive(Clone, Debug)]
pub enum FieldValue {
    /// A value with tolerance.
    Valued(Valued),
    /// A rail, reference or ground.
    Supply(Supply),
    /// A node.
    Node(NodeRef),
    /// A part.
    Part(Arc<Part>),
    /// A word.
    Word(String),
    /// A number.
    Number(f64),
    /// true or false.
    Truth(bool),
    /// Points of a curve.
    Points(Vec<(f64, f64)>),
    /// A channel.
    Channel(usize),
    /// Several values.
    ValuedList(Vec<Valued>),
}

/// A node named in a network: a net of its own or a supply.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NodeRef {
    /// A node of the network.
    Named(String),
    /// A rail, reference or ground.
    Supply(Supply),
}

/// The sensor of a channel.
#[derive(Clone, Debug)]
pub struct Sensor {
    /// The part, shipped, the user's or written in place.
    pub part: Option<Arc<Part>>,
    /// Its law.
    pub law: String,
    /// Figures, those written in place over those of the part.
    pub figures: BTreeMap<String, Figure>,
    /// What feeds or excites it.
    pub supply: Option<Supply>,
    /// Its current flows out of the signal's node and not into it: a
    /// photodiode with its cathode there.
    pub reversed: bool,
    /// The rail whose voltage is the quantity.
    pub rail: Option<usize>,
    /// What the lower end of a voltage or current source stands on; ground
    /// where absent.
    pub foot: Option<Supply>,
    /// Resistance of each lead.
    pub leads: Option<Located<Valued>>,
    /// Number of wires: 2, 3 or 4.
    pub wires: u8,
    /// How much warmer than what it measures it sits, K.
    pub warmed: Option<Located<Valued>>,
    /// Other channels its conversion needs, by key.
    pub auxiliaries: BTreeMap<&'static str, Auxiliary>,
    /// Resistance of a source that is measured directly.
    pub source_resistance: Option<Located<Valued>>,
    /// Nodes it stands between in the channel's network.
    pub between: Option<(NodeRef, NodeRef)>,
    /// Choices of its law that are words, such as a thermocouple's type.
    pub words: BTreeMap<String, String>,
    /// Which of a digital part's quantities.
    pub measure: Option<String>,
    /// The fitted device that it is.
    pub device: Option<usize>,
    /// The link over which its pulses or numbers come, where one is named.
    pub link: Option<Located<usize>>,
    /// Place.
    pub span: Span,
}

impl Sensor {
    /// What stands for a sensor where there is none.
    #[must_use]
    pub fn none(span: Span) -> Sensor {
        Sensor {
            part: None,
            law: "derived".to_owned(),
            figures: BTreeMap::new(),
            supply: None,
            rail: None,
            foot: None,
            leads: None,
            wires: 2,
            warmed: None,
            auxiliaries: BTreeMap::new(),
            source_resistance: None,
            between: None,
            words: BTreeMap::new(),
            measure: None,
            device: None,
            link: None,
            reversed: false,
            span,
        }
    }
}

/// Where a conversion takes another quantity from.
#[derive(Clone, Debug)]
pub enum Auxiliary {
    /// Another channel's reading.
    Channel(usize),
    /// A constant the firmware assumes, SI.
    Constant(Located<f64>),
}

/// Where a channel's signal enters a converter.
#[derive(Clone, Debug)]
pub struct Input {
    /// Device.
    pub device: usize,
    /// Converter unit of the device's part.
    pub unit: usize,
    /// Channel of the unit, by name; two inputs of a differential converter
    /// are `PLUS-MINUS`.
    pub channel: Option<String>,
    /// Gain set in the converter.
    pub gain: f64,
    /// Range set in the converter: where the part has ranges and none is
    /// named, that with the largest span.
    pub range: Option<usize>,
    /// Nodes measured, where they are not the end of the chain.
    pub plus: Option<NodeRef>,
    /// See `plus`; ground where absent.
    pub minus: Option<NodeRef>,
    /// Codes averaged into one reading.
    pub average: u32,
    /// Place.
    pub span: Span,
}

/// What the converter compares against.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Against {
    /// A rail, reference part or internal reference.
    Supply(Supply),
    /// The voltage between two nodes of the network.
    Nodes(NodeRef, NodeRef),
}

/// The firmware's way from code to reading.
#[derive(Clone, Debug, Default)]
pub struct Conversion {
    /// Values the firmware assumes although others are fitted: path in the
    /// file and the text in its place.
    pub assume: Vec<(String, Located<String>)>,
    /// Voltage of the reference the firmware assumes, V.
    pub assumed_reference_v: Option<Located<f64>>,
    /// Steps of the firmware's own formula.
    pub steps: Vec<Step>,
    /// Constants by name, SI.
    pub constants: BTreeMap<String, f64>,
    /// The board with the assumed values in place of the fitted ones.
    pub assumed: Option<Arc<Board>>,
    /// Place of the table.
    pub span: Option<Span>,
}

/// One assignment of the firmware's formula.
#[derive(Clone, Debug)]
pub struct Step {
    /// Variable assigned; the last one is the reading.
    pub name: String,
    /// Type it is kept in.
    pub kind: Number,
    /// The expression as written.
    pub formula: Located<String>,
}

/// Calibration as it will be done.
#[derive(Clone, Debug)]
pub struct Calibration {
    /// Quantity values at which the board is compared, SI.
    pub at: Vec<f64>,
    /// What is fitted.
    pub fit: Fit,
    /// Ambient during calibration, K, with its uncertainty.
    pub ambient: Option<Located<Valued>>,
    /// Limits of the standard's error, in the quantity's unit.
    pub standard: Option<Located<Valued>>,
    /// Share of the standard's error that is the same at every point.
    pub standard_common: f64,
    /// Readings averaged at each point.
    pub repeat: u32,
    /// Step in which the offset coefficient is stored, quantity's unit.
    pub offset_step: Option<f64>,
    /// Step in which the gain coefficient is stored.
    pub gain_step: Option<f64>,
    /// Place.
    pub span: Span,
}

/// What a calibration fits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fit {
    /// One number added.
    Offset,
    /// One number multiplied.
    Gain,
    /// Straight line.
    Line,
    /// Second-degree polynomial.
    Parabola,
}

/// A contributor the circuit does not know.
#[derive(Clone, Debug)]
pub struct Other {
    /// What it is.
    pub name: String,
    /// Limits, in the quantity's unit.
    pub size: Located<Valued>,
    /// Kind of contributor.
    pub kind: OtherKind,
    /// Shape of its distribution.
    pub shape: OtherShape,
}

/// Kinds a written contributor may have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OtherKind {
    /// The same for the board's life.
    Fixed,
    /// Fresh for each reading.
    Random,
    /// Grows with time.
    Ageing,
}

/// Shapes a written contributor may have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OtherShape {
    /// Equally likely between the limits.
    Rectangular,
    /// Normal with the limits as two standard deviations.
    Normal,
    /// Triangular between the limits.
    Triangular,
    /// Arcsine between the limits.
    Arcsine,
}

/// How a quantity follows from the readings of channels.
#[derive(Clone, Debug)]
pub struct Derived {
    /// The expression; each name is a channel's reading in that channel's
    /// unit, an earlier derived quantity in its unit, or a constant.
    pub formula: Located<String>,
    /// Constants by name, SI.
    pub constants: BTreeMap<String, f64>,
}

/// A quantity that alternates about zero: its span, accuracy and readings are
/// root mean squares or peaks.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternating {
    /// Lowest, nominal and highest frequency, Hz.
    pub frequency_hz: (f64, f64, f64),
    /// Peak over root mean square.
    pub crest: f64,
    /// The quantity is the peak, and not the root mean square.
    pub is_peak: bool,
    /// Where it is written.
    pub span: Span,
}

/// A timer that measures how long so many periods take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PeriodTimer {
    /// Its clock, Hz.
    pub clock_hz: f64,
    /// Bits of its counter.
    pub bits: u8,
    /// Periods measured in one go.
    pub periods: u32,
}

impl PeriodTimer {
    /// The lowest frequency that it measures, Hz: below, it overflows.
    #[must_use]
    pub fn lowest_hz(&self) -> f64 {
        let most = (1_u64 << self.bits.min(52)) - 1;
        #[allow(clippy::cast_precision_loss, reason = "at most 52 bits")]
        let most = most as f64;
        self.clock_hz * f64::from(self.periods) / most
    }

    /// Counts of the timer at a frequency.
    #[must_use]
    pub fn counts(&self, hertz: f64) -> f64 {
        self.clock_hz * f64::from(self.periods) / hertz.max(self.lowest_hz())
    }
}

/// A measured quantity.
#[derive(Clone, Debug)]
pub struct Channel {
    /// Its name in the file.
    pub name: String,
    /// The quantity in words, as written.
    pub quantity: String,
    /// Its dimension.
    pub dimension: Dimension,
    /// The unit the engineer wrote, for showing.
    pub unit: UnitScale,
    /// Range to be measured, SI.
    pub span: Located<(f64, f64)>,
    /// Accuracy asked; empty in a fragment.
    pub accuracy: Option<Located<Vec<AccuracyTerm>>>,
    /// Smallest step that must be told apart, SI.
    pub resolution: Option<Located<f64>>,
    /// Set where the quantity alternates.
    pub ac: Option<Alternating>,
    /// Readings per second.
    pub rate_hz: Option<Located<f64>>,
    /// Time over which pulses are counted, s.
    pub gate_s: Option<Located<f64>>,
    /// The timer by which periods of pulses are measured, in place of a gate.
    pub period: Option<Located<PeriodTimer>>,
    /// Acquisition in place of the one the scan names.
    pub acquisition: Option<Located<Acquisition>>,
    /// Output rate set in a converter that filters, Hz.
    pub data_rate_hz: Option<Located<f64>>,
    /// How long the sensor is fed before and while it is read, s; always
    /// where absent.
    pub awake_s: Option<Located<f64>>,
    /// Limits of the clock's relative error.
    pub clock_tolerance: Option<Located<f64>>,
    /// Set where the quantity is not measured but follows from others; its
    /// sensor then stands for nothing, and it has neither chain nor input.
    pub derived: Option<Derived>,
    /// The sensor.
    pub sensor: Sensor,
    /// Stages in signal order.
    pub chain: Vec<Stage>,
    /// Network it is part of.
    pub network: Option<usize>,
    /// Where it enters the converter.
    pub input: Option<Input>,
    /// What that converter compares against.
    pub reference: Option<Located<Against>>,
    /// The firmware's conversion.
    pub conversion: Conversion,
    /// Calibration.
    pub calibration: Option<Calibration>,
    /// Contributors the circuit does not know.
    pub others: Vec<Other>,
    /// A wrong reading can cost a life.
    pub life_safety: bool,
    /// Place of its table.
    pub place: Span,
}

impl Channel {
    /// What stands for a channel where something is worked out that belongs
    /// to none, such as the voltage of a rail.
    #[must_use]
    pub fn none() -> Channel {
        let span = Span::new(SourceId(0), 0..0);
        Channel {
            name: String::new(),
            quantity: String::new(),
            dimension: Dimension::NONE,
            unit: UnitScale {
                symbol: String::new(),
                factor: 1.0,
                offset: 0.0,
            },
            span: Located {
                value: (0.0, 1.0),
                span,
            },
            accuracy: None,
            resolution: None,
            ac: None,
            rate_hz: None,
            gate_s: None,
            period: None,
            acquisition: None,
            data_rate_hz: None,
            awake_s: None,
            clock_tolerance: None,
            derived: None,
            sensor: Sensor::none(span),
            chain: Vec::new(),
            network: None,
            input: None,
            reference: None,
            conversion: Conversion::default(),
            calibration: None,
            others: Vec::new(),
            life_safety: false,
            place: span,
        }
    }

    /// Largest permitted error at `quantity`, SI, if an accuracy is asked.
    #[must_use]
    pub fn limit_at(&self, quantity: f64) -> Option<f64> {
        let terms = &self.accuracy.as_ref()?.value;
        let (low, high) = self.span.value;
        // A percentage of a temperature reading is of degrees Celsius.
        let reading = if self.dimension == Dimension::TEMPERATURE {
            quantity - 273.15
        } else {
            quantity
        };
        Some(
            terms
                .iter()
                .map(|t| match *t {
                    AccuracyTerm::Absolute(a) => a,
                    AccuracyTerm::OfReading(r) => r * reading.abs(),
                    AccuracyTerm::OfSpan(s) => s * (high - low),
                })
                .sum(),
        )
    }
}
