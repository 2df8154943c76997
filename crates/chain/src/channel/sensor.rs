//! The sensor: from the truth to the electrical value.

use std::rc::Rc;

use board::Auxiliary;
use parts::Figure;
use quantity::Dimension;
use tape::Value;

use super::Unmodelled;
use super::site::{Site, Within};
use crate::law::{self, Law, Parameters};
use crate::time::interferer::{Disturbance, known};
use crate::variables::{Kind, Lies, Trace, Variable};

impl<'t> Site<'_, 't> {
    /// The law of the sensor.
    ///
    /// # Errors
    /// It has no equations.
    pub fn law(&self) -> Result<&'static dyn Law, Unmodelled> {
        let name = &self.channel.sensor.law;
        law::find(name).ok_or_else(|| Unmodelled::new(format!("the law `{name}` has no equations")))
    }

    /// Figures of the sensor as parameters of its law.
    ///
    /// # Errors
    /// A figure cannot be used or a required one is missing.
    pub fn parameters(&self, law: &'static dyn Law) -> Result<Parameters<'t>, Unmodelled> {
        self.parameters_of(law, None)
    }

    /// The same for one of several pieces of a sensor after the first. Pieces
    /// are of one lot (common practice): each has a nominal resistance of its
    /// own, everything else is common to them.
    ///
    /// # Errors
    /// As [`Site::parameters`].
    pub fn parameters_of(
        &self,
        law: &'static dyn Law,
        piece: Option<&str>,
    ) -> Result<Parameters<'t>, Unmodelled> {
        let sensor = &self.channel.sensor;
        let told = |f: law::LawFault| Unmodelled::new(f.to_string());
        let mut p = Parameters::new(self.builder, law, self.channel.dimension);
        for spec in law.parameters() {
            let Some(figure) = sensor.figures.get(spec.name) else {
                continue;
            };
            let key = match piece {
                Some(path) if spec.name == "nominal-resistance" => {
                    format!("{path}.{}", spec.name)
                }
                _ => format!("channels.{}.sensor.{}", self.channel.name, spec.name),
            };
            let name = format!("sensor, {}", spec.name);
            // The limits of a thermocouple's class are numbers of the class;
            // what varies is the share of them.
            let of_class = matches!(spec.name, "class-absolute" | "class-relative");
            let value = if of_class {
                self.builder
                    .constant(figure.max.or_else(|| figure.typical()).unwrap_or(0.0))
            } else {
                self.figure(&key, &name, figure, Kind::Fixed)?
            };
            p.set(spec.name, value).map_err(told)?;
        }
        if law.parameters().iter().any(|s| s.name == "class-share")
            && let Some(figure) = sensor
                .figures
                .get("class-absolute")
                .or_else(|| sensor.figures.get("class-relative"))
        {
            let key = format!("channels.{}.sensor.class", self.channel.name);
            let share = Variable::board(
                &key,
                "sensor, tolerance class",
                "",
                Lies::Between(-1.0, 1.0),
                Kind::Fixed,
                Trace::figure(figure),
            );
            p.set("class-share", self.deviation(share)).map_err(told)?;
        }
        let options = sensor.part.as_ref().map(|part| &part.options);
        for (name, word) in options.into_iter().flatten().chain(&sensor.words) {
            if law.words().iter().any(|w| w.name == name) {
                p.set_word(name, word).map_err(told)?;
            }
        }
        for spec in law.points() {
            if let Some(f) = sensor.figures.get(spec.name) {
                p.set_points(spec.name, f.points.clone()).map_err(told)?;
            }
        }
        match p.missing().first() {
            Some(missing) => Err(told(missing.clone())),
            None => Ok(p),
        }
    }

    /// What the sensor meets when the quantity is `truth`: warmed, and with
    /// the deviations that are stated in the quantity's own unit.
    ///
    /// # Errors
    /// A figure cannot be used.
    pub fn met(&self, truth: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        if !self.real {
            return Ok(truth);
        }
        let channel = self.channel;
        let (low, high) = channel.span.value;
        let prefix = format!("channels.{}", channel.name);
        let unit = channel.unit.symbol.as_str();
        let mut met = truth;
        if let Some(w) = &channel.sensor.warmed {
            let warmed = self.valued(
                &format!("{prefix}.warmed"),
                "warmed sensor",
                &w.value,
                Kind::Other,
                Some(w.span),
            );
            met = self.warmer(met, warmed);
        }
        met = self.met_warmed(met);
        for (i, other) in channel.others.iter().enumerate() {
            let (from, to) = self.limits_of(&other.size.value);
            let lies = match other.shape {
                board::OtherShape::Rectangular => Lies::Between(from, to),
                board::OtherShape::Triangular => Lies::Triangular(from, to),
                board::OtherShape::Arcsine => Lies::Arcsine(from, to),
                board::OtherShape::Normal => Lies::About(0.5 * (from + to), 0.25 * (to - from)),
            };
            let trace = Trace::board(Some(other.size.span));
            let value = match other.kind {
                board::OtherKind::Random => self.deviation(
                    Variable::board(
                        &self.reading_key(&format!("other.{i}")),
                        &self.reading_name(&other.name),
                        unit,
                        lies,
                        Kind::Random,
                        trace,
                    )
                    .per_reading(),
                ),
                // A calibration is done while the board is new.
                board::OtherKind::Ageing if !self.instance.is_empty() => self.builder.zero(),
                board::OtherKind::Ageing => self.deviation(Variable::board(
                    &format!("{prefix}.other.{i}"),
                    &other.name,
                    unit,
                    lies,
                    Kind::Ageing,
                    trace,
                )),
                // Placement and the like belong to the place of use.
                board::OtherKind::Fixed if !self.instance.is_empty() => self.builder.zero(),
                board::OtherKind::Fixed => self.deviation(Variable::board(
                    &format!("{prefix}.other.{i}"),
                    &other.name,
                    unit,
                    lies,
                    Kind::Other,
                    trace,
                )),
            };
            met = met + value;
        }
        let share = (truth - low) * (1.0 / (high - low));
        for name in ["accuracy", "accuracy-of-span", "nonlinearity"] {
            let Some(f) = channel
                .sensor
                .figures
                .get(name)
                .filter(|f| f.part_of.is_none())
            else {
                continue;
            };
            if name == "nonlinearity" && channel.sensor.figures.contains_key("accuracy") {
                continue;
            }
            let scale = self.size_in_quantity(f, name, truth, low, high);
            let curve = self.own_curve(&format!("{prefix}.sensor.{name}"), name, f, share)?;
            met = met + curve * scale;
        }
        for name in ["hysteresis", "repeatability"] {
            let Some(f) = channel
                .sensor
                .figures
                .get(name)
                .filter(|f| f.part_of.is_none())
            else {
                continue;
            };
            let scale = self.size_in_quantity(f, "of-span", truth, low, high);
            // Neither is the same at the next reading, so that no calibration
            // takes it out.
            let lies = self.lies_of(f)?;
            let variable = Variable::board(
                &self.reading_key(name),
                &self.reading_name(&format!("sensor, {name}")),
                quantity::symbol(f.dimension).unwrap_or(""),
                lies,
                Kind::Random,
                Trace::figure(f),
            );
            met = met + self.deviation(variable.per_reading()) * scale;
        }
        for name in ["sensitivity-error", "offset-error"] {
            let Some(f) = channel
                .sensor
                .figures
                .get(name)
                .filter(|f| f.part_of.is_none())
            else {
                continue;
            };
            let value = self.figure(
                &format!("{prefix}.sensor.{name}"),
                &format!("sensor, {name}"),
                f,
                Kind::Fixed,
            )?;
            let zero = Site::scale_zero(channel.dimension);
            met = met
                + if name == "sensitivity-error" {
                    value * (truth - zero)
                } else if f.dimension == Dimension::NONE && channel.dimension != Dimension::NONE {
                    value * (high - low)
                } else {
                    value
                };
        }
        Ok(met + self.drifts(truth)?)
    }

    /// Factor from a figure's own unit to the quantity's.
    fn size_in_quantity(
        &self,
        f: &Figure,
        meant: &str,
        truth: Value<'t>,
        low: f64,
        high: f64,
    ) -> Value<'t> {
        let absolute = f.dimension == self.channel.dimension && f.dimension != Dimension::NONE;
        if absolute {
            return self.builder.one();
        }
        if meant == "accuracy" && self.channel.dimension == Dimension::NONE {
            // The quantity is a share itself; so is its error.
            return self.builder.one();
        }
        if meant == "accuracy" {
            // A share without more is of the reading.
            return (truth - Site::scale_zero(self.channel.dimension)).abs();
        }
        let span = self
            .channel
            .sensor
            .figures
            .get("span")
            .and_then(|s| Some(s.max? - s.min.unwrap_or(0.0)))
            .unwrap_or(high - low);
        self.builder.constant(span)
    }

    pub(super) fn lies_of(&self, f: &Figure) -> Result<Lies, Unmodelled> {
        let spread = f
            .spread()
            .ok_or_else(|| Unmodelled::new(format!("the figure `{}` has no value", f.name)))?;
        Ok(match spread.shape {
            parts::SpreadShape::Rectangular { low, high } => Lies::Between(low, high),
            parts::SpreadShape::Triangular { low, high } => Lies::Triangular(low, high),
            parts::SpreadShape::Arcsine { low, high } => Lies::Arcsine(low, high),
            parts::SpreadShape::Normal { mean, u } => Lies::About(mean, u),
            parts::SpreadShape::Fixed { value } => Lies::Between(-value.abs(), value.abs()),
        })
    }

    /// An accuracy whose shape over the span is not known: a bounded curve, so
    /// that a calibration is credited only near its points.
    fn own_curve(
        &self,
        key: &str,
        name: &str,
        f: &Figure,
        share: Value<'t>,
    ) -> Result<Value<'t>, Unmodelled> {
        let spread = f
            .spread()
            .ok_or_else(|| Unmodelled::new(format!("the figure `{}` has no value", f.name)))?;
        let within = Within {
            low: spread.low,
            high: spread.high,
            bound: spread.bound,
        };
        let unit = quantity::symbol(f.dimension).unwrap_or("");
        let corner = self.reading_key(name);
        Ok(self.curve(
            key,
            &format!("sensor, {name}"),
            unit,
            within,
            Kind::Fixed,
            &Trace::figure(f),
            share,
            &corner,
        ))
    }

    /// The true value of another quantity that the sensor depends on.
    ///
    /// A cold junction is at the ambient; a quantity that another channel
    /// measures is swept over that channel's span.
    ///
    /// # Errors
    /// It is not stated.
    pub fn true_auxiliary(&self, key: &'static str) -> Option<Value<'t>> {
        if key == "cold-junction" {
            return Some(self.ambient);
        }
        match self.channel.sensor.auxiliaries.get(key) {
            Some(Auxiliary::Channel(i)) => {
                let other = self.board.channels.get(*i)?;
                let (low, high) = other.span.value;
                if !self.real {
                    return Some(self.builder.constant(0.5 * (low + high)));
                }
                if !self.instance.is_empty() {
                    return Some(self.ambient);
                }
                self.true_quantity(other).ok()
            }
            Some(Auxiliary::Constant(_)) | None => Some(self.ambient),
        }
    }

    /// What another channel measures, as it is: swept over that channel's
    /// span, or the rail it measures.
    ///
    /// # Errors
    /// The rail has no voltage.
    pub fn true_quantity(&self, other: &board::Channel) -> Result<Value<'t>, Unmodelled> {
        if let Some(rail) = other.sensor.rail {
            return self.rail(rail);
        }
        let (low, high) = other.span.value;
        Ok(self.variables.condition(
            &format!("channels.{}.quantity", other.name),
            &other.name,
            &other.unit.symbol,
            Site::points(low, high, 3),
            Some(other.span.span),
        ))
    }

    /// What the firmware takes that other quantity to be.
    ///
    /// # Errors
    /// The other channel cannot be built.
    pub fn read_auxiliary(&self, key: &'static str) -> Result<Value<'t>, Unmodelled> {
        match self.channel.sensor.auxiliaries.get(key) {
            Some(Auxiliary::Constant(c)) => Ok(self.builder.constant(c.value)),
            Some(Auxiliary::Channel(i)) if self.real => {
                let truth = self
                    .true_auxiliary(key)
                    .ok_or_else(|| Unmodelled::new(format!("`{key}` is not stated")))?;
                Ok(self.other_reading(*i, truth)?.0)
            }
            // As assumed everything is read without error.
            _ => self
                .true_auxiliary(key)
                .ok_or_else(|| Unmodelled::new(format!("`{key}` is not stated"))),
        }
    }

    /// Reading (corrected by its calibration) and whole code of another channel
    /// whose quantity is `truth`; built once for each place and truth.
    ///
    /// # Errors
    /// It cannot be built, or channels need each other in a loop.
    pub fn other_reading(
        &self,
        i: usize,
        truth: Value<'t>,
    ) -> Result<(Value<'t>, Value<'t>), Unmodelled> {
        let other = self
            .board
            .channels
            .get(i)
            .ok_or_else(|| Unmodelled::new("no such channel"))?;
        let known =
            |o: &Other<'t>| o.channel == i && o.instance == self.instance && o.truth.same(truth);
        if let Some(o) = self.others.borrow().made.iter().find(|o| known(o)) {
            return Ok((o.reading, o.whole));
        }
        if self.others.borrow().open.contains(&i) {
            return Err(Unmodelled::new(format!(
                "channels need each other's readings in a loop, `{}` among them",
                other.name
            )));
        }
        self.others.borrow_mut().open.push(i);
        let site = Site {
            channel: other,
            depth: self.depth + 1,
            ..*self
        };
        let made = site
            .reading(truth)
            .and_then(|r| Ok((site.corrected(r.reading)?, r.whole)));
        self.others.borrow_mut().open.pop();
        let (reading, whole) = made?;
        self.others.borrow_mut().made.push(Other {
            channel: i,
            instance: self.instance.to_owned(),
            truth,
            reading,
            whole,
        });
        Ok((reading, whole))
    }
}

/// Readings of other channels built so far, and those being built.
#[derive(Default)]
pub struct Others<'t> {
    made: Vec<Other<'t>>,
    open: Vec<usize>,
    /// What disturbs a channel is the same for every one of its readings.
    disturbed: Vec<(String, Rc<Vec<Disturbance>>)>,
}

impl Others<'_> {
    /// What interferers of known amplitude leave in a channel; worked out when
    /// it is first asked for.
    ///
    /// # Errors
    /// As [`known`].
    pub fn disturbances(
        &mut self,
        board: &board::Board,
        channel: &board::Channel,
    ) -> Result<Rc<Vec<Disturbance>>, Unmodelled> {
        if let Some((_, found)) = self.disturbed.iter().find(|d| d.0 == channel.name) {
            return Ok(Rc::clone(found));
        }
        let found = Rc::new(known(board, channel)?);
        self.disturbed
            .push((channel.name.clone(), Rc::clone(&found)));
        Ok(found)
    }

    /// Notes the channel that is asked for as being built.
    pub fn begin(&mut self, channel: usize) {
        self.open.push(channel);
    }
}

struct Other<'t> {
    channel: usize,
    instance: String,
    truth: Value<'t>,
    reading: Value<'t>,
    whole: Value<'t>,
}
