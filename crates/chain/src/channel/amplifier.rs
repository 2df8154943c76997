//! Amplifiers of stages: what the figures of their parts come to.

use board::Supply;
use circuit::{Amplifier, Dynamics, InputNoise, Instrumentation, Swing, doubling};
use finding::Span;
use parts::{DriftMethod, Figure, Part};
use quantity::Dimension;
use tape::Value;

use super::Unmodelled;
use super::sampling::PEAK_TO_PEAK;
use super::site::{Site, TOLERANCE_K};
use crate::variables::{Kind, Lies, Trace, Variable};

/// Standard uncertainty of 1/gain, as a share of it, where a data sheet gives
/// only a typical open-loop gain: three of them reach almost from none to
/// twice the typical error.
const TYPICAL_GAIN_U: f64 = 0.3;

/// Bias currents up to this are taken for leakages, A: inputs of field-effect
/// transistors stay below, bipolar ones above (common practice).
const LARGEST_LEAKAGE_A: f64 = 100e-12;

/// One amplifier on the board.
#[derive(Clone, Copy)]
pub struct Fitted<'a> {
    /// Path of the stage or element; keys of its variables begin with it.
    pub path: &'a str,
    /// As shown.
    pub name: &'a str,
    /// Where its supply is written, or else the stage.
    pub span: Span,
    /// The part.
    pub part: &'a Part,
    /// High supply.
    pub high: Supply,
    /// Low supply.
    pub low: Supply,
}

impl<'a> Fitted<'a> {
    fn key(&self, figure: &str) -> String {
        format!("{}.{figure}", self.path)
    }

    fn label(&self, figure: &str) -> String {
        format!("{}, {}", self.name, figure.replace('-', " "))
    }

    /// A figure that is not contained in another one.
    fn own(&self, figure: &str) -> Option<&'a Figure> {
        self.part.figure(figure).filter(|f| f.part_of.is_none())
    }
}

/// The largest size a figure may have, else its typical one.
fn largest(f: &Figure) -> Option<f64> {
    let most = [f.min, f.max].into_iter().flatten().map(f64::abs);
    most.reduce(f64::max).or(f.typ.map(f64::abs))
}

/// A limit as the harmful side states it: its largest value, else the only one.
fn harmful(f: &Figure) -> Option<f64> {
    f.max.or_else(|| f.typical())
}

impl<'t> Site<'_, 't> {
    /// A magnitude of unknown sign: anywhere between its limits either way,
    /// or normal about zero where only a typical value is known.
    fn either_way(&self, a: &Fitted<'_>, figure: &str, key: &str, f: &Figure) -> Value<'t> {
        let size = largest(f).unwrap_or(0.0);
        let bound = f.min.is_some() || f.max.is_some();
        let lies = if bound {
            Lies::Between(-size, size)
        } else {
            Lies::About(0.0, size)
        };
        self.deviation(Variable::board(
            &a.key(key),
            &a.label(figure),
            quantity::symbol(f.dimension).unwrap_or(""),
            lies,
            Kind::Fixed,
            Trace::figure(f),
        ))
    }

    /// 1/ratio of a rejection: a data sheet bounds its size and leaves its
    /// sign open.
    fn rejection(&self, a: &Fitted<'_>, figure: &str, gain: f64) -> Option<Value<'t>> {
        let f = a.own(figure)?;
        let f = &if f.variable == Some(Dimension::NONE) {
            f.at_variable(gain)
        } else {
            f.clone()
        };
        let lies = match (f.min, f.typ) {
            (Some(least), _) if least > 0.0 => Lies::Between(-1.0 / least, 1.0 / least),
            (_, Some(typical)) if typical > 0.0 => Lies::About(0.0, 1.0 / typical),
            _ => return None,
        };
        Some(self.deviation(Variable::board(
            &a.key(figure),
            &a.label(figure),
            "",
            lies,
            Kind::Fixed,
            Trace::figure(f),
        )))
    }

    /// Offset with its drift, ageing and hysteresis, V; `prefix` is empty or
    /// `output-`.
    fn offset(&self, a: &Fitted<'_>, prefix: &str) -> Result<Value<'t>, Unmodelled> {
        let mut sum = self.builder.zero();
        let name = |what: &str| format!("{prefix}offset-{what}");
        if let Some(f) = a.own(&name("voltage")) {
            let what = name("voltage");
            sum = sum + self.figure(&a.key(&what), &a.label(&what), f, Kind::Fixed)?;
        }
        if let Some(f) = a.own(&name("drift")) {
            let what = name("drift");
            sum = sum + self.drift(&a.key(&what), &a.label(&what), f)?;
        }
        if let Some(f) = a.own(&name("hysteresis")) {
            let what = name("hysteresis");
            sum = sum + self.figure(&a.key(&what), &a.label(&what), f, Kind::Temperature)?;
        }
        // A new board is calibrated; only in service has it aged.
        if let (Some(f), Some(_), true) = (
            a.own(&name("ageing")),
            self.board.conditions.service_s,
            self.instance.is_empty(),
        ) {
            let what = name("ageing");
            sum = sum + self.figure(&a.key(&what), &a.label(&what), f, Kind::Ageing)?;
        }
        Ok(sum)
    }

    /// Currents into the non-inverting and the inverting input, A.
    ///
    /// With an offset current both inputs share one bias current and differ
    /// by the offset; without it each has its own. Doubling for each 10 K
    /// holds for inputs of picoamperes, which are leakages: for those stated
    /// at one temperature and not over a range (common practice). Larger ones
    /// are base currents and hardly move.
    fn bias(&self, a: &Fitted<'_>) -> (Value<'t>, Value<'t>) {
        let zero = self.builder.zero();
        let Some(f) = a.own("bias-current") else {
            return (zero, zero);
        };
        let leakage = largest(f).unwrap_or(0.0) <= LARGEST_LEAKAGE_A && f.over_k.is_none();
        let warm = |current: Value<'t>| {
            if leakage {
                let at = f.reference_temperature_k.unwrap_or(TOLERANCE_K);
                doubling(current, self.ambient, at)
            } else {
                current
            }
        };
        let Some(offset) = a.own("offset-current") else {
            let of = |which: &str| {
                let label = format!("bias-current, {which} input");
                warm(self.either_way(a, &label, &format!("bias-current.{which}"), f))
            };
            return (of("plus"), of("minus"));
        };
        let mut common = self.either_way(a, "bias-current", "bias-current", f);
        if let Some(drift) = a.own("bias-current-drift") {
            common = common
                + self.either_way(a, "bias-current-drift", "bias-current-drift", drift)
                    * (self.ambient - TOLERANCE_K);
        }
        let half = self.either_way(a, "offset-current", "offset-current", offset) * 0.5;
        (warm(common + half), warm(common - half))
    }

    /// How near the output comes to a supply: by points, at the largest
    /// stated value, or as far as a current reaches. No output goes beyond
    /// its supplies, whether a data sheet says so or not.
    fn swing(&self, a: &Fitted<'_>, side: &str) -> Result<Option<Swing<'t>>, Unmodelled> {
        let name = format!("swing-{side}");
        let b = self.builder;
        let Some(f) = a.own(&name) else {
            return Ok(Some(Swing::constant(b.zero())));
        };
        let constant = |x: f64| b.constant(x);
        let mut points: Vec<(Value<'t>, Value<'t>)> = f
            .points
            .iter()
            .map(|&(i, v)| (constant(i), constant(v)))
            .collect();
        if points.is_empty() {
            let Some(distance) = harmful(f) else {
                return Ok(None);
            };
            points.push((b.zero(), constant(distance)));
        }
        let mut limit = None;
        if let Some(reach) = a.own(&format!("{name}-current")) {
            let what = format!("{name}-current");
            let current = self.figure(&a.key(&what), &a.label(&what), reach, Kind::Fixed)?;
            match a.own(&format!("{name}-beyond")).and_then(harmful) {
                // Up to that current as stated, beyond it a step.
                Some(beyond) => {
                    let near = points.last().map_or(b.zero(), |p| p.1);
                    points.truncate(1);
                    points.push((current, near));
                    points.push((current, constant(beyond)));
                    points.push((current * 2.0, constant(beyond)));
                }
                None => limit = Some(current),
            }
        } else if let Some(most) = a.own("output-current") {
            limit = most.min.or_else(|| most.typical()).map(constant);
        }
        let swing = Swing::points(&points).ok_or_else(|| {
            Unmodelled::at(
                format!("{}: the points of `{name}` do not rise", a.name),
                f.span,
            )
        })?;
        Ok(Some(match limit {
            Some(limit) => swing.with_limit(limit),
            None => swing,
        }))
    }

    fn distance(&self, a: &Fitted<'_>, figure: &str) -> Option<Value<'t>> {
        a.own(figure)
            .and_then(harmful)
            .map(|volt| self.builder.constant(volt))
    }

    /// A resistance of an input, Ω.
    ///
    /// # Errors
    /// As [`Site::figure`].
    pub fn input_resistance(
        &self,
        a: &Fitted<'_>,
        figure: &str,
    ) -> Result<Option<Value<'t>>, Unmodelled> {
        match a.own(figure).filter(|_| self.real) {
            Some(f) => self
                .figure(&a.key(figure), &a.label(figure), f, Kind::Fixed)
                .map(Some),
            None => Ok(None),
        }
    }

    /// A figure that only time and noise ask for, at its typical value: it
    /// does not move the operating point and gets no variable of its own.
    fn usual(&self, a: &Fitted<'_>, figure: &str, gain: f64) -> Option<Value<'t>> {
        let f = a.own(figure)?;
        let value = match f.variable {
            Some(Dimension::NONE) => f.at(gain),
            _ => f.typical(),
        }?;
        Some(self.builder.constant(value))
    }

    fn dynamics(&self, a: &Fitted<'_>, bandwidth: &str, gain: f64) -> Dynamics<'t> {
        Dynamics {
            bandwidth_hz: self.usual(a, bandwidth, gain),
            output_ohm: None,
            slew_v_per_s: self.usual(a, "slew-rate", gain),
            input_farad: self.usual(a, "input-capacitance", gain),
            between_inputs_farad: self.usual(a, "input-capacitance-differential", gain),
        }
    }

    /// Where the 1/f noise at the input equals the white part, Hz, from what
    /// the data sheet states for 0.1 Hz to 10 Hz peak to peak.
    fn corner(&self, a: &Fitted<'_>, gain: f64) -> Option<Value<'t>> {
        let f = a.own("noise-low-frequency")?;
        let low = match f.variable {
            Some(Dimension::NONE) => f.at(gain),
            _ => f.typical(),
        }?;
        let rms = if f.peak_to_peak == Some(true) {
            low / PEAK_TO_PEAK
        } else {
            low
        };
        // A band that begins at nothing was taken for some ten seconds.
        let (from_hz, to_hz) = f.band_hz.map_or((0.1, 10.0), |b| (b.0.max(0.1), b.1));
        let white = a.own("noise-density")?.typical()?;
        let density = circuit::Density::with_band(white, rms, from_hz, to_hz);
        let corner_hz = density.flicker / density.white;
        corner_hz
            .is_finite()
            .then(|| self.builder.constant(corner_hz))
    }

    fn input_noise(&self, a: &Fitted<'_>, gain: f64) -> InputNoise<'t> {
        InputNoise {
            white_v: self.usual(a, "noise-density", 1.0),
            corner_v_hz: self
                .usual(a, "noise-corner", gain)
                .or_else(|| self.corner(a, gain)),
            white_a: self.usual(a, "current-noise-density", 1.0),
            corner_a_hz: None,
            output_v: self.usual(a, "output-noise-density", 1.0),
        }
    }

    /// Corners of the region in which an instrumentation amplifier works, as
    /// the data sheet draws it for the supplies in use: the least and the
    /// largest common mode against the output, each above the low supply.
    fn region(&self, a: &Fitted<'_>) -> Result<Vec<(Value<'t>, Value<'t>)>, Unmodelled> {
        let points = |figure: &str| {
            a.own(figure)
                .filter(|f| f.variable == Some(Dimension::VOLTAGE))
                .map_or(&[][..], |f| f.points.as_slice())
        };
        let (lowest, highest) = (points("common-mode-low"), points("common-mode-high"));
        if lowest.is_empty() || highest.is_empty() {
            return Ok(Vec::new());
        }
        let low = self.supply(a.low)?;
        let corners = lowest.iter().chain(highest.iter().rev());
        Ok(corners
            .map(|&(out, common)| (low + out, low + common))
            .collect())
    }

    /// Notes the part's supply range against what it gets.
    fn watch_amplifier_supply(&self, a: &Fitted<'_>) -> Result<(), Unmodelled> {
        let Some(f) = a.own("supply") else {
            return Ok(());
        };
        let across = self.supply(a.high)? - self.supply(a.low)?;
        let source = f.source.to_string();
        if let Some(low) = f.min {
            let limit = self.builder.constant(low);
            self.not_below("supply-low", a.name, Some(a.span), across, limit, &source);
        }
        if let Some(high) = f.max {
            let limit = self.builder.constant(high);
            self.not_above("supply-high", a.name, Some(a.span), across, limit, &source);
        }
        Ok(())
    }

    /// Middle between the supplies as they are meant, V: where an offset is
    /// stated (common practice).
    fn middle(&self, a: &Fitted<'_>) -> Result<Value<'t>, Unmodelled> {
        let (high, low) = (self.supply(a.high)?, self.supply(a.low)?);
        Ok(self
            .builder
            .constant(0.5 * (high.nominal() + low.nominal())))
    }

    /// An operational amplifier by its figures; perfect as assumed.
    ///
    /// # Errors
    /// A figure or a supply cannot be used.
    pub fn amplifier(&self, a: &Fitted<'_>) -> Result<Amplifier<'t>, Unmodelled> {
        let b = self.builder;
        if !self.real {
            return Ok(Amplifier::ideal(b));
        }
        self.watch_amplifier_supply(a)?;
        let (bias_plus_a, bias_minus_a) = self.bias(a);
        let gain = match a.own("open-loop-gain") {
            None => None,
            Some(f) if f.spread().is_some_and(|s| s.typical_only) => {
                let share = self.deviation(Variable::board(
                    &a.key("open-loop-gain"),
                    &a.label("open-loop-gain"),
                    "",
                    Lies::About(0.0, TYPICAL_GAIN_U),
                    Kind::Fixed,
                    Trace::figure(f),
                ));
                f.typical().map(|typical| typical / (share + 1.0))
            }
            Some(f) => Some(self.figure(
                &a.key("open-loop-gain"),
                &a.label("open-loop-gain"),
                f,
                Kind::Fixed,
            )?),
        };
        let (high, low) = (self.supply(a.high)?, self.supply(a.low)?);
        let across = high - low;
        Ok(Amplifier {
            offset_v: self.offset(a, "")?,
            offset_common_mode_v: Some(self.middle(a)?),
            bias_plus_a,
            bias_minus_a,
            gain,
            common_mode_error: self.rejection(a, "common-mode-rejection", 1.0),
            supply_error: self.rejection(a, "supply-rejection", 1.0),
            supply_deviation_v: Some(across - across.nominal()),
            swing_low: self.swing(a, "low")?,
            swing_high: self.swing(a, "high")?,
            input_low_headroom: self.distance(a, "input-headroom-low"),
            input_high_headroom: self.distance(a, "input-headroom-high"),
            input_resistance: self.input_resistance(a, "input-resistance-differential")?,
            quiescent: None,
            dynamics: self.dynamics(a, "gain-bandwidth", 1.0),
            noise: self.input_noise(a, 1.0),
        })
    }

    /// An instrumentation amplifier by its figures at a gain; with nothing
    /// but its gain as assumed.
    ///
    /// The total offset at the input is offset + output offset/gain. Rejection
    /// of the supply counts at the input like that of the common mode. The
    /// inner nodes keep to `inner-headroom-…`; where a part states none they
    /// are taken to reach as near the supplies as the output does, which
    /// amplifiers of one process do (common practice).
    ///
    /// # Errors
    /// A figure or a supply cannot be used.
    pub fn instrumentation(
        &self,
        a: &Fitted<'_>,
        gain: Value<'t>,
        first_stage_gain: Option<Value<'t>>,
    ) -> Result<Instrumentation<'t>, Unmodelled> {
        if !self.real {
            return Ok(Instrumentation::ideal(gain));
        }
        self.watch_amplifier_supply(a)?;
        let set = gain.nominal();
        let at_gain = |figure: &str| {
            a.own(figure).map(|f| {
                if f.variable == Some(Dimension::NONE) {
                    f.at_variable(set)
                } else {
                    f.clone()
                }
            })
        };
        let mut relative = self.builder.one();
        if let Some(f) = at_gain("gain-error") {
            relative = relative
                + self.figure(
                    &a.key("gain-error"),
                    &a.label("gain-error"),
                    &f,
                    Kind::Fixed,
                )?;
        }
        if let Some(f) = at_gain("gain-drift") {
            let f = Figure {
                method: f.method.or(Some(DriftMethod::Butterfly)),
                ..f
            };
            relative = relative + self.drift(&a.key("gain-drift"), &a.label("gain-drift"), &f)?;
        }
        let (bias_plus_a, bias_minus_a) = self.bias(a);
        let (high, low) = (self.supply(a.high)?, self.supply(a.low)?);
        let across = high - low;
        let mut offset_in_v = self.offset(a, "")?;
        if let Some(error) = self.rejection(a, "supply-rejection", set) {
            offset_in_v = offset_in_v + error * (across - across.nominal());
        }
        let (swing_low, swing_high) = (self.swing(a, "low")?, self.swing(a, "high")?);
        let inner = |side: &str| {
            self.distance(a, &format!("inner-headroom-{side}"))
                .or_else(|| self.distance(a, &format!("swing-{side}")))
                .or(Some(self.builder.zero()))
        };
        let first_stage_gain =
            first_stage_gain.or_else(|| a.own("first-stage-gain")?.typical().map(|s| gain * s));
        Ok(Instrumentation {
            gain: gain * relative,
            first_stage_gain,
            offset_in_v,
            offset_out_v: self.offset(a, "output-")?,
            bias_plus_a,
            bias_minus_a,
            common_mode_error: self.rejection(a, "common-mode-rejection", set),
            offset_common_mode_v: Some(self.middle(a)?),
            swing_low,
            swing_high,
            input_low_headroom: self.distance(a, "input-headroom-low"),
            input_high_headroom: self.distance(a, "input-headroom-high"),
            inner_low_headroom: inner("low"),
            inner_high_headroom: inner("high"),
            region: self.region(a)?,
            input_resistance: self.input_resistance(a, "input-resistance-differential")?,
            quiescent: None,
            dynamics: self.dynamics(a, "bandwidth", set),
            noise: self.input_noise(a, set),
        })
    }
}
