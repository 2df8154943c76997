//! The samples of an alternating quantity cover part of a period.

use chain::channel::{Windowed, windowed};
use chain::time::interferer::rms_window;
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "alternating.partial-periods",
        severity: Severity::Note,
        title: "Samples of an alternating quantity cover part of a period",
        explanation: include_str!("pages/alternating.partial-periods.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if let Some(study) = &judged.study {
            found.extend(finding(kind, study));
        }
    }
}

/// Share of a reading from which on it is told where no accuracy is asked.
const OF_READING: f64 = 0.01;

/// Half periods looked at for a better window.
const HALVES: u32 = 64;

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let ac = channel.ac.as_ref()?;
    let w = windowed(study.board, channel)?;
    let high = channel.span.value.1;
    // As a share of the reading at the upper end, where it is largest.
    let permitted = channel.limit_at(high).map_or(OF_READING, |limit| {
        study.board.judging.known_error * limit / high.abs()
    });
    let worst = |error: (f64, f64)| error.0.abs().max(error.1.abs());
    if !(worst(w.error) > permitted) {
        return None;
    }
    let (low_hz, nominal_hz, high_hz) = ac.frequency_hz;
    let what = if ac.is_peak {
        "the peak"
    } else {
        "the root mean square"
    };
    let periods = f64::from(w.count) * nominal_hz / w.rate_hz;
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "{} samples at {} a second cover {} periods of {}: {what} is read between {} and {} of itself, by the phase at which they begin",
            w.count,
            number::about(w.rate_hz, ""),
            quantity::plain(periods, 4),
            super::interference_alias::between(low_hz, high_hz),
            percent(w.error.0),
            percent(w.error.1)
        ),
    )
    .at(ac.span)
    .at(channel.input.as_ref().map(|i| i.span));
    if ac.is_peak {
        f = f
            .working(format!(
                "the widest gap between the phases met hides 1 − cos(gap/2) = {}",
                number::relative(-w.error.0, 3)
            ))
            .remedy(
                "more samples in a period, or the root mean square times the crest factor"
                    .to_owned(),
            );
        return Some(f);
    }
    f = f.working(format!(
        "D = |sin(2π·{} · N/rate)/(N·sin(2π·{} /rate))| at the worst frequency; √(1 ± D) − 1",
        number::about(nominal_hz, "Hz"),
        number::about(nominal_hz, "Hz")
    ));
    let better = |halves: u32| {
        let count = (0.5 * f64::from(halves) * w.rate_hz / nominal_hz).round();
        let count = if (2.0..=1e6).contains(&count) {
            count as u32
        } else {
            return None;
        };
        let share = |hz: f64| hz / w.rate_hz;
        let error = rms_window(share(low_hz), share(high_hz), count);
        Some((count, halves, Windowed { error, count, ..w }))
    };
    let best = (2..=HALVES)
        .filter_map(better)
        .find(|b| worst(b.2.error) < 0.5 * worst(w.error));
    if let Some((count, halves, b)) = best {
        f = f.remedy(format!(
            "average = {count}: {} periods, between {} and {}",
            number::short(0.5 * f64::from(halves)),
            percent(b.error.0),
            percent(b.error.1)
        ));
    }
    Some(f.remedy(
        "or begin and end the samples at crossings through zero, so that the window follows the frequency".to_owned(),
    ))
}

/// A relative error with its sign.
fn percent(x: f64) -> String {
    let sign = if x > 0.0 { "+" } else { "" };
    format!("{sign}{}", number::relative(x, 2))
}
