//! A tone of unknown size gets into the readings and shows where nobody would
//! look for it.

use chain::time::interferer::{Arrival, Disturbance, decibel};
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::interference::Heard;
use crate::study::Study;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "interference.alias",
        severity: Severity::Note,
        title: "A disturbing tone shows at another frequency",
        explanation: include_str!("pages/interference.alias.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (judged, heard) in scene.judged.iter().zip(&scene.heard) {
        if let (Some(study), Some(heard)) = (&judged.study, heard) {
            let of_unknown_size = heard
                .found
                .list
                .iter()
                .filter(|d| d.family.amplitudes.is_empty());
            found.extend(of_unknown_size.filter_map(|d| finding(kind, study, heard, d)));
        }
    }
}

/// Harmonics whose working is shown.
const NAMED: usize = 8;

fn finding(kind: &Kind, study: &Study<'_>, heard: &Heard, d: &Disturbance) -> Option<Finding> {
    let rate_span = heard.found.timing.rate_span?;
    let rate_hz = heard.found.timing.readout.reading_rate_hz;
    let matters = |a: &&Arrival| heard.times_worth_telling(heard.peak_v(a)) > 1.0;
    let telling: Vec<&Arrival> = d.arrivals.iter().filter(matters).collect();
    // The slowest is the one that no look at neighbouring readings gives away.
    let slowest = telling
        .iter()
        .copied()
        .min_by(|a, b| a.alias_hz.1.total_cmp(&b.alias_hz.1))?;
    let largest = telling.iter().map(|a| heard.peak_v(a)).fold(0.0, f64::max);
    let rate = number::about(rate_hz, "");
    let mut f = Finding::new(
        kind,
        &study.channel.name,
        format!(
            "{} × {}, {}, would show at {} in {rate} readings a second, damped by {} dB in all: {} of it would be {}",
            d.name,
            slowest.number,
            between(slowest.hz.0, slowest.hz.2),
            between(slowest.alias_hz.0, slowest.alias_hz.1),
            number::fixed(damped(slowest), 1),
            number::amount(heard.pickup_v, "V"),
            heard.peak_words(heard.peak_v(slowest), words::error_unit(study.channel))
        ),
    )
    .at(rate_span)
    .at(d.span);
    for a in telling.iter().take(NAMED) {
        let multiple = (a.hz.1 / rate_hz).round();
        f = f.working(format!(
            "|{} × {} − {} × {rate} /s| = {}; over {}: {}, damped by {} dB",
            a.number,
            number::about(d.family.nominal_hz, "Hz"),
            number::count(multiple),
            number::about(a.alias_nominal_hz, "Hz"),
            between(a.hz.0, a.hz.2),
            between(a.alias_hz.0, a.alias_hz.1),
            number::fixed(damped(a), 1)
        ));
    }
    for r in heard.remedies(study, d, heard.times_worth_telling(largest)) {
        f = f.remedy(r);
    }
    let multiple = (slowest.hz.1 / rate_hz).round();
    if multiple > 0.0 {
        f = f.remedy(format!(
            "to tell whether a slow wave is this: {} readings a second move it by {}, a real one stays",
            number::about(rate_hz + 1.0, ""),
            number::about(multiple, "Hz")
        ));
    }
    Some(f.remedy(format!(
        "or measure how large it is and write it: [interferers.{}] amplitude",
        d.name
    )))
}

/// How much chain, filter and averaging damp a tone together, dB.
pub(super) fn damped(a: &Arrival) -> f64 {
    -decibel(a.response * a.kept) + 0.0
}

/// A range of frequencies.
pub(super) fn between(low_hz: f64, high_hz: f64) -> String {
    if low_hz == high_hz {
        return number::about(low_hz, "Hz");
    }
    format!(
        "{} to {}",
        number::about(low_hz, "Hz"),
        number::about(high_hz, "Hz")
    )
}
