//! A channel's model: truth in, reading out, on one tape.

use board::{Against, Board, Channel, RailSource, Supply};
use circuit::{Network, Node};
use quantity::{Dimension, Valued};
use tape::{Builder, Linear, Tape, Value};

use crate::law::{self, Electrical, Law, Parameters};
use crate::stage::{self, Bench};
use crate::variables::{Kind, Lies, Variable, Variables, Varies};

/// Temperature at which tolerances hold, K.
const TOLERANCE_K: f64 = 298.15;

/// A channel as a tape with its variables.
pub struct ChannelModel {
    /// Outputs: 0 the error (reading − truth), 1 the permitted error where
    /// one is asked, 2 the reading, 3 the voltage at the converter, 4 the
    /// code before rounding; the permitted error is 0 in a fragment.
    pub tape: Tape,
    /// One per tape input.
    pub variables: Vec<Variable>,
}

/// Why a channel has no model.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unmodelled {
    /// What is in the way.
    pub message: String,
}

fn unmodelled(message: impl Into<String>) -> Unmodelled {
    Unmodelled {
        message: message.into(),
    }
}

/// Builds the model of one channel.
///
/// # Errors
/// [`Unmodelled`] says what the channel uses that has no equations, or what
/// is missing.
pub fn build(board: &Board, channel: &Channel) -> Result<ChannelModel, Unmodelled> {
    refuse(board, channel)?;
    let builder = Builder::new();
    let variables = Variables::new(&builder);
    let (low, high) = channel.span.value;
    let points: Vec<f64> = (0..5)
        .map(|i| low + (high - low) * f64::from(i) / 4.0)
        .collect();
    let set_point =
        variables.condition("quantity", &channel.quantity, &channel.unit.symbol, points);
    let (cold, hot) = board.conditions.ambient_k;
    let grid = if cold < hot {
        vec![cold, 0.5 * (cold + hot), hot]
    } else {
        vec![cold]
    };
    let ambient = variables.condition("ambient", "ambient", "K", grid);
    let site = Site {
        board,
        channel,
        builder: &builder,
        variables: &variables,
        ambient,
        real: true,
    };
    let assumed = Site {
        real: false,
        ambient: builder.constant(TOLERANCE_K),
        ..site
    };
    let law = law::find(&channel.sensor.law)
        .ok_or_else(|| unmodelled(format!("the law `{}` has no equations", channel.sensor.law)))?;
    let parameters = site.parameters(law)?;
    let nominal_parameters = assumed.parameters(law)?;
    let none = |_: &str| None;

    // What the firmware believes: code as a function of the electrical value.
    let electrical_at = |q: f64| {
        law.forward(builder.constant(q), &nominal_parameters, &none)
            .map_err(|f| unmodelled(f.to_string()))
    };
    let ends = [low, 0.5 * (low + high), high];
    let mut pairs = Vec::new();
    for q in ends {
        let e = electrical_at(q)?;
        pairs.push((e.nominal(), assumed.code(e, law.electrical())?.1.nominal()));
    }

    // The rounding is dithered by the quantity itself in sampling and a
    // rectangular contributor elsewhere.
    let code_per_quantity = (pairs[2].1 - pairs[0].1).abs() / (high - low);
    let half_code = 0.5 / code_per_quantity.max(1e-300);
    let dither = variables.value(
        Variable {
            key: "dither".to_owned(),
            name: "place within a code".to_owned(),
            unit: channel.unit.symbol.clone(),
            varies: Varies::Reading,
            kind: Kind::Conversion,
            lies: Lies::Between(-half_code, half_code),
            grid: Vec::new(),
            sampled: true,
            linear: false,
            source: String::new(),
            basis: None,
            span: None,
        },
        0.0,
    );
    let truth = set_point + dither;
    let electrical = law
        .forward(truth, &parameters, &none)
        .map_err(|f| unmodelled(f.to_string()))?;
    let (volt, exact) = site.code(electrical, law.electrical())?;
    let rounding = variables.value(
        Variable {
            key: "rounding".to_owned(),
            name: "rounding to a code".to_owned(),
            unit: "LSB".to_owned(),
            varies: Varies::Reading,
            kind: Kind::Conversion,
            lies: Lies::Between(-0.5, 0.5),
            grid: Vec::new(),
            sampled: false,
            linear: true,
            source: "whole codes".to_owned(),
            basis: None,
            span: None,
        },
        0.0,
    );
    let full = site.full_scale();
    let code = (exact + rounding)
        .quantised()
        .max(builder.zero())
        .min(builder.constant(full - 1.0));
    let back = inverse(&builder, law.electrical(), &pairs, code + 0.5)?;
    let reading = law
        .inverse(back, &nominal_parameters, &none)
        .map_err(|f| unmodelled(f.to_string()))?;
    let error = (reading - truth).named("error", &channel.unit.symbol);
    let limit = site.limit(truth);
    let tape = builder.finish(&[error, limit, reading, volt, exact]);
    Ok(ChannelModel {
        tape,
        variables: variables.finish(),
    })
}

/// Refuses what a file may say but the equations do not hold yet: a number
/// computed without it would look right and be wrong.
fn refuse(board: &Board, channel: &Channel) -> Result<(), Unmodelled> {
    let c = &channel.conversion;
    let input = channel.input.as_ref();
    let nodes = input.is_some_and(|i| i.plus.is_some() || i.minus.is_some());
    let uses = [
        (channel.calibration.is_some(), "a calibration"),
        (!channel.others.is_empty(), "contributors of `other`"),
        (
            !c.steps.is_empty() || !c.assume.is_empty() || c.assumed_reference_v.is_some(),
            "a conversion of its own",
        ),
        (channel.sensor.warmed.is_some(), "a warmed sensor"),
        (!channel.sensor.auxiliaries.is_empty(), "other channels"),
        (channel.network.is_some() || nodes, "a network"),
        (
            input.is_some_and(|i| i.gain != 1.0),
            "gain in the converter",
        ),
        (input.is_some_and(|i| i.average != 1), "averaging"),
        (
            board.conditions.service_s.is_some(),
            "ageing over a service life",
        ),
    ];
    match uses.iter().find(|(used, _)| *used) {
        Some((_, what)) => Err(unmodelled(format!("{what}: no equations yet"))),
        None => Ok(()),
    }
}

/// The electrical value from the code by the inverse of the nominal chain: a
/// linear network's output is an affine function of a voltage or current and
/// a bilinear one of a resistance, e = (k0 + k1·c)/(1 + k2·c), so two (three)
/// nominal points determine it.
fn inverse<'t>(
    builder: &'t Builder,
    electrical: Electrical,
    pairs: &[(f64, f64)],
    code: Value<'t>,
) -> Result<Value<'t>, Unmodelled> {
    let flat = || unmodelled("the code does not depend on the quantity");
    if electrical != Electrical::Resistance {
        let ((e0, c0), (e1, c1)) = (pairs[0], pairs[pairs.len() - 1]);
        if c0 == c1 {
            return Err(flat());
        }
        return Ok((code - c0) * ((e1 - e0) / (c1 - c0)) + e0);
    }
    let mut system = Linear::new(builder, 3);
    for (i, &(e, c)) in pairs.iter().enumerate() {
        system.add(i, 0, builder.one());
        system.add(i, 1, builder.constant(c));
        system.add(i, 2, builder.constant(-c * e));
        system.add_right(i, builder.constant(e));
    }
    let k = system.solve(builder, false).map_err(|_| flat())?;
    Ok((k[0] + k[1] * code) / (k[2] * code + 1.0))
}

/// One place to build from: as things really are, or as assumed.
#[derive(Clone, Copy)]
struct Site<'a, 't> {
    board: &'a Board,
    channel: &'a Channel,
    builder: &'t Builder,
    variables: &'a Variables<'t>,
    ambient: Value<'t>,
    real: bool,
}

impl<'t> Site<'_, 't> {
    /// A value with its tolerance and drift: nominal + deviation, times
    /// 1 + drift·(T − 25 °C).
    fn valued(&self, key: &str, name: &str, v: &Valued, kind: Kind) -> Value<'t> {
        let nominal = self.builder.constant(v.nominal);
        if !self.real {
            return nominal;
        }
        let unit = quantity::symbol(v.dimension).unwrap_or("");
        let limits = v.tolerance.map_or((0.0, 0.0), |t| {
            let (low, high) = t.limits(v.nominal);
            (low - v.nominal, high - v.nominal)
        });
        let deviation = self.variables.deviation(
            &format!("{key}.tolerance"),
            &format!("{name}, tolerance"),
            unit,
            limits,
            kind,
            "the board file",
        );
        let mut value = nominal + deviation;
        if let Some(drift) = v.drift_per_k {
            let slope = if v.drift_signed {
                self.builder.constant(drift)
            } else {
                let limits = (-drift, drift);
                self.variables.deviation(
                    &format!("{key}.drift"),
                    &format!("{name}, drift"),
                    "1/K",
                    limits,
                    Kind::Temperature,
                    "the board file",
                )
            };
            value = value * (slope * (self.ambient - TOLERANCE_K) + 1.0);
        }
        value
    }

    fn supply(&self, supply: Supply) -> Result<Value<'t>, Unmodelled> {
        match supply {
            Supply::Ground => Ok(self.builder.zero()),
            Supply::Rail(i) => self.rail(i),
            Supply::Reference(i) => {
                let r = &self.board.references[i];
                match (&r.voltage, &r.part) {
                    (Some(v), None) => Ok(self.valued(
                        &format!("references.{}", r.name),
                        &r.name,
                        &v.value,
                        Kind::Fixed,
                    )),
                    _ => Err(unmodelled(format!(
                        "reference `{}`: reference parts have no equations yet",
                        r.name
                    ))),
                }
            }
            Supply::Internal(..) => Err(unmodelled(
                "references inside a device have no equations yet",
            )),
        }
    }

    fn rail(&self, i: usize) -> Result<Value<'t>, Unmodelled> {
        let rail = &self.board.rails[i];
        match (&rail.source, &rail.voltage) {
            (RailSource::External, Some(v)) => {
                if rail.travel.is_some() {
                    return Err(unmodelled(format!(
                        "rail `{}`: travel has no equations yet",
                        rail.name
                    )));
                }
                Ok(self.valued(
                    &format!("rails.{}", rail.name),
                    &format!("rail {}", rail.name),
                    &v.value,
                    Kind::Supply,
                ))
            }
            (RailSource::Divided { from, top, bottom }, _) => {
                let key = format!("rails.{}", rail.name);
                let above = self.valued(
                    &format!("{key}.top"),
                    &format!("{} top", rail.name),
                    &top.value,
                    Kind::Fixed,
                );
                let below = self.valued(
                    &format!("{key}.bottom"),
                    &format!("{} bottom", rail.name),
                    &bottom.value,
                    Kind::Fixed,
                );
                Ok(self.rail(*from)? * below / (above + below))
            }
            (RailSource::Direct { from }, _) => self.rail(*from),
            _ => Err(unmodelled(format!(
                "rail `{}`: regulators have no equations yet",
                rail.name
            ))),
        }
    }

    fn parameters(&self, law: &'static dyn Law) -> Result<Parameters<'t>, Unmodelled> {
        let mut p = Parameters::new(self.builder, law, self.channel.dimension);
        for (name, figure) in &self.channel.sensor.figures {
            if !law.parameters().iter().any(|s| s.name == name) {
                continue;
            }
            let Some(spread) = figure.spread() else {
                return Err(unmodelled(format!(
                    "the figure `{name}` follows a supply, which has no equations yet"
                )));
            };
            let mut value = self.builder.constant(spread.centre);
            if self.real {
                let key = format!("channels.{}.sensor.{name}", self.channel.name);
                let unit = quantity::symbol(figure.dimension).unwrap_or("");
                let what = format!("sensor, {name}");
                value = value
                    + self
                        .variables
                        .figure(&key, &what, unit, figure, Kind::Fixed);
            }
            p.set(name, value).map_err(|f| unmodelled(f.to_string()))?;
        }
        if let Some(missing) = p.missing().first() {
            return Err(unmodelled(missing.to_string()));
        }
        Ok(p)
    }

    fn full_scale(&self) -> f64 {
        let bits = self
            .channel
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
            .map_or(0, |u| u.bits);
        (0..bits).fold(1.0, |n, _| n * 2.0)
    }

    /// Voltage at the converter and code before rounding.
    fn code(
        &self,
        electrical: Value<'t>,
        kind: Electrical,
    ) -> Result<(Value<'t>, Value<'t>), Unmodelled> {
        let mut network = Network::new(self.builder);
        let signal = network.node("sensor");
        let path = format!("channels.{}", self.channel.name);
        let inner = match &self.channel.sensor.source_resistance {
            Some(r) => self.valued(
                &format!("{path}.source"),
                "source resistance",
                &r.value,
                Kind::Fixed,
            ),
            None => self.builder.zero(),
        };
        let leads = match &self.channel.sensor.leads {
            Some(r) if self.channel.sensor.wires == 2 => {
                let one = self.valued(&format!("{path}.lead.a"), "lead", &r.value, Kind::Fixed);
                one + self.valued(
                    &format!("{path}.lead.b"),
                    "other lead",
                    &r.value,
                    Kind::Fixed,
                )
            }
            Some(_) if self.channel.sensor.wires == 3 => {
                return Err(unmodelled("three-wire sensors have no equations yet"));
            }
            _ => self.builder.zero(),
        };
        match kind {
            Electrical::Resistance => {
                network.resistor("sensor", signal, Node::GROUND, electrical + leads)
            }
            Electrical::Voltage => {
                let source = network.fresh("sensor source");
                network.voltage_source("sensor", source, Node::GROUND, electrical);
                network.resistor("sensor resistance", source, signal, inner + leads);
            }
            Electrical::VoltageRatio => {
                let supply = self
                    .channel
                    .sensor
                    .supply
                    .ok_or_else(|| unmodelled("the sensor's supply is not named"))?;
                let source = network.fresh("sensor source");
                network.voltage_source(
                    "sensor",
                    source,
                    Node::GROUND,
                    electrical * self.supply(supply)?,
                );
                network.resistor("sensor resistance", source, signal, inner + leads);
            }
            Electrical::Current => {
                network.current_source("sensor", Node::GROUND, signal, electrical)
            }
            Electrical::Frequency | Electrical::Reading => {
                return Err(unmodelled(
                    "pulse and digital sensors have no equations yet",
                ));
            }
        }
        let mut failed = None;
        let mut voltages: Vec<(Supply, Value<'t>)> = Vec::new();
        for s in &self.channel.chain {
            if let Some(to) = s.supply("to")
                && voltages.iter().all(|(known, _)| *known != to.value)
            {
                voltages.push((to.value, self.supply(to.value)?));
            }
        }
        let component = |s: &board::Stage, key: &str| {
            s.valued(key).map(|v| {
                self.valued(
                    &format!("{}.{key}", s.path),
                    &format!("{} {key}", s.kind),
                    v.value,
                    Kind::Fixed,
                )
            })
        };
        for (supply, volt) in &voltages {
            let name = format!("{supply:?}");
            if *supply != Supply::Ground {
                let node = network.node(&name);
                network.voltage_source(&name, node, Node::GROUND, *volt);
            }
        }
        let supply = |network: &mut Network<'t>, supply: Supply| match supply {
            Supply::Ground => Node::GROUND,
            other => network.node(&format!("{other:?}")),
        };
        let mut bench = Bench {
            network: &mut network,
            signal,
            component: &component,
            supply: &supply,
        };
        for s in &self.channel.chain {
            match stage::find(s.kind) {
                Some(kind) => (kind.write)(s, &mut bench),
                None => failed = Some(s.kind),
            }
        }
        let end = bench.signal;
        if let Some(kind) = failed {
            return Err(unmodelled(format!("the stage `{kind}` has no equations")));
        }
        let solution = network.solve().map_err(|f| unmodelled(f.to_string()))?;
        let volt = solution.voltage(end);
        let reference = match self.channel.reference.as_ref().map(|r| &r.value) {
            Some(Against::Supply(s)) => self.supply(*s)?,
            Some(Against::Nodes(..)) => {
                return Err(unmodelled("a reference between nodes has no equations yet"));
            }
            None => return Err(unmodelled("no converter")),
        };
        let mut code = volt / reference * self.full_scale();
        if self.real
            && let Some(input) = &self.channel.input
        {
            let device = &self.board.devices[input.device];
            let unit = &device.part.converters[input.unit];
            for name in [
                "total-unadjusted-error",
                "offset-error",
                "gain-error",
                "inl",
            ] {
                let Some(figure) = unit
                    .figures
                    .get(name)
                    .filter(|f| f.dimension == Dimension::CODE)
                else {
                    continue;
                };
                if name != "total-unadjusted-error"
                    && unit.figures.contains_key("total-unadjusted-error")
                {
                    continue;
                }
                let key = format!("{}.{}.{name}", device.name, unit.name);
                let what = format!("converter, {name}");
                let error = self
                    .variables
                    .figure(&key, &what, "LSB", figure, Kind::Fixed);
                // A gain error is stated at full scale.
                code = code
                    + if name == "gain-error" {
                        error * volt / reference
                    } else {
                        error
                    };
            }
        }
        Ok((volt, code))
    }

    /// The permitted error at the truth; zero in a fragment.
    fn limit(&self, truth: Value<'t>) -> Value<'t> {
        let Some(terms) = &self.channel.accuracy else {
            return self.builder.zero();
        };
        let (low, high) = self.channel.span.value;
        let zero = if self.channel.dimension == Dimension::TEMPERATURE {
            law::ZERO_CELSIUS_K
        } else {
            0.0
        };
        let mut sum = self.builder.zero();
        for term in &terms.value {
            sum = sum
                + match *term {
                    quantity::AccuracyTerm::Absolute(a) => self.builder.constant(a),
                    quantity::AccuracyTerm::OfReading(r) => (truth - zero).abs() * r,
                    quantity::AccuracyTerm::OfSpan(s) => self.builder.constant(s * (high - low)),
                };
        }
        sum
    }
}
