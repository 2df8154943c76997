//! The ends of a link share no return.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.no-return",
        severity: Severity::Fail,
        title: "The ends of a link share no return",
        explanation: include_str!("pages/bus.no-return.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for link in &scene.board.links {
        let Some(stated) = link.common_return.as_ref().filter(|r| !r.value) else {
            continue;
        };
        found.push(
            Finding::new(
                kind,
                &link.name,
                "its ends share no return: levels mean nothing, and currents find other ways"
                    .to_owned(),
            )
            .at(stated.span)
            .at(link.span)
            .working(
                "a level is a voltage against the receiver's ground (common practice)".to_owned(),
            )
            .remedy(
                "join the grounds of both ends beside the signal, or put an isolator between them"
                    .to_owned(),
            ),
        );
    }
}
