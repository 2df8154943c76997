//! Networks of named nodes, shared by the channels whose sensors stand in
//! them.

use board::{Against, Channel, FieldValue, NetworkSpec, NodeRef, Stage};
use circuit::{Fault, Network, Node};
use tape::Value;

use super::Unmodelled;
use super::site::Site;
use super::source::Placed;
use crate::element::{self, Placement, Sheet, title};
use crate::law::Electrical;
use crate::variables::Kind;

/// Places of conditions that the other sensors of a network are swept over:
/// three where there are few of them, else both ends alone.
const FEW_MATES: usize = 2;

/// Where a sensor stands.
#[derive(Clone, Copy)]
pub(crate) struct Terminals {
    from: Node,
    to: Node,
    plus: Option<Node>,
    minus: Option<Node>,
}

impl<'t> Sheet<'_, 't> {
    /// Puts a channel's sensor, or a piece of it, between its nodes.
    ///
    /// # Errors
    /// The law cannot be written, or a terminal is missing.
    pub fn sensor(&mut self, element: &Stage) -> Result<(), Unmodelled> {
        let Some(i) = element.channel("of") else {
            return Ok(());
        };
        let mut at = |key: &str| element.node(key).map(|n| self.node(n)).transpose();
        let (plus, minus) = (at("plus")?, at("minus")?);
        let (from, to) = self.ends(element)?;
        let terminals = Terminals {
            from,
            to,
            plus,
            minus,
        };
        let times = element.number("times").unwrap_or(1.0);
        self.place(i, &element.path, times, terminals)
    }

    fn place(
        &mut self,
        i: usize,
        path: &str,
        times: f64,
        terminals: Terminals,
    ) -> Result<(), Unmodelled> {
        let Some(channel) = self.site.board.channels.get(i) else {
            return Ok(());
        };
        let site = Site {
            channel,
            ..*self.site
        };
        let meets = if channel.name == self.site.channel.name {
            self.met
        } else {
            site.met(self.site.truth_of_mate(channel))?
        };
        let terminals = site.on_foot(self.network, terminals);
        let again = self.placed.iter().any(|p| p.channel == i);
        let piece = again.then_some(path);
        let (electrical, heated, across) =
            site.place_between(self.network, path, piece, meets * times, terminals)?;
        // The converter measures against its own ground all the same.
        let foot = site.foot_node(self.network);
        let own = |n: Node| if n == foot { Node::GROUND } else { n };
        let across = across.map(|(plus, minus)| (own(plus), own(minus)));
        self.placed.push(Placement {
            channel: i,
            times,
            electrical,
            heated,
            across,
        });
        Ok(())
    }
}

impl<'t> Site<'_, 't> {
    /// The network the channel's sensor stands in.
    #[must_use]
    pub fn network_spec(&self) -> Option<&NetworkSpec> {
        self.board.networks.get(self.channel.network?)
    }

    /// The terminals of a sensor, ground being what it is where the sensor
    /// stands.
    fn on_foot(&self, network: &mut Network<'t>, terminals: Terminals) -> Terminals {
        let foot = self.foot_node(network);
        let there = |n: Node| if n == Node::GROUND { foot } else { n };
        Terminals {
            from: there(terminals.from),
            to: there(terminals.to),
            ..terminals
        }
    }

    /// A named node or a supply.
    ///
    /// # Errors
    /// The supply has no voltage.
    pub fn node(&self, network: &mut Network<'t>, node: &NodeRef) -> Result<Node, Unmodelled> {
        match node {
            NodeRef::Named(name) => Ok(network.node(name)),
            NodeRef::Supply(supply) => self.supply_node(network, *supply),
        }
    }

    /// True quantity of another channel in the network: anywhere in its span
    /// in use, its middle at a calibration and as assumed.
    fn truth_of_mate(&self, mate: &Channel) -> Value<'t> {
        let (low, high) = mate.span.value;
        if !self.real || !self.instance.is_empty() {
            return self.builder.constant(0.5 * (low + high));
        }
        let points = if self.mates().count() > FEW_MATES {
            2
        } else {
            3
        };
        self.variables.condition(
            &format!("channels.{}.quantity", mate.name),
            &mate.name,
            &mate.unit.symbol,
            Site::points(low, high, points),
            Some(mate.span.span),
        )
    }

    /// The other channels in the network.
    fn mates(&self) -> impl Iterator<Item = (usize, &Channel)> {
        let (own, network) = (&self.channel.name, self.channel.network);
        self.board
            .channels
            .iter()
            .enumerate()
            .filter(move |(_, c)| c.network == network && c.name != *own)
    }

    /// Writes the whole network with every sensor in it, and the chains and
    /// converter inputs of the other channels, which load it as well.
    ///
    /// # Errors
    /// An element has no equations, or the channel's sensor is not in it.
    pub(super) fn place_in_network(
        &self,
        network: &mut Network<'t>,
        spec: &NetworkSpec,
        met: Value<'t>,
    ) -> Result<Vec<Placement<'t>>, Unmodelled> {
        // Named nodes first: everything made here is named around them.
        for field in spec.elements.iter().flat_map(|e| e.fields.values()) {
            if let FieldValue::Node(NodeRef::Named(name)) = &field.value {
                network.node(name);
            }
        }
        let mut sheet = Sheet {
            network,
            site: self,
            met,
            placed: Vec::new(),
        };
        for e in &spec.elements {
            let kind = element::find(e.kind).ok_or_else(|| {
                Unmodelled::at(format!("the element `{}` has no equations", e.kind), e.span)
            })?;
            (kind.write)(e, &mut sheet)?;
        }
        for (i, channel) in self.board.channels.iter().enumerate() {
            if channel.network == self.channel.network
                && let Some((from, to)) = &channel.sensor.between
            {
                let terminals = Terminals {
                    from: sheet.node(from)?,
                    to: sheet.node(to)?,
                    plus: None,
                    minus: None,
                };
                let path = format!("channels.{}.sensor", channel.name);
                sheet.place(i, &path, 1.0, terminals)?;
            }
        }
        let placed = sheet.placed;
        for (i, mate) in self.mates() {
            if mate.input.is_none() && mate.chain.is_empty() {
                continue;
            }
            let site = Site {
                channel: mate,
                ..*self
            };
            let (plus, minus) = site.tap(network, &placed, i)?;
            let ends = site.write_chain(network, plus, minus)?;
            site.load_of_converter(network, ends.plus, ends.minus)?;
        }
        Ok(placed)
    }

    /// The channel's own sensor among those placed, at the nodes its signal is
    /// taken from.
    ///
    /// # Errors
    /// It is not among them, or nothing says where its signal is taken.
    pub(super) fn own_placement(
        &self,
        network: &mut Network<'t>,
        spec: &NetworkSpec,
        placed: &[Placement<'t>],
    ) -> Result<Placed<'t>, Unmodelled> {
        let i = self.position();
        let own = placed.iter().find(|p| p.channel == i).ok_or_else(|| {
            Unmodelled::at(
                format!(
                    "the sensor of `{}` stands nowhere in network `{}`; {{ sensor = \"{}\", from = \"a\", to = \"b\" }} among its elements",
                    self.channel.name, spec.name, self.channel.name
                ),
                self.channel.sensor.span,
            )
        })?;
        let (plus, minus) = self.tap(network, placed, i)?;
        Ok(Placed {
            electrical: own.electrical,
            element: own.heated.clone(),
            plus,
            minus,
            times: own.times,
            pieces: placed.iter().filter(|p| p.channel == i).count(),
        })
    }

    /// Where a channel's chain begins: the nodes named with its input, else
    /// the terminals of its sensor.
    fn tap(
        &self,
        network: &mut Network<'t>,
        placed: &[Placement<'t>],
        i: usize,
    ) -> Result<(Node, Node), Unmodelled> {
        let input = self.channel.input.as_ref();
        let plus = input.and_then(|n| n.plus.as_ref());
        let minus = input.and_then(|n| n.minus.as_ref());
        let across = placed
            .iter()
            .find(|p| p.channel == i)
            .and_then(|p| p.across);
        match (plus, minus, across) {
            (Some(plus), minus, _) => Ok((
                self.node(network, plus)?,
                minus.map_or(Ok(Node::GROUND), |m| self.node(network, m))?,
            )),
            (None, Some(minus), Some((plus, _))) => Ok((plus, self.node(network, minus)?)),
            (None, None, Some(ends)) => Ok(ends),
            (None, _, None) => Err(Unmodelled::at(
                "nothing says between which nodes the signal stands; input = { at = \"…\", plus = \"NODE\", minus = \"NODE\" }",
                input.map_or(self.channel.sensor.span, |n| n.span),
            )),
        }
    }

    /// The nodes the converter's reference stands between, with the resistance
    /// of its reference pins as a load; `None` where it is a supply.
    ///
    /// # Errors
    /// A figure or a supply cannot be used.
    pub(super) fn reference_nodes(
        &self,
        network: &mut Network<'t>,
    ) -> Result<Option<(Node, Node)>, Unmodelled> {
        let Some(Against::Nodes(plus, minus)) = self.channel.reference.as_ref().map(|r| &r.value)
        else {
            return Ok(None);
        };
        if self.channel.network.is_none() {
            return Err(Unmodelled::at(
                "a reference between nodes needs a network they belong to; network = \"NAME\"",
                self.channel
                    .reference
                    .as_ref()
                    .map_or(self.channel.place, |r| r.span),
            ));
        }
        let (plus, minus) = (self.node(network, plus)?, self.node(network, minus)?);
        if let Some(input) = self.channel.input.as_ref().filter(|_| self.real)
            && let Some(f) = self.unit()?.figures.get("reference-input-resistance")
        {
            let device = &self.board.devices[input.device];
            let ohm = self.figure(
                &format!("{}.reference-input-resistance", device.name),
                "reference input resistance",
                f,
                Kind::Fixed,
            )?;
            network.resistor(
                &format!("reference input of {}", device.name),
                plus,
                minus,
                ohm,
            );
        }
        Ok(Some((plus, minus)))
    }

    /// Puts the sensor between two nodes of a network; `piece` names one of
    /// several pieces after the first, which has a nominal resistance of its
    /// own.
    fn place_between(
        &self,
        network: &mut Network<'t>,
        path: &str,
        piece: Option<&str>,
        meets: Value<'t>,
        at: Terminals,
    ) -> Result<(Value<'t>, Option<String>, Option<(Node, Node)>), Unmodelled> {
        let law = self.law()?;
        let (electrical, inner) = self.electrical(law, meets, piece)?;
        let Terminals { from, to, .. } = at;
        let span = self.channel.sensor.span;
        let output = |node: Option<Node>, key: &str| {
            node.ok_or_else(|| {
                Unmodelled::at(
                    format!(
                        "the sensor of `{}` gives a share of the voltage between `from` and `to` and has no `{key}`; {{ sensor = \"{}\", from = \"a\", to = \"b\", {key} = \"c\" }}",
                        self.channel.name, self.channel.name
                    ),
                    span,
                )
            })
        };
        Ok(match law.electrical() {
            Electrical::Resistance => {
                network.resistor(path, from, to, electrical + self.leads() + inner);
                (electrical, Some(path.to_owned()), Some((from, to)))
            }
            Electrical::Voltage => {
                let source = network.fresh(&format!("{path}.source"));
                network.voltage_source(path, source, to, electrical);
                let ohm = inner + self.leads();
                network.resistor(&format!("{path}.resistance"), source, from, ohm);
                (electrical, None, Some((from, to)))
            }
            Electrical::Current => {
                network.current_source(path, from, to, electrical);
                if !inner.is_zero() {
                    network.resistor(&format!("{path}.resistance"), from, to, inner);
                }
                (electrical, None, None)
            }
            Electrical::VoltageRatio if law.is_differential() => {
                let ends = [
                    ("plus", output(at.plus, "plus")?, electrical),
                    ("minus", output(at.minus, "minus")?, -electrical),
                ];
                for (end, node, ratio) in ends {
                    let source = network.fresh(&format!("{path}.{end}"));
                    let share = (ratio + 1.0) * 0.5;
                    let name = format!("{path}.{end}");
                    network.controlled_voltage(&name, source, to, from, to, share);
                    network.resistor(&format!("{name}.resistance"), source, node, inner * 0.5);
                }
                let arms = self.fed_resistance(inner)?;
                if !arms.is_zero() {
                    network.resistor(&format!("{path}.arms"), from, to, arms);
                }
                let [(_, plus, _), (_, minus, _)] = ends;
                (electrical, None, Some((plus, minus)))
            }
            Electrical::VoltageRatio => {
                let plus = output(at.plus, "plus")?;
                let source = network.fresh(&format!("{path}.source"));
                network.controlled_voltage(path, source, to, from, to, electrical);
                network.resistor(&format!("{path}.resistance"), source, plus, inner);
                (electrical, None, Some((plus, to)))
            }
            Electrical::Frequency | Electrical::Reading => {
                return Err(Unmodelled::at("this sensor has no analog signal", span));
            }
        })
    }

    /// A fault of the circuit in the words of the file, at the place of an
    /// element or stage it names.
    pub(crate) fn unsolved(&self, fault: Fault) -> Unmodelled {
        let stages = self.stages();
        let called = |name: &str| {
            stages
                .iter()
                .find(|s| name == s.path || name.starts_with(&format!("{}.", s.path)))
        };
        let say = |names: &mut Vec<String>| {
            let mut place = None;
            for name in names {
                if let Some(stage) = called(name) {
                    place = place.or(Some(stage.span));
                    *name = title(stage);
                }
            }
            place
        };
        let mut fault = fault;
        let place = match &mut fault {
            Fault::Floating { nodes } => {
                let touching = stages.iter().find(|s| {
                    s.fields.values().any(|f| {
                        matches!(&f.value, FieldValue::Node(NodeRef::Named(n)) if nodes.contains(n))
                    })
                });
                touching.map(|s| s.span).or_else(|| say(nodes))
            }
            Fault::Singular {
                unknowns,
                elements,
                hint,
            } => {
                let within = elements.clone();
                let place = say(elements);
                // Longer names first: one may be the beginning of another.
                let mut titles: Vec<(&String, &String)> = within.iter().zip(&*elements).collect();
                titles.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
                for text in unknowns.iter_mut().chain([hint]) {
                    for (name, title) in &titles {
                        *text = text.replace(name.as_str(), title);
                    }
                }
                place
            }
            Fault::NoConvergence { elements } => say(elements),
            Fault::UnknownElement { element, .. }
            | Fault::Repeated { element }
            | Fault::ForeignNode { element }
            | Fault::Impossible { element, .. } => {
                let mut one = vec![std::mem::take(element)];
                let place = say(&mut one);
                *element = one.concat();
                place
            }
        };
        match place {
            Some(span) => Unmodelled::at(fault.to_string(), span),
            None => Unmodelled::new(fault.to_string()),
        }
    }

    /// Stages of the channel's chain and elements of its network.
    pub(crate) fn stages(&self) -> Vec<&Stage> {
        let elements = self.network_spec().map_or(&[][..], |n| &n.elements);
        self.channel.chain.iter().chain(elements).collect()
    }
}
