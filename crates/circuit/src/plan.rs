//! From elements to what the equations are made of: conductances, sources
//! and breaking devices.

use std::collections::HashMap;

use tape::{Builder, Value};

use crate::affine::Affine;
use crate::amplifier::{Swing, output_stage};
use crate::device::{Device, Graph};
use crate::element::{Control, Element};
use crate::fault::Fault;
use crate::network::Network;
use crate::node::{Names, Node};
use crate::store::{Given, stores};

/// A known value or the source with this number.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Source<'t> {
    Fixed(Value<'t>),
    Of(usize),
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Conductance<'t> {
    pub a: usize,
    pub b: usize,
    pub siemens: Value<'t>,
}

/// A current leaving one node and entering another.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Injection<'t> {
    pub from: usize,
    pub to: usize,
    pub source: Source<'t>,
    /// The element, where it is a current source the user placed.
    pub forced_by: Option<usize>,
}

/// A voltage held between two nodes, whatever the current.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rigid<'t> {
    pub plus: usize,
    pub minus: usize,
    pub emf: Source<'t>,
    pub element: usize,
}

/// What a device's effort must equal.
#[derive(Clone, Debug)]
pub(crate) enum Sense<'t> {
    /// A sum.
    Nodes(Nodes<'t>),
    /// A current through an element, times a factor.
    Through { element: usize, factor: Value<'t> },
    /// The current an amplifier's output gives: the one its rigid branch
    /// takes from minus to plus.
    Given { rigid: usize },
}

/// Σ coefficient·voltage + Σ factor·(current an output gives) +
/// Σ factor·source + constant.
#[derive(Clone, Debug)]
pub(crate) struct Nodes<'t> {
    pub terms: Vec<(usize, Value<'t>)>,
    /// By the rigid branch of an output.
    pub given: Vec<(usize, Value<'t>)>,
    /// By the device that makes the source.
    pub sources: Vec<(usize, Value<'t>)>,
    pub constant: Value<'t>,
}

impl<'t> Nodes<'t> {
    fn new(terms: Vec<(usize, Value<'t>)>, constant: Value<'t>) -> Self {
        Nodes {
            terms,
            given: Vec::new(),
            sources: Vec::new(),
            constant,
        }
    }

    pub fn join(&mut self, other: Nodes<'t>) {
        self.terms.extend(other.terms);
        self.given.extend(other.given);
        self.sources.extend(other.sources);
        self.constant = self.constant + other.constant;
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Port<'t> {
    pub element: usize,
    pub device: Device<'t>,
    pub sense: Sense<'t>,
}

/// Where an element's current is found.
#[derive(Clone, Debug)]
pub(crate) enum Handle<'t> {
    /// Through a conductance.
    Conductance(usize),
    /// Through a rigid branch, from plus to minus.
    Rigid(usize),
    /// A source's.
    Source(Source<'t>),
    /// A curve's: companion conductance and source.
    Graph(usize, usize),
    /// Given by an amplifier's output: rigid branch.
    Output(usize),
    /// Through a store at a moment: its conductance, its insulation, and the
    /// current beside them.
    Moving {
        conductance: usize,
        beside: Option<usize>,
        ampere: Value<'t>,
    },
    /// None flows.
    Open,
}

/// An amplifier's place among the equations.
#[derive(Clone, Debug)]
pub(crate) struct Stage<'t> {
    pub element: usize,
    /// Its device, whose source is the output above the low supply.
    pub port: usize,
    pub rigid: usize,
    pub out: usize,
    pub high: usize,
    pub low: usize,
    pub swing_low: Option<Swing<'t>>,
    pub swing_high: Option<Swing<'t>>,
    pub quiescent: Option<Value<'t>>,
    /// The source drawn from the high supply, where that supply is not stiff.
    pub drawn: Option<usize>,
}

/// Everything the equations are made of.
#[derive(Clone)]
pub(crate) struct Plan<'t> {
    pub builder: &'t Builder,
    pub names: Names,
    pub conductances: Vec<Conductance<'t>>,
    pub injections: Vec<Injection<'t>>,
    pub rigid: Vec<Rigid<'t>>,
    pub ports: Vec<Port<'t>>,
    pub handles: Vec<Handle<'t>>,
    pub stages: Vec<Stage<'t>>,
}

/// Whether outputs stop at their swing or go wherever they are needed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Limits {
    Kept,
    Lifted,
}

impl<'t> Plan<'t> {
    pub fn new(network: &Network<'t>, limits: Limits) -> Result<Self, Fault> {
        let mut plan = Plan {
            builder: network.builder,
            names: network.names.clone(),
            conductances: Vec::new(),
            injections: Vec::new(),
            rigid: Vec::new(),
            ports: Vec::new(),
            handles: Vec::new(),
            stages: Vec::new(),
        };
        let by_name = named(network)?;
        let mut advanced = 0;
        for (index, (name, element)) in network.elements.iter().enumerate() {
            let handle = plan.lower(index, name, element, limits, &by_name, &network.given)?;
            plan.handles.push(handle);
            if let Some(moment) = &network.given.moment {
                for store in stores(element) {
                    let history = moment.history.get(advanced).copied();
                    advanced += 1;
                    let history = history.unwrap_or(plan.builder.zero());
                    plan.advance(index, &store, moment.rate, history);
                }
            }
        }
        plan.supplies();
        Ok(plan)
    }

    fn port(&mut self, element: usize, device: Device<'t>, sense: Sense<'t>) -> usize {
        self.ports.push(Port {
            element,
            device,
            sense,
        });
        self.ports.len() - 1
    }

    pub fn conduct(&mut self, a: Node, b: Node, siemens: Value<'t>) -> Handle<'t> {
        if siemens.is_zero() {
            return Handle::Open;
        }
        self.conductances.push(Conductance {
            a: a.0,
            b: b.0,
            siemens,
        });
        Handle::Conductance(self.conductances.len() - 1)
    }

    fn hold(&mut self, element: usize, plus: Node, minus: Node, emf: Source<'t>) -> Handle<'t> {
        self.rigid.push(Rigid {
            plus: plus.0,
            minus: minus.0,
            emf,
            element,
        });
        Handle::Rigid(self.rigid.len() - 1)
    }

    fn inject(&mut self, from: Node, to: Node, source: Source<'t>, forced_by: Option<usize>) {
        self.injections.push(Injection {
            from: from.0,
            to: to.0,
            source,
            forced_by,
        });
    }

    /// A resistance, which may be zero.
    fn resist(
        &mut self,
        element: usize,
        name: &str,
        a: Node,
        b: Node,
        ohm: Value<'t>,
    ) -> Result<Handle<'t>, Fault> {
        possible(name, "resistance", ohm)?;
        if ohm.is_zero() {
            return Ok(self.hold(element, a, b, Source::Fixed(ohm)));
        }
        if ohm.nominal() == 0.0 {
            let (zero, one) = (self.builder.zero(), self.builder.one());
            let line = Graph::closed(vec![(zero, zero)], [(ohm, one), (ohm, one)]);
            return Ok(self.curve(element, a.0, b.0, &line));
        }
        Ok(self.conduct(a, b, 1.0 / ohm))
    }

    /// An element by its graph: a companion conductance, and a source that
    /// makes up the difference.
    fn curve(&mut self, element: usize, from: usize, to: usize, graph: &Graph<'t>) -> Handle<'t> {
        let companion = graph.companion_siemens();
        let one = self.builder.one();
        let sense = Sense::Nodes(Nodes::new(
            vec![(from, one), (to, -one)],
            self.builder.zero(),
        ));
        let device = graph.device(self.builder, companion);
        let port = self.port(element, device, sense);
        self.conductances.push(Conductance {
            a: from,
            b: to,
            siemens: self.builder.constant(companion),
        });
        self.inject(Node(from), Node(to), Source::Of(port), None);
        Handle::Graph(self.conductances.len() - 1, port)
    }

    fn follow(
        &mut self,
        element: usize,
        name: &str,
        control: &Control<'t>,
        by_name: &HashMap<&str, usize>,
    ) -> Result<usize, Fault> {
        let sense = match control {
            Control::Voltage {
                plus,
                minus,
                factor,
            } => Sense::Nodes(Nodes::new(
                vec![(plus.0, *factor), (minus.0, -*factor)],
                self.builder.zero(),
            )),
            Control::Current {
                element: wanted,
                factor,
            } => match by_name.get(wanted.as_str()) {
                Some(&element) => Sense::Through {
                    element,
                    factor: *factor,
                },
                None => {
                    return Err(Fault::UnknownElement {
                        element: name.to_owned(),
                        control: wanted.clone(),
                    });
                }
            },
        };
        Ok(self.port(element, Device::follower(self.builder), sense))
    }

    fn lower(
        &mut self,
        index: usize,
        name: &str,
        element: &Element<'t>,
        limits: Limits,
        by_name: &HashMap<&str, usize>,
        given: &Given<'t>,
    ) -> Result<Handle<'t>, Fault> {
        let driven = |own: Value<'t>| given.driven.get(name).copied().unwrap_or(own);
        Ok(match element {
            Element::Resistor { a, b, ohm } => self.resist(index, name, *a, *b, *ohm)?,
            Element::Conductance { a, b, siemens } => {
                possible(name, "conductance", *siemens)?;
                self.conduct(*a, *b, *siemens)
            }
            Element::VoltageSource { plus, minus, volt } => {
                self.hold(index, *plus, *minus, Source::Fixed(driven(*volt)))
            }
            Element::CurrentSource { from, to, ampere } => {
                let source = Source::Fixed(driven(*ampere));
                self.inject(*from, *to, source, Some(index));
                Handle::Source(source)
            }
            Element::ControlledVoltage {
                plus,
                minus,
                control,
            } => {
                let port = self.follow(index, name, control, by_name)?;
                self.hold(index, *plus, *minus, Source::Of(port))
            }
            Element::ControlledCurrent { from, to, control } => {
                let port = self.follow(index, name, control, by_name)?;
                self.inject(*from, *to, Source::Of(port), Some(index));
                Handle::Source(Source::Of(port))
            }
            Element::Switch {
                a,
                b,
                closed,
                on_ohm,
                off_ohm,
            } => self.resist(
                index,
                name,
                *a,
                *b,
                if *closed { *on_ohm } else { *off_ohm },
            )?,
            Element::Conductor { from, to, curve } => self.curve(index, from.0, to.0, &curve.graph),
            Element::Capacitor {
                a,
                b,
                farad,
                leakage_ohm,
            } => {
                possible(name, "capacitance", *farad)?;
                match leakage_ohm {
                    Some(ohm) => self.resist(index, name, *a, *b, *ohm)?,
                    None => Handle::Open,
                }
            }
            Element::Inductor { a, b, henry } => {
                possible(name, "inductance", *henry)?;
                if given.moment.is_some() {
                    Handle::Open
                } else {
                    self.hold(index, *a, *b, Source::Fixed(self.builder.zero()))
                }
            }
            Element::Amplifier {
                plus,
                minus,
                out,
                high,
                low,
                model,
            } => {
                let input = Input {
                    plus: *plus,
                    minus: *minus,
                    bias_plus_a: model.bias_plus_a,
                    bias_minus_a: model.bias_minus_a,
                    resistance: model.input_resistance,
                };
                self.input(&input);
                let b = self.builder;
                let common = model.common_mode_error.unwrap_or(b.zero());
                let inverse_gain = model.gain.map_or(b.zero(), |gain| 1.0 / gain);
                let stated_at = model.offset_common_mode_v.unwrap_or(b.zero());
                let supply = model.supply_deviation_v.unwrap_or(b.zero());
                let sense = Sense::Nodes(Nodes::new(
                    vec![
                        (plus.0, common * 0.5 + 1.0),
                        (minus.0, common * 0.5 - 1.0),
                        (out.0, -inverse_gain),
                    ],
                    model.offset_v - stated_at * common
                        + supply * model.supply_error.unwrap_or(b.zero()),
                ));
                let stage = Output {
                    out: *out,
                    high: *high,
                    low: *low,
                    swing_low: model.swing_low.clone(),
                    swing_high: model.swing_high.clone(),
                    quiescent: model.quiescent,
                };
                self.output(index, name, stage, sense, limits)
            }
            Element::Instrumentation {
                plus,
                minus,
                reference,
                out,
                high,
                low,
                model,
            } => {
                let input = Input {
                    plus: *plus,
                    minus: *minus,
                    bias_plus_a: model.bias_plus_a,
                    bias_minus_a: model.bias_minus_a,
                    resistance: model.input_resistance,
                };
                self.input(&input);
                let b = self.builder;
                let common = model.common_mode_error.unwrap_or(b.zero());
                let stated_at = model.offset_common_mode_v.unwrap_or(b.zero());
                let sense = Sense::Nodes(Nodes::new(
                    vec![
                        (plus.0, model.gain * (common * 0.5 + 1.0)),
                        (minus.0, model.gain * (common * 0.5 - 1.0)),
                        (reference.0, b.one()),
                        (out.0, -b.one()),
                    ],
                    model.gain * (model.offset_in_v - stated_at * common) + model.offset_out_v,
                ));
                let stage = Output {
                    out: *out,
                    high: *high,
                    low: *low,
                    swing_low: model.swing_low.clone(),
                    swing_high: model.swing_high.clone(),
                    quiescent: model.quiescent,
                };
                self.output(index, name, stage, sense, limits)
            }
        })
    }

    fn input(&mut self, input: &Input<'t>) {
        for (node, bias) in [
            (input.plus, input.bias_plus_a),
            (input.minus, input.bias_minus_a),
        ] {
            if !bias.is_zero() {
                self.inject(node, Node::GROUND, Source::Fixed(bias), None);
            }
        }
        if let Some(ohm) = input.resistance {
            self.conduct(input.plus, input.minus, 1.0 / ohm);
        }
    }

    /// The output: a voltage above the low supply, held within the idle
    /// swing, behind a stage that drops more the more current it gives.
    fn output(
        &mut self,
        index: usize,
        name: &str,
        output: Output<'t>,
        sense: Sense<'t>,
        limits: Limits,
    ) -> Handle<'t> {
        let b = self.builder;
        let stage = output_stage(b, output.swing_low.as_ref(), output.swing_high.as_ref());
        let inner = match (&stage, limits) {
            (Some(_), Limits::Kept) => self.names.fresh(&format!("{name} before its stage")),
            _ => output.out,
        };
        // The limits need the supplies' voltages, which are known later.
        let limited = output.swing_low.is_some() || output.swing_high.is_some();
        let device = if limited {
            Device::lifted(b)
        } else {
            Device::amplifier(b)
        };
        let port = self.port(index, device, sense);
        self.hold(index, inner, output.low, Source::Of(port));
        let rigid = self.rigid.len() - 1;
        if let (Some(graph), Limits::Kept) = (&stage, limits) {
            self.curve(index, inner.0, output.out.0, graph);
        }
        self.stages.push(Stage {
            element: index,
            port,
            rigid,
            out: output.out.0,
            high: output.high.0,
            low: output.low.0,
            swing_low: output.swing_low,
            swing_high: output.swing_high,
            quiescent: output.quiescent,
            drawn: None,
        });
        Handle::Output(rigid)
    }

    /// Draws what amplifiers take from supplies. A supply that independent
    /// voltage sources hold against ground gives any current without moving;
    /// there it need not enter the equations.
    fn supplies(&mut self) {
        let stiff = self.stiff();
        for k in 0..self.stages.len() {
            let Stage {
                element,
                rigid,
                high,
                low,
                quiescent,
                ..
            } = self.stages[k];
            if high == low || (stiff[high] && stiff[low]) {
                continue;
            }
            let device = Device::positive_part(self.builder);
            let port = self.port(element, device, Sense::Given { rigid });
            self.inject(Node(high), Node(low), Source::Of(port), None);
            if let Some(quiescent) = quiescent {
                self.inject(Node(high), Node(low), Source::Fixed(quiescent), None);
            }
            self.stages[k].drawn = Some(port);
        }
    }

    fn stiff(&self) -> Vec<bool> {
        let mut stiff = vec![false; self.names.count()];
        stiff[0] = true;
        let mut changed = true;
        while changed {
            changed = false;
            for branch in &self.rigid {
                if matches!(branch.emf, Source::Fixed(_))
                    && stiff[branch.plus] != stiff[branch.minus]
                {
                    stiff[branch.plus] = true;
                    stiff[branch.minus] = true;
                    changed = true;
                }
            }
        }
        stiff
    }

    /// Puts the limits in, once the supplies' voltages are known.
    pub fn limit(&mut self, voltage: &[Affine<'t>]) {
        for stage in &self.stages {
            if stage.swing_low.is_none() && stage.swing_high.is_none() {
                continue;
            }
            let span = voltage[stage.high].clone().minus(&voltage[stage.low]);
            let floor = stage.swing_low.as_ref().map(Swing::idle_v);
            let ceiling = stage
                .swing_high
                .as_ref()
                .map(|s| span.clone().minus(&Affine::fixed(s.idle_v())));
            let rest = match (floor, &ceiling) {
                (Some(f), Some(c)) => 0.5 * (f.nominal() + c.base.nominal()),
                (Some(f), None) => f.nominal(),
                (None, Some(c)) => c.base.nominal(),
                (None, None) => 0.0,
            };
            self.ports[stage.port].device = Device::limited(self.builder, floor, ceiling, rest);
        }
    }
}

struct Input<'t> {
    plus: Node,
    minus: Node,
    bias_plus_a: Value<'t>,
    bias_minus_a: Value<'t>,
    resistance: Option<Value<'t>>,
}

struct Output<'t> {
    out: Node,
    high: Node,
    low: Node,
    swing_low: Option<Swing<'t>>,
    swing_high: Option<Swing<'t>>,
    quiescent: Option<Value<'t>>,
}

/// What can be no less than nothing.
fn possible(element: &str, property: &'static str, value: Value<'_>) -> Result<(), Fault> {
    let value = value.nominal();
    if value >= 0.0 {
        Ok(())
    } else {
        Err(Fault::Impossible {
            element: element.to_owned(),
            property,
            value,
        })
    }
}

fn named<'n>(network: &'n Network<'_>) -> Result<HashMap<&'n str, usize>, Fault> {
    let mut by_name = HashMap::new();
    for (index, (name, element)) in network.elements.iter().enumerate() {
        if element.nodes().iter().any(|n| n.0 >= network.names.count()) {
            return Err(Fault::ForeignNode {
                element: name.clone(),
            });
        }
        if by_name.insert(name.as_str(), index).is_some() {
            return Err(Fault::Repeated {
                element: name.clone(),
            });
        }
    }
    Ok(by_name)
}
