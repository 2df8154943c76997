//! A resistor in the signal's way and a capacitor behind it.

use board::{Field, Schema};

use super::StageKind;
use super::bench::{FARAD, OHM};

pub(super) const LOW_PASS: StageKind = StageKind {
    schema: Schema {
        name: "low-pass",
        primary: None,
        fields: &[
            Field::required("r", OHM, "resistor in the signal's way"),
            Field::required(
                "c",
                FARAD,
                "capacitor across the signal; a dielectric such as X7R brings its insulation, and what it loses with voltage of the rated one (`\"1 µF 10 % X7R 16 V\"`; 50 V if none is written)",
            ),
        ],
        meaning: "a low-pass of one resistor and one capacitor",
    },
    write: |stage, bench| {
        let r = bench.component(stage, "r")?;
        let next = bench.network.fresh(&stage.path);
        bench
            .network
            .resistor(&format!("{}.r", stage.path), bench.signal, next, r);
        bench.signal = next;
        bench.capacitor(stage, "c", next, bench.minus)
    },
};
