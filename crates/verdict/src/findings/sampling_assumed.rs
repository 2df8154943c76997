//! Nothing states for how long the converter acquires, and it matters.

use chain::time::Converter;
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "sampling.assumed",
        severity: Severity::Note,
        title: "The acquisition time is not stated",
        explanation: include_str!("pages/sampling.assumed.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for converter in &scene.timing.converters {
        found.extend(finding(kind, scene, converter));
    }
}

fn finding(kind: &Kind, scene: &Scene<'_, '_>, converter: &Converter) -> Option<Finding> {
    let schedule = &converter.schedule;
    let scan = converter.scan.as_ref().ok()?;
    let device = scene.board.devices.get(schedule.device)?;
    let shortest = schedule.choices_s.iter().copied().reduce(f64::min)?;
    let hz = schedule.clock_hz?;
    let mut needed: Vec<(f64, &str)> = Vec::new();
    let mut taken = 0.0_f64;
    for (k, u) in scan.channels.iter().enumerate().filter(|(_, u)| u.assumed) {
        taken = taken.max(schedule.turn(u.channel)?.acquire_s);
        if let Some(seconds) = scan.advice(k).and_then(|a| a.shortest_s)
            && seconds > shortest
        {
            needed.push((seconds, &scene.board.channels.get(u.channel)?.name));
        }
    }
    needed.sort_by(|a, b| b.0.total_cmp(&a.0));
    let &(most, first) = needed.first()?;
    let enough = schedule.choices_s.iter().copied().filter(|s| *s >= most);
    let enough = enough.reduce(f64::min);
    let clocks = |s: f64| format!("{} clocks", number::short(s * hz));
    let mut f = Finding::new(
        kind,
        &device.name,
        format!(
            "nothing states how long `{}` acquires: {} ({}) is taken, {} needs {}",
            device.name,
            clocks(taken),
            number::measured(taken, "s", 3),
            format_args!("`{first}`"),
            number::measured(most, "s", 3),
        ),
    )
    .at(device.span);
    for (seconds, name) in &needed {
        f = f.working(format!(
            "`{name}`: {} for a quarter code",
            number::measured(*seconds, "s", 3)
        ));
    }
    if !schedule.clock_stated {
        f = f.working(format!(
            "the clock is not stated: the highest of the part, {}, is taken",
            number::measured(hz, "Hz", 3)
        ));
    }
    Some(match enough {
        Some(s) => f.remedy(format!(
            "[scan.{}] clock = \"{}\", acquisition = \"{} cycles\" or more, as the firmware sets it",
            device.name,
            number::measured(hz, "Hz", 3),
            number::short(s * hz)
        )),
        None => f.remedy(format!(
            "[scan.{}] with a slower clock: {} takes longer than the longest acquisition",
            device.name, first
        )),
    })
}
