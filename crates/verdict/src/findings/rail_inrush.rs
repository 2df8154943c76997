//! Filling a rail's capacitors takes more than its source gives.

use finding::{Finding, Kind, Severity};
use report::{Verdict, number};
use system::rails::What;

use super::{Entry, Scene};
use crate::rails::rows_of;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "rail.inrush",
        severity: Severity::Fail,
        title: "Switching a rail on takes more than what feeds it can give",
        explanation: include_str!("pages/rail.inrush.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (rail, row, verdict) in rows_of(scene.board, scene.system, &[What::Inrush, What::Sharing]) {
        let mut f = if row.what == What::Sharing {
            let low = row.low.unwrap_or(0.0);
            Finding::new(
                kind,
                &rail.name,
                format!(
                    "switching {} on pulls what feeds it down to {}, below the {} needed there",
                    rail.name,
                    number::about(row.value, "V"),
                    number::about(low, "V")
                ),
            )
            .remedy(format!(
                "let {} rise slowly (`start`), or charge it through a resistor",
                rail.name
            ))
        } else {
            let limit = row.high.unwrap_or(0.0);
            let hard = row.name != "inrush";
            let what = if hard {
                "switched on hard, its capacitors take"
            } else {
                "rising as fast as stated, it takes"
            };
            let mut f = Finding::new(
                kind,
                &rail.name,
                format!(
                    "rail {}: {what} {} where {} may flow",
                    rail.name,
                    number::about(row.value, "A"),
                    number::about(limit, "A")
                ),
            )
            .severity(match verdict {
                _ if hard => Severity::Note,
                Verdict::Fails => Severity::Fail,
                _ => Severity::Thin,
            });
            if let Some(s) = row.help {
                f = f.remedy(format!(
                    "let it rise in {} or more: that is how long {} takes to fill the capacitors beside the load",
                    number::about(s, "s"),
                    number::about(limit, "A")
                ));
            }
            f
        };
        f = f.at(row.span).working(row.working.clone()).figure(
            "limit",
            number::about(row.high.or(row.low).unwrap_or(0.0), row.unit),
            row.source.clone(),
        );
        found.push(f);
    }
}
