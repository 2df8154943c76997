//! Pins in words.

use board::Board;
use finding::{Finding, Kind};
use system::Analysis;
use system::pins::{DevicePins, PinUse, Trouble};

/// Most pins that are named in one go.
const NAMED: usize = 8;

/// Every trouble with the device it belongs to.
pub(crate) fn troubles<'a>(
    board: &'a Board,
    system: &'a Analysis,
) -> impl Iterator<Item = (&'a str, &'a DevicePins, &'a Trouble)> {
    system.pins.devices.iter().flat_map(move |d| {
        let name = board.devices.get(d.device).map_or("", |d| d.name.as_str());
        d.troubles.iter().map(move |t| (name, d, t))
    })
}

/// A use by its position.
pub(crate) fn usage(d: &DevicePins, i: usize) -> Option<&PinUse> {
    d.uses.get(i)
}

/// Some pins as a list.
pub(crate) fn list(pins: &[String]) -> String {
    let mut text = pins
        .iter()
        .take(NAMED)
        .map(String::as_str)
        .collect::<Vec<_>>()
        .join(", ");
    if pins.len() > NAMED {
        text.push_str(&format!(" and {} more", pins.len() - NAMED));
    }
    text
}

/// A finding about a use, at its place.
pub(crate) fn about(kind: &Kind, u: &PinUse, headline: String) -> Finding {
    Finding::new(kind, &u.subject, headline).at(u.span)
}

/// Another pin, or what to do where there is none.
pub(crate) fn instead(finding: Finding, others: &[String]) -> Finding {
    finding.remedy(if others.is_empty() {
        "no other pin would do and is free: move one of the users, or take a controller with more pins".to_owned()
    } else {
        format!("free pins that would do: {}", list(others))
    })
}
