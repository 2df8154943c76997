//! Harming a network that is written.

use board::{Stands, Supply};
use circuit::{Element, Network, Node};
use tape::Value;

use super::{Faulty, Harm, OPEN_OHM, TOUCH_OHM, Wire};
use crate::channel::Unmodelled;
use crate::channel::signal::Written;
use crate::channel::site::Site;
use crate::law::Electrical;

impl Faulty<'_> {
    /// Does one harm to a network; what the converter looks at may move.
    ///
    /// # Errors
    /// The sensor has no such wire, or a supply no voltage.
    pub(super) fn harm<'t>(
        &self,
        site: &Site<'_, 't>,
        network: &mut Network<'t>,
        written: &mut Written<'t>,
        harm: &Harm,
    ) -> Result<(), Unmodelled> {
        let b = site.builder;
        let touch = b.constant(TOUCH_OHM);
        match harm {
            Harm::Open(wire) => self.open(site, network, written, wire),
            Harm::Tied(wire, supply) => {
                let node = self.freed(site, network, written, wire)?;
                let to = site.supply_node(network, *supply)?;
                network.resistor("fault", node, to, touch);
                Ok(())
            }
            Harm::Joined(one, other) => {
                let a = self.node_of(network, written, one)?;
                let c = self.node_of(network, written, other)?;
                network.resistor("fault", a, c, touch);
                Ok(())
            }
            Harm::Driven {
                wire,
                low_v,
                high_v,
                ohm,
            } => {
                let node = self.freed(site, network, written, wire)?;
                let volt = if low_v == high_v {
                    b.constant(*low_v)
                } else {
                    site.variables.condition(
                        "fault.voltage",
                        "voltage on the wire",
                        "V",
                        Site::points(*low_v, *high_v, 2),
                        None,
                    )
                };
                let outside = network.fresh("outside");
                network.voltage_source("outside", outside, Node::GROUND, volt);
                network.resistor("fault", outside, node, b.constant(ohm.max(TOUCH_OHM)));
                Ok(())
            }
            Harm::Reversed => self.reverse(site, network),
            Harm::Stands(stands) => {
                let (from, to) = self.ends(site, network, written)?;
                network.remove(|n| self.is_sensor(n));
                let resistor = |network: &mut Network<'t>, a, c, ohm: f64| {
                    network.resistor("fault", a, c, b.constant(ohm.max(TOUCH_OHM)));
                };
                match *stands {
                    Stands::Open => {}
                    Stands::Current(a) => {
                        // As the sensor's own current flows.
                        let (from, to) = if self.channel.network.is_some() {
                            (from, to)
                        } else {
                            (to, from)
                        };
                        network.current_source("fault", from, to, b.constant(a));
                    }
                    Stands::Voltage(v, ohm) => {
                        let source = network.fresh("outside");
                        network.voltage_source("outside", source, to, b.constant(v));
                        resistor(network, source, from, ohm);
                    }
                    Stands::Resistance(ohm) => resistor(network, from, to, ohm),
                }
                insulated(network, from, "state", b.constant(OPEN_OHM));
                Ok(())
            }
            Harm::Component { element, open } => {
                let known = network.elements().iter().any(|(n, _)| n == element);
                if !known {
                    return Err(Unmodelled::new(format!("there is no `{element}`")));
                }
                let ohm = b.constant(if *open { OPEN_OHM } else { TOUCH_OHM });
                network.replace(
                    |n| n == element,
                    |e| match *e {
                        Element::Resistor { a, b, .. } | Element::Capacitor { a, b, .. } => {
                            Element::Resistor { a, b, ohm }
                        }
                        Element::Conductor { from, to, .. } => Element::Resistor {
                            a: from,
                            b: to,
                            ohm,
                        },
                        ref other => other.clone(),
                    },
                );
                Ok(())
            }
            Harm::Pull { to, ohm } => {
                let supply = site.supply_node(network, *to)?;
                network.resistor("pull", supply, written.head, b.constant(*ohm));
                Ok(())
            }
        }
    }

    /// The node of a wire.
    fn node_of<'t>(
        &self,
        network: &Network<'t>,
        written: &Written<'t>,
        wire: &Wire,
    ) -> Result<Node, Unmodelled> {
        match wire {
            Wire::Signal | Wire::Sense => Ok(written.placed.plus),
            Wire::Minus => Ok(written.placed.minus),
            Wire::Node(name) => network
                .find(name)
                .ok_or_else(|| Unmodelled::new(format!("there is no node `{name}`"))),
            Wire::Feed | Wire::Return => Err(Unmodelled::new("the wire is a supply")),
        }
    }

    /// The same with what a stiff sensor would hold it at taken away: what
    /// touches a supply is held by that.
    fn freed<'t>(
        &self,
        site: &Site<'_, 't>,
        network: &mut Network<'t>,
        written: &mut Written<'t>,
        wire: &Wire,
    ) -> Result<Node, Unmodelled> {
        let node = self.node_of(network, written, wire)?;
        if site.law()?.electrical() != Electrical::Resistance {
            self.open(site, network, written, wire)?;
        }
        Ok(node)
    }

    /// The two nodes that the sensor stands between, the upper one first.
    fn ends<'t>(
        &self,
        site: &Site<'_, 't>,
        network: &mut Network<'t>,
        written: &Written<'t>,
    ) -> Result<(Node, Node), Unmodelled> {
        if self.channel.network.is_none() {
            let sensor = &self.channel.sensor;
            let foot = match (sensor.foot, site.law()?.electrical()) {
                (Some(foot), _) => foot,
                (None, Electrical::Resistance) => sensor.supply.unwrap_or(Supply::Ground),
                (None, _) => Supply::Ground,
            };
            let to = if written.placed.minus == Node::GROUND {
                site.supply_node(network, foot)?
            } else {
                written.placed.minus
            };
            return Ok((written.placed.plus, to));
        }
        let first = self.sensor_elements().next();
        let pair = first
            .and_then(|e| Some((e.node("from")?, e.node("to")?)))
            .or_else(|| self.channel.sensor.between.as_ref().map(|(a, b)| (a, b)));
        let (from, to) = pair.ok_or_else(|| Unmodelled::new("the sensor stands nowhere"))?;
        Ok((site.node(network, from)?, site.node(network, to)?))
    }

    /// Cuts one wire.
    fn open<'t>(
        &self,
        site: &Site<'_, 't>,
        network: &mut Network<'t>,
        written: &mut Written<'t>,
        wire: &Wire,
    ) -> Result<(), Unmodelled> {
        let law = site.law()?;
        let b = site.builder;
        let insulation = b.constant(OPEN_OHM);
        if let Wire::Node(name) = wire {
            let node = self.node_of(network, written, wire)?;
            if law.electrical() == Electrical::Current {
                network.remove(|n| self.is_sensor(n));
            } else {
                let cut = network.detach(node, |n| self.is_sensor(n));
                insulated(network, cut, "end", insulation);
            }
            insulated(network, node, name, insulation);
            return Ok(());
        }
        let differential = law.is_differential();
        match (law.electrical(), wire) {
            (Electrical::Resistance, Wire::Sense) => {
                // What is measured is cut off from what carries the current.
                let pulls = self.pulls();
                let rest: Vec<&str> = self
                    .channel
                    .chain
                    .iter()
                    .skip(pulls)
                    .map(|s| s.path.as_str())
                    .collect();
                let head = written.placed.plus;
                let cut = network.detach(head, |n| {
                    rest.iter().any(|p| n.starts_with(p)) || n.contains(" of ")
                });
                for end in [&mut written.plus, &mut written.head] {
                    if *end == head {
                        *end = cut;
                    }
                }
                insulated(network, cut, "sense", insulation);
            }
            (Electrical::Resistance, _) if self.channel.sensor.wires > 2 => {
                let paths: Vec<&str> = self
                    .channel
                    .chain
                    .iter()
                    .take(self.pulls())
                    .map(|s| s.path.as_str())
                    .collect();
                network.remove(|n| paths.iter().any(|p| n.starts_with(p)));
            }
            (Electrical::VoltageRatio, Wire::Feed | Wire::Return) => {
                // Without its supply an output stands at its ground, without
                // its ground at its supply (common practice).
                let at = if *wire == Wire::Feed {
                    b.zero()
                } else {
                    site.excitation()?
                };
                network.replace(
                    |n| matches!(n, "sensor" | "sensor plus" | "sensor minus"),
                    |e| with_volt(e, at),
                );
            }
            (Electrical::VoltageRatio, Wire::Minus) if differential => {
                network.remove(|n| n == "sensor minus resistance");
                insulated(network, written.placed.minus, "minus", insulation);
            }
            (Electrical::VoltageRatio, _) if differential => {
                network.remove(|n| n == "sensor plus resistance");
            }
            (Electrical::VoltageRatio | Electrical::Voltage, _) => {
                network.remove(|n| n == "sensor resistance");
            }
            _ => network.remove(|n| self.is_sensor(n)),
        }
        insulated(network, written.placed.plus, "signal", insulation);
        Ok(())
    }

    /// Stages at the head of the chain that feed the sensor.
    fn pulls(&self) -> usize {
        self.channel
            .chain
            .iter()
            .take_while(|s| matches!(s.kind, "pull-up" | "pull-down"))
            .count()
    }

    /// Swaps the two wires of a sensor that gives a voltage or a current.
    fn reverse<'t>(
        &self,
        site: &Site<'_, 't>,
        network: &mut Network<'t>,
    ) -> Result<(), Unmodelled> {
        let law = site.law()?;
        match law.electrical() {
            Electrical::Voltage | Electrical::Current => {
                network.replace(
                    |n| self.is_sensor(n),
                    |e| match *e {
                        Element::VoltageSource { plus, minus, volt } => Element::VoltageSource {
                            plus,
                            minus,
                            volt: -volt,
                        },
                        Element::CurrentSource { from, to, ampere } => Element::CurrentSource {
                            from,
                            to,
                            ampere: -ampere,
                        },
                        ref other => other.clone(),
                    },
                );
                Ok(())
            }
            Electrical::VoltageRatio if law.is_differential() && self.channel.network.is_none() => {
                let volt = |network: &Network<'t>, name: &str| {
                    network.elements().iter().find_map(|(n, e)| match e {
                        Element::VoltageSource { volt, .. } if n == name => Some(*volt),
                        _ => None,
                    })
                };
                if let (Some(plus), Some(minus)) =
                    (volt(network, "sensor plus"), volt(network, "sensor minus"))
                {
                    network.replace(|n| n == "sensor plus", |e| with_volt(e, minus));
                    network.replace(|n| n == "sensor minus", |e| with_volt(e, plus));
                }
                Ok(())
            }
            Electrical::Resistance => {
                Err(Unmodelled::new("a resistance reads the same either way"))
            }
            _ => Err(Unmodelled::new(
                "what a sensor with a supply of its own does when it is swapped, its maker says",
            )),
        }
    }
}

/// A source with another voltage.
fn with_volt<'t>(element: &Element<'t>, volt: Value<'t>) -> Element<'t> {
    match *element {
        Element::VoltageSource { plus, minus, .. } => Element::VoltageSource { plus, minus, volt },
        ref other => other.clone(),
    }
}

/// What leaks from a node that may hang in the air.
fn insulated<'t>(network: &mut Network<'t>, node: Node, name: &str, ohm: Value<'t>) {
    if node != Node::GROUND {
        network.resistor(&format!("insulation at {name}"), node, Node::GROUND, ohm);
    }
}
