//! Lithium cells.

use finding::{Kind, Severity};

use report::number;

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.lithium-cells",
        severity: Severity::Hazard,
        title: "Lithium cells are on the board or measured by it",
        explanation: include_str!("pages/hazard.lithium-cells.md"),
    },
    look: |kind, scene, found| {
        let cells = &scene.system.energy.shorts;
        let hazard = caution::of_danger(
            kind,
            scene,
            "lithium-cells",
            "lithium cells burn when overcharged, shorted, crushed or charged in the cold; no reading of this board protects them",
            &[
                "a protection circuit of its own on every pack: charge limit of the cells’ maker (4.2 V per cell ± 1 % is usual), over-current, over-temperature, no charging below 0 °C",
                "a fuse at the pack’s terminals, before the first wire of this board; each sense wire through its own resistor or fuse at the cell",
            ],
        );
        if let Some(mut f) = hazard {
            for s in cells {
                let usual = s.nominal_v.map_or_else(String::new, |v| {
                    format!("{} nominal, ", number::amount(v, "V"))
                });
                f = f.working(format!(
                    "rail {}: {} cells in series, {} in parallel: {usual}{} at most, {} a cell",
                    s.rail,
                    s.cells,
                    s.strings,
                    number::amount(s.volt, "V"),
                    number::measured(s.volt / f64::from(s.cells.max(1)), "V", 3)
                ));
                if let (Some(ohm), Some(ampere)) = (s.ohm, s.ampere()) {
                    f = f.working(format!(
                        "rail {}: into a short circuit {} / {} = {}",
                        s.rail,
                        number::amount(s.volt, "V"),
                        number::measured(ohm, "Ω", 3),
                        number::measured(ampere, "A", 2)
                    ));
                }
            }
            found.push(f);
        }
    },
};
