//! A sensor is switched off before its reading can be right.

use board::{Board, Channel};
use chain::time::awake::Awake;
use chain::time::schedule::Schedule;
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "rate.awake-too-short",
        severity: Severity::Fail,
        title: "A sensor is not fed long enough to be read",
        explanation: include_str!("pages/rate.awake-too-short.md"),
    },
    look,
};

/// Room that a remedy leaves above what is needed.
const ROOM: f64 = 1.2;

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    if scene.board.channels.iter().all(|c| c.awake_s.is_none()) {
        return;
    }
    let schedules: Vec<Schedule> = scene
        .timing
        .converters
        .iter()
        .map(|c| c.schedule.clone())
        .collect();
    for channel in &scene.board.channels {
        found.extend(finding(kind, scene.board, channel, &schedules));
    }
}

fn finding(
    kind: &Kind,
    board: &Board,
    channel: &Channel,
    schedules: &[Schedule],
) -> Option<Finding> {
    let awake = Awake::of(board, channel, schedules)?;
    if awake.fits() {
        return None;
    }
    let time = |s: f64| number::measured(s, "s", 3);
    let mut parts = Vec::new();
    if let Some((s, _)) = awake.sensor {
        parts.push((s, "until the sensor has started"));
    }
    if let Some(s) = awake.network_s.filter(|s| *s > 0.0) {
        parts.push((s, "until the network has charged to a quarter code"));
    }
    if let Some((s, _)) = awake.reading {
        parts.push((s, "for the conversions of a reading"));
    }
    let said: Vec<String> = parts
        .iter()
        .map(|(s, what)| format!("{} {what}", time(*s)))
        .collect();
    let needed = awake.needed_s();
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "the sensor is fed for {}, but {} are needed: {}",
            time(awake.awake_s),
            time(needed),
            said.join(", ")
        ),
    )
    .at(channel.awake_s.map(|a| a.span))
    .working(format!(
        "{} = {}",
        parts
            .iter()
            .map(|(s, _)| time(*s))
            .collect::<Vec<String>>()
            .join(" + "),
        time(needed)
    ));
    for figure in [awake.sensor.map(|s| s.1), awake.reading.and_then(|r| r.1)]
        .into_iter()
        .flatten()
    {
        f = f.figure(&figure.name, figure.text.clone(), figure.source.to_string());
    }
    f = f.remedy(format!(
        "awake = \"{}\" leaves a fifth of room",
        time(needed * ROOM)
    ));
    // The network is what the board itself decides.
    let rest = needed - awake.network_s.unwrap_or(0.0);
    if let Some(network) = awake.network_s.filter(|s| *s > 0.0)
        && rest < awake.awake_s
    {
        f = f.remedy(format!(
            "or a network that settles in {} instead of {}: {} times the time constant",
            time(awake.awake_s - rest),
            time(network),
            quantity::plain((awake.awake_s - rest) / network, 2)
        ));
    }
    Some(f)
}
