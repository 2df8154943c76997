//! A formula of whole numbers that cuts off too much.

use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::firmware::Firmware;
use crate::known::{self, Point};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "firmware.truncation",
        severity: Severity::Fail,
        title: "The firmware's formula cuts off too much",
        explanation: include_str!("pages/firmware.truncation.md"),
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
    let cut: Vec<Point> = firmware
        .points
        .iter()
        .map(|p| Point {
            right: p.fractions,
            read: p.in_64_bits,
        })
        .collect();
    let worst = known::largest(&cut)?;
    let severity = known::severity(study, worst)?;
    let at = firmware
        .points
        .iter()
        .find(|p| p.fractions == worst.right && p.in_64_bits == worst.read)?;
    let mean = cut.iter().map(|p| p.error()).sum::<f64>() / cut.len().max(1) as f64;
    let mut f = Finding::new(
        kind,
        &study.channel.name,
        format!(
            "whole numbers cut off up to {}: code {} reads {} instead of {}",
            study.size(worst.error().abs(), 3),
            number::count(at.code),
            study.value(worst.read),
            study.value(worst.right)
        ),
    )
    .severity(severity);
    for step in &study.channel.conversion.steps {
        f = f.at(step.formula.span);
    }
    let steps = {
        let mut values: Vec<f64> = cut.iter().map(|p| p.read).collect();
        values.sort_by(f64::total_cmp);
        values.dedup();
        values.len()
    };
    Some(
        f.working(format!(
            "{} codes give {steps} different readings; on average {}",
            firmware.points.len(),
            known::off_by(study, mean)
        ))
        .remedy(
            "multiply before dividing, in a type wide enough, and add half the divisor before \
             the last division"
                .to_owned(),
        )
        .remedy(format!(
            "or keep `{}` in f32 or in smaller units",
            step.formula.value
        )),
    )
}
