//! A formula of whole numbers that do not hold its values.

use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::firmware::{At, Firmware};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "firmware.overflow",
        severity: Severity::Fail,
        title: "The firmware's formula overflows",
        explanation: include_str!("pages/firmware.overflow.md"),
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
    let differs = |a: f64, b: f64| (a - b).abs() > 1e-9 * (1.0 + b.abs());
    let wrong: Vec<&At> = firmware
        .points
        .iter()
        .filter(|p| differs(p.written, p.in_64_bits))
        .collect();
    let (first, last) = (wrong.first()?, wrong.last()?);
    let worst = wrong.iter().max_by(|a, b| {
        (a.written - a.in_64_bits)
            .abs()
            .total_cmp(&(b.written - b.in_64_bits).abs())
    })?;
    // The first code of the span at which it happens, coming from the side
    // on which it does not.
    let all = wrong.len() == firmware.points.len();
    let at_first_code = firmware
        .points
        .first()
        .is_some_and(|p| p.code == first.code);
    let from = if all {
        "at every code".to_owned()
    } else if at_first_code {
        format!(
            "up to code {} ({})",
            number::count(last.code),
            study.value(last.right)
        )
    } else {
        format!(
            "from code {} on ({})",
            number::count(first.code),
            study.value(first.right)
        )
    };
    let enough = if firmware
        .points
        .iter()
        .all(|p| !differs(p.in_32_bits, p.in_64_bits))
    {
        "32"
    } else {
        "64"
    };
    let mut f = Finding::new(
        kind,
        &study.channel.name,
        format!(
            "the formula overflows {from}: code {} reads {} instead of {}",
            number::count(worst.code),
            study.value(worst.written),
            study.value(worst.in_64_bits)
        ),
    );
    for step in &study.channel.conversion.steps {
        f = f.at(step.formula.span);
    }
    Some(
        f.working(format!(
            "{} of {} codes {}are wrong, by up to {}",
            wrong.len(),
            firmware.points.len(),
            if firmware.every { "" } else { "looked at " },
            study.size((worst.written - worst.in_64_bits).abs(), 4)
        ))
        .remedy(format!(
            "{enough} bits hold every value on the way of `{}`",
            step.formula.value
        ))
        .remedy("or divide before multiplying, where what is cut off does not matter".to_owned()),
    )
}
