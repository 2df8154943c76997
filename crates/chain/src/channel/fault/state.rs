//! What a harmed channel does, at the corners that make it worst.

use std::cell::RefCell;

use circuit::{Element, Network};
use tape::{Builder, Point, Reading, Tape, Value};

use super::guard::{Guard, GuardKind};
use super::{Faulty, Harm};
use crate::channel::site::{Site, TOLERANCE_K};
use crate::channel::{Unmodelled, sensor};
use crate::time::Timing;
use crate::variables::{Kind, Lies, Variable, Variables, Varies};

/// A value as it usually is and how far it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// Lowest found.
    pub low: f64,
    /// With everything nominal.
    pub nominal: f64,
    /// Highest found.
    pub high: f64,
}

/// A pin or an amplifier's input.
#[derive(Clone, Debug, PartialEq)]
pub struct Clamped {
    /// What it is.
    pub kind: GuardKind,
    /// Its name.
    pub name: String,
    /// Its voltage against ground, V.
    pub volt: Extent,
    /// Current into the supply through its own diode, A.
    pub into_supply_a: Extent,
    /// Current out of ground through its own diode, A.
    pub from_ground_a: Extent,
    /// Highest voltage it may stand at, at the corner that leaves least, V.
    pub limit_high_v: f64,
    /// Lowest voltage it may stand at, V.
    pub limit_low_v: f64,
    /// How far it is beyond, at the worst corner, V; below zero within.
    pub beyond_v: f64,
    /// The same with everything nominal, V.
    pub beyond_nominal_v: f64,
    /// Current it may take upwards, A.
    pub rated_high_a: Option<f64>,
    /// Current it may give downwards, A.
    pub rated_low_a: Option<f64>,
    /// Where its voltage limits were read.
    pub source: String,
    /// Where its current ratings were read.
    pub rated_source: String,
}

/// A resistor that turns power into heat.
#[derive(Clone, Debug, PartialEq)]
pub struct Heated {
    /// What it is called.
    pub name: String,
    /// Where it is written.
    pub span: Option<finding::Span>,
    /// Largest power, W.
    pub power_w: f64,
    /// What it may take, W, and where that stands.
    pub rated: Option<(f64, String)>,
}

/// Something of a stage against its rating.
#[derive(Clone, Debug, PartialEq)]
pub struct Rated {
    /// Kind of the check, for example `clamp-current`.
    pub kind: &'static str,
    /// Which stage.
    pub name: String,
    /// Where it is written.
    pub span: Option<finding::Span>,
    /// Largest value.
    pub actual: f64,
    /// What it may be.
    pub limit: f64,
    /// Where the limit was read.
    pub source: String,
}

/// Current that clamps feed into a rail.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RailFed {
    /// The rail.
    pub rail: usize,
    /// The current, A.
    pub ampere: Extent,
}

/// What the firmware sees at one corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// The quantity, SI.
    pub truth: f64,
    /// The whole code.
    pub code: f64,
    /// The reading it makes of it, SI.
    pub reading: f64,
}

/// A harmed channel.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// Voltage the converter sees, V.
    pub volt: Extent,
    /// Voltage of the node the sensor's signal comes in at, V.
    pub head_v: Extent,
    /// Pins and amplifier inputs.
    pub pins: Vec<Clamped>,
    /// Resistors and the sensor.
    pub heated: Vec<Heated>,
    /// Clamps against their ratings.
    pub rated: Vec<Rated>,
    /// Rails that clamps feed.
    pub rails: Vec<RailFed>,
    /// What the firmware sees: everything nominal first, then the corners;
    /// empty without a converter.
    pub seen: Vec<Seen>,
}

/// Checks of a stage that stand for damage.
const DAMAGING: &[&str] = &["clamp-current", "clamp-power"];

/// Where each output of a harmed network stands on its tape.
struct Outputs<'t> {
    list: Vec<Value<'t>>,
    /// Outputs that corners are sought for.
    sought: Vec<usize>,
}

impl<'t> Outputs<'t> {
    fn push(&mut self, value: Value<'t>, sought: bool) -> usize {
        let at = self.list.len();
        self.list.push(value);
        if sought {
            self.sought.push(at);
        }
        at
    }
}

struct GuardPlaces {
    volt: usize,
    high: Option<usize>,
    low: Option<usize>,
    limit_high: usize,
    limit_low: usize,
}

impl Faulty<'_> {
    /// What the channel does with everything in `harms` wrong at once.
    ///
    /// # Errors
    /// There is no such wire, or the harmed network has no solution.
    pub fn state(&self, harms: &[Harm]) -> Result<State, Unmodelled> {
        let builder = Builder::new();
        let variables = Variables::new(&builder);
        let watched = RefCell::new(Vec::new());
        let others = RefCell::new(sensor::Others::default());
        let timing = Timing::default();
        let (low, high) = self.channel.span.value;
        let truth = variables.condition(
            "fault.quantity",
            &self.channel.quantity,
            &self.channel.unit.symbol,
            Site::points(low, high, 3),
            None,
        );
        let site = Site {
            board: self.board,
            channel: self.channel,
            watched: &watched,
            builder: &builder,
            variables: &variables,
            ambient: builder.constant(TOLERANCE_K),
            instance: "",
            real: true,
            quiet: true,
            trough: false,
            depth: 0,
            measured_rail: None,
            others: &others,
            timing: &timing,
        };
        let site = site.facing(truth);
        let mut network = Network::new(&builder);
        let mut written = site.written(&mut network, truth)?;
        for harm in harms {
            self.harm(&site, &mut network, &mut written, harm)?;
        }
        let guards = site.guards(&mut network, &written)?;
        let own_sensor = |name: &str| self.is_sensor(name);
        let solution = network.solve().map_err(|f| site.unsolved(f))?;

        let mut out = Outputs {
            list: Vec::new(),
            sought: Vec::new(),
        };
        let truth_at = out.push(truth, false);
        let volt_at = out.push(solution.between(written.plus, written.minus), true);
        let head_at = out.push(solution.voltage(written.head), false);
        let code_at = match self.channel.input {
            Some(_) => {
                let reference = match written.reference {
                    Some((plus, minus)) => solution.between(plus, minus),
                    None => site.reference()?,
                };
                let volt = solution.between(written.plus, written.minus);
                let ideal = site.ideal_code(volt, reference)?;
                let exact = site.real_code(ideal, reference)?;
                Some(out.push(site.whole_code(exact)?, true))
            }
            None => None,
        };
        let current = |name: &Option<String>| name.as_ref().and_then(|n| solution.current(n));
        let places: Vec<GuardPlaces> = guards
            .iter()
            .map(|g| GuardPlaces {
                volt: out.push(solution.voltage(g.node), true),
                high: current(&g.high).map(|i| out.push(i, true)),
                low: current(&g.low).map(|i| out.push(i, true)),
                limit_high: out.push(g.limit_high, false),
                limit_low: out.push(g.limit_low, false),
            })
            .collect();
        let stages = site.stages();
        let mut heats = Vec::new();
        for (name, element) in solution.elements() {
            if !matches!(element, Element::Resistor { .. }) || name.contains("insulation") {
                continue;
            }
            let Some(power) = solution.power(name) else {
                continue;
            };
            let stage = stages.iter().find(|s| {
                name.strip_prefix(s.path.as_str())
                    .is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
            });
            let (called, span, rated) =
                match stage {
                    _ if own_sensor(name) => (
                        "the sensor".to_owned(),
                        Some(self.channel.sensor.span),
                        self.channel.sensor.figures.get("power").and_then(|f| {
                            Some((f.max.or_else(|| f.typical())?, f.source.to_string()))
                        }),
                    ),
                    Some(s) => {
                        let title = site.stage_name(s);
                        let rest = name
                            .strip_prefix(s.path.as_str())
                            .and_then(|r| r.strip_prefix('.'));
                        let rated = s
                            .valued("power")
                            .map(|p| (p.value.nominal, "the board file".to_owned()));
                        (
                            rest.map_or_else(|| title.clone(), |r| format!("{title}, {r}")),
                            Some(s.span),
                            rated,
                        )
                    }
                    None => continue,
                };
            heats.push((called, span, rated, out.push(power, false)));
        }
        let mut rateds = Vec::new();
        for w in site.of_stages(&solution, &written.ratings, written.placed.plus) {
            if DAMAGING.contains(&w.kind) {
                let (a, l) = (out.push(w.actual, true), out.push(w.limit, false));
                rateds.push((w.kind, w.name, w.span, w.source, a, l));
            }
        }
        // What clamps feed into each rail, those of the chain among them.
        let mut fed = Vec::new();
        for g in &guards {
            if let (Some(rail), Some(i)) = (g.rail, current(&g.high)) {
                fed.push((rail, i));
            }
        }
        for s in stages.iter().filter(|s| s.kind == "clamp") {
            if let (Some(board::Supply::Rail(rail)), Some(i)) = (
                s.supply("to").map(|t| t.value),
                solution.current(&format!("{}.high", s.path)),
            ) {
                fed.push((rail, i));
            }
        }
        let mut feeds: Vec<(usize, Value<'_>)> = Vec::new();
        for (rail, i) in fed {
            match feeds.iter_mut().find(|f| f.0 == rail) {
                Some(f) => f.1 = f.1 + i,
                None => feeds.push((rail, i)),
            }
        }
        let feeds: Vec<(usize, usize)> = feeds
            .into_iter()
            .map(|(rail, i)| (rail, out.push(i, true)))
            .collect();

        let tape = builder.finish(&out.list);
        drop(solution);
        let variables = variables.finish();
        let rows = corners(&tape, &variables, &out.sought);
        let extent = |at: usize| extent_of(&rows, at);
        let at = |row: &[f64], k: usize| row.get(k).copied().unwrap_or(f64::NAN);
        let nothing = Extent {
            low: 0.0,
            nominal: 0.0,
            high: 0.0,
        };
        let pins = guards
            .into_iter()
            .zip(&places)
            .map(|(g, p): (Guard<'_>, &GuardPlaces)| {
                let beyond = |row: &Vec<f64>| {
                    let v = at(row, p.volt);
                    (v - at(row, p.limit_high)).max(at(row, p.limit_low) - v)
                };
                Clamped {
                    kind: g.kind,
                    name: g.name,
                    volt: extent(p.volt),
                    into_supply_a: p.high.map_or(nothing, extent),
                    from_ground_a: p.low.map_or(nothing, extent),
                    limit_high_v: extent(p.limit_high).low,
                    limit_low_v: extent(p.limit_low).high,
                    beyond_v: rows.iter().map(beyond).fold(f64::NEG_INFINITY, f64::max),
                    beyond_nominal_v: rows.first().map_or(f64::NAN, beyond),
                    rated_high_a: g.rated_high_a,
                    rated_low_a: g.rated_low_a,
                    source: g.source,
                    rated_source: g.rated_source,
                }
            })
            .collect();
        Ok(State {
            volt: extent(volt_at),
            head_v: extent(head_at),
            pins,
            heated: heats
                .into_iter()
                .map(|(name, span, rated, k)| Heated {
                    name,
                    span,
                    power_w: extent(k).high,
                    rated,
                })
                .collect(),
            rated: rateds
                .into_iter()
                .map(|(kind, name, span, source, a, l)| Rated {
                    kind,
                    name,
                    span,
                    actual: extent(a).high,
                    limit: extent(l).low,
                    source,
                })
                .collect(),
            rails: feeds
                .into_iter()
                .map(|(rail, k)| RailFed {
                    rail,
                    ampere: extent(k),
                })
                .collect(),
            seen: code_at.map_or_else(Vec::new, |k| {
                let mut known: Vec<(f64, f64)> = Vec::new();
                rows.iter()
                    .map(|row| {
                        let code = at(row, k);
                        let reading = match known.iter().find(|(c, _)| *c == code) {
                            Some(&(_, r)) => r,
                            None => {
                                let r = self.reading(code).unwrap_or(f64::NAN);
                                known.push((code, r));
                                r
                            }
                        };
                        Seen {
                            truth: at(row, truth_at),
                            code,
                            reading,
                        }
                    })
                    .collect()
            }),
        })
    }
}

fn extent_of(rows: &[Vec<f64>], at: usize) -> Extent {
    let of = |row: &Vec<f64>| row.get(at).copied().unwrap_or(f64::NAN);
    Extent {
        low: rows.iter().map(of).fold(f64::INFINITY, f64::min),
        nominal: rows.first().map_or(f64::NAN, of),
        high: rows.iter().map(of).fold(f64::NEG_INFINITY, f64::max),
    }
}

/// Limits of an input.
fn ends(v: &Variable) -> (f64, f64) {
    match v.lies {
        Lies::Between(a, b) | Lies::Triangular(a, b) | Lies::Arcsine(a, b) => (a, b),
        Lies::About(m, u) => (m - 3.0 * u, m + 3.0 * u),
    }
}

/// Corners looked at, with their outputs.
#[derive(Default)]
struct Corners {
    places: Vec<Vec<f64>>,
    values: Vec<Vec<f64>>,
}

impl Corners {
    fn look(&mut self, tape: &Tape, inputs: &[f64], point: &mut Point) {
        if self.places.iter().any(|t| t == inputs) {
            return;
        }
        point.evaluate(tape, inputs, Reading::Exact);
        let outputs = 0..tape.output_count();
        self.values
            .push(outputs.map(|k| point.output(tape, k)).collect());
        self.places.push(inputs.to_vec());
    }
}

/// Outputs with everything nominal, then at corners: the quantity at the ends
/// and the middle of its span with all supplies low, nominal and high, then
/// for each output sought the corner its slopes point to, either way.
fn corners(tape: &Tape, variables: &[Variable], sought: &[usize]) -> Vec<Vec<f64>> {
    let nominal = tape.nominal_inputs().to_vec();
    let mut point = Point::default();
    let mut rows = Corners::default();
    rows.look(tape, &nominal, &mut point);
    let of_supply = |v: &Variable| {
        v.kind == Kind::Supply || (v.varies == Varies::Condition && v.key.starts_with("rails."))
    };
    let own = |v: &Variable| v.key.starts_with("fault.quantity") || v.key == "fault.voltage";
    let set = |inputs: &mut [f64], which: &dyn Fn(&Variable) -> bool, share: f64| {
        for (x, v) in inputs.iter_mut().zip(variables) {
            if which(v) {
                let (low, high) = ends(v);
                *x = low + share * (high - low);
            }
        }
    };
    for quantity in [0.0, 0.5, 1.0] {
        for supply in [0.0, 1.0] {
            let mut inputs = nominal.clone();
            set(&mut inputs, &own, quantity);
            set(&mut inputs, &of_supply, supply);
            rows.look(tape, &inputs, &mut point);
        }
    }
    let mut gradient = vec![0.0; nominal.len()];
    for &k in sought {
        for towards in [1.0, -1.0] {
            // The corner that was worst so far says which way it goes from there.
            let best = rows
                .values
                .iter()
                .enumerate()
                .filter(|(_, r)| r.get(k).is_some_and(|v| v.is_finite()))
                .max_by(|a, b| {
                    let of = |r: &Vec<f64>| r.get(k).copied().unwrap_or(f64::NAN) * towards;
                    of(a.1).total_cmp(&of(b.1))
                })
                .map_or(0, |(i, _)| i);
            let Some(start) = rows.places.get(best).cloned() else {
                continue;
            };
            let mut inputs = start;
            point.evaluate(tape, &inputs, Reading::Smooth);
            point.gradient(tape, k, Reading::Smooth, &mut gradient);
            for ((x, v), g) in inputs.iter_mut().zip(variables).zip(&gradient) {
                if v.varies == Varies::Reading || !v.cornered || *g == 0.0 {
                    continue;
                }
                let (low, high) = ends(v);
                *x = if *g * towards > 0.0 { high } else { low };
            }
            rows.look(tape, &inputs, &mut point);
        }
    }
    rows.values
}
