//! A channel's network made straight, for what gets in beside the quantity.

use std::cell::RefCell;

use board::{Against, Board, Channel, Stage, Supply};
use circuit::{Linearised, Network, Node, Output, SmallSignal, StimulusKind, Wanted};
use tape::{Builder, Point, Reading};

use super::site::{Site, TOLERANCE_K};
use super::{Unmodelled, sensor};
use crate::law::Electrical;
use crate::time::Timing;
use crate::variables::{Lies, Variable, Variables, Varies};

/// Name of the source of nothing that stands between the sensor and the chain:
/// what is induced in the sensor's wiring is a voltage there.
pub const SERIES: &str = "in series with the sensor";

/// Where in the network a supply acts, or a share of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Follower {
    /// The element whose stimulus it is.
    pub element: String,
    /// Which of its stimuli.
    pub kind: StimulusKind,
    /// The supply.
    pub supply: Supply,
    /// Change of the stimulus for a change of the supply by one volt, as far
    /// as the network goes: the share of it that the sensor gives.
    pub factor: f64,
    /// Path of the amplifier whose own rejection stands between, if one does.
    pub amplifier: Option<String>,
}

/// A channel's network at one value of its quantity, everything else nominal,
/// in numbers.
#[derive(Clone, Debug)]
pub struct Straight {
    /// The quantity, SI.
    pub quantity: f64,
    /// The network. Its outputs: the voltage between the converter's inputs,
    /// the one it compares against where that stands between nodes (else the
    /// same again), then the nodes asked for.
    pub network: Linearised,
    /// Voltage between the converter's inputs, V.
    pub volt: f64,
    /// Reference, V; none in a fragment.
    pub reference: Option<f64>,
    /// Where supplies act.
    pub followers: Vec<Follower>,
    /// Whether the sensor gives a current, into which no voltage in series
    /// gets.
    pub is_current: bool,
    /// Name of the node the chain begins at.
    pub head: String,
    /// Name of the node at the converter's plus input.
    pub pin: String,
}

impl Straight {
    /// Number of the output of a node that was asked for.
    pub const FIRST_NODE: usize = 2;
    /// Number of the output between the converter's inputs.
    pub const VOLT: usize = 0;
    /// Number of the output the converter compares against.
    pub const REFERENCE: usize = 1;
}

/// A node by what it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// Where the chain begins.
    Head,
    /// The converter's plus input.
    Pin,
    /// A node of the network, by its name.
    Named(String),
}

/// The networks of a channel at both ends and in the middle of its span, with
/// the nodes asked for among their outputs and their fed stimuli.
///
/// # Errors
/// The channel has no model, or a node is not there.
pub fn straight(
    board: &Board,
    channel: &Channel,
    nodes: &[Place],
) -> Result<Vec<Straight>, Unmodelled> {
    Ok(written(board, channel, nodes)?.points)
}

/// Lowest and highest magnitude of what a channel's circuit leaves of its
/// signal at some frequencies, Hz, as a share of what it leaves of direct
/// current: nominally anywhere among them, and with every tolerance at its
/// harmful limit at the middle one, each taken to act by itself. Not finite
/// where no direct current passes.
///
/// # Errors
/// As [`straight`].
pub fn relative_over(
    board: &Board,
    channel: &Channel,
    hz: [f64; 3],
) -> Result<(f64, f64), Unmodelled> {
    let written = written(board, channel, &[Place::Head])?;
    let Some(middle) = written.points.get(1) else {
        return Err(Unmodelled::new("the span has no middle"));
    };
    let (name, kind) = if middle.is_current {
        (middle.head.as_str(), StimulusKind::Fed)
    } else {
        (SERIES, StimulusKind::Voltage)
    };
    let share = |network: &Linearised, hz: f64| {
        let response = network.response(Straight::VOLT, network.find(name, kind)?)?;
        Some(response.relative(hz))
    };
    let share = |network: &Linearised, hz: f64| share(network, hz).unwrap_or(f64::NAN);
    let at: Vec<f64> = hz.iter().map(|f| share(&middle.network, *f)).collect();
    let (mut low, mut high) = at
        .iter()
        .fold((f64::INFINITY, 0.0_f64), |(a, b), x| (a.min(*x), b.max(*x)));
    if !at.iter().all(|x| x.is_finite()) {
        return Ok((f64::NAN, f64::NAN));
    }
    let usual = share(&middle.network, hz[1]);
    let nominal = written.small.tape().nominal_inputs();
    let (mut below, mut above) = (0.0, 0.0);
    for (i, variable) in written.variables.iter().enumerate() {
        let ends = match variable.lies {
            Lies::Between(a, b) | Lies::Triangular(a, b) | Lies::Arcsine(a, b) => [a, b],
            Lies::About(mean, u) => [mean - 3.0 * u, mean + 3.0 * u],
        };
        if variable.varies != Varies::Board {
            continue;
        }
        let (mut down, mut up): (f64, f64) = (0.0, 0.0);
        for end in ends {
            let mut inputs = nominal.to_vec();
            // The quantity comes before all variables.
            let Some(input) = inputs.get_mut(i + 1) else {
                continue;
            };
            *input = end;
            if let Ok(network) = written.small.at(&inputs) {
                let moved = share(&network, hz[1]) - usual;
                if moved.is_finite() {
                    down = down.min(moved);
                    up = up.max(moved);
                }
            }
        }
        below += down;
        above += up;
    }
    low += below;
    high += above;
    Ok((low.max(0.0), high))
}

/// What [`straight`] is made from.
struct Written {
    points: Vec<Straight>,
    /// The same for any inputs: the quantity, then the variables.
    small: SmallSignal,
    variables: Vec<Variable>,
}

fn written(board: &Board, channel: &Channel, nodes: &[Place]) -> Result<Written, Unmodelled> {
    let builder = Builder::new();
    let variables = Variables::new(&builder);
    let watched = RefCell::new(Vec::new());
    let others = RefCell::new(sensor::Others::default());
    let timing = Timing::default();
    if let Some(i) = board.channels.iter().position(|c| c.name == channel.name) {
        others.borrow_mut().begin(i);
    }
    let (low, high) = channel.span.value;
    let middle = 0.5 * (low + high);
    let truth = builder.input("quantity", &channel.unit.symbol, middle);
    let site = Site {
        board,
        channel,
        watched: &watched,
        builder: &builder,
        variables: &variables,
        ambient: builder.constant(TOLERANCE_K),
        instance: "",
        real: true,
        quiet: false,
        trough: false,
        depth: 0,
        measured_rail: None,
        others: &others,
        timing: &timing,
    };
    let site = site.facing(truth);
    let law = site.law()?;
    if matches!(
        law.electrical(),
        Electrical::Reading | Electrical::Frequency
    ) {
        return Err(Unmodelled::new("the sensor has no analog signal"));
    }
    let met = site.met(truth)?;
    let mut network = Network::new(&builder);
    let ends = site.written_with(&mut network, met, Some(SERIES))?;
    let head = ends.head;
    let between = ends.reference;
    let solution = network.solve().map_err(|f| site.unsolved(f))?;
    let found = |place: &Place| match place {
        Place::Head => Ok(head),
        Place::Pin => Ok(ends.plus),
        Place::Named(name) => solution
            .find(name)
            .ok_or_else(|| Unmodelled::new(format!("the network has no node `{name}`"))),
    };
    let nodes: Vec<Node> = nodes.iter().map(found).collect::<Result<_, _>>()?;
    let pair = |(plus, minus): (Node, Node)| Output::Voltage { plus, minus };
    let signal = (ends.plus, ends.minus);
    let mut outputs = vec![pair(signal), pair(between.unwrap_or(signal))];
    outputs.extend(nodes.iter().map(|n| Output::node(*n)));
    let wanted = Wanted {
        outputs: &outputs,
        fed: &nodes,
        noise: false,
    };
    let small = SmallSignal::new(&solution, &wanted).map_err(|f| site.unsolved(f))?;
    let volt = solution.between(ends.plus, ends.minus);
    let reference = match (between, &channel.input) {
        (Some((plus, minus)), _) => Some(solution.between(plus, minus)),
        (None, Some(_)) => Some(site.reference()?),
        (None, None) => None,
    };
    let zero = builder.zero();
    let tape = builder.finish(&[volt, reference.unwrap_or(zero), ends.placed.electrical]);
    let mut list = Vec::new();
    for quantity in [low, middle, high] {
        let mut inputs = tape.nominal_inputs().to_vec();
        if let Some(first) = inputs.first_mut() {
            *first = quantity;
        }
        let mut point = Point::default();
        point.evaluate(&tape, &inputs, Reading::Exact);
        let network = small
            .at(&inputs)
            .map_err(|f| Unmodelled::new(f.to_string()))?;
        let electrical = point.output(&tape, 2);
        list.push(Straight {
            quantity,
            followers: site.followers(
                &network,
                law.electrical(),
                law.is_differential(),
                electrical,
            ),
            network,
            volt: point.output(&tape, 0),
            reference: reference.map(|_| point.output(&tape, 1)),
            is_current: law.electrical() == Electrical::Current,
            head: solution.name(head).to_owned(),
            pin: solution.name(ends.plus).to_owned(),
        });
    }
    Ok(Written {
        points: list,
        small,
        variables: variables.finish(),
    })
}

impl Site<'_, '_> {
    /// Every supply of the board.
    fn supplies(&self) -> Vec<Supply> {
        let rails = (0..self.board.rails.len()).map(Supply::Rail);
        let references = (0..self.board.references.len()).map(Supply::Reference);
        let internal = self
            .board
            .devices
            .iter()
            .enumerate()
            .flat_map(|(d, device)| {
                device
                    .part
                    .converters
                    .iter()
                    .enumerate()
                    .flat_map(move |(u, unit)| {
                        (0..unit.references.len()).map(move |r| Supply::Internal(d, u, r))
                    })
            });
        rails.chain(references).chain(internal).collect()
    }

    /// Where supplies act in the network.
    fn followers(
        &self,
        network: &Linearised,
        electrical: Electrical,
        is_differential: bool,
        value: f64,
    ) -> Vec<Follower> {
        let there = |element: &str| network.find(element, StimulusKind::Voltage).is_some();
        let follower = |element: &str, supply: Supply, factor: f64| Follower {
            element: element.to_owned(),
            kind: StimulusKind::Voltage,
            supply,
            factor,
            amplifier: None,
        };
        let mut list: Vec<Follower> = self
            .supplies()
            .into_iter()
            .filter(|s| there(&self.supply_name(*s)))
            .map(|s| follower(&self.supply_name(s), s, 1.0))
            .collect();
        let sensor = &self.channel.sensor;
        // In a network the circuit itself takes a share of what feeds it.
        if self.network_spec().is_none() {
            let own = match (electrical, sensor.supply, sensor.rail) {
                (Electrical::VoltageRatio, Some(s), _) if is_differential => vec![
                    follower("sensor plus", s, 0.5 * (1.0 + value)),
                    follower("sensor minus", s, 0.5 * (1.0 - value)),
                ],
                (Electrical::VoltageRatio, Some(s), _) => vec![follower("sensor", s, value)],
                (Electrical::Voltage, _, Some(rail)) => {
                    vec![follower("sensor", Supply::Rail(rail), 1.0)]
                }
                _ => Vec::new(),
            };
            list.extend(own.into_iter().filter(|f| there(&f.element)));
        }
        for stage in self.amplifiers() {
            if network
                .find(&stage.path, StimulusKind::InputVoltage)
                .is_none()
            {
                continue;
            }
            for key in ["supply", "negative"] {
                if let Some(supply) = stage.supply(key) {
                    list.push(Follower {
                        element: stage.path.clone(),
                        kind: StimulusKind::InputVoltage,
                        supply: supply.value,
                        factor: 1.0,
                        amplifier: Some(stage.path.clone()),
                    });
                }
            }
        }
        list
    }

    /// Stages and elements with an amplifier, those of the channels in the
    /// same network as well.
    pub(crate) fn amplifiers(&self) -> Vec<&Stage> {
        let mates = self
            .board
            .channels
            .iter()
            .filter(|c| self.channel.network.is_some() && c.network == self.channel.network)
            .filter(|c| c.name != self.channel.name)
            .flat_map(|c| &c.chain);
        self.stages()
            .into_iter()
            .chain(mates)
            .filter(|s| {
                s.part("part")
                    .is_some_and(|p| p.kind.ends_with("amplifier"))
            })
            .collect()
    }
}

/// The supply a converter compares against, if it is one.
#[must_use]
pub fn compared(channel: &Channel) -> Option<Supply> {
    match channel.reference.as_ref().map(|r| &r.value) {
        Some(Against::Supply(s)) => Some(*s),
        _ => None,
    }
}
