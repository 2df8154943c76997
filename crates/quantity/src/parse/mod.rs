//! Reading of values, ranges, tolerances, unknowns and accuracy terms.

mod accuracy;
mod cursor;
mod faults;
mod range;
mod value;
mod valued;

pub use accuracy::{accuracy, accuracy_term};
pub use range::{range, range_difference, unknown};
pub use value::{any, difference, value};
pub use valued::{valued, valued_difference};

pub(crate) use cursor::{first_code, first_unit};
