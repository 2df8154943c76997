//! Engineering quantities: dimensions, values with tolerance and drift, ranges,
//! their reading and printing, and the preferred numbers of IEC 60063.
#![cfg_attr(test, allow(clippy::float_cmp))]

mod decimal;
mod dimension;
mod fault;
mod kinds;
mod parse;
mod print;
mod scale;
mod series;
mod spelling;
mod tolerance;
mod unit;
mod unit_expression;
mod unit_table;
mod value_code;

pub use dimension::Dimension;
pub use fault::Fault;
pub use parse::{
    accuracy, accuracy_term, any, difference, range, range_difference, unknown, value, valued,
    valued_difference,
};
pub use print::{display, display_temperature, engineering, plain, symbol, with_uncertainty};
pub use scale::{UnitScale, scale_for, scale_of};
pub use series::Series;
pub use tolerance::{AccuracyTerm, Part, Quantity, Range, Tolerance, Unknown, Valued};
pub use unit::{Unit, unit};
