//! The analog chain of one channel as a network.

use board::Supply;
use circuit::{Network, Node};
use tape::Value;

use super::site::Site;
use super::{Unmodelled, Watched};
use crate::law::Electrical;
use crate::stage::{self, Bench};
use crate::variables::Kind;

/// What arrives at the converter.
pub struct Signal<'t> {
    /// Voltage between the converter's inputs, V.
    pub volt: Value<'t>,
    /// Power turned into heat in a resistive sensor, W.
    pub sensor_power_w: Value<'t>,
    /// Current through the sensor, A.
    pub sensor_current_a: Value<'t>,
    /// What must hold of its stages for that voltage to be meant.
    pub checks: Vec<Watched<'t>>,
}

impl<'t> Site<'_, 't> {
    /// Solves the chain for an electrical value of the sensor.
    ///
    /// # Errors
    /// A stage or a supply has no equations, or the network no solution.
    pub fn signal(
        &self,
        electrical: Value<'t>,
        kind: Electrical,
        source_ohm: Option<Value<'t>>,
    ) -> Result<Signal<'t>, Unmodelled> {
        let channel = self.channel;
        let mut network = Network::new(self.builder);
        let signal = network.node("sensor");
        let path = format!("channels.{}", channel.name);
        let mut inner = source_ohm.unwrap_or_else(|| self.builder.zero());
        if let Some(r) = &channel.sensor.source_resistance {
            inner = inner
                + self.valued(
                    &format!("{path}.source"),
                    "source resistance",
                    &r.value,
                    Kind::Fixed,
                    Some(r.span),
                );
        }
        let leads = self.leads();
        let mut element = "sensor";
        match kind {
            Electrical::Resistance => {
                network.resistor("sensor", signal, Node::GROUND, electrical + leads + inner)
            }
            Electrical::Voltage | Electrical::VoltageRatio => {
                let source = network.fresh("sensor source");
                let volt = if kind == Electrical::VoltageRatio {
                    let supply = channel
                        .sensor
                        .supply
                        .ok_or_else(|| Unmodelled::new("the sensor's supply is not named"))?;
                    electrical * self.supply(supply)?
                } else {
                    electrical
                };
                network.voltage_source("sensor", source, Node::GROUND, volt);
                network.resistor("sensor resistance", source, signal, inner + leads);
                element = "sensor resistance";
            }
            Electrical::Current => {
                network.current_source("sensor", Node::GROUND, signal, electrical);
                if !inner.is_zero() {
                    network.resistor("sensor resistance", signal, Node::GROUND, inner);
                }
            }
            Electrical::Frequency | Electrical::Reading => {
                return Err(Unmodelled::new("this sensor has no analog signal"));
            }
        }
        let mut supplies: Vec<Supply> = Vec::new();
        for s in &channel.chain {
            for field in s.fields.values() {
                if let board::FieldValue::Supply(to) = field.value
                    && to != Supply::Ground
                    && !supplies.contains(&to)
                {
                    supplies.push(to);
                    let name = format!("{to:?}");
                    let node = network.node(&name);
                    network.voltage_source(&name, node, Node::GROUND, self.supply(to)?);
                }
            }
        }
        let mut bench = Bench {
            network: &mut network,
            signal,
            site: self,
            ratings: Vec::new(),
        };
        for s in &channel.chain {
            let kind = stage::find(s.kind).ok_or_else(|| {
                Unmodelled::at(format!("the stage `{}` has no equations", s.kind), s.span)
            })?;
            (kind.write)(s, &mut bench)?;
        }
        let end = bench.signal;
        let ratings = bench.ratings;
        self.load_of_converter(&mut network, end)?;
        let solution = network
            .solve()
            .map_err(|f| Unmodelled::new(f.to_string()))?;
        let current = solution
            .current(element)
            .unwrap_or_else(|| self.builder.zero());
        Ok(Signal {
            checks: self.of_stages(&solution, &ratings),
            volt: solution.voltage(end),
            sensor_power_w: current * current * electrical,
            sensor_current_a: current,
        })
    }

    /// Resistance of the leads that adds to the sensor's, Ω: both with two
    /// wires, their difference with three, none with four.
    fn leads(&self) -> Value<'t> {
        let Some(r) = &self.channel.sensor.leads else {
            return self.builder.zero();
        };
        let lead = |which: &str| {
            let key = format!("channels.{}.lead.{which}", self.channel.name);
            self.valued(
                &key,
                &format!("lead {which}"),
                &r.value,
                Kind::Fixed,
                Some(r.span),
            )
        };
        match self.channel.sensor.wires {
            2 => lead("a") + lead("b"),
            3 => lead("a") - lead("b"),
            _ => self.builder.zero(),
        }
    }
}
