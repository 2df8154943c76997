//! An amplifier that turns a current into a voltage and holds its source at
//! one voltage.

use board::{Field, Schema};

use super::StageKind;
use super::bench::{LOAD, LOAD_TO, NEGATIVE, OHM, PART, SUPPLY, TO};

pub(super) const TRANSIMPEDANCE: StageKind = StageKind {
    schema: Schema {
        name: "transimpedance",
        primary: Some("part"),
        fields: &[
            PART,
            SUPPLY,
            NEGATIVE,
            Field::required(
                "feedback",
                OHM,
                "resistor from the output to the inverting input, which the current flows through",
            ),
            TO,
            LOAD,
            LOAD_TO,
        ],
        meaning: "turns the signal's current into a voltage, `to` - feedback times the current that flows in",
    },
    write: |stage, bench| {
        let feedback = bench.component(stage, "feedback")?;
        let out = bench.network.fresh(&stage.path);
        let to = bench.supply(stage, "to");
        bench.network.resistor(
            &format!("{}.feedback", stage.path),
            out,
            bench.signal,
            feedback,
        );
        bench.amplifier(stage, to, bench.signal, out)?;
        bench.load(stage, out)?;
        bench.signal = out;
        Ok(())
    },
};
