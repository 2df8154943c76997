//! The straight line, which many laws are.

use tape::Value;

/// A straight line through (`origin`, `offset`).
pub(super) struct Line<'t> {
    /// Quantity at which the line has the value `offset`.
    pub origin: Value<'t>,
    /// Electrical value there.
    pub offset: Value<'t>,
    /// Electrical value per unit of the quantity.
    pub slope: Value<'t>,
}

impl<'t> Line<'t> {
    /// The line through two points (quantity, electrical value).
    pub(super) fn through(
        (low, at_low): (Value<'t>, Value<'t>),
        (high, at_high): (Value<'t>, Value<'t>),
    ) -> Self {
        Line {
            origin: low,
            offset: at_low,
            slope: (at_high - at_low) / (high - low),
        }
    }

    /// Electrical value at a quantity.
    pub(super) fn at(&self, quantity: Value<'t>) -> Value<'t> {
        self.offset + self.slope * (quantity - self.origin)
    }

    /// Quantity at an electrical value.
    pub(super) fn back(&self, electrical: Value<'t>) -> Value<'t> {
        self.origin + (electrical - self.offset) / self.slope
    }
}
