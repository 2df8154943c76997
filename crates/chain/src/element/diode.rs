//! A diode between two nodes, by its curve.

use board::{Field, FieldKind, Schema};

use super::{ElementKind, title};

pub(super) const DIODE: ElementKind = ElementKind {
    schema: Schema {
        name: "diode",
        primary: Some("part"),
        fields: &[Field::required(
            "part",
            FieldKind::Part(&["diode"]),
            "part with its curve; it conducts from `from` to `to`",
        )],
        meaning: "a diode, or a Zener from anode to cathode",
    },
    write: |element, sheet| {
        let (from, to) = sheet.ends(element)?;
        if let Some(part) = element.part("part") {
            let curve = sheet
                .site
                .diode(&element.path, &title(element), part, element.span)?;
            sheet.network.conductor(&element.path, from, to, curve);
        }
        Ok(())
    },
};
