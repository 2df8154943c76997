//! What a board says of its power: how rails are fed and loaded, who turns
//! how much into heat beside whom, and by which way currents return.

use std::collections::BTreeMap;

use document::Located;
use finding::Span;
use quantity::Valued;

use crate::links::Cable;

/// How a rail is fed and what draws from it, beside its voltage.
#[derive(Clone, Debug, Default)]
pub struct RailPower {
    /// It can be switched off while others are on.
    pub switched: bool,
    /// Voltage it comes to when it is off, V.
    pub off_v: f64,
    /// Resistance between what feeds it and the board, Ω.
    pub source_resistance: Option<Located<Valued>>,
    /// Contacts it comes through.
    pub connector: Option<Connector>,
    /// Cable it comes through, there and back.
    pub cable: Option<Cable>,
    /// Loads that have a name.
    pub loads: Vec<NamedLoad>,
    /// Capacitor that holds it.
    pub reservoir: Option<Reservoir>,
    /// Power drawn from it whatever its voltage, W.
    pub load_w: Option<Located<f64>>,
    /// Currents drawn for a while, again and again.
    pub bursts: Vec<Burst>,
    /// Cells that feed it.
    pub battery: Option<Battery>,
    /// Time it takes to rise, s.
    pub start_s: Option<Located<f64>>,
    /// Ripple on it, peak to peak, V.
    pub ripple: Option<Located<Valued>>,
    /// How far its load may pull it down for a moment, V.
    pub droop_v: Option<Located<f64>>,
}

/// A load that is no part of the board file.
#[derive(Clone, Debug)]
pub struct NamedLoad {
    /// What draws.
    pub name: String,
    /// Its current while it draws, least and most, A.
    pub current_a: (f64, f64),
    /// Share of the time it draws.
    pub duty: f64,
    /// Its place.
    pub span: Span,
}

/// Contacts in parallel.
#[derive(Clone, Debug)]
pub struct Connector {
    /// How many carry the current.
    pub pins: u32,
    /// Largest current of each, A.
    pub each_a: Option<Located<f64>>,
    /// Resistance of each, Ω.
    pub contact: Option<Located<Valued>>,
    /// Place of its table.
    pub span: Span,
}

/// A capacitor that holds a rail while its source cannot.
#[derive(Clone, Debug)]
pub struct Reservoir {
    /// Its capacitance, F.
    pub capacitance: Located<Valued>,
    /// Its series resistance, Ω.
    pub esr: Option<Located<Valued>>,
}

/// A current that flows for a while, again and again.
#[derive(Clone, Debug)]
pub struct Burst {
    /// What draws it.
    pub name: String,
    /// How much, A.
    pub current_a: f64,
    /// For how long, s.
    pub for_s: f64,
    /// How often it begins again, s; once in a while where absent.
    pub every_s: Option<f64>,
    /// Its place.
    pub span: Span,
}

impl Burst {
    /// Share of the time it flows; zero where it does not come regularly.
    #[must_use]
    pub fn duty(&self) -> f64 {
        self.every_s.map_or(0.0, |e| (self.for_s / e).min(1.0))
    }
}

/// Cells that feed a rail.
#[derive(Clone, Debug)]
pub struct Battery {
    /// Cells in series.
    pub cells: u32,
    /// Charge of one string, A·s.
    pub capacity_as: Option<Located<f64>>,
    /// Strings in parallel.
    pub strings: u32,
    /// Resistance of one cell against its temperature, (K, Ω), ascending; one
    /// point where it is given plainly.
    pub cell_ohm: Vec<(f64, f64)>,
    /// Place of the resistance.
    pub cell_span: Span,
    /// Share of the charge that can be used.
    pub usable: f64,
    /// Charge lost by itself, share of the whole each second.
    pub self_discharge_per_s: f64,
    /// How long it must last, s.
    pub life_s: Option<Located<f64>>,
    /// Place of its table.
    pub span: Span,
}

impl Battery {
    /// Resistance of the whole at a temperature, Ω, by straight lines between
    /// the points and level beyond them.
    #[must_use]
    pub fn ohm_at(&self, kelvin: f64) -> f64 {
        let mut below: Option<(f64, f64)> = None;
        let mut cell = 0.0;
        for &(t, ohm) in &self.cell_ohm {
            if kelvin <= t {
                cell = match below {
                    Some((t0, r0)) => r0 + (ohm - r0) * ((kelvin - t0) / (t - t0)),
                    None => ohm,
                };
                below = None;
                break;
            }
            below = Some((t, ohm));
        }
        if let Some((_, ohm)) = below {
            cell = ohm;
        }
        cell * f64::from(self.cells) / f64::from(self.strings.max(1))
    }
}

/// What a device draws, where the board says more than its part.
#[derive(Clone, Debug, Default)]
pub struct Draws {
    /// Its current in use, least and most, A.
    pub current_a: Option<Located<(f64, f64)>>,
    /// Share of the time it is in use.
    pub duty: Option<Located<f64>>,
    /// Its current otherwise, A.
    pub standby_a: Option<Located<f64>>,
    /// Currents drawn for a while, again and again.
    pub bursts: Vec<Burst>,
    /// Capacitor at its supply pin, F.
    pub decoupling_f: Option<Located<f64>>,
}

/// Something that turns power into heat, and what sits near it.
#[derive(Clone, Debug)]
pub struct HeatSpec {
    /// Its name.
    pub name: String,
    /// What gets warm.
    pub source: HeatSource,
    /// Place of the source.
    pub source_span: Span,
    /// From its inside to the ambient, K/W; the part's where absent.
    pub resistance: Option<Located<Valued>>,
    /// Relative change of its power for each kelvin it warms, 1/K.
    pub power_drift_per_k: f64,
    /// What it warms, and how much.
    pub warms: Vec<Warms>,
    /// Place of its table.
    pub span: Span,
}

/// What gets warm.
#[derive(Clone, Debug)]
pub enum HeatSource {
    /// The regulator of a rail.
    Rail(usize),
    /// A device.
    Device(usize),
    /// A reference part.
    Reference(usize),
    /// A resistor of a channel's chain, by the path of its value.
    Element {
        /// Channel.
        channel: usize,
        /// Path of the value, `channels.flow.chain.0.r`.
        path: String,
    },
    /// A power that is stated, W.
    Power(Located<Valued>),
}

/// One thing that is warmed.
#[derive(Clone, Debug)]
pub struct Warms {
    /// What.
    pub target: WarmTarget,
    /// By how much.
    pub by: Warmth,
    /// Place of the value.
    pub span: Span,
}

/// What may be warmed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WarmTarget {
    /// The sensor of a channel.
    Channel(usize),
    /// A device, and with it every sensor in it.
    Device(usize),
    /// A reference part.
    Reference(usize),
    /// A component, by the path of its value.
    Element(String),
}

/// By how much something is warmed.
#[derive(Clone, Debug)]
pub enum Warmth {
    /// For each watt, K/W.
    PerWatt(Valued),
    /// Whatever the power is, K.
    Rise(Valued),
}

/// A way by which currents return.
#[derive(Clone, Debug)]
pub struct ReturnSpec {
    /// Its name.
    pub name: String,
    /// Resistance given plainly.
    pub resistance: Option<Located<Valued>>,
    /// A strip of copper.
    pub copper: Option<Copper>,
    /// A conductor of a cable.
    pub cable: Option<Cable>,
    /// Contacts.
    pub connector: Option<Connector>,
    /// What flows through it.
    pub currents: Vec<ReturnCurrent>,
    /// Channels whose sensors stand beyond it.
    pub channels: Vec<usize>,
    /// Share of the shift that is left where a sense wire or a differential
    /// input takes off the rest.
    pub left: Option<Located<f64>>,
    /// Place of its table.
    pub span: Span,
}

/// A strip of copper on a circuit board.
#[derive(Clone, Debug)]
pub struct Copper {
    /// Length, m.
    pub length_m: f64,
    /// Width, m.
    pub width_m: f64,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Place of its table.
    pub span: Span,
}

/// A current through a return.
#[derive(Clone, Debug)]
pub enum ReturnCurrent {
    /// Everything a rail gives.
    Rail(usize, Span),
    /// What a device draws.
    Device(usize, Span),
    /// What the sensor of a channel draws.
    Sensor(usize, Span),
    /// A current that is stated, least and most, A.
    Stated((f64, f64), Span),
}

/// A value that is known between limits, with what is usual.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// Least.
    pub low: f64,
    /// As usual.
    pub usual: f64,
    /// Most.
    pub high: f64,
    /// What makes it, in words.
    pub cause: String,
    /// Where that is written.
    pub span: Span,
}

/// What rails, heat and returns do to the channels: empty as a board is read,
/// filled by the layer that works them out.
#[derive(Clone, Debug, Default)]
pub struct Surroundings {
    /// By how much each rail sags under its load, V, by its position.
    pub rail_sag_v: BTreeMap<usize, Swing>,
    /// By how much each sensor is warmer than what it measures, K, by the
    /// position of its channel.
    pub sensor_warming_k: BTreeMap<usize, Vec<Swing>>,
    /// By how much single components are warmer than the ambient, K, by the
    /// path of their value; references as `references.NAME`.
    pub warming_k: BTreeMap<String, Vec<Swing>>,
    /// By how much the foot of each channel's sensor stands above the
    /// converter's ground, V, by the position of the channel.
    pub foot_v: BTreeMap<usize, Vec<Swing>>,
    /// Least that each rail gives to what hangs on it, A, by its position:
    /// where all of that is known.
    pub rail_load_a: BTreeMap<usize, f64>,
    /// By how much all that the converter sees of each channel stands above
    /// its own ground, V, by the position of the channel.
    pub input_v: BTreeMap<usize, f64>,
    /// By how much each reference part gives more than it should, V, by its
    /// position.
    pub reference_v: BTreeMap<usize, f64>,
}

impl Surroundings {
    /// Whether nothing happens around the channels.
    #[must_use]
    pub fn is_quiet(&self) -> bool {
        self.rail_sag_v.is_empty()
            && self.sensor_warming_k.is_empty()
            && self.warming_k.is_empty()
            && self.foot_v.is_empty()
            && self.rail_load_a.is_empty()
            && self.input_v.is_empty()
            && self.reference_v.is_empty()
    }
}
