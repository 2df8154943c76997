//! What is left of a tone of known size takes a good part of the permitted
//! error.

use chain::time::interferer::{Disturbance, decibel};
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::interference::Heard;
use crate::study::Study;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "interference.mains-not-rejected",
        severity: Severity::Note,
        title: "A disturbing tone is not damped enough",
        explanation: include_str!("pages/interference.mains-not-rejected.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (judged, heard) in scene.judged.iter().zip(&scene.heard) {
        if let (Some(study), Some(heard)) = (&judged.study, heard) {
            let known = heard
                .found
                .list
                .iter()
                .filter(|d| !d.family.amplitudes.is_empty());
            found.extend(known.filter_map(|d| finding(kind, study, heard, d)));
        }
    }
}

/// Harmonics whose working is shown.
const NAMED: usize = 8;

fn finding(kind: &Kind, study: &Study<'_>, heard: &Heard, d: &Disturbance) -> Option<Finding> {
    let left = |n: &chain::time::interferer::Arrival| n.amplitude.unwrap_or(0.0);
    let peak: f64 = d.arrivals.iter().map(left).sum();
    let times = heard.times_worth_telling(peak);
    if times <= 1.0 {
        return None;
    }
    let unit = words::error_unit(study.channel);
    let share = heard
        .slopes
        .unit_per_volt
        .zip(heard.limit)
        .map(|(s, l)| s * peak / l);
    let of_limit = share.map_or_else(String::new, |s| {
        format!(", {} of the permitted error", number::share(s))
    });
    let is_beyond = share.is_some_and(|s| s > 1.0);
    let mut f = Finding::new(
        kind,
        &study.channel.name,
        format!(
            "{} on {} leaves up to {} in the readings{of_limit}",
            d.name,
            d.on,
            heard.peak_words(peak, unit)
        ),
    )
    .severity(if is_beyond {
        Severity::Fail
    } else {
        Severity::Note
    })
    .at(d.span)
    .at(study.channel.input.as_ref().map(|i| i.span));
    for a in d.arrivals.iter().filter(|a| left(a) > 0.0).take(NAMED) {
        f = f.working(format!(
            "{} at {}: {} × {} by the chain × {} by filter and average = {}",
            match a.number {
                1 => "the fundamental".to_owned(),
                n => format!("× {n}"),
            },
            super::interference_alias::between(a.hz.0, a.hz.2),
            number::about(d.family.amplitude(a.number).unwrap_or(0.0), "V"),
            quantity::plain(a.response, 3),
            quantity::plain(a.kept, 3),
            number::measured(left(a), "V", 3)
        ));
    }
    f = f.working(format!(
        "to be damped by a further {} dB",
        number::fixed(decibel(times), 0)
    ));
    for r in heard.remedies(study, d, times) {
        f = f.remedy(r);
    }
    Some(f)
}
