//! A resistor in the signal's way.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::StageKind;

pub(super) const SERIES: StageKind = StageKind {
    schema: Schema {
        name: "series",
        primary: Some("r"),
        fields: &[Field {
            key: "r",
            kind: FieldKind::Valued(Dimension::RESISTANCE),
            required: true,
            meaning: "resistor",
        }],
        meaning: "a resistor in the signal's way",
    },
    write: |stage, bench| {
        let r = bench.component(stage, "r")?;
        let next = bench.network.fresh(&stage.path);
        bench.network.resistor(&stage.path, bench.signal, next, r);
        bench.signal = next;
        Ok(())
    },
};
