//! Nothing pulls a bus up.

use board::LinkKind;
use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::bus::ohm;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.pull-up-missing",
        severity: Severity::Fail,
        title: "Nothing pulls the lines of a bus up",
        explanation: include_str!("pages/bus.pull-up-missing.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (i, link) in scene.board.links.iter().enumerate() {
        if !link.kind.is_open_drain() || system::levels::pairs::pull_ups(link).is_some() {
            continue;
        }
        let lines = if link.kind == LinkKind::I2c {
            "no pull-up on clock and data: every device only pulls down"
        } else {
            "no pull-up on the wire: every device only pulls down"
        };
        let segment = scene.system.buses.segments.iter().find(|s| s.link == i);
        let mut f = Finding::new(kind, &link.name, lines.to_owned()).at(link.span);
        if let Some(s) = segment {
            for bound in s.lowest.iter().chain(&s.largest) {
                f = f.working(format!("{} ({})", bound.working, bound.source));
            }
            if let Some(value) = s.proposal.ohm {
                f = f.remedy(format!("pull-ups = [\"{}\"]", ohm(value)));
            }
        }
        let single = scene.system.buses.singles.iter().find(|s| s.link == i);
        if let Some(lowest) = single.and_then(|s| s.lowest.as_ref()) {
            f = f
                .working(format!("R_low = {}", lowest.source))
                .remedy(format!("a pull-up of {} or more", ohm(lowest.value)));
        }
        found.push(f);
    }
}
