//! One number of a data sheet with everything needed to use it rightly.

use finding::Span;
use quantity::Dimension;

use crate::provenance::{Basis, Source};

/// Share up to which two output rates are the same one, rounded differently.
const SAME_RATE: f64 = 0.01;

/// What a figure's limits mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// An error about zero: offset, gain error, nonlinearity.
    Deviation,
    /// A property with a centre: resistance, bias current, noise density.
    Level,
    /// A rating, threshold, range or definition; taken as exact.
    Limit,
}

impl Role {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, Role); 3] = [
        ("deviation", Role::Deviation),
        ("level", Role::Level),
        ("limit", Role::Limit),
    ];
}

/// How a drift figure describes the change with temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DriftMethod {
    /// A signed coefficient, one per part: the change is coefficient × (T − T_ref).
    Slope,
    /// The total excursion anywhere within the range, divided by the range.
    Box,
    /// Lines of the given slope through the value at the reference temperature
    /// enclose every part at every temperature.
    Butterfly,
}

impl DriftMethod {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, DriftMethod); 3] = [
        ("slope", DriftMethod::Slope),
        ("box", DriftMethod::Box),
        ("butterfly", DriftMethod::Butterfly),
    ];
}

/// Name of a stated distribution (JCGM 101:2008, 6.4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ShapeName {
    /// Anywhere between the limits alike.
    Rectangular,
    /// Normal; limits, if given, lie [`Figure::coverage`] standard uncertainties out.
    Normal,
    /// Most likely in the middle, never beyond the limits.
    Triangular,
    /// Most likely at the limits, as of a sine.
    Arcsine,
}

impl ShapeName {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, ShapeName); 4] = [
        ("rectangular", ShapeName::Rectangular),
        ("normal", ShapeName::Normal),
        ("triangular", ShapeName::Triangular),
        ("arcsine", ShapeName::Arcsine),
    ];
}

/// The part of a limit that follows a supply: limit = ratio × supply + offset.
///
/// The offset is the number stored beside it, so `"0.41 × supply + 0.48 V"` is
/// a ratio of 0.41 here and 0.48 V there.
#[derive(Clone, Debug, PartialEq)]
pub struct SupplyTerm {
    /// Which supply: one of [`crate::SUPPLIES`].
    pub supply: String,
    /// Factor on its voltage.
    pub ratio: f64,
}

/// Which of the three columns of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Column {
    /// Smallest.
    Min,
    /// Typical.
    Typ,
    /// Largest.
    Max,
}

impl Column {
    /// All of them with the words used in files.
    pub const ALL: [(&'static str, Column); 3] = [
        ("min", Column::Min),
        ("typ", Column::Typ),
        ("max", Column::Max),
    ];
}

/// One figure of a part.
///
/// All numbers are in the coherent SI unit of [`Figure::dimension`];
/// temperatures of figures that are absolute (ranges) are in kelvin,
/// temperature errors are differences in kelvin.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Name, as the kind of part lists it.
    pub name: String,
    /// Dimension as written; a figure such as `offset-error` may come in volts,
    /// codes or as a share.
    pub dimension: Dimension,
    /// Smallest value, SI. For a supply-relative limit the constant part.
    pub min: Option<f64>,
    /// Typical value, SI.
    pub typ: Option<f64>,
    /// Largest value, SI.
    pub max: Option<f64>,
    /// Set where the smallest value follows a supply.
    pub min_supply: Option<SupplyTerm>,
    /// Set where the typical value follows a supply.
    pub typ_supply: Option<SupplyTerm>,
    /// Set where the largest value follows a supply.
    pub max_supply: Option<SupplyTerm>,
    /// The figure against one variable: (variable, value), SI, variable ascending.
    pub points: Vec<(f64, f64)>,
    /// Which column the points are.
    pub points_column: Column,
    /// Dimension of the variable of [`Figure::points`].
    pub variable: Option<Dimension>,
    /// The settings that can be chosen from, SI.
    pub choices: Vec<f64>,
    /// What the limits mean.
    pub role: Role,
    /// Distribution, where stated.
    pub shape: Option<ShapeName>,
    /// How many standard uncertainties the limits of a normal shape stand for.
    pub coverage: f64,
    /// How a drift is meant, where the figure is one.
    pub method: Option<DriftMethod>,
    /// The temperature the figure holds at or drifts from, kelvin.
    pub reference_temperature_k: Option<f64>,
    /// That temperature is written, and not the usual one.
    pub temperature_stated: bool,
    /// Temperature range the figure holds over, kelvin.
    pub over_k: Option<(f64, f64)>,
    /// Gains of a programmable converter the figure holds at, from and to.
    pub gain: Option<(f64, f64)>,
    /// Output rate of a filtering converter the figure holds at, Hz.
    pub rate_hz: Option<f64>,
    /// Band over which a noise was taken, Hz.
    pub band_hz: Option<(f64, f64)>,
    /// Whether a noise is given from peak to peak (or as rms), where that is
    /// said.
    pub peak_to_peak: Option<bool>,
    /// Conditions it holds under, as text.
    pub conditions: String,
    /// What it counts per, where that is not in the unit.
    pub per: String,
    /// The figure beside it that contains this one already, so that the two
    /// are never counted together: the offset within a total error.
    pub part_of: Option<String>,
    /// How well it is founded.
    pub basis: Basis,
    /// Where it was read.
    pub source: Source,
    /// Where it is written in the part or board file.
    pub span: Span,
    /// As written, for showing.
    pub text: String,
    /// The same figure under other conditions; never used unasked.
    pub alternatives: Vec<Figure>,
}

impl Figure {
    /// The typical value, else the middle of the limits, else the only limit.
    #[must_use]
    pub fn typical(&self) -> Option<f64> {
        self.typ.or(match (self.min, self.max) {
            (Some(low), Some(high)) => Some(0.5 * (low + high)),
            (one, other) => one.or(other),
        })
    }

    /// The number in a column, SI; for a supply-relative limit only its constant part.
    #[must_use]
    pub fn column(&self, column: Column) -> Option<f64> {
        match column {
            Column::Min => self.min,
            Column::Typ => self.typ,
            Column::Max => self.max,
        }
    }

    /// Whether any column follows a supply, so that the figure must be
    /// [resolved](Figure::resolved) before use.
    #[must_use]
    pub fn follows_supply(&self) -> bool {
        self.min_supply.is_some() || self.typ_supply.is_some() || self.max_supply.is_some()
    }

    /// The figure with every supply-relative limit worked out:
    /// limit = ratio × supply + offset, volts.
    ///
    /// `supply` gives the voltage of a named supply; `None` if it is not known,
    /// and then the whole answer is `None`.
    #[must_use]
    pub fn resolved(&self, supply: &dyn Fn(&str) -> Option<f64>) -> Option<Figure> {
        let at = |value: Option<f64>, term: &Option<SupplyTerm>| match term {
            None => Some(value),
            Some(term) => {
                supply(&term.supply).map(|volt| Some(term.ratio * volt + value.unwrap_or(0.0)))
            }
        };
        let min = at(self.min, &self.min_supply)?;
        let typ = at(self.typ, &self.typ_supply)?;
        let max = at(self.max, &self.max_supply)?;
        Some(Figure {
            min,
            typ,
            max,
            min_supply: None,
            typ_supply: None,
            max_supply: None,
            ..self.clone()
        })
    }

    /// The figure, or the alternative, that holds at a gain; the figure itself
    /// where none says so.
    #[must_use]
    pub fn at_gain(&self, gain: f64) -> &Figure {
        std::iter::once(self)
            .chain(&self.alternatives)
            .find(|f| {
                f.gain
                    .is_some_and(|(low, high)| low <= gain && gain <= high)
            })
            .unwrap_or(self)
    }

    /// The figure, or the alternative, printed for the lowest output rate that
    /// is not below `rate_hz`, else for the highest: of a noise, which grows
    /// with the rate, what it is at most. The figure itself where none names
    /// a rate.
    ///
    /// ```
    /// let adc = parts::Library::shipped().get("ad7799").unwrap().converter("").unwrap();
    /// let noise = adc.figures["noise"].not_below_rate(100.0);
    /// assert_eq!(noise.rate_hz, Some(123.0));
    /// ```
    #[must_use]
    pub fn not_below_rate(&self, rate_hz: f64) -> &Figure {
        // What data sheets print as 16.7 Hz is 16.67 Hz as often.
        let enough = |printed: f64| printed >= rate_hz * (1.0 - SAME_RATE);
        let all = || std::iter::once(self).chain(&self.alternatives);
        let printed = |f: &&Figure| f.rate_hz.unwrap_or(0.0);
        all()
            .filter(|f| f.rate_hz.is_some_and(enough))
            .min_by(|a, b| printed(a).total_cmp(&printed(b)))
            .or_else(|| {
                all()
                    .filter(|f| f.rate_hz.is_some())
                    .max_by(|a, b| printed(a).total_cmp(&printed(b)))
            })
            .unwrap_or(self)
    }

    /// The figure, or the alternative, printed for this output rate (within
    /// 1 %), else the first that names no rate.
    #[must_use]
    pub fn at_rate(&self, rate_hz: f64) -> Option<&Figure> {
        let all = || std::iter::once(self).chain(&self.alternatives);
        all()
            .find(|f| {
                f.rate_hz
                    .is_some_and(|printed| (printed - rate_hz).abs() <= SAME_RATE * rate_hz)
            })
            .or_else(|| all().find(|f| f.rate_hz.is_none()))
    }

    /// The figure at one value of its variable: the column of the points is
    /// filled from them, the other columns stay as they are. A figure without
    /// points is returned unchanged.
    ///
    /// ```
    /// let adc = parts::Library::shipped().get("ad7799").unwrap().converter("").unwrap();
    /// let noise = adc.figures["noise"].at_variable(4.0);
    /// assert_eq!(noise.typ, Some(0.433e-6));
    /// ```
    #[must_use]
    pub fn at_variable(&self, variable: f64) -> Figure {
        let mut figure = self.clone();
        if let Some(value) = self.at(variable) {
            match self.points_column {
                Column::Min => figure.min = Some(value),
                Column::Typ => figure.typ = Some(value),
                Column::Max => figure.max = Some(value),
            }
            figure.points.clear();
        }
        figure
    }

    /// The value at `variable` by straight lines between the points, held
    /// constant beyond the ends; `None` without points.
    #[must_use]
    pub fn at(&self, variable: f64) -> Option<f64> {
        let mut below: Option<(f64, f64)> = None;
        for &(x, y) in &self.points {
            if variable <= x {
                return Some(match below {
                    Some((x0, y0)) if variable < x => y0 + (y - y0) * ((variable - x0) / (x - x0)),
                    _ => y,
                });
            }
            below = Some((x, y));
        }
        below.map(|(_, y)| y)
    }
}
