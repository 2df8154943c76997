//! Two repeaters face each other with their offset sides.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::bus::{names, segments};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.repeater-offset",
        severity: Severity::Fail,
        title: "Two bus repeaters face each other with their offset sides",
        explanation: include_str!("pages/bus.repeater-offset.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (link, s) in segments(scene.board, scene.system) {
        let who: Vec<String> = s
            .contacts
            .iter()
            .filter(|c| c.is_offset)
            .map(|c| c.name.clone())
            .collect();
        if who.len() < 2 {
            continue;
        }
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "{} meet with the sides that put out an offset low: neither takes the other's low for one",
                names(&who)
            ),
        )
        .at(link.span);
        for c in s.contacts.iter().filter(|c| c.is_offset) {
            if let Some(sink) = &c.sink {
                f = f.figure(
                    &format!("{}: low of that side", c.name),
                    report::number::about(sink.value.low_v, "V"),
                    sink.source.clone(),
                );
            }
            f = f.at(scene.board.devices.get(c.device).map(|d| d.span));
        }
        found.push(f.remedy("turn one of them round, so that its other side lies here".to_owned()));
    }
}
