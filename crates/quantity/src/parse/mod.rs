//! Reading of values, ranges, tolerances, unknowns and accuracy terms.

mod accuracy;
mod cursor;
mod faults;
mod range;
mod resolve;
mod slips;
mod tail;
mod value;
mod valued;
mod written;

pub use accuracy::{accuracy, accuracy_term};
pub use range::{range, range_difference, unknown};
pub use value::{any, difference, value};
pub use valued::{valued, valued_difference};

pub(crate) use written::{first_code, first_unit};
