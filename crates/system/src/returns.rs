//! Currents that share their way back: the voltage between two grounds.

use board::{Board, ReturnCurrent, ReturnSpec, Swing};
use finding::Span;

use crate::rails::{LoadKind, Loads, Power, limits};
use crate::wire;

/// One way by which currents return.
#[derive(Clone, Debug, PartialEq)]
pub struct Return {
    /// Its name.
    pub name: String,
    /// Pieces of its resistance in series: what, Ω, where read.
    pub pieces: Vec<(String, f64, String)>,
    /// Resistance, least, usual, most, Ω.
    pub ohm: (f64, f64, f64),
    /// Current, least, usual, most, A.
    pub ampere: (f64, f64, f64),
    /// Shift of the far ground, V.
    pub volt: (f64, f64, f64),
    /// Channels whose sensors stand beyond it.
    pub channels: Vec<usize>,
    /// Share of the shift that is left in them.
    pub left: f64,
    /// Its place.
    pub span: Span,
}

/// Works out every return.
#[must_use]
pub fn analyse(board: &Board, loads: &Loads, power: &Power) -> Vec<Return> {
    board
        .returns
        .iter()
        .map(|spec| of(board, loads, power, spec))
        .collect()
}

fn of(board: &Board, loads: &Loads, power: &Power, spec: &ReturnSpec) -> Return {
    let mut pieces = Vec::new();
    let (mut low, mut usual, mut high) = (0.0, 0.0, 0.0);
    let mut add = |name: &str, (a, b, c): (f64, f64, f64), source: String| {
        low += a;
        usual += b;
        high += c;
        pieces.push((name.to_owned(), b, source));
    };
    // Copper follows the ambient.
    let (cold, hot) = board.conditions.ambient_k;
    let copper = |at_20: f64| {
        let at = |kelvin: f64| at_20 * wire::copper_at(kelvin);
        (at(cold), at(298.15_f64.clamp(cold, hot)), at(hot))
    };
    if let Some(r) = &spec.resistance {
        let (a, c) = limits(&r.value);
        add(
            "stated",
            (a, r.value.nominal, c),
            "the board file".to_owned(),
        );
    }
    if let Some(c) = &spec.copper {
        add(
            "copper",
            copper(wire::copper_ohm(c)),
            "copper at 20 °C, IEC 60028".to_owned(),
        );
    }
    if let Some(c) = &spec.cable
        && let Some((per_m, source)) = wire::ohm_per_m(c)
    {
        add("cable", copper(per_m * c.length_m.value.nominal), source);
    }
    if let Some(c) = &spec.connector {
        let pins = f64::from(c.pins.max(1));
        let (ohm, source) = match &c.contact {
            Some(r) => {
                let (a, b) = limits(&r.value);
                ((a, r.value.nominal, b), "the board file")
            }
            None => (
                (CONTACT_OHM, CONTACT_OHM, CONTACT_OHM),
                "at most, of a 2.54 mm socket header",
            ),
        };
        add(
            "contacts",
            (ohm.0 / pins, ohm.1 / pins, ohm.2 / pins),
            source.to_owned(),
        );
    }
    let mut ampere = (0.0, 0.0, 0.0);
    for current in &spec.currents {
        let (a, b, c) = flowing(board, loads, power, current);
        ampere = (ampere.0 + a, ampere.1 + b, ampere.2 + c);
    }
    Return {
        name: spec.name.clone(),
        pieces,
        ohm: (low, usual, high),
        ampere,
        volt: (low * ampere.0, usual * ampere.1, high * ampere.2),
        channels: spec.channels.clone(),
        left: spec.left.as_ref().map_or(1.0, |s| s.value),
        span: spec.span,
    }
}

/// Resistance of a contact of which nothing is written, Ω: the most a maker
/// allows a 2.54 mm socket header.
const CONTACT_OHM: f64 = 0.02;

/// Least, usual and most of a current, A.
fn flowing(
    board: &Board,
    loads: &Loads,
    power: &Power,
    current: &ReturnCurrent,
) -> (f64, f64, f64) {
    let of = |rail: Option<usize>, kind: LoadKind, name: &str| {
        let list = loads.of_rail.get(rail?)?;
        let load = list.iter().find(|l| l.kind == kind && l.name == name)?;
        Some((load.least_a, load.usual_a, load.most_a))
    };
    let found = match current {
        ReturnCurrent::Stated((low, high), _) => Some((*low, 0.5 * (low + high), *high)),
        ReturnCurrent::Rail(i, _) => power.rails.get(*i).map(|r| {
            let off = board.rails.get(*i).is_some_and(|r| r.power.switched);
            (if off { 0.0 } else { r.least_a }, r.usual_a, r.most_a)
        }),
        ReturnCurrent::Device(i, _) => board
            .devices
            .get(*i)
            .and_then(|d| of(d.supply, LoadKind::Device, &d.name)),
        ReturnCurrent::Sensor(i, _) => board.channels.get(*i).and_then(|c| {
            let f = c.sensor.figures.get("supply-current")?;
            let usual = f.typical()?;
            Some((f.min.unwrap_or(usual), usual, f.max.unwrap_or(usual)))
        }),
    };
    found.unwrap_or((0.0, 0.0, 0.0))
}

/// Writes what shared returns do to the channels into their surroundings.
pub(crate) fn surround(returns: &[Return], into: &mut board::Surroundings) {
    for r in returns {
        let (low, usual, high) = r.volt;
        // What did not settle is told by itself.
        if ![low, usual, high].iter().all(|v| v.is_finite()) {
            continue;
        }
        let swing = Swing {
            low: low.min(usual) * r.left,
            usual: usual * r.left,
            high: high.max(usual) * r.left,
            cause: format!("ground shift by {}", r.name),
            span: r.span,
        };
        for &c in &r.channels {
            into.foot_v.entry(c).or_default().push(swing.clone());
        }
    }
}
