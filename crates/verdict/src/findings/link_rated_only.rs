//! A level suffices at the load that is there, and not by the rated one alone.

use finding::{Kind, Severity};

use super::{Entry, Scene};
use crate::link::{about_pair, pairs, volt};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.rated-only",
        severity: Severity::Note,
        title: "A level suffices because the driver is lightly loaded",
        explanation: include_str!("pages/link.rated-only.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (link, _, p) in pairs(scene.board, scene.system) {
        for (word, m) in [("high", &p.understood.high), ("low", &p.understood.low)] {
            let (Some(rated), Some(volts)) = (m.rated_margin_v, m.output.rated_v) else {
                continue;
            };
            if rated >= 0.0 || m.margin_v < 0.0 || m.output.ohm <= 0.0 {
                continue;
            }
            let headline = format!(
                "the rated {word} level of {} ({}) would miss the threshold of {} by {}; with the load that is there {} are left",
                p.driver,
                volt(volts),
                p.receiver,
                volt(-rated),
                volt(m.margin_v)
            );
            let amount = m
                .output
                .rated_a
                .map_or_else(String::new, |a| report::number::measured(a, "A", 3));
            found.push(
                about_pair(kind, scene.board, link, p, headline)
                    .working(format!("{word} level: {}", m.working))
                    .working(format!("{} holds at {amount}", volt(volts)))
                    .remedy(format!(
                        "let nothing else load the line: at {amount} it would no longer do"
                    )),
            );
        }
    }
}
