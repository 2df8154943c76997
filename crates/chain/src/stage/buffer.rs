//! A voltage follower.

use board::{Field, Schema};

use super::StageKind;
use super::bench::{LOAD, LOAD_TO, NEGATIVE, OHM, PART, SUPPLY};

pub(super) const BUFFER: StageKind = StageKind {
    schema: Schema {
        name: "buffer",
        primary: Some("part"),
        fields: &[
            PART,
            SUPPLY,
            NEGATIVE,
            Field::optional(
                "feedback",
                OHM,
                "resistor from the output to the inverting input; a wire if not given",
            ),
            LOAD,
            LOAD_TO,
        ],
        meaning: "repeats the signal without loading it",
    },
    write: |stage, bench| {
        let (out, inverting) = bench.feedback(stage)?;
        bench.amplifier(stage, bench.signal, inverting, out)?;
        bench.load(stage, out)?;
        bench.signal = out;
        Ok(())
    },
};
