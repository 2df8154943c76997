//! Elements between named nodes.

use tape::{Builder, Linear, Value};

use crate::fault::Fault;
use crate::reach;
use crate::solution::Solution;

/// A node of a network.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub struct Node(pub(crate) usize);

impl Node {
    /// The common return, at zero volts.
    pub const GROUND: Node = Node(0);
}

/// What an amplifier does at direct current while its output is within its
/// swing.
#[derive(Clone, Copy, Debug)]
pub struct Amplifier<'t> {
    /// Offset voltage, V, in series with the non-inverting input.
    pub offset_v: Value<'t>,
    /// Current into the non-inverting pin, A.
    pub bias_plus_a: Value<'t>,
    /// Current into the inverting pin, A.
    pub bias_minus_a: Value<'t>,
    /// Open-loop gain, V/V.
    pub gain: Value<'t>,
    /// Common-mode rejection, V/V; `None` for perfect.
    pub rejection: Option<Value<'t>>,
}

pub(crate) enum Element<'t> {
    Conductance {
        a: Node,
        b: Node,
        siemens: Value<'t>,
    },
    VoltageSource {
        plus: Node,
        minus: Node,
        volt: Value<'t>,
    },
    CurrentSource {
        from: Node,
        to: Node,
        ampere: Value<'t>,
    },
    /// v(plus, minus) = Σ gain·v(control)
    Controlled {
        plus: Node,
        minus: Node,
        controls: Vec<(Node, Node, Value<'t>)>,
        constant: Value<'t>,
    },
    Transconductance {
        from: Node,
        to: Node,
        plus: Node,
        minus: Node,
        siemens: Value<'t>,
    },
}

/// A network being written.
pub struct Network<'t> {
    builder: &'t Builder,
    names: Vec<String>,
    elements: Vec<(String, Element<'t>)>,
}

impl<'t> Network<'t> {
    /// An empty network: ground alone.
    #[must_use]
    pub fn new(builder: &'t Builder) -> Self {
        Network {
            builder,
            names: vec!["ground".to_owned()],
            elements: Vec::new(),
        }
    }

    /// The tape it is written on.
    #[must_use]
    pub fn builder(&self) -> &'t Builder {
        self.builder
    }

    /// The node of this name, made if there is none; `gnd` and `ground` are
    /// ground.
    pub fn node(&mut self, name: &str) -> Node {
        if name == "gnd" {
            return Node::GROUND;
        }
        match self.names.iter().position(|n| n == name) {
            Some(i) => Node(i),
            None => {
                self.names.push(name.to_owned());
                Node(self.names.len() - 1)
            }
        }
    }

    /// A new node with a name of its own.
    pub fn fresh(&mut self, hint: &str) -> Node {
        let mut name = hint.to_owned();
        let mut n = 2;
        while self.names.contains(&name) {
            name = format!("{hint}.{n}");
            n += 1;
        }
        self.node(&name)
    }

    /// Name of a node.
    #[must_use]
    pub fn name(&self, node: Node) -> &str {
        self.names.get(node.0).map_or("", String::as_str)
    }

    fn add(&mut self, name: &str, element: Element<'t>) {
        self.elements.push((name.to_owned(), element));
    }

    /// A resistor, Ω. One of exactly zero is a short.
    pub fn resistor(&mut self, name: &str, a: Node, b: Node, ohm: Value<'t>) {
        if ohm.is_zero() {
            self.voltage_source(name, a, b, self.builder.zero());
        } else {
            self.conductance(name, a, b, 1.0 / ohm);
        }
    }

    /// A conductance, S.
    pub fn conductance(&mut self, name: &str, a: Node, b: Node, siemens: Value<'t>) {
        self.add(name, Element::Conductance { a, b, siemens });
    }

    /// A voltage source, V. Its current counts from plus through the source
    /// to minus.
    pub fn voltage_source(&mut self, name: &str, plus: Node, minus: Node, volt: Value<'t>) {
        self.add(name, Element::VoltageSource { plus, minus, volt });
    }

    /// A current source, A, flowing through it from `from` to `to`.
    pub fn current_source(&mut self, name: &str, from: Node, to: Node, ampere: Value<'t>) {
        self.add(name, Element::CurrentSource { from, to, ampere });
    }

    /// v(plus, minus) = gain·v(control_plus, control_minus).
    pub fn controlled_voltage(
        &mut self,
        name: &str,
        plus: Node,
        minus: Node,
        control_plus: Node,
        control_minus: Node,
        gain: Value<'t>,
    ) {
        let controls = vec![(control_plus, control_minus, gain)];
        self.add(
            name,
            Element::Controlled {
                plus,
                minus,
                controls,
                constant: self.builder.zero(),
            },
        );
    }

    /// A current siemens·v(control_plus, control_minus) through the element
    /// from `from` to `to`.
    pub fn controlled_current(
        &mut self,
        name: &str,
        from: Node,
        to: Node,
        control_plus: Node,
        control_minus: Node,
        siemens: Value<'t>,
    ) {
        self.add(
            name,
            Element::Transconductance {
                from,
                to,
                plus: control_plus,
                minus: control_minus,
                siemens,
            },
        );
    }

    /// An amplifier between its inputs and an output that drives against
    /// ground: v_out = A·(v₊ − v₋ + offset + v_cm/CMRR), v_cm the mean of the
    /// inputs. Its limits are not part of it.
    pub fn amplifier(
        &mut self,
        name: &str,
        plus: Node,
        minus: Node,
        out: Node,
        model: Amplifier<'t>,
    ) {
        let half = self.builder.constant(0.5);
        let mut controls = vec![(plus, minus, model.gain)];
        if let Some(rejection) = model.rejection {
            let common = model.gain * half / rejection;
            controls.push((plus, Node::GROUND, common));
            controls.push((minus, Node::GROUND, common));
        }
        self.current_source(
            &format!("{name}.bias+"),
            plus,
            Node::GROUND,
            model.bias_plus_a,
        );
        self.current_source(
            &format!("{name}.bias-"),
            minus,
            Node::GROUND,
            model.bias_minus_a,
        );
        let constant = model.gain * model.offset_v;
        self.add(
            name,
            Element::Controlled {
                plus: out,
                minus: Node::GROUND,
                controls,
                constant,
            },
        );
    }

    /// Solves the network.
    ///
    /// # Errors
    /// [`Fault`] names the nodes or elements at fault.
    pub fn solve(self) -> Result<Solution<'t>, Fault> {
        for (i, (name, _)) in self.elements.iter().enumerate() {
            if self.elements[..i].iter().any(|(n, _)| n == name) {
                return Err(Fault::Repeated {
                    element: name.clone(),
                });
            }
        }
        let floating = reach::floating(self.names.len(), &self.elements);
        if !floating.is_empty() {
            return Err(Fault::Floating {
                nodes: floating
                    .into_iter()
                    .map(|i| self.names[i].clone())
                    .collect(),
            });
        }
        let nodes = self.names.len() - 1;
        let branches: Vec<usize> = (0..self.elements.len())
            .filter(|&i| {
                matches!(
                    self.elements[i].1,
                    Element::VoltageSource { .. } | Element::Controlled { .. }
                )
            })
            .collect();
        let size = nodes + branches.len();
        let mut system = Linear::new(self.builder, size);
        let one = self.builder.one();
        // Ground has no equation: its row and column number lies beyond the
        // system, where additions are ignored.
        let row = |n: Node| if n.0 == 0 { usize::MAX } else { n.0 - 1 };
        let mut symmetric = true;
        for (i, (_, element)) in self.elements.iter().enumerate() {
            match element {
                Element::Conductance { a, b, siemens } => {
                    system.add(row(*a), row(*a), *siemens);
                    system.add(row(*b), row(*b), *siemens);
                    system.add(row(*a), row(*b), -*siemens);
                    system.add(row(*b), row(*a), -*siemens);
                }
                Element::CurrentSource { from, to, ampere } => {
                    system.add_right(row(*from), -*ampere);
                    system.add_right(row(*to), *ampere);
                }
                Element::Transconductance {
                    from,
                    to,
                    plus,
                    minus,
                    siemens,
                } => {
                    symmetric = false;
                    system.add(row(*from), row(*plus), *siemens);
                    system.add(row(*from), row(*minus), -*siemens);
                    system.add(row(*to), row(*plus), -*siemens);
                    system.add(row(*to), row(*minus), *siemens);
                }
                Element::VoltageSource { plus, minus, .. }
                | Element::Controlled { plus, minus, .. } => {
                    let branch = nodes + branches.iter().position(|&k| k == i).unwrap_or(0);
                    system.add(row(*plus), branch, one);
                    system.add(row(*minus), branch, -one);
                    system.add(branch, row(*plus), one);
                    system.add(branch, row(*minus), -one);
                    match element {
                        Element::VoltageSource { volt, .. } => system.add_right(branch, *volt),
                        Element::Controlled {
                            controls, constant, ..
                        } => {
                            symmetric = false;
                            for (p, m, gain) in controls {
                                system.add(branch, row(*p), -*gain);
                                system.add(branch, row(*m), *gain);
                            }
                            system.add_right(branch, *constant);
                        }
                        _ => {}
                    }
                }
            }
        }
        match system.solve(self.builder, !symmetric) {
            Ok(unknowns) => Ok(Solution::new(
                self.builder,
                self.names,
                self.elements,
                branches,
                unknowns,
            )),
            Err(singular) => {
                let name = |u: usize| {
                    if u < nodes {
                        format!("the voltage of {}", self.names[u + 1])
                    } else {
                        let element = branches
                            .get(u - nodes)
                            .map_or("", |&k| self.elements[k].0.as_str());
                        format!("the current of {element}")
                    }
                };
                let loops = singular.unknowns.iter().any(|&u| u >= nodes);
                let hint = if loops {
                    "voltage sources stand in a loop: a resistor in series with one of them would fix it"
                } else {
                    "a resistor from there to ground would fix it"
                };
                Err(Fault::Singular {
                    unknowns: singular.unknowns.iter().map(|&u| name(u)).collect(),
                    hint: hint.to_owned(),
                })
            }
        }
    }
}
