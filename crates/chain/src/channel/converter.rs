//! The converter: from voltage to code.

use std::collections::BTreeMap;

use circuit::{Network, Node, doubling};
use parts::{ConverterUnit, Figure, Rounding};
use quantity::Dimension;
use statistics::dither;
use tape::Value;

use super::Unmodelled;
use super::signal::Signal;
use super::site::{Site, Within};
use crate::variables::{Kind, Lies, Trace, Variable};

/// Noise up to which the mean of rounded codes still goes in steps, codes.
const STEPS_CODES: f64 = 0.1;

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
    pub(super) fn input_figure(&self, name: &str) -> Option<&Figure> {
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
            // A limit that names no temperature holds at every one the part is
            // made for; a typical figure is one of 25 °C.
            if let Some(at) = f.reference_temperature_k
                && (f.temperature_stated || f.max.is_none())
            {
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
    pub fn codes_per_volt(&self, reference: Value<'t>) -> Result<Value<'t>, Unmodelled> {
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
        let figures = at_gain(unit, gain);
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
        if let Some((rms, f)) = self.own_noise(&figures) {
            let rms = rms / f64::from(input.average.max(1)).sqrt() / self.repeats().sqrt();
            let variable = Variable::board(
                &self.reading_key("noise"),
                &self.reading_name("converter, noise"),
                "LSB",
                Lies::About(0.0, rms),
                Kind::Random,
                Trace::figure(&f),
            );
            code = code + self.deviation(variable.per_reading());
        }
        Ok(code)
    }

    /// Noise of the converter itself in one conversion, codes rms, and the
    /// figure it rests on, which contains the kT/C of its sample capacitor.
    ///
    /// Where only the ratio of a full-scale sine to noise is stated (or to
    /// noise and distortion, which is an upper limit of the noise), rounding
    /// is part of that and is taken out, since it is counted by itself.
    fn own_noise(&self, figures: &BTreeMap<String, Figure>) -> Option<(f64, Figure)> {
        let input = self.channel.input.as_ref()?;
        let part = &self.board.devices.get(input.device)?.part;
        let full = self.full_scale().ok()?;
        let stated = figures.get("noise").or_else(|| part.figures.get("noise"));
        let rate = self.channel.data_rate_hz.as_ref().map(|r| r.value);
        let stated = stated.map(|f| match rate.or_else(|| self.data_rate_hz()) {
            Some(rate) => f.not_below_rate(rate),
            None => f,
        });
        if let Some(f) =
            stated.filter(|f| f.points.is_empty() || f.variable == Some(Dimension::NONE))
        {
            let f = f.at_variable(input.gain);
            let rms = f.typical()?.abs();
            let rms = if f.dimension == Dimension::CODE {
                rms
            } else if f.dimension == Dimension::VOLTAGE {
                let reference = self.assumed().reference().ok()?;
                rms * self.codes_per_volt(reference).ok()?.nominal().abs()
            } else {
                rms * full
            };
            return Some((rms, f));
        }
        let sine = full / 8.0_f64.sqrt();
        let (all, f) = match (
            figures.get("signal-to-noise"),
            figures.get("effective-bits"),
        ) {
            (Some(f), _) => (sine / f.typical()?, f),
            (None, Some(f)) => {
                let ratio = ratio_of_bits(f.typical()?);
                (sine / ratio, f)
            }
            (None, None) => return None,
        };
        let rounding = 1.0 / 12.0;
        Some(((all * all - rounding).max(0.0).sqrt(), f.clone()))
    }

    /// The part of the nonlinearity that is each code's own, in the unit of
    /// the nonlinearity: two neighbours differ by the differential
    /// nonlinearity at most, so each is off by half of it from the smooth
    /// course. At most half of the nonlinearity itself; zero where the
    /// differential nonlinearity is not stated in the same unit.
    fn local_step(&self, figures: &BTreeMap<String, Figure>, inl: &Figure) -> f64 {
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

    /// The whole code the converter gives: rounded and kept on its scale. Of
    /// several codes their mean, with its fractions where the file leaves the
    /// conversion to us; a formula of the file's own gets whole numbers.
    ///
    /// # Errors
    /// There is no converter.
    pub fn whole_code(&self, code: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        let unit = self.unit()?;
        let full = self.full_scale()?;
        let count = self.channel.input.as_ref().map_or(1, |i| i.average.max(1));
        let whole = if count > 1 && self.real && self.channel.conversion.steps.is_empty() {
            self.mean_code(code, count, unit.rounding)?
        } else {
            let shifted = if unit.rounding == Rounding::Nearest {
                code + 0.5
            } else {
                code
            };
            (shifted + self.rounding("code", "rounding to a code", "LSB", 1.0)).quantised()
        };
        Ok(whole
            .max(self.builder.zero())
            .min(self.builder.constant(full - 1.0)))
    }

    /// Mean of several rounded codes. Noise carries single codes over the
    /// steps; what the mean keeps of a step is the bias that dither leaves,
    /// somewhere on its wave, and the rounding of single codes, which averages.
    fn mean_code(
        &self,
        code: Value<'t>,
        count: u32,
        rounding: Rounding,
    ) -> Result<Value<'t>, Unmodelled> {
        let sigma = self.single_noise_codes();
        let bias = dither::largest_bias(sigma);
        let n = f64::from(count);
        let left = Variable::board(
            &self.reading_key("rounding.mean"),
            &self.reading_name("rounding of averaged codes, what noise does not smooth"),
            "LSB",
            // Steps, as long as noise does not round them off to a wave.
            if sigma < STEPS_CODES {
                Lies::Between(-bias, bias)
            } else {
                Lies::Arcsine(-bias, bias)
            },
            Kind::Conversion,
            Trace::arithmetic(),
        );
        // Without noise all codes are alike and their rounding is the bias.
        let kept = if sigma < STEPS_CODES {
            bias * bias / 3.0
        } else {
            bias * bias / 2.0
        };
        let rest = ((1.0 / 12.0 - kept).max(0.0) / (n * self.repeats())).sqrt();
        let single = Variable::board(
            &self.reading_key("rounding.single"),
            &self.reading_name("rounding of averaged codes"),
            "LSB",
            Lies::About(0.0, rest),
            Kind::Conversion,
            Trace::arithmetic(),
        );
        let centre = match rounding {
            Rounding::Nearest => code,
            Rounding::Floor => code - 0.5,
        };
        Ok(centre + self.deviation(left.per_reading()) + self.deviation(single.per_reading()))
    }

    /// Data rate of a converter that averages, as its schedule takes it, Hz.
    fn data_rate_hz(&self) -> Option<f64> {
        let board = &self.board.channels;
        let i = board.iter().position(|c| c.name == self.channel.name)?;
        let (converter, turn) = self.timing.turn(i)?;
        converter.schedule.turns.get(turn)?.data_rate_hz
    }

    /// Noise of one conversion before rounding, codes rms: the converter's
    /// own and that of the network.
    pub fn single_noise_codes(&self) -> f64 {
        let own = self.unit().ok().and_then(|u| {
            let gain = self.channel.input.as_ref().map_or(1.0, |i| i.gain);
            Some(self.own_noise(&at_gain(u, gain))?.0)
        });
        let own = own.unwrap_or(0.0);
        let network = self.in_time().map_or(0.0, |t| {
            let volt = t.noise.as_ref().map_or(0.0, |n| n.single_v());
            let reference = self.assumed().reference();
            let per_volt = reference.and_then(|r| self.codes_per_volt(r));
            volt * per_volt.map_or(0.0, |c| c.nominal().abs())
        });
        (own * own + network * network).sqrt()
    }

    /// What the firmware gets of a code: the whole one, or of an alternating
    /// quantity, whose samples meet every part of a code, the mean over them,
    /// off by what the rounding of so many leaves. A formula of the firmware's
    /// own is given whole codes.
    ///
    /// # Errors
    /// There is no converter.
    pub(super) fn code_read(&self, code: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        if self.channel.ac.is_none() || !self.channel.conversion.steps.is_empty() {
            return self.whole_code(code);
        }
        let samples = self.channel.input.as_ref().map_or(1, |i| i.average.max(1));
        let half = 0.5 / f64::from(samples).sqrt();
        let rounding = self.deviation(
            Variable::board(
                &self.reading_key("rounding.samples"),
                &self.reading_name("rounding to codes"),
                "LSB",
                Lies::Between(-half, half),
                Kind::Conversion,
                Trace::arithmetic(),
            )
            .per_reading(),
        );
        let last = self.full_scale()? - 1.0;
        Ok((code + rounding)
            .max(self.builder.zero())
            .min(self.builder.constant(last)))
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

/// Figures of a unit; those printed against the gain at the gain that is set.
fn at_gain(unit: &ConverterUnit, gain: f64) -> BTreeMap<String, Figure> {
    let of = |f: &Figure| {
        let against_gain =
            !unit.gains.is_empty() && f.variable.is_none_or(|v| v == Dimension::NONE);
        if against_gain {
            f.at_variable(gain)
        } else {
            f.clone()
        }
    };
    let figures = unit.figures.iter();
    figures.map(|(name, f)| (name.clone(), of(f))).collect()
}

/// Ratio of a full-scale sine to noise and distortion that a number of
/// effective bits stands for: 2^bits·√1.5 (IEEE 1241).
fn ratio_of_bits(bits: f64) -> f64 {
    elementary::exp2(bits) * 1.5_f64.sqrt()
}
