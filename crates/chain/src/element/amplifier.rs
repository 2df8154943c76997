//! An operational amplifier between nodes.

use board::{Field, FieldKind, Schema, Supply};
use circuit::Node;

use super::{ElementKind, title};
use crate::channel::Fitted;

pub(super) const AMPLIFIER: ElementKind = ElementKind {
    schema: Schema {
        name: "amplifier",
        primary: Some("part"),
        fields: &[
            Field::required(
                "part",
                FieldKind::Part(&["amplifier"]),
                "operational amplifier, from the library or in place",
            ),
            Field::required("plus", FieldKind::Node, "non-inverting input"),
            Field::required("minus", FieldKind::Node, "inverting input"),
            Field::required("out", FieldKind::Node, "output"),
            Field::required(
                "supply",
                FieldKind::Supply,
                "rail at its positive supply pin",
            ),
            Field::optional(
                "negative",
                FieldKind::Supply,
                "rail at its negative supply pin; ground if not given",
            ),
        ],
        meaning: "an operational amplifier",
    },
    write: |element, sheet| {
        let Some(part) = element.part("part") else {
            return Ok(());
        };
        let name = title(element);
        let supply = |key: &str| element.supply(key).map_or(Supply::Ground, |s| s.value);
        let fitted = Fitted {
            path: &element.path,
            name: &name,
            span: element.span_of("supply"),
            part,
            high: supply("supply"),
            low: supply("negative"),
        };
        let (plus, minus) = (sheet.at(element, "plus")?, sheet.at(element, "minus")?);
        let out = sheet.at(element, "out")?;
        let model = sheet.site.amplifier(&fitted)?;
        let high = sheet.site.supply_node(sheet.network, fitted.high)?;
        let low = sheet.site.supply_node(sheet.network, fitted.low)?;
        sheet
            .network
            .amplifier(&element.path, plus, minus, out, high, low, model);
        if let Some(ohm) = sheet.site.input_resistance(&fitted, "input-resistance")? {
            for (which, node) in [("plus", plus), ("minus", minus)] {
                let path = format!("{}.input-resistance.{which}", element.path);
                sheet.network.resistor(&path, node, Node::GROUND, ohm);
            }
        }
        Ok(())
    },
};
