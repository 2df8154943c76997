//! A value on the tape, with the operators of ordinary formulas.

use std::ops::{Add, Div, Mul, Neg, Sub};

use crate::builder::{Builder, Label};
use crate::op::{Index, Op};

/// One node of a tape being written; cheap to copy.
#[derive(Clone, Copy)]
pub struct Value<'t> {
    pub(crate) builder: &'t Builder,
    pub(crate) index: Index,
}

impl std::fmt::Debug for Value<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "node {} (nominal {})", self.index, self.nominal())
    }
}

impl<'t> Value<'t> {
    /// The tape this value is written on.
    #[must_use]
    pub fn builder(self) -> &'t Builder {
        self.builder
    }

    /// Value when every input has its nominal value.
    #[must_use]
    pub fn nominal(self) -> f64 {
        self.builder.inner.borrow().nominal[self.index as usize]
    }

    /// The number, if it depends on nothing.
    #[must_use]
    pub fn as_constant(self) -> Option<f64> {
        match self.builder.inner.borrow().ops[self.index as usize] {
            Op::Constant(c) => Some(c),
            _ => None,
        }
    }

    /// Whether this is the constant zero.
    #[must_use]
    pub fn is_zero(self) -> bool {
        self.as_constant() == Some(0.0)
    }

    /// Whether two values are the same node.
    #[must_use]
    pub fn same(self, other: Value<'t>) -> bool {
        self.index == other.index
    }

    /// Gives the node a name and a unit, shown in its working. The first
    /// name stays; constants and inputs keep their own.
    #[must_use]
    pub fn named(self, name: &str, unit: &str) -> Self {
        let mut inner = self.builder.inner.borrow_mut();
        if !matches!(
            inner.ops[self.index as usize],
            Op::Constant(_) | Op::Input(_)
        ) {
            inner.labels.entry(self.index).or_insert_with(|| Label {
                name: name.to_owned(),
                unit: unit.to_owned(),
            });
        }
        drop(inner);
        self
    }

    /// |x|
    #[must_use]
    pub fn abs(self) -> Self {
        self.builder.emit(Op::Abs(self.index))
    }
    /// √x
    #[must_use]
    pub fn sqrt(self) -> Self {
        self.builder.emit(Op::Sqrt(self.index))
    }
    /// e to the power x.
    #[must_use]
    pub fn exp(self) -> Self {
        self.builder.emit(Op::Exp(self.index))
    }
    /// Natural logarithm.
    #[must_use]
    pub fn ln(self) -> Self {
        self.builder.emit(Op::Ln(self.index))
    }
    /// Sine of x radians.
    #[must_use]
    pub fn sin(self) -> Self {
        self.builder.emit(Op::Sin(self.index))
    }
    /// Cosine of x radians.
    #[must_use]
    pub fn cos(self) -> Self {
        self.builder.emit(Op::Cos(self.index))
    }
    /// The smaller of two; beyond the crossing the other one counts, also
    /// for the slope.
    #[must_use]
    pub fn min(self, other: Value<'t>) -> Self {
        self.builder.emit(Op::Min(self.index, other.index))
    }
    /// The larger of two.
    #[must_use]
    pub fn max(self, other: Value<'t>) -> Self {
        self.builder.emit(Op::Max(self.index, other.index))
    }
    /// Between two bounds.
    #[must_use]
    pub fn clamp(self, low: Value<'t>, high: Value<'t>) -> Self {
        self.max(low).min(high)
    }
    /// Largest whole number not above x as a converter rounds: exact when
    /// sampled, its mean with slope one when read smoothly.
    #[must_use]
    pub fn quantised(self) -> Self {
        self.builder.emit(Op::Quantise(self.index))
    }
    /// Largest whole number not above x, always exact.
    #[must_use]
    pub fn floor(self) -> Self {
        self.builder.emit(Op::Floor(self.index))
    }
    /// Rounded to single precision.
    #[must_use]
    pub fn to_single(self) -> Self {
        self.builder.emit(Op::Single(self.index))
    }
    /// x·x
    #[must_use]
    pub fn squared(self) -> Self {
        self * self
    }
    /// x to a whole power.
    #[must_use]
    pub fn powi(self, power: u32) -> Self {
        let mut result = self.builder.one();
        let mut base = self;
        let mut left = power;
        while left > 0 {
            if left & 1 == 1 {
                result = result * base;
            }
            left >>= 1;
            if left > 0 {
                base = base * base;
            }
        }
        result
    }
    /// x to a real power; x must be positive.
    #[must_use]
    pub fn pow(self, power: impl Operand<'t>) -> Self {
        let power = power.on(self.builder);
        (self.ln() * power).exp()
    }
    /// Polynomial with the given coefficients, constant first (Horner).
    #[must_use]
    pub fn polynomial(self, coefficients: &[f64]) -> Self {
        let mut sum = self.builder.zero();
        for &c in coefficients.iter().rev() {
            sum = sum * self + c;
        }
        sum
    }
}

/// What may stand beside a value in a formula: another value or a number.
pub trait Operand<'t> {
    /// The operand as a node of `builder`.
    fn on(self, builder: &'t Builder) -> Value<'t>;
}

impl<'t> Operand<'t> for Value<'t> {
    fn on(self, _: &'t Builder) -> Value<'t> {
        self
    }
}

impl<'t> Operand<'t> for f64 {
    fn on(self, builder: &'t Builder) -> Value<'t> {
        builder.constant(self)
    }
}

macro_rules! operator {
    ($trait:ident, $method:ident, $op:ident) => {
        impl<'t, R: Operand<'t>> $trait<R> for Value<'t> {
            type Output = Value<'t>;
            fn $method(self, other: R) -> Value<'t> {
                let other = other.on(self.builder);
                self.builder.emit(Op::$op(self.index, other.index))
            }
        }
        impl<'t> $trait<Value<'t>> for f64 {
            type Output = Value<'t>;
            fn $method(self, other: Value<'t>) -> Value<'t> {
                let left = other.builder.constant(self);
                other.builder.emit(Op::$op(left.index, other.index))
            }
        }
    };
}
operator!(Add, add, Add);
operator!(Sub, sub, Sub);
operator!(Mul, mul, Mul);
operator!(Div, div, Div);

impl<'t> Neg for Value<'t> {
    type Output = Value<'t>;
    fn neg(self) -> Value<'t> {
        self.builder.emit(Op::Neg(self.index))
    }
}

impl<'t> std::iter::Sum<Value<'t>> for Option<Value<'t>> {
    fn sum<I: Iterator<Item = Value<'t>>>(iter: I) -> Self {
        iter.fold(None, |sum, v| Some(sum.map_or(v, |s| s + v)))
    }
}
