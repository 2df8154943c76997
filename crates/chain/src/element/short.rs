//! A connection between two nodes.

use board::Schema;

use super::ElementKind;

pub(super) const SHORT: ElementKind = ElementKind {
    schema: Schema {
        name: "short",
        primary: None,
        fields: &[],
        meaning: "joins two nodes: { short = true, from = \"a\", to = \"b\" }",
    },
    write: |element, sheet| {
        let (from, to) = sheet.ends(element)?;
        let zero = sheet.network.builder().zero();
        sheet.network.resistor(&element.path, from, to, zero);
        Ok(())
    },
};
