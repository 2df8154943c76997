//! Elements of a network between named nodes: each one file, registered in
//! [`ELEMENTS`].

mod amplifier;
mod capacitor;
mod current_source;
mod diode;
mod lead;
mod resistor;
mod sensor;
mod sheet;
mod short;
mod switch;
mod voltage_source;

use board::{Schema, Stage};

pub use sheet::{Placement, Sheet};

use crate::channel::Unmodelled;

/// One kind of element.
pub struct ElementKind {
    /// How it is written; besides its own keys every element has `name`, and
    /// `from` and `to` where it has no node keys of its own.
    pub schema: Schema,
    /// Puts it into the network.
    pub write: fn(&Stage, &mut Sheet<'_, '_>) -> Result<(), Unmodelled>,
}

/// Every element there is.
pub static ELEMENTS: &[ElementKind] = &[
    resistor::RESISTOR,
    lead::LEAD,
    capacitor::CAPACITOR,
    voltage_source::VOLTAGE_SOURCE,
    current_source::CURRENT_SOURCE,
    sensor::SENSOR,
    switch::SWITCH,
    diode::DIODE,
    amplifier::AMPLIFIER,
    short::SHORT,
];

/// The element of this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static ElementKind> {
    ELEMENTS.iter().find(|e| e.schema.name == name)
}

/// What an element is called in messages and in the budget: the name given to
/// it, else its kind and its place in the list, counted from one.
#[must_use]
pub fn title(element: &Stage) -> String {
    match element.name.parse::<usize>() {
        Ok(n) if !element.fields.contains_key("name") => format!("{} {}", element.kind, n + 1),
        _ => element.name.clone(),
    }
}
