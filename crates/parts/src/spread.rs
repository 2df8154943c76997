//! What may be true of a figure's value.

use crate::figure::{Figure, Role, ShapeName};

/// A distribution with its parameters, in the unit of the figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SpreadShape {
    /// Anywhere between the limits alike.
    Rectangular {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Normal.
    Normal {
        /// Expectation.
        mean: f64,
        /// Standard uncertainty.
        u: f64,
    },
    /// Symmetric triangle.
    Triangular {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Arcsine (U-shaped).
    Arcsine {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// One value.
    Fixed {
        /// The value.
        value: f64,
    },
}

/// What may be true of a figure's value, in its SI unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// The value to take when nothing varies.
    pub centre: f64,
    /// Lowest value for the worst case.
    pub low: f64,
    /// Highest value for the worst case.
    pub high: f64,
    /// Distribution.
    pub shape: SpreadShape,
    /// Whether `low` and `high` are limits that parts are held to; `false`
    /// means "not a bound".
    pub bound: bool,
    /// Whether only a typical value was known.
    pub typical_only: bool,
}

impl Spread {
    fn fixed(value: f64, typical_only: bool) -> Spread {
        Spread {
            centre: value,
            low: value,
            high: value,
            shape: SpreadShape::Fixed { value },
            bound: !typical_only,
            typical_only,
        }
    }

    fn between(low: f64, high: f64, centre: Option<f64>, figure: &Figure) -> Spread {
        if low == high {
            return Spread::fixed(low, false);
        }
        let middle = 0.5 * (low + high);
        let (shape, bound) = match figure.shape.unwrap_or(ShapeName::Rectangular) {
            ShapeName::Rectangular => (SpreadShape::Rectangular { low, high }, true),
            ShapeName::Triangular => (SpreadShape::Triangular { low, high }, true),
            ShapeName::Arcsine => (SpreadShape::Arcsine { low, high }, true),
            ShapeName::Normal => {
                let u = 0.5 * (high - low) / figure.coverage;
                (SpreadShape::Normal { mean: middle, u }, false)
            }
        };
        Spread {
            centre: centre.unwrap_or(middle),
            low,
            high,
            shape,
            bound,
            typical_only: false,
        }
    }

    /// Normal about zero with standard uncertainty `u`; worst case three times that.
    fn about_zero(u: f64) -> Spread {
        Spread {
            centre: 0.0,
            low: -3.0 * u,
            high: 3.0 * u,
            shape: SpreadShape::Normal { mean: 0.0, u },
            bound: false,
            typical_only: true,
        }
    }
}

impl Figure {
    /// What may be true of the value, from the role of the figure and the
    /// columns that are filled.
    ///
    /// * A deviation with limits and nothing else known is rectangular
    ///   (JCGM 100:2008, 4.3.7); unequal limits shift the mean (4.3.8). With only
    ///   `max` it lies in ±max; with only `typ` it is normal with that standard
    ///   uncertainty, the worst case is three times it, and it is not a bound.
    /// * A level has its typical value as centre and lies between its limits.
    ///   A positive property with only a maximum lies in `[min or 0, max]` and
    ///   not in ±max. Where a centre and only the lower limit are known, the
    ///   upper one is mirrored about the centre, since a data sheet leaves out
    ///   the harmless side. With only `typ` it is fixed and marked
    ///   `typical_only`: its spread has to come from elsewhere.
    /// * A limit is exact.
    ///
    /// A normal shape with limits takes them as [`Figure::coverage`] standard
    /// uncertainties and is then not a bound.
    ///
    /// `None` where the figure has no number (only points or choices) or
    /// follows a supply that is not resolved yet.
    #[must_use]
    pub fn spread(&self) -> Option<Spread> {
        if self.follows_supply() {
            return None;
        }
        match self.role {
            Role::Limit => self.typical().map(|value| Spread::fixed(value, false)),
            Role::Deviation => self.deviation_spread(),
            Role::Level => self.level_spread(),
        }
    }

    fn deviation_spread(&self) -> Option<Spread> {
        match (self.min, self.typ, self.max) {
            (Some(low), _, Some(high)) => Some(Spread::between(low, high, None, self)),
            (None, _, Some(one)) | (Some(one), _, None) => {
                let size = one.abs();
                Some(Spread::between(-size, size, None, self))
            }
            (None, Some(typ), None) => Some(Spread::about_zero(typ.abs())),
            (None, None, None) => None,
        }
    }

    fn level_spread(&self) -> Option<Spread> {
        match (self.min, self.typ, self.max) {
            (Some(low), typ, Some(high)) => Some(Spread::between(low, high, typ, self)),
            (None, typ, Some(high)) => Some(Spread::between(high.min(0.0), high, typ, self)),
            (Some(low), Some(typ), None) => {
                Some(Spread::between(low, typ + (typ - low), Some(typ), self))
            }
            (Some(low), None, None) => Some(Spread::fixed(low, false)),
            (None, Some(typ), None) => Some(Spread::fixed(typ, true)),
            (None, None, None) => None,
        }
    }
}
