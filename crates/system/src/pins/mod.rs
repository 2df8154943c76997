//! Pins: who uses which, what a pin can do, and what is left.

pub mod assign;

use board::{Board, Link, LinkKind, PinSetting, Pull};
use finding::Span;
use parts::{Part, Pin};

pub use assign::{Assigned, Proposal};

/// Pins of all devices that have any.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pins {
    /// One for each device whose pins are known or used.
    pub devices: Vec<DevicePins>,
}

/// Pins of one device.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DevicePins {
    /// Position among the board's devices.
    pub device: usize,
    /// Every use, in the order of the file.
    pub uses: Vec<PinUse>,
    /// What does not fit.
    pub troubles: Vec<Trouble>,
    /// Pins that nothing uses.
    pub unused: Vec<String>,
    /// Pins for what the file leaves open.
    pub proposal: Proposal,
}

/// Which way a pin works for its user.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// It drives.
    Out,
    /// It listens.
    In,
    /// Both, as of a bus.
    Both,
    /// It measures.
    Analog,
    /// Not said.
    Other,
}

/// One use of a pin.
#[derive(Clone, Debug, PartialEq)]
pub struct PinUse {
    /// The pin.
    pub pin: String,
    /// Who uses it, such as `channel tank-1` or `link near`.
    pub user: String,
    /// Name of the channel or link alone; empty of a setting.
    pub subject: String,
    /// Which way.
    pub direction: Direction,
    /// Functions any of which would do; empty where any pin does.
    pub functions: Vec<String>,
    /// Who drives it, where it listens to a plain wire: device and pin.
    pub driven_by: Option<(usize, Option<String>)>,
    /// Where it is written.
    pub span: Span,
}

/// Something about a pin that does not fit.
#[derive(Clone, Debug, PartialEq)]
pub enum Trouble {
    /// Two users that cannot share it: positions among the uses.
    DoubleUse(usize, usize),
    /// One user drives it and another one, or the same, hears something else
    /// on it.
    Directions(usize, usize),
    /// Two drivers on a wire that leads to it.
    TwoDrivers(usize, usize),
    /// It cannot do what is asked of it.
    NoFunction {
        /// Position among the uses.
        usage: usize,
        /// What it can do.
        has: Vec<String>,
        /// Free pins that can.
        others: Vec<String>,
    },
    /// The carrier does not bring it out.
    NotExposed {
        /// Position among the uses.
        usage: usize,
        /// Free pins that it does bring out and that would do.
        others: Vec<String>,
    },
    /// The part lists pins, and this one not among them: nothing is known of
    /// it.
    Unlisted(usize),
    /// It only listens, and is to drive.
    InputOnly {
        /// Position among the uses.
        usage: usize,
        /// Free pins that would do.
        others: Vec<String>,
    },
    /// The controller reads it as it starts.
    Strapping(usize),
    /// The radio takes its converter's place.
    RadioShared(usize),
    /// A built-in resistor is left on where the converter measures.
    PullOnAnalog {
        /// Position among the uses.
        usage: usize,
        /// Which way.
        pull: Pull,
        /// Its smallest and largest resistance, Ω, where the part says so.
        ohm: Option<(f64, f64)>,
        /// Where the setting is written.
        span: Span,
    },
}

/// Units of a part that serve a kind of link: `i2c1`, `spi2`, those whose
/// name begins with the kind's word.
fn units(part: &Part, kind: LinkKind) -> Vec<String> {
    let word = kind.word();
    let mut found: Vec<String> = part
        .pins
        .iter()
        .flat_map(|p| &p.functions)
        .filter_map(|f| f.split_once('.'))
        .map(|(unit, _)| unit.to_owned())
        .filter(|unit| {
            unit.strip_prefix(word)
                .is_some_and(|rest| rest.chars().all(|c| c.is_ascii_digit()))
        })
        .collect();
    found.sort();
    found.dedup();
    found
}

/// Roles of a controller's pins on a link, and which way each works.
fn roles(kind: LinkKind) -> &'static [(&'static str, Direction)] {
    match kind {
        LinkKind::I2c => &[("clock", Direction::Both), ("data", Direction::Both)],
        LinkKind::Spi => &[
            ("clock", Direction::Out),
            ("out", Direction::Out),
            ("in", Direction::In),
        ],
        LinkKind::Uart => &[("send", Direction::Out), ("receive", Direction::In)],
        LinkKind::SingleWire => &[("data", Direction::Both)],
        LinkKind::Wire => &[],
    }
}

/// The unit that a link names behind its controller, if it names one.
fn unit_of(link: &Link, part: &Part) -> Option<String> {
    let named = link.controller.as_ref()?.pin.clone()?;
    units(part, link.kind).contains(&named).then_some(named)
}

/// Functions that would serve a role of a link.
fn functions(link: &Link, part: &Part, role: &str) -> Vec<String> {
    let of = |unit: &String| format!("{unit}.{role}");
    if let Some(unit) = unit_of(link, part) {
        return vec![of(&unit)];
    }
    let all = units(part, link.kind);
    // The pins of the other roles decide the unit, where they are right.
    let with_others = |unit: &&String| {
        link.pins
            .iter()
            .filter(|(r, _)| *r != role)
            .all(|(r, pin)| {
                part.pin(&pin.value)
                    .is_none_or(|p| p.functions.contains(&format!("{unit}.{r}")))
            })
    };
    let fitting: Vec<String> = all.iter().filter(with_others).map(of).collect();
    if fitting.is_empty() {
        all.iter().map(of).collect()
    } else {
        fitting
    }
}

/// Uses of a device's pins that the file states.
fn uses(board: &Board, device: usize, part: &Part) -> Vec<PinUse> {
    let mut found = Vec::new();
    for channel in &board.channels {
        let Some(input) = channel.input.as_ref().filter(|i| i.device == device) else {
            continue;
        };
        let Some(unit) = part.converters.get(input.unit) else {
            continue;
        };
        let names = input.channel.as_deref().unwrap_or("");
        let both = match unit.channel(names) {
            Some(c) => vec![c.pin.clone(), c.minus.clone()],
            None => names
                .split('-')
                .filter_map(|n| unit.channel(n))
                .map(|c| c.pin.clone())
                .collect(),
        };
        // Behind a multiplexer several channels share a pin.
        let shares = channel
            .chain
            .iter()
            .any(|s| s.kind == "multiplexer" || s.kind == "switch");
        for pin in both.into_iter().filter(|p| !p.is_empty()) {
            found.push(PinUse {
                pin,
                user: format!("channel {}", channel.name),
                subject: channel.name.clone(),
                direction: if shares {
                    Direction::Other
                } else {
                    Direction::Analog
                },
                functions: Vec::new(),
                driven_by: None,
                span: input.span,
            });
        }
    }
    for link in &board.links {
        link_uses(link, device, part, &mut found);
    }
    for setting in board.pins.iter().filter(|s| s.device == device) {
        if let Some(usage) = &setting.usage {
            found.push(PinUse {
                pin: setting.pin.clone(),
                user: usage.value.clone(),
                subject: String::new(),
                direction: Direction::Other,
                functions: Vec::new(),
                driven_by: None,
                span: setting.span,
            });
        }
    }
    found
}

/// Whether what stands behind a point is a pin: of a translator it may be one
/// of its sides.
fn is_pin(part: &Part, written: &str) -> bool {
    !(part.pins.is_empty() && part.kind == "logic" && matches!(written, "a" | "b"))
}

fn link_uses(link: &Link, device: usize, part: &Part, found: &mut Vec<PinUse>) {
    let of = |pin: &str, direction, functions, span| PinUse {
        pin: pin.to_owned(),
        user: format!("link {}", link.name),
        subject: link.name.clone(),
        direction,
        functions,
        driven_by: None,
        span,
    };
    if link.controller.as_ref().is_some_and(|c| c.device == device) {
        for (role, direction) in roles(link.kind) {
            if let Some(pin) = link.pins.get(*role) {
                let wanted = functions(link, part, role);
                found.push(of(&pin.value, *direction, wanted, pin.span));
            }
        }
        for select in link.members.iter().filter_map(|m| m.select.as_ref()) {
            found.push(of(&select.value, Direction::Out, Vec::new(), select.span));
        }
    }
    if let Some(driver) = link.driver.as_ref().filter(|d| d.device == device)
        && let Some(pin) = &driver.pin
        && is_pin(part, pin)
    {
        found.push(of(pin, Direction::Out, Vec::new(), driver.span));
    }
    for receiver in link.receivers.iter().filter(|r| r.device == device) {
        if let Some(pin) = &receiver.pin
            && is_pin(part, pin)
        {
            let mut usage = of(pin, Direction::In, Vec::new(), receiver.span);
            usage.driven_by = link.driver.as_ref().map(|d| (d.device, d.pin.clone()));
            found.push(usage);
        }
    }
}

fn has(pin: &Pin, attribute: &str) -> bool {
    pin.attributes.iter().any(|a| a == attribute)
}

/// Pins of the part that nothing uses and that could serve a use.
#[must_use]
pub fn free_for(part: &Part, d: &DevicePins, usage: &PinUse) -> Vec<String> {
    part.pins
        .iter()
        .filter(|p| d.unused.contains(&p.name) && serves(p, usage))
        .map(|p| p.name.clone())
        .collect()
}

/// Whether a pin could serve a use.
fn serves(pin: &Pin, usage: &PinUse) -> bool {
    let functions =
        usage.functions.is_empty() || usage.functions.iter().any(|f| pin.functions.contains(f));
    let drives = matches!(usage.direction, Direction::Out | Direction::Both);
    functions && !(drives && has(pin, "input-only"))
}

/// How two uses of one pin go together.
fn clash(a: &PinUse, b: &PinUse, (i, k): (usize, usize)) -> Option<Trouble> {
    use Direction::{In, Other, Out};
    match (a.direction, b.direction) {
        // One pin may drive several wires, and several channels may share one
        // behind a multiplexer.
        (Out, Out) if a.functions.is_empty() && b.functions.is_empty() => None,
        (Other, Other) if !a.subject.is_empty() && !b.subject.is_empty() => None,
        (In, In) if a.driven_by.is_some() && b.driven_by.is_some() => {
            (a.driven_by != b.driven_by).then_some(Trouble::TwoDrivers(i, k))
        }
        (Out, In) | (In, Out) => Some(Trouble::Directions(i, k)),
        _ => Some(Trouble::DoubleUse(i, k)),
    }
}

/// What pins of every device are used for, and what does not fit.
#[must_use]
pub fn analyse(board: &Board) -> Pins {
    let mut devices = Vec::new();
    for (device, d) in board.devices.iter().enumerate() {
        let part = &d.part;
        let uses = uses(board, device, part);
        if uses.is_empty() && part.pins.is_empty() {
            continue;
        }
        let is_used = |pin: &str| uses.iter().any(|u| u.pin == pin);
        let free = |usage: &PinUse| -> Vec<String> {
            part.pins
                .iter()
                .filter(|p| !is_used(&p.name) && serves(p, usage))
                .map(|p| p.name.clone())
                .collect()
        };
        let mut troubles = Vec::new();
        for (i, a) in uses.iter().enumerate() {
            for (k, b) in uses.iter().enumerate().skip(i + 1) {
                if a.pin == b.pin {
                    troubles.extend(clash(a, b, (i, k)));
                }
            }
        }
        for (i, usage) in uses.iter().enumerate() {
            fits(board, (device, part), (i, usage), &free, &mut troubles);
        }
        let proposal = assign::propose(board, device, part, &uses);
        let unused = part
            .pins
            .iter()
            .map(|p| p.name.clone())
            .filter(|p| !is_used(p) && !proposal.assigned.iter().any(|a| a.pin == *p))
            .collect();
        devices.push(DevicePins {
            device,
            uses,
            troubles,
            unused,
            proposal,
        });
    }
    Pins { devices }
}

fn fits(
    board: &Board,
    (device, part): (usize, &Part),
    (i, usage): (usize, &PinUse),
    free: &dyn Fn(&PinUse) -> Vec<String>,
    troubles: &mut Vec<Trouble>,
) {
    if let Some(pin) = part.pin(&usage.pin) {
        let drives = matches!(usage.direction, Direction::Out | Direction::Both);
        if !usage.functions.is_empty() && !usage.functions.iter().any(|f| pin.functions.contains(f))
        {
            troubles.push(Trouble::NoFunction {
                usage: i,
                has: pin.functions.clone(),
                others: free(usage),
            });
        }
        if drives && has(pin, "input-only") {
            troubles.push(Trouble::InputOnly {
                usage: i,
                others: free(usage),
            });
        }
        if has(pin, "strapping") || has(pin, "boot") {
            troubles.push(Trouble::Strapping(i));
        }
        if usage.direction == Direction::Analog && has(pin, "radio-shared") {
            troubles.push(Trouble::RadioShared(i));
        }
    } else if !part.exposes.is_empty()
        && !part.pins.is_empty()
        && !part.exposes.contains(&usage.pin)
    {
        troubles.push(Trouble::NotExposed {
            usage: i,
            others: free(usage),
        });
    } else if !part.pins.is_empty() && usage.direction != Direction::Analog {
        troubles.push(Trouble::Unlisted(i));
    }
    if usage.direction != Direction::Analog {
        return;
    }
    let setting = |s: &&PinSetting| s.device == device && s.pin == usage.pin;
    if let Some(pull) = board
        .pins
        .iter()
        .find(setting)
        .and_then(|s| s.pull.as_ref())
        .filter(|p| p.value != Pull::Off)
    {
        let name = match pull.value {
            Pull::Down => "pull-down",
            _ => "pull-up",
        };
        let ohm = part.figure(name).and_then(|f| {
            let least = f.min.or(f.typ).or(f.max)?;
            Some((least, f.max.or(f.typ).unwrap_or(least)))
        });
        troubles.push(Trouble::PullOnAnalog {
            usage: i,
            pull: pull.value,
            ohm,
            span: pull.span,
        });
    }
}
