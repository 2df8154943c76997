//! Two resistors between the signal and a fixed voltage; the signal goes on
//! from between.

use board::{Field, FieldKind, Schema};

use super::StageKind;
use super::bench::OHM;

pub(super) const LEVEL_SHIFT: StageKind = StageKind {
    schema: Schema {
        name: "level-shift",
        primary: None,
        fields: &[
            Field::required("r", OHM, "resistor in the signal's way"),
            Field::required("shift", OHM, "resistor from there to `to`"),
            Field::required(
                "to",
                FieldKind::Supply,
                "rail or reference it is shifted towards",
            ),
        ],
        meaning: "divides the signal and moves it towards a fixed voltage",
    },
    write: |stage, bench| {
        let r = bench.component(stage, "r")?;
        let shift = bench.component(stage, "shift")?;
        let to = bench.supply(stage, "to");
        let middle = bench.network.fresh(&stage.path);
        bench
            .network
            .resistor(&format!("{}.r", stage.path), bench.signal, middle, r);
        bench
            .network
            .resistor(&format!("{}.shift", stage.path), to, middle, shift);
        bench.signal = middle;
        Ok(())
    },
};
