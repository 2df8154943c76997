//! A channel's model: truth in, reading out, on one tape.

mod alternating;
mod amplifier;
mod calibration;
mod conversion;
mod converter;
mod derating;
mod derived;
mod diode;
mod drawn;
mod drifts;
pub mod fault;
mod firmware;
mod insulation;
mod network;
mod pulse;
mod sampling;
mod sensor;
mod signal;
mod site;
mod source;
mod stages;
mod straight;
mod supply;
mod surroundings;
mod watch;

pub use supply::{dropout, nominal_supply_v};

use std::cell::RefCell;

use board::{Board, Channel};
use finding::Span;
use quantity::AccuracyTerm;
use tape::{Builder, Tape, Value};

use crate::law::Electrical;
use crate::time::Timing;
use crate::variables::{Kind, Lies, Trace, Variable, Variables};

pub use alternating::{Windowed, windowed};
pub use amplifier::Fitted;
pub use conversion::{
    AS_WRITTEN, ConversionModel, IN_32_BITS, IN_64_BITS, RIGHT, WITH_FRACTIONS, conversion,
};
pub use drawn::{Drawn, SupplyRange, drawn, supply_range};
pub use sensor::Others;
pub(crate) use signal::Written;
pub use site::{STRAY, Site, TOLERANCE_K, Usual};
pub use source::COPPER_PER_K;
pub use straight::{Follower, Place, SERIES, Straight, compared, straight};

/// A channel as a tape with its variables.
pub struct ChannelModel {
    /// The tape; its outputs are named by the constants below.
    pub tape: Tape,
    /// The same inputs with the error and its limit alone, without the checks,
    /// which need a second solution of every network: what statistics read
    /// over and over.
    pub lean: Tape,
    /// One per tape input.
    pub variables: Vec<Variable>,
    /// What must hold for the numbers to be meant, as tape outputs.
    pub checks: Vec<Check>,
    /// Range of the quantity over which the sensor's law is given, SI.
    pub validity: Option<(f64, f64)>,
    /// Noise of one conversion before rounding, codes rms; zero without a
    /// converter.
    pub single_noise_codes: f64,
}

/// Output: reading − truth, after calibration if there is one.
pub const ERROR: usize = 0;
/// Output: the permitted error; zero in a fragment.
pub const LIMIT: usize = 1;
/// Output: the reading, SI.
pub const READING: usize = 2;
/// Output: the voltage at the converter, V; zero for digital sensors.
pub const VOLT: usize = 3;
/// Output: the code before rounding; zero for digital sensors.
pub const CODE: usize = 4;
/// Output: reading − truth without calibration.
pub const RAW_ERROR: usize = 5;
/// Output: the reference, V; zero for digital sensors.
pub const REFERENCE: usize = 6;
/// Something that must hold, as outputs of the tape: `actual` against
/// `limit`, with `margin` above zero while it holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// What is checked, for example `output-low`.
    pub kind: &'static str,
    /// Which stage or part.
    pub name: String,
    /// Where it is written.
    pub span: Option<Span>,
    /// Output with what there is.
    pub actual: usize,
    /// Output with what there may be.
    pub limit: usize,
    /// Output with what is left.
    pub margin: usize,
    /// Output with a further value that explains the check, for example the
    /// current an ideal stage would need; the margin where there is none.
    pub working: usize,
    /// The figure the limit rests on.
    pub source: String,
}

/// A check while the model is written.
pub struct Watched<'t> {
    /// See [`Check::kind`].
    pub kind: &'static str,
    /// See [`Check::name`].
    pub name: String,
    /// See [`Check::span`].
    pub span: Option<Span>,
    /// What there is.
    pub actual: Value<'t>,
    /// What there may be.
    pub limit: Value<'t>,
    /// What is left.
    pub margin: Value<'t>,
    /// See [`Check::working`].
    pub working: Option<Value<'t>>,
    /// See [`Check::source`].
    pub source: String,
}

/// Why a channel has no model.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unmodelled {
    /// What is in the way.
    pub message: String,
    /// Where it is written, if it is a place in the file.
    pub span: Option<Span>,
}

impl Unmodelled {
    pub(crate) fn new(message: impl Into<String>) -> Self {
        Unmodelled {
            message: message.into(),
            span: None,
        }
    }

    pub(crate) fn at(message: impl Into<String>, span: Span) -> Self {
        Unmodelled {
            message: message.into(),
            span: Some(span),
        }
    }
}

/// A reading and what it was made from.
pub struct Reading<'t> {
    /// The reading, SI.
    pub reading: Value<'t>,
    /// Voltage between the converter's inputs, V.
    pub volt: Value<'t>,
    /// Voltages of its plus and minus inputs against ground, V; `None` where
    /// the minus input is ground.
    pub inputs: Option<(Value<'t>, Value<'t>)>,
    /// Code before rounding.
    pub code: Value<'t>,
    /// The whole code; zero for digital sensors.
    pub whole: Value<'t>,
    /// Reference, V.
    pub reference: Value<'t>,
}

/// Builds the model of one channel as if sampling took no time and made no
/// noise: its static errors alone.
///
/// # Errors
/// As [`build_with`].
pub fn build(board: &Board, channel: &Channel) -> Result<ChannelModel, Unmodelled> {
    build_with(board, channel, &Timing::default())
}

/// Builds the model of one channel, with what its sampling adds.
///
/// # Errors
/// [`Unmodelled`] says what the channel uses that has no equations, or what
/// is missing.
pub fn build_with(
    board: &Board,
    channel: &Channel,
    timing: &Timing,
) -> Result<ChannelModel, Unmodelled> {
    if let Some(d) = &channel.derived {
        return derived::build(board, channel, d, timing);
    }
    let builder = Builder::new();
    let variables = Variables::new(&builder);
    let (low, high) = channel.span.value;
    let set = variables.condition(
        &format!("channels.{}.quantity", channel.name),
        &channel.quantity,
        &channel.unit.symbol,
        Site::points(low, high, 5),
        Some(channel.span.span),
    );
    let ambient = ambient(board, &variables);
    let watched = RefCell::new(Vec::new());
    let others = RefCell::new(sensor::Others::default());
    if let Some(i) = board.channels.iter().position(|c| std::ptr::eq(c, channel)) {
        others.borrow_mut().begin(i);
    }
    let site = Site {
        board,
        channel,
        watched: &watched,
        builder: &builder,
        variables: &variables,
        ambient,
        instance: "",
        real: true,
        quiet: false,
        trough: false,
        depth: 0,
        measured_rail: None,
        others: &others,
        timing,
    };
    // Where rounding is exact, the quantity is spread over one code, so that
    // every part of the code is met.
    let truth = set + dither(&site)?;
    let raw = site.reading(truth)?;
    let raw_error = (raw.reading - truth).named("uncorrected error", &channel.unit.symbol);
    let reading = site.corrected(raw.reading)?;
    let error = (reading - truth).named("error", &channel.unit.symbol);
    let outputs = [
        error,
        site.limit(truth),
        reading,
        raw.volt,
        raw.code,
        raw_error,
        raw.reference,
    ];
    let site = site.facing(truth);
    let law = site.law()?;
    let validity = law.validity(&site.assumed().parameters(law)?);
    site.watch_converter(&raw)?;
    site.watch_supplies()?;
    let single_noise_codes = match channel.input {
        Some(_) => site.single_noise_codes(),
        None => 0.0,
    };
    let mut outputs = outputs.to_vec();
    let mut checks = Vec::new();
    for w in watched.into_inner() {
        let at = outputs.len();
        checks.push(Check {
            kind: w.kind,
            name: w.name,
            span: w.span,
            actual: at,
            limit: at + 1,
            margin: at + 2,
            working: at + 3,
            source: w.source,
        });
        outputs.extend([w.actual, w.limit, w.margin, w.working.unwrap_or(w.margin)]);
    }
    let tape = builder.finish(&outputs);
    let lean = builder.finish(&outputs[..=LIMIT]);
    Ok(ChannelModel {
        tape,
        lean,
        validity,
        single_noise_codes,
        variables: variables.finish(),
        checks,
    })
}

/// The ambient temperature as a condition, K.
fn ambient<'t>(board: &Board, variables: &Variables<'t>) -> Value<'t> {
    let (cold, hot) = board.conditions.ambient_k;
    variables.condition(
        "ambient",
        "ambient",
        "K",
        Site::points(cold, hot, 3),
        board.conditions.ambient_span,
    )
}

/// Half a step of the reading either way in the quantity, drawn for every
/// reading in sampling only.
fn dither<'t>(site: &Site<'_, 't>) -> Result<Value<'t>, Unmodelled> {
    let (low, high) = site.channel.span.value;
    if site.channel.ac.is_some() {
        // Its samples meet every part of a code by themselves.
        return Ok(site.builder.zero());
    }
    let step = match site.law()?.electrical() {
        Electrical::Reading => site
            .channel
            .sensor
            .figures
            .get("resolution")
            .and_then(parts::Figure::typical)
            .unwrap_or(0.0)
            .abs(),
        Electrical::Frequency => (high - low) / site.nominal_counts(low, high)?,
        _ if site.channel.input.is_none() => 0.0,
        _ => {
            let code = |q: f64| Ok(site.nominal_point(q)?.code);
            (high - low) / (code(high)? - code(low)?).abs()
        }
    };
    if !step.is_finite() {
        return Err(Unmodelled::new(
            "the reading does not depend on the quantity",
        ));
    }
    let variable = Variable::board(
        &site.reading_key("dither"),
        "place within a step of the reading",
        &site.channel.unit.symbol,
        Lies::Between(-0.5 * step, 0.5 * step),
        Kind::Conversion,
        Trace::arithmetic(),
    )
    .per_reading()
    .only(true, false, false);
    Ok(site.deviation(variable))
}

impl<'t> Site<'_, 't> {
    /// The whole way from the truth to the reading at this place.
    ///
    /// # Errors
    /// Something on the way has no equations.
    pub fn reading(&self, truth: Value<'t>) -> Result<Reading<'t>, Unmodelled> {
        let site = &self.facing(truth);
        match &self.channel.ac {
            Some(ac) => site.alternating(truth, ac),
            None => site.reading_here(truth),
        }
    }

    fn reading_here(&self, truth: Value<'t>) -> Result<Reading<'t>, Unmodelled> {
        let law = self.law()?;
        let parameters = self.parameters(law)?;
        let told = |f: crate::law::LawFault| Unmodelled::new(f.to_string());
        let aux = |key: &str| {
            law.auxiliaries()
                .iter()
                .find(|k| **k == key)
                .and_then(|k| self.true_auxiliary(k))
        };
        let zero = self.builder.zero();
        let mut met = self.met(truth)?;
        match law.electrical() {
            Electrical::Reading => {
                return Ok(Reading {
                    reading: self.digital(met)?,
                    volt: zero,
                    inputs: None,
                    code: zero,
                    whole: zero,
                    reference: zero,
                });
            }
            Electrical::Frequency => {
                let hertz = law.forward(met, &parameters, &aux).map_err(told)?;
                return Ok(Reading {
                    reading: self.counted(law, hertz)?,
                    volt: zero,
                    inputs: None,
                    code: zero,
                    whole: zero,
                    reference: zero,
                });
            }
            _ => {}
        }
        // Measuring warms a resistive thermometer; twice round leaves less
        // than a thousandth of the warming.
        let heating = self.self_heating()?;
        let mut rounds = if heating.is_some() { 3 } else { 1 };
        let signal = loop {
            let signal = self.signal(met)?;
            rounds -= 1;
            match heating {
                Some(per_watt) if rounds > 0 => {
                    met = self.met(truth)? + signal.sensor_power_w * per_watt
                }
                _ => break signal,
            }
        };
        if let (Some(per_watt), Some(_)) = (heating, &self.channel.accuracy) {
            let actual = signal.sensor_power_w * per_watt;
            let limit = self.limit(truth) * self.board.judging.self_heating;
            self.watch(Watched {
                kind: "self-heating",
                name: "the sensor".to_owned(),
                span: Some(self.channel.sensor.span),
                actual,
                limit,
                margin: limit - actual,
                working: Some(signal.sensor_current_a.abs()),
                source: "[judging] self-heating".to_owned(),
            });
        }
        let inputs = signal.minus.map(|minus| (signal.plus, minus));
        let between = signal.reference;
        let arriving =
            signal.volt + self.common_mode(&signal) + self.disturbed()? + self.sampled(truth)?;
        let arriving = match self.input_lift() {
            Some(volt) => arriving + volt,
            None => arriving,
        };
        for check in signal.checks {
            self.watch(check);
        }
        if self.channel.input.is_none() {
            // A fragment ends at its last node: the reading is what the
            // nominal chain would be taken for.
            return self.fragment(signal.volt);
        }
        let reference = match between {
            Some(volt) => volt,
            None => self.reference()? * (self.reference_noise() + 1.0),
        };
        let ideal = self.ideal_code(arriving, reference)?;
        let exact = self.real_code(ideal, reference)?;
        let whole = self.code_read(exact)?;
        let reading = self.convert(whole)?;
        Ok(Reading {
            reading,
            volt: signal.volt,
            inputs,
            code: exact,
            whole,
            reference,
        })
    }

    /// What interferers of known amplitude add at the converter's input, V: of
    /// unknown phase in every reading, so arcsine distributed (JCGM 101,
    /// 6.4.6).
    fn disturbed(&self) -> Result<Value<'t>, Unmodelled> {
        let mut sum = self.builder.zero();
        if !self.real {
            return Ok(sum);
        }
        // Harmonics below a millionth of the largest are below its rounding.
        const LEAST: f64 = 1e-6;
        let found = self
            .others
            .borrow_mut()
            .disturbances(self.board, self.channel)?;
        for d in found.iter() {
            let peaks = d.arrivals.iter().filter_map(|a| a.amplitude);
            let least = LEAST * peaks.fold(0.0, f64::max);
            for a in &d.arrivals {
                let Some(peak) = a.amplitude.filter(|v| *v > least) else {
                    continue;
                };
                let name = format!(
                    "{} on {}, {}",
                    d.name,
                    d.on,
                    quantity::engineering(a.hz.1, "Hz", 3)
                );
                let variable = Variable::board(
                    &self.reading_key(&format!("interferers.{}.{}", d.name, a.number)),
                    &self.reading_name(&name),
                    "V",
                    Lies::Arcsine(-peak, peak),
                    Kind::Random,
                    Trace::board(Some(d.span)),
                );
                sum = sum + self.deviation(variable.per_reading());
            }
        }
        Ok(sum)
    }

    /// A reading after the channel's calibration, if it has one.
    ///
    /// # Errors
    /// As [`Site::reading`].
    pub fn corrected(&self, reading: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        match &self.channel.calibration {
            Some(c) => Ok(self.calibrated(c)?.apply(reading)),
            None => Ok(reading),
        }
    }

    /// Warming of a resistive thermometer for each watt, K/W.
    fn self_heating(&self) -> Result<Option<Value<'t>>, Unmodelled> {
        let sensor = &self.channel.sensor;
        if !self.real || self.channel.dimension != quantity::Dimension::TEMPERATURE {
            return Ok(None);
        }
        let key = format!("channels.{}.sensor.self-heating", self.channel.name);
        if let Some(f) = sensor.figures.get("self-heating") {
            return Ok(Some(self.figure(
                &key,
                "sensor, self-heating",
                f,
                Kind::Other,
            )?));
        }
        match sensor.figures.get("dissipation") {
            Some(f) => Ok(Some(
                1.0 / self.figure(&key, "sensor, dissipation", f, Kind::Other)?,
            )),
            None => Ok(None),
        }
    }

    /// Without a converter: the quantity that the nominal chain would turn
    /// into this voltage, by a straight line through the ends of the span.
    fn fragment(&self, volt: Value<'t>) -> Result<Reading<'t>, Unmodelled> {
        let site = self.assumed();
        let (low, high) = self.channel.span.value;
        let mut ends = Vec::new();
        for q in [low, high] {
            let q = self.builder.constant(q);
            ends.push(site.facing(q).signal(q)?.volt.nominal());
        }
        let slope = (high - low) / (ends[1] - ends[0]);
        if !slope.is_finite() {
            return Err(Unmodelled::new(
                "the voltage does not depend on the quantity",
            ));
        }
        let zero = self.builder.zero();
        Ok(Reading {
            reading: (volt - ends[0]) * slope + low,
            volt,
            inputs: None,
            code: zero,
            whole: zero,
            reference: zero,
        })
    }

    /// The permitted error at the truth; zero in a fragment.
    fn limit(&self, truth: Value<'t>) -> Value<'t> {
        let Some(terms) = &self.channel.accuracy else {
            return self.builder.zero();
        };
        let (low, high) = self.channel.span.value;
        let zero = Site::scale_zero(self.channel.dimension);
        let mut sum = self.builder.zero();
        for term in &terms.value {
            sum = sum
                + match *term {
                    AccuracyTerm::Absolute(a) => self.builder.constant(a),
                    AccuracyTerm::OfReading(r) => (truth - zero).abs() * r,
                    AccuracyTerm::OfSpan(s) => self.builder.constant(s * (high - low)),
                };
        }
        sum
    }
}
