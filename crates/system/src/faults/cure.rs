//! What to do about a fault, with its value and its price.

use board::{Board, Supply};
use chain::channel::fault::{Faulty, Harm, State};
use quantity::Series as Preferred;

use super::list::supply_name;
use super::{ChannelFaults, Damage, DamageKind, FaultKind, Row, Told, told};

/// Current through a diode outside the pin where the pin itself may take none,
/// A (common practice: far below what any small Schottky diode stands).
const OUTSIDE_A: f64 = 1e-3;
/// Leakage of a pin of which nothing is stated, A (common practice).
const LEAKAGE_A: f64 = 1e-9;
/// Series resistor beyond which none is proposed, Ω: leakage over a dirty
/// board is no longer small beside it (common practice).
const LARGEST_OHM: f64 = 1e6;

/// A resistor in series with the wire.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// More than there is, Ω, from the E24 series.
    pub ohm: f64,
    /// Current it then lets through, A.
    pub ampere: f64,
    /// The pin may take none: a Schottky diode to this rail takes it.
    pub clamp_to: Option<String>,
    /// What the pin's leakage makes across it, V.
    pub leakage_v: f64,
    /// The same in codes.
    pub leakage_codes: Option<f64>,
    /// Power it takes, W.
    pub power_w: f64,
}

/// What one damage asks of a series resistor.
struct Wanted {
    ohm: f64,
    high: bool,
    outside: bool,
    drop: f64,
    there: f64,
}

fn wanted(board: &Board, state: &State, damage: &Damage) -> Option<Wanted> {
    let pin = state
        .pins
        .iter()
        .find(|p| p.name == damage.name)
        .or_else(|| state.pins.first())?;
    let high = pin.volt.high.abs() >= pin.volt.low.abs();
    let source_v = if high {
        state.head_v.high
    } else {
        state.head_v.low
    };
    let (target, outside) = match damage.kind {
        DamageKind::PinVoltage => (OUTSIDE_A, true),
        _ => (damage.limit * (1.0 - board.judging.current_margin), false),
    };
    if !(target > 0.0) {
        return None;
    }
    let held = if high {
        pin.volt.high.min(pin.limit_high_v)
    } else {
        pin.volt.low.max(pin.limit_low_v)
    };
    let drop = (source_v - held).abs();
    let now = match damage.kind {
        DamageKind::PinVoltage => pin.into_supply_a.high.max(pin.from_ground_a.high),
        _ => damage.actual,
    };
    let there = if now > 0.0 && now.is_finite() {
        drop / now
    } else {
        0.0
    };
    Some(Wanted {
        ohm: drop / target - there,
        high,
        outside,
        drop,
        there,
    })
}

/// The series resistor that keeps a pin within its current, if that is what
/// the fault breaks.
#[must_use]
pub fn series(board: &Board, faults: &ChannelFaults, row: &Row) -> Option<Series> {
    let state = row.state.as_ref()?;
    let c = board.channels.get(faults.channel)?;
    let device = c.input.as_ref().and_then(|i| board.devices.get(i.device));
    let rail = device
        .and_then(|d| d.analog_supply.or(d.supply))
        .and_then(|r| board.rails.get(r));
    let mut found: Option<Wanted> = None;
    for damage in row.damage.iter().filter(|d| {
        matches!(
            d.kind,
            DamageKind::PinVoltage
                | DamageKind::PinCurrent
                | DamageKind::InputCurrent
                | DamageKind::Clamp
                | DamageKind::RailRise
        ) && d.unit != "W"
    }) {
        let wanted = wanted(board, state, damage)?;
        if found.as_ref().is_none_or(|f| wanted.ohm > f.ohm) {
            found = Some(wanted);
        }
    }
    // What all of them need is what the most demanding one needs.
    let Wanted {
        ohm,
        high,
        outside,
        drop,
        there,
    } = found?;
    let ohm = Preferred::E24.at_least(ohm)?;
    if ohm > LARGEST_OHM {
        return None;
    }
    let leakage = device
        .and_then(|d| {
            let input = c.input.as_ref()?;
            let unit = d.part.converters.get(input.unit)?;
            let f = unit
                .figures
                .get("input-leakage")
                .or_else(|| d.part.figure("input-leakage"))?;
            f.max.or_else(|| f.typical())
        })
        .unwrap_or(LEAKAGE_A)
        .abs();
    let per_volt = faults.intact.as_ref().and_then(|s| {
        let seen = s.seen.first()?;
        (s.volt.nominal.abs() > 1e-6).then(|| (seen.code / s.volt.nominal).abs())
    });
    let ampere = drop / (ohm + there);
    Some(Series {
        ohm,
        ampere,
        clamp_to: outside.then(|| {
            if high {
                rail.map_or_else(|| "the supply".to_owned(), |r| r.name.clone())
            } else {
                "ground".to_owned()
            }
        }),
        leakage_v: leakage * ohm,
        leakage_codes: per_volt.map(|k| k * leakage * ohm),
        power_w: ampere * ampere * ohm,
    })
}

/// A resistor that moves an open input out of what may be real.
#[derive(Clone, Debug, PartialEq)]
pub struct Pull {
    /// How large, Ω.
    pub ohm: f64,
    /// Where to.
    pub to: String,
    /// Reading of the open wire with it, SI; no number where there is none.
    pub open_reading: f64,
    /// Largest change of a reading with everything in order, SI, if the
    /// firmware is not told.
    pub cost: f64,
}

/// Pull resistors tried, Ω, the largest first: what they cost falls with
/// their size.
const PULLS: &[f64] = &[
    10e6, 4.7e6, 2.2e6, 1e6, 470e3, 220e3, 100e3, 47e3, 22e3, 10e3,
];

/// The largest pull resistor with which an open wire is told.
#[must_use]
pub fn pull(board: &Board, faults: &ChannelFaults, row: &Row) -> Option<Pull> {
    if !matches!(row.kind, FaultKind::Open | FaultKind::State) {
        return None;
    }
    let c = board.channels.get(faults.channel)?;
    let intact = faults.intact.as_ref()?;
    let faulty = Faulty::new(board, c).ok()?;
    let device = board.devices.get(c.input.as_ref()?.device)?;
    let rail = device.analog_supply.or(device.supply);
    let to = [rail.map(Supply::Rail), Some(Supply::Ground)];
    let mut best: Option<Pull> = None;
    for to in to.into_iter().flatten() {
        for &ohm in PULLS {
            let pull = Harm::Pull { to, ohm };
            let mut harms = row.harms.clone();
            harms.push(pull.clone());
            let Ok(open) = faulty.state(&harms) else {
                continue;
            };
            if !matches!(
                told::told(&faulty, &faults.valid, intact, &open),
                Told::Yes(_)
            ) {
                continue;
            }
            let Ok(whole) = faulty.state(&[pull]) else {
                break;
            };
            let cost = largest_change(intact, &whole);
            if best.as_ref().is_none_or(|b| cost < b.cost) {
                best = Some(Pull {
                    ohm,
                    to: supply_name(board, to),
                    open_reading: open.seen.first().map_or(f64::NAN, |s| s.reading),
                    cost,
                });
            }
            break;
        }
    }
    best
}

/// How far readings at the same corners lie apart.
fn largest_change(a: &State, b: &State) -> f64 {
    a.seen
        .iter()
        .take(7)
        .zip(&b.seen)
        .map(|(x, y)| (x.reading - y.reading).abs())
        .filter(|d| d.is_finite())
        .fold(0.0, f64::max)
}
