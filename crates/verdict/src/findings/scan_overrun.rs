//! A sequence takes longer than the time after which the next should begin.

use chain::time::schedule::{Misfit, Turn};
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "scan.overrun",
        severity: Severity::Fail,
        title: "A sequence of conversions takes too long",
        explanation: include_str!("pages/scan.overrun.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for converter in &scene.timing.converters {
        let schedule = &converter.schedule;
        let Some(device) = scene.board.devices.get(schedule.device) else {
            continue;
        };
        for misfit in &schedule.misfits {
            let Misfit::Overrun { busy_s, every_s } = misfit else {
                continue;
            };
            let scan = scene.board.scan_of(schedule.device);
            let asked = schedule
                .turns
                .iter()
                .filter_map(|t| scene.board.channels.get(t.channel))
                .filter_map(|c| Some((c, c.rate_hz.as_ref()?)))
                .max_by(|a, b| a.1.value.total_cmp(&b.1.value));
            let (why, span) = match (&scan.every_s, asked) {
                (Some(e), _) => ("begins".to_owned(), Some(e.span)),
                (None, Some((c, rate))) => {
                    (format!("must begin for `{}`", c.name), Some(rate.span))
                }
                (None, None) => ("begins".to_owned(), None),
            };
            let mut f = Finding::new(
                kind,
                &device.name,
                format!(
                    "a sequence of `{}` takes {}, the next one {why} after {}",
                    device.name,
                    number::measured(*busy_s, "s", 3),
                    number::measured(*every_s, "s", 3),
                ),
            )
            .at(span)
            .at(device.span)
            .working(format!(
                "{} conversions, {} each on average",
                schedule.turns.iter().map(|t| t.repeats).sum::<u32>(),
                number::measured(
                    busy_s
                        / schedule
                            .turns
                            .iter()
                            .map(|t| f64::from(t.repeats))
                            .sum::<f64>(),
                    "s",
                    3
                )
            ));
            let longest = schedule
                .turns
                .iter()
                .max_by(|a, b| a.seconds().total_cmp(&b.seconds()));
            if let Some(t) = longest
                && let Some(c) = scene.board.channels.get(t.channel)
            {
                f = f.working(format!(
                    "`{}` takes {} of it",
                    c.name,
                    number::measured(t.seconds(), "s", 3)
                ));
            }
            found.push(remedies(f, &schedule.turns, *every_s, &schedule.choices_s));
        }
    }
}

fn remedies(f: Finding, turns: &[Turn], every_s: f64, choices_s: &[f64]) -> Finding {
    let conversions: f64 = turns.iter().map(|t| f64::from(t.repeats)).sum();
    let converting: f64 = turns
        .iter()
        .map(|t| f64::from(t.repeats) * t.convert_s)
        .sum();
    let room = (every_s - converting) / conversions;
    let fits = choices_s.iter().copied().filter(|s| *s <= room);
    let mut f = f;
    if let Some(s) = fits.reduce(f64::max) {
        f = f.remedy(format!(
            "an acquisition of at most {} for all",
            number::measured(s, "s", 3)
        ));
    } else if room > 0.0 && turns.iter().any(|t| t.acquire_s > 0.0) {
        f = f.remedy(format!(
            "an acquisition of at most {} for all",
            number::measured(room, "s", 3)
        ));
    }
    let busy: f64 = turns.iter().map(Turn::seconds).sum();
    f.remedy(format!(
        "or a sequence every {} at the most, {} a second",
        number::measured(busy, "s", 3),
        quantity::plain(1.0 / busy, 3)
    ))
}
