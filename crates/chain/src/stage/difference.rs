//! Four resistors and an amplifier: the difference of two nodes.

use board::{Field, Schema};
use circuit::Node;

use super::StageKind;
use super::bench::{LOAD, LOAD_TO, NEGATIVE, OHM, PART, SUPPLY, TO};

pub(super) const DIFFERENCE: StageKind = StageKind {
    schema: Schema {
        name: "difference",
        primary: Some("part"),
        fields: &[
            PART,
            SUPPLY,
            NEGATIVE,
            Field::required(
                "input",
                OHM,
                "resistor at each input; each of the two has a deviation of its own",
            ),
            Field::required(
                "feedback",
                OHM,
                "resistor from the output to the inverting input, and an equal one from the other input to `to`",
            ),
            TO,
            LOAD,
            LOAD_TO,
        ],
        meaning: "amplifies the difference of the signal's two nodes by feedback/input, about `to`",
    },
    write: |stage, bench| {
        let resistors = [
            bench.instance(stage, "input", "plus")?,
            bench.instance(stage, "feedback", "plus")?,
            bench.instance(stage, "input", "minus")?,
            bench.instance(stage, "feedback", "minus")?,
        ];
        let to = bench.supply(stage, "to");
        let out = bench.network.fresh(&stage.path);
        let plus = bench.network.fresh(&format!("{}.plus", stage.path));
        let inverting = bench.network.fresh(&format!("{}.inverting", stage.path));
        let ends = [
            ("input.plus", bench.signal, plus),
            ("feedback.plus", plus, to),
            ("input.minus", bench.minus, inverting),
            ("feedback", out, inverting),
        ];
        for ((name, a, b), ohm) in ends.into_iter().zip(resistors) {
            bench
                .network
                .resistor(&format!("{}.{name}", stage.path), a, b, ohm);
        }
        bench.amplifier(stage, plus, inverting, out)?;
        bench.load(stage, out)?;
        bench.signal = out;
        bench.minus = Node::GROUND;
        Ok(())
    },
};
