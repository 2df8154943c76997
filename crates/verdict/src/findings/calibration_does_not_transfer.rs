//! A calibration that is right at its points and wrong between them.

use board::{Calibration, Fit};
use chain::channel::{ERROR, RAW_ERROR};
use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::causes::{on, with_channel};
use crate::known::{self, Point};
use crate::study::Study;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "calibration.does-not-transfer",
        severity: Severity::Fail,
        title: "A calibration does not carry over the span",
        explanation: include_str!("pages/calibration.does-not-transfer.md"),
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

/// Places of the span that are looked at.
const PLACES: usize = 65;

fn over(study: &Study<'_>, output: usize) -> Vec<Point> {
    let (low, high) = study.channel.span.value;
    let at = |i: usize| low + (high - low) * i as f64 / (PLACES - 1) as f64;
    let mut places: Vec<f64> = (0..PLACES).map(at).collect();
    // A law made of points bends at them.
    for f in study.channel.sensor.figures.values() {
        places.extend(
            f.points
                .iter()
                .map(|p| p.0)
                .filter(|&q| low <= q && q <= high),
        );
    }
    places.sort_by(f64::total_cmp);
    places
        .into_iter()
        .map(|q| Point {
            right: q,
            read: q + study.at_quantity(output, q),
        })
        .collect()
}

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let c = channel.calibration.as_ref()?;
    let worst = known::largest(&over(study, ERROR))?;
    let severity = known::severity(study, worst)?;
    let raw = known::largest(&over(study, RAW_ERROR))?;
    let at: Vec<String> = c.at.iter().map(|&q| study.value(q)).collect();
    let (low, high) = channel.span.value;
    let share = worst.error() / worst.right;
    let relative = if channel.dimension == quantity::Dimension::TEMPERATURE {
        String::new()
    } else {
        format!(
            ", {}{} %",
            if share < 0.0 { "\u{2212}" } else { "+" },
            quantity::plain(100.0 * share.abs(), 3)
        )
    };
    let worse = if worst.error().abs() > raw.error().abs() {
        format!(
            "; without it errors reach {} only",
            study.size(raw.error().abs(), 3)
        )
    } else {
        String::new()
    };
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "calibrated at {}, but {}{relative}{worse}",
            words::listed(&at),
            known::reads(study, worst)
        ),
    )
    .severity(severity)
    .at(c.span);
    // The slopes that the raw reading would need between the points.
    let mut ends = vec![low, high, worst.right];
    ends.extend(&c.at);
    ends.sort_by(f64::total_cmp);
    ends.dedup_by(|a, b| (*a - *b).abs() < 1e-9 * (high - low));
    let raw_reading = |q: f64| q + study.at_quantity(RAW_ERROR, q);
    for pair in ends.windows(2) {
        if let [a, b] = *pair {
            let slope = (b - a) / (raw_reading(b) - raw_reading(a));
            f = f.working(format!(
                "from {} to {} the raw reading needs a slope of {}",
                study.value(a),
                study.value(b),
                quantity::plain(slope, 3)
            ));
        }
    }
    f = f.working(format!(
        "without a calibration errors reach {}, with it {}",
        study.size(raw.error().abs(), 3),
        study.size(worst.error().abs(), 3)
    ));
    // What other calibrations would leave.
    for (fit, at, what) in [
        (
            Fit::Line,
            vec![low, high],
            "a line through both ends of the span",
        ),
        (
            Fit::Parabola,
            vec![low, 0.5 * (low + high), high],
            "a parabola through both ends and the middle",
        ),
    ] {
        if let Some(left) = left(study, c, fit, at)
            && left < 0.9 * worst.error().abs()
        {
            f = f.remedy(format!("{what} would leave {}", study.size(left, 3)));
        }
    }
    Some(f.remedy(format!(
        "between points nothing is known that was not compared there: compare at {} too",
        study.value(worst.right)
    )))
}

/// The largest error that another calibration would leave, everything
/// nominal.
fn left(study: &Study<'_>, c: &Calibration, fit: Fit, at: Vec<f64>) -> Option<f64> {
    let changed = with_channel(study.board, &study.channel.name, |channel| {
        channel.calibration = Some(Calibration {
            at,
            fit,
            ..c.clone()
        });
    })?;
    on(&changed, &study.channel.name, |s| {
        known::largest(&over(s, ERROR)).map(|p| p.error().abs())
    })?
}
