//! A network at its operating point, made straight: from the tape to numbers.

use tape::{Reading, Tape, Value};

use crate::affine::Affine;
use crate::amplifier::InputNoise;
use crate::element::Element;
use crate::fault::Fault;
use crate::flow::{self, State};
use crate::linearised::{Linearised, Noisy, Stimulus, StimulusKind};
use crate::matrix::Matrix;
use crate::mesh;
use crate::node::Node;
use crate::plan::{Handle, Injection, Plan, Source};
use crate::rigid::Groups;
use crate::solution::Solution;
use crate::store::{Store, stores};
use crate::system::{System, TimeFault};

/// Something to be seen of a network.
#[derive(Clone, Debug, PartialEq)]
pub enum Output {
    /// The voltage of a node above another, V.
    Voltage {
        /// Counted positive.
        plus: Node,
        /// Counted negative.
        minus: Node,
    },
    /// The current through an element, A, of a sign as
    /// [`Solution::current`] has it.
    Current(String),
}

impl Output {
    /// The voltage of a node against ground.
    #[must_use]
    pub fn node(node: Node) -> Self {
        Output::Voltage {
            plus: node,
            minus: Node::GROUND,
        }
    }
}

/// What is asked of a network made straight.
#[derive(Clone, Debug, Default)]
pub struct Wanted<'a> {
    /// What is seen, in this order.
    pub outputs: &'a [Output],
    /// Nodes that a current is to be fed into, besides the network's own
    /// sources.
    pub fed: &'a [Node],
    /// Whether the noise of its elements is asked for.
    pub noise: bool,
}

/// A network made straight at its operating point, written as a tape: the
/// numbers follow for any inputs by [`at`](SmallSignal::at).
///
/// It uses the very conductances, sources and elimination of the operating
/// point: every store (a capacitor, an inductor, the bandwidth of an
/// amplifier) is one more source among them, whose strength is the flow into
/// the store.
#[derive(Clone, Debug)]
pub struct SmallSignal {
    tape: Tape,
    ports: Vec<PortRows>,
    stores: Vec<Row>,
    storage: Vec<usize>,
    outputs: Vec<Row>,
    stimuli: Vec<(Stimulus, Figures)>,
}

/// Coefficients by source, as outputs of the tape.
type Row = Vec<(usize, usize)>;

#[derive(Clone, Debug)]
struct PortRows {
    wanted: Row,
    source_slope: usize,
    effort_slope: usize,
    /// Whether it stands at its ceiling, and what that follows.
    ceiling: Option<(usize, Row)>,
}

/// A stimulus' noise figures, as outputs of the tape.
#[derive(Clone, Copy, Debug)]
enum Figures {
    None,
    Thermal { siemens: usize },
    Shot { ampere: usize },
    Amplifier { white: usize, corner_hz: usize },
}

/// Collects the outputs of the tape.
#[derive(Default)]
struct Collector<'t> {
    values: Vec<Value<'t>>,
}

impl<'t> Collector<'t> {
    fn put(&mut self, value: Value<'t>) -> usize {
        self.values.push(value);
        self.values.len() - 1
    }

    fn row(&mut self, affine: &Affine<'t>) -> Row {
        affine
            .by_source
            .iter()
            .map(|(&k, &v)| (k, self.put(v)))
            .collect()
    }
}

/// The network with sources for all stores and stimuli, its own values gone.
struct Straight<'s, 't> {
    solution: &'s Solution<'t>,
    plan: Plan<'t>,
    /// Number of the next source.
    next: usize,
    stimuli: Vec<(Stimulus, Noise<'t>)>,
    /// Efforts a source is added to: port, source, factor.
    efforts: Vec<(usize, usize, Value<'t>)>,
    /// Stores with their elements, in the order of their sources.
    storing: Vec<(usize, Store<'t>)>,
}

#[derive(Clone, Copy)]
enum Noise<'t> {
    None,
    Thermal(Value<'t>),
    Shot(Value<'t>),
    Amplifier(Value<'t>, Option<Value<'t>>),
}

impl<'t> Straight<'_, 't> {
    fn source(&mut self) -> usize {
        self.next += 1;
        self.next - 1
    }

    fn inject(&mut self, from: usize, to: usize) -> usize {
        let source = self.source();
        self.plan.injections.push(Injection {
            from,
            to,
            source: Source::Of(source),
            forced_by: None,
        });
        source
    }

    fn stimulus(&mut self, element: &str, kind: StimulusKind, noise: Noise<'t>) {
        let stimulus = Stimulus {
            element: element.to_owned(),
            kind,
        };
        self.stimuli.push((stimulus, noise));
    }

    /// Stores first, so that their sources come before the stimuli.
    fn stores(&mut self) {
        let solution = self.solution;
        for (index, (_, element)) in solution.elements().iter().enumerate() {
            for store in stores(element) {
                match &store {
                    Store::Across { a, b, .. } => {
                        self.inject(a.0, b.0);
                    }
                    Store::Inductor { .. } => {
                        let source = self.source();
                        if let Some(Handle::Rigid(k)) = self.plan.handles.get(index) {
                            let k = *k;
                            self.plan.rigid[k].emf = Source::Of(source);
                        }
                    }
                    Store::Bandwidth { .. } => {
                        let source = self.source();
                        if let Some(port) = self.port_of(index) {
                            let less = -self.plan.builder.one();
                            self.efforts.push((port, source, less));
                        }
                    }
                }
                self.storing.push((index, store));
            }
        }
    }

    fn port_of(&self, element: usize) -> Option<usize> {
        let stage = self.plan.stages.iter().find(|s| s.element == element)?;
        Some(stage.port)
    }

    fn sources(&mut self, noise: bool) {
        let solution = self.solution;
        let one = self.plan.builder.one();
        for (index, (name, element)) in solution.elements().iter().enumerate() {
            match element {
                Element::VoltageSource { .. } => {
                    if let Some(Handle::Rigid(k)) = self.plan.handles.get(index) {
                        let k = *k;
                        let source = self.source();
                        self.plan.rigid[k].emf = Source::Of(source);
                        self.stimulus(name, StimulusKind::Voltage, Noise::None);
                    }
                }
                Element::CurrentSource { from, to, .. } => {
                    self.inject(from.0, to.0);
                    self.stimulus(name, StimulusKind::Current, Noise::None);
                }
                Element::Amplifier { model, .. } => {
                    self.input(index, name, one, noise.then_some(&model.noise));
                }
                Element::Instrumentation { model, .. } => {
                    self.input(index, name, model.gain, noise.then_some(&model.noise));
                }
                _ => {}
            }
        }
    }

    /// A voltage in series with an amplifier's input.
    fn input(
        &mut self,
        index: usize,
        name: &str,
        factor: Value<'t>,
        noise: Option<&InputNoise<'t>>,
    ) {
        if let Some(port) = self.port_of(index) {
            let source = self.source();
            self.efforts.push((port, source, factor));
            let noise = noise.and_then(|n| Some(Noise::Amplifier(n.white_v?, n.corner_v_hz)));
            let noise = noise.unwrap_or(Noise::None);
            self.stimulus(name, StimulusKind::InputVoltage, noise);
        }
    }

    fn noise(&mut self) {
        let solution = self.solution;
        for (index, (name, element)) in solution.elements().iter().enumerate() {
            match element {
                Element::Resistor { a, b, .. }
                | Element::Conductance { a, b, .. }
                | Element::Switch { a, b, .. }
                | Element::Capacitor { a, b, .. } => {
                    if let Some(Handle::Conductance(k)) = self.plan.handles.get(index) {
                        let siemens = self.plan.conductances[*k].siemens;
                        self.inject(a.0, b.0);
                        self.stimulus(name, StimulusKind::Thermal, Noise::Thermal(siemens));
                    }
                }
                Element::Conductor { from, to, .. } => {
                    if let Some(ampere) = solution.current(name) {
                        self.inject(from.0, to.0);
                        self.stimulus(name, StimulusKind::Shot, Noise::Shot(ampere));
                    }
                }
                Element::Amplifier {
                    plus, minus, model, ..
                } => {
                    self.currents(name, [*plus, *minus], &model.noise);
                }
                Element::Instrumentation {
                    plus, minus, model, ..
                } => {
                    self.currents(name, [*plus, *minus], &model.noise);
                    if let (Some(white), Some(port)) = (model.noise.output_v, self.port_of(index)) {
                        let source = self.source();
                        let one = self.plan.builder.one();
                        self.efforts.push((port, source, one));
                        let noise = Noise::Amplifier(white, None);
                        self.stimulus(name, StimulusKind::OutputVoltage, noise);
                    }
                }
                _ => {}
            }
        }
    }

    fn currents(&mut self, name: &str, inputs: [Node; 2], noise: &InputNoise<'t>) {
        if let Some(white) = noise.white_a {
            let kinds = [StimulusKind::PlusCurrent, StimulusKind::MinusCurrent];
            for (node, kind) in inputs.into_iter().zip(kinds) {
                self.inject(0, node.0);
                self.stimulus(name, kind, Noise::Amplifier(white, noise.corner_a_hz));
            }
        }
    }
}

impl SmallSignal {
    /// Makes a solved network straight where it stands.
    ///
    /// # Errors
    /// [`Fault`] where inductors hold one current together, or where an
    /// output's current is not the network's to say.
    pub fn new(solution: &Solution<'_>, wanted: &Wanted<'_>) -> Result<Self, Fault> {
        let builder = solution.builder();
        let point = solution.held();
        let ports = point.plan.ports.len();
        let mut straight = Straight {
            solution,
            plan: point.plan.clone(),
            next: ports,
            stimuli: Vec::new(),
            efforts: Vec::new(),
            storing: Vec::new(),
        };
        // What does not change is gone.
        let zero = builder.zero();
        straight
            .plan
            .injections
            .retain(|i| matches!(i.source, Source::Of(_)));
        for branch in &mut straight.plan.rigid {
            if let Source::Fixed(_) = branch.emf {
                branch.emf = Source::Fixed(zero);
            }
        }
        straight.stores();
        straight.sources(wanted.noise);
        for &node in wanted.fed {
            straight.inject(0, node.0);
            straight.stimulus(solution.name(node), StimulusKind::Fed, Noise::None);
        }
        if wanted.noise {
            straight.noise();
        }
        let Straight {
            plan,
            next,
            stimuli,
            efforts,
            storing,
            ..
        } = straight;
        let name = |k: usize| solution.elements().get(k).map_or("", |e| &e.0).to_owned();
        let groups = Groups::new(&plan, name)?;
        let state = State {
            voltage: mesh::voltages(&plan, &groups),
            source: (0..next).map(|k| Affine::source(builder, k)).collect(),
            effort: Vec::new(),
            drawn: Vec::new(),
        };
        let unknown = |control: usize, element: String| Fault::UnknownElement {
            element,
            control: name(control),
        };
        let mut out = Collector::default();
        let mut rows = Vec::with_capacity(ports);
        for (k, port) in plan.ports.iter().enumerate() {
            let mut sensed = flow::sensed(&plan, &groups, &state, &port.sense)
                .map_err(|control| unknown(control, name(port.element)))?;
            for &(_, source, factor) in efforts.iter().filter(|e| e.0 == k) {
                sensed.add(&Affine::source(builder, source).times(factor));
            }
            let stage = plan.stages.iter().find(|s| s.port == k);
            let ceiling = match (stage, point.answer.at_ceiling(builder, &port.device, k)) {
                (Some(stage), Some(at)) if stage.swing_high.is_some() => {
                    let span = state.voltage[stage.high]
                        .clone()
                        .minus(&state.voltage[stage.low]);
                    Some((out.put(at), out.row(&span)))
                }
                _ => None,
            };
            rows.push(PortRows {
                wanted: out.row(&sensed),
                source_slope: out.put(point.answer.source_slope[k]),
                effort_slope: out.put(point.answer.effort_slope[k]),
                ceiling,
            });
        }
        let mut seen = Vec::new();
        for output in wanted.outputs {
            let affine = match output {
                Output::Voltage { plus, minus } => {
                    let outside = plus.0.max(minus.0) >= state.voltage.len();
                    if outside {
                        return Err(Fault::ForeignNode {
                            element: "an output".to_owned(),
                        });
                    }
                    state.voltage[plus.0].clone().minus(&state.voltage[minus.0])
                }
                Output::Current(element) => solution
                    .position(element)
                    .and_then(|index| flow::through(&plan, &groups, &state, index))
                    .ok_or_else(|| Fault::UnknownElement {
                        element: "an output".to_owned(),
                        control: element.clone(),
                    })?,
            };
            seen.push(out.row(&affine));
        }
        let (mut stored, mut storage) = (Vec::new(), Vec::new());
        for (element, store) in &storing {
            let seen = held(&plan, &groups, &state, *element, store)
                .ok_or_else(|| unknown(*element, name(*element)))?;
            stored.push(out.row(&seen));
            storage.push(out.put(store.storage()));
        }
        let figures = stimuli
            .into_iter()
            .map(|(stimulus, noise)| {
                let figures = match noise {
                    Noise::None => Figures::None,
                    Noise::Thermal(siemens) => Figures::Thermal {
                        siemens: out.put(siemens),
                    },
                    Noise::Shot(ampere) => Figures::Shot {
                        ampere: out.put(ampere),
                    },
                    Noise::Amplifier(white, corner) => Figures::Amplifier {
                        white: out.put(white),
                        corner_hz: out.put(corner.unwrap_or(zero)),
                    },
                };
                (stimulus, figures)
            })
            .collect();
        Ok(SmallSignal {
            tape: builder.finish(&out.values),
            ports: rows,
            stores: stored,
            storage,
            outputs: seen,
            stimuli: figures,
        })
    }

    /// Inputs the tape reads, as numbered by the builder.
    #[must_use]
    pub fn tape(&self) -> &Tape {
        &self.tape
    }

    /// Everything that may be changed a little, as numbered by
    /// [`Linearised::stimuli`].
    pub fn stimuli(&self) -> impl Iterator<Item = &Stimulus> {
        self.stimuli.iter().map(|(s, _)| s)
    }

    /// The numbers at the nominal inputs.
    ///
    /// # Errors
    /// As [`at`](SmallSignal::at).
    pub fn nominal(&self) -> Result<Linearised, TimeFault> {
        self.at(self.tape.nominal_inputs())
    }

    /// The numbers for these inputs (one for each of the tape).
    ///
    /// # Errors
    /// [`TimeFault::NotANumber`] where they leave the network without an
    /// operating point.
    pub fn at(&self, inputs: &[f64]) -> Result<Linearised, TimeFault> {
        let values = self.tape.values(inputs, Reading::Exact);
        if values.iter().any(|v| v.is_nan()) {
            return Err(TimeFault::NotANumber);
        }
        let ports = self.ports.len();
        let stores = self.stores.len();
        let all = ports + stores + self.stimuli.len();
        let matrix = |rows: &[Row]| {
            let mut m = Matrix::zeros(rows.len(), all);
            for (i, row) in rows.iter().enumerate() {
                for &(source, at) in row {
                    m[(i, source)] += values[at];
                }
            }
            m
        };
        let followed = self.followed(&values, all)?;
        // Sources of the ports put in: what is left are stores and stimuli.
        let reduced = |rows: &[Row]| {
            let m = matrix(rows);
            m.part(0..rows.len(), ports..all)
                .plus(&m.part(0..rows.len(), 0..ports).times(&followed))
        };
        let z = reduced(&self.stores);
        let y = reduced(&self.outputs);
        let count = self.stimuli.len();
        let storage: Vec<f64> = self.storage.iter().map(|&at| values[at]).collect();
        let system = System::new(
            &z.part(0..stores, 0..stores),
            &z.part(0..stores, stores..stores + count),
            y.part(0..self.outputs.len(), stores..stores + count),
            &y.part(0..self.outputs.len(), 0..stores),
            &storage,
        );
        let stimuli = self
            .stimuli
            .iter()
            .map(|(stimulus, figures)| {
                let noisy = match *figures {
                    Figures::None => Noisy::Not,
                    Figures::Thermal { siemens } => Noisy::Thermal {
                        siemens: values[siemens],
                    },
                    Figures::Shot { ampere } => Noisy::Shot {
                        ampere: values[ampere].abs(),
                    },
                    Figures::Amplifier { white, corner_hz } => Noisy::Stated {
                        white: values[white],
                        corner_hz: values[corner_hz],
                    },
                };
                (stimulus.clone(), noisy)
            })
            .collect();
        Ok(Linearised::new(stimuli, system))
    }

    /// The ports' sources over stores and stimuli: s = slope·u (or the
    /// ceiling's share), effort slope·u = what is wanted of the sources.
    fn followed(&self, values: &[f64], all: usize) -> Result<Matrix<f64>, TimeFault> {
        let ports = self.ports.len();
        // Unknowns: sources, then positions.
        let mut left = Matrix::zeros(2 * ports, 2 * ports);
        let mut right = Matrix::zeros(2 * ports, all - ports);
        let mut enter = |row: usize, source: usize, factor: f64| {
            if source < ports {
                left[(row, source)] -= factor;
            } else {
                right[(row, source - ports)] += factor;
            }
        };
        for (k, port) in self.ports.iter().enumerate() {
            for &(source, at) in &port.wanted {
                enter(ports + k, source, values[at]);
            }
            if let Some((at, row)) = &port.ceiling
                && values[*at] > 0.5
            {
                for &(source, at) in row {
                    enter(k, source, values[at]);
                }
            }
        }
        for (k, port) in self.ports.iter().enumerate() {
            left[(k, k)] += 1.0;
            left[(k, ports + k)] -= values[port.source_slope];
            left[(ports + k, ports + k)] += values[port.effort_slope];
        }
        let solved = left.solve(right).ok_or(TimeFault::NotANumber)?;
        Ok(solved.part(0..ports, 0..all - ports))
    }
}

/// What a store holds.
fn held<'t>(
    plan: &Plan<'t>,
    groups: &Groups<'t>,
    state: &State<'t>,
    element: usize,
    store: &Store<'t>,
) -> Option<Affine<'t>> {
    let across = |a: Node, b: Node| state.voltage[a.0].clone().minus(&state.voltage[b.0]);
    Some(match store {
        Store::Across { a, b, .. } => across(*a, *b),
        Store::Inductor { .. } => flow::through(plan, groups, state, element)?,
        Store::Bandwidth { out, ohm, .. } => {
            let mut seen = across(*out, Node::GROUND);
            if let Some(ohm) = ohm {
                seen.add(&flow::through(plan, groups, state, element)?.times(*ohm));
            }
            seen
        }
    })
}
