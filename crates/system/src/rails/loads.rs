//! What draws from each rail, from parts, circuits and the board file.

use board::{Board, LinkKind, RailSource, Supply};
use chain::channel::Drawn;
use finding::Span;
use parts::Figure;

use super::solve::limits;

/// What kind of load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadKind {
    /// A controller, a converter, a digital part.
    Device,
    /// A reference part.
    Reference,
    /// A sensor fed from the rail.
    Sensor,
    /// An amplifier's own supply.
    Amplifier,
    /// What flows through the resistors of a channel.
    Circuit,
    /// Pull-ups of a link.
    PullUp,
    /// A current or power that the board file states.
    Stated,
    /// A current drawn for a while, again and again.
    Burst,
    /// Another rail.
    Rail,
}

/// One load of a rail.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// What it is.
    pub name: String,
    /// Which kind.
    pub kind: LoadKind,
    /// Least it draws, A.
    pub least_a: f64,
    /// What it draws as usual, A.
    pub usual_a: f64,
    /// Most it draws, A.
    pub most_a: f64,
    /// What it draws averaged over time, A.
    pub average_a: f64,
    /// Power it takes whatever the voltage, W; then the currents follow from
    /// it.
    pub power_w: f64,
    /// How long a burst lasts, s; zero of what is no burst.
    pub lasts_s: f64,
    /// The most is a typical figure, no bound.
    pub typical_only: bool,
    /// Where the figure was read.
    pub source: String,
    /// Where the load is written.
    pub span: Span,
}

impl Load {
    fn new(name: &str, kind: LoadKind, (least, usual, most): (f64, f64, f64), span: Span) -> Self {
        Load {
            name: name.to_owned(),
            kind,
            least_a: least,
            usual_a: usual,
            most_a: most,
            average_a: usual,
            power_w: 0.0,
            lasts_s: 0.0,
            typical_only: false,
            source: "the board file".to_owned(),
            span,
        }
    }
}

/// Least, usual and most of a figure of a current.
fn of_figure(f: &Figure) -> Option<(f64, f64, f64)> {
    let usual = f.typical()?;
    Some((
        f.min.unwrap_or(0.0).max(0.0).min(usual),
        usual,
        f.max.unwrap_or(usual).max(usual),
    ))
}

fn figure_load(name: &str, kind: LoadKind, f: &Figure, span: Span) -> Option<Load> {
    let mut load = Load::new(name, kind, of_figure(f)?, span);
    load.typical_only = f.max.is_none();
    load.source = f.source.to_string();
    Some(load)
}

/// The loads of every rail but the rails it feeds, and the circuits of all
/// channels, for those that ask for their powers.
#[derive(Clone, Debug, Default)]
pub struct Loads {
    /// By rail.
    pub of_rail: Vec<Vec<Load>>,
    /// What the circuits of channels and networks draw.
    pub circuits: Vec<Drawn>,
    /// Devices of which nothing says what they draw: rail and device.
    pub unknown: Vec<(usize, usize)>,
}

impl Loads {
    /// Least and most power in the component whose value has this path, W.
    #[must_use]
    pub fn power_of(&self, path: &str) -> Option<(f64, f64)> {
        self.circuits.iter().find_map(|c| c.power_of(path))
    }
}

/// Gathers them.
#[must_use]
pub fn gather(board: &Board) -> Loads {
    let mut of_rail: Vec<Vec<Load>> = vec![Vec::new(); board.rails.len()];
    let mut add = |rail: usize, load: Load| {
        if let Some(list) = of_rail.get_mut(rail) {
            list.push(load);
        }
    };
    let mut unknown = Vec::new();
    for (at, device) in board.devices.iter().enumerate() {
        let Some(rail) = device.supply else { continue };
        let draws = &device.draws;
        let stated = draws.current_a.as_ref().map(|c| {
            let (least, most) = c.value;
            Load::new(
                &device.name,
                LoadKind::Device,
                (least, 0.5 * (least + most), most),
                c.span,
            )
        });
        let figure = device.part.figure("supply-current").or_else(|| {
            device
                .part
                .converters
                .iter()
                .find_map(|u| u.figure("supply-current"))
        });
        // What its converter draws is not what a controller draws.
        let whole = device.part.figure("supply-current").is_some()
            || device.part.kind == "converter" && figure.is_some();
        if stated.is_none() && !whole {
            unknown.push((rail, at));
        }
        let load = stated.or_else(|| {
            figure.and_then(|f| figure_load(&device.name, LoadKind::Device, f, device.span))
        });
        if let Some(mut load) = load {
            if let Some(duty) = &draws.duty {
                let standby = draws.standby_a.as_ref().map(|s| s.value).or_else(|| {
                    device
                        .part
                        .figure("standby-current")
                        .and_then(Figure::typical)
                });
                let idle = standby.unwrap_or(0.0);
                load.average_a = load.usual_a * duty.value + idle * (1.0 - duty.value);
                load.least_a = load.least_a.min(idle);
            }
            add(rail, load);
        }
        for burst in &draws.bursts {
            add(rail, burst_load(burst));
        }
    }
    for reference in &board.references {
        let (Some(rail), Some(part)) = (reference.supply, &reference.part) else {
            continue;
        };
        let load = reference.load_a.as_ref().map_or(0.0, |l| l.value);
        if part.kind == "shunt-reference" {
            // The resistor decides, whatever the reference and its load share.
            let (Some(series), Some(volt)) = (
                &reference.series,
                part.figure("voltage").and_then(Figure::typical),
            ) else {
                continue;
            };
            let feed = nominal(board, rail).unwrap_or(0.0);
            let ampere = ((feed - volt) / series.value.nominal).max(0.0);
            if ampere.is_finite() {
                let each = (ampere, ampere, ampere);
                add(
                    rail,
                    Load::new(&reference.name, LoadKind::Reference, each, reference.span),
                );
            }
            continue;
        }
        if let Some(f) = part.figure("supply-current")
            && let Some(mut found) =
                figure_load(&reference.name, LoadKind::Reference, f, reference.span)
        {
            found.least_a += load;
            found.usual_a += load;
            found.most_a += load;
            found.average_a += load;
            add(rail, found);
        }
    }
    let mut seen: Vec<(String, String)> = Vec::new();
    for channel in &board.channels {
        for stage in &channel.chain {
            let (Some(part), Some(rail)) = (
                stage.part("part"),
                stage.supply("supply").and_then(|s| rail_of(s.value)),
            ) else {
                continue;
            };
            if let Some(f) = part.figure("supply-current")
                && let Some(load) = figure_load(
                    &format!("{} of {}", part.id, channel.name),
                    LoadKind::Amplifier,
                    f,
                    stage.span,
                )
            {
                add(rail, load);
            }
        }
        let sensor = &channel.sensor;
        let Some(Supply::Rail(rail)) = sensor.supply else {
            continue;
        };
        let Some(f) = sensor.figures.get("supply-current") else {
            continue;
        };
        // Several quantities of one digital part are one part.
        let id = sensor.part.as_ref().map_or("", |p| p.id.as_str());
        let one = (id.to_owned(), sensor.measure.clone().unwrap_or_default());
        let again = sensor.law == "digital" && seen.iter().any(|s| s.0 == one.0 && s.1 != one.1);
        if sensor.law == "digital" && board.devices.iter().any(|d| d.part.id == id) {
            continue;
        }
        seen.push(one);
        if again {
            continue;
        }
        if let Some(load) = figure_load(
            &format!("sensor of {}", channel.name),
            LoadKind::Sensor,
            f,
            sensor.span,
        ) {
            add(rail, load);
        }
    }
    let mut networks: Vec<usize> = Vec::new();
    let mut circuits: Vec<Drawn> = Vec::new();
    for channel in &board.channels {
        if let Some(n) = channel.network {
            // The first channel of a network answers for all of it.
            if networks.contains(&n) {
                continue;
            }
            networks.push(n);
        }
        let Ok(drawn) = chain::channel::drawn(board, channel) else {
            continue;
        };
        for &(supply, low, high) in &drawn.supplies {
            let Some(rail) = feeding(board, supply) else {
                continue;
            };
            if high <= 0.0 || high < 1e-9 {
                continue;
            }
            let name = match channel.network.and_then(|n| board.networks.get(n)) {
                Some(n) => format!("network {}", n.name),
                None => format!("circuit of {}", channel.name),
            };
            let ends = (low.max(0.0), 0.5 * (low.max(0.0) + high), high);
            add(
                rail,
                Load {
                    source: "node voltages of the circuit".to_owned(),
                    ..Load::new(&name, LoadKind::Circuit, ends, channel.place)
                },
            );
        }
        circuits.push(drawn);
    }
    for link in &board.links {
        let rail = link.supply.as_ref().map(|s| s.value).or_else(|| {
            let controller = link.controller.as_ref()?;
            board.devices.get(controller.device)?.supply
        });
        let Some((rail, lines)) = rail.zip(pulled_lines(link.kind)) else {
            continue;
        };
        let members = link.members.iter().filter_map(|m| m.pull_up.as_ref());
        let siemens: f64 = link
            .pull_ups
            .iter()
            .chain(members)
            .map(|r| 1.0 / limits(&r.value).0)
            .filter(|s| s.is_finite() && *s > 0.0)
            .sum();
        let volt = nominal(board, rail).unwrap_or(0.0);
        let ampere = lines * volt * siemens;
        if ampere > 0.0 {
            // A line draws while it is low: none at rest, half of the time on a
            // busy one (common practice).
            add(
                rail,
                Load {
                    source: "all lines of the link low".to_owned(),
                    ..Load::new(
                        &format!("pull-ups of {}", link.name),
                        LoadKind::PullUp,
                        (0.0, 0.5 * ampere, ampere),
                        link.span,
                    )
                },
            );
        }
    }
    for (i, rail) in board.rails.iter().enumerate() {
        let name = format!("stated load of {}", rail.name);
        if let Some(load) = &rail.load_a {
            let each = (load.value, load.value, load.value);
            add(i, Load::new(&name, LoadKind::Stated, each, load.span));
        }
        if let Some(power) = &rail.power.load_w {
            add(
                i,
                Load {
                    power_w: power.value,
                    ..Load::new(&name, LoadKind::Stated, (0.0, 0.0, 0.0), power.span)
                },
            );
        }
        for one in &rail.power.loads {
            let (least, most) = one.current_a;
            let usual = 0.5 * (least + most);
            let sometimes = one.duty < 1.0;
            add(
                i,
                Load {
                    average_a: usual * one.duty,
                    ..Load::new(
                        &one.name,
                        LoadKind::Stated,
                        (if sometimes { 0.0 } else { least }, usual, most),
                        one.span,
                    )
                },
            );
        }
        for burst in &rail.power.bursts {
            add(i, burst_load(burst));
        }
    }
    Loads {
        of_rail,
        circuits,
        unknown,
    }
}

/// Lines of a link that pull-ups hold high.
fn pulled_lines(kind: LinkKind) -> Option<f64> {
    match kind {
        LinkKind::I2c => Some(2.0),
        LinkKind::SingleWire => Some(1.0),
        LinkKind::Spi | LinkKind::Uart | LinkKind::Wire => None,
    }
}

fn burst_load(burst: &board::Burst) -> Load {
    let average = burst.current_a * burst.duty();
    Load {
        average_a: average,
        lasts_s: burst.for_s,
        ..Load::new(
            &burst.name,
            LoadKind::Burst,
            (0.0, average, burst.current_a),
            burst.span,
        )
    }
}

fn rail_of(supply: Supply) -> Option<usize> {
    match supply {
        Supply::Rail(i) => Some(i),
        _ => None,
    }
}

/// The rail a supply's current comes from in the end: a series reference
/// passes on what it gives. A shunt reference's resistor is counted by itself.
fn feeding(board: &Board, supply: Supply) -> Option<usize> {
    match supply {
        Supply::Rail(i) => Some(i),
        Supply::Reference(i) => {
            let r = board.references.get(i)?;
            let shunt = r.part.as_ref().is_some_and(|p| p.kind == "shunt-reference");
            r.supply.filter(|_| !shunt)
        }
        Supply::Ground | Supply::Internal(..) => None,
    }
}

/// Nominal voltage of a rail, V.
fn nominal(board: &Board, rail: usize) -> Option<f64> {
    chain::channel::supply_range(board, Supply::Rail(rail))
        .ok()
        .map(|r| r.nominal_v)
}

/// What a regulator takes for itself at a load, usual and most, A; zero where
/// nothing is printed.
#[must_use]
pub fn quiescent(source: &RailSource, load_a: f64) -> (f64, f64) {
    let RailSource::Regulator { part, .. } = source else {
        return (0.0, 0.0);
    };
    let Some(f) = part.figure("quiescent-current") else {
        return (0.0, 0.0);
    };
    let f = f.at_variable(load_a);
    let usual = f.typical().unwrap_or(0.0);
    let most = f.max.unwrap_or(usual);
    (usual.min(most), most)
}
