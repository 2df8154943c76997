//! What happens when a wire or a component of a channel breaks.
//!
//! For every fault the network of the channel is written as it then is and
//! solved with the diodes of the pins in it ([`chain::channel::fault`]); what
//! the pins, resistors and clamps then bear is held against their ratings,
//! and the readings against what the firmware takes for real.

mod cure;
mod damage;
mod list;
mod told;

use board::Board;
use chain::channel::Unmodelled;
use chain::channel::fault::{Faulty, Harm, State};
use finding::Span;
use rayon::prelude::*;

pub use cure::{Pull, Series, pull, series};
pub use damage::{Damage, DamageKind, HOT_W, LEAKS_A};
pub use told::{How, Told, Valid};

/// Faults of all channels.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Faults {
    /// The least current drawn from each rail, A, where one is known: what
    /// clamps feed into it beyond that lifts it.
    pub drawn_a: Vec<Option<f64>>,
    /// One for each channel with wires, in the order of the file.
    pub channels: Vec<ChannelFaults>,
}

/// Faults of one channel.
#[derive(Clone, Debug, PartialEq)]
pub struct ChannelFaults {
    /// The channel, by position.
    pub channel: usize,
    /// The table that says more of its wires, by position.
    pub terminal: Option<usize>,
    /// Readings that the firmware takes for real.
    pub valid: Valid,
    /// The channel with nothing broken.
    pub intact: Option<State>,
    /// The faults.
    pub rows: Vec<Row>,
    /// Why there are none, where there are none.
    pub reason: String,
}

/// What kind of fault it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FaultKind {
    /// A wire that is cut.
    Open,
    /// Two wires of the sensor that touch.
    Short,
    /// A wire that touches ground.
    ToGround,
    /// A wire that touches a rail.
    ToRail,
    /// A wire that touches one of another channel.
    Neighbour,
    /// A voltage from outside.
    OverVoltage,
    /// Wires that are swapped.
    Reversed,
    /// A state of the sensor that has a name.
    State,
    /// A component that is open.
    ComponentOpen,
    /// A component that is shorted.
    ComponentShort,
}

impl FaultKind {
    /// The word of the file.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            FaultKind::Open => "open",
            FaultKind::Short => "short",
            FaultKind::ToGround => "short-to-ground",
            FaultKind::ToRail => "short-to-rail",
            FaultKind::Neighbour => "neighbour",
            FaultKind::OverVoltage => "over-voltage",
            FaultKind::Reversed => "reversed",
            FaultKind::State => "states",
            FaultKind::ComponentOpen | FaultKind::ComponentShort => "components",
        }
    }

    /// Whether it is one of a component and not of a wire.
    #[must_use]
    pub fn is_component(self) -> bool {
        matches!(self, FaultKind::ComponentOpen | FaultKind::ComponentShort)
    }
}

/// One fault of a channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its kind.
    pub kind: FaultKind,
    /// What is wrong, in words.
    pub what: String,
    /// What was done to the network.
    pub harms: Vec<Harm>,
    /// Where it is written, or what breaks.
    pub span: Option<Span>,
    /// What the channel then does; `None` where it cannot be told.
    pub state: Option<State>,
    /// Why not.
    pub reason: String,
    /// Whether the firmware can tell.
    pub told: Told,
    /// What it destroys.
    pub damage: Vec<Damage>,
    /// Counts as a fault the board must stand.
    pub judged: bool,
    /// The firmware must be able to tell it.
    pub must_detect: bool,
}

/// The least current drawn from each rail, A: that of all that hangs on it
/// where all of it is known, else what is stated; none where nothing is.
#[must_use]
pub fn drawn_a(
    board: &Board,
    loads: &crate::rails::Loads,
    power: &crate::rails::Power,
) -> Vec<Option<f64>> {
    board
        .rails
        .iter()
        .enumerate()
        .map(|(i, rail)| {
            let unknown = loads.unknown.iter().any(|u| u.0 == i);
            let found = power.rails.get(i).map(|p| p.least_a);
            let stated = rail.load_a.as_ref().map(|l| l.value);
            let known = found.filter(|a| !unknown && *a > 0.0);
            known.or(stated)
        })
        .collect()
}

/// Works out the faults of every channel; `drawn_a` is the least current drawn
/// from each rail, where one is known.
#[must_use]
pub fn analyse(board: &Board, drawn_a: Vec<Option<f64>>) -> Faults {
    let work: Vec<(usize, Option<usize>)> = board
        .channels
        .iter()
        .enumerate()
        .filter(|(_, c)| c.derived.is_none())
        .flat_map(|(i, c)| {
            let own: Vec<usize> = board
                .terminals
                .iter()
                .enumerate()
                .filter(|(_, t)| t.channel == i)
                .map(|(k, _)| k)
                .collect();
            if own.is_empty() {
                // A rail that is measured has no wires of its own.
                let list = if c.sensor.rail.is_none() {
                    vec![(i, None)]
                } else {
                    Vec::new()
                };
                return list;
            }
            own.into_iter().map(|k| (i, Some(k))).collect()
        })
        .collect();
    let mut channels: Vec<ChannelFaults> = work
        .par_iter()
        .filter_map(|&(i, terminal)| channel(board, &drawn_a, i, terminal))
        .collect();
    // Neighbours need the other channel as it is.
    let heads: Vec<(usize, f64, f64)> = channels
        .iter()
        .filter_map(|c| {
            let head = c.intact.as_ref()?.head_v;
            Some((c.channel, head.low, head.high))
        })
        .collect();
    channels.par_iter_mut().for_each(|c| {
        if let Some(t) = c.terminal.and_then(|t| board.terminals.get(t)) {
            neighbours(board, &drawn_a, c, t, &heads);
        }
    });
    Faults { drawn_a, channels }
}

/// One channel; `None` where it has no analog signal.
fn channel(
    board: &Board,
    drawn_a: &[Option<f64>],
    i: usize,
    terminal: Option<usize>,
) -> Option<ChannelFaults> {
    let c = board.channels.get(i)?;
    let said = terminal.and_then(|t| board.terminals.get(t));
    let mut out = ChannelFaults {
        channel: i,
        terminal,
        valid: Valid::of(c, said),
        intact: None,
        rows: Vec::new(),
        reason: String::new(),
    };
    let made = Faulty::new(board, c).and_then(|f| {
        let planned = list::wires(board, &f, said)?;
        Ok((f, planned))
    });
    let (faulty, planned) = match made {
        Ok(made) => made,
        Err(fault) => {
            out.reason = fault.message;
            return Some(out);
        }
    };
    if planned.is_empty() {
        return None;
    }
    let intact = match faulty.state(&[]) {
        Ok(state) => state,
        Err(fault) => {
            out.reason = fault.message;
            return Some(out);
        }
    };
    for p in planned.into_iter().chain(list::components(&faulty, said)) {
        let row = row(&faulty, drawn_a, &out.valid, &intact, p);
        same(&mut out.rows, row);
    }
    out.intact = Some(intact);
    Some(out)
}

/// What is looked at.
pub(crate) struct Planned {
    kind: FaultKind,
    what: String,
    harms: Vec<Harm>,
    span: Option<Span>,
    judged: bool,
    must_detect: bool,
}

fn row(
    faulty: &Faulty<'_>,
    drawn_a: &[Option<f64>],
    valid: &Valid,
    intact: &State,
    p: Planned,
) -> Row {
    let (state, reason) = match faulty.state(&p.harms) {
        Ok(state) => (Some(state), String::new()),
        Err(Unmodelled { message, .. }) => (None, message),
    };
    let told = state
        .as_ref()
        .map_or(Told::Unknown, |s| told::told(faulty, valid, intact, s));
    let damage = state
        .as_ref()
        .map_or_else(Vec::new, |s| damage::of(faulty.board(), drawn_a, intact, s));
    Row {
        kind: p.kind,
        what: p.what,
        harms: p.harms,
        span: p.span,
        state,
        reason,
        told,
        damage,
        judged: p.judged,
        must_detect: p.must_detect,
    }
}

/// Adds a row, or its words to an equal one.
fn same(rows: &mut Vec<Row>, row: Row) {
    let equal = rows.iter_mut().find(|r| {
        r.kind == row.kind && r.state.is_some() && r.state == row.state && r.span == row.span
    });
    match equal {
        Some(r) => r.what = format!("{}, or {}", r.what, row.what),
        None => rows.push(row),
    }
}

/// The rows of wires that touch those of other channels.
fn neighbours(
    board: &Board,
    drawn_a: &[Option<f64>],
    faults: &mut ChannelFaults,
    said: &board::Terminal,
    heads: &[(usize, f64, f64)],
) {
    let (Some(c), Some(intact)) = (board.channels.get(faults.channel), &faults.intact) else {
        return;
    };
    let Ok(faulty) = Faulty::new(board, c) else {
        return;
    };
    let Ok(planned) = list::neighbours(board, &faulty, said, heads) else {
        return;
    };
    let at = faults
        .rows
        .iter()
        .position(|r| r.kind.is_component())
        .unwrap_or(faults.rows.len());
    let made: Vec<Row> = planned
        .into_iter()
        .map(|p| row(&faulty, drawn_a, &faults.valid, intact, p))
        .collect();
    faults.rows.splice(at..at, made);
}
