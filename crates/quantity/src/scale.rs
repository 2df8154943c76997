//! The unit the user wrote, so that results come back in it.

use crate::dimension::Dimension;
use crate::parse::{first_code, first_unit};
use crate::print::{celsius, engineering, plain, prefix, symbol};
use crate::unit::{Unit, unit};

/// A unit of the user's choice: SI value = number · factor + offset.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitScale {
    /// Canonical spelling of the unit, prefix included.
    pub symbol: String,
    /// Factor to the coherent SI unit.
    pub factor: f64,
    /// Kelvin added after scaling; not zero only for °C.
    pub offset: f64,
}

impl UnitScale {
    /// The number to print for an SI value (an absolute temperature in kelvin).
    pub fn number(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }

    /// The number to print for a difference of SI values: no offset.
    pub fn number_of_difference(&self, si: f64) -> f64 {
        si / self.factor
    }

    /// An SI value in this unit, `digits` significant digits, no prefix added.
    pub fn display(&self, si: f64, digits: usize) -> String {
        if self.symbol == "°C" {
            return celsius(self.number(si), digits);
        }
        format!("{} {}", plain(self.number(si), digits), self.symbol)
    }

    /// A difference in this unit; for °C it is printed in K.
    pub fn display_difference(&self, si: f64, digits: usize) -> String {
        if self.symbol == "°C" {
            return engineering(si, "K", digits);
        }
        format!(
            "{} {}",
            plain(self.number_of_difference(si), digits),
            self.symbol
        )
    }
}

/// The first unit written in a value, range, tolerance or unknown.
///
/// `None` for a text without any unit and for decibels, which have no factor.
/// Where the dimension is known, [`scale_for`] is safer: it knows value codes
/// and passes over units of other dimensions.
///
/// ```
/// let scale = quantity::scale_of("0 to 10 kPa").unwrap();
/// assert_eq!((scale.symbol.as_str(), scale.factor), ("kPa", 1000.0));
/// assert_eq!(scale.display(2_500.0, 3), "2.50 kPa");
/// ```
pub fn scale_of(text_with_unit: &str) -> Option<UnitScale> {
    first_unit(text_with_unit, None).and_then(scale)
}

/// The first unit of the expected dimension written in `text`; a value code gives
/// the unit its multiplier letter stands for.
///
/// ```
/// use quantity::{Dimension, scale_for};
/// // As a resistance this is 27 kΩ, not 27 K.
/// assert_eq!(scale_for("27K 5 %", Dimension::RESISTANCE).unwrap().symbol, "kΩ");
/// ```
pub fn scale_for(text: &str, expected: Dimension) -> Option<UnitScale> {
    if let Some(unit) = first_unit(text, Some(expected)) {
        return scale(unit);
    }
    let ten = first_code(text, expected)?.ten;
    let symbol = format!("{}{}", prefix(ten)?, symbol(expected)?);
    unit(&symbol).and_then(scale)
}

fn scale(unit: Unit) -> Option<UnitScale> {
    (!unit.decibel).then_some(UnitScale {
        symbol: unit.symbol,
        factor: unit.factor,
        offset: unit.offset,
    })
}
