//! A part as the rest of the program sees it.

use std::collections::BTreeMap;

use finding::Span;
use quantity::Dimension;

use crate::figure::Figure;
use crate::provenance::{Basis, Origin, Source};

/// Figures by name.
pub type Figures = BTreeMap<String, Figure>;

/// How a converter turns a fraction into a code.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Rounding {
    /// Code n covers n to n + 1 code widths: the first transition is at one code width.
    #[default]
    Floor,
    /// Code n is centred on n code widths: the first transition is at half a code width.
    Nearest,
}

impl Rounding {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, Rounding); 2] =
        [("floor", Rounding::Floor), ("nearest", Rounding::Nearest)];
}

/// One input of a converter.
#[derive(Clone, Debug, PartialEq)]
pub struct ConverterChannel {
    /// Name as the part gives it, such as `"3"`.
    pub name: String,
    /// Pin it is brought out on; empty for an internal channel.
    pub pin: String,
    /// Pin of the minus input, for a differential channel; empty otherwise.
    pub minus: String,
    /// Where it is written.
    pub span: Span,
}

/// A voltage the converter can compare against.
#[derive(Clone, Debug, PartialEq)]
pub struct ReferenceChoice {
    /// Name used in board files, such as `"internal"`.
    pub name: String,
    /// Supply it is taken from, if it is one.
    pub from: Option<String>,
    /// Share of that supply.
    pub share: f64,
    /// Pin it is brought in or out on; empty if none.
    pub pin: String,
    /// Figures of an internal reference.
    pub figures: Figures,
    /// Where it is written.
    pub span: Span,
}

/// A measuring range that can be set, with the figures that hold in it.
///
/// Where a range is chosen its `span` is what full scale stands for.
#[derive(Clone, Debug, PartialEq)]
pub struct ConverterRange {
    /// Name used in board files.
    pub name: String,
    /// Figures in this range, `span` among them.
    pub figures: Figures,
    /// Where it is written.
    pub span: Span,
}

/// One converter inside a part.
#[derive(Clone, Debug, PartialEq)]
pub struct ConverterUnit {
    /// Name used in board files, such as `"adc"`.
    pub name: String,
    /// Bits of the code.
    pub bits: u8,
    /// How the code is rounded.
    pub rounding: Rounding,
    /// Whether it measures between two pins.
    pub differential: bool,
    /// Whether the code is signed about zero.
    pub bipolar: bool,
    /// Whether it averages by its nature (delta-sigma) instead of sampling an instant.
    pub delta_sigma: bool,
    /// Gains that can be set; empty without a programmable amplifier.
    pub gains: Vec<f64>,
    /// Inputs; empty where the map of channels is not known, and then a channel
    /// may have any name.
    pub channels: Vec<ConverterChannel>,
    /// Voltages it can compare against.
    pub references: Vec<ReferenceChoice>,
    /// Ranges that can be set.
    pub ranges: Vec<ConverterRange>,
    /// Figures that hold in all of them.
    pub figures: Figures,
    /// Where it is written.
    pub span: Span,
}

/// A pin of a controller.
#[derive(Clone, Debug, PartialEq)]
pub struct Pin {
    /// Name.
    pub name: String,
    /// Functions it can take, such as `"adc.0"` or `"i2c1.clock"`.
    pub functions: Vec<String>,
    /// What to mind: words from [`crate::PIN_ATTRIBUTES`].
    pub attributes: Vec<String>,
    /// Where it is written.
    pub span: Span,
}

/// A quantity that a digital sensor measures.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// Name of the quantity.
    pub quantity: String,
    /// Its dimension.
    pub dimension: Dimension,
    /// Figures of this measurement.
    pub figures: Figures,
    /// Where it is written.
    pub span: Span,
}

/// A supply that a carrier brings out.
#[derive(Clone, Debug, PartialEq)]
pub struct CarrierRail {
    /// Name used in board files.
    pub name: String,
    /// Supply of the controller that it feeds, if any.
    pub feeds: Vec<String>,
    /// Figures: voltage, output-current and so on.
    pub figures: Figures,
    /// Where it is written.
    pub span: Span,
}

/// A part, or one grade of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Unique name used in board files.
    pub id: String,
    /// Kind of part: one of [`crate::kinds`].
    pub kind: String,
    /// What it is, one line.
    pub title: String,
    /// Who makes it; empty for generic parts.
    pub maker: String,
    /// The quantity it measures, for sensors.
    pub quantity: Option<String>,
    /// The sensor law, for sensors.
    pub law: Option<String>,
    /// Words that the law needs, such as the type of a thermocouple.
    pub options: BTreeMap<String, String>,
    /// Free text.
    pub note: String,
    /// Basis of the figures that state none.
    pub basis: Basis,
    /// Source of the figures that state none.
    pub source: Source,
    /// Figures of the part as a whole.
    pub figures: Figures,
    /// What a digital sensor measures.
    pub measures: Vec<Measure>,
    /// Converters in the part.
    pub converters: Vec<ConverterUnit>,
    /// Pins, for controllers.
    pub pins: Vec<Pin>,
    /// Digital buses it speaks.
    pub buses: Vec<String>,
    /// Seven-bit bus addresses it can have.
    pub addresses: Vec<u8>,
    /// Serial peripheral bus modes it accepts, 0 to 3.
    pub spi_modes: Vec<u8>,
    /// What a driver must know of it: words from [`crate::HABITS`].
    pub habits: Vec<String>,
    /// The controller on a carrier.
    pub controller: Option<String>,
    /// Pins of that controller which the carrier brings out.
    pub exposes: Vec<String>,
    /// Figures that a generic part leaves to the board, `quantity` among them
    /// where the part measures whatever it is built for.
    pub open: Vec<String>,
    /// Supplies which the carrier brings out.
    pub rails: Vec<CarrierRail>,
    /// Where the part was described.
    pub origin: Origin,
    /// Where it is written.
    pub span: Span,
}

impl Part {
    /// A figure of the part as a whole.
    #[must_use]
    pub fn figure(&self, name: &str) -> Option<&Figure> {
        self.figures.get(name)
    }

    /// A converter by name; an empty name finds the only one.
    #[must_use]
    pub fn converter(&self, name: &str) -> Option<&ConverterUnit> {
        match (name, self.converters.as_slice()) {
            ("", [only]) => Some(only),
            _ => self.converters.iter().find(|unit| unit.name == name),
        }
    }

    /// A pin by name.
    #[must_use]
    pub fn pin(&self, name: &str) -> Option<&Pin> {
        self.pins.iter().find(|pin| pin.name == name)
    }

    /// A measured quantity by name.
    #[must_use]
    pub fn measure(&self, quantity: &str) -> Option<&Measure> {
        self.measures.iter().find(|m| m.quantity == quantity)
    }

    /// Every figure of the part, with the place it belongs to: `""` for the
    /// part itself, else such as `"adc"` or `"adc/internal"`.
    #[must_use]
    pub fn all_figures(&self) -> Vec<(String, &Figure)> {
        let mut all: Vec<(String, &Figure)> = Vec::new();
        all.extend(self.figures.values().map(|f| (String::new(), f)));
        for m in &self.measures {
            all.extend(m.figures.values().map(|f| (m.quantity.clone(), f)));
        }
        for unit in &self.converters {
            all.extend(unit.figures.values().map(|f| (unit.name.clone(), f)));
            for reference in &unit.references {
                let place = format!("{}/{}", unit.name, reference.name);
                all.extend(reference.figures.values().map(|f| (place.clone(), f)));
            }
            for range in &unit.ranges {
                let place = format!("{}/{}", unit.name, range.name);
                all.extend(range.figures.values().map(|f| (place.clone(), f)));
            }
        }
        for rail in &self.rails {
            all.extend(rail.figures.values().map(|f| (rail.name.clone(), f)));
        }
        all
    }
}

impl Part {
    /// The controller as a carrier brings it out: its converters with the
    /// channels whose pins the carrier exposes, under the carrier's name. A
    /// reference whose pin stays on the carrier is not offered.
    #[must_use]
    pub fn carried_by(&self, carrier: &Part) -> Part {
        let out = |pin: &str| pin.is_empty() || carrier.exposes.iter().any(|e| e == pin);
        let mut part = Part {
            id: carrier.id.clone(),
            title: carrier.title.clone(),
            exposes: carrier.exposes.clone(),
            rails: carrier.rails.clone(),
            origin: carrier.origin.clone(),
            span: carrier.span,
            ..self.clone()
        };
        // What is drawn is what the whole carrier draws.
        for name in ["supply-current", "standby-current"] {
            if let Some(f) = carrier.figures.get(name) {
                part.figures.insert(name.to_owned(), f.clone());
            }
        }
        for unit in &mut part.converters {
            unit.channels.retain(|c| out(&c.pin));
            unit.references.retain(|r| out(&r.pin));
        }
        part.pins.retain(|p| out(&p.name));
        part
    }
}

impl ConverterUnit {
    /// A figure of the unit.
    #[must_use]
    pub fn figure(&self, name: &str) -> Option<&Figure> {
        self.figures.get(name)
    }

    /// A reference by name.
    #[must_use]
    pub fn reference(&self, name: &str) -> Option<&ReferenceChoice> {
        self.references.iter().find(|r| r.name == name)
    }

    /// A channel by name or pin.
    #[must_use]
    pub fn channel(&self, name: &str) -> Option<&ConverterChannel> {
        self.channels.iter().find(|c| c.name == name).or_else(|| {
            self.channels
                .iter()
                .find(|c| !name.is_empty() && c.pin == name)
        })
    }

    /// A range by name.
    #[must_use]
    pub fn range(&self, name: &str) -> Option<&ConverterRange> {
        self.ranges.iter().find(|r| r.name == name)
    }
}
