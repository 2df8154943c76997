//! A switch in one of its states.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::ElementKind;

pub(super) const SWITCH: ElementKind = ElementKind {
    schema: Schema {
        name: "switch",
        primary: Some("state"),
        fields: &[
            Field::required(
                "state",
                FieldKind::Word(&["open", "closed"]),
                "open or closed",
            ),
            Field::optional(
                "on",
                FieldKind::Valued(Dimension::RESISTANCE),
                "resistance when closed; a short where not given",
            ),
            Field::optional(
                "off",
                FieldKind::Valued(Dimension::RESISTANCE),
                "resistance when open; none where not given",
            ),
        ],
        meaning: "a switch between two nodes",
    },
    write: |element, sheet| {
        let (from, to) = sheet.ends(element)?;
        let b = sheet.network.builder();
        let on = sheet.component(element, "on").unwrap_or_else(|| b.zero());
        let off = sheet
            .component(element, "off")
            .unwrap_or_else(|| b.constant(f64::INFINITY));
        let closed = element.word("state") == Some("closed");
        sheet
            .network
            .switch(&element.path, from, to, closed, on, off);
        Ok(())
    },
};
