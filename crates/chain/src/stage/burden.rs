//! A resistor that turns a current into a voltage.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::bench::OHM;
use super::{Rated, Rating, StageKind};

pub(super) const BURDEN: StageKind = StageKind {
    schema: Schema {
        name: "burden",
        primary: Some("r"),
        fields: &[
            Field::required("r", OHM, "resistor the current flows through"),
            Field::optional(
                "to",
                FieldKind::Supply,
                "rail or reference it ends on, as the source's foot does; what the signal is counted from if not given",
            ),
            Field::optional(
                "power",
                FieldKind::Valued(Dimension::POWER),
                "power it may dissipate",
            ),
        ],
        meaning: "turns the signal's current into a voltage",
    },
    write: |stage, bench| {
        let r = bench.component(stage, "r")?;
        let end = if stage.supply("to").is_some() {
            bench.supply(stage, "to")
        } else {
            bench.minus
        };
        bench.network.resistor(&stage.path, bench.signal, end, r);
        if stage.valued("power").is_some() {
            bench.ratings.push(Rating {
                kind: "resistor-power",
                path: stage.path.clone(),
                of: String::new(),
                rated: Rated::Power(stage.path.clone()),
                limit: bench.component(stage, "power")?,
                source: "the board file".to_owned(),
            });
        }
        Ok(())
    },
};
