//! A line puts more on a pin than the pin stands.

use finding::{Kind, Severity};
use report::number;
use system::levels::Stands;

use super::{Entry, Scene};
use crate::link::{about_pair, at, beyond, figure, pairs, remedy, volt};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.over-maximum",
        severity: Severity::Fail,
        title: "A line puts more on a pin than the pin stands",
        explanation: include_str!("pages/link.over-maximum.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (link, _, p) in pairs(scene.board, scene.system) {
        let over = &p.understood.over;
        let (severity, lead) = match p.stands {
            Stands::BeyondMaximum | Stands::ClampOverloaded { .. } => {
                (Severity::Fail, beyond(over, p.stands))
            }
            Stands::BeyondUsual => (
                Severity::Thin,
                format!(
                    "its part names no limit, and {} are usual",
                    volt(over.ratings.maximum.value)
                ),
            ),
            Stands::BeyondOperating => (
                Severity::Thin,
                format!(
                    "it is made to be used up to {}, and stands {}",
                    volt(over.ratings.operating.as_ref().map_or(0.0, |k| k.value)),
                    volt(over.ratings.maximum.value)
                ),
            ),
            Stands::Within | Stands::ClampHolds { .. } => continue,
        };
        let headline = format!(
            "{} puts {} on {}, which is fed from {}: {lead}",
            p.driver,
            volt(over.volt),
            p.receiver,
            volt(over.supply_v)
        );
        let mut f = about_pair(kind, scene.board, link, p, headline).severity(severity);
        f = figure(f, "absolute maximum", &over.ratings.maximum, "V");
        for (name, known, unit) in [
            ("operating maximum", &over.ratings.operating, "V"),
            ("injection current", &over.ratings.injection_a, "A"),
            ("clamp current", &over.ratings.clamp_a, "A"),
        ] {
            if let Some(known) = known {
                f = figure(f, name, known, unit);
            }
        }
        f = f.working(format!(
            "{} − {} = {} beyond, at {}",
            volt(over.volt),
            volt(over.ratings.maximum.value),
            volt(over.volt - over.ratings.maximum.value),
            at(&over.corner)
        ));
        if over.clamp_a > 0.0 {
            f = f.working(format!(
                "current into the clamp: ({} − {} − {}) / {} = {} ({} of clamp, common practice)",
                volt(over.volt),
                volt(over.supply_v),
                volt(system::levels::ends::CLAMP_DROP_V),
                number::measured(over.ohm, "Ω", 3),
                number::measured(over.clamp_a, "A", 3),
                volt(system::levels::ends::CLAMP_DROP_V),
            ));
        }
        for fix in &p.fixes {
            f = f.remedy(remedy(fix));
        }
        if p.fixes.is_empty() {
            f = f.remedy(format!(
                "a translator between them, or a receiver that stands {}",
                volt(over.volt)
            ));
        }
        found.push(f);
    }
}
