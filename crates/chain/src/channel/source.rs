//! The sensor as elements of a network.

use board::Supply;
use circuit::{Network, Node};
use tape::Value;

use super::Unmodelled;
use super::site::{STRAY, Site, TOLERANCE_K};
use crate::law::{Electrical, Law};
use crate::variables::Kind;

/// Relative change of the resistance of copper for each kelvin, counted from
/// 25 °C: 0.393 %/K at 20 °C (IEC 60028) is 0.00393/(1 + 5·0.00393) there.
pub const COPPER_PER_K: f64 = 0.00393 / 1.01965;

/// A sensor that has been put into a network.
pub struct Placed<'t> {
    /// Its electrical value, in the unit of its law.
    pub electrical: Value<'t>,
    /// Element whose current heats a resistive sensor.
    pub element: Option<String>,
    /// Where its signal stands.
    pub plus: Node,
    /// Against what its signal stands.
    pub minus: Node,
    /// What the sensor meets is the quantity times this.
    pub times: f64,
    /// Pieces of the sensor in the network.
    pub pieces: usize,
}

/// What feeds a sensor whose output is a share of a voltage.
struct Excitation<'t> {
    /// Voltage at the sensor's upper terminal, V.
    top: Value<'t>,
    /// Voltage at its lower terminal, V.
    bottom: Value<'t>,
}

impl<'t> Site<'_, 't> {
    /// The electrical value of the sensor where the quantity it meets is
    /// `met`, and the resistance within it, Ω. `piece` names one of several
    /// pieces after the first.
    ///
    /// # Errors
    /// The law cannot be written.
    pub fn electrical(
        &self,
        law: &'static dyn Law,
        met: Value<'t>,
        piece: Option<&str>,
    ) -> Result<(Value<'t>, Value<'t>), Unmodelled> {
        let parameters = self.parameters_of(law, piece)?;
        let told =
            |f: crate::law::LawFault| Unmodelled::at(f.to_string(), self.channel.sensor.span);
        let aux = |key: &str| {
            law.auxiliaries()
                .iter()
                .find(|k| **k == key)
                .and_then(|k| self.true_auxiliary(k))
        };
        let electrical = law.forward(met, &parameters, &aux).map_err(told)?;
        let electrical = self.with_output_error(electrical, law.electrical())?;
        let electrical = self.within_supply(law, electrical)?;
        let mut inner = law
            .source_resistance(met, &parameters, &aux)
            .map_err(told)?
            .unwrap_or_else(|| self.builder.zero());
        if let Some(r) = &self.channel.sensor.source_resistance {
            inner = inner
                + self.valued_or(
                    &format!("channels.{}.source", self.channel.name),
                    "source resistance",
                    &r.value,
                    Kind::Fixed,
                    Some(r.span),
                    Some(&STRAY),
                );
        }
        Ok((electrical, inner))
    }

    /// A wiper does not leave its track, and an output that is a share of the
    /// sensor's own supply goes neither below its ground nor above that
    /// supply, however large its error: the share kept within 0 and 1, or
    /// within what the straight law says where a span asks for more.
    fn within_supply(
        &self,
        law: &'static dyn Law,
        share: Value<'t>,
    ) -> Result<Value<'t>, Unmodelled> {
        let bounded = self.real
            && law.electrical() == Electrical::VoltageRatio
            && !law.is_differential()
            && self.channel.sensor.foot.is_none();
        if !bounded {
            return Ok(share);
        }
        let told =
            |f: crate::law::LawFault| Unmodelled::at(f.to_string(), self.channel.sensor.span);
        let assumed = self.assumed();
        let parameters = assumed.parameters_of(law, None)?;
        let aux = |key: &str| {
            law.auxiliaries()
                .iter()
                .find(|k| **k == key)
                .and_then(|k| assumed.true_auxiliary(k))
        };
        let (mut least, mut most) = (0.0_f64, 1.0_f64);
        let (low, high) = self.channel.span.value;
        for end in [low, high] {
            let there = law
                .forward(self.builder.constant(end), &parameters, &aux)
                .map_err(told)?
                .nominal();
            least = least.min(there);
            most = most.max(there);
        }
        Ok(share.clamp(self.builder.constant(least), self.builder.constant(most)))
    }

    /// Puts the sensor at the head of its chain: a resistance stands between
    /// the signal and ground, or between its supply and the signal where it
    /// has one; a bridge gives two nodes about the middle of its excitation.
    ///
    /// # Errors
    /// The law cannot be written, or something it needs is not named.
    pub fn place_sensor(
        &self,
        network: &mut Network<'t>,
        met: Value<'t>,
    ) -> Result<Placed<'t>, Unmodelled> {
        let law = self.law()?;
        let (electrical, inner) = self.electrical(law, met, None)?;
        let sensor = &self.channel.sensor;
        let plus = network.fresh(&format!("channels.{}.sensor", self.channel.name));
        let mut placed = Placed {
            electrical,
            element: None,
            plus,
            minus: Node::GROUND,
            times: 1.0,
            pieces: 1,
        };
        let foot = match sensor.foot {
            Some(_) if law.electrical() == Electrical::Resistance || law.is_differential() => {
                return Err(Unmodelled::at(
                    "only a sensor that gives a voltage or a current stands on a foot; a resistance has `supply`",
                    sensor.span,
                ));
            }
            Some(supply) => self.supply_node(network, supply)?,
            None => self.foot_node(network),
        };
        match law.electrical() {
            Electrical::Resistance => {
                let foot = match sensor.supply {
                    Some(supply) => self.supply_node(network, supply)?,
                    None => foot,
                };
                let ohm = electrical + self.leads() + inner;
                network.resistor("sensor", plus, foot, ohm);
                placed.element = Some("sensor".to_owned());
            }
            Electrical::Voltage => {
                let source = network.fresh("sensor source");
                network.voltage_source("sensor", source, foot, electrical);
                network.resistor("sensor resistance", source, plus, inner + self.leads());
            }
            Electrical::VoltageRatio if law.is_differential() => {
                let fed = self.bridge_excitation(inner)?;
                let minus = network.fresh("sensor minus");
                placed.minus = minus;
                let mut middle = (fed.top + fed.bottom) * 0.5;
                // Half of what lifts the lower end lifts the middle, and takes
                // that much off what feeds the bridge.
                let mut fed = fed.top - fed.bottom;
                if let Some(shift) = self.foot_shift() {
                    middle = middle + shift * 0.5;
                    fed = fed - shift;
                }
                let half = electrical * fed * 0.5;
                let ends = [
                    ("plus", plus, middle + half, "c"),
                    ("minus", minus, middle - half, "d"),
                ];
                for (end, node, volt, lead) in ends {
                    let source = network.fresh(&format!("sensor {end} source"));
                    network.voltage_source(&format!("sensor {end}"), source, Node::GROUND, volt);
                    network.resistor(
                        &format!("sensor {end} resistance"),
                        source,
                        node,
                        inner * 0.5 + self.lead(lead),
                    );
                }
            }
            Electrical::VoltageRatio => {
                let source = network.fresh("sensor source");
                let mut fed = self.excitation()?;
                if let (None, Some(shift)) = (sensor.foot, self.foot_shift()) {
                    fed = fed - shift;
                }
                let volt = electrical * fed;
                network.voltage_source("sensor", source, foot, volt);
                network.resistor("sensor resistance", source, plus, inner + self.leads());
            }
            Electrical::Current => {
                let current = if sensor.reversed {
                    -electrical
                } else {
                    electrical
                };
                network.current_source("sensor", foot, plus, current);
                if !inner.is_zero() {
                    network.resistor("sensor resistance", plus, foot, inner);
                }
            }
            Electrical::Frequency | Electrical::Reading => {
                return Err(Unmodelled::at(
                    "this sensor has no analog signal",
                    sensor.span,
                ));
            }
        }
        Ok(placed)
    }

    /// Voltage of what feeds the sensor, V.
    pub(super) fn excitation(&self) -> Result<Value<'t>, Unmodelled> {
        let sensor = &self.channel.sensor;
        let supply = sensor.supply.ok_or_else(|| {
            Unmodelled::at(
                "the output is a share of a supply that is not named; sensor = { …, supply = \"RAIL OR REFERENCE\" }",
                sensor.span,
            )
        })?;
        self.supply(supply)
    }

    /// Voltages at a bridge's feeding terminals: what its supply has less what
    /// its own current drops in the two feeding leads.
    fn bridge_excitation(&self, bridge_ohm: Value<'t>) -> Result<Excitation<'t>, Unmodelled> {
        let volt = self.excitation()?;
        let zero = self.builder.zero();
        let sensor = &self.channel.sensor;
        let Some(leads) = &sensor.leads else {
            return Ok(Excitation {
                top: volt,
                bottom: zero,
            });
        };
        let bridge_ohm = self.fed_resistance(bridge_ohm)?;
        if bridge_ohm.is_zero() {
            return Err(Unmodelled::at(
                "what the leads of a bridge drop depends on its resistance; figures = { resistance = \"350 Ω\" }",
                leads.span,
            ));
        }
        let (a, b) = (self.lead("a"), self.lead("b"));
        let current = volt / (bridge_ohm + a + b);
        Ok(Excitation {
            top: volt - current * a,
            bottom: current * b,
        })
    }

    /// Resistance between the terminals a bridge is fed at, Ω: stated, else
    /// that between its outputs, which four equal arms show at both pairs.
    pub(super) fn fed_resistance(&self, output: Value<'t>) -> Result<Value<'t>, Unmodelled> {
        match self.channel.sensor.figures.get("input-resistance") {
            Some(f) => self.figure(
                &format!("channels.{}.sensor.input-resistance", self.channel.name),
                "sensor, input-resistance",
                f,
                Kind::Fixed,
            ),
            None => Ok(output),
        }
    }

    /// The node of a supply, made where there is none yet.
    ///
    /// # Errors
    /// The supply has no voltage.
    pub fn supply_node(
        &self,
        network: &mut Network<'t>,
        supply: Supply,
    ) -> Result<Node, Unmodelled> {
        if supply == Supply::Ground {
            return Ok(Node::GROUND);
        }
        let name = self.supply_name(supply);
        if let Some(node) = network.find(&name) {
            return Ok(node);
        }
        let volt = self.supply(supply)?;
        let node = network.node(&name);
        let behind = match supply {
            Supply::Rail(i) => self.divider_ohm(i),
            _ => None,
        };
        match behind {
            // A divider gives way to what loads it (Thévenin).
            Some(ohm) => {
                let open = network.node(&format!("{name}, unloaded"));
                network.voltage_source(&name, open, Node::GROUND, volt);
                network.resistor(&format!("{name}.divider"), open, node, ohm);
            }
            None => network.voltage_source(&name, node, Node::GROUND, volt),
        }
        Ok(node)
    }

    /// Name of a supply, as written in the file.
    #[must_use]
    pub fn supply_name(&self, supply: Supply) -> String {
        let b = self.board;
        let found = match supply {
            Supply::Ground => return "ground".to_owned(),
            Supply::Rail(i) => b.rails.get(i).map(|r| r.name.clone()),
            Supply::Reference(i) => b.references.get(i).map(|r| r.name.clone()),
            Supply::Internal(device, unit, choice) => b.devices.get(device).and_then(|d| {
                let u = d.part.converters.get(unit)?;
                Some(format!(
                    "{}.{}.{}",
                    d.name,
                    u.name,
                    u.references.get(choice)?.name
                ))
            }),
        };
        found.unwrap_or_default()
    }

    /// Resistance of one lead, Ω; zero where none is stated.
    fn lead(&self, which: &str) -> Value<'t> {
        let Some(r) = &self.channel.sensor.leads else {
            return self.builder.zero();
        };
        let ohm = self.valued_or(
            &format!("channels.{}.lead.{which}", self.channel.name),
            &format!("lead {which}"),
            &r.value,
            Kind::Fixed,
            Some(r.span),
            Some(&STRAY),
        );
        if r.value.drift_per_k.is_some() {
            return ohm;
        }
        self.copper(ohm)
    }

    /// The resistance of a copper wire at the ambient, of what it has at
    /// 25 °C.
    #[must_use]
    pub fn copper(&self, ohm: Value<'t>) -> Value<'t> {
        ohm * ((self.ambient - TOLERANCE_K) * COPPER_PER_K + 1.0)
    }

    /// Resistance of the leads that adds to the sensor's, Ω: both with two
    /// wires, their difference with three, none with four.
    pub(super) fn leads(&self) -> Value<'t> {
        match self.channel.sensor.wires {
            2 => self.lead("a") + self.lead("b"),
            3 => self.lead("a") - self.lead("b"),
            _ => self.builder.zero(),
        }
    }
}
