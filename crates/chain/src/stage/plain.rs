//! Single elements at the signal.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::StageKind;
use super::bench::OHM;

pub(super) const RESISTOR: StageKind = StageKind {
    schema: Schema {
        name: "resistor",
        primary: Some("r"),
        fields: &[
            Field::required("r", OHM, "resistor"),
            Field::optional(
                "to",
                FieldKind::Supply,
                "rail or reference it goes to; ground if not given",
            ),
        ],
        meaning: "a resistor from the signal to a supply or ground",
    },
    write: |stage, bench| {
        let r = bench.component(stage, "r")?;
        let to = bench.supply(stage, "to");
        bench.network.resistor(&stage.path, bench.signal, to, r);
        Ok(())
    },
};

pub(super) const CURRENT_SOURCE: StageKind = StageKind {
    schema: Schema {
        name: "current-source",
        primary: Some("current"),
        fields: &[Field::required(
            "current",
            FieldKind::Valued(Dimension::CURRENT),
            "current into the signal's node",
        )],
        meaning: "a current from ground into the signal, as for exciting a resistive sensor",
    },
    write: |stage, bench| {
        let current = bench.component(stage, "current")?;
        bench
            .network
            .current_source(&stage.path, bench.minus, bench.signal, current);
        Ok(())
    },
};

pub(super) const VOLTAGE_SOURCE: StageKind = StageKind {
    schema: Schema {
        name: "voltage-source",
        primary: Some("voltage"),
        fields: &[Field::required(
            "voltage",
            FieldKind::ValuedDifference(Dimension::VOLTAGE),
            "voltage added to the signal, \"0 V ± 5 µV\"",
        )],
        meaning: "a voltage in the signal's way, as contacts of two metals make",
    },
    write: |stage, bench| {
        let volt = bench.component(stage, "voltage")?;
        let next = bench.network.fresh(&stage.path);
        bench
            .network
            .voltage_source(&stage.path, next, bench.signal, volt);
        bench.signal = next;
        Ok(())
    },
};
