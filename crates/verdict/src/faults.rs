//! Faults of wires and components, as a result and in words.

use board::{Board, Channel};
use chain::channel::fault::{Extent, State};
use finding::Sources;
use report::{FaultChannel, FaultPin, FaultRow, Faults, Reach, Verdict, number};
use system::faults::{ChannelFaults, Damage, DamageKind, How, Row, Told};

use crate::{findings, timing, words};

/// What happens when a wire or a component of a channel breaks.
#[must_use]
pub fn faults(board: &Board, sources: &Sources) -> Faults {
    let system = system::analyse(board);
    let found = findings::of_faults(board, &system, &timing::of(board), sources);
    Faults {
        version: report::VERSION,
        board: board.name.clone(),
        channels: system
            .faults
            .channels
            .iter()
            .filter_map(|f| Some(channel(board, f, board.channels.get(f.channel)?)))
            .collect(),
        findings: words::grouped(&found, sources),
    }
}

fn channel(board: &Board, f: &ChannelFaults, c: &Channel) -> FaultChannel {
    let terminal = f.terminal.and_then(|t| board.terminals.get(t));
    FaultChannel {
        name: c.name.clone(),
        terminal: terminal.map_or_else(String::new, |t| t.name.clone()),
        unit: c.unit.symbol.clone(),
        valid: (c.unit.number(f.valid.band.0), c.unit.number(f.valid.band.1)),
        valid_by: f.valid.by.to_owned(),
        rows: f.rows.iter().map(|r| row(board, c, r)).collect(),
        reason: f.reason.clone(),
    }
}

fn reach(e: Extent) -> Reach {
    Reach {
        low: e.low,
        nominal: e.nominal,
        high: e.high,
    }
}

fn row(board: &Board, c: &Channel, r: &Row) -> FaultRow {
    let (told, how) = told(c, r);
    let state = r.state.as_ref();
    FaultRow {
        kind: r.kind.word().to_owned(),
        what: r.what.clone(),
        pins: state
            .map(|s| {
                s.pins
                    .iter()
                    .map(|p| FaultPin {
                        name: p.name.clone(),
                        volt: reach(p.volt),
                        limit_low_v: p.limit_low_v,
                        limit_high_v: p.limit_high_v,
                        margin_v: -p.beyond_v,
                        into_supply_a: p.into_supply_a.high,
                        from_ground_a: p.from_ground_a.high,
                    })
                    .collect()
            })
            .unwrap_or_default(),
        hottest: state.and_then(hottest),
        into_rails: state.map(|s| into_rails(board, s)).unwrap_or_default(),
        code: state.and_then(|s| over(s, |x| x.code)),
        reading: state
            .filter(|_| c.ac.is_none())
            .and_then(|s| over(s, |x| c.unit.number(x.reading))),
        told: told.to_owned(),
        how,
        damage: r.damage.iter().map(damage).collect(),
        judged: r.judged,
        must_detect: r.must_detect,
        verdict: verdict(r),
        reason: r.reason.clone(),
    }
}

fn over(s: &State, of: impl Fn(&chain::channel::fault::Seen) -> f64) -> Option<Reach> {
    let nominal = of(s.seen.first()?);
    let all = || s.seen.iter().map(&of);
    Some(Reach {
        low: all().fold(f64::INFINITY, f64::min),
        nominal,
        high: all().fold(f64::NEG_INFINITY, f64::max),
    })
}

/// What turns most power into heat.
pub(crate) fn hottest(s: &State) -> Option<(String, f64)> {
    let most = s
        .heated
        .iter()
        .max_by(|a, b| a.power_w.total_cmp(&b.power_w))?;
    Some((most.name.clone(), most.power_w))
}

/// Currents into rails that are more than leakage.
pub(crate) fn into_rails(board: &Board, s: &State) -> Vec<(String, f64)> {
    s.rails
        .iter()
        .filter(|r| r.ampere.high > system::faults::LEAKS_A)
        .filter_map(|r| Some((board.rails.get(r.rail)?.name.clone(), r.ampere.high)))
        .collect()
}

/// How a fault stands.
pub(crate) fn verdict(r: &Row) -> Verdict {
    if r.state.is_none() {
        return Verdict::Unmodelled;
    }
    if !r.judged && !r.must_detect {
        return Verdict::Fragment;
    }
    let hidden = matches!(r.told, Told::No { .. });
    if r.judged && r.damage.iter().any(|d| !d.mild) || r.must_detect && hidden {
        Verdict::Fails
    } else if r.judged && !r.damage.is_empty() {
        Verdict::Thin
    } else {
        Verdict::Meets
    }
}

/// Whether the firmware can tell, and how, in words.
pub(crate) fn told(c: &Channel, r: &Row) -> (&'static str, String) {
    match r.told {
        Told::Yes(how) => (
            "told",
            match how {
                How::End => "the code is at an end of the scale",
                How::Band => "the reading is outside what is taken for real",
                How::Code => "the code stands for a fault",
                How::NoNumber => "the formula gives no number",
            }
            .to_owned(),
        ),
        Told::Harmless => (
            "harmless",
            "the reading stays within its accuracy".to_owned(),
        ),
        Told::No { always, low, high } => (
            "reads like a value",
            format!(
                "{}{}",
                between(c, low, high),
                if always { "" } else { ", at some corners" }
            ),
        ),
        Told::Unknown => ("not known", String::new()),
    }
}

/// One reading, or two with everything between.
pub(crate) fn between(c: &Channel, low: f64, high: f64) -> String {
    let (span_low, span_high) = c.span.value;
    if (high - low).abs() < 0.005 * (span_high - span_low) {
        words::value(c, 0.5 * (low + high))
    } else {
        format!("{} to {}", words::value(c, low), words::value(c, high))
    }
}

/// What a fault does to a thing beyond its rating.
pub(crate) fn damage(d: &Damage) -> String {
    let (actual, limit) = (
        number::measured(d.actual, d.unit, 3),
        number::amount(d.limit, d.unit),
    );
    match d.kind {
        DamageKind::PinVoltage => format!("{} stands at {actual}, beyond its {limit}", d.name),
        DamageKind::PinCurrent | DamageKind::InputCurrent => {
            format!(
                "{actual} flow through the diode of {}, which may take {limit}",
                d.name
            )
        }
        DamageKind::Clamp => format!("{} carries {actual} of its {limit}", d.name),
        DamageKind::Power => format!("{} turns {actual} into heat, rated {limit}", d.name),
        DamageKind::RailRise => format!(
            "{actual} flow into rail {}, which uses {limit}: it rises",
            d.name
        ),
    }
}
