//! What a fault destroys.

use board::Board;
use chain::channel::fault::{GuardKind, State};
use finding::Span;

/// Currents no larger than this only leak, A: they destroy nothing, wherever a
/// pin that hangs in the air drifts to (common practice).
pub const LEAKS_A: f64 = 2e-6;
/// What lies no further beyond its limit than this is at it, V.
const AT_V: f64 = 3e-3;
/// Power from which on a resistor of which nothing is stated is called hot, W:
/// what a chip of 1.6 mm by 0.8 mm stands (common practice).
pub const HOT_W: f64 = 0.1;
/// Power no resistor of a signal path stands, if nothing else is stated, W
/// (common practice).
const BURNS_W: f64 = 1.0;

/// What is beyond its rating.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DamageKind {
    /// A pin, beyond its voltage.
    PinVoltage,
    /// A pin, beyond the current its diodes may take.
    PinCurrent,
    /// An amplifier's input, beyond its current.
    InputCurrent,
    /// A clamp, beyond a rating.
    Clamp,
    /// A resistor or the sensor, too hot.
    Power,
    /// A rail, into which more is fed than it uses.
    RailRise,
}

/// One thing beyond its rating.
#[derive(Clone, Debug, PartialEq)]
pub struct Damage {
    /// What.
    pub kind: DamageKind,
    /// Its name.
    pub name: String,
    /// What there is.
    pub actual: f64,
    /// What there may be.
    pub limit: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// Where the limit was read.
    pub source: String,
    /// Where it is written.
    pub span: Option<Span>,
    /// Nothing is stated; the limit is common practice.
    pub assumed: bool,
    /// Only hot, not beyond what anything may bear.
    pub mild: bool,
}

pub(super) fn of(
    board: &Board,
    drawn_a: &[Option<f64>],
    intact: &State,
    state: &State,
) -> Vec<Damage> {
    let mut list = Vec::new();
    for p in &state.pins {
        let up = p.into_supply_a.high;
        let down = p.from_ground_a.high;
        let is_high = p.volt.high - p.limit_high_v >= p.limit_low_v - p.volt.low;
        let (ampere, rated) = if is_high {
            (up, p.rated_high_a)
        } else {
            (down, p.rated_low_a)
        };
        let mut add = |kind, actual, limit, unit, source: &str| {
            list.push(Damage {
                kind,
                name: p.name.clone(),
                actual,
                limit,
                unit,
                source: source.to_owned(),
                span: None,
                assumed: source.contains("common practice"),
                mild: false,
            });
        };
        if p.kind == GuardKind::Amplifier {
            let rated = rated.unwrap_or(f64::INFINITY);
            if ampere > rated {
                add(
                    DamageKind::InputCurrent,
                    ampere,
                    rated,
                    "A",
                    &p.rated_source,
                );
            }
            continue;
        }
        // What only leaks drifts to where its diodes hold it.
        let has_diode = up != 0.0 || !is_high;
        let driven = if has_diode {
            ampere > LEAKS_A
        } else {
            p.beyond_v > AT_V
        };
        if !driven {
            continue;
        }
        match rated.filter(|r| *r > 0.0) {
            Some(rated) if ampere > rated => {
                add(DamageKind::PinCurrent, ampere, rated, "A", &p.rated_source)
            }
            // Within its rated current its voltage may go where that takes it.
            Some(_) if has_diode => {}
            _ if p.beyond_v > AT_V => {
                let (actual, limit) = if is_high {
                    (p.volt.high, p.limit_high_v)
                } else {
                    (p.volt.low, p.limit_low_v)
                };
                add(DamageKind::PinVoltage, actual, limit, "V", &p.source);
            }
            _ => {}
        }
    }
    for r in &state.rated {
        if r.actual > r.limit {
            list.push(Damage {
                kind: DamageKind::Clamp,
                name: r.name.clone(),
                actual: r.actual,
                limit: r.limit,
                unit: if r.kind == "clamp-power" { "W" } else { "A" },
                source: r.source.clone(),
                span: r.span,
                assumed: false,
                mild: false,
            });
        }
    }
    for h in &state.heated {
        let before = intact
            .heated
            .iter()
            .find(|o| o.name == h.name)
            .map_or(0.0, |o| o.power_w);
        if h.power_w <= before * 1.01 {
            continue;
        }
        let (limit, source) = match &h.rated {
            Some((limit, source)) => (*limit, source.clone()),
            None => (
                HOT_W,
                "no rating is stated: 0.1 W, a chip resistor of 1.6 mm × 0.8 mm (common practice)"
                    .to_owned(),
            ),
        };
        if h.power_w > limit {
            list.push(Damage {
                kind: DamageKind::Power,
                name: h.name.clone(),
                actual: h.power_w,
                limit,
                unit: "W",
                source,
                span: h.span,
                assumed: h.rated.is_none(),
                mild: h.rated.is_none() && h.power_w <= BURNS_W,
            });
        }
    }
    for fed in &state.rails {
        let Some(rail) = board.rails.get(fed.rail) else {
            continue;
        };
        if let Some(&Some(drawn)) = drawn_a.get(fed.rail)
            && fed.ampere.high > drawn
        {
            list.push(Damage {
                kind: DamageKind::RailRise,
                name: rail.name.clone(),
                actual: fed.ampere.high,
                limit: drawn,
                unit: "A",
                source: "what is known to draw from the rail, at the least".to_owned(),
                span: Some(rail.load_a.as_ref().map_or(rail.span, |l| l.span)),
                assumed: false,
                mild: false,
            });
        }
    }
    list
}
