//! Translators between two segments: one transistor on each line, or a part
//! that senses the direction by itself.

use board::{Board, Link, LinkKind, Pull};

use super::line::{Ohms, Volts};
use super::pairs::{feed, is_switch, on_ohm, pull_ups, rail_of};
use crate::buses::two_wire;

/// Time in units of R·C until a line that is pulled up has come to 0.7 of its
/// supply: ln(1/0.3).
pub const TO_HIGH: f64 = 1.203_972_804_325_936;

/// One side of a translator made of a transistor.
#[derive(Clone, Debug, PartialEq)]
pub struct Rise {
    /// Link of that side.
    pub link: usize,
    /// Pull-ups in parallel, largest, Ω.
    pub ohm: f64,
    /// Capacitance of a line, F, where enough is said to know it.
    pub farad: Option<f64>,
    /// Time until 0.7 of the supply, s.
    pub rise_s: Option<f64>,
    /// Clock whose half period that is, Hz.
    pub highest_clock_hz: Option<f64>,
    /// Clock asked for, Hz.
    pub clock_hz: Option<f64>,
    /// Capacitance with which it reaches 0.7 of the supply in half a period
    /// of that clock, F.
    pub farad_at_clock: Option<f64>,
    /// Of a two-wire bus: rise time of its mode, 30 % to 70 %, s; capacitance
    /// with these pull-ups, F; and the largest pull-up with the capacitance
    /// that is there, Ω.
    pub mode: Option<(f64, f64, Option<f64>)>,
}

/// A transistor on each line between two segments.
#[derive(Clone, Debug, PartialEq)]
pub struct Transistor {
    /// The far segment.
    pub link: usize,
    /// Position among the devices.
    pub device: usize,
    /// Rail that its gate goes to: the lower one.
    pub gate: String,
    /// Its voltage, V.
    pub gate_v: Volts,
    /// Highest threshold over the ambient range, V.
    pub threshold_v: f64,
    /// Ambient temperature of that, K.
    pub at_k: f64,
    /// What is left of the gate's rail above it, V.
    pub overdrive_v: f64,
    /// On-resistance, largest, Ω.
    pub on_ohm: f64,
    /// What the far side's pull-ups add to a low level across it, as a share
    /// of their supply.
    pub added_share: Option<f64>,
    /// Near and far side, as far as they have pull-ups.
    pub sides: Vec<Rise>,
}

/// A pull resistor on a line of a translator that senses the direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Forbidden {
    /// The link.
    pub link: usize,
    /// Position of the translator among the devices.
    pub device: usize,
    /// What pulls, in words.
    pub what: String,
    /// Its resistance, smallest, Ω.
    pub ohm: f64,
    /// Smallest resistance that the translator allows, Ω.
    pub least_ohm: f64,
    /// Where that is from.
    pub source: String,
    /// Level that is left where it holds the other way, as a share of the
    /// supply; none where its own resistance is not known.
    pub left_share: Option<f64>,
}

/// All translators of a board.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Translators {
    /// Transistors.
    pub transistors: Vec<Transistor>,
    /// Pull resistors that beat a translator.
    pub forbidden: Vec<Forbidden>,
}

/// What translators do to the lines of a board.
#[must_use]
pub fn analyse(board: &Board) -> Translators {
    Translators {
        transistors: (0..board.links.len())
            .filter_map(|i| transistor(board, i))
            .collect(),
        forbidden: (0..board.links.len())
            .flat_map(|i| forbidden(board, i))
            .collect(),
    }
}

fn side(board: &Board, i: usize) -> Option<Rise> {
    let link = board.links.get(i)?;
    let ohm = pull_ups(link)?.high;
    let farad = line_farad(board, i, link);
    let rise_s = farad.map(|f| TO_HIGH * ohm * f);
    let clock_hz = link.clock_hz.as_ref().map(|c| c.value);
    let mode = (link.kind == LinkKind::I2c).then(|| {
        let mode = link
            .mode
            .as_ref()
            .map(|m| m.value)
            .or_else(|| two_wire::mode_of_clock(clock_hz?))
            .unwrap_or(board::BusMode::Standard);
        let rise = two_wire::limits(mode).rise_s;
        // R = t/(0.8473·C), and C = t/(0.8473·R) alike.
        (
            rise,
            two_wire::largest_for_rise(rise, ohm),
            farad.map(|f| two_wire::largest_for_rise(rise, f)),
        )
    });
    Some(Rise {
        link: i,
        ohm,
        farad,
        rise_s,
        highest_clock_hz: rise_s.map(|s| 0.5 / s),
        clock_hz,
        farad_at_clock: clock_hz.map(|hz| 0.5 / hz / (TO_HIGH * ohm)),
        mode,
    })
}

/// Capacitance of a line with the output of the transistors on it, F; none
/// where neither traces nor a cable's capacitance is said.
fn line_farad(board: &Board, i: usize, link: &Link) -> Option<f64> {
    let plain = super::fixes::line_farad(board, link)?;
    let joints = board
        .links
        .iter()
        .enumerate()
        .filter_map(|(k, l)| l.via.as_ref().map(|v| (k, v)))
        .filter(|(k, v)| *k == i || v.from.value == i)
        .filter_map(|(_, v)| board.devices.get(v.device.device))
        .filter_map(|d| d.part.figure("output-capacitance"))
        .filter_map(|f| f.max.or(f.typ))
        .sum::<f64>();
    Some(plain + joints)
}

fn transistor(board: &Board, i: usize) -> Option<Transistor> {
    let link = board.links.get(i)?;
    let via = link.via.as_ref()?;
    let device = via.device.device;
    if !is_switch(board, device) {
        return None;
    }
    let part = &board.devices.get(device)?.part;
    let near = board.links.get(via.from.value)?;
    let near_feed = feed(board, rail_of(board, near)?)?;
    let far_feed = feed(board, rail_of(board, link)?)?;
    let gate = if near_feed.volt.nominal <= far_feed.volt.nominal {
        &near_feed
    } else {
        &far_feed
    };
    let threshold = part.figure("gate-threshold")?;
    let most = threshold.max.or(threshold.typ)?;
    let reference_k = threshold.reference_temperature_k.unwrap_or(298.15);
    let per_k = part
        .figure("gate-threshold-drift")
        .and_then(|f| f.typ.or(f.min).or(f.max))
        .unwrap_or(0.0);
    let (cold, hot) = board.conditions.ambient_k;
    let at = |k: f64| most + per_k * (k - reference_k);
    let at_k = if at(cold) >= at(hot) { cold } else { hot };
    let threshold_v = at(at_k);
    let on = on_ohm(part);
    let far_pull = pull_ups(link).map(|o| o.low);
    let sides = [via.from.value, i]
        .into_iter()
        .filter_map(|k| side(board, k))
        .collect();
    Some(Transistor {
        link: i,
        device,
        gate: gate.name.clone(),
        gate_v: gate.volt,
        threshold_v,
        at_k,
        overdrive_v: gate.volt.low - threshold_v,
        on_ohm: on,
        added_share: far_pull.map(|r| on / (on + r)),
        sides,
    })
}

/// Devices at the ends of a link.
fn at_ends(link: &Link) -> impl Iterator<Item = usize> + '_ {
    link.controller
        .iter()
        .chain(link.members.iter().map(|m| &m.port))
        .chain(&link.driver)
        .chain(&link.receivers)
        .chain(link.via.iter().map(|v| &v.device))
        .map(|p| p.device)
}

/// What pulls on the lines of a link: fitted resistors, and those that the
/// firmware switches on at the controller's pins.
fn pulls(board: &Board, link: &Link) -> Vec<(String, Ohms)> {
    let mut found = Vec::new();
    if let Some(ohms) = pull_ups(link) {
        found.push(("the pull-ups".to_owned(), ohms));
    }
    let named = |device: usize, pin: &str| {
        let controller = link.controller.as_ref().is_some_and(|c| c.device == device);
        (controller && link.pins.values().any(|p| p.value == pin))
            || link
                .driver
                .iter()
                .chain(&link.receivers)
                .any(|p| p.device == device && p.pin.as_deref() == Some(pin))
    };
    for s in board.pins.iter().filter(|s| named(s.device, &s.pin)) {
        let figure = match s.pull.as_ref().map(|p| p.value) {
            Some(Pull::Up) => "pull-up",
            Some(Pull::Down) => "pull-down",
            _ => continue,
        };
        let Some(device) = board.devices.get(s.device) else {
            continue;
        };
        let Some(f) = device.part.figure(figure) else {
            continue;
        };
        let Some(least) = f.min.or(f.typ).or(f.max) else {
            continue;
        };
        found.push((
            format!("the built-in {figure} of {}.{}", device.name, s.pin),
            Ohms {
                low: least,
                nominal: f.typ.unwrap_or(least),
                high: f.max.or(f.typ).unwrap_or(least),
            },
        ));
    }
    found
}

fn forbidden(board: &Board, i: usize) -> Vec<Forbidden> {
    let Some(link) = board.links.get(i) else {
        return Vec::new();
    };
    let mut found: Vec<Forbidden> = Vec::new();
    let mut devices: Vec<usize> = at_ends(link).collect();
    devices.extend(
        board
            .links
            .iter()
            .filter_map(|l| l.via.as_ref())
            .filter(|v| v.from.value == i)
            .map(|v| v.device.device),
    );
    devices.sort_unstable();
    devices.dedup();
    for device in devices {
        let Some(d) = board.devices.get(device).filter(|d| d.part.kind == "logic") else {
            continue;
        };
        let held = d
            .part
            .figure("holding-resistance")
            .and_then(|f| f.max.or(f.typ).or(f.min));
        let rule = d
            .part
            .figure("bus-pull-up")
            .and_then(|f| Some((f.min?, f.source.document.clone())));
        // A level that is held against a pull must stay beyond 0.7 of the
        // supply: R_pull ≥ R_hold·0.7/0.3.
        let (least_ohm, source) = match (rule, held) {
            (Some(rule), _) => rule,
            (None, Some(ohm)) => (
                ohm * 0.7 / 0.3,
                "a held level beyond 0.7 of the supply".to_owned(),
            ),
            (None, None) => continue,
        };
        for (what, ohms) in pulls(board, link) {
            if ohms.low < least_ohm {
                found.push(Forbidden {
                    link: i,
                    device,
                    what,
                    ohm: ohms.low,
                    least_ohm,
                    source: source.clone(),
                    left_share: held.map(|h| ohms.low / (ohms.low + h)),
                });
            }
        }
    }
    found
}
