//! A heat is written of which the power or the way out is not known.

use board::HeatSource;
use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "heat.unknown",
        severity: Severity::Note,
        title: "Nothing says how much heat there is, or where it goes",
        explanation: include_str!("pages/heat.unknown.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (spec, heat) in scene.board.heats.iter().zip(&scene.system.heat) {
        let none = heat.watt.2 <= 0.0 && !matches!(spec.source, HeatSource::Power(_));
        if none {
            found.push(
                Finding::new(
                    kind,
                    &spec.name,
                    format!(
                        "nothing says what {} turns into heat: it is taken as none",
                        heat.source
                    ),
                )
                .at(spec.source_span)
                .remedy(
                    "write what it draws, `current = \"…\"` with a device, or the power itself, `power = \"…\"` in place of `source`"
                        .to_owned(),
                ),
            );
        } else if heat.junction_k.is_none() && spec.warms.is_empty() {
            found.push(
                Finding::new(
                    kind,
                    &spec.name,
                    format!(
                        "nothing says how {} sheds its heat: how warm it gets is not judged",
                        heat.source
                    ),
                )
                .at(spec.span)
                .remedy(
                    "write `resistance = \"60 K/W\"`, from its inside to the ambient".to_owned(),
                ),
            );
        }
    }
}
