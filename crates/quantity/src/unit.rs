//! Units: names, prefixes, and expressions such as `nV/√Hz` or `ppm/K`.

use crate::decimal::power_of_ten;
use crate::dimension::Dimension;
use crate::unit_expression;
use crate::unit_table::{PREFIXES, UNITS, UnitName};

/// A factor kept as 10^`ten` · `multiplier` / `divisor`, so that decimal
/// prefixes never cost a rounding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Factor {
    pub(crate) ten: i32,
    pub(crate) multiplier: f64,
    pub(crate) divisor: f64,
}

impl Factor {
    pub(crate) const ONE: Self = Self {
        ten: 0,
        multiplier: 1.0,
        divisor: 1.0,
    };

    /// `10^ten`.
    pub(crate) const fn ten(ten: i32) -> Self {
        Self { ten, ..Self::ONE }
    }

    pub(crate) fn times(self, other: Self) -> Self {
        Self {
            ten: self.ten.saturating_add(other.ten),
            multiplier: self.multiplier * other.multiplier,
            divisor: self.divisor * other.divisor,
        }
    }

    pub(crate) fn inverse(self) -> Self {
        Self {
            ten: self.ten.saturating_neg(),
            multiplier: self.divisor,
            divisor: self.multiplier,
        }
    }

    pub(crate) fn root(self) -> Self {
        let odd = self.ten.rem_euclid(2);
        let lift = if odd == 1 { 10.0 } else { 1.0 };
        Self {
            ten: (self.ten - odd) / 2,
            multiplier: (self.multiplier * lift).sqrt(),
            divisor: self.divisor.sqrt(),
        }
    }

    /// The factor as one number.
    pub(crate) fn value(self) -> f64 {
        let scale = self.multiplier / self.divisor;
        if self.ten == 0 {
            scale
        } else if scale == 1.0 {
            power_of_ten(self.ten)
        } else if self.ten < 0 {
            // Dividing by a whole power of ten rounds once less than multiplying by its inverse.
            self.multiplier / (self.divisor * power_of_ten(self.ten.saturating_neg()))
        } else {
            self.multiplier * power_of_ten(self.ten) / self.divisor
        }
    }
}

/// A unit as it may be written, in canonical spelling.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// Canonical spelling: `Ω` for `ohm`, `µ` (U+00B5) for `u`.
    pub symbol: String,
    /// Factor to the coherent SI unit (the pseudo-units LSB, pH, %RH count as coherent).
    pub factor: f64,
    /// Added after scaling to reach kelvin; not zero only for °C.
    pub offset: f64,
    /// Dimension of the unit.
    pub dimension: Dimension,
    pub(crate) exact: Factor,
    /// Decibels: the value is an amplitude ratio 10^(x/20).
    pub(crate) decibel: bool,
    /// Parts per hundred, thousand, million, billion: a share of something.
    pub(crate) share: bool,
    /// Whether an SI prefix may be put in front of the symbol.
    pub(crate) prefixable: bool,
}

/// Reads a unit expression, `None` if it is not one.
///
/// Products with `·`, `*` or `⋅`, quotients with `/`, powers with `^2`, `²` or a
/// plain digit, roots with `√` or `rt`, brackets; a product after a quotient needs
/// brackets, because "a/b·c" is read in two ways. `C` is the coulomb; degrees are
/// `°C` or `degC`. A year is 365.25 days. `S/s` is samples per second.
///
/// ```
/// let density = quantity::unit("nV/rtHz").unwrap();
/// assert_eq!(density.symbol, "nV/√Hz");
/// assert_eq!(density.dimension, quantity::Dimension::VOLTAGE_NOISE_DENSITY);
/// assert_eq!(density.factor, 1e-9);
/// assert!(quantity::unit("J/kg·K").is_none());
/// assert!(quantity::unit("J/(kg·K)").is_some());
/// ```
pub fn unit(text: &str) -> Option<Unit> {
    // Nothing longer is a unit, and the bound keeps the work small on any input.
    if text.is_empty() || text.len() > 80 {
        return None;
    }
    if let Some(found) = whole(text) {
        return Some(found);
    }
    let found = unit_expression::read(text)?;
    let factor = found.factor.value();
    if !(factor.is_finite() && factor > 0.0) {
        return None;
    }
    Some(Unit {
        symbol: found.symbol,
        factor,
        offset: 0.0,
        dimension: found.dimension,
        exact: found.factor,
        decibel: false,
        share: false,
        prefixable: found.prefixable,
    })
}

/// A unit that stands alone: a single name, samples per second, or °C with its offset.
fn whole(text: &str) -> Option<Unit> {
    if let Some(prefix) = text.strip_suffix("S/s") {
        let (ten, prefix) = if prefix.is_empty() {
            (0, "")
        } else {
            PREFIXES
                .iter()
                .find(|p| p.spelling == prefix && !p.restricted)
                .map(|p| (p.ten, p.canonical))?
        };
        return Some(Unit {
            symbol: format!("{prefix}S/s"),
            factor: power_of_ten(ten),
            offset: 0.0,
            dimension: Dimension::FREQUENCY,
            exact: Factor::ten(ten),
            decibel: false,
            share: false,
            prefixable: ten == 0,
        });
    }
    let named = name(text)?;
    let factor = named.factor.value();
    Some(Unit {
        symbol: named.symbol(),
        factor,
        offset: named.unit.offset,
        dimension: named.unit.dimension,
        exact: named.factor,
        decibel: named.unit.decibel,
        share: named.unit.share,
        prefixable: named.prefix.is_empty() && named.unit.prefixable,
    })
}

/// A name of the table with the prefix found before it.
pub(crate) struct Named {
    pub(crate) prefix: &'static str,
    pub(crate) unit: &'static UnitName,
    pub(crate) factor: Factor,
}

impl Named {
    pub(crate) fn symbol(&self) -> String {
        format!("{}{}", self.prefix, self.unit.symbol)
    }
}

/// Finds a unit name, alone first (so that `min` is a minute and `pH` is not a henry), then prefixed.
pub(crate) fn name(text: &str) -> Option<Named> {
    let find = |text: &str| {
        UNITS
            .iter()
            .find(|u| u.symbol == text || u.spellings.contains(&text))
    };
    if let Some(unit) = find(text) {
        return Some(Named {
            prefix: "",
            unit,
            factor: unit.factor,
        });
    }
    PREFIXES.iter().find_map(|prefix| {
        let unit = find(text.strip_prefix(prefix.spelling)?)?;
        let allowed = unit.prefixable && (!prefix.restricted || unit.small_prefixes);
        allowed.then(|| Named {
            prefix: prefix.canonical,
            unit,
            factor: unit.factor.times(Factor::ten(prefix.ten)),
        })
    })
}
