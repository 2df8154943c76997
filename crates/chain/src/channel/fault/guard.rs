//! The diodes in every pin, and what a pin may see.

use circuit::{Curve, Element, Network, Node};
use parts::Figure;
use tape::Value;

use crate::channel::Unmodelled;
use crate::channel::signal::Written;
use crate::channel::site::Site;
use crate::variables::{Kind, Lies, Trace, Variable};

/// Current against voltage of the diode between a pin and its supply, V and
/// A: a silicon junction in series with a few ohms (common practice; data
/// sheets of controllers give no curve).
const PIN_DIODE: &[(f64, f64)] = &[
    (0.45, 1e-6),
    (0.6, 100e-6),
    (0.7, 1e-3),
    (0.8, 10e-3),
    (1.1, 100e-3),
];
/// Beyond its supplies a pin may stand this far where its part says nothing, V
/// (common practice).
const BEYOND_V: f64 = 0.3;
/// A limit no further above the supply than this has a diode behind it, V.
const DIODE_V: f64 = 1.0;
/// Leakage of a pin of which nothing is stated, A (common practice, a CMOS
/// input at room temperature).
const LEAKAGE_A: f64 = 1e-9;
/// What an input of an amplifier may be driven with through its own diodes, A
/// (common practice; data sheets that state it say 5 mA to 10 mA).
pub const AMPLIFIER_INPUT_A: f64 = 5e-3;
/// What a pin without a diode upwards takes at its limit at least, A: what
/// only leaks does not rise beyond it, and what a fault drives is not held.
const HOLDS_A: f64 = 2e-6;

/// What is guarded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GuardKind {
    /// A pin of a converter.
    Pin,
    /// An input of an amplifier.
    Amplifier,
}

/// A pin with what it may see, on the tape.
pub(super) struct Guard<'t> {
    pub kind: GuardKind,
    pub name: String,
    pub node: Node,
    /// Element that takes the current upwards, and downwards.
    pub high: Option<String>,
    pub low: Option<String>,
    /// Voltages it may stand at.
    pub limit_high: Value<'t>,
    pub limit_low: Value<'t>,
    /// Currents it may take.
    pub rated_high_a: Option<f64>,
    pub rated_low_a: Option<f64>,
    /// Where limits and ratings were read.
    pub source: String,
    pub rated_source: String,
    /// Rail that the current upwards flows into.
    pub rail: Option<usize>,
}

impl<'t> Site<'_, 't> {
    /// Puts the diodes of the pins and of the amplifiers' inputs into the
    /// network.
    ///
    /// # Errors
    /// A supply has no voltage.
    pub(super) fn guards(
        &self,
        network: &mut Network<'t>,
        written: &Written<'t>,
    ) -> Result<Vec<Guard<'t>>, Unmodelled> {
        let mut list = Vec::new();
        if let Some(input) = &self.channel.input {
            let mut pins = vec![(written.plus, "")];
            if written.minus != Node::GROUND {
                pins = vec![
                    (written.plus, ", plus input"),
                    (written.minus, ", minus input"),
                ];
            }
            for (node, which) in pins {
                let device = &self.board.devices[input.device];
                let name = match (&input.channel, which) {
                    (Some(c), "") => format!("{}.{c}", device.name),
                    _ => format!("{}{which}", device.name),
                };
                list.push(self.guard_pin(network, node, &name, input.device)?);
            }
        }
        self.guard_amplifiers(network, &mut list)?;
        Ok(list)
    }

    fn guard_pin(
        &self,
        network: &mut Network<'t>,
        node: Node,
        name: &str,
        device: usize,
    ) -> Result<Guard<'t>, Unmodelled> {
        let b = self.builder;
        let d = &self.board.devices[device];
        let part = &d.part;
        let channel = self
            .channel
            .input
            .as_ref()
            .and_then(|i| i.channel.as_deref());
        let tolerant = channel
            .and_then(|c| part.pin(c))
            .is_some_and(|p| p.attributes.iter().any(|a| a == "5v-tolerant"));
        let figure = |name: &str| part.figure(name);
        let limits = if tolerant {
            figure("absolute-maximum-pin-tolerant").or_else(|| figure("absolute-maximum-pin"))
        } else {
            figure("absolute-maximum-pin")
        };
        let rail = d.analog_supply.or(d.supply);
        let supply = rail.map(|r| self.rail(r)).transpose()?;
        let zero = b.zero();
        let usual_high = supply.unwrap_or(zero) + BEYOND_V;
        let (mut limit_high, mut limit_low) = (usual_high, b.constant(-BEYOND_V));
        if let Some(f) = limits {
            if let Some(v) = self.device_limit(device, f, true, supply.unwrap_or(zero))? {
                limit_high = v;
            }
            if let Some(v) = self.device_limit(device, f, false, supply.unwrap_or(zero))? {
                limit_low = v;
            }
        }
        let injection = if tolerant {
            figure("injection-current-tolerant").or_else(|| figure("injection-current"))
        } else {
            figure("injection-current")
        };
        let rating = injection.or_else(|| figure("clamp-current"));
        let rated = |f: &Figure| match (f.min, f.max) {
            (Some(low), high) => (high.or(Some(0.0)), Some(low.abs())),
            (None, high) => (high, high),
        };
        let (rated_high_a, rated_low_a) = rating.map_or((None, None), rated);
        // Upwards there is a diode where the limit follows the supply, or
        // where the part is rated for current that way.
        let follows = limits
            .is_none_or(|f| f.max_supply.is_some() && f.max.is_none_or(|above| above <= DIODE_V));
        let upwards = !tolerant && (follows || rated_high_a.is_some_and(|a| a > 0.0));
        let curve = self.pin_diode()?;
        let mut high = None;
        if let Some(rail) = rail.filter(|_| upwards) {
            let to = self.supply_node(network, board::Supply::Rail(rail))?;
            let element = format!("{name}, diode to the supply");
            network.conductor(&element, node, to, curve.clone());
            high = Some(element);
        } else {
            let at = |by: f64| limit_high + by;
            let held = [
                (at(-1.0), zero),
                (at(0.0), zero),
                (at(1e-3), b.constant(HOLDS_A)),
                (at(2e-3), b.constant(HOLDS_A)),
            ];
            let curve = Curve::straight(&held).map_err(|f| Unmodelled::new(f.to_string()))?;
            network.conductor(&format!("{name}, limit"), node, Node::GROUND, curve);
        }
        let low = format!("{name}, diode from ground");
        network.conductor(&low, Node::GROUND, node, curve);
        if self.input_figure("input-leakage").is_none() {
            let leakage = self.deviation(Variable::board(
                &format!("fault.{name}.leakage"),
                "leakage of a pin",
                "A",
                Lies::Between(-LEAKAGE_A, LEAKAGE_A),
                Kind::Fixed,
                Trace::practice("a CMOS input at room temperature: 1 nA"),
            ));
            network.current_source(&format!("{name}, leakage"), Node::GROUND, node, leakage);
        }
        Ok(Guard {
            kind: GuardKind::Pin,
            name: name.to_owned(),
            node,
            high,
            low: Some(low),
            limit_high,
            limit_low,
            rated_high_a,
            rated_low_a,
            source: limits.map_or_else(
                || "nothing is stated: 0.3 V beyond the supplies (common practice)".to_owned(),
                |f| f.source.to_string(),
            ),
            rated_source: rating.map_or_else(String::new, |f| f.source.to_string()),
            rail: rail.filter(|_| upwards),
        })
    }

    /// The curve of a pin's diode.
    fn pin_diode(&self) -> Result<Curve<'t>, Unmodelled> {
        let b = self.builder;
        let mut points = vec![
            (b.constant(-100.0), b.constant(-1e-12)),
            (b.constant(-0.1), b.constant(-1e-12)),
            (b.zero(), b.zero()),
        ];
        points.extend(
            PIN_DIODE
                .iter()
                .map(|&(v, a)| (b.constant(v), b.constant(a))),
        );
        Curve::knee(&points).map_err(|f| Unmodelled::new(f.to_string()))
    }

    /// The diodes between an amplifier's inputs and its supplies.
    fn guard_amplifiers(
        &self,
        network: &mut Network<'t>,
        list: &mut Vec<Guard<'t>>,
    ) -> Result<(), Unmodelled> {
        let amplifiers: Vec<(String, Node, Node, Node, Node)> = network
            .elements()
            .iter()
            .filter_map(|(name, e)| match *e {
                Element::Amplifier {
                    plus,
                    minus,
                    high,
                    low,
                    ..
                }
                | Element::Instrumentation {
                    plus,
                    minus,
                    high,
                    low,
                    ..
                } if high != low => Some((name.clone(), plus, minus, high, low)),
                _ => None,
            })
            .collect();
        let own: Vec<&board::Stage> = self.stages();
        for (name, plus, minus, high, low) in amplifiers {
            // Those of other channels in the network are looked at with them.
            let Some(stage) = own.iter().find(|s| s.path == name) else {
                continue;
            };
            let title = self.stage_name(stage);
            let volt = |node: Node| {
                network.elements().iter().find_map(|(_, e)| match *e {
                    Element::VoltageSource {
                        plus,
                        minus: Node::GROUND,
                        volt,
                    } if plus == node => Some(volt),
                    _ => None,
                })
            };
            let Some(top) = volt(high) else { continue };
            let bottom = volt(low).unwrap_or_else(|| self.builder.zero());
            let rail = match stage.supply("supply").map(|s| s.value) {
                Some(board::Supply::Rail(i)) => Some(i),
                _ => None,
            };
            for (which, node) in [("plus", plus), ("minus", minus)] {
                let fixed = network.elements().iter().any(|(_, e)| {
                    matches!(*e, Element::VoltageSource { plus, minus: Node::GROUND, .. } if plus == node)
                });
                // An output that drives its own input cannot leave its supplies.
                if fixed || node == Node::GROUND || list.iter().any(|g| g.node == node) {
                    continue;
                }
                let named = format!("{title}, {which} input");
                let curve = self.pin_diode()?;
                let up = format!("{named}, diode to the supply");
                let down = format!("{named}, diode from the negative supply");
                network.conductor(&up, node, high, curve.clone());
                network.conductor(&down, low, node, curve);
                list.push(Guard {
                    kind: GuardKind::Amplifier,
                    name: named,
                    node,
                    high: Some(up),
                    low: Some(down),
                    limit_high: top + BEYOND_V,
                    limit_low: bottom - BEYOND_V,
                    rated_high_a: Some(AMPLIFIER_INPUT_A),
                    rated_low_a: Some(AMPLIFIER_INPUT_A),
                    source: "0.3 V beyond the amplifier's supplies (common practice)".to_owned(),
                    rated_source: "5 mA through the input's diodes (common practice)".to_owned(),
                    rail,
                });
            }
        }
        Ok(())
    }
}
