//! A tone stands still in the readings: an offset that no look at them gives
//! away.

use chain::time::interferer::{Arrival, Disturbance};
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::interference::Heard;
use crate::study::Study;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "interference.zero-beat",
        severity: Severity::Note,
        title: "A disturbing tone stands still in the readings",
        explanation: include_str!("pages/interference.zero-beat.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (judged, heard) in scene.judged.iter().zip(&scene.heard) {
        if let (Some(study), Some(heard)) = (&judged.study, heard) {
            found.extend(
                heard
                    .found
                    .list
                    .iter()
                    .filter_map(|d| finding(kind, study, heard, d)),
            );
        }
    }
}

/// Harmonics named one by one.
const NAMED: usize = 5;

fn finding(kind: &Kind, study: &Study<'_>, heard: &Heard, d: &Disturbance) -> Option<Finding> {
    let rate_span = heard.found.timing.rate_span?;
    let rate_hz = heard.found.timing.readout.reading_rate_hz;
    let still: Vec<&Arrival> = d
        .arrivals
        .iter()
        .filter(|a| a.stands_still && heard.times_worth_telling(heard.peak_v(a)) > 1.0)
        .collect();
    let first = still.first()?;
    let multiple = |a: &Arrival| number::count((a.hz.1 / rate_hz).round());
    let rate = number::about(rate_hz, "");
    let mut numbers: Vec<String> = still
        .iter()
        .take(NAMED)
        .map(|a| a.number.to_string())
        .collect();
    if still.len() > NAMED {
        numbers.push(format!("{} more", still.len() - NAMED));
    }
    let peak: f64 = still.iter().map(|a| heard.peak_v(a)).sum();
    let taken = if d.family.amplitudes.is_empty() {
        format!("{} of it", number::amount(heard.pickup_v, "V"))
    } else {
        "what is known of it".to_owned()
    };
    let largest = still.iter().map(|a| heard.peak_v(a)).fold(0.0, f64::max);
    let mut f = Finding::new(
        kind,
        &study.channel.name,
        format!(
            "{} × {} is exactly {} × {rate} readings a second and stands still in them: {taken} would be an offset of up to {}, which they do not give away",
            d.name,
            words::listed(&numbers),
            multiple(first),
            heard.peak_words(
                if d.family.amplitudes.is_empty() { largest } else { peak },
                words::error_unit(study.channel)
            )
        ),
    )
    .at(rate_span)
    .at(d.span);
    for a in still.iter().take(NAMED) {
        f = f.working(format!(
            "{} × {} − {} × {rate} /s = 0 Hz",
            a.number,
            number::about(d.family.nominal_hz, "Hz"),
            multiple(a)
        ));
    }
    if let Some((beside_hz, shows_hz)) = beside(d, rate_hz) {
        f = f.remedy(format!(
            "{} readings a second: every harmonic then shows, the slowest at {}",
            number::about(beside_hz, ""),
            number::measured(shows_hz, "Hz", 2)
        ));
    }
    for r in heard.remedies(study, d, heard.times_worth_telling(largest)) {
        f = f.remedy(r);
    }
    Some(f)
}

/// Share of the rate at which a tone is well seen.
const SEEN: f64 = 0.05;

/// The nearest rate within a tenth at which all nominal tones are well seen,
/// else the one at which the slowest of them is seen best; and where that
/// shows, Hz.
fn beside(d: &Disturbance, rate_hz: f64) -> Option<(f64, f64)> {
    let slowest = |rate: f64| {
        d.arrivals
            .iter()
            .map(|a| (a.hz.1 - rate * (a.hz.1 / rate).round()).abs())
            .fold(f64::INFINITY, f64::min)
    };
    let tried: Vec<(f64, f64)> = (1..=20)
        .flat_map(|k| [5e-3 * f64::from(k), -5e-3 * f64::from(k)])
        .map(|off| rate_hz * (1.0 + off))
        .map(|rate| (rate, slowest(rate)))
        .collect();
    tried
        .iter()
        .copied()
        .find(|(rate, shows)| *shows >= SEEN * rate)
        .or_else(|| tried.into_iter().max_by(|a, b| a.1.total_cmp(&b.1)))
        .filter(|best| best.1 > 0.0)
}
