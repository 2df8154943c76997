//! Two resistors from the signal to ground; the signal goes on from between.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::StageKind;

const OHM: FieldKind = FieldKind::Valued(Dimension::RESISTANCE);

pub(super) const DIVIDER: StageKind = StageKind {
    schema: Schema {
        name: "divider",
        primary: None,
        fields: &[
            Field {
                key: "top",
                kind: OHM,
                required: true,
                meaning: "resistor on the signal's side",
            },
            Field {
                key: "bottom",
                kind: OHM,
                required: true,
                meaning: "resistor to what the signal is counted from: ground, or a bridge's other node",
            },
        ],
        meaning: "divides the signal by two resistors",
    },
    write: |stage, bench| {
        let top = bench.component(stage, "top")?;
        let bottom = bench.component(stage, "bottom")?;
        let middle = bench.network.fresh(&stage.path);
        bench
            .network
            .resistor(&format!("{}.top", stage.path), bench.signal, middle, top);
        bench.network.resistor(
            &format!("{}.bottom", stage.path),
            middle,
            bench.minus,
            bottom,
        );
        bench.signal = middle;
        Ok(())
    },
};
