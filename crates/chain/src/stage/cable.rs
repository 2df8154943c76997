//! A cable between the signal and what follows.

use board::{Field, FieldKind, Schema};
use circuit::Node;
use quantity::Dimension;

use super::StageKind;

pub(super) const CABLE: StageKind = StageKind {
    schema: Schema {
        name: "cable",
        primary: None,
        fields: &[
            Field::required("length", FieldKind::Valued(Dimension::LENGTH), "length"),
            Field::required(
                "resistance",
                FieldKind::Valued(Dimension::RESISTANCE.over(Dimension::LENGTH)),
                "resistance of one conductor, \"84 mΩ/m\"",
            ),
            Field::optional(
                "capacitance",
                FieldKind::Valued(Dimension::CAPACITANCE.over(Dimension::LENGTH)),
                "capacitance between the conductors, \"52 pF/m\"",
            ),
        ],
        meaning: "two conductors: the signal's and the one it returns by",
    },
    write: |stage, bench| {
        let length = bench.component(stage, "length")?;
        let there = bench.instance(stage, "resistance", "there")? * length;
        let back = bench.instance(stage, "resistance", "back")? * length;
        let (near, near_minus) = (bench.signal, bench.minus);
        let far = bench.network.fresh(&stage.path);
        let signal = format!("{}.there", stage.path);
        if bench.minus == Node::GROUND {
            // A sensor that hangs on the cable alone has its return in series
            // with the signal's conductor.
            bench
                .network
                .resistor(&signal, bench.signal, far, there + back);
        } else {
            bench.network.resistor(&signal, bench.signal, far, there);
            let minus = bench.network.fresh(&format!("{}.minus", stage.path));
            bench
                .network
                .resistor(&format!("{}.back", stage.path), bench.minus, minus, back);
            bench.minus = minus;
        }
        bench.signal = far;
        if stage.valued("capacitance").is_some() {
            let farad = bench.component(stage, "capacitance")? * length;
            // Spread along the cable; lumped, half of it stands at either end.
            for (end, node, back) in [
                ("near", near, near_minus),
                ("far", bench.signal, bench.minus),
            ] {
                let name = format!("{}.capacitance.{end}", stage.path);
                bench
                    .network
                    .capacitor(&name, node, back, farad * 0.5, None);
            }
        }
        Ok(())
    },
};
