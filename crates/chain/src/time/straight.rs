//! A channel's network made straight: how it answers small changes.

use std::collections::BTreeMap;

use board::{Board, Channel};
use circuit::{
    Element, Linearised, Network, Node, Output, Pin, SmallSignal, Solution, StimulusKind, Wanted,
};
use finding::Span;
use tape::{Builder, Reading, Tape, Value};

use super::alone::Alone;
use crate::channel::{Site, TOLERANCE_K, Unmodelled, Written};
use crate::variables::Variable;

/// Name of the resistance between a pin and the sample capacitor.
pub const SWITCH: &str = "sampling switch";
/// Name of the sample capacitor.
pub const SAMPLE: &str = "sample capacitor";
/// Stimulus of everything that the quantity changes, per unit of it.
pub const QUANTITY: &str = "the quantity";
/// Stimulus of a current into the converter's input, per ampere.
const FED: &str = "the converter's input";

/// Inputs of the tapes that are conditions.
#[derive(Clone, Copy, Debug)]
struct Conditions {
    quantity: usize,
    ambient: usize,
}

/// Outputs of the tape of voltages, before the weights.
const VOLT: usize = 0;
const REFERENCE: usize = 1;
const PER_VOLT: usize = 2;
const PER_QUANTITY: usize = 3;

/// What something changes in the network: element, how, output with the
/// change for a unit of it.
type Weights = Vec<(String, StimulusKind, usize)>;

/// What sits between a pin and the code.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sampler {
    /// The sample capacitor, F.
    pub farad: f64,
    /// The closed switch, Ω.
    pub ohm: f64,
}

/// Where a stimulus comes from, for people.
#[derive(Clone, Debug, PartialEq)]
pub struct Origin {
    /// The part, as findings name it.
    pub name: String,
    /// Where its figure was read, or the law it follows from.
    pub source: String,
    /// How well that is founded; `None` for a law of physics.
    pub basis: Option<parts::Basis>,
    /// Where it is written.
    pub span: Option<Span>,
}

/// One channel, straight at any point of its conditions.
pub struct Straight {
    /// One per input of the tapes.
    pub variables: Vec<Variable>,
    /// Amplifiers without a figure of noise, by name.
    pub silent: Vec<String>,
    origins: BTreeMap<(String, StimulusKind), Origin>,
    pin: SmallSignal,
    held: Option<SmallSignal>,
    volts: Tape,
    at: Conditions,
    driven: Weights,
}

/// A channel at one point of its conditions.
pub struct Point {
    /// The network up to the converter's input, which is its output 0.
    pub pin: Linearised,
    /// The same with the switch closed onto the sample capacitor, whose
    /// voltage is its output 0, with its noise.
    pub held: Option<Linearised>,
    /// Number of the stimulus [`QUANTITY`] of `pin`; `None` where nothing in
    /// the network says how the quantity acts.
    pub quantity: Option<usize>,
    /// Number of the stimulus that feeds a current into the input.
    pub fed: usize,
    /// Voltage between the converter's inputs, V.
    pub volt: f64,
    /// What the converter compares against, V.
    pub reference: f64,
    /// Codes for each volt between the inputs; zero without a converter.
    pub codes_per_volt: f64,
    /// Change of the voltage for a unit of the quantity, V.
    pub volt_per_quantity: f64,
}

impl Point {
    /// What the converter meets at its input.
    #[must_use]
    pub fn source(&self) -> Option<Pin> {
        Pin::of(&self.pin, 0, self.fed, self.volt)
    }
}

impl Straight {
    /// Writes a channel's network and makes it straight.
    ///
    /// # Errors
    /// As [`crate::channel::build`]; a digital sensor has no network.
    pub fn of(
        board: &Board,
        channel: &Channel,
        sampler: Option<Sampler>,
        pin_farad: f64,
    ) -> Result<Straight, Unmodelled> {
        let builder = Builder::new();
        let alone = Alone::new(&builder);
        let (low, high) = channel.span.value;
        let (cold, hot) = board.conditions.ambient_k;
        let (middle, kelvin) = (0.5 * (low + high), 0.5 * (cold + hot));
        let (site, quantity) = alone.site(board, channel, middle, kelvin)?;
        let met = site.met(quantity)?;
        let unsolved = |f: circuit::Fault| site.unsolved(f);
        // Capacitors have what their direct voltage leaves them, which does not
        // depend on what they have.
        let kept = {
            let mut network = Network::new(&builder);
            site.written(&mut network, met)?;
            site.deratings(&network.solve().map_err(unsolved)?)?
        };
        let written = |sampler: Option<Sampler>| -> Result<_, Unmodelled> {
            let mut network = Network::new(&builder);
            let w = site.written(&mut network, met)?;
            network.scale_capacitors(|name| kept.get(name).copied());
            if pin_farad > 0.0 {
                for (name, node) in [("plus", w.plus), ("minus", w.minus)] {
                    if node != Node::GROUND {
                        let farad = builder.constant(pin_farad);
                        let name = format!("pin capacitance {name}");
                        network.capacitor(&name, node, Node::GROUND, farad, None);
                    }
                }
            }
            let seen = match sampler {
                Some(s) => {
                    let held = network.fresh(SAMPLE);
                    network.resistor(SWITCH, w.plus, held, builder.constant(s.ohm));
                    let farad = builder.constant(s.farad);
                    network.capacitor(SAMPLE, held, w.minus, farad, None);
                    held
                }
                None => w.plus,
            };
            let solution = network.solve().map_err(unsolved)?;
            Ok((solution, w, seen))
        };
        let (solution, ends, _) = written(None)?;
        let Written { plus, minus, .. } = ends;
        let straight = |solution: &Solution<'_>, seen: Node, noise: bool| {
            let outputs = [Output::Voltage { plus: seen, minus }];
            let fed = if minus == Node::GROUND {
                vec![plus]
            } else {
                vec![plus, minus]
            };
            let wanted = Wanted {
                outputs: &outputs,
                fed: &fed,
                noise,
            };
            SmallSignal::new(solution, &wanted).map_err(|f| site.unsolved(f))
        };
        let pin = straight(&solution, plus, true)?;
        let held = match sampler {
            Some(s) => {
                let (solution, _, seen) = written(Some(s))?;
                Some(straight(&solution, seen, true)?)
            }
            None => None,
        };
        let volt = solution.between(plus, minus);
        let reference = if channel.input.is_some() {
            match ends.reference {
                Some((plus, minus)) => solution.between(plus, minus),
                None => site.reference()?,
            }
        } else {
            builder.zero()
        };
        let per_volt = if channel.input.is_some() {
            site.codes_per_volt(reference)?
        } else {
            builder.zero()
        };
        let mut outputs = vec![
            volt,
            reference,
            per_volt,
            builder.derivative(volt, quantity),
        ];
        let driven = weights(&solution, quantity, &mut outputs);
        let volts = builder.finish(&outputs);
        let (origins, silent) = origins(&site, held.as_ref().unwrap_or(&pin), &pin);
        Ok(Straight {
            silent,
            origins,
            pin,
            held,
            volts,
            at: Conditions {
                quantity: 0,
                ambient: 1,
            },
            driven,
            variables: alone.variables.finish(),
        })
    }

    /// Everything at its nominal value, the quantity and the ambient given.
    #[must_use]
    pub fn inputs(&self, quantity: f64, ambient_k: f64) -> Vec<f64> {
        let mut inputs = self.volts.nominal_inputs().to_vec();
        // Variables made after one tape was written are unknown to it.
        inputs.resize(self.variables.len(), 0.0);
        for (at, value) in [(self.at.quantity, quantity), (self.at.ambient, ambient_k)] {
            if let Some(input) = inputs.get_mut(at) {
                *input = value;
            }
        }
        inputs
    }

    /// The numbers for these inputs, as [`inputs`](Straight::inputs) gives
    /// them or changed.
    ///
    /// # Errors
    /// They leave the network without an operating point.
    pub fn at(&self, inputs: &[f64]) -> Result<Point, Unmodelled> {
        let told = |f: circuit::TimeFault| Unmodelled::new(f.to_string());
        let of = |s: &SmallSignal| {
            let count = s.tape().input_count().min(inputs.len());
            s.at(&inputs[..count]).map_err(told)
        };
        let mut pin = of(&self.pin)?;
        let held = self.held.as_ref().map(of).transpose()?;
        let volts = self.volts.values(
            &inputs[..self.volts.input_count().min(inputs.len())],
            Reading::Smooth,
        );
        let output = |k: usize| volts.get(k).copied().unwrap_or(f64::NAN);
        let parts = |network: &Linearised, weights: &Weights| -> Vec<(usize, f64)> {
            weights
                .iter()
                .filter_map(|(element, kind, k)| Some((network.find(element, *kind)?, output(*k))))
                .collect()
        };
        let driven = parts(&pin, &self.driven);
        let fed;
        (pin, fed) = self::fed(pin);
        let mut quantity = None;
        if !driven.is_empty() {
            let k;
            (pin, k) = pin.joined(QUANTITY, &driven);
            quantity = Some(k);
        }
        Ok(Point {
            pin,
            held,
            quantity,
            fed,
            volt: output(VOLT),
            reference: output(REFERENCE),
            codes_per_volt: output(PER_VOLT),
            volt_per_quantity: output(PER_QUANTITY),
        })
    }

    /// Everything nominal, at a quantity, the ambient in the middle.
    ///
    /// # Errors
    /// As [`Straight::at`].
    pub fn nominal(&self, quantity: f64) -> Result<Point, Unmodelled> {
        self.at(&self.usual(quantity))
    }

    /// Inputs with everything nominal and the ambient in the middle.
    #[must_use]
    pub fn usual(&self, quantity: f64) -> Vec<f64> {
        let ambient = self.volts.nominal_inputs().get(self.at.ambient);
        self.inputs(quantity, ambient.copied().unwrap_or(TOLERANCE_K))
    }

    /// What the converter meets at its input for these inputs, standing at a
    /// voltage; `None` where they leave no operating point.
    #[must_use]
    pub fn source_at(&self, inputs: &[f64], open_v: f64) -> Option<Pin> {
        let count = self.pin.tape().input_count().min(inputs.len());
        let pin = self.pin.at(&inputs[..count]).ok()?;
        let (pin, fed) = fed(pin);
        Pin::of(&pin, 0, fed, open_v)
    }

    /// Where a stimulus comes from.
    #[must_use]
    pub fn origin(&self, element: &str, kind: StimulusKind) -> Origin {
        let known = self.origins.get(&(element.to_owned(), kind));
        known.cloned().unwrap_or_else(|| Origin {
            name: element.to_owned(),
            source: String::new(),
            basis: None,
            span: None,
        })
    }

    /// Whether an input changes what the converter meets.
    #[must_use]
    pub fn is_met(&self, input: usize) -> bool {
        self.pin.tape().uses_input(input)
    }
}

/// What the noise of a resistance follows from.
const NYQUIST: &str = "4·k·T·R (H. Nyquist, Physical Review 32, 1928)";
/// What the noise of a junction follows from.
const SCHOTTKY: &str = "2·q·I (W. Schottky, Annalen der Physik 57, 1918)";

type Origins = BTreeMap<(String, StimulusKind), Origin>;

/// Names and sources of everything that makes noise, and the amplifiers whose
/// parts state none.
fn origins(site: &Site<'_, '_>, held: &SmallSignal, pin: &SmallSignal) -> (Origins, Vec<String>) {
    let mut list = BTreeMap::new();
    let mut silent = Vec::new();
    let stages = site.stages();
    for stimulus in held.stimuli().chain(pin.stimuli()) {
        let (figures, law): (&[&str], _) = match stimulus.kind {
            StimulusKind::Thermal => (&[], NYQUIST),
            StimulusKind::Shot => (&[], SCHOTTKY),
            StimulusKind::InputVoltage => (&["noise-density"], ""),
            StimulusKind::PlusCurrent | StimulusKind::MinusCurrent => {
                (&["current-noise-density"], "")
            }
            StimulusKind::OutputVoltage => (&["output-noise-density"], ""),
            _ => continue,
        };
        let element = &stimulus.element;
        let stage = stages.iter().find(|s| {
            element == &s.path
                || element
                    .strip_prefix(&s.path)
                    .is_some_and(|r| r.starts_with('.'))
        });
        let mut origin = Origin {
            name: element.clone(),
            source: law.to_owned(),
            basis: None,
            span: None,
        };
        if let Some(stage) = stage {
            origin.name = site.stage_name(stage);
            origin.span = Some(stage.span);
            let rest = element.strip_prefix(&stage.path).unwrap_or("");
            let rest = rest.trim_start_matches('.');
            if !rest.is_empty() {
                origin.name = format!("{}, {rest}", origin.name);
            }
            if let Some(f) = figures
                .iter()
                .find_map(|f| stage.part("part").and_then(|p| p.figure(f)))
            {
                origin.source = f.source.to_string();
                origin.basis = Some(f.basis);
            } else if stimulus.kind == StimulusKind::InputVoltage && !silent.contains(&origin.name)
            {
                silent.push(origin.name.clone());
            }
        }
        match stimulus.kind {
            StimulusKind::InputVoltage => origin.name.push_str(", voltage noise"),
            StimulusKind::PlusCurrent => origin.name.push_str(", current noise of the plus input"),
            StimulusKind::MinusCurrent => {
                origin.name.push_str(", current noise of the minus input");
            }
            StimulusKind::OutputVoltage => origin.name.push_str(", output noise"),
            _ => {}
        }
        list.insert((element.clone(), stimulus.kind), origin);
    }
    (list, silent)
}

/// With a current into the plus input and out of the minus input as one
/// stimulus.
fn fed(pin: Linearised) -> (Linearised, usize) {
    let fed: Vec<usize> = pin
        .stimuli()
        .enumerate()
        .filter(|(_, s)| s.kind == StimulusKind::Fed)
        .map(|(k, _)| k)
        .collect();
    let parts: Vec<(usize, f64)> = fed.into_iter().zip([1.0, -1.0]).collect();
    pin.joined(FED, &parts)
}

/// How every element of a network follows an input, as sources that act like
/// it: a resistance that changes is a current beside it of its voltage times
/// the change of its conductance.
fn weights<'t>(solution: &Solution<'t>, by: Value<'t>, outputs: &mut Vec<Value<'t>>) -> Weights {
    let builder = solution.builder();
    let one = builder.one();
    let mut list = Vec::new();
    for (name, element) in solution.elements() {
        let (kind, weight) = match element {
            Element::VoltageSource { volt, .. } => {
                (StimulusKind::Voltage, builder.derivative(*volt, by))
            }
            Element::CurrentSource { ampere, .. } => {
                (StimulusKind::Current, builder.derivative(*ampere, by))
            }
            Element::Resistor { a, b, ohm } => {
                let change = builder.derivative(one / *ohm, by);
                (StimulusKind::Thermal, solution.between(*a, *b) * change)
            }
            Element::Conductance { a, b, siemens } => {
                let change = builder.derivative(*siemens, by);
                (StimulusKind::Thermal, solution.between(*a, *b) * change)
            }
            _ => continue,
        };
        if !weight.is_zero() {
            list.push((name.clone(), kind, outputs.len()));
            outputs.push(weight);
        }
    }
    list
}
