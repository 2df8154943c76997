//! An amplifier that keeps the sign of the signal.

use board::{Field, FieldKind, Schema};

use super::StageKind;
use super::bench::{LOAD, LOAD_TO, NEGATIVE, OHM, PART, SUPPLY};

pub(super) const NON_INVERTING: StageKind = StageKind {
    schema: Schema {
        name: "non-inverting",
        primary: Some("part"),
        fields: &[
            PART,
            SUPPLY,
            NEGATIVE,
            Field::required(
                "feedback",
                OHM,
                "resistor from the output to the inverting input",
            ),
            Field::required(
                "gain-resistor",
                OHM,
                "resistor from the inverting input to `to`",
            ),
            Field::optional(
                "to",
                FieldKind::Supply,
                "where the gain resistor ends; ground if not given",
            ),
            LOAD,
            LOAD_TO,
        ],
        meaning: "amplifies the signal by 1 + feedback/gain-resistor, about `to`",
    },
    write: |stage, bench| {
        let foot = bench.component(stage, "gain-resistor")?;
        let to = bench.supply(stage, "to");
        let (out, inverting) = bench.feedback(stage)?;
        bench.network.resistor(
            &format!("{}.gain-resistor", stage.path),
            inverting,
            to,
            foot,
        );
        bench.amplifier(stage, bench.signal, inverting, out)?;
        bench.load(stage, out)?;
        bench.signal = out;
        Ok(())
    },
};
