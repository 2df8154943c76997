//! A high level does not surely read high.

use finding::{Kind, Severity};

use super::{Entry, Scene};
use crate::link::{about_pair, at, figure, pairs, remedy, volt, workings};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.level-high",
        severity: Severity::Fail,
        title: "A high level is not surely read as high",
        explanation: include_str!("pages/link.level-high.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    let wanted = scene.board.judging.level_margin_v;
    for (link, _, p) in pairs(scene.board, scene.system) {
        let m = &p.understood.high;
        if m.margin_v >= wanted || m.level_v <= 0.0 {
            continue;
        }
        let fails = m.margin_v < 0.0;
        let headline = format!(
            "{} reads high from {}, {} gives it {}: {} {} ({} with everything as meant)",
            p.receiver,
            volt(m.threshold_v),
            p.driver,
            volt(m.level_v),
            volt(m.margin_v.abs()),
            if fails { "too little" } else { "left" },
            volt(m.nominal.2),
        );
        let mut f = about_pair(kind, scene.board, link, p, headline).severity(if fails {
            Severity::Fail
        } else {
            Severity::Thin
        });
        f = figure(f, "input-high", &m.threshold, "V");
        for line in workings("high", m) {
            f = f.working(line);
        }
        f = f.working(format!("worst at {}", at(&m.corner)));
        if fails {
            f = f.working(
                "the typical threshold of a part lies lower, so it may work on the bench: only the limit holds for every part at every temperature"
                    .to_owned(),
            );
        }
        for fix in &p.fixes {
            f = f.remedy(remedy(fix));
        }
        if p.fixes.is_empty() {
            f = f.remedy(format!(
                "a driver or pull-up that gives {} or more",
                volt(m.threshold_v + wanted)
            ));
        }
        found.push(f);
    }
}
