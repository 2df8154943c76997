//! A segment of a two-wire bus: who is on it, what its pull-ups must be.

use board::{Board, BusMode, Link, LinkKind, Port};
use finding::Span;
use parts::{Figure, Part};
use quantity::Series;

use super::two_wire::{
    self, HIGH, NOISE_MARGIN_HIGH, PIN_FARAD, PIN_LEAKAGE_A, Sink, largest_for_leakage,
    largest_for_rise,
};
use crate::levels::ends::LIGHT_LOAD_A;
use crate::levels::line::{Ohms, Volts};
use crate::levels::pairs::{is_switch, ohms, pull_ups, rail_of};
use crate::levels::supply::{root, volts};

/// Capacitance of a cable's line for each metre where none is given: a pair
/// or a ribbon with a return beside each signal (common practice).
pub const CABLE_FARAD_PER_M: f64 = 60e-12;

/// Delay of a cable for each metre where none is given: two thirds of the
/// speed of light (common practice).
pub const CABLE_DELAY_PER_M: f64 = 5e-9;

/// Resistors that boards usually carry, Ω (common practice).
const USUAL_BOARDS: [f64; 3] = [2.2e3, 4.7e3, 10e3];

/// Boards up to which every choice of those to keep is looked at.
const CHOICES: usize = 12;

/// A number with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Said<T> {
    /// The number.
    pub value: T,
    /// Document and place, or the rule.
    pub source: String,
}

impl<T> Said<T> {
    /// One with its source.
    pub fn new(value: T, source: impl Into<String>) -> Said<T> {
        Said {
            value,
            source: source.into(),
        }
    }
}

/// A part that touches the lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Contact {
    /// Its name.
    pub name: String,
    /// Position among the devices.
    pub device: usize,
    /// How strongly it pulls down; none where it is a mere switch.
    pub sink: Option<Said<Sink>>,
    /// Leakage of its pin, A.
    pub leakage_a: Said<f64>,
    /// Capacitance of its pin, F.
    pub farad: Said<f64>,
    /// Clock it bears, Hz.
    pub clock_hz: Option<Said<(f64, f64)>>,
    /// Capacitance it allows the lines, F.
    pub load_farad: Option<Said<f64>>,
    /// Pull-ups it allows, Ω: lowest, highest.
    pub pull_up_ohm: Option<Said<(f64, f64)>>,
    /// Lowest level that its input needs for high, V, at the highest supply.
    pub high_v: Option<Said<f64>>,
    /// It is a repeater that puts out an offset low on this side.
    pub is_offset: bool,
}

/// A resistor that pulls the lines up.
#[derive(Clone, Debug, PartialEq)]
pub struct PullUp {
    /// Whose it is.
    pub whose: String,
    /// Its size.
    pub ohm: Ohms,
    /// Where it is written.
    pub span: Span,
}

/// A limit of the pull-ups.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// The resistance, Ω.
    pub ohm: f64,
    /// What sets it, with the numbers put in.
    pub working: String,
    /// Where that is from.
    pub source: String,
}

/// What to buy or to remove.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proposal {
    /// One pair of this resistance in all, Ω.
    pub ohm: Option<f64>,
    /// How many boards with such resistors may be fitted.
    pub boards: Vec<(f64, u32)>,
    /// Which of the fitted ones to keep, where that alone helps.
    pub keep: Option<Vec<usize>>,
    /// The fastest mode in which the fitted ones would do.
    pub slower: Option<BusMode>,
    /// The largest capacitance with which the fitted ones rise in time, F.
    pub farad: Option<f64>,
}

/// A segment with all that decides about its pull-ups.
#[derive(Clone, Debug, PartialEq)]
pub struct Segment {
    /// Position among the links.
    pub link: usize,
    /// Supply of the pull-ups, V; none where no rail is named.
    pub supply: Option<Volts>,
    /// Speed class.
    pub mode: BusMode,
    /// Clock, Hz.
    pub clock_hz: f64,
    /// What was taken for granted, a sentence each.
    pub assumed: Vec<String>,
    /// Who is on it.
    pub contacts: Vec<Contact>,
    /// The resistors.
    pub pull_ups: Vec<PullUp>,
    /// All of them in parallel.
    pub fitted: Option<Ohms>,
    /// The weakest sink and its name.
    pub weakest: Option<(String, Said<Sink>)>,
    /// Current that segments joined by transistors add to a low level, A.
    pub joined_a: f64,
    /// Current that the weakest must sink now, A.
    pub sink_a: Option<f64>,
    /// Capacitance of a line, F.
    pub line_farad: f64,
    /// What makes it up.
    pub shares: Vec<(String, f64)>,
    /// The most it may be, F.
    pub most_farad: Said<f64>,
    /// Leakage of all pins, A.
    pub leakage_a: f64,
    /// Smallest resistance.
    pub lowest: Option<Bound>,
    /// Largest resistance.
    pub largest: Option<Bound>,
    /// Rise time with the largest fitted resistance, s.
    pub rise_s: Option<f64>,
    /// Twice the delay of its cable, s.
    pub round_trip_s: Option<f64>,
    /// What to do.
    pub proposal: Proposal,
}

impl Segment {
    /// Whether the fitted resistors are too strong; none where there is none
    /// or no limit is known.
    #[must_use]
    pub fn is_too_strong(&self) -> Option<bool> {
        Some(self.fitted?.low < self.lowest.as_ref()?.ohm * (1.0 - 1e-9))
    }

    /// Whether the fitted resistors are too weak.
    #[must_use]
    pub fn is_too_weak(&self) -> Option<bool> {
        Some(self.fitted?.high > self.largest.as_ref()?.ohm * (1.0 + 1e-9))
    }

    /// Whether no resistor at all would do.
    #[must_use]
    pub fn has_no_window(&self) -> bool {
        match (&self.lowest, &self.largest) {
            (Some(low), Some(high)) => low.ohm > high.ohm,
            _ => false,
        }
    }

    /// What is left to the nearer end of the window, as a share of that end.
    #[must_use]
    pub fn margin(&self) -> Option<f64> {
        let fitted = self.fitted?;
        let low = self.lowest.as_ref().map(|b| fitted.low / b.ohm - 1.0);
        let high = self.largest.as_ref().map(|b| 1.0 - fitted.high / b.ohm);
        match (low, high) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (one, other) => one.or(other),
        }
    }
}

/// Where a figure is from.
pub(crate) fn cited(part: &Part, figure: &Figure) -> String {
    let text = figure.source.to_string();
    match (text.is_empty(), figure.basis == parts::Basis::Published) {
        (true, true) => format!("part {}", part.id),
        (true, false) => format!("part {}, {}", part.id, figure.basis),
        (false, true) => text,
        (false, false) => format!("{text} ({})", figure.basis),
    }
}

/// A figure of a part with limits that follow a supply worked out.
fn at(part: &Part, name: &str, supply_v: f64) -> Option<Figure> {
    part.figure(name)?.resolved(&|_| Some(supply_v))
}

/// How a part sinks a line at a supply.
fn sink(
    part: &Part,
    is_side_b: bool,
    supply_v: f64,
    mode: BusMode,
    stated: Option<f64>,
) -> Said<Sink> {
    let asked = Sink::asked(mode, supply_v);
    let names: &[&str] = if is_side_b {
        &["output-low-b", "output-low"]
    } else {
        &["output-low"]
    };
    let level = names
        .iter()
        .find_map(|n| at(part, n, supply_v).map(|f| (f.max.or(f.typ).or(f.min), f)));
    let current = part.figure("output-low-current").and_then(Figure::typical);
    if current.is_some_and(|a| a < LIGHT_LOAD_A) {
        // Rated with next to no load: it says nothing of its strength.
        let current_a = stated.unwrap_or(asked.current_a);
        return Said::new(
            Sink { current_a, ..asked },
            match stated {
                Some(_) => "UM10204, table 9; current from the board file",
                None => "UM10204, table 9",
            },
        );
    }
    match (level, current) {
        (Some((Some(low_v), f)), Some(current_a)) => {
            Said::new(Sink { low_v, current_a }, cited(part, &f))
        }
        (Some((_, f)), _) if !f.points.is_empty() => {
            // The strongest printed point that is still a low level.
            let best = f
                .points
                .iter()
                .rfind(|(_, v)| *v <= asked.low_v)
                .or(f.points.first());
            match best {
                Some(&(current_a, low_v)) => Said::new(Sink { low_v, current_a }, cited(part, &f)),
                None => Said::new(asked, "UM10204, table 9"),
            }
        }
        (Some((Some(low_v), f)), None) if low_v > 0.0 => Said::new(
            Sink {
                low_v,
                current_a: stated.unwrap_or(asked.current_a),
            },
            match stated {
                Some(_) => format!("{}; current from the board file", cited(part, &f)),
                None => format!("{}; current as UM10204, table 9, asks", cited(part, &f)),
            },
        ),
        _ => Said::new(
            Sink {
                current_a: stated.unwrap_or(asked.current_a),
                ..asked
            },
            if stated.is_some() {
                "the board file; level as UM10204, table 9, asks"
            } else {
                "no figure of the part: what UM10204, table 9, asks"
            },
        ),
    }
}

/// Everything about one port on a segment.
fn contact(
    board: &Board,
    link: &Link,
    port: &Port,
    supply_v: f64,
    mode: BusMode,
) -> Option<Contact> {
    let device = board.devices.get(port.device)?;
    let part = &device.part;
    let switch = is_switch(board, port.device);
    let rail = link_root(board, link);
    let is_side_b = device.supply_b.is_some()
        && match port.pin.as_deref() {
            Some("b") => true,
            Some("a") => false,
            _ => device.supply_b.map(|r| root(board, r)) == rail,
        };
    let stated = link.sink_a.as_ref().map(|a| a.value);
    let most = |name: &str| {
        let f = part.figure(name)?;
        let value = f.max.or(f.typ).or(f.min)?;
        Some(Said::new(value, cited(part, f)))
    };
    let (leak, pin) = if switch {
        ("leakage", "output-capacitance")
    } else {
        ("input-leakage", "pin-capacitance")
    };
    let none = |value, what: &str| Said::new(value, format!("no figure of the part: {what}"));
    Some(Contact {
        name: device.name.clone(),
        device: port.device,
        sink: (!switch).then(|| sink(part, is_side_b, supply_v, mode, stated)),
        leakage_a: most(leak).map_or_else(
            || {
                none(
                    if switch { 0.0 } else { PIN_LEAKAGE_A },
                    "UM10204, table 9, at most",
                )
            },
            |l| Said::new(l.value.abs(), l.source),
        ),
        farad: most(pin).unwrap_or_else(|| none(PIN_FARAD, "UM10204, table 9, at most")),
        clock_hz: part.figure("i2c-clock").and_then(|f| {
            let high = f.max.or(f.typ)?;
            Some(Said::new((f.min.unwrap_or(0.0), high), cited(part, f)))
        }),
        load_farad: most("bus-load"),
        pull_up_ohm: part.figure("bus-pull-up").map(|f| {
            Said::new(
                (f.min.unwrap_or(0.0), f.max.unwrap_or(f64::INFINITY)),
                cited(part, f),
            )
        }),
        high_v: if switch {
            None
        } else {
            let name = if is_side_b {
                "input-high-b"
            } else {
                "input-high"
            };
            at(part, name, supply_v)
                .or_else(|| at(part, "input-high", supply_v))
                .and_then(|f| Some(Said::new(f.min.or(f.typ)?, cited(part, &f))))
        },
        is_offset: is_side_b && part.figure("output-low-b").is_some_and(|f| f.min.is_some()),
    })
}

/// Everyone who touches the lines of a link, with what the pins do to them.
pub(crate) fn contacts_of(
    board: &Board,
    link: &Link,
    position: usize,
    supply_v: f64,
) -> Vec<Contact> {
    let mode = speed(board, position).0;
    ports(board, position)
        .into_iter()
        .filter_map(|p| contact(board, link, p, supply_v, mode))
        .collect()
}

fn link_root(board: &Board, link: &Link) -> Option<usize> {
    rail_of(board, link).map(|r| root(board, r))
}

/// Everyone who touches the lines of a link: controller, devices, the
/// translator it lies behind and those behind which others lie.
pub(crate) fn ports(board: &Board, position: usize) -> Vec<&Port> {
    let Some(link) = board.links.get(position) else {
        return Vec::new();
    };
    let onward = board
        .links
        .iter()
        .filter_map(|l| l.via.as_ref())
        .filter(|v| v.from.value == position)
        .map(|v| &v.device);
    let mut list: Vec<&Port> = Vec::new();
    for port in link
        .controller
        .iter()
        .chain(link.members.iter().map(|m| &m.port))
        .chain(link.via.iter().map(|v| &v.device))
        .chain(onward)
    {
        // A translator that carries two segments is on this one once.
        if list.iter().all(|p| p.device != port.device) {
            list.push(port);
        }
    }
    list
}

/// Segments that single transistors join to this one.
fn joined(board: &Board, position: usize) -> Vec<usize> {
    let mut found = vec![position];
    loop {
        let before = found.len();
        for (i, link) in board.links.iter().enumerate() {
            let Some(via) = &link.via else { continue };
            if !is_switch(board, via.device.device) {
                continue;
            }
            let (a, b) = (i, via.from.value);
            if found.contains(&a) && !found.contains(&b) {
                found.push(b);
            } else if found.contains(&b) && !found.contains(&a) {
                found.push(a);
            }
        }
        if found.len() == before {
            break;
        }
    }
    found.retain(|i| *i != position);
    found
}

/// The nearest link that states what is asked for, from this one towards the
/// controller: one clock runs through all translators.
pub(crate) fn stated<T>(
    board: &Board,
    position: usize,
    get: impl Fn(&Link) -> Option<T>,
) -> Option<T> {
    let mut at = position;
    // No link lies behind itself; the bound says so again.
    for _ in 0..=board.links.len() {
        let link = board.links.get(at)?;
        if let Some(found) = get(link) {
            return Some(found);
        }
        at = link.via.as_ref()?.from.value;
    }
    None
}

/// Speed class and clock of a link, and what was taken for granted for them.
fn speed(board: &Board, position: usize) -> (BusMode, f64, Vec<String>) {
    let clock = stated(board, position, |l| l.clock_hz.as_ref().map(|c| c.value));
    let mode = stated(board, position, |l| l.mode.as_ref().map(|m| m.value));
    match (mode, clock) {
        (Some(m), Some(hz)) => (m, hz, Vec::new()),
        (Some(m), None) => (
            m,
            two_wire::limits(m).clock_hz,
            vec![format!("clock: the fastest of mode {}", m.word())],
        ),
        (None, Some(hz)) => {
            let m = two_wire::mode_of_clock(hz).unwrap_or(BusMode::HighSpeed);
            (m, hz, vec![format!("mode {}, after its clock", m.word())])
        }
        (None, None) => (
            BusMode::Standard,
            two_wire::limits(BusMode::Standard).clock_hz,
            vec!["mode standard, 100 kHz: neither mode nor clock is stated".to_owned()],
        ),
    }
}

/// A two-wire segment; none for links of other kinds.
#[must_use]
pub fn segment(board: &Board, position: usize) -> Option<Segment> {
    let link = board.links.get(position)?;
    if link.kind != LinkKind::I2c {
        return None;
    }
    let (mode, clock_hz, mut assumed) = speed(board, position);
    let limits = two_wire::limits(mode);
    let supply = rail_of(board, link).and_then(|r| volts(board, r));
    let high_v = supply.map_or(3.3, |s| s.high);
    let contacts = contacts_of(board, link, position, high_v);
    let resistors = pull_up_list(board, link);
    let fitted = pull_ups(link);
    let (line_farad, shares) = capacitance(link, &contacts, &mut assumed);
    let leakage_a = contacts.iter().map(|c| c.leakage_a.value).sum();
    let joined_a = joined(board, position)
        .into_iter()
        .filter_map(|i| {
            let other = board.links.get(i)?;
            let v = volts(board, rail_of(board, other)?)?.high;
            Some((v - 0.4).max(0.0) / pull_ups(other)?.low)
        })
        .sum::<f64>();
    let weakest = weakest(link, &contacts, supply, mode, joined_a);
    let lowest = lowest(supply, weakest.as_ref(), joined_a, &contacts);
    let largest = largest(supply, mode, line_farad, leakage_a, &contacts);
    let most_farad = contacts
        .iter()
        .filter_map(|c| {
            let l = c.load_farad.as_ref()?;
            Some(Said::new(l.value, format!("{}: {}", c.name, l.source)))
        })
        .fold(
            Said::new(
                limits.line_farad,
                format!("UM10204, table 10, mode {}", mode.word()),
            ),
            |a, b| if b.value < a.value { b } else { a },
        );
    let sink_a = match (fitted, supply, &weakest) {
        (Some(r), Some(v), Some((_, s))) => {
            Some((v.high - s.value.low_v).max(0.0) / r.low + joined_a)
        }
        _ => None,
    };
    let mut found = Segment {
        link: position,
        supply,
        mode,
        clock_hz,
        assumed,
        contacts,
        pull_ups: resistors,
        fitted,
        weakest,
        joined_a,
        sink_a,
        rise_s: fitted
            .filter(|_| line_farad > 0.0)
            .map(|r| two_wire::rise(r.high, line_farad)),
        line_farad,
        shares,
        most_farad,
        leakage_a,
        lowest,
        largest,
        round_trip_s: link.cable.as_ref().map(|c| {
            let per_m = c
                .delay_per_m
                .as_ref()
                .map_or(CABLE_DELAY_PER_M, |d| ohms(&d.value).high);
            2.0 * per_m * ohms(&c.length_m.value).high
        }),
        proposal: Proposal::default(),
    };
    found.proposal = proposal(&found);
    Some(found)
}

fn pull_up_list(board: &Board, link: &Link) -> Vec<PullUp> {
    let own = link.pull_ups.iter().enumerate().map(|(i, v)| PullUp {
        whose: format!("pull-up {}", i + 1),
        ohm: ohms(&v.value),
        span: v.span,
    });
    let boards = link.members.iter().filter_map(|m| {
        let v = m.pull_up.as_ref()?;
        Some(PullUp {
            whose: board.devices.get(m.port.device)?.name.clone(),
            ohm: ohms(&v.value),
            span: v.span,
        })
    });
    own.chain(boards).collect()
}

/// The capacitance of a line at its largest, F, and what makes it up.
pub(crate) fn capacitance(
    link: &Link,
    contacts: &[Contact],
    assumed: &mut Vec<String>,
) -> (f64, Vec<(String, f64)>) {
    let mut shares: Vec<(String, f64)> = contacts
        .iter()
        .map(|c| (c.name.clone(), c.farad.value))
        .collect();
    if let Some(t) = &link.traces_f {
        shares.push(("traces".to_owned(), ohms(&t.value).high));
    }
    if let Some(cable) = &link.cable {
        let per_m = cable
            .capacitance_per_m
            .as_ref()
            .map(|c| ohms(&c.value).high);
        if per_m.is_none() {
            assumed.push("60 pF/m of the cable (common practice)".to_owned());
        }
        let length_m = ohms(&cable.length_m.value).high;
        shares.push((
            "cable".to_owned(),
            length_m * per_m.unwrap_or(CABLE_FARAD_PER_M),
        ));
    }
    if link.traces_f.is_none() && link.cable.is_none() {
        assumed.push("no capacitance of traces: `traces` is not stated".to_owned());
    }
    (shares.iter().map(|(_, f)| f).sum(), shares)
}

/// The contact that sinks least, by the resistance it needs.
fn weakest(
    link: &Link,
    contacts: &[Contact],
    supply: Option<Volts>,
    mode: BusMode,
    joined_a: f64,
) -> Option<(String, Said<Sink>)> {
    let high_v = supply?.high;
    let needs = |s: &Sink| needed(*s, high_v, joined_a);
    let stated = link.sink_a.as_ref().map(|a| a.value);
    let usual = || {
        let asked = Sink::asked(mode, high_v);
        let sink = Sink {
            current_a: stated.unwrap_or(asked.current_a),
            ..asked
        };
        let source = if stated.is_some() {
            "the board file; level as UM10204, table 9, asks"
        } else {
            "UM10204, table 9"
        };
        ("a part as UM10204 asks".to_owned(), Said::new(sink, source))
    };
    contacts
        .iter()
        .filter_map(|c| Some((c.name.clone(), c.sink.clone()?)))
        .reduce(|a, b| {
            if needs(&b.1.value) > needs(&a.1.value) {
                b
            } else {
                a
            }
        })
        .or_else(|| Some(usual()))
}

/// The lowest resistor that a sink holds down while it takes another current
/// as well.
fn needed(sink: Sink, supply_v: f64, joined_a: f64) -> f64 {
    let left = sink.current_a - joined_a;
    if left <= 0.0 {
        f64::INFINITY
    } else {
        (supply_v - sink.low_v).max(0.0) / left
    }
}

fn lowest(
    supply: Option<Volts>,
    weakest: Option<&(String, Said<Sink>)>,
    joined_a: f64,
    contacts: &[Contact],
) -> Option<Bound> {
    let by_sink = supply.zip(weakest).map(|(v, (name, s))| {
        let Sink { low_v, current_a } = s.value;
        let minus = if joined_a > 0.0 {
            format!(" − {} through the translator", ampere(joined_a))
        } else {
            String::new()
        };
        let ohm = needed(s.value, v.high, joined_a);
        Bound {
            ohm,
            working: format!(
                "R_low = (V_DD − V_OL)/I_OL = ({} − {})/({}{minus}) = {} for {name}",
                volt(v.high),
                volt(low_v),
                ampere(current_a),
                ohm_text(ohm)
            ),
            source: format!("UM10204, 7.1; {name}: {}", s.source),
        }
    });
    let stated = contacts.iter().filter_map(|c| {
        let limit = c.pull_up_ohm.as_ref().filter(|l| l.value.0 > 0.0)?;
        Some(Bound {
            ohm: limit.value.0,
            working: format!("{} asks for at least {}", c.name, ohm_text(limit.value.0)),
            source: limit.source.clone(),
        })
    });
    by_sink
        .into_iter()
        .chain(stated)
        .reduce(|a, b| if b.ohm > a.ohm { b } else { a })
}

fn largest(
    supply: Option<Volts>,
    mode: BusMode,
    line_farad: f64,
    leakage_a: f64,
    contacts: &[Contact],
) -> Option<Bound> {
    let rise_s = two_wire::limits(mode).rise_s;
    let by_rise = (line_farad > 0.0).then(|| {
        let ohm = largest_for_rise(rise_s, line_farad);
        Bound {
            ohm,
            working: format!(
                "R_high = t_r/(0.8473 C) = {}/(0.8473 × {}) = {}",
                quantity::engineering(rise_s, "s", 3),
                quantity::engineering(line_farad, "F", 3),
                ohm_text(ohm)
            ),
            source: format!("UM10204, 7.1; rise time of mode {}, table 10", mode.word()),
        }
    });
    let by_leakage = supply.filter(|_| leakage_a > 0.0).map(|v| {
        let share = (HIGH + NOISE_MARGIN_HIGH) * v.low;
        let needed = contacts
            .iter()
            .filter_map(|c| c.high_v.as_ref())
            .map(|h| h.value.min(v.low))
            .fold(share, f64::max);
        let ohm = largest_for_leakage(v.low, needed, leakage_a);
        Bound {
            ohm,
            working: format!(
                "R_high = (V_DD − V_high)/ΣI = ({} − {})/{} = {}: leakage of {} pins",
                volt(v.low),
                volt(needed),
                ampere(leakage_a),
                ohm_text(ohm),
                contacts.len()
            ),
            source: "UM10204, table 9: V_IH 0.7 V_DD and V_nH 0.2 V_DD".to_owned(),
        }
    });
    let stated = contacts.iter().filter_map(|c| {
        let limit = c.pull_up_ohm.as_ref().filter(|l| l.value.1.is_finite())?;
        Some(Bound {
            ohm: limit.value.1,
            working: format!("{} asks for at most {}", c.name, ohm_text(limit.value.1)),
            source: limit.source.clone(),
        })
    });
    by_rise
        .into_iter()
        .chain(by_leakage.filter(|b| b.ohm > 0.0))
        .chain(stated)
        .reduce(|a, b| if b.ohm < a.ohm { b } else { a })
}

/// A value of a preferred series near the middle of the window, what may stay
/// of the boards, and what else would help.
fn proposal(s: &Segment) -> Proposal {
    let low = s.lowest.as_ref().map(|b| b.ohm).filter(|o| o.is_finite());
    let high = s.largest.as_ref().map(|b| b.ohm);
    let mut out = Proposal::default();
    if let (Some(low), Some(high)) = (low, high) {
        out.ohm = preferred(low, high);
    } else if let Some(low) = low {
        // Without a rise time twice the lowest is a usual choice.
        out.ohm = preferred(low, 4.0 * low);
    }
    if let Some(low) = low.filter(|l| *l > 0.0) {
        let mut values: Vec<f64> = s.pull_ups.iter().map(|p| p.ohm.nominal).collect();
        values.extend(USUAL_BOARDS);
        values.sort_by(f64::total_cmp);
        values.dedup();
        out.boards = values
            .into_iter()
            .map(|ohm| (ohm, whole(ohm / low)))
            .collect();
    }
    out.keep = kept(s, low, high);
    if s.is_too_weak() == Some(true)
        && let Some(rise) = s.rise_s
    {
        out.slower = BusMode::ALL
            .iter()
            .map(|(_, m)| *m)
            .rfind(|m| *m < s.mode && two_wire::limits(*m).rise_s >= rise);
    }
    out.farad = s
        .fitted
        .map(|r| two_wire::limits(s.mode).rise_s / (two_wire::RISE_TIMES * r.high));
    out
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a small count, not negative"
)]
fn whole(x: f64) -> u32 {
    (x * (1.0 + 1e-9)).floor().clamp(0.0, 1e6) as u32
}

/// The value nearest to the geometric middle, of the coarsest series that has
/// one inside with a tenth to spare on either side, else of E24 inside at all.
fn preferred(low: f64, high: f64) -> Option<f64> {
    if !(low > 0.0 && high >= low) {
        return None;
    }
    let middle = (low * high).sqrt();
    let nearest = |series: Series, low: f64, high: f64| {
        series.between(low, high).into_iter().min_by(|a, b| {
            let far = |x: f64| (x / middle).max(middle / x);
            far(*a).total_cmp(&far(*b))
        })
    };
    nearest(Series::E6, 1.1 * low, 0.9 * high)
        .or_else(|| nearest(Series::E12, 1.1 * low, 0.9 * high))
        .or_else(|| nearest(Series::E24, low, high))
}

/// The largest set of the fitted resistors that lies within the window, where
/// all of them together do not.
fn kept(s: &Segment, low: Option<f64>, high: Option<f64>) -> Option<Vec<usize>> {
    let count = s.pull_ups.len();
    if !(2..=CHOICES).contains(&count) || s.is_too_strong() != Some(true) {
        return None;
    }
    let high = high.unwrap_or(f64::INFINITY);
    let low = low?;
    let mut best: Option<(u32, f64, Vec<usize>)> = None;
    for choice in 1_u32..(1 << count) {
        let chosen: Vec<usize> = (0..count).filter(|i| choice >> i & 1 == 1).collect();
        let ohms: Vec<Ohms> = chosen
            .iter()
            .filter_map(|i| s.pull_ups.get(*i).map(|p| p.ohm))
            .collect();
        let Some(all) = Ohms::parallel(&ohms) else {
            continue;
        };
        if all.low < low || all.high > high {
            continue;
        }
        let size = choice.count_ones();
        let is_better = best
            .as_ref()
            .is_none_or(|(n, ohm, _)| size > *n || (size == *n && all.nominal > *ohm));
        if is_better {
            best = Some((size, all.nominal, chosen));
        }
    }
    best.map(|(_, _, chosen)| chosen)
}

fn volt(v: f64) -> String {
    quantity::engineering(v, "V", 3)
}

fn ampere(a: f64) -> String {
    quantity::engineering(a, "A", 3)
}

fn ohm_text(ohm: f64) -> String {
    quantity::engineering(ohm, "Ω", 3)
}
