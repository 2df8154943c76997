//! A resistor from the signal to a supply or to ground.

use board::{Field, FieldKind, Schema};
use circuit::Node;
use quantity::Dimension;

use super::StageKind;

const OHM: FieldKind = FieldKind::Valued(Dimension::RESISTANCE);

pub(super) const PULL_UP: StageKind = StageKind {
    schema: Schema {
        name: "pull-up",
        primary: Some("r"),
        fields: &[
            Field {
                key: "r",
                kind: OHM,
                required: true,
                meaning: "resistor",
            },
            Field {
                key: "to",
                kind: FieldKind::Supply,
                required: true,
                meaning: "rail or reference it goes to",
            },
        ],
        meaning: "pulls the signal towards a supply",
    },
    write: |stage, bench| {
        let r = bench.component(stage, "r")?;
        let supply = bench.supply(stage, "to");
        bench.network.resistor(&stage.path, supply, bench.signal, r);
        Ok(())
    },
};

pub(super) const PULL_DOWN: StageKind = StageKind {
    schema: Schema {
        name: "pull-down",
        primary: Some("r"),
        fields: &[Field {
            key: "r",
            kind: OHM,
            required: true,
            meaning: "resistor to ground",
        }],
        meaning: "pulls the signal towards ground",
    },
    write: |stage, bench| {
        let r = bench.component(stage, "r")?;
        bench
            .network
            .resistor(&stage.path, bench.signal, Node::GROUND, r);
        Ok(())
    },
};
