//! How the known figures of a kind are described.

use quantity::Dimension;

use crate::figure::{DriftMethod, Role};

/// Which dimensions a figure may be written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Allowed {
    /// One of these.
    These(&'static [Dimension]),
    /// A difference of the quantity that is measured.
    Quantity,
    /// A difference of the quantity, or a share of it or of the span.
    QuantityOrShare,
    /// A value of the quantity itself; temperatures are absolute.
    QuantityValue,
    /// One of these for each unit of the quantity.
    PerQuantity(&'static [Dimension]),
    /// One of these for each power of the unit of the quantity.
    PerQuantityPower(&'static [Dimension], i8),
    /// Units of the quantity for each of these.
    QuantityPer(&'static [Dimension]),
    /// Codes for each unit of the quantity, or the other way round.
    CodeStep,
    /// Whatever is written.
    Any,
}

/// What the points of a figure run against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Against {
    /// The figure is never given by points.
    Nothing,
    /// A variable of one of these dimensions.
    These(&'static [Dimension]),
    /// The quantity that is measured.
    Quantity,
}

/// One known figure of a kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FigureSpec {
    /// Name as written in files.
    pub name: &'static str,
    /// What it may be written in.
    pub allowed: Allowed,
    /// What its limits mean unless the figure says otherwise.
    pub role: Role,
    /// One line on what it is.
    pub meaning: &'static str,
    /// Temperatures are absolute rather than differences.
    pub absolute: bool,
    /// What points run against.
    pub against: Against,
    /// How a drift is meant unless the figure says otherwise.
    pub method: Option<DriftMethod>,
    /// Figures that carry the deviation of this one. Where one of them is
    /// given and this figure has only a typical value, that value is exact.
    pub carried_by: &'static [&'static str],
    /// Band over which a noise is taken unless the figure says otherwise, Hz.
    pub band_hz: Option<(f64, f64)>,
    /// Whether a noise is meant from peak to peak (or as rms) unless the
    /// figure says otherwise.
    pub peak_to_peak: Option<bool>,
}

impl FigureSpec {
    /// Temperatures written here are absolute.
    #[must_use]
    pub const fn absolute(self) -> FigureSpec {
        FigureSpec {
            absolute: true,
            ..self
        }
    }

    /// May be given by points against a variable of these dimensions.
    #[must_use]
    pub const fn against(self, dimensions: &'static [Dimension]) -> FigureSpec {
        FigureSpec {
            against: Against::These(dimensions),
            ..self
        }
    }

    /// May be given by points against the quantity.
    #[must_use]
    pub const fn against_quantity(self) -> FigureSpec {
        FigureSpec {
            against: Against::Quantity,
            ..self
        }
    }

    /// A drift, meant this way by default.
    #[must_use]
    pub const fn drift(self, method: DriftMethod) -> FigureSpec {
        FigureSpec {
            method: Some(method),
            ..self
        }
    }

    /// Its deviation stands in one of these figures, where they are given.
    #[must_use]
    pub const fn carried_by(self, figures: &'static [&'static str]) -> FigureSpec {
        FigureSpec {
            carried_by: figures,
            ..self
        }
    }

    /// A noise taken over this band, Hz, unless the figure says otherwise.
    #[must_use]
    pub const fn band(self, low_hz: f64, high_hz: f64) -> FigureSpec {
        FigureSpec {
            band_hz: Some((low_hz, high_hz)),
            ..self
        }
    }

    /// A noise given from peak to peak unless the figure says otherwise.
    #[must_use]
    pub const fn peak_to_peak(self) -> FigureSpec {
        FigureSpec {
            peak_to_peak: Some(true),
            ..self
        }
    }

    /// The dimensions it may have for a part that measures `quantity`;
    /// `None` where anything goes.
    #[must_use]
    pub fn dimensions(&self, quantity: Option<Dimension>) -> Option<Vec<Dimension>> {
        let of = quantity.unwrap_or(Dimension::NONE);
        match self.allowed {
            Allowed::These(list) => Some(list.to_vec()),
            Allowed::Quantity | Allowed::QuantityValue => Some(vec![of]),
            Allowed::QuantityOrShare => Some(vec![of, Dimension::NONE]),
            Allowed::PerQuantity(list) => Some(list.iter().map(|d| d.over(of)).collect()),
            Allowed::PerQuantityPower(list, n) => {
                Some(list.iter().map(|d| d.over(of.power(n))).collect())
            }
            Allowed::QuantityPer(list) => Some(list.iter().map(|d| of.over(*d)).collect()),
            Allowed::CodeStep => Some(vec![of.over(Dimension::CODE), Dimension::CODE.over(of)]),
            Allowed::Any => None,
        }
    }

    /// Whether a temperature written here is absolute.
    #[must_use]
    pub fn is_absolute(&self) -> bool {
        self.absolute || self.allowed == Allowed::QuantityValue
    }
}

const fn spec(
    name: &'static str,
    allowed: Allowed,
    role: Role,
    meaning: &'static str,
) -> FigureSpec {
    FigureSpec {
        name,
        allowed,
        role,
        meaning,
        absolute: false,
        against: Against::Nothing,
        method: None,
        carried_by: &[],
        band_hz: None,
        peak_to_peak: None,
    }
}

/// An error about zero.
pub(crate) const fn deviation(
    name: &'static str,
    dimensions: &'static [Dimension],
    meaning: &'static str,
) -> FigureSpec {
    spec(name, Allowed::These(dimensions), Role::Deviation, meaning)
}

/// A property with a centre.
pub(crate) const fn level(
    name: &'static str,
    dimensions: &'static [Dimension],
    meaning: &'static str,
) -> FigureSpec {
    spec(name, Allowed::These(dimensions), Role::Level, meaning)
}

/// A rating, range or definition.
pub(crate) const fn limit(
    name: &'static str,
    dimensions: &'static [Dimension],
    meaning: &'static str,
) -> FigureSpec {
    spec(name, Allowed::These(dimensions), Role::Limit, meaning)
}

/// A figure whose dimension follows the measured quantity.
pub(crate) const fn of_quantity(
    name: &'static str,
    allowed: Allowed,
    role: Role,
    meaning: &'static str,
) -> FigureSpec {
    spec(name, allowed, role, meaning)
}

/// A kind of part.
#[derive(Clone, Copy, Debug)]
pub struct KindSpec {
    /// Name as written in files.
    pub name: &'static str,
    /// What such a part is.
    pub meaning: &'static str,
    /// Known figures, in groups.
    pub figures: &'static [&'static [FigureSpec]],
    /// Figures without which such a part is of no use.
    pub required: &'static [&'static str],
    /// Measures a quantity by a law.
    pub measures_by_law: bool,
    /// Has digital measurements in `[measures.…]`.
    pub measures_digitally: bool,
    /// Has converters.
    pub has_converters: bool,
    /// Has pins.
    pub has_pins: bool,
    /// Carries a controller.
    pub carries_controller: bool,
}

impl KindSpec {
    /// A kind that has figures and nothing else.
    pub(crate) const fn plain(
        name: &'static str,
        meaning: &'static str,
        figures: &'static [&'static [FigureSpec]],
        required: &'static [&'static str],
    ) -> KindSpec {
        KindSpec {
            name,
            meaning,
            figures,
            required,
            measures_by_law: false,
            measures_digitally: false,
            has_converters: false,
            has_pins: false,
            carries_controller: false,
        }
    }

    /// All known figures.
    pub fn all(&self) -> impl Iterator<Item = &'static FigureSpec> + use<> {
        self.figures.iter().flat_map(|group| group.iter())
    }
}
