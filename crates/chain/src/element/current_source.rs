//! A current of its own through two nodes.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::ElementKind;

pub(super) const CURRENT_SOURCE: ElementKind = ElementKind {
    schema: Schema {
        name: "current-source",
        primary: Some("i"),
        fields: &[Field::required(
            "i",
            FieldKind::Valued(Dimension::CURRENT),
            "current that leaves it at `to`",
        )],
        meaning: "takes a current in at `from` and gives it at `to`",
    },
    write: |element, sheet| {
        let (from, to) = sheet.ends(element)?;
        let ampere = sheet.value(element, "i")?;
        sheet
            .network
            .current_source(&element.path, from, to, ampere);
        Ok(())
    },
};
