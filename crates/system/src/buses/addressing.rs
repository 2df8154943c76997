//! Who answers to which address of a two-wire bus.

use board::{Board, LinkKind};
use finding::Span;

use super::address::{is_reserved, parted, reachable};

/// Devices on one bus that answer to the same address.
#[derive(Clone, Debug, PartialEq)]
pub struct Clash {
    /// The address.
    pub address: u8,
    /// Link and device of each, in the order of the file.
    pub who: Vec<Place>,
    /// Addresses with which all devices of the bus part, where there are such:
    /// device and address of those that must change.
    pub cure: Option<Vec<(String, u8)>>,
    /// How many of those who clash one bus can hold.
    pub fits: usize,
}

/// A device on a link.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Position of the link.
    pub link: usize,
    /// Position of the device.
    pub device: usize,
    /// Name of the device.
    pub name: String,
    /// Its part.
    pub part: String,
    /// Its address.
    pub address: u8,
    /// Addresses that its part can have; empty where they are not known.
    pub offered: Vec<u8>,
    /// Whether the file says which address it has.
    pub is_stated: bool,
    /// Where it is written.
    pub span: Span,
}

/// The addresses of a board's two-wire buses.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Addressing {
    /// Every device with an address.
    pub places: Vec<Place>,
    /// Those that share one.
    pub clashes: Vec<Clash>,
    /// Those whose part does not offer the stated address.
    pub strangers: Vec<Place>,
    /// Those at an address that is kept for other uses.
    pub reserved: Vec<Place>,
}

/// The nearest link to the controller that a segment hangs on: everything
/// behind translators hears the same addresses.
pub(crate) fn trunk(board: &Board, mut link: usize) -> usize {
    // No link lies behind itself, so this ends; the bound says so again.
    for _ in 0..board.links.len() {
        match board.links.get(link).and_then(|l| l.via.as_ref()) {
            Some(via) => link = via.from.value,
            None => break,
        }
    }
    link
}

/// Who answers to what.
#[must_use]
pub fn analyse(board: &Board) -> Addressing {
    let mut places: Vec<Place> = Vec::new();
    for (position, link) in board.links.iter().enumerate() {
        if link.kind != LinkKind::I2c {
            continue;
        }
        for member in &link.members {
            let Some(device) = board.devices.get(member.port.device) else {
                continue;
            };
            let Some(address) = board.address_of(member) else {
                continue;
            };
            let stated = member.address.as_ref().or(device.address.as_ref());
            places.push(Place {
                link: position,
                device: member.port.device,
                name: device.name.clone(),
                part: device.part.id.clone(),
                address,
                offered: device.part.addresses.clone(),
                is_stated: stated.is_some(),
                span: stated.map_or(member.span, |a| a.span),
            });
        }
    }
    let mut clashes = Vec::new();
    let mut trunks: Vec<usize> = places.iter().map(|p| trunk(board, p.link)).collect();
    trunks.sort_unstable();
    trunks.dedup();
    for bus in trunks {
        let on: Vec<&Place> = places
            .iter()
            .filter(|p| trunk(board, p.link) == bus)
            .collect();
        clashes.extend(clashes_on(&on));
    }
    let strangers = places
        .iter()
        .filter(|p| p.is_stated && !p.offered.is_empty() && !p.offered.contains(&p.address))
        .cloned()
        .collect();
    let reserved = places
        .iter()
        .filter(|p| is_reserved(p.address))
        .cloned()
        .collect();
    Addressing {
        places,
        clashes,
        strangers,
        reserved,
    }
}

fn clashes_on(on: &[&Place]) -> Vec<Clash> {
    let mut addresses: Vec<u8> = on.iter().map(|p| p.address).collect();
    addresses.sort_unstable();
    addresses.dedup();
    // Each device keeps the address it has where it can: its own comes first.
    let choices: Vec<Vec<u8>> = on
        .iter()
        .map(|p| {
            let mut list = vec![p.address];
            list.extend(p.offered.iter().copied().filter(|a| *a != p.address));
            list
        })
        .collect();
    let all: Vec<&[u8]> = choices.iter().map(Vec::as_slice).collect();
    let cure = parted(&all);
    addresses
        .into_iter()
        .filter_map(|address| {
            let who: Vec<&Place> = on
                .iter()
                .copied()
                .filter(|p| p.address == address)
                .collect();
            if who.len() < 2 {
                return None;
            }
            let own: Vec<&[u8]> = on
                .iter()
                .zip(&all)
                .filter(|(p, _)| p.address == address)
                .map(|(_, c)| *c)
                .collect();
            let everywhere = cure.as_ref().map(|found| {
                on.iter()
                    .zip(found)
                    .filter(|(p, a)| p.address != **a)
                    .map(|(p, a)| (p.name.clone(), *a))
                    .collect()
            });
            // What cannot be parted elsewhere on the bus is no reason not to
            // part these, the others staying where they are.
            let cure = everywhere.or_else(|| here(on, &who));
            Some(Clash {
                address,
                fits: reachable(&own),
                who: who.into_iter().cloned().collect(),
                cure,
            })
        })
        .collect()
}

/// Addresses with which those who clash part while all others keep theirs;
/// none where there are no such.
fn here(on: &[&Place], who: &[&Place]) -> Option<Vec<(String, u8)>> {
    let taken: Vec<u8> = on
        .iter()
        .filter(|p| !who.iter().any(|w| w.device == p.device))
        .map(|p| p.address)
        .collect();
    let free: Vec<Vec<u8>> = who
        .iter()
        .map(|p| {
            let mut list = vec![p.address];
            list.extend(
                p.offered
                    .iter()
                    .copied()
                    .filter(|a| *a != p.address && !taken.contains(a)),
            );
            list
        })
        .collect();
    let lists: Vec<&[u8]> = free.iter().map(Vec::as_slice).collect();
    let found = parted(&lists)?;
    Some(
        who.iter()
            .zip(&found)
            .filter(|(p, a)| p.address != **a)
            .map(|(p, a)| (p.name.clone(), *a))
            .collect(),
    )
}
