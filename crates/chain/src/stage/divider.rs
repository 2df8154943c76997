//! Two resistors across the signal; the signal goes on from between.

use board::{Field, FieldKind, Schema};

use super::StageKind;
use super::bench::OHM;
use super::multiplexer::on_resistance;

pub(super) const DIVIDER: StageKind = StageKind {
    schema: Schema {
        name: "divider",
        primary: None,
        fields: &[
            Field::required("top", OHM, "resistor on the signal's side"),
            Field::required(
                "bottom",
                OHM,
                "resistor to what the signal is counted from: ground, or a bridge's other node",
            ),
            Field::optional(
                "switch",
                FieldKind::Part(&["switch", "multiplexer"]),
                "switch that connects the divider while it is read",
            ),
            Field::optional(
                "at",
                FieldKind::Word(&["top", "bottom"]),
                "resistor the switch stands in series with; top if not given",
            ),
            Field::optional("supply", FieldKind::Supply, "rail that feeds the switch"),
        ],
        meaning: "divides the signal by two resistors",
    },
    write: |stage, bench| {
        let mut top = bench.component(stage, "top")?;
        let mut bottom = bench.component(stage, "bottom")?;
        if let Some(part) = stage.part("switch") {
            let closed = on_resistance(stage, bench, "switch.", part)?;
            if stage.word("at") == Some("bottom") {
                bottom = bottom + closed;
            } else {
                top = top + closed;
            }
        }
        let middle = bench.network.fresh(&stage.path);
        bench
            .network
            .resistor(&format!("{}.top", stage.path), bench.signal, middle, top);
        bench.network.resistor(
            &format!("{}.bottom", stage.path),
            middle,
            bench.minus,
            bottom,
        );
        bench.signal = middle;
        Ok(())
    },
};
