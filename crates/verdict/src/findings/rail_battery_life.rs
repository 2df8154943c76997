//! Cells do not last as long as asked.

use finding::{Finding, Kind, Severity};
use report::{Verdict, number};
use system::rails::What;

use super::{Entry, Scene};
use crate::rails::rows_of;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "rail.battery-life",
        severity: Severity::Fail,
        title: "Cells do not last as long as asked",
        explanation: include_str!("pages/rail.battery-life.md"),
    },
    look,
};

/// A time of days, as days; shorter ones as they are.
fn days(s: f64) -> String {
    if s >= 86_400.0 {
        format!("{} d", quantity::plain(s / 86_400.0, 3))
    } else {
        number::about(s, "s")
    }
}

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (rail, row, verdict) in rows_of(scene.board, scene.system, &[What::BatteryLife]) {
        let asked = row.low.unwrap_or(0.0);
        let failing = verdict == Verdict::Fails;
        let mut f = Finding::new(
            kind,
            &rail.name,
            format!(
                "the cells of rail {} last {}, {} {} asked",
                rail.name,
                days(row.value),
                if failing {
                    "not the"
                } else {
                    "little more than the"
                },
                days(asked)
            ),
        )
        .severity(if failing {
            Severity::Fail
        } else {
            Severity::Thin
        })
        .at(row.span)
        .working(row.working.clone());
        if let Some(a) = row.help {
            f = f.remedy(format!(
                "draw {} or less on average, such as by switching off what is not read",
                number::about(a, "A")
            ));
        }
        f = f.remedy(format!(
            "or {} times the capacity",
            quantity::plain(asked / row.value, 3)
        ));
        found.push(f);
    }
}
