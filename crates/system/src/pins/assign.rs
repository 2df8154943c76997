//! Pins for what the file leaves open: a matching of needs to pins.

use board::Board;
use parts::Part;

use super::{Direction, PinUse, functions, roles, serves, unit_of, units};

/// Pins proposed for what names none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proposal {
    /// One for each need that found a pin.
    pub assigned: Vec<Assigned>,
    /// Needs that found none, in words.
    pub without: Vec<String>,
}

/// A pin proposed.
#[derive(Clone, Debug, PartialEq)]
pub struct Assigned {
    /// Who needs it, such as `link near`.
    pub user: String,
    /// Name of the channel or link alone.
    pub subject: String,
    /// Its role, such as `clock`; the converter of a channel.
    pub role: String,
    /// The pin.
    pub pin: String,
    /// Function it takes there; empty where any pin does.
    pub function: String,
}

/// Something that needs one pin.
struct Need {
    usage: PinUse,
    role: String,
    /// Group of needs that must be served by one unit of the controller.
    group: usize,
}

/// Most combinations of units that are tried.
const TRIES: usize = 256;

/// Proposes pins of a device for what the board leaves open.
///
/// Needs and pins are matched by augmenting paths, so that a need is left
/// without a pin only where no other distribution serves more of them. Pins
/// without special attributes are looked at first.
#[must_use]
pub fn propose(board: &Board, device: usize, part: &Part, uses: &[PinUse]) -> Proposal {
    let mut needs: Vec<Need> = Vec::new();
    // For each group the units it may be served by.
    let mut groups: Vec<Vec<String>> = Vec::new();
    for link in &board.links {
        if link.controller.as_ref().is_none_or(|c| c.device != device) {
            continue;
        }
        let candidates = match unit_of(link, part) {
            Some(unit) => vec![unit],
            None => units(part, link.kind),
        };
        let open: Vec<_> = roles(link.kind)
            .iter()
            .filter(|(role, _)| !link.pins.contains_key(*role))
            .collect();
        // A part that lists no such unit can say nothing of its pins.
        if open.is_empty() || candidates.is_empty() {
            continue;
        }
        // What the file names for the other roles decides the unit.
        let stays = |unit: &String| {
            link.pins.iter().all(|(role, pin)| {
                part.pin(&pin.value)
                    .is_none_or(|p| p.functions.contains(&format!("{unit}.{role}")))
            })
        };
        groups.push(candidates.into_iter().filter(stays).collect());
        for (role, direction) in open {
            needs.push(Need {
                usage: PinUse {
                    pin: String::new(),
                    user: format!("link {}", link.name),
                    subject: link.name.clone(),
                    direction: *direction,
                    functions: functions(link, part, role),
                    driven_by: None,
                    span: link.span,
                },
                role: (*role).to_owned(),
                group: groups.len() - 1,
            });
        }
    }
    for channel in &board.channels {
        let Some(input) = channel.input.as_ref().filter(|i| i.device == device) else {
            continue;
        };
        let Some(unit) = part.converters.get(input.unit) else {
            continue;
        };
        if input.channel.is_some() || unit.channels.is_empty() || unit.differential {
            continue;
        }
        groups.push(vec![unit.name.clone()]);
        needs.push(Need {
            usage: PinUse {
                pin: String::new(),
                user: format!("channel {}", channel.name),
                subject: channel.name.clone(),
                direction: Direction::Analog,
                functions: unit
                    .channels
                    .iter()
                    .filter(|c| !c.pin.is_empty())
                    .map(|c| format!("{}.{}", unit.name, c.name))
                    .collect(),
                driven_by: None,
                span: input.span,
            },
            role: unit.name.clone(),
            group: groups.len() - 1,
        });
    }
    let mut best: Option<(usize, Vec<Option<usize>>, Vec<String>)> = None;
    let mut choice = vec![0_usize; groups.len()];
    for _ in 0..TRIES {
        let chosen: Vec<String> = groups
            .iter()
            .zip(&choice)
            .map(|(g, &i)| g.get(i).cloned().unwrap_or_default())
            .collect();
        let matched = matching(part, uses, &needs, &chosen);
        let served = matched.iter().flatten().count();
        if best.as_ref().is_none_or(|(most, ..)| served > *most) {
            best = Some((served, matched, chosen));
        }
        if served == needs.len() || !next(&mut choice, &groups) {
            break;
        }
    }
    let mut proposal = Proposal::default();
    let Some((_, matched, chosen)) = best else {
        return proposal;
    };
    for (need, pin) in needs.iter().zip(matched) {
        let name = pin.and_then(|p| part.pins.get(p));
        match name {
            Some(pin) => {
                let unit = chosen.get(need.group).map_or("", String::as_str);
                let function = wanted(need, unit)
                    .find(|f| pin.functions.contains(f))
                    .unwrap_or_default();
                proposal.assigned.push(Assigned {
                    user: need.usage.user.clone(),
                    subject: need.usage.subject.clone(),
                    role: need.role.clone(),
                    pin: pin.name.clone(),
                    function,
                });
            }
            None => proposal
                .without
                .push(format!("{} of {}", need.role, need.usage.user)),
        }
    }
    proposal
}

/// The next combination of units, as an odometer counts.
fn next(choice: &mut [usize], groups: &[Vec<String>]) -> bool {
    for (digit, group) in choice.iter_mut().zip(groups) {
        *digit += 1;
        if *digit < group.len() {
            return true;
        }
        *digit = 0;
    }
    false
}

/// Functions that serve a need where its unit is chosen.
fn wanted(need: &Need, unit: &str) -> impl Iterator<Item = String> {
    let prefix = format!("{unit}.");
    need.usage
        .functions
        .iter()
        .filter(move |f| f.starts_with(&prefix))
        .cloned()
}

/// For each need the pin that serves it, as many as can be at once (Kuhn's
/// algorithm for a matching of two sets).
fn matching(part: &Part, uses: &[PinUse], needs: &[Need], chosen: &[String]) -> Vec<Option<usize>> {
    // Pins that mean trouble are looked at last.
    let mut order: Vec<usize> = (0..part.pins.len()).collect();
    let awkward = |p: &usize| {
        part.pins.get(*p).is_some_and(|p| {
            p.attributes
                .iter()
                .any(|a| matches!(a.as_str(), "strapping" | "boot" | "radio-shared" | "debug"))
        })
    };
    order.sort_by_key(awkward);
    let can = |need: &Need, p: usize| {
        let Some(pin) = part.pins.get(p) else {
            return false;
        };
        if uses.iter().any(|u| u.pin == pin.name) {
            return false;
        }
        let unit = chosen.get(need.group).map_or("", String::as_str);
        let usage = PinUse {
            functions: wanted(need, unit).collect(),
            ..need.usage.clone()
        };
        !usage.functions.is_empty() && serves(pin, &usage)
    };
    let edges: Vec<Vec<usize>> = needs
        .iter()
        .map(|n| order.iter().copied().filter(|&p| can(n, p)).collect())
        .collect();
    let mut taken: Vec<Option<usize>> = vec![None; part.pins.len()];
    for need in 0..needs.len() {
        let mut seen = vec![false; part.pins.len()];
        let _ = augment(need, &edges, &mut taken, &mut seen);
    }
    let mut found = vec![None; needs.len()];
    for (pin, need) in taken.iter().enumerate() {
        if let Some(slot) = need.and_then(|n| found.get_mut(n)) {
            *slot = Some(pin);
        }
    }
    found
}

/// Finds a pin for a need, moving others to other pins where that helps.
fn augment(
    need: usize,
    edges: &[Vec<usize>],
    taken: &mut [Option<usize>],
    seen: &mut [bool],
) -> bool {
    for &pin in edges.get(need).map_or(&[][..], Vec::as_slice) {
        match seen.get_mut(pin) {
            Some(s) if !*s => *s = true,
            _ => continue,
        }
        let holder = taken.get(pin).copied().flatten();
        if holder.is_none_or(|h| augment(h, edges, taken, seen)) {
            if let Some(slot) = taken.get_mut(pin) {
                *slot = Some(need);
            }
            return true;
        }
    }
    false
}
