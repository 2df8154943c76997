//! The course of a channel's network in time, with every limit of its parts.

use board::{Board, Channel};
use circuit::{Control, Drive, Element, Network, Node, Output, Transient};
use tape::{Builder, Reading, Value};

use super::alone::Alone;
use super::settle::SamplerFigures;
use crate::channel::{Site, Unmodelled};

/// Error of each step, as a share of the largest voltage.
const ACCURACY: f64 = 1e-6;

/// What happens to the network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// The quantity steps from one value to another, SI.
    Step(f64, f64),
    /// The quantity goes from one value to another, SI, for a time, s, and
    /// back.
    Burst(f64, f64, f64),
    /// Everything that feeds the network comes up from nothing at once, the
    /// quantity standing at a value, SI.
    PowerUp(f64),
}

/// What a network did.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// Moments, s, not falling; two equal ones stand before and after a step.
    pub time_s: Vec<f64>,
    /// What moved: a name and its voltage at each moment, V. The first is the
    /// converter's input.
    pub volts: Vec<(String, Vec<f64>)>,
    /// Ambient, K.
    pub kelvin: f64,
}

/// A source whose strength changes, from what to what.
struct Driven<'t> {
    name: String,
    /// Its strength, or the voltage across and the resistance of what acts
    /// like a source.
    value: Strength<'t>,
}

enum Strength<'t> {
    Source(Value<'t>),
    Conductance {
        across: (Node, Node),
        siemens: Value<'t>,
    },
}

/// Follows a channel's network for a time, everything but the quantity
/// nominal, the ambient in its middle.
///
/// A resistance that follows the quantity has its last value throughout; a
/// current beside it makes up for the difference until the step, which is the
/// same operating point.
///
/// # Errors
/// The channel has no analog network, something that follows the quantity is
/// neither a source nor a resistance, or the course is not found.
pub fn course(
    board: &Board,
    channel: &Channel,
    event: Event,
    until_s: f64,
) -> Result<Course, Unmodelled> {
    let builder = Builder::new();
    let alone = Alone::new(&builder);
    let (cold, hot) = board.conditions.ambient_k;
    let kelvin = 0.5 * (cold + hot);
    let (from, to) = match event {
        Event::Step(from, to) | Event::Burst(from, to, _) => (from, to),
        Event::PowerUp(at) => (at, at),
    };
    let (site, quantity) = alone.site(board, channel, to, kelvin)?;
    let met = site.met(quantity)?;
    let mut network = Network::new(&builder);
    let w = site.written(&mut network, met)?;
    let figures = channel
        .input
        .as_ref()
        .and_then(|n| SamplerFigures::of(board, n.device, n.unit));
    if let Some(pin) = figures.map(|f| f.pin_farad).filter(|f| *f > 0.0) {
        for (name, node) in [("plus", w.plus), ("minus", w.minus)] {
            if node != Node::GROUND {
                let name = format!("pin capacitance {name}");
                let farad = builder.constant(pin);
                network.capacitor(&name, node, Node::GROUND, farad, None);
            }
        }
    }
    let driven = match event {
        Event::Step(..) | Event::Burst(..) => followers(&mut network, quantity)?,
        Event::PowerUp(_) => feeders(&network),
    };
    let unsolved = |f: circuit::Fault| site.unsolved(f);
    let solution = network.solve().map_err(unsolved)?;
    let mut seen = vec![(
        "input".to_owned(),
        Output::Voltage {
            plus: w.plus,
            minus: w.minus,
        },
    )];
    for (name, node) in named(&site, &solution) {
        if node != w.plus {
            seen.push((name, Output::node(node)));
        }
    }
    if let Some((plus, minus)) = w.reference {
        seen.push(("reference".to_owned(), Output::Voltage { plus, minus }));
    }
    let mut values = Vec::new();
    for d in &driven {
        match d.value {
            Strength::Source(v) => values.extend([v, v]),
            Strength::Conductance { across, siemens } => {
                values.extend([solution.between(across.0, across.1), siemens]);
            }
        }
    }
    let tape = builder.finish(&values);
    let inputs = |q: f64| {
        let mut inputs = tape.nominal_inputs().to_vec();
        if let Some(first) = inputs.first_mut() {
            *first = q;
        }
        inputs
    };
    let at = |q: f64| tape.values(&inputs(q), Reading::Smooth);
    let (before, after) = (at(from), at(to));
    let burst = matches!(event, Event::Burst(..));
    if burst
        && driven
            .iter()
            .any(|d| matches!(d.value, Strength::Conductance { .. }))
    {
        return Err(Unmodelled::new(
            "a burst is followed of sensors that give a voltage or a current; a resistance has only its step",
        ));
    }
    let drives: Vec<Drive> = driven
        .iter()
        .enumerate()
        .map(|(k, d)| {
            let of = |list: &[f64], i: usize| list.get(2 * k + i).copied().unwrap_or(0.0);
            match (&d.value, event) {
                (Strength::Source(_), Event::PowerUp(_)) => Drive::step(0.0, 0.0, of(&after, 0)),
                (Strength::Source(_), Event::Step(..)) => {
                    Drive::step(0.0, of(&before, 0), of(&after, 0))
                }
                (Strength::Source(_), Event::Burst(_, _, length_s)) => {
                    let (low, high) = (of(&before, 0), of(&after, 0));
                    let points = vec![(0.0, low), (0.0, high), (length_s, high), (length_s, low)];
                    Drive::new(points).unwrap_or_else(|| Drive::constant(low))
                }
                (Strength::Conductance { .. }, _) => {
                    let missing = of(&before, 0) * (of(&before, 1) - of(&after, 1));
                    Drive::step(0.0, missing, 0.0)
                }
            }
        })
        .collect();
    let names: Vec<&str> = driven.iter().map(|d| d.name.as_str()).collect();
    let outputs: Vec<Output> = seen.iter().map(|s| s.1.clone()).collect();
    let own = inputs(if burst { from } else { to });
    let transient = Transient::new(&solution, &names, &outputs).map_err(unsolved)?;
    let series = transient
        .run(&own, &drives, until_s, ACCURACY)
        .map_err(|f| Unmodelled::new(f.to_string()))?;
    Ok(Course {
        time_s: series.time_s,
        volts: seen.into_iter().map(|s| s.0).zip(series.values).collect(),
        kelvin,
    })
}

/// Sources that follow the quantity; resistances that do get a source beside
/// them, which is one of these.
fn followers<'t>(
    network: &mut Network<'t>,
    quantity: Value<'t>,
) -> Result<Vec<Driven<'t>>, Unmodelled> {
    let builder = network.builder();
    let follows = |v: Value<'t>| !builder.derivative(v, quantity).is_zero();
    let mut driven = Vec::new();
    let mut beside = Vec::new();
    for (name, element) in network.elements() {
        match element {
            Element::VoltageSource { volt: v, .. } | Element::CurrentSource { ampere: v, .. }
                if follows(*v) =>
            {
                driven.push(Driven {
                    name: name.clone(),
                    value: Strength::Source(*v),
                });
            }
            Element::Resistor { a, b, ohm } if follows(*ohm) => {
                beside.push((name.clone(), *a, *b, builder.one() / *ohm));
            }
            Element::Conductance { a, b, siemens } if follows(*siemens) => {
                beside.push((name.clone(), *a, *b, *siemens));
            }
            Element::ControlledVoltage { control, .. }
            | Element::ControlledCurrent { control, .. } => {
                let (Control::Voltage { factor, .. } | Control::Current { factor, .. }) = control;
                if follows(*factor) {
                    return Err(Unmodelled::new(
                        "a bridge within a network cannot be stepped in time; its response over frequency is known",
                    ));
                }
            }
            _ => {}
        }
    }
    for (name, a, b, siemens) in beside {
        let name = format!("change of {name}");
        network.current_source(&name, a, b, builder.zero());
        driven.push(Driven {
            name,
            value: Strength::Conductance {
                across: (a, b),
                siemens,
            },
        });
    }
    if driven.is_empty() {
        return Err(Unmodelled::new(
            "nothing in the channel's network follows the quantity by itself",
        ));
    }
    Ok(driven)
}

/// All sources of a network.
fn feeders<'t>(network: &Network<'t>) -> Vec<Driven<'t>> {
    let mut list = Vec::new();
    for (name, element) in network.elements() {
        if let Element::VoltageSource { volt: v, .. } | Element::CurrentSource { ampere: v, .. } =
            element
        {
            list.push(Driven {
                name: name.clone(),
                value: Strength::Source(*v),
            });
        }
    }
    list
}

/// Nodes that the board file names, in the channel's network.
fn named(site: &Site<'_, '_>, solution: &circuit::Solution<'_>) -> Vec<(String, Node)> {
    let mut list = Vec::new();
    let Some(spec) = site.network_spec() else {
        let sensor = format!("channels.{}.sensor", site.channel.name);
        list.extend(solution.find(&sensor).map(|n| ("sensor".to_owned(), n)));
        return list;
    };
    for field in spec.elements.iter().flat_map(|e| e.fields.values()) {
        if let board::FieldValue::Node(board::NodeRef::Named(name)) = &field.value
            && !list.iter().any(|(n, _)| n == name)
            && let Some(node) = solution.find(name)
            && node != Node::GROUND
        {
            list.push((name.clone(), node));
        }
    }
    list
}
