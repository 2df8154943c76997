//! The sample capacitor is taken off its pin before it has reached it.

use chain::time::settle::{SettledScan, Unsettled};
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::judge::Judged;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "sampling.unsettled",
        severity: Severity::Fail,
        title: "A sample is taken before it has settled",
        explanation: include_str!("pages/sampling.unsettled.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (i, judged) in scene.judged.iter().enumerate() {
        let settling = scene.timing.channel(i).and_then(|c| c.settling.as_ref());
        let Some(u) = settling.filter(|u| u.largest_v > u.limit_v) else {
            continue;
        };
        let Some(scan) = scene.timing.turn(i).and_then(|(c, _)| c.scan.as_ref().ok()) else {
            continue;
        };
        found.extend(finding(kind, scene, judged, u, scan));
    }
}

fn finding(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    judged: &Judged<'_>,
    u: &Unsettled,
    scan: &SettledScan,
) -> Option<Finding> {
    let channel = judged.channel;
    let (converter, _) = scene.timing.turn(u.channel)?;
    let turn = converter.schedule.turn(u.channel)?;
    let seat = scan.channels.iter().position(|c| c.channel == u.channel)?;
    let unit = words::error_unit(channel);
    let codes = u.largest_codes();
    let size = channel.unit.number_of_difference(u.largest_quantity());
    let need = judged.report.need.as_ref().map(|n| n.limit);
    let severity = match need {
        Some(limit) if size >= limit => Severity::Fail,
        Some(limit) if size >= scene.board.judging.known_error * limit => Severity::Thin,
        _ => Severity::Note,
    };
    let name = |i: usize| scene.board.channels.get(i).map_or("", |c| c.name.as_str());
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "up to {} codes ({}) are missing when the sample is taken, after {} at {} behind the pin",
            quantity::plain(codes, 2),
            number::measured(size, unit, 2),
            number::measured(turn.acquire_s, "s", 3),
            number::measured(u.source_ohm, "Ω", 3),
        ),
    )
    .severity(severity)
    .at(channel.acquisition.as_ref().map(|a| a.span))
    .at(channel.input.as_ref().map_or(channel.place, |i| i.span))
    .figure(
        "sample capacitor",
        number::measured(scan.sampler.slowest.farad, "F", 2),
        scan.sampler.source.clone(),
    )
    .working(format!(
        "at {} the sample is {} off; a quarter code is {}",
        words::value(channel, u.largest_at),
        number::measured(u.largest_v, "V", 3),
        number::measured(u.limit_v, "V", 3),
    ));
    let visits_hz = f64::from(turn.repeats) / converter.schedule.period_s;
    f = f
        .working(format!(
            "one visit leaves {} of the difference to the channel before; visited {} times a second, {} look like {} towards it",
            number::share(u.once),
            quantity::plain(visits_hz, 3),
            number::measured(scan.sampler.slowest.farad, "F", 2),
            number::measured(1.0 / (visits_hz * scan.sampler.slowest.farad), "Ω", 3),
        ))
        .working(format!(
            "{} at the pin lose no more than a code to one step over the whole scale",
            number::measured(
                scan.sampler.slowest.farad * judged.report.signal.map_or(0.0, |s| s.codes - 1.0),
                "F",
                2
            )
        ));
    let mut heard: Vec<(f64, usize)> = u
        .memory
        .iter()
        .map(|&(c, m)| {
            let swing = u.swings.iter().find(|s| s.0 == c);
            let volt = swing.map_or(0.0, |s| m.abs() * (s.2 - s.1));
            (volt * u.codes_per_volt, c)
        })
        .filter(|(codes, _)| *codes > 0.05)
        .collect();
    heard.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (codes, c) in heard.into_iter().take(3) {
        f = f.working(format!(
            "`{}` over its span moves it by {} codes",
            name(c),
            quantity::plain(codes, 2)
        ));
    }
    if u.assumed {
        f = f.working(
            "nothing states the acquisition: the longest that the rates allow is taken".to_owned(),
        );
    }
    let schedule = &converter.schedule;
    if schedule.period_s <= schedule.busy_s
        && scene.board.scan_of(schedule.device).every_s.is_none()
    {
        f = f.working(
            "nothing states how often a sequence begins: one after the other is taken".to_owned(),
        );
    }
    if scan.sampler.no_switch {
        f = f.working("the part states no switch resistance; none is taken".to_owned());
    }
    let advice = scan.advice(seat)?;
    if let Some(seconds) = advice.shortest_s {
        let enough = converter
            .schedule
            .choices_s
            .iter()
            .copied()
            .filter(|s| *s >= seconds)
            .reduce(f64::min);
        let clock = converter.schedule.clock_hz;
        match (enough, clock) {
            (Some(s), Some(hz)) if s > turn.acquire_s => {
                f = f.remedy(format!(
                    "an acquisition of {} clocks ({}): {} are needed",
                    number::short((s * hz * 1e6).round() * 1e-6),
                    number::measured(s, "s", 3),
                    number::measured(seconds, "s", 3)
                ));
            }
            _ if seconds > turn.acquire_s => {
                f = f.remedy(format!(
                    "an acquisition of {} or more",
                    number::measured(seconds, "s", 3)
                ));
            }
            _ => {}
        }
    }
    match advice.pin_farad {
        Some(farad) if farad > 0.0 => {
            f = f.remedy(format!(
                "or a capacitor of {} or more at the pin, which the source refills between two visits",
                number::measured(farad, "F", 2)
            ));
        }
        None => {
            f = f.remedy(
                "a capacitor at the pin does not help at this rate: the source cannot refill it; read less often, or put a follower before it"
                    .to_owned(),
            );
        }
        _ => {}
    }
    if advice.spare_ohm.is_none()
        && let Some(least) = crate::timing::largest_source(scan, seat)
    {
        f = f.remedy(format!(
            "or a source of at most {}",
            number::measured(least, "Ω", 2)
        ));
    }
    Some(f)
}
