//! Units: names, prefixes, and expressions such as `nV/√Hz` or `ppm/K`.

use crate::decimal::power_of_ten;
use crate::dimension::Dimension;
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

    fn times(self, other: Self) -> Self {
        Self {
            ten: self.ten.saturating_add(other.ten),
            multiplier: self.multiplier * other.multiplier,
            divisor: self.divisor * other.divisor,
        }
    }

    fn inverse(self) -> Self {
        Self {
            ten: self.ten.saturating_neg(),
            multiplier: self.divisor,
            divisor: self.multiplier,
        }
    }

    fn root(self) -> Self {
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
    let mut reader = Reader { text, at: 0 };
    let found = reader.expression(0)?;
    (reader.at == text.len()).then_some(())?;
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
struct Named {
    prefix: &'static str,
    unit: &'static UnitName,
    factor: Factor,
}

impl Named {
    fn symbol(&self) -> String {
        format!("{}{}", self.prefix, self.unit.symbol)
    }
}

/// Finds a unit name, alone first (so that `min` is a minute and `pH` is not a henry), then prefixed.
fn name(text: &str) -> Option<Named> {
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

/// A part of a unit expression.
struct Term {
    symbol: String,
    factor: Factor,
    dimension: Dimension,
    prefixable: bool,
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
}

/// Brackets and roots nested deeper than this are not a unit.
const DEPTH: usize = 4;

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn eat(&mut self, token: &str) -> bool {
        let found = self.rest().starts_with(token);
        if found {
            self.at += token.len();
        }
        found
    }

    /// Eats an operator with the spaces around it.
    fn eat_operator(&mut self, operator: &str) -> bool {
        match self.rest().trim_start().strip_prefix(operator) {
            Some(after) => {
                self.at = self.text.len() - after.trim_start().len();
                true
            }
            None => false,
        }
    }

    fn expression(&mut self, depth: usize) -> Option<Term> {
        if depth > DEPTH {
            return None;
        }
        let mut result = if self.rest().starts_with('/') {
            Term {
                symbol: String::new(),
                factor: Factor::ONE,
                dimension: Dimension::NONE,
                prefixable: false,
            }
        } else if self.rest().starts_with("1/") {
            self.at += 1;
            Term {
                symbol: "1".to_owned(),
                factor: Factor::ONE,
                dimension: Dimension::NONE,
                prefixable: false,
            }
        } else {
            self.term(depth)?
        };
        let mut divided = false;
        loop {
            if self.eat_operator("/") {
                divided = true;
                let below = self.term(depth)?;
                result.symbol = format!("{}/{}", result.symbol, below.symbol);
                result.factor = result.factor.times(below.factor.inverse());
                result.dimension = result.dimension.checked_over(below.dimension)?;
            } else if ["·", "⋅", "*"].iter().any(|dot| self.eat_operator(dot)) {
                if divided {
                    return None;
                }
                let next = self.term(depth)?;
                result.symbol = format!("{}·{}", result.symbol, next.symbol);
                result.factor = result.factor.times(next.factor);
                result.dimension = result.dimension.checked_times(next.dimension)?;
            } else {
                return Some(result);
            }
        }
    }

    fn term(&mut self, depth: usize) -> Option<Term> {
        if depth > DEPTH {
            return None;
        }
        if self.eat("√") || self.eat("sqrt") || self.eat("rt") {
            let inner = self.term(depth + 1)?;
            return Some(Term {
                symbol: format!("√{}", inner.symbol),
                factor: inner.factor.root(),
                dimension: inner.dimension.checked_sqrt()?,
                prefixable: false,
            });
        }
        let mut base = if self.eat("(") {
            let inner = self.expression(depth + 1)?;
            if !self.eat(")") {
                return None;
            }
            Term {
                symbol: format!("({})", inner.symbol),
                prefixable: false,
                ..inner
            }
        } else {
            let length = self
                .rest()
                .find(|c: char| {
                    matches!(
                        c,
                        '/' | '·' | '⋅' | '*' | '(' | ')' | '^' | '√' | '²' | '³' | '⁻'
                    ) || c.is_ascii_digit()
                        || c.is_whitespace()
                        || SUPERSCRIPTS.contains(&c)
                })
                .unwrap_or(self.rest().len());
            let named = name(self.rest().get(..length)?)?;
            self.at += length;
            if named.unit.decibel {
                return None;
            }
            Term {
                symbol: named.symbol(),
                factor: named.factor,
                dimension: named.unit.dimension,
                prefixable: named.prefix.is_empty() && named.unit.prefixable,
            }
        };
        // "m2" and "s2" are common in plain text; "V3" is a slip for a value code.
        let plain_digits = [Dimension::LENGTH, Dimension::TIME].contains(&base.dimension);
        if let Some(exponent) = self.exponent(plain_digits)? {
            let mut factor = Factor::ONE;
            for _ in 0..exponent.unsigned_abs() {
                factor = factor.times(base.factor);
            }
            base = Term {
                symbol: format!("{}{}", base.symbol, superscript(exponent)),
                factor: if exponent < 0 {
                    factor.inverse()
                } else {
                    factor
                },
                dimension: base.dimension.checked_power(exponent)?,
                prefixable: false,
            };
        }
        Some(base)
    }

    /// An exponent after a name: `Some(None)` if there is none, `None` if it is malformed.
    ///
    /// Without a caret, plain digits count only where `plain_digits` says so, and only 2 and 3.
    fn exponent(&mut self, plain_digits: bool) -> Option<Option<i8>> {
        let caret = self.eat("^");
        let negative = if caret {
            self.eat("-") || self.eat("\u{2212}")
        } else {
            self.eat("⁻")
        };
        let mut magnitude: i8 = 0;
        let mut count = 0;
        while let Some(c) = self.rest().chars().next() {
            let digit = match SUPERSCRIPTS.iter().position(|s| *s == c) {
                Some(position) => i8::try_from(position).ok()?,
                None => match c.to_digit(10) {
                    Some(digit) if caret || (plain_digits && matches!(digit, 2 | 3)) => {
                        i8::try_from(digit).ok()?
                    }
                    Some(_) => return None,
                    None => break,
                },
            };
            magnitude = magnitude.checked_mul(10)?.checked_add(digit)?;
            count += 1;
            self.at += c.len_utf8();
        }
        if count == 0 {
            return if caret || negative { None } else { Some(None) };
        }
        if magnitude == 0 || magnitude > 63 {
            return None;
        }
        Some(Some(if negative { -magnitude } else { magnitude }))
    }
}

const SUPERSCRIPTS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];

fn superscript(exponent: i8) -> String {
    let mut text = String::new();
    if exponent < 0 {
        text.push('⁻');
    }
    for b in exponent.unsigned_abs().to_string().bytes() {
        if let Some(c) = SUPERSCRIPTS.get(usize::from(b.wrapping_sub(b'0'))) {
            text.push(*c);
        }
    }
    text
}
