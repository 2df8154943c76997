//! How often devices are read, and what that asks of them and of their bus.

use board::{Board, Link, LinkKind, Member};
use finding::Span;
use parts::{Figure, Part};

use super::addressing::trunk;
use super::segment::{self, Said, cited};

/// Bits of a byte on an asynchronous line: start, eight, stop.
const ASYNCHRONOUS_BITS: f64 = 10.0;

/// One device that is read again and again.
#[derive(Clone, Debug, PartialEq)]
pub struct Poll {
    /// Position of the link.
    pub link: usize,
    /// Position of the device.
    pub device: usize,
    /// Its name.
    pub name: String,
    /// Readings per second; none where the file does not say.
    pub rate_hz: Option<f64>,
    /// The longest time that the part needs for a number, s.
    pub conversion_s: Option<Said<f64>>,
    /// A reading restarts its conversion.
    pub is_restarted: bool,
    /// Bytes of a reading.
    pub bytes: Option<f64>,
    /// Time of a reading on the bus, s.
    pub on_bus_s: Option<f64>,
    /// Where it is written.
    pub span: Span,
}

impl Poll {
    /// The most readings a second that each give a number of their own.
    #[must_use]
    pub fn fastest_hz(&self) -> Option<f64> {
        let s = self.conversion_s.as_ref()?.value;
        (s > 0.0).then(|| 1.0 / s)
    }

    /// Whether it is read faster than it makes numbers.
    #[must_use]
    pub fn is_too_fast(&self) -> bool {
        match (self.rate_hz, self.fastest_hz()) {
            (Some(rate), Some(most)) => rate > most * (1.0 + 1e-9),
            _ => false,
        }
    }
}

/// Devices that share one stored number of their driver.
#[derive(Clone, Debug, PartialEq)]
pub struct SharedCache {
    /// Position of the link.
    pub link: usize,
    /// Their part.
    pub part: String,
    /// Their names.
    pub who: Vec<String>,
    /// The time for which the driver keeps the number, as far as the part's
    /// conversion says, s.
    pub conversion_s: Option<Said<f64>>,
    /// Where they are written.
    pub spans: Vec<Span>,
}

/// All readings of one link together.
#[derive(Clone, Debug, PartialEq)]
pub struct Occupied {
    /// Position of the link.
    pub link: usize,
    /// Share of the time in which the bus is busy.
    pub share: f64,
    /// What makes it up: device, readings a second, time of one, s.
    pub of: Vec<(String, f64, f64)>,
}

/// Polling of a board.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Polling {
    /// Every device on a bus.
    pub polls: Vec<Poll>,
    /// Devices that share a stored number.
    pub caches: Vec<SharedCache>,
    /// How busy each bus is, where readings and their bytes are known.
    pub occupied: Vec<Occupied>,
}

/// The longest conversion that a part names, for the part or for one of its
/// quantities.
#[must_use]
pub fn conversion(part: &Part) -> Option<Said<f64>> {
    let longest = |f: &Figure| {
        let points = f.points.iter().map(|(_, y)| *y);
        f.max
            .or(f.typ)
            .or(f.min)
            .into_iter()
            .chain(points)
            .reduce(f64::max)
    };
    part.figures
        .get("conversion-time")
        .into_iter()
        .chain(
            part.measures
                .iter()
                .filter_map(|m| m.figures.get("conversion-time")),
        )
        .filter_map(|f| Some(Said::new(longest(f)?, cited(part, f))))
        .reduce(|a, b| if b.value > a.value { b } else { a })
        .or_else(|| fastest_setting(part))
}

/// The time between numbers at the highest output rate that can be set, for
/// parts that convert by themselves.
fn fastest_setting(part: &Part) -> Option<Said<f64>> {
    part.measures
        .iter()
        .filter_map(|m| {
            let f = m.figures.get("output-rate")?;
            let hz = f.max.or(f.typ).filter(|hz| *hz > 0.0)?;
            Some(Said::new(1.0 / hz, cited(part, f)))
        })
        .reduce(|a, b| if b.value > a.value { b } else { a })
}

/// Bytes of a reading where the file does not say: those of the largest
/// number that the part puts out.
fn usual_bytes(part: &Part) -> Option<f64> {
    part.measures
        .iter()
        .filter_map(|m| m.figures.get("bits")?.typical())
        .reduce(f64::max)
        .map(|bits| (bits / 8.0).ceil())
}

fn poll(board: &Board, position: usize, link: &Link, member: &Member) -> Option<Poll> {
    let device = board.devices.get(member.port.device)?;
    let rate = member.poll_hz.as_ref().or(link.poll_hz.as_ref());
    let stated = member
        .bytes
        .as_ref()
        .or(link.bytes.as_ref())
        .map(|b| f64::from(b.value));
    // A byte of address with the direction, one that names a register, and the
    // address again; on other buses the command alone.
    let around = match link.kind {
        LinkKind::I2c => 3.0,
        LinkKind::Spi => 1.0,
        _ => 0.0,
    };
    let bytes = stated.or_else(|| usual_bytes(&device.part).map(|b| b + around));
    let clock = segment::stated(board, position, |l| l.clock_hz.as_ref().map(|c| c.value));
    let bits = bytes.map(|b| match link.kind {
        // Each byte with its acknowledgement; start, second start and stop.
        LinkKind::I2c => 9.0 * b + 3.0,
        LinkKind::Uart => ASYNCHRONOUS_BITS * b,
        _ => 8.0 * b,
    });
    Some(Poll {
        link: position,
        device: member.port.device,
        name: device.name.clone(),
        rate_hz: rate.map(|r| r.value),
        conversion_s: conversion(&device.part),
        is_restarted: device.part.habits.iter().any(|h| h == "read-restarts"),
        bytes,
        on_bus_s: bits.zip(clock).map(|(b, hz)| b / hz),
        span: rate.map_or(member.span, |r| r.span),
    })
}

/// What the polling of a board asks.
#[must_use]
pub fn analyse(board: &Board) -> Polling {
    let mut out = Polling::default();
    for (position, link) in board.links.iter().enumerate() {
        let polls: Vec<Poll> = link
            .members
            .iter()
            .filter_map(|m| poll(board, position, link, m))
            .collect();
        // What passes a translator takes its time on both sides.
        let carrier = trunk(board, position);
        for p in &polls {
            let (Some(hz), Some(s)) = (p.rate_hz, p.on_bus_s) else {
                continue;
            };
            let one = (p.name.clone(), hz, s);
            match out.occupied.iter_mut().find(|o| o.link == carrier) {
                Some(o) => {
                    o.share += hz * s;
                    o.of.push(one);
                }
                None => out.occupied.push(Occupied {
                    link: carrier,
                    share: hz * s,
                    of: vec![one],
                }),
            }
        }
        out.caches.extend(caches(board, position, link));
        out.polls.extend(polls);
    }
    out
}

fn caches(board: &Board, position: usize, link: &Link) -> Vec<SharedCache> {
    let mut found: Vec<SharedCache> = Vec::new();
    for member in link.members.iter().filter(|m| m.shared_cache) {
        let Some(device) = board.devices.get(member.port.device) else {
            continue;
        };
        let of_part = found.iter_mut().find(|c| c.part == device.part.id);
        match of_part {
            Some(cache) => {
                cache.who.push(device.name.clone());
                cache.spans.push(member.span);
            }
            None => found.push(SharedCache {
                link: position,
                part: device.part.id.clone(),
                who: vec![device.name.clone()],
                conversion_s: conversion(&device.part),
                spans: vec![member.span],
            }),
        }
    }
    found.retain(|c| c.who.len() > 1);
    found
}
