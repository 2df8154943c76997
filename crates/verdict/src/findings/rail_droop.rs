//! A burst pulls a rail further down than what hangs on it bears.

use finding::{Finding, Kind, Severity};
use report::{Verdict, number};
use system::rails::What;

use super::{Entry, Scene};
use crate::rails::rows_of;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "rail.droop",
        severity: Severity::Fail,
        title: "A burst of current pulls a rail too far down",
        explanation: include_str!("pages/rail.droop.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (rail, row, verdict) in rows_of(scene.board, scene.system, &[What::Droop]) {
        let limit = row.high.unwrap_or(0.0);
        let volt = |v: f64| number::about(v, "V");
        let mut f = Finding::new(
            kind,
            &rail.name,
            format!(
                "rail {}: {} pulls it down by {}, where {} {} borne",
                rail.name,
                row.name,
                volt(row.value),
                volt(limit),
                if verdict == Verdict::Fails {
                    "is"
                } else {
                    "is just"
                },
            ),
        )
        .severity(if verdict == Verdict::Fails {
            Severity::Fail
        } else {
            Severity::Thin
        })
        .at(row.span)
        .figure("borne", volt(limit), row.source.clone())
        .working(row.working.clone());
        f = match row.help {
            Some(c) => f.remedy(format!(
                "a reservoir of {} or more at its least, close to what draws the burst",
                number::about(c, "F")
            )),
            None => f.remedy(
                "a capacitor of less series resistance: that alone takes all that is borne"
                    .to_owned(),
            ),
        };
        found.push(f);
    }
}
