//! A capacitor between two nodes.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::ElementKind;

pub(super) const CAPACITOR: ElementKind = ElementKind {
    schema: Schema {
        name: "capacitor",
        primary: Some("c"),
        fields: &[
            Field::required(
                "c",
                FieldKind::Valued(Dimension::CAPACITANCE),
                "capacitance",
            ),
            Field::optional(
                "insulation",
                FieldKind::Valued(Dimension::RESISTANCE),
                "resistance of its insulation, all that direct current sees of it",
            ),
        ],
        meaning: "a capacitor between two nodes",
    },
    write: |element, sheet| {
        let (from, to) = sheet.ends(element)?;
        let farad = sheet.value(element, "c")?;
        let insulation = sheet.component(element, "insulation");
        sheet
            .network
            .capacitor(&element.path, from, to, farad, insulation);
        Ok(())
    },
};
