//! Serial peripheral buses, asynchronous lines and single wires of a board.

use board::{Board, Link, LinkKind};
use finding::Span;
use parts::Part;

use super::clocked::{RoundTrip, asynchronous_error};
use super::segment::{CABLE_DELAY_PER_M, Said, capacitance, cited, contacts_of};
use super::two_wire::Sink;
use crate::levels::line::{Ohms, Volts};
use crate::levels::pairs::{ohms, pull_ups, rail_of};
use crate::levels::supply::volts;

/// Relative error of a controller's crystal where nothing says it (common
/// practice).
pub const CRYSTAL: f64 = 100e-6;

/// Samples that an asynchronous receiver takes of a bit (common practice).
pub const OVERSAMPLING: f64 = 16.0;

/// Bits of an asynchronous frame: start, eight data, stop.
pub const FRAME_BITS: f64 = 10.0;

/// A bit of a single wire where no rate is stated: the 60 µs slot of the
/// common one-wire sensors (from memory).
const SLOT_S: f64 = 60e-6;

/// Share of a bit in which a line that is let go must read high: 15 µs of that
/// slot (from memory).
const SLOT_SHARE: f64 = 0.25;

/// What a part of a single wire sinks where none says it: 0.4 V at 4 mA (common
/// practice for one-wire sensors).
const SINGLE_SINK: Sink = Sink {
    low_v: 0.4,
    current_a: 4e-3,
};

/// A limit of a clock.
#[derive(Clone, Debug, PartialEq)]
pub struct ClockLimit {
    /// Whose.
    pub name: String,
    /// Hz.
    pub hz: f64,
    /// Where that is from.
    pub source: String,
}

/// What is wrong with selecting.
#[derive(Clone, Debug, PartialEq)]
pub enum Select {
    /// Several devices and this one names no select.
    Missing(String),
    /// Two devices on one.
    Shared(String, String, String),
}

/// A serial peripheral bus.
#[derive(Clone, Debug, PartialEq)]
pub struct Serial {
    /// Position of the link.
    pub link: usize,
    /// Clock, Hz.
    pub clock_hz: Option<f64>,
    /// What each end bears.
    pub limits: Vec<ClockLimit>,
    /// Modes that every device accepts; none where no device says.
    pub modes: Option<Vec<u8>>,
    /// The stated mode.
    pub mode: Option<u8>,
    /// Devices that do not accept the stated mode, or, without one, that
    /// differ from the first: name and modes.
    pub unlike: Vec<(String, Vec<u8>)>,
    /// The way of what devices send, the slowest of them.
    pub trip: RoundTrip,
    /// Whose valid time it is.
    pub slowest: Option<String>,
    /// Share of a period that it may take.
    pub share: f64,
    /// Whether the file states that share.
    pub is_share_stated: bool,
    /// Length and delay for each metre of the cable, m, s/m.
    pub cable: Option<(f64, f64)>,
    /// Fastest clock with it, Hz; infinite where nothing takes time.
    pub fastest_hz: f64,
    /// Longest cable at the clock, m.
    pub longest_m: Option<f64>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
    /// What is wrong with selecting.
    pub selects: Vec<Select>,
    /// Devices that keep their output driven while others are selected.
    pub holding: Vec<String>,
    /// Where the clock is written.
    pub span: Span,
}

fn largest(part: &Part, name: &str) -> Option<Said<f64>> {
    let f = part.figure(name)?;
    Some(Said::new(f.max.or(f.typ).or(f.min)?, cited(part, f)))
}

/// A serial peripheral bus; none for links of other kinds.
#[must_use]
pub fn serial(board: &Board, position: usize) -> Option<Serial> {
    let link = board
        .links
        .get(position)
        .filter(|l| l.kind == LinkKind::Spi)?;
    let controller = link
        .controller
        .as_ref()
        .and_then(|c| board.devices.get(c.device));
    let devices: Vec<&board::Device> = link
        .members
        .iter()
        .filter_map(|m| board.devices.get(m.port.device))
        .collect();
    let mut limits = Vec::new();
    if let Some(c) = controller
        && let Some(l) = largest(&c.part, "spi-clock")
    {
        limits.push(ClockLimit {
            name: c.name.clone(),
            hz: l.value,
            source: l.source,
        });
    }
    for d in &devices {
        let limit = largest(&d.part, "spi-clock-slave").or_else(|| largest(&d.part, "spi-clock"));
        if let Some(l) = limit {
            limits.push(ClockLimit {
                name: d.name.clone(),
                hz: l.value,
                source: l.source,
            });
        }
    }
    let (modes, unlike) = modes(link, &devices);
    let mut assumed = Vec::new();
    let cable = link.cable.as_ref().map(|c| {
        let per_m = c.delay_per_m.as_ref().map(|d| ohms(&d.value).high);
        if per_m.is_none() {
            assumed.push("5 ns/m of the cable (common practice)".to_owned());
        }
        (
            ohms(&c.length_m.value).high,
            per_m.unwrap_or(CABLE_DELAY_PER_M),
        )
    });
    let slowest = devices
        .iter()
        .filter_map(|d| Some((d.name.clone(), largest(&d.part, "spi-valid")?.value)))
        .reduce(|a, b| if b.1 > a.1 { b } else { a });
    let set_up = controller.and_then(|c| largest(&c.part, "spi-set-up"));
    let drivers_s = link
        .via
        .as_ref()
        .and_then(|v| board.devices.get(v.device.device))
        .and_then(|d| largest(&d.part, "delay"))
        .map_or(0.0, |d| 2.0 * d.value);
    let is_share_stated = link.skew.is_some();
    let share = link.skew.as_ref().map_or(0.5, |s| s.value);
    let trip = RoundTrip {
        cable_s: cable.map_or(0.0, |(m, s)| m * s),
        drivers_s,
        valid_s: slowest.as_ref().map_or(0.0, |s| s.1),
        set_up_s: set_up.as_ref().map_or(0.0, |s| s.value),
    };
    if cable.is_some() && !is_share_stated {
        if slowest.is_none() {
            assumed.push(
                "no part says after which time its data are valid (`spi-valid`): counted as none"
                    .to_owned(),
            );
        }
        if set_up.is_none() {
            assumed.push(
                "the controller says not how long data must stand (`spi-set-up`): counted as none"
                    .to_owned(),
            );
        }
    }
    let clock = link.clock_hz.as_ref();
    let longest_m = clock
        .zip(cable)
        .map(|(hz, (_, per_m))| trip.longest_s(hz.value, share) / per_m);
    Some(Serial {
        link: position,
        clock_hz: clock.map(|c| c.value),
        limits,
        modes,
        mode: link.spi_mode.as_ref().map(|m| m.value),
        unlike,
        trip,
        slowest: slowest.map(|s| s.0),
        share,
        is_share_stated,
        cable,
        fastest_hz: trip.fastest_hz(share),
        longest_m,
        assumed,
        selects: selects(board, link),
        holding: devices
            .iter()
            .filter(|d| devices.len() > 1 && d.part.habits.iter().any(|h| h == "holds-bus"))
            .map(|d| d.name.clone())
            .collect(),
        span: clock.map_or(link.span, |c| c.span),
    })
}

/// Modes in common, and who does not fit.
fn modes(link: &Link, devices: &[&board::Device]) -> (Option<Vec<u8>>, Vec<(String, Vec<u8>)>) {
    let known: Vec<&&board::Device> = devices
        .iter()
        .filter(|d| !d.part.spi_modes.is_empty())
        .collect();
    if known.is_empty() {
        return (None, Vec::new());
    }
    let common: Vec<u8> = (0..4)
        .filter(|m| known.iter().all(|d| d.part.spi_modes.contains(m)))
        .collect();
    let unlike = match &link.spi_mode {
        Some(mode) => known
            .iter()
            .filter(|d| !d.part.spi_modes.contains(&mode.value))
            .map(|d| (d.name.clone(), d.part.spi_modes.clone()))
            .collect(),
        None if common.is_empty() => known
            .iter()
            .map(|d| (d.name.clone(), d.part.spi_modes.clone()))
            .collect(),
        None => Vec::new(),
    };
    (Some(common), unlike)
}

/// Every device has a select of its own, where there are several.
fn selects(board: &Board, link: &Link) -> Vec<Select> {
    let mut found = Vec::new();
    let mut seen: Vec<(&str, String)> = Vec::new();
    let several = link.members.len() > 1;
    for member in &link.members {
        let name = board
            .devices
            .get(member.port.device)
            .map_or_else(String::new, |d| d.name.clone());
        match &member.select {
            None if several => found.push(Select::Missing(name)),
            None => {}
            Some(pin) => {
                if let Some((_, other)) = seen.iter().find(|(p, _)| *p == pin.value) {
                    found.push(Select::Shared(
                        pin.value.clone(),
                        other.clone(),
                        name.clone(),
                    ));
                }
                seen.push((&pin.value, name));
            }
        }
    }
    // Where no one of several says it, the file is only short.
    let all = found
        .iter()
        .filter(|s| matches!(s, Select::Missing(_)))
        .count();
    if all == link.members.len() {
        found.clear();
    }
    found
}

/// An asynchronous line.
#[derive(Clone, Debug, PartialEq)]
pub struct Asynchronous {
    /// Position of the link.
    pub link: usize,
    /// Rate, Hz.
    pub rate_hz: Option<f64>,
    /// Error of the near end's clock, relative.
    pub near: Said<f64>,
    /// Error of the far end's clock, relative.
    pub far: Said<f64>,
    /// Bits of a frame, start and stop included.
    pub frame_bits: f64,
    /// What both together may be.
    pub permitted: f64,
    /// Where the tolerance is written.
    pub span: Span,
}

impl Asynchronous {
    /// Both errors together.
    #[must_use]
    pub fn together(&self) -> f64 {
        self.near.value.abs() + self.far.value.abs()
    }
}

/// An asynchronous line; none for links of other kinds.
#[must_use]
pub fn asynchronous(board: &Board, position: usize) -> Option<Asynchronous> {
    let link = board
        .links
        .get(position)
        .filter(|l| l.kind == LinkKind::Uart)?;
    let rate_hz = link.clock_hz.as_ref().map(|c| c.value);
    let crystal = || Said::new(CRYSTAL, "a crystal, common practice");
    let own = link
        .controller_tolerance
        .as_ref()
        .map_or_else(crystal, |t| Said::new(t.value.abs(), "the board file"));
    let near = match (&link.divided_from_hz, rate_hz) {
        (Some(clock), Some(rate)) => {
            let (made, error) = super::clocked::divided_rate(clock.value, OVERSAMPLING, rate);
            Said::new(
                error.abs() + own.value,
                format!(
                    "{} from {} by a whole divider; clock: {}",
                    quantity::engineering(made, "Bd", 5),
                    quantity::engineering(clock.value, "Hz", 4),
                    own.source
                ),
            )
        }
        _ => own,
    };
    let frame_bits = link
        .frame_bits
        .as_ref()
        .map_or(FRAME_BITS, |b| f64::from(b.value));
    Some(Asynchronous {
        link: position,
        rate_hz,
        near,
        far: link
            .clock_tolerance
            .as_ref()
            .map_or_else(crystal, |t| Said::new(t.value.abs(), "the board file")),
        permitted: asynchronous_error(frame_bits, OVERSAMPLING),
        frame_bits,
        span: link.clock_tolerance.as_ref().map_or(link.span, |t| t.span),
    })
}

/// A single open-drain wire.
#[derive(Clone, Debug, PartialEq)]
pub struct SingleWire {
    /// Position of the link.
    pub link: usize,
    /// Supply of the pull-up, V.
    pub supply: Option<Volts>,
    /// The pull-up.
    pub fitted: Option<Ohms>,
    /// Capacitance of the wire, F.
    pub line_farad: f64,
    /// What makes it up.
    pub shares: Vec<(String, f64)>,
    /// Smallest pull-up, Ω, with how it comes about.
    pub lowest: Option<Said<f64>>,
    /// Largest pull-up, Ω, with how it comes about.
    pub largest: Option<Said<f64>>,
    /// Time after which the wire must read high, s.
    pub time_s: f64,
    /// Time after which it does with the largest fitted resistance, s.
    pub rise_s: Option<f64>,
    /// Longest cable with the fitted pull-up, m.
    pub longest_m: Option<f64>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
}

/// A single wire; none for links of other kinds.
#[must_use]
pub fn single_wire(board: &Board, position: usize) -> Option<SingleWire> {
    let link = board
        .links
        .get(position)
        .filter(|l| l.kind == LinkKind::SingleWire)?;
    let mut assumed = Vec::new();
    let supply = rail_of(board, link).and_then(|r| volts(board, r));
    let high_v = supply.map_or(3.3, |s| s.high);
    let contacts = contacts_of(board, link, position, high_v);
    let (line_farad, shares) = capacitance(link, &contacts, &mut assumed);
    let bit_s = link.clock_hz.as_ref().map_or_else(
        || {
            assumed.push("a bit of 60 µs: no clock is stated (from memory)".to_owned());
            SLOT_S
        },
        |c| 1.0 / c.value,
    );
    let time_s = SLOT_SHARE * bit_s;
    // The highest threshold of those who listen, as a share of the supply.
    let needed = contacts
        .iter()
        .filter_map(|c| c.high_v.as_ref())
        .map(|h| h.value / high_v)
        .fold(0.7, f64::max)
        .min(0.99);
    let times = -elementary::ln(1.0 - needed);
    let sink = link.sink_a.as_ref().map_or(SINGLE_SINK, |a| Sink {
        current_a: a.value,
        ..SINGLE_SINK
    });
    let lowest = supply.map(|v| {
        let ohm = sink.lowest_ohm(v.high);
        Said::new(
            ohm,
            format!(
                "(V_DD − V_OL)/I_OL = ({} − {})/{} = {}",
                quantity::engineering(v.high, "V", 3),
                quantity::engineering(sink.low_v, "V", 2),
                quantity::engineering(sink.current_a, "A", 2),
                quantity::engineering(ohm, "Ω", 3)
            ),
        )
    });
    let largest = (line_farad > 0.0).then(|| {
        let ohm = time_s / (times * line_farad);
        Said::new(
            ohm,
            format!(
                "t/(C ln(V_DD/(V_DD − V_IH))) = {}/({} × {:.3}) = {}",
                quantity::engineering(time_s, "s", 3),
                quantity::engineering(line_farad, "F", 3),
                times,
                quantity::engineering(ohm, "Ω", 3)
            ),
        )
    });
    let fitted = pull_ups(link);
    let longest_m = link.cable.as_ref().zip(fitted).map(|(cable, r)| {
        let per_m = cable
            .capacitance_per_m
            .as_ref()
            .map_or(super::segment::CABLE_FARAD_PER_M, |c| ohms(&c.value).high);
        let rest: f64 = shares
            .iter()
            .filter(|(name, _)| name != "cable")
            .map(|(_, f)| f)
            .sum();
        (time_s / (times * r.high) - rest) / per_m
    });
    Some(SingleWire {
        link: position,
        supply,
        rise_s: fitted.map(|r| times * r.high * line_farad),
        fitted,
        line_farad,
        shares,
        lowest,
        largest,
        time_s,
        longest_m,
        assumed,
    })
}
