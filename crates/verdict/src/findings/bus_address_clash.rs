//! Two devices of a bus answer to one address.

use finding::{Finding, Kind, Severity};
use system::buses::address::on_the_wire;

use super::{Entry, Scene};
use crate::bus::{address, names};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.address-clash",
        severity: Severity::Fail,
        title: "Devices of a bus answer to the same address",
        explanation: include_str!("pages/bus.address-clash.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for c in &scene.system.buses.addressing.clashes {
        let who: Vec<String> = c.who.iter().map(|p| p.name.clone()).collect();
        let Some(first) = c.who.first() else { continue };
        let Some(link) = scene.board.links.get(first.link) else {
            continue;
        };
        let (write, read) = on_the_wire(c.address);
        let mut f = Finding::new(
            kind,
            &link.name,
            format!("{} all answer at {}", names(&who), address(c.address)).replace(
                " all answer",
                if who.len() == 2 {
                    " both answer"
                } else {
                    " all answer"
                },
            ),
        );
        for p in &c.who {
            f = f.at(p.span);
        }
        f = f.working(format!(
            "on the wire {} shows as {} (write) and {} (read): the same device, not another one",
            address(c.address),
            address(write),
            address(read)
        ));
        for p in &c.who {
            if !p.offered.is_empty() {
                let list: Vec<String> = p.offered.iter().map(|a| address(*a)).collect();
                f = f.figure(
                    &format!("{} can have", p.name),
                    list.join(", "),
                    format!("part {}", p.part),
                );
            }
        }
        match &c.cure {
            Some(moves) if !moves.is_empty() => {
                let list: Vec<String> = moves
                    .iter()
                    .map(|(name, to)| format!("{name} to {}", address(*to)))
                    .collect();
                f = f.remedy(format!(
                    "set the address pins so that they differ, one to ground and one to the I/O supply: {}",
                    list.join(", ")
                ));
                let spare = c.who.iter().map(|p| p.offered.len()).max().unwrap_or(0);
                let alike = c.who.iter().all(|p| p.part == first.part);
                if alike && spare == who.len() {
                    f = f.remedy(
                        "one more of these parts would need a second bus or a multiplexer"
                            .to_owned(),
                    );
                }
            }
            _ => {
                f = f.remedy(format!(
                    "these parts leave room for {} of the {} on one bus: a second bus, or a multiplexer, for the {}",
                    c.fits,
                    who.len(),
                    if who.len() - c.fits.min(who.len()) == 1 {
                        "other one"
                    } else {
                        "others"
                    }
                ));
            }
        }
        found.push(f);
    }
}
