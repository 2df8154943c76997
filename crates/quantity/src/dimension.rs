//! Physical dimensions: which units may be compared, added or written where.

use crate::kinds::{KINDS, Kind};

/// Number of base dimensions, pseudo-bases included.
pub(crate) const BASES: usize = 10;

/// Symbols of the coherent base units, in the order of the exponents.
pub(crate) const BASE_SYMBOLS: [&str; BASES] =
    ["m", "kg", "s", "A", "K", "mol", "cd", "LSB", "pH", "%RH"];

/// A physical dimension: SI base exponents, kept in halves so that V/√Hz fits,
/// and three pseudo-bases that must never mix with plain numbers: converter
/// codes (LSB), pH units and percent relative humidity.
///
/// Angles are plain numbers, as in the SI.
///
/// ```
/// use quantity::Dimension;
/// assert_eq!(Dimension::VOLTAGE.over(Dimension::CURRENT), Dimension::RESISTANCE);
/// assert_eq!(Dimension::RESISTANCE.name(), Some("resistance"));
/// // An LSB is not a plain number, although both are "dimensionless" in the SI.
/// assert_ne!(Dimension::CODE, Dimension::NONE);
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Dimension {
    /// Exponents times two: m, kg, s, A, K, mol, cd, code, pH, %RH.
    halves: [i8; BASES],
}

/// A dimension from whole exponents of metre, kilogram, second, ampere, kelvin.
const fn si(m: i8, kg: i8, s: i8, a: i8, k: i8) -> Dimension {
    Dimension {
        halves: [2 * m, 2 * kg, 2 * s, 2 * a, 2 * k, 0, 0, 0, 0, 0],
    }
}

/// The base dimension with this index.
const fn base(index: usize) -> Dimension {
    let mut halves = [0; BASES];
    halves[index] = 2;
    Dimension { halves }
}

impl Dimension {
    /// A plain number: ratios, percentages, gains.
    pub const NONE: Self = si(0, 0, 0, 0, 0);
    /// Plane angle, a plain number in the SI.
    pub const ANGLE: Self = Self::NONE;
    /// Length, m.
    pub const LENGTH: Self = base(0);
    /// Mass, kg.
    pub const MASS: Self = base(1);
    /// Time, s.
    pub const TIME: Self = base(2);
    /// Electric current, A.
    pub const CURRENT: Self = base(3);
    /// Temperature and temperature difference, K.
    pub const TEMPERATURE: Self = base(4);
    /// Amount of substance, mol.
    pub const AMOUNT: Self = base(5);
    /// Luminous intensity, cd (and luminous flux, lm, the steradian being 1).
    pub const LUMINOUS_INTENSITY: Self = base(6);
    /// Converter codes, LSB.
    pub const CODE: Self = base(7);
    /// pH units.
    pub const PH: Self = base(8);
    /// Relative humidity, %RH.
    pub const HUMIDITY: Self = base(9);

    /// Area, m².
    pub const AREA: Self = si(2, 0, 0, 0, 0);
    /// Volume, m³.
    pub const VOLUME: Self = si(3, 0, 0, 0, 0);
    /// Speed, m/s.
    pub const SPEED: Self = si(1, 0, -1, 0, 0);
    /// Acceleration, m/s².
    pub const ACCELERATION: Self = si(1, 0, -2, 0, 0);
    /// Volume flow, m³/s.
    pub const FLOW: Self = si(3, 0, -1, 0, 0);
    /// Mass flow, kg/s.
    pub const MASS_FLOW: Self = si(0, 1, -1, 0, 0);
    /// Density and mass concentration, kg/m³.
    pub const DENSITY: Self = si(-3, 1, 0, 0, 0);
    /// Force, N.
    pub const FORCE: Self = si(1, 1, -2, 0, 0);
    /// Pressure, Pa.
    pub const PRESSURE: Self = si(-1, 1, -2, 0, 0);
    /// Energy, J (also the dimension of torque, N·m).
    pub const ENERGY: Self = si(2, 1, -2, 0, 0);
    /// Power, W.
    pub const POWER: Self = si(2, 1, -3, 0, 0);
    /// Frequency and rate, Hz.
    pub const FREQUENCY: Self = si(0, 0, -1, 0, 0);
    /// Electric charge, C.
    pub const CHARGE: Self = si(0, 0, 1, 1, 0);
    /// Voltage, V.
    pub const VOLTAGE: Self = si(2, 1, -3, -1, 0);
    /// Resistance, Ω.
    pub const RESISTANCE: Self = si(2, 1, -3, -2, 0);
    /// Conductance, S.
    pub const CONDUCTANCE: Self = si(-2, -1, 3, 2, 0);
    /// Capacitance, F.
    pub const CAPACITANCE: Self = si(-2, -1, 4, 2, 0);
    /// Inductance, H.
    pub const INDUCTANCE: Self = si(2, 1, -2, -2, 0);
    /// Magnetic flux, Wb.
    pub const MAGNETIC_FLUX: Self = si(2, 1, -2, -1, 0);
    /// Magnetic flux density, T.
    pub const MAGNETIC_FLUX_DENSITY: Self = si(0, 1, -2, -1, 0);
    /// Illuminance, lx.
    pub const ILLUMINANCE: Self = Self::LUMINOUS_INTENSITY.over(Self::AREA);
    /// Irradiance, W/m².
    pub const IRRADIANCE: Self = Self::POWER.over(Self::AREA);
    /// Relative change per kelvin, 1/K.
    pub const PER_KELVIN: Self = si(0, 0, 0, 0, -1);
    /// Thermal resistance, K/W.
    pub const THERMAL_RESISTANCE: Self = Self::TEMPERATURE.over(Self::POWER);
    /// Thermal conductance (dissipation constant), W/K.
    pub const DISSIPATION: Self = Self::POWER.over(Self::TEMPERATURE);
    /// Slew rate, V/s.
    pub const SLEW_RATE: Self = Self::VOLTAGE.over(Self::TIME);
    /// Voltage noise density, V/√Hz.
    pub const VOLTAGE_NOISE_DENSITY: Self = Self::VOLTAGE.over(Self::FREQUENCY.sqrt_of());
    /// Current noise density, A/√Hz.
    pub const CURRENT_NOISE_DENSITY: Self = Self::CURRENT.over(Self::FREQUENCY.sqrt_of());

    /// Dimension of a product.
    ///
    /// Exponents stop at ±63; for dimensions that a user can raise without
    /// bound use [`Dimension::checked_times`].
    pub const fn times(self, other: Self) -> Self {
        let mut halves = self.halves;
        let mut i = 0;
        while i < BASES {
            halves[i] = halves[i].saturating_add(other.halves[i]);
            i += 1;
        }
        Self { halves }
    }

    /// Dimension of a quotient. Exponents stop at ±63 as in [`Dimension::times`].
    pub const fn over(self, other: Self) -> Self {
        let mut halves = self.halves;
        let mut i = 0;
        while i < BASES {
            halves[i] = halves[i].saturating_sub(other.halves[i]);
            i += 1;
        }
        Self { halves }
    }

    /// Dimension of the `n`-th power. Exponents stop at ±63.
    pub const fn power(self, n: i8) -> Self {
        let mut halves = self.halves;
        let mut i = 0;
        while i < BASES {
            halves[i] = halves[i].saturating_mul(n);
            i += 1;
        }
        Self { halves }
    }

    /// Dimension of the square root, for dimensions whose exponents are whole.
    ///
    /// Quarter exponents cannot be held and are rounded towards zero; a
    /// dimension that comes from a user's formula goes through
    /// [`Dimension::checked_sqrt`], which refuses them.
    pub const fn sqrt_of(self) -> Self {
        let mut halves = self.halves;
        let mut i = 0;
        while i < BASES {
            halves[i] /= 2;
            i += 1;
        }
        Self { halves }
    }

    /// Dimension of a product, `None` if an exponent leaves ±63.
    pub fn checked_times(self, other: Self) -> Option<Self> {
        let mut halves = self.halves;
        for (h, o) in halves.iter_mut().zip(other.halves) {
            *h = h.checked_add(o)?;
        }
        Some(Self { halves })
    }

    /// Dimension of a quotient, `None` if an exponent leaves ±63.
    pub fn checked_over(self, other: Self) -> Option<Self> {
        let mut halves = self.halves;
        for (h, o) in halves.iter_mut().zip(other.halves) {
            *h = h.checked_sub(o)?;
        }
        Some(Self { halves })
    }

    /// Dimension of the `n`-th power, `None` if an exponent leaves ±63.
    pub fn checked_power(self, n: i8) -> Option<Self> {
        let mut halves = self.halves;
        for h in &mut halves {
            *h = h.checked_mul(n)?;
        }
        Some(Self { halves })
    }

    /// Dimension of the square root, `None` where a quarter exponent would arise.
    pub fn checked_sqrt(self) -> Option<Self> {
        self.halves
            .iter()
            .all(|h| h % 2 == 0)
            .then(|| self.sqrt_of())
    }

    /// The row of the table of named dimensions, if this dimension has a name.
    pub(crate) fn kind(self) -> Option<&'static Kind> {
        KINDS.iter().find(|kind| kind.dimension == self)
    }

    /// What the dimension is called, such as `"voltage"` or `"resistance per kelvin"`.
    pub fn name(self) -> Option<&'static str> {
        self.kind().map(|kind| kind.name)
    }

    /// The coherent unit written with base units, such as `"kg·m²/(A·s³)"`; empty for plain numbers.
    ///
    /// Every result can be read back by [`crate::unit`].
    pub fn base_symbol(self) -> String {
        const ORDER: [usize; BASES] = [1, 0, 3, 4, 5, 6, 7, 8, 9, 2];
        let mut above = Vec::new();
        let mut below = Vec::new();
        for i in ORDER {
            let half = self.halves[i];
            if half != 0 {
                let text = power_text(BASE_SYMBOLS[i], half.unsigned_abs());
                if half > 0 {
                    above.push(text);
                } else {
                    below.push(text);
                }
            }
        }
        if above.is_empty() && below.is_empty() {
            return String::new();
        }
        let mut text = if above.is_empty() {
            "1".to_owned()
        } else {
            above.join("·")
        };
        match below.as_slice() {
            [] => {}
            [only] => text = format!("{text}/{only}"),
            several => text = format!("{text}/({})", several.join("·")),
        }
        text
    }

    /// "a resistance", "an energy", or the unit where the dimension has no name.
    pub fn with_article(self) -> String {
        match self.name() {
            Some(name) => {
                let article = if name.starts_with(['a', 'e', 'i', 'o']) {
                    "an"
                } else {
                    "a"
                };
                format!("{article} {name}")
            }
            None => format!("a value in {}", self.base_symbol()),
        }
    }
}

/// `symbol` raised to `halves`/2, roots with √ and powers with superscripts.
fn power_text(symbol: &str, halves: u8) -> String {
    let root = if halves % 2 == 1 { "√" } else { "" };
    let exponent = if halves % 2 == 1 { halves } else { halves / 2 };
    if exponent == 1 {
        format!("{root}{symbol}")
    } else if root.is_empty() {
        format!("{symbol}{}", superscript(exponent))
    } else {
        format!("√({symbol}{})", superscript(exponent))
    }
}

/// Decimal digits as superscript characters.
fn superscript(number: u8) -> String {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    number
        .to_string()
        .bytes()
        .filter_map(|b| DIGITS.get(usize::from(b.wrapping_sub(b'0'))).copied())
        .collect()
}
