//! A setting of the converter that its part does not have.

use chain::time::schedule::Misfit;
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "scan.setting",
        severity: Severity::Fail,
        title: "The converter cannot be set so",
        explanation: include_str!("pages/scan.setting.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for converter in &scene.timing.converters {
        let schedule = &converter.schedule;
        let Some(device) = scene.board.devices.get(schedule.device) else {
            continue;
        };
        let scan = scene.board.scan_of(schedule.device);
        let channel = |i: usize| scene.board.channels.get(i);
        let place = |i: usize| {
            let own = channel(i)
                .and_then(|c| c.acquisition.as_ref())
                .map(|a| a.span);
            own.or(scan.acquisition.as_ref().map(|a| a.span))
        };
        let list = |choices: &[f64], unit: &str| {
            let shown: Vec<String> = choices.iter().map(|c| number::short(*c)).collect();
            format!("{} {unit}", shown.join(", "))
        };
        for misfit in &schedule.misfits {
            let f = |headline: String| Finding::new(kind, &device.name, headline);
            found.push(match misfit {
                Misfit::Clock { hz, limits } => {
                    let hertz = |x: f64| number::measured(x, "Hz", 3);
                    let within = match limits {
                        (Some(low), Some(high)) => format!("{} to {}", hertz(*low), hertz(*high)),
                        (Some(low), None) => format!("at least {}", hertz(*low)),
                        (None, Some(high)) => format!("at most {}", hertz(*high)),
                        (None, None) => continue,
                    };
                    let nearest = match limits {
                        (_, Some(high)) if hz > high => *high,
                        (Some(low), _) => *low,
                        _ => *hz,
                    };
                    f(format!(
                        "the converter of `{}` is clocked with {}, its part allows {within}",
                        device.name,
                        hertz(*hz)
                    ))
                    .at(scan.clock_hz.as_ref().map(|c| c.span))
                    .remedy(prescaled(
                        scan.clock_hz.as_ref().map(|c| c.value),
                        nearest,
                        *hz,
                    ))
                }
                Misfit::Acquisition {
                    channel: i,
                    cycles,
                    nearest,
                    choices,
                } => f(format!(
                    "an acquisition of {} clocks cannot be set in `{}`",
                    number::short(*cycles),
                    device.name
                ))
                .at(place(*i))
                .working(format!("there are {}", list(choices, "clocks")))
                .remedy(format!(
                    "acquisition = \"{} cycles\"",
                    number::short(*nearest)
                )),
                Misfit::TooShort {
                    channel: i,
                    seconds,
                    least_s,
                } => f(format!(
                    "`{}` acquires for {}, its part needs {} or more",
                    device.name,
                    number::measured(*seconds, "s", 3),
                    number::measured(*least_s, "s", 3)
                ))
                .at(place(*i))
                .remedy(format!(
                    "an acquisition of {} or more",
                    number::measured(*least_s, "s", 3)
                )),
                Misfit::DataRate {
                    channel: i,
                    hz,
                    choices,
                } => {
                    let nearest = choices
                        .iter()
                        .copied()
                        .min_by(|a, b| (a / hz - 1.0).abs().total_cmp(&(b / hz - 1.0).abs()));
                    f(format!(
                        "a data rate of {} /s cannot be set in `{}`",
                        number::short(*hz),
                        device.name
                    ))
                    .at(channel(*i)
                        .and_then(|c| c.data_rate_hz.as_ref())
                        .map(|r| r.span))
                    .working(format!("there are {}", list(choices, "/s")))
                    .remedy(format!(
                        "data-rate = \"{} /s\"",
                        number::short(nearest.unwrap_or(*hz))
                    ))
                }
                Misfit::Overrun { .. } => continue,
            });
        }
    }
}

/// A divider of the clock that brings it within the part's range.
fn prescaled(clock_hz: Option<f64>, nearest: f64, now: f64) -> String {
    let whole = clock_hz.map(|c| (c / nearest).ceil()).filter(|n| *n >= 1.0);
    match whole {
        Some(n) if now > nearest => format!(
            "prescaler = {} or more, or a clock of at most {}",
            number::short(n),
            number::measured(nearest, "Hz", 3)
        ),
        _ => format!("a clock of {}", number::measured(nearest, "Hz", 3)),
    }
}
