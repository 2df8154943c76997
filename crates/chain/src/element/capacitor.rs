//! A capacitor between two nodes.

use board::{Field, FieldKind, Schema};
use quantity::Dimension;

use super::{ElementKind, title};

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
                "resistance of its insulation, all that direct current sees of it; where not given it follows from a dielectric behind the value, X7R for example",
            ),
        ],
        meaning: "a capacitor between two nodes",
    },
    write: |element, sheet| {
        let (from, to) = sheet.ends(element)?;
        let farad = sheet.value(element, "c")?;
        let insulation = sheet.component(element, "insulation");
        if insulation.is_none()
            && let Some(siemens) = sheet.site.insulation(element, "c", &title(element), farad)
        {
            let name = format!("{}.insulation", element.path);
            sheet.network.conductance(&name, from, to, siemens);
        }
        sheet
            .network
            .capacitor(&element.path, from, to, farad, insulation);
        Ok(())
    },
};
