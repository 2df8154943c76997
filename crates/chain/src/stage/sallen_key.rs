//! A second-order low-pass around a follower, as direct current meets it.

use board::{Field, Schema};

use super::StageKind;
use super::bench::{FARAD, LOAD, LOAD_TO, NEGATIVE, OHM, PART, SUPPLY};

pub(super) const SALLEN_KEY: StageKind = StageKind {
    schema: Schema {
        name: "sallen-key",
        primary: Some("part"),
        fields: &[
            PART,
            SUPPLY,
            NEGATIVE,
            Field::required("r1", OHM, "resistor from the signal to the middle"),
            Field::required(
                "r2",
                OHM,
                "resistor from the middle to the non-inverting input",
            ),
            Field::required("c1", FARAD, "capacitor from the middle to the output"),
            Field::required(
                "c2",
                FARAD,
                "capacitor from the non-inverting input to ground",
            ),
            Field::optional(
                "feedback",
                OHM,
                "resistor from the output to the inverting input, with `gain-resistor`; a wire if not given",
            ),
            Field::optional(
                "gain-resistor",
                OHM,
                "resistor from the inverting input to ground; none if not given",
            ),
            LOAD,
            LOAD_TO,
        ],
        meaning: "a low-pass of second order with one amplifier",
    },
    write: |stage, bench| {
        let (r1, r2) = (bench.component(stage, "r1")?, bench.component(stage, "r2")?);
        let middle = bench.network.fresh(&format!("{}.middle", stage.path));
        let plus = bench.network.fresh(&format!("{}.plus", stage.path));
        bench
            .network
            .resistor(&format!("{}.r1", stage.path), bench.signal, middle, r1);
        bench
            .network
            .resistor(&format!("{}.r2", stage.path), middle, plus, r2);
        let (out, inverting) = bench.feedback(stage)?;
        bench.capacitor(stage, "c1", middle, out)?;
        bench.capacitor(stage, "c2", plus, bench.minus)?;
        if stage.valued("gain-resistor").is_some() {
            let foot = bench.component(stage, "gain-resistor")?;
            bench.network.resistor(
                &format!("{}.gain-resistor", stage.path),
                inverting,
                bench.minus,
                foot,
            );
        }
        bench.amplifier(stage, plus, inverting, out)?;
        bench.load(stage, out)?;
        bench.signal = out;
        Ok(())
    },
};
