//! The kinds of parts, one file each, registered in [`kinds`].

mod amplifier;
mod analog_switch;
mod capacitor;
mod carrier;
mod controller;
mod converter;
mod digital_sensor;
mod diode;
mod instrumentation_amplifier;
mod logic;
mod reference;
mod regulator;
mod resistor;
mod sensor;
mod shared;
mod spec;
mod transistor;

use quantity::Dimension;

pub use spec::{Against, Allowed, FigureSpec, KindSpec};
pub(crate) use spec::{deviation, level, limit, of_quantity};

use crate::laws;

/// Every kind of part.
#[must_use]
pub fn kinds() -> &'static [KindSpec] {
    const TABLE: &[KindSpec] = &[
        controller::KIND,
        carrier::KIND,
        converter::KIND,
        reference::SERIES_KIND,
        reference::SHUNT_KIND,
        amplifier::KIND,
        instrumentation_amplifier::KIND,
        sensor::KIND,
        digital_sensor::KIND,
        regulator::KIND,
        transistor::KIND,
        logic::KIND,
        resistor::KIND,
        capacitor::KIND,
        diode::KIND,
        analog_switch::MULTIPLEXER,
        analog_switch::SWITCH,
    ];
    TABLE
}

/// The kind of this name.
#[must_use]
pub fn kind(name: &str) -> Option<&'static KindSpec> {
    kinds().iter().find(|k| k.name == name)
}

/// Which table of known figures holds at a place in a part or board file.
#[derive(Clone, Copy, Debug)]
pub enum Scope<'a> {
    /// The part as a whole.
    Part {
        /// Its kind.
        kind: &'static KindSpec,
        /// Dimension of the quantity it measures, if it does.
        quantity: Option<Dimension>,
        /// Name of its sensor law, if it has one.
        law: Option<&'a str>,
    },
    /// A converter.
    Converter,
    /// A reference inside a converter.
    Reference,
    /// A range of a converter.
    Range,
    /// A quantity that a digital sensor measures.
    Measure {
        /// Its dimension.
        quantity: Dimension,
    },
    /// A supply that a carrier brings out.
    Rail,
}

impl Scope<'_> {
    /// The scope of a part of this kind; `None` if there is no such kind.
    #[must_use]
    pub fn part<'a>(
        kind_name: &str,
        quantity: Option<Dimension>,
        law: Option<&'a str>,
    ) -> Option<Scope<'a>> {
        kind(kind_name).map(|kind| Scope::Part {
            kind,
            quantity,
            law,
        })
    }

    /// Every figure known here.
    #[must_use]
    pub fn known(&self) -> Vec<&'static FigureSpec> {
        match self {
            Scope::Part { kind, law, .. } => {
                let own = kind.all();
                let of_law = law.and_then(laws::law).map_or(&[][..], |l| l.figures);
                // A law's own meaning of a name wins over the general one.
                of_law
                    .iter()
                    .chain(own.filter(|f| of_law.iter().all(|l| l.name != f.name)))
                    .collect()
            }
            Scope::Converter => converter::UNIT.iter().collect(),
            Scope::Reference => converter::REFERENCE.iter().collect(),
            Scope::Range => converter::RANGE.iter().collect(),
            Scope::Measure { .. } => digital_sensor::MEASURE.iter().collect(),
            Scope::Rail => carrier::RAIL.iter().collect(),
        }
    }

    /// The figure of this name.
    #[must_use]
    pub fn figure(&self, name: &str) -> Option<&'static FigureSpec> {
        self.known().into_iter().find(|f| f.name == name)
    }

    /// Dimension of the measured quantity, if there is one here.
    #[must_use]
    pub fn quantity(&self) -> Option<Dimension> {
        match self {
            Scope::Part { quantity, .. } => *quantity,
            Scope::Measure { quantity } => Some(*quantity),
            _ => None,
        }
    }

    /// What the place is called in messages.
    #[must_use]
    pub fn describe(&self) -> String {
        match self {
            Scope::Part { kind, law, .. } => match law {
                Some(law) => format!("a {} by the law {law}", kind.name),
                None => format!("a part of kind {}", kind.name),
            },
            Scope::Converter => "a converter".to_owned(),
            Scope::Reference => "a converter's reference".to_owned(),
            Scope::Range => "a converter's range".to_owned(),
            Scope::Measure { .. } => "a digital measurement".to_owned(),
            Scope::Rail => "a carrier's rail".to_owned(),
        }
    }
}
