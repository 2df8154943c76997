//! Where a channel is being built: which board, which settings, and whether
//! things are as they are or as the firmware believes.

use std::cell::RefCell;

use board::{Board, Channel};
use finding::Span;
use parts::Figure;
use quantity::{Dimension, Part, Tolerance, Valued};
use tape::{Builder, Value};

use super::sensor::Others;
use super::{Unmodelled, Watched};
use crate::time::Timing;
use crate::variables::{Kind, Lies, Trace, Variable, Variables, Varies};

/// Temperature at which tolerances hold unless a figure says otherwise, K.
pub const TOLERANCE_K: f64 = 298.15;

/// Knots of a curve in propagation.
const KNOTS: usize = 7;

/// Limits of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Within {
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// They are a bound and not three times a typical figure.
    pub bound: bool,
}

/// What a component whose tolerance is not written is taken to have (common
/// practice); shown as such in every budget.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Usual {
    /// Limits either way, as a share.
    pub tolerance: f64,
    /// Limits of the drift either way, 1/K, where none is written either.
    pub drift_per_k: Option<f64>,
    /// What was taken, in words.
    pub said: &'static str,
}

/// An ordinary film resistor.
const RESISTOR: Usual = Usual {
    tolerance: 0.01,
    drift_per_k: Some(100e-6),
    said: "no tolerance is written: 1 %, 100 ppm/K taken",
};

/// An ordinary capacitor.
const CAPACITOR: Usual = Usual {
    tolerance: 0.1,
    drift_per_k: None,
    said: "no tolerance is written: 10 % taken",
};

/// A wire, or what lies within a source: nobody trims them.
pub const STRAY: Usual = Usual {
    tolerance: 0.1,
    drift_per_k: None,
    said: "no tolerance is written: 10 % taken",
};

impl Usual {
    /// The usual spread of components of this dimension.
    #[must_use]
    pub fn of(dimension: Dimension) -> Option<&'static Usual> {
        if dimension == Dimension::RESISTANCE {
            Some(&RESISTOR)
        } else if dimension == Dimension::CAPACITANCE {
            Some(&CAPACITOR)
        } else {
            None
        }
    }
}

/// One place to build from.
#[derive(Clone, Copy)]
pub struct Site<'a, 't> {
    /// The board.
    pub board: &'a Board,
    /// The channel.
    pub channel: &'a Channel,
    /// What must hold, gathered while the model is written.
    pub watched: &'a RefCell<Vec<Watched<'t>>>,
    /// The tape.
    pub builder: &'t Builder,
    /// Where uncertain inputs are kept.
    pub variables: &'a Variables<'t>,
    /// Ambient, K.
    pub ambient: Value<'t>,
    /// Which reading: empty in use, else the calibration point. Variables of
    /// single readings are fresh for each.
    pub instance: &'a str,
    /// As things are, or as assumed: nominal values at 25 °C.
    pub real: bool,
    /// Without what is drawn anew for each reading.
    pub quiet: bool,
    /// At the lower peak of an alternating quantity.
    pub trough: bool,
    /// How many channels lie between this one and the one asked for.
    pub depth: usize,
    /// A rail that is measured, and its voltage, V: it is the quantity and not
    /// what its own file table says.
    pub measured_rail: Option<(usize, Value<'t>)>,
    /// Readings of other channels.
    pub others: &'a RefCell<Others<'t>>,
    /// What sampling adds to the readings of all channels.
    pub timing: &'a Timing,
}

impl<'a, 't> Site<'a, 't> {
    /// The same place as the firmware believes it to be.
    #[must_use]
    pub fn assumed(&self) -> Site<'a, 't> {
        Site {
            real: false,
            ambient: self.builder.constant(TOLERANCE_K),
            ..*self
        }
    }

    /// The same place where the quantity is `truth`: a channel that measures a
    /// rail sets that rail, so that whatever hangs on it follows.
    #[must_use]
    pub fn facing(&self, truth: Value<'t>) -> Site<'a, 't> {
        match self.channel.sensor.rail {
            Some(rail) => Site {
                measured_rail: Some((rail, truth)),
                ..*self
            },
            None => *self,
        }
    }

    /// A key of this reading.
    #[must_use]
    pub fn reading_key(&self, what: &str) -> String {
        format!("channels.{}.{what}@{}", self.channel.name, self.instance)
    }

    /// The name of something that is drawn anew for each reading, with the
    /// point of the calibration it belongs to.
    #[must_use]
    pub fn reading_name(&self, name: &str) -> String {
        let point = self
            .instance
            .rsplit(' ')
            .next()
            .and_then(|n| n.parse::<usize>().ok())
            .and_then(|n| self.channel.calibration.as_ref()?.at.get(n));
        match point {
            Some(&at) => {
                let unit = &self.channel.unit;
                let number = quantity::plain(unit.number(at), 4);
                let number = if number.contains('.') {
                    number.trim_end_matches('0').trim_end_matches('.')
                } else {
                    &number
                };
                format!("{name}, calibrating at {number} {}", unit.symbol)
            }
            None => name.to_owned(),
        }
    }

    /// A deviation of the board, zero as assumed.
    pub fn deviation(&self, variable: Variable) -> Value<'t> {
        let left_out = self.quiet && variable.varies == Varies::Reading;
        if self.real && !left_out {
            self.variables.deviation(variable)
        } else {
            self.builder.zero()
        }
    }

    /// A value written with tolerance and drift: (nominal + deviation) times
    /// 1 + drift·(T − 25 °C).
    ///
    /// A resistance or capacitance without a tolerance has the usual one of
    /// its kind ([`Usual`]), since no part is exact; other values count as
    /// they are written.
    pub fn valued(
        &self,
        key: &str,
        name: &str,
        v: &Valued,
        kind: Kind,
        span: Option<Span>,
    ) -> Value<'t> {
        self.valued_or(key, name, v, kind, span, Usual::of(v.dimension))
    }

    /// As [`Site::valued`], with what is taken where no tolerance is written.
    pub fn valued_or(
        &self,
        key: &str,
        name: &str,
        v: &Valued,
        kind: Kind,
        span: Option<Span>,
        usual: Option<&Usual>,
    ) -> Value<'t> {
        let nominal = self.builder.constant(v.nominal);
        if !self.real {
            return nominal;
        }
        let usual = usual.filter(|_| v.tolerance.is_none());
        let trace = || match usual {
            Some(usual) => Trace {
                span,
                ..Trace::practice(usual.said)
            },
            None => Trace::board(span),
        };
        let unit = quantity::symbol(v.dimension).unwrap_or("");
        let tolerance = v
            .tolerance
            .or_else(|| usual.map(|u| Tolerance::symmetric(Part::Relative(u.tolerance))));
        let (low, high) = tolerance.map_or((0.0, 0.0), |t| {
            let (low, high) = t.limits(v.nominal);
            (low - v.nominal, high - v.nominal)
        });
        let deviation = self.deviation(Variable::board(
            &format!("{key}.tolerance"),
            &format!("{name}, tolerance"),
            unit,
            Lies::Between(low, high),
            kind,
            trace(),
        ));
        let mut value = nominal + deviation;
        let mut warmer = self.ambient - TOLERANCE_K;
        if let Some(kelvin) = self.warming(key) {
            warmer = warmer + kelvin;
        }
        if let Some(drift) = v.drift_per_k.or(usual.and_then(|u| u.drift_per_k)) {
            let slope = if v.drift_signed {
                self.builder.constant(drift)
            } else {
                self.deviation(Variable::board(
                    &format!("{key}.drift"),
                    &format!("{name}, drift"),
                    "1/K",
                    Lies::Between(-drift, drift),
                    Kind::Temperature,
                    if v.drift_per_k.is_some() {
                        Trace::board(span)
                    } else {
                        trace()
                    },
                ))
            };
            value = value * (slope * warmer + 1.0);
        }
        if let Some(drift) = v.drift_absolute_per_k {
            let slope = self.deviation(Variable::board(
                &format!("{key}.drift-absolute"),
                &format!("{name}, drift"),
                "",
                Lies::Between(-drift, drift),
                Kind::Temperature,
                Trace::board(span),
            ));
            value = value + slope * warmer;
        }
        value
    }

    /// A difference written with limits: its size is ± the nominal where no
    /// tolerance is given, else the nominal is its centre.
    pub fn limits_of(&self, v: &Valued) -> (f64, f64) {
        match v.tolerance {
            Some(t) => t.limits(v.nominal),
            None => (-v.nominal.abs(), v.nominal.abs()),
        }
    }

    /// The value of a part's figure: its centre with what may be true of it.
    ///
    /// # Errors
    /// The figure follows a supply or has no value.
    pub fn figure(
        &self,
        key: &str,
        name: &str,
        figure: &Figure,
        kind: Kind,
    ) -> Result<Value<'t>, Unmodelled> {
        let spread = figure.spread().ok_or_else(|| {
            Unmodelled::new(format!(
                "{name}: the figure follows a supply or has no value"
            ))
        })?;
        let centre = self.builder.constant(spread.centre);
        let unit = quantity::symbol(figure.dimension).unwrap_or("");
        let deviation = if self.real {
            self.variables.figure(key, name, unit, figure, kind)
        } else {
            self.builder.zero()
        };
        Ok(centre + deviation)
    }

    /// A bounded random curve over a range, read at the place `share` of it
    /// (0 to 1). The same curve read at two places differs by what a
    /// correction at one of them leaves at the other.
    ///
    /// In sampling it is a triangular wave of random phase and random number
    /// of bends (half a bend to three): everywhere equally likely between the
    /// limits, never beyond them. In propagation, and in sampling where the
    /// limits are no bound, it is a line through independent heights at knots,
    /// scaled to the same variance everywhere.
    /// In the worst case each distinct place takes its limit independently:
    /// `corner` names the place.
    pub fn curve(
        &self,
        key: &str,
        name: &str,
        unit: &str,
        within: Within,
        kind: Kind,
        trace: &Trace,
        share: Value<'t>,
        corner: &str,
    ) -> Value<'t> {
        let b = self.builder;
        if !self.real || (within.low == 0.0 && within.high == 0.0) {
            return b.zero();
        }
        let centre = 0.5 * (within.low + within.high);
        let half = 0.5 * (within.high - within.low);
        let lies = if within.bound {
            Lies::Between(-half, half)
        } else {
            // What is only typical has limits at three standard deviations.
            Lies::About(0.0, half / 3.0)
        };
        let variable = |suffix: &str, unit: &str, lies: Lies| {
            Variable::board(
                &format!("{key}.{suffix}"),
                name,
                unit,
                lies,
                kind,
                trace.clone(),
            )
            .grouped(name)
        };
        let mut sum = b.zero();
        if within.bound {
            let phase = self.variables.value(
                variable("phase", "", Lies::Between(0.0, 1.0)).only(true, false, false),
                0.25,
            );
            let bends = self.variables.value(
                variable("bends", "", Lies::Between(0.5, 3.0)).only(true, false, false),
                0.0,
            );
            let turn = phase + bends * share;
            sum = (((turn - turn.floor()) * 4.0 - 2.0).abs() - 1.0) * half;
        }
        let (mut heights, mut squares) = (b.zero(), b.zero());
        for i in 0..KNOTS {
            let height = self.variables.value(
                variable(&i.to_string(), unit, lies).only(!within.bound, true, false),
                0.0,
            );
            let distance = (share * (KNOTS - 1) as f64 - i as f64).abs();
            let hat = (1.0 - distance).max(b.zero());
            heights = heights + height * hat;
            squares = squares + hat.squared();
        }
        // Beyond the ends of the range the last knots hold alone.
        sum = sum + heights / squares.max(b.constant(0.25)).sqrt();
        let at = Variable::board(
            &format!("{key}#{corner}"),
            name,
            unit,
            lies,
            kind,
            trace.clone(),
        )
        .grouped(name)
        .only(false, false, true);
        sum + self.variables.value(at, 0.0) + centre
    }

    /// Points equally spread over a range.
    #[must_use]
    pub fn points(low: f64, high: f64, count: usize) -> Vec<f64> {
        if high <= low || count < 2 {
            return vec![low];
        }
        let last = (count - 1) as f64;
        (0..count)
            .map(|i| low + (high - low) * i as f64 / last)
            .collect()
    }

    /// Relative change with temperature by a part's drift figure (1/K).
    ///
    /// A slope is drawn once and grows with T − T_ref. A box says that the
    /// whole excursion over the stated range stays within max·range: a curve
    /// over the temperatures that occur, zero at T_ref.
    ///
    /// # Errors
    /// As [`Site::figure`].
    pub fn drift(&self, key: &str, name: &str, figure: &Figure) -> Result<Value<'t>, Unmodelled> {
        if !self.real {
            return Ok(self.builder.zero());
        }
        let reference = figure.reference_temperature_k.unwrap_or(TOLERANCE_K);
        if figure.method == Some(parts::DriftMethod::Box)
            && let (Some(limit), Some((low, high))) = (figure.max.or(figure.typ), figure.over_k)
        {
            let half = 0.5 * limit.abs() * (high - low);
            let within = Within {
                low: -half,
                high: half,
                bound: figure.max.is_some(),
            };
            let trace = Trace::figure(figure);
            let place = |kelvin: Value<'t>, corner: &str| {
                let share = (kelvin - low) * (1.0 / (high - low));
                self.curve(
                    key,
                    name,
                    "",
                    within,
                    Kind::Temperature,
                    &trace,
                    share,
                    corner,
                )
            };
            // All points of a calibration are taken at one temperature.
            let here = if self.instance.is_empty() {
                "use"
            } else {
                "calibration"
            };
            return Ok(
                place(self.ambient, here) - place(self.builder.constant(reference), "reference")
            );
        }
        Ok(self.figure(key, name, figure, Kind::Temperature)? * (self.ambient - reference))
    }

    /// Zero of the scale on which a share of the reading is meant, SI.
    #[must_use]
    pub fn scale_zero(dimension: Dimension) -> f64 {
        if dimension == Dimension::TEMPERATURE {
            crate::law::ZERO_CELSIUS_K
        } else {
            0.0
        }
    }
}
