//! An amplifier that turns the sign of the signal.

use board::{Field, Schema};

use super::StageKind;
use super::bench::{LOAD, LOAD_TO, NEGATIVE, OHM, PART, SUPPLY, TO};

pub(super) const INVERTING: StageKind = StageKind {
    schema: Schema {
        name: "inverting",
        primary: Some("part"),
        fields: &[
            PART,
            SUPPLY,
            NEGATIVE,
            Field::required(
                "input",
                OHM,
                "resistor from the signal to the inverting input",
            ),
            Field::required(
                "feedback",
                OHM,
                "resistor from the output to the inverting input",
            ),
            TO,
            LOAD,
            LOAD_TO,
        ],
        meaning: "amplifies the signal by -feedback/input, about `to`",
    },
    write: |stage, bench| {
        let input = bench.component(stage, "input")?;
        let (out, inverting) = bench.feedback(stage)?;
        bench.network.resistor(
            &format!("{}.input", stage.path),
            bench.signal,
            inverting,
            input,
        );
        let to = bench.supply(stage, "to");
        bench.amplifier(stage, to, inverting, out)?;
        bench.load(stage, out)?;
        bench.signal = out;
        Ok(())
    },
};
