//! What a law is: its description and its two directions.

use std::fmt;

use quantity::Dimension;
use tape::Value;

use super::Parameters;

/// 0 °C in kelvin, exact by definition (SI Brochure, 9th edition, 2.3.1).
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// What a law gives to the circuit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Electrical {
    /// A resistance, Ω.
    Resistance,
    /// A voltage of its own, V.
    Voltage,
    /// A share of the excitation or supply voltage, V/V.
    VoltageRatio,
    /// A current, A.
    Current,
    /// A rate of pulses, Hz.
    Frequency,
    /// A digital reading, in the unit of the quantity.
    Reading,
}

/// One named number of a law.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ParameterSpec {
    /// Key in part and board files.
    pub name: &'static str,
    /// Dimension, apart from the quantity's own (see `quantity_power`).
    pub dimension: Dimension,
    /// Power of the quantity's dimension that comes on top: 1 for a value of
    /// the quantity itself, −1 for something per unit of the quantity.
    pub quantity_power: i8,
    /// Whether the law can do nothing without it.
    pub required: bool,
    /// Value where none is given, SI. `None` for a required parameter, and
    /// for one whose absence has a meaning of its own.
    pub default: Option<f64>,
    /// What it is, in one line.
    pub meaning: &'static str,
}

impl ParameterSpec {
    /// A parameter that must be given.
    #[must_use]
    pub const fn required(name: &'static str, dimension: Dimension, meaning: &'static str) -> Self {
        ParameterSpec {
            name,
            dimension,
            quantity_power: 0,
            required: true,
            default: None,
            meaning,
        }
    }

    /// A parameter with a value where none is given.
    #[must_use]
    pub const fn with_default(
        name: &'static str,
        dimension: Dimension,
        default: f64,
        meaning: &'static str,
    ) -> Self {
        ParameterSpec {
            name,
            dimension,
            quantity_power: 0,
            required: false,
            default: Some(default),
            meaning,
        }
    }

    /// A parameter that may be absent.
    #[must_use]
    pub const fn optional(name: &'static str, dimension: Dimension, meaning: &'static str) -> Self {
        ParameterSpec {
            name,
            dimension,
            quantity_power: 0,
            required: false,
            default: None,
            meaning,
        }
    }

    /// The same, its dimension multiplied by a power of the quantity's.
    #[must_use]
    pub const fn times_quantity(mut self, power: i8) -> Self {
        self.quantity_power = power;
        self
    }

    /// Dimension of the parameter when the law measures this quantity.
    #[must_use]
    pub const fn dimension_for(&self, quantity: Dimension) -> Dimension {
        self.dimension.times(quantity.power(self.quantity_power))
    }
}

/// One choice of a law that is a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WordSpec {
    /// Key in part and board files.
    pub name: &'static str,
    /// The words allowed.
    pub choices: &'static [&'static str],
    /// The word where none is given; `None` if one must be given.
    pub default: Option<&'static str>,
    /// What it chooses, in one line.
    pub meaning: &'static str,
}

/// One list of points of a law; the quantity comes first in each pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PointsSpec {
    /// Key in part and board files.
    pub name: &'static str,
    /// Dimension of the second number of each pair.
    pub dimension: Dimension,
    /// What it is, in one line.
    pub meaning: &'static str,
}

/// Values besides the quantity that a law needs, by name: `cold-junction`
/// and `temperature`, both in kelvin.
pub type Auxiliaries<'a, 't> = &'a dyn Fn(&str) -> Option<Value<'t>>;

/// How a quantity becomes an electrical value, and back.
pub trait Law: Sync {
    /// Name in part and board files.
    fn name(&self) -> &'static str;

    /// What the law measures; `None` for any quantity.
    fn quantity(&self) -> Option<Dimension>;

    /// What the law gives to the circuit.
    fn electrical(&self) -> Electrical;

    /// The numbers it knows.
    fn parameters(&self) -> &'static [ParameterSpec];

    /// The words it knows.
    fn words(&self) -> &'static [WordSpec] {
        &[]
    }

    /// Whether a share of the excitation stands between two nodes, both
    /// about its middle, as with a bridge, and not between one node and the
    /// excitation's foot.
    fn is_differential(&self) -> bool {
        false
    }

    /// The lists of points it knows.
    fn points(&self) -> &'static [PointsSpec] {
        &[]
    }

    /// Names of the other values that both directions need: the true ones on
    /// the way forward, the measured ones on the way back.
    fn auxiliaries(&self) -> &'static [&'static str] {
        &[]
    }

    /// Range of the quantity (SI) over which the law is given, and over which
    /// [`Law::inverse`] undoes [`Law::forward`]; `None` without bounds.
    fn validity(&self, p: &Parameters<'_>) -> Option<(f64, f64)>;

    /// Electrical value (unit by [`Law::electrical`]) of the quantity (SI).
    ///
    /// Continued without a break beyond [`Law::validity`], so that a fault or
    /// an excursion gives a number and not a NaN.
    ///
    /// # Errors
    /// A parameter, word, list of points or auxiliary value is missing or
    /// makes no law.
    fn forward<'t>(
        &self,
        quantity: Value<'t>,
        p: &Parameters<'t>,
        aux: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault>;

    /// What the firmware takes the quantity (SI) to be from the electrical
    /// value, with the parameters and the auxiliary values it has.
    ///
    /// # Errors
    /// As for [`Law::forward`].
    fn inverse<'t>(
        &self,
        electrical: Value<'t>,
        p: &Parameters<'t>,
        aux: Auxiliaries<'_, 't>,
    ) -> Result<Value<'t>, LawFault>;

    /// Resistance (Ω) within the sensor: in series with its voltage, or
    /// beside its current. `None` where the law states none.
    ///
    /// # Errors
    /// As for [`Law::forward`].
    fn source_resistance<'t>(
        &self,
        _quantity: Value<'t>,
        _p: &Parameters<'t>,
        _aux: Auxiliaries<'_, 't>,
    ) -> Result<Option<Value<'t>>, LawFault> {
        Ok(None)
    }
}

/// Why a law cannot be written onto the tape.
#[derive(Clone, Debug, PartialEq)]
pub enum LawFault {
    /// The law knows no parameter, word or list of this name.
    UnknownName {
        /// Which law.
        law: &'static str,
        /// The name given.
        name: String,
    },
    /// A parameter that must be given is not.
    MissingParameter {
        /// Which law.
        law: &'static str,
        /// Which parameter.
        name: &'static str,
    },
    /// A word that must be given is not.
    MissingWord {
        /// Which law.
        law: &'static str,
        /// Which word.
        name: &'static str,
    },
    /// A list of points that must be given is not.
    MissingPoints {
        /// Which law.
        law: &'static str,
        /// Which list.
        name: &'static str,
    },
    /// The circuit or the firmware does not provide another value needed.
    MissingAuxiliary {
        /// Which law.
        law: &'static str,
        /// Which value.
        name: &'static str,
    },
    /// A word that is none of the choices.
    UnknownWord {
        /// Which law.
        law: &'static str,
        /// Which word.
        name: &'static str,
        /// What was given.
        given: String,
        /// What is allowed.
        choices: &'static [&'static str],
    },
    /// A parameter's nominal value makes no law.
    OutOfDomain {
        /// Which law.
        law: &'static str,
        /// Which parameter.
        name: &'static str,
        /// Its nominal value, SI.
        value: f64,
        /// What it must be, for example `above zero`.
        must_be: &'static str,
    },
    /// Points or coefficients that cannot be read backwards.
    NoInverse {
        /// Which law.
        law: &'static str,
        /// What is wrong with them.
        why: &'static str,
    },
}

impl fmt::Display for LawFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LawFault::UnknownName { law, name } => {
                write!(f, "the law `{law}` has nothing called `{name}`")
            }
            LawFault::MissingParameter { law, name } | LawFault::MissingWord { law, name } => {
                write!(f, "the law `{law}` needs `{name}`")
            }
            LawFault::MissingPoints { law, name } => {
                write!(f, "the law `{law}` needs the list of points `{name}`")
            }
            LawFault::MissingAuxiliary { law, name } => {
                write!(
                    f,
                    "the law `{law}` needs the value `{name}` besides its own"
                )
            }
            LawFault::UnknownWord {
                law,
                name,
                given,
                choices,
            } => write!(
                f,
                "`{name}` of the law `{law}` cannot be `{given}`; it is one of {}",
                choices.join(", ")
            ),
            LawFault::OutOfDomain {
                law,
                name,
                value,
                must_be,
            } => write!(
                f,
                "`{name}` of the law `{law}` is {value} and must be {must_be}"
            ),
            LawFault::NoInverse { law, why } => {
                write!(f, "the law `{law}` cannot be read backwards: {why}")
            }
        }
    }
}

impl std::error::Error for LawFault {}
