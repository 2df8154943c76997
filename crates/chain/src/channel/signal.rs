//! The analog chain of one channel as a network.

use circuit::{Network, Node};
use tape::Value;

use super::site::Site;
use super::{Unmodelled, Watched};
use crate::stage::{self, Bench};

/// What arrives at the converter.
pub struct Signal<'t> {
    /// Electrical value of the sensor, in the unit of its law.
    pub electrical: Value<'t>,
    /// Voltage between the converter's inputs, V.
    pub volt: Value<'t>,
    /// Voltage of the converter's plus input against ground, V.
    pub plus: Value<'t>,
    /// Voltage of its minus input; `None` where that is ground.
    pub minus: Option<Value<'t>>,
    /// Power turned into heat in a resistive sensor, W.
    pub sensor_power_w: Value<'t>,
    /// Current through the sensor, A.
    pub sensor_current_a: Value<'t>,
    /// What must hold of its stages for that voltage to be meant.
    pub checks: Vec<Watched<'t>>,
}

impl<'t> Site<'_, 't> {
    /// Solves the chain where the sensor meets `met`.
    ///
    /// # Errors
    /// A stage or a supply has no equations, or the network no solution.
    pub fn signal(&self, met: Value<'t>) -> Result<Signal<'t>, Unmodelled> {
        let channel = self.channel;
        let mut network = Network::new(self.builder);
        let placed = self.place_sensor(&mut network, met)?;
        for s in &channel.chain {
            for field in s.fields.values() {
                if let board::FieldValue::Supply(to) = field.value {
                    self.supply_node(&mut network, to)?;
                }
            }
        }
        let mut bench = Bench {
            network: &mut network,
            signal: placed.plus,
            minus: placed.minus,
            site: self,
            ratings: Vec::new(),
        };
        for s in &channel.chain {
            let kind = stage::find(s.kind).ok_or_else(|| {
                Unmodelled::at(format!("the stage `{}` has no equations", s.kind), s.span)
            })?;
            (kind.write)(s, &mut bench)?;
        }
        let (plus, minus) = (bench.signal, bench.minus);
        let ratings = bench.ratings;
        self.load_of_converter(&mut network, plus, minus)?;
        let solution = network
            .solve()
            .map_err(|f| Unmodelled::new(f.to_string()))?;
        let current = placed
            .element
            .and_then(|e| solution.current(&e))
            .unwrap_or_else(|| self.builder.zero());
        Ok(Signal {
            checks: self.of_stages(&solution, &ratings, placed.plus),
            electrical: placed.electrical,
            volt: solution.between(plus, minus),
            plus: solution.voltage(plus),
            minus: (minus != Node::GROUND).then(|| solution.voltage(minus)),
            sensor_power_w: current * current * placed.electrical,
            sensor_current_a: current,
        })
    }
}
