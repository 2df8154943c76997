//! A copper wire with its resistance.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::ElementKind;

pub(super) const LEAD: ElementKind = ElementKind {
    schema: Schema {
        name: "lead",
        primary: Some("r"),
        fields: &[Field::required(
            "r",
            FieldKind::Valued(Dimension::RESISTANCE),
            "resistance of the wire at 25 °C",
        )],
        meaning: "a copper wire; its resistance follows the ambient temperature",
    },
    write: |element, sheet| {
        let (from, to) = sheet.ends(element)?;
        let ohm = sheet.value(element, "r")?;
        // A drift written for it replaces copper's.
        let own = element
            .valued("r")
            .is_some_and(|v| v.value.drift_per_k.is_some());
        let ohm = if own { ohm } else { sheet.site.copper(ohm) };
        sheet.network.resistor(&element.path, from, to, ohm);
        Ok(())
    },
};
