//! Conversions begin before a switched reference has settled.

use std::sync::Arc;

use board::Board;
use chain::time::reference::{Spread, Switched, switched};
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::causes::{self, on};
use crate::known::{self, Point};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "reference.not-settled",
        severity: Severity::Fail,
        title: "Conversions begin before the reference has settled",
        explanation: include_str!("pages/reference.not-settled.md"),
    },
    look,
};

/// Codes of the full scale that may be left without a word.
const HALF_CODE: f64 = 0.5;
const QUARTER_CODE: f64 = 0.25;

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if let Some(study) = &judged.study {
            found.extend(finding(kind, study));
        }
    }
}

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let s = switched(study.board, channel).ok()??;
    let step = s.step;
    let slowest = step.tau_s.most;
    if step.left_codes(slowest).abs() <= HALF_CODE {
        return None;
    }
    let points = effect(study, &s, slowest)?;
    // Every mark may be off the scale while the reference is far from its
    // end; then no reading is right.
    let severity = match known::largest(&points) {
        Some(worst) => known::severity(study, worst).unwrap_or(Severity::Note),
        None => Severity::Fail,
    };
    let volt = |v: f64| number::measured(v, "V", 3);
    let time = |t: f64| number::measured(t, "s", 3);
    let share = |tau: f64| format!("{} %", quantity::plain(100.0 * step.left(tau).abs(), 2));
    let way = if step.left(slowest) > 0.0 {
        "high"
    } else {
        "low"
    };
    let waits = |codes: f64| step.tau_s.map(|tau| step.wait_for(codes, tau));
    let top = channel.span.value.1;
    let top_volt = study.at_quantity(chain::channel::VOLT, top);
    let settled = step.codes * top_volt / step.to_v;
    let code = |tau: f64| quantity::plain(step.code(top_volt, tau), 4);
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "{} from {} the reference `{}` is still {} too {way}{}: {}",
            if s.at_once {
                "as soon as it is switched".to_owned()
            } else {
                format!("{} after it is switched", time(step.wait_s))
            },
            volt(step.from_v),
            s.name,
            share(step.tau_s.usual),
            if step.tau_s.is_wide() && !s.at_once {
                format!(", up to {}", share(slowest))
            } else {
                String::new()
            },
            if points.is_empty() {
                "no reading of the span is on the scale".to_owned()
            } else {
                known::nature_words(study, &points)
            }
        ),
    )
    .severity(severity)
    .at(s.wait)
    .at(s.capacitor)
    .figure(
        &s.figure.name,
        s.figure.text.clone(),
        s.figure.source.to_string(),
    )
    .working(format!(
        "time constant = {} · {} = {}",
        spread(s.ohm, "Ω"),
        spread(s.farad, "F"),
        spread(step.tau_s, "s"),
    ))
    .working(format!(
        "left = ({} − {}) / {} · exp(−{} / {}) = {} of the reference, {} codes of the full scale",
        volt(step.from_v),
        volt(step.to_v),
        volt(step.to_v),
        time(step.wait_s),
        time(step.tau_s.usual),
        share(step.tau_s.usual),
        quantity::plain(step.left_codes(step.tau_s.usual), 3),
    ))
    .working(format!(
        "{} at the input is read as code {} instead of {}",
        number::measured(top_volt, "V", 4),
        code(step.tau_s.usual),
        quantity::plain(settled, 4),
    ))
    .working(format!(
        "half a code is left after {}, a quarter after {}",
        spread(waits(HALF_CODE), "s"),
        spread(waits(QUARTER_CODE), "s"),
    ));
    for &p in &points {
        f = f.working(known::reads(study, p));
    }
    f = f.remedy(format!(
        "wait {} after switching, until half a code is left at most ({} for a quarter): discarding a conversion or two is not enough, unless they take that long",
        time(waits(HALF_CODE).most),
        time(waits(QUARTER_CODE).most),
    ));
    if let Some(factor) = step.capacitor_factor(HALF_CODE, slowest) {
        f = f.remedy(format!(
            "or a capacitor of at most {} at the reference pin, for the wait there is",
            number::measured(s.farad.usual * factor, "F", 3),
        ));
    }
    Some(f.remedy("or leave the reference where it is, and scale the signals to it".to_owned()))
}

/// What the readings of the span become with the reference as far from its
/// end as a time constant leaves it, the firmware believing it settled.
fn effect(study: &Study<'_>, s: &Switched<'_>, tau_s: f64) -> Option<Vec<Point>> {
    let factor = 1.0 + s.step.left(tau_s);
    let mut settled = study.board.clone();
    for scan in &mut settled.scans {
        scan.reference_from = None;
    }
    let changed = causes::with_converter(&settled, study.channel, |unit, _| {
        let place = unit.references.iter_mut().find(|r| r.name == s.name);
        if let Some(figure) = place.and_then(|r| r.figures.get_mut("voltage")) {
            for column in [&mut figure.min, &mut figure.typ, &mut figure.max] {
                *column = column.map(|v| v * factor);
            }
        }
    })?;
    let believed: Arc<Board> = match &study.channel.conversion.assumed {
        Some(assumed) => assumed.clone(),
        None => Arc::new(settled.clone()),
    };
    let changed = causes::with_channel(&changed, &study.channel.name, |channel| {
        channel.conversion.assumed = Some(believed);
    })?;
    on(&changed, &study.channel.name, |unsettled| {
        causes::effect(unsettled, &settled)
    })?
}

/// `32.0 kΩ (20.0 kΩ to 50.0 kΩ)`.
fn spread(s: Spread, unit: &str) -> String {
    let one = |x: f64| number::measured(x, unit, 3);
    if s.is_wide() {
        format!("{} ({} to {})", one(s.usual), one(s.least), one(s.most))
    } else {
        one(s.usual)
    }
}
