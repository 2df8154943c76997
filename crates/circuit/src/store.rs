//! What remembers: capacitors, inductors, the bandwidth of an amplifier.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use tape::Value;

use crate::amplifier::Dynamics;
use crate::element::Element;
use crate::node::Node;
use crate::plan::{Handle, Injection, Plan, Port, Source};
use crate::solution::Solution;

/// Something an element remembers. Its flow is `storage` times the rate at
/// which what it holds changes.
#[derive(Clone, Debug)]
pub(crate) enum Store<'t> {
    /// A capacitance: holds the voltage, the flow is the current from `a`.
    Across { a: Node, b: Node, farad: Value<'t> },
    /// An inductance: holds the current, the flow is the voltage.
    Inductor { a: Node, b: Node, henry: Value<'t> },
    /// The bandwidth of an amplifier: holds the voltage before the output
    /// resistance, the flow is the input error that moves it.
    Bandwidth {
        out: Node,
        hz: Value<'t>,
        ohm: Option<Value<'t>>,
        slew_v_per_s: Option<Value<'t>>,
    },
}

/// All an element remembers, always in the same order.
pub(crate) fn stores<'t>(element: &Element<'t>) -> Vec<Store<'t>> {
    match element {
        Element::Capacitor { a, b, farad, .. } => vec![Store::Across {
            a: *a,
            b: *b,
            farad: *farad,
        }],
        Element::Inductor { a, b, henry } => vec![Store::Inductor {
            a: *a,
            b: *b,
            henry: *henry,
        }],
        Element::Amplifier {
            plus,
            minus,
            out,
            model,
            ..
        } => of_amplifier([*plus, *minus], *out, &model.dynamics),
        Element::Instrumentation {
            plus,
            minus,
            out,
            model,
            ..
        } => of_amplifier([*plus, *minus], *out, &model.dynamics),
        _ => Vec::new(),
    }
}

fn of_amplifier<'t>(inputs: [Node; 2], out: Node, dynamics: &Dynamics<'t>) -> Vec<Store<'t>> {
    let mut list = Vec::new();
    if let Some(farad) = dynamics.input_farad {
        list.extend(inputs.map(|a| Store::Across {
            a,
            b: Node::GROUND,
            farad,
        }));
    }
    if let Some(farad) = dynamics.between_inputs_farad {
        let [a, b] = inputs;
        list.push(Store::Across { a, b, farad });
    }
    if let Some(hz) = dynamics.bandwidth_hz {
        list.push(Store::Bandwidth {
            out,
            hz,
            ohm: dynamics.output_ohm,
            slew_v_per_s: dynamics.slew_v_per_s,
        });
    }
    list
}

impl<'t> Store<'t> {
    /// Flow for a change of what is held by one in a second.
    pub fn storage(&self) -> Value<'t> {
        match self {
            Store::Across { farad, .. } => *farad,
            Store::Inductor { henry, .. } => *henry,
            Store::Bandwidth { hz, .. } => 1.0 / (*hz * TAU),
        }
    }

    /// Whether what it holds is a voltage.
    pub fn holds_voltage(&self) -> bool {
        !matches!(self, Store::Inductor { .. })
    }

    /// What it holds in a solved network; `element` is its name there.
    pub fn held(&self, solution: &Solution<'t>, element: &str) -> Option<Value<'t>> {
        match self {
            Store::Across { a, b, .. } => Some(solution.between(*a, *b)),
            Store::Inductor { .. } => solution.current(element),
            Store::Bandwidth { out, ohm, .. } => {
                let outside = solution.voltage(*out);
                match ohm {
                    Some(ohm) => Some(outside + solution.current(element)? * *ohm),
                    None => Some(outside),
                }
            }
        }
    }
}

/// What a network is solved with in place of its own values.
#[derive(Clone, Debug, Default)]
pub(crate) struct Given<'t> {
    /// Strengths of sources, by their names.
    pub driven: BTreeMap<String, Value<'t>>,
    /// Present where the network is solved at one moment of a course in time
    /// instead of at rest.
    pub moment: Option<Moment<'t>>,
}

/// One moment of a course in time: what a store holds, z, changes at the rate
/// `rate`·z − history, as implicit formulas have it.
#[derive(Clone, Debug)]
pub(crate) struct Moment<'t> {
    /// 1/s.
    pub rate: Value<'t>,
    /// One for each store, in the order of the elements and of [`stores`].
    pub history: Vec<Value<'t>>,
}

impl<'t> Plan<'t> {
    /// Puts in a store at a moment: a conductance and a current beside it, or
    /// the input error an amplifier needs to move.
    pub fn advance(
        &mut self,
        index: usize,
        store: &Store<'t>,
        rate: Value<'t>,
        history: Value<'t>,
    ) {
        let (a, b, siemens, ampere) = match store {
            Store::Across { a, b, farad } => (*a, *b, *farad * rate, -(*farad * history)),
            // rate·i − history = v/L.
            Store::Inductor { a, b, henry } => (*a, *b, 1.0 / (*henry * rate), history / rate),
            Store::Bandwidth { .. } => {
                self.advance_output(index, store, rate, history);
                return;
            }
        };
        let before = self.handles.get(index).cloned();
        let conducted = self.conduct(a, b, siemens);
        self.injections.push(Injection {
            from: a.0,
            to: b.0,
            source: Source::Fixed(ampere),
            forced_by: None,
        });
        let Handle::Conductance(k) = conducted else {
            return;
        };
        // Its own current; not that of an amplifier whose input this is.
        let beside = match before {
            Some(Handle::Conductance(leak)) => Some(leak),
            Some(Handle::Open) => None,
            _ => return,
        };
        self.handles[index] = Handle::Moving {
            conductance: k,
            beside,
            ampere,
        };
    }

    fn advance_output(
        &mut self,
        index: usize,
        store: &Store<'t>,
        rate: Value<'t>,
        history: Value<'t>,
    ) {
        let Store::Bandwidth {
            out,
            ohm,
            slew_v_per_s,
            ..
        } = store
        else {
            return;
        };
        let Some(stage) = self.stages.iter().find(|s| s.element == index) else {
            return;
        };
        let (port, rigid) = (stage.port, stage.rigid);
        let storage = store.storage();
        let zero = self.builder.zero();
        let mut moving = crate::plan::Nodes {
            terms: vec![(out.0, -(storage * rate))],
            constant: storage * history,
            given: ohm
                .map(|ohm| (rigid, -(storage * rate * ohm)))
                .into_iter()
                .collect(),
            sources: Vec::new(),
        };
        let crate::plan::Sense::Nodes(own) = &mut self.ports[port].sense else {
            return;
        };
        match slew_v_per_s {
            None => own.join(moving),
            Some(slew) => {
                // The error first passes an input stage that gives no more
                // than this.
                let most = storage * *slew;
                let error = std::mem::replace(
                    own,
                    crate::plan::Nodes {
                        terms: Vec::new(),
                        constant: zero,
                        given: Vec::new(),
                        sources: Vec::new(),
                    },
                );
                self.ports.push(Port {
                    element: index,
                    device: crate::device::Device::saturating(self.builder, most),
                    sense: crate::plan::Sense::Nodes(error),
                });
                let stage = self.ports.len() - 1;
                moving.sources.push((stage, self.builder.one()));
                self.ports[port].sense = crate::plan::Sense::Nodes(moving);
            }
        }
    }
}
