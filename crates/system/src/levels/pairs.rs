//! Which driver meets which receiver on a link.

use board::{Board, Link, LinkKind, Port};
use quantity::Valued;

use super::ends::{Fed, leakage_a};
use super::line::{End, Feed, Line, Ohms, Volts};
use super::supply::{root, volts};

/// One driver, one receiver, and the line between them.
pub struct Meeting<'a> {
    /// Who drives.
    pub driver: End<'a>,
    /// Who listens.
    pub receiver: End<'a>,
    /// Positions of both among the board's devices.
    pub devices: (usize, usize),
    /// Lines that are alike, such as `clock, data`.
    pub lines: &'static str,
    /// How many they are.
    pub count: u32,
    /// What lies between.
    pub line: Line,
}

/// The pairs of a link, and what keeps others from being judged.
#[derive(Default)]
pub struct Meetings<'a> {
    /// Those that can be judged.
    pub all: Vec<Meeting<'a>>,
    /// Why others cannot, a sentence each.
    pub without: Vec<String>,
}

/// Limits of a resistor, Ω.
#[must_use]
pub fn ohms(v: &Valued) -> Ohms {
    let (low, high) = v
        .tolerance
        .as_ref()
        .map_or((v.nominal, v.nominal), |t| t.limits(v.nominal));
    Ohms {
        low,
        nominal: v.nominal,
        high,
    }
}

/// A rail as a feed of ends.
#[must_use]
pub fn feed(board: &Board, rail: usize) -> Option<Feed> {
    let rail = root(board, rail);
    Some(Feed {
        name: board.rails.get(rail)?.name.clone(),
        volt: volts(board, rail)?,
    })
}

/// The rail that a link's pull-ups go to: stated, else the controller's, else
/// that of its first device that has one.
#[must_use]
pub fn rail_of(board: &Board, link: &Link) -> Option<usize> {
    let of = |port: &Port| board.devices.get(port.device).and_then(|d| d.supply);
    link.supply
        .as_ref()
        .map(|s| s.value)
        .or_else(|| link.controller.as_ref().and_then(of))
        .or_else(|| link.members.iter().find_map(|m| of(&m.port)))
        .or_else(|| link.driver.as_ref().and_then(of))
}

/// All pull-ups of one line in parallel: those of the link and those on the
/// boards of its devices.
#[must_use]
pub fn pull_ups(link: &Link) -> Option<Ohms> {
    let all: Vec<Ohms> = link
        .pull_ups
        .iter()
        .chain(link.members.iter().filter_map(|m| m.pull_up.as_ref()))
        .map(|v| ohms(&v.value))
        .collect();
    Ohms::parallel(&all)
}

/// Whether a device is a single transistor that joins two segments.
#[must_use]
pub fn is_switch(board: &Board, device: usize) -> bool {
    board
        .devices
        .get(device)
        .is_some_and(|d| d.part.kind == "transistor")
}

/// On-resistance of a transistor for a worst case, Ω.
#[must_use]
pub fn on_ohm(part: &parts::Part) -> f64 {
    part.figure("on-resistance")
        .and_then(|f| f.max.or(f.typ).or(f.min))
        .unwrap_or(0.0)
}

/// Collects the pairs of one link.
struct Gather<'a> {
    board: &'a Board,
    link: &'a Link,
    found: Meetings<'a>,
}

impl<'a> Gather<'a> {
    /// The end that a port is; `rail` feeds a device that names none, and is
    /// the rail of the other side for one with two.
    fn end(
        &mut self,
        (port, other): (&Port, &Port),
        pin: Option<&str>,
        rail: Option<usize>,
        drives: bool,
    ) -> Option<End<'a>> {
        let device = self.board.devices.get(port.device)?;
        let shown = pin.or(port.pin.as_deref());
        let name = match shown {
            Some(pin) => format!("{}.{pin}", device.name),
            None => device.name.clone(),
        };
        let supply = device.supply.or(rail).and_then(|r| feed(self.board, r));
        let Some(supply) = supply else {
            let why = format!("{} names no supply", device.name);
            if !self.found.without.contains(&why) {
                self.found.without.push(why);
            }
            return None;
        };
        let supply_b = device.supply_b.and_then(|r| feed(self.board, r));
        // Of a translator the side is named, or follows from the rail of the
        // link; else it is driven at side A and drives side B.
        let is_side_b = supply_b.is_some()
            && match port.pin.as_deref() {
                Some("b") => true,
                Some("a") => false,
                _ => {
                    let far = self.board.devices.get(other.device);
                    let line = match self.link.kind {
                        LinkKind::Wire => self
                            .link
                            .supply
                            .as_ref()
                            .map(|s| s.value)
                            .or_else(|| far.and_then(|d| d.supply)),
                        _ => rail_of(self.board, self.link),
                    };
                    let stated = line.map(|r| root(self.board, r));
                    let a = device.supply.map(|r| root(self.board, r));
                    let b = device.supply_b.map(|r| root(self.board, r));
                    match stated {
                        Some(s) if a != b && Some(s) == b => true,
                        Some(s) if a != b && Some(s) == a => false,
                        _ => drives,
                    }
                }
            };
        let is_tolerant = shown
            .and_then(|pin| device.part.pin(pin))
            .is_some_and(|p| p.attributes.iter().any(|a| a == "5v-tolerant"));
        Some(End {
            name,
            part: &device.part,
            supply,
            supply_b,
            is_side_b,
            is_tolerant,
        })
    }

    /// Leakage of every input on the line but the driver's, A.
    fn leakage(&self, ports: &[&Port], driver: usize) -> f64 {
        ports
            .iter()
            .filter(|p| p.device != driver)
            .filter_map(|p| self.board.devices.get(p.device))
            .map(|d| {
                // Leakage limits do not follow the supply.
                let fed = Fed {
                    supply_v: 0.0,
                    supply_b_v: 0.0,
                    is_side_b: false,
                    is_tolerant: false,
                };
                leakage_a(&d.part, &fed)
            })
            .sum()
    }

    fn line(&self, leakage_a: f64) -> Line {
        let pull = pull_ups(self.link).and_then(|o| {
            let rail = rail_of(self.board, self.link)?;
            Some((o, feed(self.board, rail)?))
        });
        Line {
            series: self.link.series_ohm.as_ref().map(|v| ohms(&v.value)),
            divider: self
                .link
                .divider
                .as_ref()
                .map(|(t, b)| (ohms(&t.value), ohms(&b.value))),
            pull_up: pull,
            is_open_drain: self.link.kind.is_open_drain(),
            switch: None,
            beyond: Vec::new(),
            leakage_a,
            sink_a: self.link.sink_a.as_ref().map(|a| a.value),
        }
    }

    fn push(
        &mut self,
        (from, to): (&Port, &Port),
        pins: (Option<&str>, Option<&str>),
        (lines, count): (&'static str, u32),
        line: Line,
    ) {
        let rail = rail_of(self.board, self.link);
        let driver = self.end((from, to), pins.0, rail, true);
        let receiver = self.end((to, from), pins.1, rail, false);
        let (Some(driver), Some(receiver)) = (driver, receiver) else {
            return;
        };
        let mut line = line;
        // A divider stands on the lines that come from the higher rail.
        if self.link.kind != LinkKind::Wire
            && driver.own().volt.nominal <= receiver.own().volt.nominal
        {
            line.divider = None;
        }
        self.found.all.push(Meeting {
            driver,
            receiver,
            devices: (from.device, to.device),
            lines,
            count,
            line,
        });
    }
}

/// Devices that join other segments to a link: translators of the links that
/// hang behind it, and its own.
fn joints(board: &Board, index: usize) -> Vec<&Port> {
    let own = board
        .links
        .get(index)
        .and_then(|l| l.via.as_ref())
        .map(|v| &v.device);
    let behind = board
        .links
        .iter()
        .filter_map(|l| l.via.as_ref())
        .filter(|v| v.from.value == index)
        .map(|v| &v.device);
    own.into_iter().chain(behind).collect()
}

/// Pull-ups of the segments that single transistors join to this one, each
/// with the resistance of its transistor.
fn beyond(board: &Board, index: usize) -> Vec<(f64, Ohms, Feed)> {
    let joined = |link: &Link, device: usize| {
        if !is_switch(board, device) {
            return None;
        }
        let on = on_ohm(&board.devices.get(device)?.part);
        Some((on, pull_ups(link)?, feed(board, rail_of(board, link)?)?))
    };
    let before = board.links.get(index).and_then(|l| {
        let via = l.via.as_ref()?;
        joined(board.links.get(via.from.value)?, via.device.device)
    });
    let behind = board.links.iter().filter_map(|l| {
        let via = l.via.as_ref().filter(|v| v.from.value == index)?;
        joined(l, via.device.device)
    });
    before.into_iter().chain(behind).collect()
}

/// Who drives a segment from the near side of a translator: the controller of
/// the link from which it hangs, or of the one before that.
fn controller_before(board: &Board, index: usize) -> Option<(usize, &Port)> {
    let mut at = index;
    for _ in 0..board.links.len() {
        let link = board.links.get(at)?;
        if let Some(c) = &link.controller {
            return Some((at, c));
        }
        at = link.via.as_ref()?.from.value;
    }
    None
}

/// Every driver and receiver that meet on a link.
#[must_use]
pub fn meetings(board: &Board, index: usize) -> Meetings<'_> {
    let Some(link) = board.links.get(index) else {
        return Meetings::default();
    };
    let mut g = Gather {
        board,
        link,
        found: Meetings::default(),
    };
    match link.kind {
        LinkKind::I2c => bus(&mut g, index, ("clock, data", 2)),
        LinkKind::SingleWire => bus(&mut g, index, ("data", 1)),
        LinkKind::Spi => both_ways(&mut g, index, ("clock, out, select", 3), ("in", 1)),
        LinkKind::Uart => both_ways(&mut g, index, ("send", 1), ("receive", 1)),
        LinkKind::Wire => wire(&mut g),
    }
    g.found
}

fn wire(g: &mut Gather<'_>) {
    let link = g.link;
    let Some(driver) = &link.driver else {
        return;
    };
    let ports: Vec<&Port> = link.receivers.iter().collect();
    let mut line = g.line(g.leakage(&ports, driver.device));
    // Behind a single transistor a wire is pulled down through it and pulled
    // up by its own resistor alone.
    if let Some(via) = link
        .via
        .as_ref()
        .filter(|v| is_switch(g.board, v.device.device))
    {
        let on = g
            .board
            .devices
            .get(via.device.device)
            .map_or(0.0, |d| on_ohm(&d.part));
        let near_pull = g
            .board
            .links
            .get(via.from.value)
            .and_then(|near| Some((pull_ups(near)?, feed(g.board, rail_of(g.board, near)?)?)));
        line.is_open_drain = true;
        line.switch = Some((on, near_pull));
    }
    for to in &link.receivers {
        g.push((driver, to), (None, None), ("wire", 1), line.clone());
    }
}

/// The first pin of the link's roles, for showing and its attributes: one that
/// does not tolerate 5 V is named before one that does.
fn pin_of<'l>(g: &Gather<'_>, link: &'l Link, roles: &[&str]) -> Option<&'l str> {
    let part = &g.board.devices.get(link.controller.as_ref()?.device)?.part;
    let pins = || {
        roles
            .iter()
            .filter_map(|r| link.pins.get(*r))
            .map(|p| p.value.as_str())
    };
    let strict = |pin: &&str| {
        part.pin(pin)
            .is_none_or(|p| !p.attributes.iter().any(|a| a == "5v-tolerant"))
    };
    pins().find(strict).or_else(|| pins().next())
}

fn bus(g: &mut Gather<'_>, index: usize, lines: (&'static str, u32)) {
    let (board, link) = (g.board, g.link);
    let joints = joints(board, index);
    let mut ports: Vec<&Port> = link.controller.iter().collect();
    ports.extend(link.members.iter().map(|m| &m.port));
    ports.extend(joints.iter().filter(|p| !is_switch(board, p.device)));
    let head = usize::from(link.controller.is_some());
    let pin = pin_of(g, link, &["clock", "data"]);
    let own_controller = link.controller.as_ref();
    let pin_for = |p: &Port| own_controller.filter(|c| c.device == p.device).and(pin);
    for (i, from) in ports.iter().enumerate() {
        for (k, to) in ports.iter().enumerate() {
            // Devices listen to the controller and it to them; where there is
            // none, everybody to everybody.
            let meet = i != k && (head == 0 || i < head || k < head);
            if meet {
                let mut line = g.line(g.leakage(&ports, from.device));
                line.beyond = beyond(board, index);
                g.push((from, to), (pin_for(from), pin_for(to)), lines, line);
            }
        }
    }
    // Through a transistor: the controller before it and the devices behind.
    let Some(via) = link
        .via
        .as_ref()
        .filter(|v| is_switch(board, v.device.device))
    else {
        return;
    };
    let Some((near, controller)) = controller_before(board, index) else {
        return;
    };
    let Some(near_link) = board.links.get(near) else {
        return;
    };
    let on = board
        .devices
        .get(via.device.device)
        .map_or(0.0, |d| on_ohm(&d.part));
    let near_pull =
        pull_ups(near_link).and_then(|o| Some((o, feed(board, rail_of(board, near_link)?)?)));
    let pin = pin_of(g, near_link, &["clock", "data"]);
    for member in &link.members {
        let mut there = g.line(g.leakage(&ports, controller.device));
        there.switch = Some((on, near_pull.clone()));
        let mut back = there.clone();
        back.switch = Some((on, there.pull_up.clone()));
        back.pull_up = near_pull.clone();
        g.push((controller, &member.port), (pin, None), lines, there);
        g.push((&member.port, controller), (None, pin), lines, back);
    }
}

fn both_ways(
    g: &mut Gather<'_>,
    index: usize,
    there: (&'static str, u32),
    back: (&'static str, u32),
) {
    let (board, link) = (g.board, g.link);
    let joints = joints(board, index);
    let behind: Vec<&Port> = joints
        .iter()
        .copied()
        .filter(|p| !is_switch(board, p.device))
        .collect();
    let own_joint = link
        .via
        .as_ref()
        .map(|v| &v.device)
        .filter(|p| !is_switch(board, p.device));
    let head = link.controller.as_ref().or(own_joint);
    let (out, input) = match link.kind {
        LinkKind::Spi => (pin_of(g, link, &["clock", "out"]), pin_of(g, link, &["in"])),
        _ => (pin_of(g, link, &["send"]), pin_of(g, link, &["receive"])),
    };
    let mut members: Vec<&Port> = link.members.iter().map(|m| &m.port).collect();
    members.extend(
        behind
            .iter()
            .copied()
            .filter(|p| head.is_none_or(|h| h.device != p.device)),
    );
    // Behind a single transistor a push-pull line is pulled down through it
    // and pulled up on either side.
    if let Some(via) = link
        .via
        .as_ref()
        .filter(|v| is_switch(board, v.device.device))
        && let Some((near, controller)) = controller_before(board, index)
        && let Some(near_link) = board.links.get(near)
    {
        let on = board
            .devices
            .get(via.device.device)
            .map_or(0.0, |d| on_ohm(&d.part));
        let near_pull =
            pull_ups(near_link).and_then(|o| Some((o, feed(board, rail_of(board, near_link)?)?)));
        for member in &members {
            let mut line = g.line(g.leakage(&members, controller.device));
            line.is_open_drain = true;
            line.switch = Some((on, near_pull.clone()));
            let mut reverse = line.clone();
            reverse.switch = Some((on, line.pull_up.clone()));
            reverse.pull_up = near_pull.clone();
            g.push((controller, member), (out, None), there, line);
            g.push((member, controller), (None, input), back, reverse);
        }
        return;
    }
    match head {
        Some(head) => {
            for member in &members {
                let line = g.line(g.leakage(&members, head.device));
                g.push((head, member), (out, None), there, line.clone());
                g.push((member, head), (None, input), back, line);
            }
        }
        None => {
            for from in &members {
                for to in members.iter().filter(|t| t.device != from.device) {
                    let line = g.line(g.leakage(&[to], from.device));
                    g.push((from, to), (None, None), there, line);
                }
            }
        }
    }
}

/// What a rail would have to be, with the tolerance of `like`.
#[must_use]
pub fn scaled(like: Volts, nominal: f64) -> Volts {
    let share = if like.nominal > 0.0 {
        nominal / like.nominal
    } else {
        1.0
    };
    Volts {
        low: like.low * share,
        nominal,
        high: like.high * share,
    }
}
