//! A low level does not surely read low.

use finding::{Kind, Severity};

use super::{Entry, Scene};
use crate::link::{about_pair, at, figure, pairs, volt, workings};
use report::number;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.level-low",
        severity: Severity::Fail,
        title: "A low level is not surely read as low",
        explanation: include_str!("pages/link.level-low.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    let wanted = scene.board.judging.level_margin_v;
    for (link, _, p) in pairs(scene.board, scene.system) {
        let m = &p.understood.low;
        if m.margin_v >= wanted {
            continue;
        }
        let fails = m.margin_v < 0.0;
        let headline = format!(
            "{} reads low up to {}, {} leaves it at {}: {} {} ({} with everything as meant)",
            p.receiver,
            volt(m.threshold_v),
            p.driver,
            volt(m.level_v),
            volt(m.margin_v.abs()),
            if fails { "too much" } else { "left" },
            volt(m.nominal.2),
        );
        let mut f = about_pair(kind, scene.board, link, p, headline).severity(if fails {
            Severity::Fail
        } else {
            Severity::Thin
        });
        f = figure(f, "input-low", &m.threshold, "V");
        for line in workings("low", m) {
            f = f.working(line);
        }
        f = f.working(format!("worst at {}", at(&m.corner)));
        // The driver's resistance and what pulls up share the voltage: for a
        // low level of the threshold less the margin the driver may sink so
        // much.
        let ohm = m.output.ohm;
        let target = m.threshold_v - wanted;
        if ohm > 0.0 && target > m.output.open_v {
            f = f.remedy(format!(
                "let the driver sink {} at most, {} now: weaker pull-ups, or fewer of them",
                number::measured((target - m.output.open_v) / ohm, "A", 3),
                number::measured((m.level_v - m.output.open_v).max(0.0) / ohm, "A", 3)
            ));
        } else {
            f = f.remedy(format!(
                "a driver whose low level stays below {}, or a receiver that reads low up to {} and more",
                volt(target),
                volt(m.level_v + wanted)
            ));
        }
        found.push(f);
    }
}
