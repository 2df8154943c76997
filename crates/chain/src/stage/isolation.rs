//! An isolation amplifier: the signal on the other side of a barrier.

use board::{Field, FieldKind, Schema};
use circuit::Node;
use quantity::Dimension;

use super::StageKind;
use super::bench::OHM;

pub(super) const ISOLATION: StageKind = StageKind {
    schema: Schema {
        name: "isolation",
        primary: None,
        fields: &[
            Field::optional(
                "gain",
                FieldKind::Valued(Dimension::NONE),
                "gain with its tolerance and drift, \"8.2 0.3 % 50 ppm/K\"; 1 if not given",
            ),
            Field::optional(
                "offset",
                FieldKind::ValuedDifference(Dimension::VOLTAGE),
                "offset at the output with its tolerance and drift, \"0 V ± 2 mV 20 µV/K\"",
            ),
            Field::optional(
                "input-resistance",
                OHM,
                "between the inputs; none if not given",
            ),
        ],
        meaning: "carries the signal over an insulating barrier, with a gain and an offset",
    },
    write: |stage, bench| {
        let b = bench.network.builder();
        let (plus, minus) = (bench.signal, bench.minus);
        if stage.valued("input-resistance").is_some() {
            let ohm = bench.component(stage, "input-resistance")?;
            bench.network.resistor(
                &format!("{}.input-resistance", stage.path),
                plus,
                minus,
                ohm,
            );
        }
        let gain = match stage.valued("gain") {
            Some(_) => bench.component(stage, "gain")?,
            None => b.one(),
        };
        let inner = bench.network.fresh(&format!("{}.inner", stage.path));
        bench
            .network
            .controlled_voltage(&stage.path, inner, Node::GROUND, plus, minus, gain);
        let mut out = inner;
        if stage.valued("offset").is_some() {
            let offset = bench.component(stage, "offset")?;
            out = bench.network.fresh(&stage.path);
            bench
                .network
                .voltage_source(&format!("{}.offset", stage.path), out, inner, offset);
        }
        bench.signal = out;
        bench.minus = Node::GROUND;
        Ok(())
    },
};
