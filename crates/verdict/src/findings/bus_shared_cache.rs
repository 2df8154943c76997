//! A driver keeps one number for several devices.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::bus::{names, second};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.shared-cache",
        severity: Severity::Fail,
        title: "One stored number serves several devices",
        explanation: include_str!("pages/bus.shared-cache.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for c in &scene.system.buses.polling.caches {
        let Some(link) = scene.board.links.get(c.link) else {
            continue;
        };
        let within = c.conversion_s.as_ref().map_or_else(
            || "while it is kept".to_owned(),
            |s| format!("within the {} of a conversion", second(s.value)),
        );
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "{} share one stored number and one time stamp: read {within}, the second returns the first one's",
                names(&c.who)
            ),
        );
        for span in &c.spans {
            f = f.at(*span);
        }
        if let Some(s) = &c.conversion_s {
            f = f.figure("conversion time", second(s.value), s.source.clone());
        }
        found.push(
            f.remedy("a number and a time stamp for each device: cache = \"own\"".to_owned()),
        );
    }
}
