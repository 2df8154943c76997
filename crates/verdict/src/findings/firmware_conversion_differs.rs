//! The firmware's formula does not undo what is fitted.

use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::firmware::{Firmware, curvature};
use crate::known::{self, Nature};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "firmware.conversion-differs",
        severity: Severity::Fail,
        title: "The firmware's formula does not undo the circuit",
        explanation: include_str!("pages/firmware.conversion-differs.md"),
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
    let c = &study.channel.conversion;
    let step = c.steps.last()?;
    // What an assumed value explains is told there, what is at most a code
    // and what is only a straight line each by itself.
    if c.assumed_reference_v.is_some()
        || firmware.largest_in_codes() <= 1.05
        || is_straight_for_curved(firmware)
    {
        return None;
    }
    let points = firmware.marks(study);
    let worst = known::largest(&points)?;
    let severity = known::severity(study, worst)?;
    let mut f = Finding::new(
        kind,
        &study.channel.name,
        format!(
            "the firmware's formula does not undo what is fitted: {}",
            known::nature_words(study, &points)
        ),
    )
    .severity(severity)
    .at(step.formula.span);
    for &p in &points {
        f = f.working(known::reads(study, p));
    }
    if let Nature::Factor(k) = known::nature(study.channel, &points) {
        let middle = 0.5 * (study.channel.span.value.0 + study.channel.span.value.1);
        let reference = study.at_quantity(chain::channel::REFERENCE, middle);
        f = f
            .working(format!(
                "{} of the reading, {} codes at the end of the scale",
                number::share((k - 1.0).abs()),
                quantity::plain((k - 1.0).abs() * (firmware.last + 1.0), 3)
            ))
            .remedy(format!(
                "divide the result by {}: as it stands it fits a reference of {} instead of {}",
                quantity::plain(k, 4),
                number::measured(k * reference, "V", 4),
                number::measured(reference, "V", 4)
            ));
    }
    f = f.working(known::nature_advice(study, &points));
    Some(f.remedy(
        "or leave the formula out: the reading is then the exact inverse of the circuit as the \
         file describes it"
            .to_owned(),
    ))
}

/// Whether the formula is a straight line and what is fitted is not.
pub(super) fn is_straight_for_curved(firmware: &Firmware) -> bool {
    let written: Vec<(f64, f64)> = firmware
        .points
        .iter()
        .map(|p| (p.code, p.fractions))
        .collect();
    let right: Vec<(f64, f64)> = firmware.points.iter().map(|p| (p.code, p.right)).collect();
    curvature(&written) < 1e-6 && curvature(&right) > 1e-3
}
