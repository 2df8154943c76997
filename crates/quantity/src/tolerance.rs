//! Values with what may be written after them: tolerance, drift, words.

use crate::dimension::Dimension;

/// A value in the coherent SI unit of its dimension; absolute temperatures in kelvin.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Quantity {
    /// Magnitude in the coherent SI unit.
    pub value: f64,
    /// Dimension of the value.
    pub dimension: Dimension,
}

/// One limit of a deviation, as a magnitude.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Part {
    /// A fraction of the nominal value: 5 % is 0.05.
    Relative(f64),
    /// In the coherent SI unit of the nominal value (kelvin for temperatures).
    Absolute(f64),
}

impl Part {
    /// The magnitude in the unit of `nominal`.
    pub fn magnitude(&self, nominal: f64) -> f64 {
        match *self {
            Self::Relative(fraction) => fraction * nominal.abs(),
            Self::Absolute(amount) => amount,
        }
    }
}

/// Limits of a deviation about a nominal value, each side a magnitude that may be zero.
///
/// ```
/// use quantity::{Dimension, valued};
/// let rail = valued("5 V +5 % -10 %", Dimension::VOLTAGE).unwrap();
/// assert_eq!(rail.tolerance.unwrap().limits(rail.nominal), (4.5, 5.25));
/// ```
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Tolerance {
    /// How far below the nominal value.
    pub minus: Part,
    /// How far above the nominal value.
    pub plus: Part,
}

impl Tolerance {
    /// The same magnitude on both sides.
    pub const fn symmetric(part: Part) -> Self {
        Self {
            minus: part,
            plus: part,
        }
    }

    /// Lowest and highest value about `nominal`, in its unit.
    ///
    /// "Below" means towards −∞ also for a negative nominal value.
    pub fn limits(&self, nominal: f64) -> (f64, f64) {
        (
            nominal - self.minus.magnitude(nominal),
            nominal + self.plus.magnitude(nominal),
        )
    }
}

/// A value with everything that may be written after it.
#[derive(Clone, PartialEq, Debug)]
pub struct Valued {
    /// Nominal value in the coherent SI unit; absolute temperatures in kelvin.
    pub nominal: f64,
    /// Dimension of the nominal value.
    pub dimension: Dimension,
    /// Limits of the deviation, if written.
    pub tolerance: Option<Tolerance>,
    /// Relative change per kelvin: "25 ppm/K" is 25e-6. A magnitude unless [`Valued::drift_signed`].
    pub drift_per_k: Option<f64>,
    /// The drift was written with an explicit + or − and is a coefficient, not a bound.
    pub drift_signed: bool,
    /// Change per kelvin in the unit of the value: "2 µV/K" is 2e-6.
    pub drift_absolute_per_k: Option<f64>,
    /// The word "each" was written: the value holds for every one of several.
    pub per_unit: bool,
    /// Words that were not understood here, such as a dielectric class; the caller judges them.
    pub words: Vec<String>,
}

/// A closed interval in the coherent SI unit; absolute temperatures in kelvin.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Range {
    /// Lower end.
    pub low: f64,
    /// Upper end, not below the lower one.
    pub high: f64,
    /// Dimension of both ends.
    pub dimension: Dimension,
}

/// A value that is to be found, with the bounds it is believed to lie in.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Unknown {
    /// Lower bound in the coherent SI unit, if written.
    pub low: Option<f64>,
    /// Upper bound in the coherent SI unit, if written.
    pub high: Option<f64>,
}

/// One term of a maximum permissible error.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum AccuracyTerm {
    /// In the coherent SI unit of the quantity (kelvin for temperatures).
    Absolute(f64),
    /// A fraction of the magnitude of the reading.
    OfReading(f64),
    /// A fraction of the span.
    OfSpan(f64),
}
