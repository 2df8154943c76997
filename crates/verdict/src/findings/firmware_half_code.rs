//! A formula that is right to within a code, but not to within half of one.

use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::firmware::Firmware;
use crate::known::Point;
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "firmware.half-code",
        severity: Severity::Note,
        title: "The firmware's formula is off by part of a code",
        explanation: include_str!("pages/firmware.half-code.md"),
    },
    look,
};

/// An error up to this share of the permitted one does not matter.
const FINE: f64 = 0.02;

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
    let most = firmware.largest_in_codes();
    if !(0.2..=1.05).contains(&most) {
        return None;
    }
    let errors = firmware.errors();
    // Where the need is much wider than that, nobody need hear of it.
    let matters = errors.iter().any(|(p, _)| {
        study
            .channel
            .limit_at(p.right)
            .is_none_or(|limit| p.error().abs() > FINE * limit)
    });
    if !matters {
        return None;
    }
    let (first, middle, last) = (
        errors.first()?,
        errors.get(errors.len() / 2)?,
        errors.last()?,
    );
    let codes = |(p, width): &(Point, f64)| p.error() / width;
    let said = |at: &(Point, f64)| {
        format!(
            "{} codes at {} ({})",
            signed(codes(at)),
            study.value(at.0.right),
            study.size(at.0.error(), 2)
        )
    };
    let all = firmware.last + 1.0;
    // What a code stands for: from its own value on, or about it.
    let (shift, least_bias) = if firmware.floors {
        (0.5, format!("(code + 0.5) / {}", number::count(all)))
    } else {
        (0.0, format!("code / {}", number::count(all)))
    };
    let same = (codes(first) - codes(last)).abs() < 0.05;
    let headline = if same {
        format!(
            "every reading is {} by {} codes ({}): the estimate without bias is {least_bias}",
            if codes(middle) < 0.0 { "low" } else { "high" },
            quantity::plain(codes(middle).abs(), 2),
            study.size(middle.0.error().abs(), 2),
        )
    } else {
        format!(
            "readings are off by {}, {} and {}: the estimate without bias is {least_bias}",
            said(first),
            said(middle),
            said(last)
        )
    };
    let top = firmware.code(firmware.last + shift - if firmware.floors { 1.0 } else { 0.5 });
    let volts = study.channel.span.value;
    let (v, c) = (
        |q: f64| study.at_quantity(chain::channel::VOLT, q),
        |q: f64| study.at_quantity(chain::channel::CODE, q),
    );
    let volt_per_code = (v(volts.1) - v(volts.0)) / (c(volts.1) - c(volts.0));
    let volt = v(volts.0) + (firmware.last + shift - 0.5 - c(volts.0)) * volt_per_code;
    let width = middle.1;
    Some(
        Finding::new(kind, &study.channel.name, headline)
            .at(step.formula.span)
            .working(format!(
                "a code is {} wide at the converter and {} in the reading",
                number::measured(volt_per_code.abs(), "V", 4),
                study.size(width, 4)
            ))
            .working(format!("error: {}, {}, {}", said(first), said(middle), said(last)))
            .working(format!(
                "the highest code, {}, says only: at or above {} at the converter, {}; what it reads there proves nothing",
                number::count(firmware.last),
                number::measured(volt, "V", 5),
                study.value(top.right),
            ))
            .remedy(format!(
                "use {least_bias} in place of the code's share of the scale, if half a code matters"
            )),
    )
}

fn signed(x: f64) -> String {
    let sign = if x < 0.0 { "\u{2212}" } else { "+" };
    format!("{sign}{}", quantity::plain(x.abs(), 2))
}
