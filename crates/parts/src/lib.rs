//! Parts: their figures with provenance and roles.
//!
//! A figure keeps where it comes from, what its limits mean and under which
//! conditions they hold; [`Figure::spread`] says what may be true of the value.

mod figure;
mod in_place;
mod kinds;
mod laws;
mod library;
mod part;
mod provenance;
mod quantities;
mod spread;

pub use figure::{Column, DriftMethod, Figure, Role, ShapeName, SupplyTerm};
pub use in_place::{
    Defaults, converter_in_place, figure_in_place, part_in_place, sensor_figures, with_figures,
};
pub use kinds::{Against, Allowed, FigureSpec, KindSpec, Scope, kind, kinds};
pub use laws::{LawSpec, law, laws};
pub use library::Library;
pub use part::{
    CarrierRail, ConverterChannel, ConverterRange, ConverterUnit, Figures, Measure, Part, Pin,
    ReferenceChoice, Rounding,
};
pub use provenance::{Basis, Origin, Source};
pub use quantities::{BUSES, PIN_ATTRIBUTES, SUPPLIES, quantity_dimension, quantity_names};
pub use spread::{Spread, SpreadShape};
