//! A pull resistor that a direction-sensing translator cannot hold against.

use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.translator-pull",
        severity: Severity::Fail,
        title: "A pull resistor is stronger than the translator that senses the direction",
        explanation: include_str!("pages/link.translator-pull.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for t in &scene.system.levels.translators.forbidden {
        let (Some(link), Some(device)) = (
            scene.board.links.get(t.link),
            scene.board.devices.get(t.device),
        ) else {
            continue;
        };
        let ohm = |r: f64| number::measured(r, "Ω", 3);
        let headline = format!(
            "{} on {} have {}, and {} holds its levels only against {} and more",
            t.what,
            link.name,
            ohm(t.ohm),
            device.name,
            ohm(t.least_ohm)
        );
        let mut f = Finding::new(kind, &link.name, headline)
            .at(link.span)
            .at(device.span)
            .figure("smallest pull resistor", ohm(t.least_ohm), t.source.clone());
        if let Some(share) = t.left_share {
            f = f.working(format!(
                "a level held against it comes to {} of the supply instead of all or nothing",
                number::relative(share, 3)
            ));
        }
        found.push(
            f.remedy(format!(
                "leave it out, or take {} and more",
                ohm(t.least_ohm)
            ))
            .remedy(
                "an open-drain bus needs a translator made for one, or a transistor on each line"
                    .to_owned(),
            ),
        );
    }
}
