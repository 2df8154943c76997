//! Parts: what a part file says, whether it makes sense, and the library that
//! comes with the program.
//!
//! A part file is TOML, one file for each family of parts. Every number in it
//! is a [`Figure`] that knows its columns, its role, its conditions and where
//! it was read; [`Figure::spread`] says what may be true of it. Which figures
//! a part may have is listed by [`kinds`] and [`laws`]. Nothing here computes
//! a circuit.
//!
//! ```
//! let library = parts::Library::shipped();
//! let controller = library.get("stm32f103").unwrap();
//! let adc = controller.converter("adc").unwrap();
//! assert_eq!(adc.bits, 12);
//! let error = &adc.figures["total-unadjusted-error"];
//! assert_eq!(error.max, Some(5.0));
//! assert!(error.source.to_string().ends_with("Table 49"));
//! ```

mod checks;
mod figure;
mod in_place;
mod kinds;
mod laws;
mod library;
mod merge;
mod number;
mod part;
mod provenance;
mod quantities;
mod read_converter;
mod read_figure;
mod read_part;
mod shipped;
mod spread;

pub use figure::{Column, DriftMethod, Figure, Role, ShapeName, SupplyTerm};
pub use in_place::{
    converter_in_place, figure_in_place, part_in_place, part_like, sensor_figures, with_figures,
};
pub use kinds::{Against, Allowed, FigureSpec, KindSpec, Scope, kind, kinds};
pub use laws::{LawSpec, law, laws};
pub use library::{DIELECTRICS, Library, dielectric};
pub use part::{
    CarrierRail, ConverterChannel, ConverterRange, ConverterUnit, Figures, Measure, Part, Pin,
    ReferenceChoice, Rounding,
};
pub use provenance::{Basis, Origin, Source};
pub use quantities::{BUSES, HABITS, PIN_ATTRIBUTES, SUPPLIES, quantity_dimension, quantity_names};
pub use read_figure::{Defaults, settle_nominals};
pub use read_part::parse;
pub use spread::{Spread, SpreadShape};
