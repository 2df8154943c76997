//! The analog chain of one channel as a network.

use circuit::{Network, Node};
use tape::Value;

use super::site::Site;
use super::{Unmodelled, Watched};
use crate::stage::{self, Bench, Rating};

/// What arrives at the converter.
pub struct Signal<'t> {
    /// Electrical value of the sensor, in the unit of its law.
    pub electrical: Value<'t>,
    /// What the sensor meets is the quantity times this.
    pub times: f64,
    /// Pieces of the sensor in its network.
    pub pieces: usize,
    /// Voltage between the converter's inputs, V.
    pub volt: Value<'t>,
    /// Voltage of the converter's plus input against ground, V.
    pub plus: Value<'t>,
    /// Voltage of its minus input; `None` where that is ground.
    pub minus: Option<Value<'t>>,
    /// Voltage the converter compares against where that stands between nodes
    /// of the network, V.
    pub reference: Option<Value<'t>>,
    /// Power turned into heat in a resistive sensor, W.
    pub sensor_power_w: Value<'t>,
    /// Current through the sensor, A.
    pub sensor_current_a: Value<'t>,
    /// What must hold of its stages for that voltage to be meant.
    pub checks: Vec<Watched<'t>>,
}

/// A channel's network before it is solved.
pub struct Written<'t> {
    /// The sensor in it.
    pub placed: super::source::Placed<'t>,
    /// Node its chain begins at.
    pub head: Node,
    /// Node at the converter's plus input.
    pub plus: Node,
    /// Node at its minus input.
    pub minus: Node,
    /// Nodes of a reference that stands in the network.
    pub reference: Option<(Node, Node)>,
    /// Ratings of its stages.
    pub ratings: Vec<Rating<'t>>,
}

/// Where a chain ends.
pub struct Ends<'t> {
    /// The node its signal stands on.
    pub plus: Node,
    /// The node its signal is counted from.
    pub minus: Node,
    /// Ratings of its stages.
    pub ratings: Vec<Rating<'t>>,
}

impl<'t> Site<'_, 't> {
    /// Solves the chain where the sensor meets `met`.
    ///
    /// # Errors
    /// A stage or a supply has no equations, or the network no solution.
    pub fn signal(&self, met: Value<'t>) -> Result<Signal<'t>, Unmodelled> {
        let mut network = Network::new(self.builder);
        let Written {
            placed,
            head: _,
            plus,
            minus,
            reference,
            ratings,
        } = self.written(&mut network, met)?;
        let solution = network.solve().map_err(|f| self.unsolved(f))?;
        let current = placed
            .element
            .and_then(|e| solution.current(&e))
            .unwrap_or_else(|| self.builder.zero());
        Ok(Signal {
            checks: self.of_stages(&solution, &ratings, placed.plus),
            electrical: placed.electrical,
            times: placed.times,
            pieces: placed.pieces,
            volt: solution.between(plus, minus),
            plus: solution.voltage(plus),
            minus: (minus != Node::GROUND).then(|| solution.voltage(minus)),
            reference: reference.map(|(plus, minus)| solution.between(plus, minus)),
            sensor_power_w: current * current * placed.electrical,
            sensor_current_a: current,
        })
    }

    /// Writes sensor, chain, converter and reference where the sensor meets
    /// `met`.
    ///
    /// # Errors
    /// As [`Site::signal`].
    pub fn written(
        &self,
        network: &mut Network<'t>,
        met: Value<'t>,
    ) -> Result<Written<'t>, Unmodelled> {
        self.written_with(network, met, None)
    }

    /// The same with a source of nothing of this name between the sensor and
    /// its chain, where something may come in.
    ///
    /// # Errors
    /// As [`Site::signal`].
    pub fn written_with(
        &self,
        network: &mut Network<'t>,
        met: Value<'t>,
        between: Option<&str>,
    ) -> Result<Written<'t>, Unmodelled> {
        let placed = match self.network_spec() {
            Some(spec) => {
                let all = self.place_in_network(network, spec, met)?;
                self.own_placement(network, spec, &all)?
            }
            None => {
                self.no_nodes_without_network()?;
                self.place_sensor(network, met)?
            }
        };
        let head = match between {
            Some(name) => {
                let head = network.fresh(name);
                network.voltage_source(name, head, placed.plus, self.builder.zero());
                head
            }
            None => placed.plus,
        };
        let ends = self.write_chain(network, head, placed.minus)?;
        self.load_of_converter(network, ends.plus, ends.minus)?;
        let reference = self.reference_nodes(network)?;
        Ok(Written {
            placed,
            head,
            plus: ends.plus,
            minus: ends.minus,
            reference,
            ratings: ends.ratings,
        })
    }

    /// Writes the channel's stages from the nodes its signal stands between.
    ///
    /// # Errors
    /// A stage or a supply has no equations.
    pub(super) fn write_chain(
        &self,
        network: &mut Network<'t>,
        plus: Node,
        minus: Node,
    ) -> Result<Ends<'t>, Unmodelled> {
        let chain = &self.channel.chain;
        for field in chain.iter().flat_map(|s| s.fields.values()) {
            if let board::FieldValue::Supply(to) = field.value {
                self.supply_node(network, to)?;
            }
        }
        let mut bench = Bench {
            network,
            signal: plus,
            minus,
            site: self,
            ratings: Vec::new(),
        };
        for s in chain {
            let kind = stage::find(s.kind).ok_or_else(|| {
                Unmodelled::at(format!("the stage `{}` has no equations", s.kind), s.span)
            })?;
            (kind.write)(s, &mut bench)?;
        }
        Ok(Ends {
            plus: bench.signal,
            minus: bench.minus,
            ratings: bench.ratings,
        })
    }

    /// Nodes belong to a network.
    fn no_nodes_without_network(&self) -> Result<(), Unmodelled> {
        let input = self.channel.input.as_ref();
        let named = input.filter(|i| i.plus.is_some() || i.minus.is_some());
        let place = named.map(|i| i.span).or_else(|| {
            self.channel
                .sensor
                .between
                .as_ref()
                .map(|_| self.channel.sensor.span)
        });
        match place {
            Some(span) => Err(Unmodelled::at(
                "nodes are named, but the channel is in no network; network = \"NAME\"",
                span,
            )),
            None => Ok(()),
        }
    }
}
