//! A straight line where the law is curved.

use finding::{Finding, Kind, Severity};

use report::number;

use super::firmware_conversion_differs::is_straight_for_curved;
use super::{Entry, Scene};
use crate::firmware::Firmware;
use crate::known::{self, Point};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "firmware.straight-line",
        severity: Severity::Fail,
        title: "The firmware uses a straight line for a curved law",
        explanation: include_str!("pages/firmware.straight-line.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (judged, firmware) in scene.judged.iter().zip(&scene.firmware) {
        if let (Some(study), Some(firmware)) = (&judged.study, firmware) {
            found.extend(finding(kind, scene, study, firmware));
        }
    }
}

fn finding(
    kind: &Kind,
    _: &Scene<'_, '_>,
    study: &Study<'_>,
    firmware: &Firmware,
) -> Option<Finding> {
    let step = study.channel.conversion.steps.last()?;
    if !is_straight_for_curved(firmware) {
        return None;
    }
    let errors: Vec<Point> = firmware.errors().into_iter().map(|(p, _)| p).collect();
    let worst = known::largest(&errors)?;
    let severity = known::severity(study, worst)?;
    let limit = |q: f64| {
        study
            .channel
            .limit_at(q)
            .unwrap_or(0.01 * (study.channel.span.value.1 - study.channel.span.value.0))
    };
    // The part of the span that is within the limit, about its best place.
    let within: Vec<&Point> = errors
        .iter()
        .filter(|p| p.error().abs() <= limit(p.right))
        .collect();
    let mut f = Finding::new(
        kind,
        &study.channel.name,
        format!(
            "a straight line where the law is curved: {}",
            known::reads(study, worst)
        ),
    )
    .severity(severity)
    .at(step.formula.span);
    for p in firmware.marks(study) {
        f = f.working(known::reads(study, p));
    }
    let best = best_line(firmware);
    f = f.working(format!(
        "the best straight line over the span would leave ±{}",
        study.size(best, 3)
    ));
    f = f.working(format!(
        "{} of {} codes looked at are within ±{}",
        within.len(),
        errors.len(),
        study.size(limit(worst.right), 3)
    ));
    if best <= limit(worst.right) {
        f = f.remedy(format!(
            "a better line: one that leaves ±{} everywhere",
            study.size(best, 3)
        ));
    } else {
        let pieces = (best / limit(worst.right).max(f64::MIN_POSITIVE))
            .sqrt()
            .ceil();
        f = f.remedy(format!(
            "a table of about {} straight pieces, whose error falls with the square of their number",
            number::count(pieces.max(2.0))
        ));
    }
    Some(f.remedy("or the law itself: leave the formula out and see what it costs".to_owned()))
}

/// Half the width of the narrowest band between two parallel straight lines
/// with the slope of the chord that holds the curve: what the best line of
/// that slope leaves. For a curve bent one way that is the best of all.
fn best_line(firmware: &Firmware) -> f64 {
    let points = &firmware.points;
    let (Some(a), Some(b)) = (points.first(), points.last()) else {
        return 0.0;
    };
    let slope = (b.right - a.right) / (b.code - a.code);
    let above = |p: &crate::firmware::At| p.right - a.right - slope * (p.code - a.code);
    let low = points.iter().map(above).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(above).fold(f64::NEG_INFINITY, f64::max);
    0.5 * (high - low)
}
