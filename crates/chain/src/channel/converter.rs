//! The converter: from voltage to code.

use circuit::{Network, Node, doubling};
use parts::{ConverterUnit, Figure, Rounding};
use quantity::Dimension;
use tape::Value;

use super::Unmodelled;
use super::signal::Signal;
use super::site::{Site, Within};
use crate::variables::{Kind, Lies, Trace, Variable};

impl<'t> Site<'_, 't> {
    /// The converter unit the channel enters.
    ///
    /// # Errors
    /// There is none.
    pub fn unit(&self) -> Result<&ConverterUnit, Unmodelled> {
        self.channel
            .input
            .as_ref()
            .and_then(|i| {
                self.board
                    .devices
                    .get(i.device)?
                    .part
                    .converters
                    .get(i.unit)
            })
            .ok_or_else(|| Unmodelled::new("the channel enters no converter"))
    }

    /// Number of codes.
    ///
    /// # Errors
    /// There is no converter.
    pub fn full_scale(&self) -> Result<f64, Unmodelled> {
        Ok((0..self.unit()?.bits).fold(1.0, |n, _| n * 2.0))
    }

    /// The range that is set in the converter, if it has any.
    pub fn range(&self) -> Option<&parts::ConverterRange> {
        let input = self.channel.input.as_ref()?;
        let part = &self.board.devices.get(input.device)?.part;
        part.converters.get(input.unit)?.ranges.get(input.range?)
    }

    /// A figure of the converter unit, or of the whole part.
    fn input_figure(&self, name: &str) -> Option<&Figure> {
        let input = self.channel.input.as_ref()?;
        let part = &self.board.devices.get(input.device)?.part;
        let unit = part.converters.get(input.unit)?;
        unit.figures.get(name).or_else(|| part.figures.get(name))
    }

    /// Leakage and resistance of the converter's inputs as elements at their
    /// nodes. A single-ended converter has none at the minus node, which is
    /// ground.
    ///
    /// # Errors
    /// A figure cannot be used, or the signal stands between two nodes and
    /// the converter measures against ground.
    pub fn load_of_converter(
        &self,
        network: &mut Network<'t>,
        plus: Node,
        minus: Node,
    ) -> Result<(), Unmodelled> {
        let Some(input) = self.channel.input.as_ref() else {
            return Ok(());
        };
        if minus != Node::GROUND && !self.unit()?.differential {
            return Err(Unmodelled::at(
                format!(
                    "the signal stands between two nodes, and `{}` measures against ground; a differential converter, or a stage that makes one node of the two",
                    self.board.devices[input.device].name
                ),
                input.span,
            ));
        }
        if !self.real {
            return Ok(());
        }
        let (plus_pin, minus_pin) = self.pins();
        self.load_of_pin(network, plus, &plus_pin)?;
        if minus != Node::GROUND {
            self.load_of_pin(network, minus, &minus_pin)?;
        }
        Ok(())
    }

    /// Names of the pins the channel enters: both of a pair such as `0-1`.
    fn pins(&self) -> (String, String) {
        let channel = self
            .channel
            .input
            .as_ref()
            .and_then(|i| i.channel.as_deref())
            .unwrap_or("");
        let known = self
            .unit()
            .ok()
            .and_then(|u| u.channels.iter().find(|c| c.name == channel));
        match (known, channel.split_once('-')) {
            (Some(c), _) if !c.minus.is_empty() => (channel.to_owned(), c.minus.clone()),
            (None, Some((plus, minus))) => (plus.to_owned(), minus.to_owned()),
            _ => (channel.to_owned(), format!("{channel} minus")),
        }
    }

    /// Leakage and resistance of one pin.
    fn load_of_pin(
        &self,
        network: &mut Network<'t>,
        node: Node,
        pin: &str,
    ) -> Result<(), Unmodelled> {
        let Some(input) = self.channel.input.as_ref() else {
            return Ok(());
        };
        let device = &self.board.devices[input.device];
        // Two channels that look at one pin are loaded by it once.
        let element = |what: &str| format!("{what} of {}.{pin}", device.name);
        let leakage = element("leakage");
        if let Some(f) = self.input_figure("input-leakage")
            && !network.elements().iter().any(|(n, _)| *n == leakage)
        {
            let limit = f.max.or_else(|| f.typical()).unwrap_or(0.0).abs();
            let key = format!("{}.{pin}.leakage", device.name);
            let lies = if f.max.is_some() {
                Lies::Between(-limit, limit)
            } else {
                Lies::About(0.0, limit)
            };
            let mut current = self.deviation(Variable::board(
                &key,
                "input leakage",
                "A",
                lies,
                Kind::Fixed,
                Trace::figure(f),
            ));
            if let Some(at) = f.reference_temperature_k {
                current = doubling(current, self.ambient, at);
            }
            network.current_source(&leakage, Node::GROUND, node, current);
        }
        let resistance = element("resistance");
        if let Some(f) = self.input_figure("input-resistance")
            && !network.elements().iter().any(|(n, _)| *n == resistance)
        {
            let ohm = f.min.or_else(|| f.typical()).unwrap_or(f64::INFINITY);
            if ohm.is_finite() && ohm > 0.0 {
                let value = self.figure(
                    &format!("{}.input-resistance", device.name),
                    "input resistance",
                    f,
                    Kind::Fixed,
                )?;
                network.resistor(&resistance, node, Node::GROUND, value);
            }
        }
        let per_volt = element("current");
        if let Some(f) = self.input_figure("input-current-per-volt")
            && !network.elements().iter().any(|(n, _)| *n == per_volt)
        {
            let siemens = self.figure(
                &format!("{}.input-current-per-volt", device.name),
                "input current",
                f,
                Kind::Fixed,
            )?;
            network.conductance(&per_volt, node, Node::GROUND, siemens);
        }
        Ok(())
    }

    /// What a differential converter makes of the middle of its two inputs,
    /// as a voltage between them: within plus and minus that middle over the
    /// rejection, V.
    ///
    /// Zero where there is no converter.
    pub fn common_mode(&self, signal: &Signal<'t>) -> Value<'t> {
        let zero = self.builder.zero();
        let (Some(minus), Ok(unit)) = (signal.minus, self.unit()) else {
            return zero;
        };
        let Some(f) = self.input_figure("common-mode-rejection") else {
            return zero;
        };
        let Some(ratio) = f.min.or_else(|| f.typical()).filter(|r| *r > 0.0) else {
            return zero;
        };
        let device = self.channel.input.as_ref().map_or(0, |i| i.device);
        // A data sheet bounds the size of the effect and leaves its sign open.
        let lies = if f.min.is_some() {
            Lies::Between(-1.0 / ratio, 1.0 / ratio)
        } else {
            Lies::About(0.0, 1.0 / ratio)
        };
        let share = self.deviation(Variable::board(
            &format!(
                "{}.{}.common-mode",
                self.board.devices[device].name, unit.name
            ),
            "converter, common mode",
            "",
            lies,
            Kind::Fixed,
            Trace::figure(f),
        ));
        (signal.plus + minus) * 0.5 * share
    }

    /// Code before rounding, without the converter's errors.
    ///
    /// # Errors
    /// There is no converter or no reference.
    pub fn ideal_code(
        &self,
        volt: Value<'t>,
        reference: Value<'t>,
    ) -> Result<Value<'t>, Unmodelled> {
        let zero = self.zero_code()?;
        Ok(volt * self.codes_per_volt(reference)? + zero)
    }

    /// Code at no voltage: the middle of a bipolar converter's codes.
    fn zero_code(&self) -> Result<f64, Unmodelled> {
        let full = self.full_scale()?;
        Ok(if self.unit()?.bipolar {
            0.5 * full
        } else {
            0.0
        })
    }

    /// Codes that a volt between the inputs makes. The upper end of the scale
    /// is the reference over the gain; a bipolar part whose scale ends
    /// elsewhere says so by its `input-span`, in references.
    fn codes_per_volt(&self, reference: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        let unit = self.unit()?;
        let gain = self.channel.input.as_ref().map_or(1.0, |i| i.gain);
        let codes = self.full_scale()? - self.zero_code()?;
        let end = unit
            .figures
            .get("input-span")
            .filter(|f| unit.bipolar && f.dimension == Dimension::NONE)
            .and_then(|f| f.max)
            .filter(|end| *end > 0.0)
            .unwrap_or(1.0);
        Ok(self.builder.constant(codes * gain / end) / reference)
    }

    /// Code before rounding with the converter's errors.
    ///
    /// A total unadjusted error replaces offset, gain and nonlinearity. It
    /// says nothing of how the error goes from code to code, so a calibration
    /// gets no credit for it: its points have total errors of their own. Only
    /// where the part states offset, gain and nonlinearity apart does a
    /// calibrated channel use those, of which the nonlinearity stays.
    ///
    /// # Errors
    /// A figure cannot be used.
    pub fn real_code(
        &self,
        ideal: Value<'t>,
        reference: Value<'t>,
    ) -> Result<Value<'t>, Unmodelled> {
        let Some(input) = self.channel.input.as_ref().filter(|_| self.real) else {
            return Ok(ideal);
        };
        let unit = self.unit()?;
        let device = &self.board.devices[input.device];
        let full = self.full_scale()?;
        let key = |what: &str| format!("{}.{}.{what}", device.name, unit.name);
        let per_volt = self.codes_per_volt(reference)?;
        let zero = self.zero_code()?;
        let gain = input.gain;
        // Figures printed against the gain are those of the gain that is set.
        let figures: std::collections::BTreeMap<String, Figure> = unit
            .figures
            .iter()
            .map(|(name, f)| {
                let against_gain =
                    !unit.gains.is_empty() && f.variable.is_none_or(|v| v == Dimension::NONE);
                let f = if against_gain {
                    f.at_variable(gain)
                } else {
                    f.clone()
                };
                (name.clone(), f)
            })
            .collect();
        // Factor from a figure's unit to codes.
        let codes = |f: &Figure| {
            if f.dimension == Dimension::CODE {
                self.builder.one()
            } else if f.dimension == Dimension::VOLTAGE {
                per_volt
            } else {
                self.builder.constant(full)
            }
        };
        // How far up the scale from zero, 1 at its upper end.
        let raised = (ideal - zero) * (1.0 / (full - zero));
        let share = ideal * (1.0 / full);
        let mut code = ideal;
        let curve = |key: &str, name: &str, f: &Figure, step: f64| {
            let spread = f
                .spread()
                .ok_or_else(|| Unmodelled::new(format!("the figure `{name}` has no value")))?;
            let within = Within {
                low: spread.low + step,
                high: spread.high - step,
                bound: spread.bound,
            };
            let unit = quantity::symbol(f.dimension).unwrap_or("");
            Ok::<_, Unmodelled>(
                self.curve(
                    key,
                    &format!("converter, {name}"),
                    unit,
                    within,
                    Kind::Fixed,
                    &Trace::figure(f),
                    share,
                    &self.reading_key(name),
                ) * codes(f),
            )
        };
        let apart = ["offset-error", "gain-error", "inl"]
            .iter()
            .all(|f| figures.contains_key(*f));
        let calibrated = self.channel.calibration.is_some();
        if let Some(f) = figures
            .get("total-unadjusted-error")
            .or_else(|| self.range()?.figures.get("total-error"))
            .filter(|_| !(calibrated && apart))
        {
            let name = "total unadjusted error";
            let key = if calibrated {
                format!("{}@{}", key(name), self.instance)
            } else {
                key(name)
            };
            code = code + curve(&key, &self.reading_name(name), f, 0.0)?;
        } else {
            if let Some(f) = figures.get("offset-error") {
                code = code
                    + self.figure(&key("offset"), "converter, offset", f, Kind::Fixed)? * codes(f);
            }
            if let Some(f) = figures.get("gain-error") {
                code = code
                    + self.figure(&key("gain"), "converter, gain", f, Kind::Fixed)?
                        * if f.dimension == Dimension::NONE {
                            self.builder.constant(full - zero)
                        } else {
                            codes(f)
                        }
                        * raised;
            }
            if let Some(f) = figures.get("inl") {
                let step = self.local_step(&figures, f);
                code = code + curve(&key("nonlinearity"), "nonlinearity", f, step)?;
                if step > 0.0 {
                    let variable = Variable::board(
                        &self.reading_key("local nonlinearity"),
                        &self.reading_name("converter, steps between codes"),
                        quantity::symbol(f.dimension).unwrap_or(""),
                        Lies::Between(-step, step),
                        Kind::Fixed,
                        Trace::figure(figures.get("dnl").unwrap_or(f)),
                    );
                    code = code + self.deviation(variable) * codes(f);
                }
            }
        }
        if let Some(f) = figures.get("offset-drift") {
            let warmer = self.ambient - super::site::TOLERANCE_K;
            let per_kelvin = f.dimension.times(Dimension::TEMPERATURE);
            let factor = if per_kelvin == Dimension::CODE {
                self.builder.one()
            } else if per_kelvin == Dimension::VOLTAGE {
                per_volt
            } else {
                self.builder.constant(full)
            };
            code = code
                + self.figure(
                    &key("offset-drift"),
                    "converter, offset drift",
                    f,
                    Kind::Temperature,
                )? * warmer
                    * factor;
        }
        if let Some(f) = figures.get("gain-drift") {
            code =
                code + self.drift(&key("gain-drift"), "converter, gain drift", f)? * (ideal - zero);
        }
        if let Some(f) = figures
            .get("noise")
            .or_else(|| device.part.figures.get("noise"))
            .map(|f| match self.channel.data_rate_hz {
                Some(rate) => f.not_below_rate(rate.value),
                None => f,
            })
            .filter(|f| f.points.is_empty() || f.variable == Some(Dimension::NONE))
        {
            let f = &f.at_variable(input.gain);
            let rms = f.typical().unwrap_or(0.0).abs()
                / f64::from(input.average.max(1)).sqrt()
                / self.repeats().sqrt();
            let variable = Variable::board(
                &self.reading_key("noise"),
                &self.reading_name("converter, noise"),
                quantity::symbol(f.dimension).unwrap_or(""),
                Lies::About(0.0, rms),
                Kind::Random,
                Trace::figure(f),
            );
            code = code + self.deviation(variable.per_reading()) * codes(f);
        }
        Ok(code)
    }

    /// The part of the nonlinearity that is each code's own, in the unit of
    /// the nonlinearity: two neighbours differ by the differential
    /// nonlinearity at most, so each is off by half of it from the smooth
    /// course. At most half of the nonlinearity itself; zero where the
    /// differential nonlinearity is not stated in the same unit.
    fn local_step(
        &self,
        figures: &std::collections::BTreeMap<String, Figure>,
        inl: &Figure,
    ) -> f64 {
        let limit = inl.spread().map_or(0.0, |s| s.high.min(-s.low));
        figures
            .get("dnl")
            .filter(|d| d.dimension == inl.dimension)
            .and_then(|d| d.max.or_else(|| d.typical()))
            .map_or(0.0, |d| (0.5 * d.abs()).min(0.5 * limit))
            .max(0.0)
    }

    /// Readings averaged into one at this place.
    pub(super) fn repeats(&self) -> f64 {
        if self.instance.is_empty() {
            return 1.0;
        }
        self.channel
            .calibration
            .as_ref()
            .map_or(1.0, |c| f64::from(c.repeat.max(1)))
    }

    /// The whole code the converter gives: rounded and kept on its scale.
    ///
    /// # Errors
    /// There is no converter.
    pub fn whole_code(&self, code: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        let unit = self.unit()?;
        let full = self.full_scale()?;
        let shifted = if unit.rounding == Rounding::Nearest {
            code + 0.5
        } else {
            code
        };
        let whole = (shifted + self.rounding("code", "rounding to a code", "LSB", 1.0)).quantised();
        Ok(whole
            .max(self.builder.zero())
            .min(self.builder.constant(full - 1.0)))
    }

    /// Half a step either way as a contributor where rounding is read
    /// smoothly; nothing where it is exact.
    pub fn rounding(&self, what: &str, name: &str, unit: &str, step: f64) -> Value<'t> {
        let half = 0.5 * step;
        let variable = Variable::board(
            &self.reading_key(&format!("rounding.{what}")),
            &self.reading_name(name),
            unit,
            Lies::Between(-half, half),
            Kind::Conversion,
            Trace::arithmetic(),
        )
        .per_reading()
        .only(false, true, true);
        self.deviation(variable)
    }
}
