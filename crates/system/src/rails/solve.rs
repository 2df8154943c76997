//! Currents and voltages of all rails and the powers that become heat, each
//! depending on others, settled together.

use board::{Board, HeatSource, Rail, RailSource, Supply};
use chain::channel::{SupplyRange, dropout, supply_range};
use parts::Figure;
use quantity::Valued;

use super::loads::{Load, LoadKind, Loads, quiescent};
use crate::graph::{Graph, NodeId, Settled};

/// How long a current must flow to warm a package, s: they take seconds
/// (common practice).
pub const LASTS_S: f64 = 1.0;

/// Temperature that counts as usual, K.
const USUAL_K: f64 = 298.15;

/// Resistance through which a rail is fed, Ω.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Feed {
    /// At its least.
    pub least_ohm: f64,
    /// As usual.
    pub usual_ohm: f64,
    /// At its most, cells at the coldest ambient.
    pub most_ohm: f64,
}

/// A rail as it is under load.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RailState {
    /// Voltage without load, V; `None` where it has none.
    pub free: Option<SupplyRange>,
    /// Resistance through which it is fed.
    pub feed: Feed,
    /// Voltage with its usual load at its usual feed, V.
    pub usual_v: f64,
    /// Voltage with its largest load at its lowest feed, V.
    pub low_v: f64,
    /// Least current, A.
    pub least_a: f64,
    /// Usual current, A.
    pub usual_a: f64,
    /// Largest current, all loads at once, and bursts unless a reservoir on
    /// the rail holds them, A.
    pub most_a: f64,
    /// Largest current that lasts: bursts shorter than [`LASTS_S`] by their
    /// share of time, A.
    pub lasting_a: f64,
    /// Current averaged over time, A.
    pub average_a: f64,
    /// Voltage across the diode that feeds it, least, usual, most, V; zero
    /// without one.
    pub diode_v: (f64, f64, f64),
    /// Power lost in its regulator, least, usual, most, W; zero without one.
    pub lost_w: (f64, f64, f64),
}

impl RailState {
    /// What the load takes off its voltage, V: least, usual, most.
    #[must_use]
    pub fn sag_v(&self) -> (f64, f64, f64) {
        (
            self.least_a * self.feed.least_ohm + self.diode_v.0,
            self.usual_a * self.feed.usual_ohm + self.diode_v.1,
            self.most_a * self.feed.most_ohm + self.diode_v.2,
        )
    }
}

/// Power turned into heat by one source, and how much warmer it gets inside.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HeatState {
    /// Least, usual, most, W.
    pub watt: (f64, f64, f64),
    /// From inside to ambient, K/W, usual and most; zero where not known.
    pub resistance: (f64, f64),
}

/// Everything that depends on everything.
#[derive(Clone, Debug, Default)]
pub struct Power {
    /// By rail.
    pub rails: Vec<RailState>,
    /// By heat of the board file.
    pub heats: Vec<HeatState>,
    /// How it settled.
    pub settled: Settled,
}

/// Nodes of one rail.
#[derive(Clone, Copy)]
struct RailNodes {
    usual_a: NodeId,
    most_a: NodeId,
    lasting_a: NodeId,
    usual_v: NodeId,
    low_v: NodeId,
}

/// Works it out.
#[must_use]
pub fn solve(board: &Board, loads: &Loads) -> Power {
    let free: Vec<Option<SupplyRange>> = (0..board.rails.len())
        .map(|i| supply_range(board, Supply::Rail(i)).ok())
        .collect();
    let feeds: Vec<Feed> = board.rails.iter().map(|r| feed(board, r)).collect();
    let mut graph = Graph::new();
    let nodes: Vec<RailNodes> = board
        .rails
        .iter()
        .zip(&free)
        .map(|(r, f)| {
            let (nominal, low) = f.map_or((0.0, 0.0), |f| (f.nominal_v, f.low_v));
            RailNodes {
                usual_a: graph.node(format!("current of {}", r.name), "A", 0.0),
                most_a: graph.node(format!("largest current of {}", r.name), "A", 0.0),
                lasting_a: graph.node(format!("lasting current of {}", r.name), "A", 0.0),
                usual_v: graph.node(format!("voltage of {}", r.name), "V", nominal),
                low_v: graph.node(format!("lowest voltage of {}", r.name), "V", low),
            }
        })
        .collect();
    for (i, rail) in board.rails.iter().enumerate() {
        let Some(own) = nodes.get(i).copied() else {
            continue;
        };
        for case in [Case::Usual, Case::Most, Case::Lasting] {
            draw(board, loads, &nodes, i, case, &mut graph);
        }
        for usual in [true, false] {
            let (ampere, volt) = own.pair(if usual { Case::Usual } else { Case::Most });
            let Some(range) = free.get(i).copied().flatten() else {
                continue;
            };
            let own_v = if usual { range.nominal_v } else { range.low_v };
            let ohm = feeds
                .get(i)
                .map_or(0.0, |f| if usual { f.usual_ohm } else { f.most_ohm });
            let parent = source_rail(rail)
                .and_then(|p| Some((nodes.get(p)?.volt(usual), free.get(p).copied().flatten()?)));
            let diode = forward(&rail.source);
            let cold = board.conditions.ambient_k.0;
            let mut needs = vec![];
            if ohm > 0.0 || diode.is_some() {
                needs.push(ampere);
            }
            needs.extend(parent.map(|p| p.0));
            let source = &rail.source;
            graph.follows(volt, &needs, move |v| {
                let fed = match (source, parent) {
                    (RailSource::Regulator { .. }, Some((p, _))) if diode.is_some() => {
                        let at = if usual { USUAL_K } else { cold };
                        v[p] - diode.map_or(0.0, |d| forward_v(d, v[ampere], at))
                    }
                    (RailSource::Regulator { part, .. }, Some((p, _))) => {
                        own_v.min(v[p] - dropout(part.figure("dropout"), range.nominal_v))
                    }
                    (RailSource::Direct { .. }, Some((p, _))) => v[p],
                    (RailSource::Divided { .. }, Some((p, of))) => {
                        let free = if usual { of.nominal_v } else { of.low_v };
                        own_v * v[p] / free
                    }
                    _ => own_v,
                };
                if ohm > 0.0 {
                    fed - ohm * v[ampere]
                } else {
                    fed
                }
            });
        }
    }
    let heat_nodes = write_heats(board, loads, &free, &feeds, &nodes, &mut graph);
    let settled = graph.settle();
    let at = |n: NodeId| settled.values.get(n).copied().unwrap_or(f64::NAN);
    let mut rails: Vec<RailState> = nodes
        .iter()
        .enumerate()
        .map(|(i, n)| RailState {
            free: free.get(i).copied().flatten(),
            feed: feeds.get(i).copied().unwrap_or_default(),
            usual_v: at(n.usual_v),
            low_v: at(n.low_v),
            usual_a: at(n.usual_a),
            most_a: at(n.most_a),
            lasting_a: at(n.lasting_a),
            ..RailState::default()
        })
        .collect();
    // What is only passed on needs no ring: rails come after what feeds them.
    for i in (0..board.rails.len()).rev() {
        let list = loads.of_rail.get(i).map_or(&[][..], Vec::as_slice);
        let volt = rails.get(i).map_or(0.0, |r| r.usual_v);
        let high = free.get(i).copied().flatten().map_or(volt, |f| f.high_v);
        let (mut least, mut average) = (0.0, 0.0);
        for l in list {
            least += l.least_a;
            average += l.average_a;
            if l.power_w > 0.0 {
                least += l.power_w / high;
                average += l.power_w / volt;
            }
        }
        for (k, child) in board.rails.iter().enumerate() {
            if source_rail(child) == Some(i)
                && let (Some(c), Some(own)) = (rails.get(k), rails.get(i))
            {
                let taken = passed(child, c, own);
                least += taken[0];
                average += taken[3];
            }
        }
        let lost = lost(board, i, &rails, &feeds);
        if let Some(r) = rails.get_mut(i) {
            r.least_a = least;
            r.average_a = average;
            r.lost_w = lost;
            if let Some(d) = board.rails.get(i).and_then(|rail| forward(&rail.source)) {
                let (cold, hot) = board.conditions.ambient_k;
                r.diode_v = (
                    forward_v(d, r.least_a, hot),
                    forward_v(d, r.usual_a, USUAL_K),
                    forward_v(d, r.most_a, cold),
                );
            }
        }
    }
    let least_of: Vec<f64> = board
        .heats
        .iter()
        .map(|h| least_power(board, loads, &rails, &h.source))
        .collect();
    let heats = heat_nodes
        .into_iter()
        .zip(least_of)
        .map(|((usual, most, resistance), least)| {
            let most = at(most);
            HeatState {
                watt: (least.min(most), at(usual).min(most), most),
                resistance,
            }
        })
        .collect();
    Power {
        rails,
        heats,
        settled,
    }
}

/// Which of its currents.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Case {
    Usual,
    Most,
    Lasting,
}

impl RailNodes {
    /// Current and the voltage it is drawn at.
    fn pair(self, case: Case) -> (NodeId, NodeId) {
        match case {
            Case::Usual => (self.usual_a, self.usual_v),
            Case::Most => (self.most_a, self.low_v),
            Case::Lasting => (self.lasting_a, self.low_v),
        }
    }

    fn volt(self, usual: bool) -> NodeId {
        if usual { self.usual_v } else { self.low_v }
    }
}

impl Load {
    /// What it draws from a rail, which a reservoir may hold.
    fn at(&self, case: Case, held: bool) -> f64 {
        let short = self.kind == LoadKind::Burst && self.lasts_s < LASTS_S;
        match case {
            Case::Usual => self.usual_a,
            Case::Lasting if short => self.average_a,
            Case::Most if held && self.kind == LoadKind::Burst => self.average_a,
            Case::Most | Case::Lasting => self.most_a,
        }
    }
}

/// Writes one of a rail's currents: its loads, and the rails it feeds with what
/// their regulators take.
fn draw<'a>(
    board: &'a Board,
    loads: &Loads,
    nodes: &[RailNodes],
    i: usize,
    case: Case,
    graph: &mut Graph<'a>,
) {
    let (Some(own), Some(rail)) = (nodes.get(i).copied(), board.rails.get(i)) else {
        return;
    };
    let list = loads.of_rail.get(i).map_or(&[][..], Vec::as_slice);
    let (ampere, volt) = own.pair(case);
    let held = rail.power.reservoir.is_some();
    let fixed: f64 = list.iter().map(|l| l.at(case, held)).sum();
    let watt: f64 = list.iter().map(|l| l.power_w).sum();
    let fed: Vec<(&Rail, NodeId, NodeId)> = board
        .rails
        .iter()
        .zip(nodes)
        .filter(|(r, _)| source_rail(r) == Some(i))
        .map(|(r, n)| {
            // A converter takes most at its highest output.
            (r, n.pair(case).0, n.usual_v)
        })
        .collect();
    let mut needs: Vec<NodeId> = fed.iter().map(|f| f.1).collect();
    let by_voltage = |r: &Rail| {
        matches!(
            r.source,
            RailSource::Divided { .. } | RailSource::Switching { .. }
        )
    };
    if watt > 0.0 || fed.iter().any(|f| by_voltage(f.0)) {
        needs.push(volt);
        needs.extend(fed.iter().map(|f| f.2));
    }
    graph.follows(ampere, &needs, move |v| {
        let mut sum = fixed;
        if watt > 0.0 {
            sum += if v[volt] > 0.0 {
                watt / v[volt]
            } else {
                f64::INFINITY
            };
        }
        for &(rail, node, out) in &fed {
            let through = v[node];
            if let RailSource::Switching { efficiency, .. } = &rail.source {
                let share = if case == Case::Usual {
                    efficiency.value.nominal
                } else {
                    limits(&efficiency.value).0
                };
                sum += if v[volt] > 0.0 {
                    v[out] * through / (share * v[volt])
                } else {
                    f64::INFINITY
                };
                continue;
            }
            let (typ, max) = quiescent(&rail.source, through);
            sum += through + if case == Case::Usual { typ } else { max };
            if let RailSource::Divided { top, bottom, .. } = &rail.source {
                sum += v[volt] / (top.value.nominal + bottom.value.nominal);
            }
        }
        sum
    });
}

/// The diode through which a rail is fed.
fn forward(source: &RailSource) -> Option<&parts::Part> {
    match source {
        RailSource::Regulator { part, .. } if part.kind == "diode" => Some(part),
        _ => None,
    }
}

/// Voltage across a diode at a current and a temperature, V: by its curve at
/// 25 °C and its `forward-drift`.
fn forward_v(diode: &parts::Part, ampere: f64, kelvin: f64) -> f64 {
    let figure = diode.figure("forward-voltage");
    let volt = figure
        .and_then(|f| f.at(ampere).or(f.max).or_else(|| f.typical()))
        .unwrap_or(0.0);
    let drift = diode
        .figure("forward-drift")
        .and_then(Figure::typical)
        .unwrap_or(0.0);
    volt + drift * (kelvin - USUAL_K)
}

/// What a rail takes from the rail that feeds it: least, usual, most and on
/// average, A.
#[must_use]
pub fn passed(child: &Rail, c: &RailState, parent: &RailState) -> [f64; 4] {
    if let RailSource::Switching { efficiency, .. } = &child.source {
        let (low, high) = limits(&efficiency.value);
        let through = |ampere: f64, share: f64, volt: f64| c.usual_v * ampere / (share * volt);
        let top = parent.free.map_or(parent.usual_v, |f| f.high_v);
        return [
            through(c.least_a, high, top),
            through(c.usual_a, efficiency.value.nominal, parent.usual_v),
            through(c.most_a, low, parent.low_v),
            through(c.average_a, efficiency.value.nominal, parent.usual_v),
        ];
    }
    let bleed = match &child.source {
        RailSource::Divided { top, bottom, .. } => {
            parent.usual_v / (top.value.nominal + bottom.value.nominal)
        }
        _ => 0.0,
    };
    let own = |ampere: f64| quiescent(&child.source, ampere);
    [
        c.least_a + bleed,
        c.usual_a + own(c.usual_a).0 + bleed,
        c.most_a + own(c.most_a).1 + bleed,
        c.average_a + own(c.average_a).0 + bleed,
    ]
}

/// The rail that feeds another.
#[must_use]
pub fn source_rail(rail: &Rail) -> Option<usize> {
    match &rail.source {
        RailSource::External => None,
        RailSource::Regulator { from, .. }
        | RailSource::Direct { from }
        | RailSource::Switching { from, .. }
        | RailSource::Divided { from, .. } => Some(*from),
    }
}

/// Least and most of a value with its tolerance.
#[must_use]
pub fn limits(v: &Valued) -> (f64, f64) {
    v.tolerance
        .map_or((v.nominal, v.nominal), |t| t.limits(v.nominal))
}

fn feed(board: &Board, rail: &Rail) -> Feed {
    let mut feed = Feed::default();
    let mut add = |low: f64, usual: f64, high: f64| {
        feed.least_ohm += low.max(0.0);
        feed.usual_ohm += usual;
        feed.most_ohm += high;
    };
    if let Some(r) = &rail.power.source_resistance {
        let (low, high) = limits(&r.value);
        add(low, r.value.nominal, high);
    }
    if let Some(c) = &rail.power.connector
        && let Some(r) = &c.contact
    {
        let (low, high) = limits(&r.value);
        let pins = f64::from(c.pins.max(1));
        add(low / pins, r.value.nominal / pins, high / pins);
    }
    if let Some(c) = &rail.power.cable
        && let Some((per_m, _)) = crate::wire::ohm_per_m(c)
    {
        // There and back.
        let ohm = 2.0 * per_m * c.length_m.value.nominal;
        let (cold, hot) = board.conditions.ambient_k;
        let at = |kelvin: f64| ohm * crate::wire::copper_at(kelvin);
        add(at(cold), at(USUAL_K.clamp(cold, hot)), at(hot));
    }
    if let Some(b) = &rail.power.battery {
        let (cold, hot) = board.conditions.ambient_k;
        let (at_cold, at_hot) = (b.ohm_at(cold), b.ohm_at(hot));
        add(
            at_cold.min(at_hot),
            b.ohm_at(USUAL_K.clamp(cold, hot)),
            at_cold.max(at_hot),
        );
    }
    feed
}

/// Power lost in the regulator of a rail: (input − output)·I + input·Iq, least,
/// usual and most, W.
fn lost(board: &Board, i: usize, rails: &[RailState], feeds: &[Feed]) -> (f64, f64, f64) {
    let none = (0.0, 0.0, 0.0);
    let Some(rail) = board.rails.get(i) else {
        return none;
    };
    if let (RailSource::Switching { efficiency, .. }, Some(own)) = (&rail.source, rails.get(i)) {
        let (low, high) = limits(&efficiency.value);
        let of = |ampere: f64, share: f64| own.usual_v * ampere * (1.0 / share - 1.0);
        return (
            of(own.least_a, high),
            of(own.usual_a, efficiency.value.nominal),
            of(own.lasting_a, low),
        );
    }
    if let (Some(d), Some(own)) = (forward(&rail.source), rails.get(i)) {
        let (cold, hot) = board.conditions.ambient_k;
        let of = |ampere: f64, kelvin: f64| ampere * forward_v(d, ampere, kelvin);
        return (
            of(own.least_a, hot),
            of(own.usual_a, USUAL_K),
            of(own.lasting_a, cold),
        );
    }
    let RailSource::Regulator { from, .. } = &rail.source else {
        return none;
    };
    let (Some(own), Some(fed), Some(feed)) = (rails.get(i), rails.get(*from), feeds.get(*from))
    else {
        return none;
    };
    let (Some(out), Some(input)) = (own.free, fed.free) else {
        return none;
    };
    let of = |input: f64, output: f64, ampere: f64, own: f64| {
        (input - output).max(0.0) * ampere + input * own
    };
    let high = (input.high_v - fed.lasting_a * feed.least_ohm).max(0.0);
    (
        of(fed.low_v, out.high_v, own.least_a, 0.0),
        of(
            fed.usual_v,
            own.usual_v,
            own.usual_a,
            quiescent(&rail.source, own.usual_a).0,
        ),
        of(
            high,
            out.low_v,
            own.lasting_a,
            quiescent(&rail.source, own.lasting_a).1,
        ),
    )
}

type HeatNodes = (NodeId, NodeId, (f64, f64));

fn write_heats<'a>(
    board: &'a Board,
    loads: &'a Loads,
    free: &[Option<SupplyRange>],
    feeds: &[Feed],
    nodes: &[RailNodes],
    graph: &mut Graph<'a>,
) -> Vec<HeatNodes> {
    let mut made = Vec::new();
    for heat in &board.heats {
        let resistance = thermal(board, heat);
        let usual = graph.node(format!("power of {}", heat.name), "W", 0.0);
        let most = graph.node(format!("largest power of {}", heat.name), "W", 0.0);
        for (node, is_usual) in [(usual, true), (most, false)] {
            let rise = graph.node(
                format!(
                    "{}warming of {}",
                    if is_usual { "" } else { "largest " },
                    heat.name
                ),
                "K",
                0.0,
            );
            let ohm = if is_usual { resistance.0 } else { resistance.1 };
            graph.follows(rise, &[node], move |v| ohm * v[node]);
            let drift = heat.power_drift_per_k;
            let grown = move |watt: f64, v: &[f64]| {
                if drift == 0.0 {
                    watt
                } else {
                    watt * (1.0 + drift * v[rise])
                }
            };
            let mut needs = if drift == 0.0 { vec![] } else { vec![rise] };
            match &heat.source {
                HeatSource::Rail(i) => {
                    let Some(rail) = board.rails.get(*i) else {
                        continue;
                    };
                    let (Some(own), Some(parent)) = (
                        nodes.get(*i).copied(),
                        source_rail(rail).and_then(|p| {
                            Some((
                                nodes.get(p)?,
                                free.get(p).copied().flatten()?,
                                feeds.get(p)?,
                            ))
                        }),
                    ) else {
                        continue;
                    };
                    let case = if is_usual { Case::Usual } else { Case::Lasting };
                    let (ampere, out) = own.pair(case);
                    let (fed_a, fed_v) = parent.0.pair(case);
                    if let RailSource::Switching { efficiency, .. } = &rail.source {
                        let share = if is_usual {
                            efficiency.value.nominal
                        } else {
                            limits(&efficiency.value).0
                        };
                        let volt = own.usual_v;
                        needs.extend([ampere, volt]);
                        graph.follows(node, &needs, move |v| {
                            grown(v[volt] * v[ampere] * (1.0 / share - 1.0), v)
                        });
                        continue;
                    }
                    let (high, least_ohm) = (parent.1.high_v, parent.2.least_ohm);
                    let low_out = free.get(*i).copied().flatten().map_or(0.0, |f| f.low_v);
                    needs.extend([ampere, out, fed_a, fed_v]);
                    graph.follows(node, &needs, move |v| {
                        let own = quiescent(&rail.source, v[ampere]);
                        let watt = if is_usual {
                            (v[fed_v] - v[out]).max(0.0) * v[ampere] + v[fed_v] * own.0
                        } else {
                            let input = (high - least_ohm * v[fed_a]).max(0.0);
                            (input - low_out).max(0.0) * v[ampere] + input * own.1
                        };
                        grown(watt, v)
                    });
                }
                source => {
                    let watt = plain_power(board, loads, free, source, is_usual);
                    graph.follows(node, &needs, move |v| grown(watt, v));
                }
            }
        }
        made.push((usual, most, resistance));
    }
    made
}

/// Power of what is no regulator, as usual or at most, W.
fn plain_power(
    board: &Board,
    loads: &Loads,
    free: &[Option<SupplyRange>],
    source: &HeatSource,
    usual: bool,
) -> f64 {
    let fed = |rail: Option<usize>, name: &str, kind: LoadKind| {
        let rail = rail?;
        let range = free.get(rail).copied().flatten()?;
        let volt = if usual { range.nominal_v } else { range.high_v };
        let load = loads
            .of_rail
            .get(rail)?
            .iter()
            .find(|l| l.kind == kind && l.name == name)?;
        Some(volt * if usual { load.average_a } else { load.most_a })
    };
    let found = match source {
        HeatSource::Rail(_) => None,
        HeatSource::Device(i) => board
            .devices
            .get(*i)
            .and_then(|d| fed(d.supply, &d.name, LoadKind::Device)),
        HeatSource::Reference(i) => board
            .references
            .get(*i)
            .and_then(|r| fed(r.supply, &r.name, LoadKind::Reference)),
        HeatSource::Element { path, .. } => loads
            .power_of(path)
            .map(|(low, high)| if usual { 0.5 * (low + high) } else { high }),
        HeatSource::Power(v) => Some(if usual {
            v.value.nominal
        } else {
            limits(&v.value).1
        }),
    };
    found.unwrap_or(0.0)
}

fn least_power(board: &Board, loads: &Loads, rails: &[RailState], source: &HeatSource) -> f64 {
    match source {
        HeatSource::Rail(i) => rails.get(*i).map_or(0.0, |r| r.lost_w.0),
        HeatSource::Power(v) => limits(&v.value).0,
        HeatSource::Element { path, .. } => loads.power_of(path).map_or(0.0, |p| p.0),
        HeatSource::Device(i) => board
            .devices
            .get(*i)
            .and_then(|d| {
                let rail = d.supply?;
                let range = rails.get(rail)?.free?;
                let load = loads.of_rail.get(rail)?;
                let load = load
                    .iter()
                    .find(|l| l.kind == LoadKind::Device && l.name == d.name)?;
                Some(range.low_v * load.least_a)
            })
            .unwrap_or(0.0),
        HeatSource::Reference(_) => 0.0,
    }
}

/// Thermal resistance from the inside of a source to the ambient, usual and
/// most, K/W; zero where nothing is known.
fn thermal(board: &Board, heat: &board::HeatSpec) -> (f64, f64) {
    if let Some(r) = &heat.resistance {
        return (r.value.nominal, limits(&r.value).1);
    }
    let figure = |part: &parts::Part| part.figure("thermal-resistance").cloned();
    let found = match &heat.source {
        HeatSource::Rail(i) => board.rails.get(*i).and_then(|r| match &r.source {
            RailSource::Regulator { part, .. } => figure(part),
            _ => None,
        }),
        HeatSource::Device(i) => board.devices.get(*i).and_then(|d| figure(&d.part)),
        HeatSource::Reference(i) => board
            .references
            .get(*i)
            .and_then(|r| figure(r.part.as_ref()?)),
        HeatSource::Element { .. } | HeatSource::Power(_) => None,
    };
    found.as_ref().map_or((0.0, 0.0), ends)
}

/// Usual and most of a figure.
#[must_use]
pub fn ends(f: &Figure) -> (f64, f64) {
    let usual = f.typical().unwrap_or(0.0);
    (usual, f.max.unwrap_or(usual))
}
