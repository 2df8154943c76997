//! A voltage of its own between two nodes.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::ElementKind;

pub(super) const VOLTAGE_SOURCE: ElementKind = ElementKind {
    schema: Schema {
        name: "voltage-source",
        primary: Some("v"),
        fields: &[Field::required(
            "v",
            FieldKind::Valued(Dimension::VOLTAGE),
            "voltage by which `from` lies above `to`",
        )],
        meaning: "holds a voltage between two nodes",
    },
    write: |element, sheet| {
        let (from, to) = sheet.ends(element)?;
        let volt = sheet.value(element, "v")?;
        sheet.network.voltage_source(&element.path, from, to, volt);
        Ok(())
    },
};
