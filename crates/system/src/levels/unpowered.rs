//! Parts whose rail is off while others drive their lines.
//!
//! The clamp of an unpowered input conducts into its own supply. What it is
//! rated for is counted with that supply at nothing, since nobody feeds it;
//! the current is what flows into the voltage that it comes to,
//! I = (V − V_off − V_clamp)/R on each line.

use board::{Board, Link};

use super::ends::{CLAMP_DROP_V, Fed, Known, Ratings, Way, output, ratings};
use super::pairs::{Meeting, feed, meetings, ohms, pull_ups, rail_of};
use super::supply::switched_root;

/// A part that is off while a line to it is not.
#[derive(Clone, Debug, PartialEq)]
pub struct Unpowered {
    /// Position among the links.
    pub link: usize,
    /// Position among the devices.
    pub device: usize,
    /// Its rail.
    pub rail: String,
    /// The rail that drives the lines, or to which they are pulled up.
    pub driver_rail: String,
    /// Who drives; empty where pull-ups do.
    pub driver: String,
    /// Voltage on its lines, V.
    pub line_v: f64,
    /// What its pins stand with the supply at nothing, V: the absolute maximum
    /// where the line is beyond it, else the range they are made to be used in.
    pub stands: Known,
    /// The line is beyond the absolute maximum.
    pub beyond_maximum: bool,
    /// Voltage its supply comes to when it is off, V.
    pub off_v: f64,
    /// Resistance in each line, Ω; none where nothing is known to be in it.
    pub ohm: Option<f64>,
    /// Lines that are high at rest.
    pub lines: u32,
    /// Current of one line, A.
    pub line_a: Option<f64>,
    /// Current of all, A.
    pub total_a: Option<f64>,
    /// Current that one clamp may take, A, where the part says it.
    pub permitted_a: Option<Known>,
    /// What else the rail feeds, A, where the board says it: less than the
    /// clamps bring, and the rail rises.
    pub load_a: Option<f64>,
    /// Level to which the clamp pulls a line that only resistors hold up, V.
    pub held_v: Option<f64>,
    /// Resistor in each line for the permitted current, Ω.
    pub series_ohm: Option<f64>,
}

impl Unpowered {
    /// Whether its rating is broken: the voltage with nothing known in the
    /// line, or the current where the part says how much its clamp takes.
    #[must_use]
    pub fn is_broken(&self) -> bool {
        match (&self.permitted_a, self.line_a) {
            (Some(permitted), Some(flows)) => flows > permitted.value,
            _ => self.beyond_maximum,
        }
    }

    /// Whether the rail rises because it feeds less than the clamps bring.
    #[must_use]
    pub fn lifts_rail(&self) -> bool {
        matches!((self.total_a, self.load_a), (Some(all), Some(load)) if all > load)
    }
}

/// What the pins of an unpowered part stand: its limits with its supply at
/// nothing.
fn dead(part: &parts::Part) -> Ratings {
    ratings(
        part,
        &Fed {
            supply_v: 0.0,
            supply_b_v: 0.0,
            is_side_b: false,
            is_tolerant: false,
        },
    )
}

/// Every unpowered part on a line that others hold high.
#[must_use]
pub fn analyse(board: &Board) -> Vec<Unpowered> {
    let mut found = Vec::new();
    for (i, link) in board.links.iter().enumerate() {
        if link.kind.is_open_drain() {
            pulled(board, i, link, &mut found);
        } else {
            for m in meetings(board, i).all {
                driven(board, i, link, &m, &mut found);
            }
        }
    }
    found
}

/// The rail of a device where it can be off while `other` is on, with what it
/// comes to then, V.
fn off(board: &Board, device: usize, other: usize) -> Option<(usize, f64)> {
    let rail = board.devices.get(device)?.supply?;
    let own = switched_root(board, rail);
    let power = &board.rails.get(own)?.power;
    (power.switched && own != switched_root(board, other)).then_some((own, power.off_v))
}

/// What both kinds of line have in common.
struct Line {
    volt: f64,
    ohm: Option<f64>,
    lines: u32,
    driver: String,
    driver_rail: String,
    is_pulled: bool,
}

fn told(
    board: &Board,
    link: usize,
    device: usize,
    (rail, off_v): (usize, f64),
    line: Line,
) -> Option<Unpowered> {
    let part = &board.devices.get(device)?.part;
    let limits = dead(part);
    let beyond_maximum = line.volt > limits.maximum.value;
    // An absolute maximum in plain volts says nothing of the clamp; a range of
    // use that follows the supply, or a permitted injection, does.
    let stands = match limits.operating {
        _ if beyond_maximum => limits.maximum,
        Some(used) if line.volt > used.value => used,
        _ => return None,
    };
    let beyond = line.volt - off_v - CLAMP_DROP_V;
    let line_a = line.ohm.filter(|o| *o > 0.0).map(|o| beyond.max(0.0) / o);
    let permitted_a = limits
        .injection_a
        .filter(|k| k.value > 0.0)
        .or(limits.clamp_a.filter(|k| k.value > 0.0));
    let r = board.rails.get(rail)?;
    let series_ohm = permitted_a.as_ref().and_then(|k| {
        let needed = beyond / k.value - line.ohm.unwrap_or(0.0);
        (needed > 0.0)
            .then(|| quantity::Series::E12.at_least(needed))
            .flatten()
    });
    Some(Unpowered {
        link,
        device,
        rail: r.name.clone(),
        driver_rail: line.driver_rail,
        driver: line.driver,
        line_v: line.volt,
        stands,
        beyond_maximum,
        off_v,
        ohm: line.ohm,
        lines: line.lines,
        line_a,
        total_a: line_a.map(|a| a * f64::from(line.lines)),
        permitted_a,
        load_a: r.load_a.as_ref().map(|l| l.value),
        held_v: line.is_pulled.then_some(off_v + CLAMP_DROP_V),
        series_ohm,
    })
}

fn pulled(board: &Board, i: usize, link: &Link, found: &mut Vec<Unpowered>) {
    let Some(rail) = rail_of(board, link) else {
        return;
    };
    let (Some(feed), Some(pull)) = (feed(board, rail), pull_ups(link)) else {
        return;
    };
    let ports = link
        .controller
        .iter()
        .chain(link.members.iter().map(|m| &m.port));
    for port in ports {
        let Some(dead) = off(board, port.device, rail) else {
            continue;
        };
        let series = link
            .series_ohm
            .as_ref()
            .map_or(0.0, |v| ohms(&v.value).nominal);
        found.extend(told(
            board,
            i,
            port.device,
            dead,
            Line {
                volt: feed.volt.nominal,
                // One segment's pull-ups are shared by all that hang on it.
                ohm: Some(pull.nominal + series),
                lines: if link.kind == board::LinkKind::I2c {
                    2
                } else {
                    1
                },
                driver: String::new(),
                driver_rail: feed.name.clone(),
                is_pulled: true,
            },
        ));
    }
}

fn driven(board: &Board, i: usize, link: &Link, m: &Meeting<'_>, found: &mut Vec<Unpowered>) {
    let Some(rail) = board.devices.get(m.devices.0).and_then(|d| d.supply) else {
        return;
    };
    let Some(dead) = off(board, m.devices.1, rail) else {
        return;
    };
    let own = m.driver.own();
    let out = output(
        m.driver.part,
        &Fed {
            supply_v: own.volt.nominal,
            supply_b_v: own.volt.nominal,
            is_side_b: m.driver.is_side_b,
            is_tolerant: false,
        },
        Way::High,
    );
    let series = link
        .series_ohm
        .as_ref()
        .map_or(0.0, |v| ohms(&v.value).nominal);
    let ohm = out.ohm + series;
    found.extend(told(
        board,
        i,
        m.devices.1,
        dead,
        Line {
            volt: own.volt.nominal,
            ohm: (ohm > 0.0).then_some(ohm),
            lines: m.count,
            driver: m.driver.name.clone(),
            driver_rail: own.name.clone(),
            is_pulled: false,
        },
    ));
}
