//! Rails, heat and shared returns as results.

use board::{Board, RailSource};
use chain::channel::{CODE, ERROR};
use finding::Sources;
use report::{
    HeatResult, Judged, LoadLine, RailResult, Rails, ReturnResult, Shifted, Verdict, WarmLine,
    number,
};
use system::heat::Heat;
use system::rails::{LoadKind, Row, What, source_rail};

use crate::findings;
use crate::study::Study;

/// Ids of the findings that `rails` shows begin with one of these.
const ABOUT: &[&str] = &["rail.", "heat.", "return.", "supply."];

/// Degrees Celsius of a temperature.
pub(crate) fn celsius(kelvin: f64) -> f64 {
    kelvin - 273.15
}

/// Share of a limit that must be left of a row, as the board judges.
pub(crate) fn spare(board: &Board, row: &Row) -> f64 {
    let share = board.judging.current_margin;
    match row.what {
        What::Current | What::Inrush | What::Droop => share * row.high.unwrap_or(0.0).abs(),
        What::BatteryLife => share * row.low.unwrap_or(0.0).abs(),
        _ => 0.0,
    }
}

/// How a row stands.
pub(crate) fn stands(board: &Board, row: &Row) -> Verdict {
    let Some(margin) = row.margin() else {
        return Verdict::Fragment;
    };
    let soft = matches!(row.what, What::Decoupling | What::OutputCapacitor)
        || (row.what == What::Inrush && row.name != "inrush");
    if margin < 0.0 && soft {
        Verdict::Thin
    } else if margin.is_nan() || margin < 0.0 {
        Verdict::Fails
    } else if margin < spare(board, row) && !soft {
        Verdict::Thin
    } else {
        Verdict::Meets
    }
}

/// How a junction stands.
pub(crate) fn junction_stands(board: &Board, heat: &Heat) -> Option<Verdict> {
    let left = heat.limit_k - heat.junction_k?;
    Some(if left.is_nan() || left < 0.0 {
        Verdict::Fails
    } else if left < board.judging.junction_margin_k {
        Verdict::Thin
    } else {
        Verdict::Meets
    })
}

/// The rails of a board: what they carry, what that warms, what it does to
/// grounds, and what is to be said of all that.
#[must_use]
pub fn rails(board: &Board, sources: &Sources) -> Rails {
    let settled = system::settled(board);
    let board = settled.as_ref();
    let system = system::analyse(board);
    let findings = findings::about(board, &system, sources, ABOUT);
    Rails {
        version: report::VERSION,
        board: board.name.clone(),
        rails: results(board, &system),
        heat: system.heat.iter().map(|h| heat(board, h)).collect(),
        returns: system
            .returns
            .iter()
            .enumerate()
            .map(|(i, r)| returned(board, i, r))
            .collect(),
        rounds: system.rails.power.settled.rounds,
        settled: system.rails.power.settled.restless.is_empty(),
        findings,
    }
}

/// One result for each rail.
pub(crate) fn results(board: &Board, system: &system::Analysis) -> Vec<RailResult> {
    (0..board.rails.len())
        .filter_map(|i| rail(board, system, i))
        .collect()
}

fn depth(board: &Board, rail: usize) -> usize {
    let (mut at, mut steps) = (rail, 0);
    while let Some(up) = board.rails.get(at).and_then(source_rail) {
        at = up;
        steps += 1;
        if steps > board.rails.len() {
            break;
        }
    }
    steps
}

fn rail(board: &Board, system: &system::Analysis, i: usize) -> Option<RailResult> {
    let rail = board.rails.get(i)?;
    let state = system.rails.power.rails.get(i)?;
    let rows = system.rails.rows.get(i).map_or(&[][..], Vec::as_slice);
    let mut quantities: Vec<Judged> = rows.iter().map(|r| judged(board, r)).collect();
    let own = system.heat.iter().filter(|h| h.rail == Some(i));
    quantities.extend(own.filter_map(|h| heat(board, h).junction));
    let mut loads: Vec<LoadLine> = system
        .rails
        .loads
        .of_rail
        .get(i)
        .into_iter()
        .flatten()
        .map(|l| {
            let by = |volt: f64| {
                if l.power_w > 0.0 {
                    l.power_w / volt
                } else {
                    0.0
                }
            };
            // What a reservoir gives does not come from the source: that only
            // fills it again.
            let held = l.kind == LoadKind::Burst && rail.power.reservoir.is_some();
            let (name, most_a) = if held {
                (format!("{}, from the reservoir", l.name), l.average_a)
            } else {
                (l.name.clone(), l.most_a)
            };
            LoadLine {
                name,
                usual_a: l.usual_a + by(state.usual_v),
                most_a: most_a + by(state.low_v),
                average_a: l.average_a + by(state.usual_v),
                typical_only: l.typical_only,
                source: l.source.clone(),
            }
        })
        .collect();
    for (child, c) in board.rails.iter().zip(&system.rails.power.rails) {
        if source_rail(child) != Some(i) {
            continue;
        }
        let [_, usual_a, most_a, average_a] = system::rails::passed(child, c, state);
        loads.push(LoadLine {
            name: format!("rail {}", child.name),
            usual_a,
            most_a,
            average_a,
            typical_only: false,
            source: "what it carries".to_owned(),
        });
    }
    loads.sort_by(|a, b| b.most_a.total_cmp(&a.most_a));
    let limit_a = rows
        .iter()
        .filter(|r| r.what == What::Current)
        .filter_map(|r| r.high)
        .min_by(f64::total_cmp);
    let verdict = quantities
        .iter()
        .map(|q| q.verdict)
        .fold(Verdict::Fragment, worse);
    Some(RailResult {
        name: rail.name.clone(),
        from: source_rail(rail)
            .and_then(|p| board.rails.get(p))
            .map_or_else(String::new, |p| p.name.clone()),
        by: match &rail.source {
            RailSource::External => String::new(),
            RailSource::Regulator { part, .. } => part.id.clone(),
            RailSource::Direct { .. } => "wire".to_owned(),
            RailSource::Switching { efficiency, .. } => {
                format!("converter, {}", number::share(efficiency.value.nominal))
            }
            RailSource::Divided { .. } => "divider".to_owned(),
        },
        depth: depth(board, i),
        free_v: state
            .free
            .map_or([f64::NAN; 3], |f| [f.low_v, f.nominal_v, f.high_v]),
        usual_v: state.usual_v,
        low_v: state.low_v,
        usual_a: state.usual_a,
        most_a: state.most_a,
        average_a: state.average_a,
        limit_a,
        loads,
        quantities,
        verdict,
    })
}

/// The worse of two verdicts of things with limits.
fn worse(a: Verdict, b: Verdict) -> Verdict {
    let rank = |v: Verdict| match v {
        Verdict::Fails => 3,
        Verdict::Thin => 2,
        Verdict::Meets => 1,
        _ => 0,
    };
    if rank(b) > rank(a) { b } else { a }
}

fn judged(board: &Board, row: &Row) -> Judged {
    Judged {
        name: row.name.clone(),
        value: row.value,
        unit: row.unit.to_owned(),
        low: row.low,
        high: row.high,
        margin: row.margin(),
        verdict: stands(board, row),
        working: row.working.clone(),
        source: row.source.clone(),
    }
}

fn heat(board: &Board, h: &Heat) -> HeatResult {
    let hot = board.conditions.ambient_k.1;
    let junction = h.junction_k.map(|k| Judged {
        name: "junction".to_owned(),
        value: celsius(k),
        unit: "°C".to_owned(),
        low: None,
        high: Some(celsius(h.limit_k)),
        margin: Some(h.limit_k - k),
        verdict: junction_stands(board, h).unwrap_or(Verdict::Fragment),
        working: junction_working(hot, h),
        source: h.limit_source.clone(),
    });
    HeatResult {
        name: h.name.clone(),
        source: h.source.clone(),
        usual_w: h.watt.1,
        most_w: h.watt.2,
        resistance: h.resistance.1,
        junction,
        warms: h
            .warms
            .iter()
            .map(|w| WarmLine {
                name: w.name.clone(),
                usual_k: w.kelvin.1,
                most_k: w.kelvin.2,
            })
            .collect(),
    }
}

/// `38 °C + 60 K/W · 1.2 W = 110 °C`.
pub(crate) fn junction_working(hot_k: f64, h: &Heat) -> String {
    format!(
        "{} °C + {} · {} = {} °C",
        quantity::plain(celsius(hot_k), 3),
        number::about(h.resistance.1, "K/W"),
        number::about(h.watt.2, "W"),
        quantity::plain(celsius(h.junction_k.unwrap_or(hot_k)), 4),
    )
}

fn returned(board: &Board, i: usize, r: &system::returns::Return) -> ReturnResult {
    ReturnResult {
        name: r.name.clone(),
        ohm: r.ohm.1,
        pieces: r
            .pieces
            .iter()
            .map(|(name, ohm, source)| format!("{name} {} ({source})", number::about(*ohm, "Ω")))
            .collect(),
        current_a: [r.ampere.0, r.ampere.2],
        shift_v: [r.volt.0, r.volt.1, r.volt.2],
        channels: r
            .channels
            .iter()
            .filter_map(|&c| {
                let s = shifted(board, i, c)?;
                let channel = board.channels.get(c)?;
                Some(Shifted {
                    name: channel.name.clone(),
                    error: channel.unit.number_of_difference(s.error),
                    unit: crate::words::error_unit(channel).to_owned(),
                    codes: s.codes,
                })
            })
            .collect(),
    }
}

/// What one return does to one channel at its most, everything else nominal.
#[derive(Clone, Debug)]
pub(crate) struct Shift {
    /// Value of the quantity at which it is largest, SI.
    pub at: f64,
    /// Reading too high by, SI.
    pub error: f64,
    /// The same in codes.
    pub codes: Option<f64>,
    /// What the readings become, at the marks of the span.
    pub points: Vec<crate::known::Point>,
}

/// Works it out: the channel with the shift as it is at most, against the
/// channel without any.
pub(crate) fn shifted(board: &Board, i: usize, channel: usize) -> Option<Shift> {
    let spec = board.returns.get(i)?;
    let swings = board.surroundings.foot_v.get(&channel)?;
    let swing = swings.iter().find(|s| s.span == spec.span)?;
    let mut with = board.clone();
    with.surroundings.foot_v.clear();
    let without = with.clone();
    let most = if swing.high.abs() >= swing.low.abs() {
        swing.high
    } else {
        swing.low
    };
    with.surroundings.foot_v.insert(
        channel,
        vec![board::Swing {
            low: most,
            usual: most,
            high: most,
            ..swing.clone()
        }],
    );
    let with = Study::new(&with, with.channels.get(channel)?)
        .ok()
        .map(|s| {
            crate::known::marks(s.channel)
                .into_iter()
                .map(|q| (q, s.at_quantity(ERROR, q), s.at_quantity(CODE, q)))
                .collect::<Vec<_>>()
        })?;
    let study = Study::new(&without, without.channels.get(channel)?).ok()?;
    let codes = study.codes.is_some();
    let points: Vec<crate::known::Point> = with
        .iter()
        .map(|&(q, error, _)| crate::known::Point {
            right: q,
            read: q + error - study.at_quantity(ERROR, q),
        })
        .filter(|p| p.read.is_finite())
        .collect();
    let worst = crate::known::largest(&points)?;
    let codes = with
        .iter()
        .find(|(q, ..)| *q == worst.right)
        .filter(|_| codes)
        .map(|&(q, _, code)| code - study.at_quantity(CODE, q));
    Some(Shift {
        at: worst.right,
        error: worst.error(),
        codes,
        points,
    })
}

/// Every row of a kind that is not simply met, with its rail and how it
/// stands.
pub(crate) fn rows_of<'a>(
    board: &'a Board,
    system: &'a system::Analysis,
    what: &'a [What],
) -> impl Iterator<Item = (&'a board::Rail, &'a Row, Verdict)> {
    board
        .rails
        .iter()
        .zip(&system.rails.rows)
        .flat_map(|(rail, rows)| rows.iter().map(move |row| (rail, row)))
        .filter(move |(_, row)| what.contains(&row.what))
        .map(move |(rail, row)| (rail, row, stands(board, row)))
        .filter(|(_, _, v)| matches!(v, Verdict::Fails | Verdict::Thin))
}

/// Rows of a kind that fail, of rails and parts on which no judged channel
/// rests: of those the channel's own check speaks.
pub(crate) fn unspoken<'a>(
    scene: &'a findings::Scene<'_, '_>,
    what: &'a [What],
    check: &'a str,
) -> impl Iterator<Item = (&'a board::Rail, &'a Row)> {
    rows_of(scene.board, scene.system, what)
        .filter(move |(rail, row, _)| {
            let part = row.name.strip_prefix("supply of ");
            let name = part.map_or_else(
                || rail.name.clone(),
                |part| format!("{part} on {}", rail.name),
            );
            !scene
                .judged
                .iter()
                .filter_map(|j| j.study.as_ref())
                .flat_map(|s| &s.checks)
                .any(|c| c.kind == check && c.name == name)
        })
        .map(|(rail, row, _)| (rail, row))
}

/// A finding about a row that fails: what is said of it, and by how much it
/// is off.
pub(crate) fn off(kind: &finding::Kind, rail: &board::Rail, row: &Row) -> finding::Finding {
    let shown = |v: f64| number::about(v, row.unit);
    let (word, limit) = match (row.low, row.high) {
        (Some(low), _) => ("below", low),
        (None, high) => ("above", high.unwrap_or(0.0)),
    };
    let off = row.margin().unwrap_or(0.0).abs();
    finding::Finding::new(
        kind,
        &rail.name,
        format!(
            "rail {}, {}: {} is {} {word} the {} it may be",
            rail.name,
            row.name,
            shown(row.value),
            shown(off),
            shown(limit)
        ),
    )
    .at(row.span)
    .figure("limit", shown(limit), row.source.clone())
    .working(row.working.clone())
    .remedy(format!(
        "a supply that is {} {} there, with the tolerance it has",
        shown(off),
        if word == "below" { "higher" } else { "lower" }
    ))
}
