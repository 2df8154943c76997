//! A channel's sensor between nodes.

use board::{Field, FieldKind, Schema};

use super::ElementKind;

pub(super) const SENSOR: ElementKind = ElementKind {
    schema: Schema {
        name: "sensor",
        primary: Some("of"),
        fields: &[
            Field::required("of", FieldKind::Channel, "channel whose sensor it is"),
            Field::required(
                "from",
                FieldKind::Node,
                "one terminal; the upper one of what is fed by a voltage",
            ),
            Field::required("to", FieldKind::Node, "the other terminal"),
            Field::optional(
                "plus",
                FieldKind::Node,
                "output of a sensor that gives a share of the voltage between `from` and `to`",
            ),
            Field::optional("minus", FieldKind::Node, "other output of a bridge"),
            Field::optional(
                "times",
                FieldKind::Number,
                "what this piece meets is the quantity times this: -1 for a gauge on the other face",
            ),
        ],
        meaning: "a channel's sensor; one made of several pieces is written once for each",
    },
    write: |element, sheet| sheet.sensor(element),
};
