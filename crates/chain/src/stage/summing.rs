//! An inverting amplifier for the signal and a fixed voltage.

use board::{Field, FieldKind, Schema};

use super::StageKind;
use super::bench::{LOAD, LOAD_TO, NEGATIVE, OHM, PART, SUPPLY, TO};

pub(super) const SUMMING: StageKind = StageKind {
    schema: Schema {
        name: "summing",
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
            Field::required("add", OHM, "resistor from `from` to the inverting input"),
            Field::required("from", FieldKind::Supply, "rail or reference that is added"),
            Field::required(
                "feedback",
                OHM,
                "resistor from the output to the inverting input",
            ),
            TO,
            LOAD,
            LOAD_TO,
        ],
        meaning: "adds a fixed voltage to the signal and turns the sign of both, about `to`",
    },
    write: |stage, bench| {
        let input = bench.component(stage, "input")?;
        let add = bench.component(stage, "add")?;
        let from = bench.supply(stage, "from");
        let (out, inverting) = bench.feedback(stage)?;
        bench.network.resistor(
            &format!("{}.input", stage.path),
            bench.signal,
            inverting,
            input,
        );
        bench
            .network
            .resistor(&format!("{}.add", stage.path), from, inverting, add);
        let to = bench.supply(stage, "to");
        bench.amplifier(stage, to, inverting, out)?;
        bench.load(stage, out)?;
        bench.signal = out;
        Ok(())
    },
};
