//! A channel with something broken: its wires, its components, its sensor.
//!
//! The network of the channel is written as always and then harmed: a wire is
//! cut, a node tied to a supply, a component opened or shorted. The pins that
//! look at it get the diodes that are in every pin, as conductors of the
//! network, so that what they take flows and is not cut off afterwards.

mod guard;
mod harm;
mod state;

use std::cell::RefCell;

use board::{Board, Channel, Stage, Stands, Supply};
use circuit::{Element, Network};
use finding::Span;
use tape::{Builder, Tape};

use super::Unmodelled;
use super::conversion::conversion;
use super::sensor;
use super::site::{Site, TOLERANCE_K};
use crate::law::Electrical;
use crate::time::Timing;
use crate::variables::Variables;

pub use guard::{AMPLIFIER_INPUT_A, GuardKind};
pub use state::{Clamped, Extent, Heated, RailFed, Rated, Seen, State};

/// Resistance of what is broken, Ω: the surface of a dirty board (common
/// practice), far above anything on purpose.
pub const OPEN_OHM: f64 = 1e11;
/// Resistance of what touches, Ω.
pub const TOUCH_OHM: f64 = 0.01;

/// A wire of a channel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wire {
    /// What carries the signal.
    Signal,
    /// The other output of a bridge.
    Minus,
    /// What feeds a sensor.
    Feed,
    /// The way back.
    Return,
    /// The wire of a sensor of three or four that is measured and carries no
    /// current.
    Sense,
    /// A node of the channel's network.
    Node(String),
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum Harm {
    /// A wire is cut.
    Open(Wire),
    /// A wire touches a supply or ground.
    Tied(Wire, Supply),
    /// Two wires touch.
    Joined(Wire, Wire),
    /// A wire is held between two voltages through a resistance, V and Ω.
    Driven {
        /// The wire.
        wire: Wire,
        /// Lowest voltage.
        low_v: f64,
        /// Highest voltage.
        high_v: f64,
        /// Resistance it comes through.
        ohm: f64,
    },
    /// The two wires are swapped.
    Reversed,
    /// The sensor is in a state of its own.
    Stands(Stands),
    /// A component is open, or shorted.
    Component {
        /// Its element in the network.
        element: String,
        /// Open, else shorted.
        open: bool,
    },
    /// No harm: a resistor more, from the signal to a supply.
    Pull {
        /// Where it goes.
        to: Supply,
        /// How large it is, Ω.
        ohm: f64,
    },
}

/// A component that may break.
#[derive(Clone, Debug, PartialEq)]
pub struct Component {
    /// Its element in the network.
    pub element: String,
    /// What it is called.
    pub name: String,
    /// It can be open; a capacitor that is open moves no steady reading.
    pub opens: bool,
    /// Where it is written.
    pub span: Span,
}

/// A channel whose faults are looked at.
pub struct Faulty<'a> {
    board: &'a Board,
    channel: &'a Channel,
    /// Firmware's way from code to reading.
    conversion: Option<Tape>,
}

impl<'a> Faulty<'a> {
    /// A channel with an analog signal.
    ///
    /// # Errors
    /// It has none, or its network cannot be written.
    pub fn new(board: &'a Board, channel: &'a Channel) -> Result<Self, Unmodelled> {
        if channel.derived.is_some() {
            return Err(Unmodelled::new("a derived quantity has no wires"));
        }
        let faulty = Faulty {
            board,
            channel,
            conversion: match channel.input {
                Some(_) => Some(conversion(board, channel)?.tape),
                None => None,
            },
        };
        faulty.placed(|site, _| site.law().map(|_| ()))?;
        Ok(faulty)
    }

    /// The board.
    #[must_use]
    pub fn board(&self) -> &'a Board {
        self.board
    }

    /// The channel.
    #[must_use]
    pub fn channel(&self) -> &'a Channel {
        self.channel
    }

    /// The reading the firmware makes of a code, SI; no number where its
    /// formula gives none.
    #[must_use]
    pub fn reading(&self, code: f64) -> Option<f64> {
        let tape = self.conversion.as_ref()?;
        let mut inputs = tape.nominal_inputs().to_vec();
        if let Some(first) = inputs.first_mut() {
            *first = code;
        }
        let values = tape.values(&inputs, tape::Reading::Exact);
        values.get(super::AS_WRITTEN).copied()
    }

    /// Number of codes; `None` without a converter.
    #[must_use]
    pub fn codes(&self) -> Option<f64> {
        self.placed(|site, _| site.full_scale()).ok()
    }

    /// Something at the place where the channel is built, on a tape of its
    /// own.
    fn placed<R>(
        &self,
        look: impl for<'s, 't> FnOnce(&Site<'s, 't>, &'t Builder) -> Result<R, Unmodelled>,
    ) -> Result<R, Unmodelled> {
        let builder = Builder::new();
        let variables = Variables::new(&builder);
        let watched = RefCell::new(Vec::new());
        let others = RefCell::new(sensor::Others::default());
        let timing = Timing::default();
        let site = Site {
            board: self.board,
            channel: self.channel,
            watched: &watched,
            builder: &builder,
            variables: &variables,
            ambient: builder.constant(TOLERANCE_K),
            instance: "",
            real: true,
            quiet: true,
            trough: false,
            depth: 0,
            measured_rail: None,
            others: &others,
            timing: &timing,
        };
        look(&site, &builder)
    }

    /// The wires of the channel's sensor, with what each is called.
    ///
    /// # Errors
    /// The sensor has no law.
    pub fn wires(&self) -> Result<Vec<(Wire, String)>, Unmodelled> {
        let sensor = &self.channel.sensor;
        if sensor.rail.is_some() {
            return Ok(Vec::new());
        }
        if self.channel.network.is_some() {
            return Ok(self
                .sensor_nodes()
                .into_iter()
                .map(|n| (Wire::Node(n.clone()), format!("wire {n}")))
                .collect());
        }
        let (electrical, differential) = self.placed(|site, _| {
            let law = site.law()?;
            Ok((law.electrical(), law.is_differential()))
        })?;
        let named = |w: Wire, s: &str| (w, s.to_owned());
        Ok(match electrical {
            Electrical::Resistance if sensor.wires > 2 => vec![
                named(Wire::Signal, "the wire that carries the current"),
                named(Wire::Sense, "the wire that is measured"),
            ],
            Electrical::Resistance | Electrical::Voltage | Electrical::Current => {
                vec![named(Wire::Signal, "the signal wire")]
            }
            Electrical::VoltageRatio if differential => vec![
                named(Wire::Signal, "the plus wire"),
                named(Wire::Minus, "the minus wire"),
                named(Wire::Feed, "the feeding wire"),
                named(Wire::Return, "the return wire"),
            ],
            Electrical::VoltageRatio => vec![
                named(Wire::Signal, "the signal wire"),
                named(Wire::Feed, "the feeding wire"),
                named(Wire::Return, "the return wire"),
            ],
            Electrical::Frequency | Electrical::Reading => Vec::new(),
        })
    }

    /// Nodes of the network that the channel's sensor stands on.
    fn sensor_nodes(&self) -> Vec<String> {
        let mut list: Vec<String> = Vec::new();
        let mut add = |node: &board::NodeRef| {
            if let board::NodeRef::Named(n) = node
                && !list.contains(n)
            {
                list.push(n.clone());
            }
        };
        for element in self.sensor_elements() {
            for key in ["from", "to", "plus", "minus"] {
                if let Some(node) = element.node(key) {
                    add(node);
                }
            }
        }
        if let Some((a, b)) = &self.channel.sensor.between {
            add(a);
            add(b);
        }
        list
    }

    /// The pieces of the channel's sensor in its network.
    fn sensor_elements(&self) -> impl Iterator<Item = &'a Stage> {
        let own = self
            .board
            .channels
            .iter()
            .position(|c| c.name == self.channel.name);
        self.channel
            .network
            .and_then(|i| self.board.networks.get(i))
            .into_iter()
            .flat_map(|n| &n.elements)
            .filter(move |e| e.kind == "sensor" && e.channel("of") == own)
    }

    /// Whether an element of the network is the channel's own sensor.
    fn is_sensor(&self, name: &str) -> bool {
        if self.channel.network.is_none() {
            return name == "sensor" || name.starts_with("sensor ");
        }
        let path = format!("channels.{}.sensor", self.channel.name);
        let of = |path: &str| {
            name.strip_prefix(path)
                .is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        of(&path) || self.sensor_elements().any(|e| of(&e.path))
    }

    /// The components of the chain and of the network that may break.
    ///
    /// # Errors
    /// The network cannot be written.
    pub fn components(&self) -> Result<Vec<Component>, Unmodelled> {
        self.placed(|site, builder| {
            let mut network = Network::new(builder);
            let (low, high) = self.channel.span.value;
            let truth = builder.constant(0.5 * (low + high));
            let site = &site.facing(truth);
            site.written(&mut network, truth)?;
            let stages = site.stages();
            let mut list = Vec::new();
            for (name, element) in network.elements() {
                let opens = match element {
                    Element::Resistor { .. } | Element::Conductor { .. } => true,
                    Element::Capacitor { .. } => false,
                    _ => continue,
                };
                let Some((stage, rest)) = stages.iter().find_map(|s| {
                    let rest = name.strip_prefix(s.path.as_str())?;
                    (rest.is_empty() || rest.starts_with('.')).then_some((*s, rest))
                }) else {
                    continue;
                };
                // What belongs to no part that could be taken off the board.
                if stage.kind == "sensor"
                    || stage.kind == "lead"
                    || ["insulation", "resistance"]
                        .iter()
                        .any(|w| rest.contains(w))
                {
                    continue;
                }
                let called = site.stage_name(stage);
                list.push(Component {
                    element: name.clone(),
                    name: match rest.strip_prefix('.') {
                        Some(rest) => format!("{called}, {rest}"),
                        None => called,
                    },
                    opens,
                    span: stage.span,
                });
            }
            Ok(list)
        })
    }
}
