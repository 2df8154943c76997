//! Digital connections as the file states them.

use std::collections::BTreeMap;

use document::Located;
use finding::Span;
use quantity::Valued;

/// What kind of connection a link is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LinkKind {
    /// Two-wire bus with open-drain drivers and pull-ups (NXP UM10204).
    I2c,
    /// Serial peripheral bus: clock, two data lines, a select for each device.
    Spi,
    /// Asynchronous serial line, one driver for each direction.
    Uart,
    /// One open-drain wire with a pull-up.
    SingleWire,
    /// A plain wire from one driver to its receivers.
    Wire,
}

impl LinkKind {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, LinkKind); 5] = [
        ("i2c", LinkKind::I2c),
        ("spi", LinkKind::Spi),
        ("uart", LinkKind::Uart),
        ("single-wire", LinkKind::SingleWire),
        ("wire", LinkKind::Wire),
    ];

    /// The word used in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(_, k)| *k == self)
            .map_or("", |(w, _)| w)
    }

    /// Whether its lines are pulled up and only ever driven low.
    #[must_use]
    pub fn is_open_drain(self) -> bool {
        matches!(self, LinkKind::I2c | LinkKind::SingleWire)
    }
}

/// Speed classes of the two-wire bus (UM10204).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum BusMode {
    /// Up to 100 kHz.
    Standard,
    /// Up to 400 kHz.
    Fast,
    /// Up to 1 MHz.
    FastPlus,
    /// Up to 3.4 MHz.
    HighSpeed,
}

impl BusMode {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, BusMode); 4] = [
        ("standard", BusMode::Standard),
        ("fast", BusMode::Fast),
        ("fast-plus", BusMode::FastPlus),
        ("high-speed", BusMode::HighSpeed),
    ];

    /// The word used in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(_, k)| *k == self)
            .map_or("", |(w, _)| w)
    }
}

/// How thick a conductor is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gauge {
    /// American wire gauge number (ASTM B258).
    Awg(f64),
    /// Cross-section, m².
    Area(f64),
}

/// A cable of a link.
#[derive(Clone, Debug)]
pub struct Cable {
    /// Length, m.
    pub length_m: Located<Valued>,
    /// Capacitance of one line against its surroundings, F/m.
    pub capacitance_per_m: Option<Located<Valued>>,
    /// Delay of a signal, s/m.
    pub delay_per_m: Option<Located<Valued>>,
    /// Resistance of one conductor, Ω/m.
    pub resistance_per_m: Option<Located<Valued>>,
    /// Thickness of a conductor, where its resistance is not given.
    pub gauge: Option<Located<Gauge>>,
    /// Place of its table.
    pub span: Span,
}

/// An end of a link: a device, and perhaps one of its pins.
#[derive(Clone, Debug, PartialEq)]
pub struct Port {
    /// Position among [`crate::Board::devices`].
    pub device: usize,
    /// Pin or bus of it, as written behind the point.
    pub pin: Option<String>,
    /// Where it is written.
    pub span: Span,
}

/// A device on a bus.
#[derive(Clone, Debug)]
pub struct Member {
    /// The device.
    pub port: Port,
    /// Its seven-bit address, where the link states it; see
    /// [`crate::Board::address_of`].
    pub address: Option<Located<u8>>,
    /// How often it is read.
    pub poll_hz: Option<Located<f64>>,
    /// Bytes carried for one reading, addresses and commands included.
    pub bytes: Option<Located<u32>>,
    /// Pin of the controller that selects it.
    pub select: Option<Located<String>>,
    /// Pull-ups that its board carries, Ω.
    pub pull_up: Option<Located<Valued>>,
    /// The driver keeps one value for all devices of this part.
    pub shared_cache: bool,
    /// Place.
    pub span: Span,
}

/// The translator behind which a segment lies.
#[derive(Clone, Debug)]
pub struct Via {
    /// The translator.
    pub device: Port,
    /// Position of the link on its near side.
    pub from: Located<usize>,
}

/// A digital connection.
#[derive(Clone, Debug)]
pub struct Link {
    /// Its name.
    pub name: String,
    /// What kind it is.
    pub kind: LinkKind,
    /// The controller, and its unit if one is named.
    pub controller: Option<Port>,
    /// Rail that pull-ups go to and idle levels follow.
    pub supply: Option<Located<usize>>,
    /// Devices on it.
    pub members: Vec<Member>,
    /// Pins of the controller by role: `clock`, `data`, `out`, `in`, `send`,
    /// `receive`.
    pub pins: BTreeMap<String, Located<String>>,
    /// Who drives a plain wire.
    pub driver: Option<Port>,
    /// Who listens to it.
    pub receivers: Vec<Port>,
    /// Pull-ups, one for each board that carries some; all lie in parallel, Ω.
    pub pull_ups: Vec<Located<Valued>>,
    /// Clock or baud rate, Hz.
    pub clock_hz: Option<Located<f64>>,
    /// Speed class of a two-wire bus, where stated.
    pub mode: Option<Located<BusMode>>,
    /// Mode 0 to 3 of a serial peripheral bus, where stated.
    pub spi_mode: Option<Located<u8>>,
    /// The cable it runs through.
    pub cable: Option<Cable>,
    /// Capacitance of traces and connectors, F.
    pub traces_f: Option<Located<Valued>>,
    /// Resistor in each line, Ω.
    pub series_ohm: Option<Located<Valued>>,
    /// Divider fitted between driver and receivers: upper and lower, Ω.
    pub divider: Option<(Located<Valued>, Located<Valued>)>,
    /// Set where it hangs behind a translator of another link.
    pub via: Option<Via>,
    /// How often its devices are read unless they say otherwise.
    pub poll_hz: Option<Located<f64>>,
    /// Bytes for one reading unless the device says otherwise.
    pub bytes: Option<Located<u32>>,
    /// Share of a period that a round trip may take.
    pub skew: Option<Located<f64>>,
    /// Current its drivers sink where no part says it, A.
    pub sink_a: Option<Located<f64>>,
    /// Clock that the controller divides the rate of an asynchronous line
    /// from, Hz.
    pub divided_from_hz: Option<Located<f64>>,
    /// Relative error of the controller's clock.
    pub controller_tolerance: Option<Located<f64>>,
    /// Bits of a frame on an asynchronous line, start and stop included.
    pub frame_bits: Option<Located<u8>>,
    /// Relative error of the far end's clock.
    pub clock_tolerance: Option<Located<f64>>,
    /// Whether the two ends share a return; stated where they do not.
    pub common_return: Option<Located<bool>>,
    /// Place of its table.
    pub span: Span,
}
