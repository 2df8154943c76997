//! A part or a regulator asks for a capacitor that is not there.

use finding::{Finding, Kind, Severity};
use report::number;
use system::rails::What;

use super::{Entry, Scene};
use crate::rails::rows_of;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "rail.decoupling",
        severity: Severity::Note,
        title: "A part has a smaller capacitor at its supply than its maker asks for",
        explanation: include_str!("pages/rail.decoupling.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (rail, row, _) in rows_of(
        scene.board,
        scene.system,
        &[What::Decoupling, What::OutputCapacitor],
    ) {
        let asked = row.low.unwrap_or(0.0);
        let farad = |c: f64| number::about(c, "F");
        let has = if row.value > 0.0 {
            format!("has {}", farad(row.value))
        } else {
            "has none written".to_owned()
        };
        let output = row.what == What::OutputCapacitor;
        found.push(
            Finding::new(
                kind,
                &rail.name,
                format!(
                    "{} asks for {} at its {} and {has}",
                    row.name,
                    farad(asked),
                    if output { "output" } else { "supply" },
                ),
            )
            .severity(if output {
                Severity::Thin
            } else {
                Severity::Note
            })
            .at(row.span)
            .figure("asked for", farad(asked), row.source.clone())
            .working(row.working.clone())
            .remedy(format!(
                "fit {} there, what its bias and tolerance leave counted, and write it: `{}`",
                farad(row.help.unwrap_or(asked)),
                if output { "reservoir" } else { "decoupling" }
            )),
        );
    }
}
