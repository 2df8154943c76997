//! Who warms whom, and by how much.

use board::{Board, HeatSource, RailSource, Swing, WarmTarget, Warmth};
use finding::Span;
use quantity::Valued;

use crate::rails::{HeatState, Power, ends, limits};

/// Highest temperature of a junction where its part names none, K (common
/// practice: 125 °C).
pub const JUNCTION_K: f64 = 398.15;

/// One source of heat.
#[derive(Clone, Debug, PartialEq)]
pub struct Heat {
    /// Its name; that of the rail for a regulator of which no heat is written.
    pub name: String,
    /// What gets warm, in words.
    pub source: String,
    /// The rail whose regulator it is.
    pub rail: Option<usize>,
    /// Least, usual, most, W.
    pub watt: (f64, f64, f64),
    /// To the ambient, usual and most, K/W; zero where not known.
    pub resistance: (f64, f64),
    /// Where that was read.
    pub resistance_source: String,
    /// How warm it gets inside at the hottest ambient, K; `None` where its
    /// thermal resistance is not known.
    pub junction_k: Option<f64>,
    /// How warm it may get, K.
    pub limit_k: f64,
    /// Where that was read.
    pub limit_source: String,
    /// Largest power that keeps the limit, W.
    pub most_w: Option<f64>,
    /// What it warms.
    pub warms: Vec<Warmed>,
    /// Its place.
    pub span: Span,
}

/// One thing warmed.
#[derive(Clone, Debug, PartialEq)]
pub struct Warmed {
    /// What, in words.
    pub name: String,
    /// Position of the channel whose sensor it is.
    pub channel: Option<usize>,
    /// Least, usual, most, K.
    pub kelvin: (f64, f64, f64),
    /// Where it is written.
    pub span: Span,
}

/// Channels whose sensor is in a device.
pub(crate) fn channels_in(board: &Board, device: usize) -> Vec<usize> {
    let Some(d) = board.devices.get(device) else {
        return Vec::new();
    };
    board
        .channels
        .iter()
        .enumerate()
        .filter(|(_, c)| {
            c.sensor.law == "digital" && c.sensor.part.as_ref().is_some_and(|p| p.id == d.part.id)
        })
        .map(|(i, _)| i)
        .collect()
}

/// Works out every source of heat: those written, then the regulators of which
/// none is written.
#[must_use]
pub fn analyse(board: &Board, power: &Power) -> Vec<Heat> {
    let mut found: Vec<Heat> = board
        .heats
        .iter()
        .enumerate()
        .map(|(i, spec)| {
            let state = power.heats.get(i).copied().unwrap_or_default();
            let (source, rail, part) = named(board, &spec.source);
            let mut heat = judge(board, &spec.name, source, rail, part, state, spec.span);
            if let Some(r) = &spec.resistance {
                let _ = r;
                heat.resistance_source = "the board file".to_owned();
            }
            for w in &spec.warms {
                heat.warms.extend(warmed(board, w, state.watt));
            }
            heat
        })
        .collect();
    for (i, rail) in board.rails.iter().enumerate() {
        let RailSource::Regulator { part, .. } = &rail.source else {
            continue;
        };
        let written = |s: &HeatSource| matches!(s, HeatSource::Rail(r) if *r == i);
        if board.heats.iter().any(|h| written(&h.source)) {
            continue;
        }
        let state = HeatState {
            watt: power.rails.get(i).map_or((0.0, 0.0, 0.0), |r| r.lost_w),
            resistance: part.figure("thermal-resistance").map_or((0.0, 0.0), ends),
        };
        found.push(judge(
            board,
            &rail.name,
            if part.kind == "diode" {
                format!("the diode of {}", rail.name)
            } else {
                format!("the regulator of {}", rail.name)
            },
            Some(i),
            Some(part),
            state,
            rail.span,
        ));
    }
    found
}

fn judge(
    board: &Board,
    name: &str,
    source: String,
    rail: Option<usize>,
    part: Option<&parts::Part>,
    state: HeatState,
    span: Span,
) -> Heat {
    let limit = part.and_then(|p| p.figure("junction-temperature"));
    let limit_k = limit
        .and_then(|f| f.max.or_else(|| f.typical()))
        .unwrap_or(JUNCTION_K);
    let hot = board.conditions.ambient_k.1;
    let ohm = state.resistance.1;
    Heat {
        name: name.to_owned(),
        source,
        rail,
        watt: state.watt,
        resistance: state.resistance,
        resistance_source: part
            .and_then(|p| p.figure("thermal-resistance"))
            .map_or_else(String::new, |f| f.source.to_string()),
        junction_k: (ohm > 0.0).then_some(hot + ohm * state.watt.2),
        limit_k,
        limit_source: limit.map_or_else(|| "common practice".to_owned(), |f| f.source.to_string()),
        most_w: (ohm > 0.0).then_some((limit_k - hot).max(0.0) / ohm),
        warms: Vec::new(),
        span,
    }
}

fn named<'a>(
    board: &'a Board,
    source: &HeatSource,
) -> (String, Option<usize>, Option<&'a parts::Part>) {
    match source {
        HeatSource::Rail(i) => {
            let rail = board.rails.get(*i);
            let part = rail.and_then(|r| match &r.source {
                RailSource::Regulator { part, .. } => Some(part.as_ref()),
                _ => None,
            });
            let name = rail.map_or("", |r| r.name.as_str());
            let what = match rail.map(|r| &r.source) {
                Some(RailSource::Switching { .. }) => "converter",
                Some(RailSource::Regulator { part, .. }) if part.kind == "diode" => "diode",
                _ => "regulator",
            };
            (format!("the {what} of {name}"), Some(*i), part)
        }
        HeatSource::Device(i) => {
            let d = board.devices.get(*i);
            (
                d.map_or_else(String::new, |d| d.name.clone()),
                None,
                d.map(|d| d.part.as_ref()),
            )
        }
        HeatSource::Reference(i) => {
            let r = board.references.get(*i);
            (
                r.map_or_else(String::new, |r| r.name.clone()),
                None,
                r.and_then(|r| r.part.as_deref()),
            )
        }
        HeatSource::Element { path, .. } => (path.clone(), None, None),
        HeatSource::Power(_) => ("a stated power".to_owned(), None, None),
    }
}

/// Least, usual and most kelvin of a warming.
fn kelvin(by: &Warmth, watt: (f64, f64, f64)) -> (f64, f64, f64) {
    let of = |v: &Valued| {
        let (low, high) = limits(v);
        (low, v.nominal, high)
    };
    match by {
        Warmth::PerWatt(v) => {
            let k = of(v);
            (k.0 * watt.0, k.1 * watt.1, k.2 * watt.2)
        }
        Warmth::Rise(v) => of(v),
    }
}

fn warmed(board: &Board, w: &board::Warms, watt: (f64, f64, f64)) -> Vec<Warmed> {
    let kelvin = kelvin(&w.by, watt);
    let one = |name: String, channel: Option<usize>| Warmed {
        name,
        channel,
        kelvin,
        span: w.span,
    };
    match &w.target {
        WarmTarget::Channel(i) => board
            .channels
            .get(*i)
            .map(|c| vec![one(format!("the sensor of {}", c.name), Some(*i))])
            .unwrap_or_default(),
        WarmTarget::Device(i) => {
            let sensors = channels_in(board, *i);
            if sensors.is_empty() {
                let name = board.devices.get(*i).map_or("", |d| d.name.as_str());
                return vec![one(name.to_owned(), None)];
            }
            sensors
                .into_iter()
                .filter_map(|c| {
                    let channel = board.channels.get(c)?;
                    Some(one(format!("the sensor of {}", channel.name), Some(c)))
                })
                .collect()
        }
        WarmTarget::Reference(i) => board
            .references
            .get(*i)
            .map(|r| vec![one(r.name.clone(), None)])
            .unwrap_or_default(),
        WarmTarget::Element(path) => vec![one(path.clone(), None)],
    }
}

/// Writes what heat does to the channels into their surroundings.
pub(crate) fn surround(board: &Board, heats: &[Heat], into: &mut board::Surroundings) {
    for (spec, heat) in board.heats.iter().zip(heats) {
        for w in &spec.warms {
            let (low, usual, high) = kelvin(&w.by, heat.watt);
            // What did not settle is told by itself.
            if ![low, usual, high].iter().all(|k| k.is_finite()) {
                continue;
            }
            let swing = Swing {
                low: low.min(usual),
                usual,
                high: high.max(usual),
                cause: format!("warmed by {}", heat.source),
                span: w.span,
            };
            let mut note = |key: String| {
                into.warming_k.entry(key).or_default().push(swing.clone());
            };
            match &w.target {
                WarmTarget::Element(path) => note(path.clone()),
                WarmTarget::Reference(i) => {
                    if let Some(r) = board.references.get(*i) {
                        note(format!("references.{}", r.name));
                    }
                }
                WarmTarget::Device(i) => {
                    // A device warms with the references inside it.
                    if let Some(d) = board.devices.get(*i) {
                        for u in &d.part.converters {
                            for r in &u.references {
                                note(format!("{}.{}.{}", d.name, u.name, r.name));
                            }
                        }
                    }
                    for c in channels_in(board, *i) {
                        into.sensor_warming_k
                            .entry(c)
                            .or_default()
                            .push(swing.clone());
                    }
                }
                WarmTarget::Channel(c) => {
                    into.sensor_warming_k
                        .entry(*c)
                        .or_default()
                        .push(swing.clone());
                }
            }
        }
    }
}
