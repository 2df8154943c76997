//! A resistor between two nodes.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::ElementKind;

pub(super) const RESISTOR: ElementKind = ElementKind {
    schema: Schema {
        name: "resistor",
        primary: Some("r"),
        fields: &[Field::required(
            "r",
            FieldKind::Valued(Dimension::RESISTANCE),
            "resistance",
        )],
        meaning: "a resistor between two nodes",
    },
    write: |element, sheet| {
        let (from, to) = sheet.ends(element)?;
        let ohm = sheet.value(element, "r")?;
        sheet.network.resistor(&element.path, from, to, ohm);
        Ok(())
    },
};
