//! Calibration as it will be done: read at known points, fit, correct.

use board::{Calibration, Fit};
use tape::{Linear, Value};

use super::Unmodelled;
use super::site::Site;
use crate::variables::{Kind, Lies, Trace, Variable};

/// What a calibration leaves in the firmware.
pub struct Correction<'t> {
    centre: Value<'t>,
    /// Coefficients about the centre, constant first.
    coefficients: Vec<Value<'t>>,
}

impl<'t> Correction<'t> {
    /// The corrected reading.
    #[must_use]
    pub fn apply(&self, reading: Value<'t>) -> Value<'t> {
        let x = reading - self.centre;
        let mut sum = reading.builder().zero();
        for &c in self.coefficients.iter().rev() {
            sum = sum * x + c;
        }
        sum
    }
}

impl<'t> Site<'_, 't> {
    /// Simulates the calibration: the board's own variables are the same as
    /// in use, those of single readings are fresh, the standard's error is
    /// common to all points or each point's own, the ambient is that of the
    /// bench, the coefficients are rounded as stored.
    ///
    /// # Errors
    /// The chain cannot be built, or the points do not determine the fit.
    pub fn calibrated(&self, c: &Calibration) -> Result<Correction<'t>, Unmodelled> {
        let ambient = match &c.ambient {
            Some(a) => {
                let key = format!("channels.{}.calibration.ambient", self.channel.name);
                // The bench has its own temperature, not the site's.
                let (low, high) = a.value.tolerance.map_or((0.0, 0.0), |t| {
                    let (low, high) = t.limits(a.value.nominal);
                    (low - a.value.nominal, high - a.value.nominal)
                });
                let variable = Variable::board(
                    &key,
                    "ambient at calibration",
                    "K",
                    Lies::Between(low, high),
                    Kind::Temperature,
                    Trace::board(Some(a.span)),
                );
                self.deviation(variable) + a.value.nominal
            }
            None => self.builder.constant(super::site::TOLERANCE_K),
        };
        let mut pairs = Vec::new();
        for (i, &at) in c.at.iter().enumerate() {
            let instance = format!("calibration {i}");
            let site = Site {
                instance: &instance,
                ambient,
                ..*self
            };
            let truth = self.standard(c, i) + at;
            pairs.push((site.reading(truth)?.reading, at));
        }
        let fitted = self.fit(c, &pairs)?;
        Ok(fitted)
    }

    /// Deviation of the standard at a point.
    fn standard(&self, c: &Calibration, point: usize) -> Value<'t> {
        let Some(s) = &c.standard else {
            return self.builder.zero();
        };
        let (low, high) = self.limits_of(&s.value);
        let part = |key: &str, name: &str, share: f64| {
            self.deviation(Variable::board(
                key,
                name,
                &self.channel.unit.symbol,
                Lies::Between(low * share, high * share),
                Kind::Other,
                Trace::board(Some(s.span)),
            ))
        };
        let prefix = format!("channels.{}.calibration.standard", self.channel.name);
        let own = (1.0 - c.standard_common * c.standard_common)
            .max(0.0)
            .sqrt();
        part(
            &format!("{prefix}.common"),
            "calibration standard",
            c.standard_common,
        ) + part(
            &format!("{prefix}.{point}"),
            "calibration standard, single points",
            own,
        )
    }

    /// Least squares of the known values on the readings.
    fn fit(
        &self,
        c: &Calibration,
        pairs: &[(Value<'t>, f64)],
    ) -> Result<Correction<'t>, Unmodelled> {
        let b = self.builder;
        let n = pairs.len() as f64;
        let mut mean_reading = b.zero();
        let mut mean_known = 0.0;
        for &(r, x) in pairs {
            mean_reading = mean_reading + r * (1.0 / n);
            mean_known += x / n;
        }
        let zero = Site::scale_zero(self.channel.dimension);
        let coefficients = match c.fit {
            Fit::Offset => {
                let offset = self.stored("offset", mean_known - mean_reading, c.offset_step);
                vec![mean_reading + offset, b.one()]
            }
            Fit::Gain => {
                let (mut above, mut below) = (b.zero(), b.zero());
                for &(r, x) in pairs {
                    above = above + (r - zero) * (x - zero);
                    below = below + (r - zero).squared();
                }
                let gain = self.stored("gain", above / below, c.gain_step);
                return Ok(Correction {
                    centre: b.constant(zero),
                    coefficients: vec![b.constant(zero), gain],
                });
            }
            Fit::Line | Fit::Parabola => {
                let degree = if c.fit == Fit::Line { 1 } else { 2 };
                let mut system = Linear::new(b, degree + 1);
                for &(r, x) in pairs {
                    let d = r - mean_reading;
                    for i in 0..=degree {
                        for j in 0..=degree {
                            system.add(i, j, d.powi((i + j) as u32));
                        }
                        system.add_right(i, d.powi(i as u32) * (x - mean_known));
                    }
                }
                let fitted = system.solve(b, false).map_err(|_| {
                    Unmodelled::new("the calibration points do not determine the fit")
                })?;
                let mut stored = Vec::new();
                for (i, k) in fitted.into_iter().enumerate() {
                    let step = if i == 0 { c.offset_step } else { c.gain_step };
                    stored.push(self.stored(&format!("coefficient {i}"), k, step));
                }
                if let Some(first) = stored.first_mut() {
                    *first = *first + mean_known;
                }
                stored
            }
        };
        Ok(Correction {
            centre: mean_reading,
            coefficients,
        })
    }

    /// A coefficient rounded to the step it is stored in.
    fn stored(&self, what: &str, value: Value<'t>, step: Option<f64>) -> Value<'t> {
        let Some(step) = step.filter(|s| *s > 0.0) else {
            return value;
        };
        let rounding = self.rounding(
            &format!("stored {what}"),
            &format!("stored {what}"),
            "",
            step,
        );
        (value * (1.0 / step) + 0.5).quantised() * step + rounding
    }
}
