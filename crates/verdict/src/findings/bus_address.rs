//! A device is looked for at an address that it cannot have.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::bus::address;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.address",
        severity: Severity::Fail,
        title: "An address does not fit its device",
        explanation: include_str!("pages/bus.address.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let addressing = &scene.system.buses.addressing;
    for p in &addressing.strangers {
        let Some(link) = scene.board.links.get(p.link) else {
            continue;
        };
        let list: Vec<String> = p.offered.iter().map(|a| address(*a)).collect();
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "{} is to answer at {}, but a {} can have {}",
                p.name,
                address(p.address),
                p.part,
                list.join(", ")
            ),
        )
        .at(p.span)
        .figure("can have", list.join(", "), format!("part {}", p.part));
        // The byte on the wire, taken for an address.
        let shifted = p.address >> 1;
        if p.offered.contains(&shifted) {
            f = f.working(format!(
                "{} is the byte on the wire of {}, with the direction bit",
                address(p.address),
                address(shifted)
            ));
            f = f.remedy(format!("address = \"{}\"", address(shifted)));
        } else if let Some(first) = p.offered.first() {
            f = f.remedy(format!("address = \"{}\"", address(*first)));
        }
        found.push(f);
    }
    for p in &addressing.reserved {
        let Some(link) = scene.board.links.get(p.link) else {
            continue;
        };
        found.push(
            Finding::new(
                kind,
                &link.name,
                format!("{} answers at {}, which is kept for other uses", p.name, address(p.address)),
            )
            .severity(Severity::Note)
            .at(p.span)
            .figure(
                "kept",
                "0x00 to 0x07 and 0x78 to 0x7F".to_owned(),
                "UM10204, 3.1.12".to_owned(),
            )
            .remedy("mind that nothing else on the bus uses general call, ten-bit addresses or high-speed mode".to_owned()),
        );
    }
}
