//! Averaging cannot resolve more: without noise all codes are alike.

use finding::{Finding, Kind, Severity};
use report::number;
use statistics::dither;

use super::{Entry, Scene};
use crate::judge::Judged;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "averaging.no-dither",
        severity: Severity::Note,
        title: "Averaging gains no resolution",
        explanation: include_str!("pages/averaging.no-dither.md"),
    },
    look,
};

/// Share of a code that averaging may leave before it is told.
const LEFT_CODES: f64 = 0.25;
/// Share of a code that may well be left.
const WANTED_CODES: f64 = 0.05;

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (i, judged) in scene.judged.iter().enumerate() {
        found.extend(finding(kind, scene, i, judged));
    }
}

fn finding(kind: &Kind, scene: &Scene<'_, '_>, i: usize, judged: &Judged<'_>) -> Option<Finding> {
    let channel = judged.channel;
    // What alternates carries itself over the steps.
    if channel.ac.is_some() {
        return None;
    }
    let input = channel.input.as_ref().filter(|n| n.average > 1)?;
    let noise = scene.timing.channel(i)?.noise.as_ref()?;
    let study = judged.study.as_ref()?;
    let sigma = study.single_noise_codes;
    let left = dither::largest_bias(sigma);
    let width = judged.report.signal?;
    let width = width.code_width_low.max(width.code_width_high);
    if left < LEFT_CODES {
        return None;
    }
    let needed = dither::sigma_for(WANTED_CODES)?;
    Some(
        Finding::new(
            kind,
            &channel.name,
            format!(
                "the mean of {} codes is still up to {} codes ({}) off: noise of {} codes does not carry them over the steps",
                input.average,
                quantity::plain(left, 2),
                number::measured(left * width, words::error_unit(channel), 2),
                quantity::plain(sigma, 2)
            ),
        )
        .at(input.span)
        .working(format!(
            "largest bias left by noise of σ codes: (1/π)·exp(−2π²σ²) from 0.2 codes on, half a code without any; {} of the network are {} codes",
            number::measured(noise.single_v(), "V", 2),
            quantity::plain(
                noise.single_v() * study.codes_per_volt(),
                2
            )
        ))
        .remedy(format!(
            "noise of {} codes or more before rounding, from the sensor or added on purpose, leaves {} codes",
            quantity::plain(needed, 2),
            quantity::plain(WANTED_CODES, 2)
        ))
        .remedy("or no averaging: one conversion is as good".to_owned()),
    )
}
