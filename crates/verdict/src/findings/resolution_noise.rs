//! Readings scatter by more than what must be told apart.

use finding::{Finding, Kind, Severity};
use report::number;
use statistics::resolution;

use super::{Entry, Scene};
use crate::judge::Judged;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "resolution.noise",
        severity: Severity::Fail,
        title: "Noise hides what must be told apart",
        explanation: include_str!("pages/resolution.noise.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (i, judged) in scene.judged.iter().enumerate() {
        found.extend(finding(kind, scene, i, judged));
    }
}

/// Standard deviations within which all but a thousandth of the readings lie.
const PEAK_TO_PEAK: f64 = 6.6;

fn finding(kind: &Kind, scene: &Scene<'_, '_>, i: usize, judged: &Judged<'_>) -> Option<Finding> {
    let channel = judged.channel;
    let asked = channel.resolution.as_ref()?;
    let study = judged.study.as_ref()?;
    let noise = scene.timing.channel(i)?.noise.as_ref()?;
    let signal = judged.report.signal?;
    let width = signal.code_width_low.max(signal.code_width_high);
    let per_volt = study.codes_per_volt();
    let average = channel.input.as_ref().map_or(1, |n| n.average.max(1));
    let network = noise.single_v() * per_volt;
    let own = (study.single_noise_codes * study.single_noise_codes - network * network)
        .max(0.0)
        .sqrt();
    let reading = noise.reading_v() * per_volt;
    let codes = (reading * reading + own * own / f64::from(average)).sqrt();
    let unit = words::error_unit(channel);
    let wanted = channel.unit.number_of_difference(asked.value);
    let spread = PEAK_TO_PEAK * codes * width;
    if spread <= wanted {
        return None;
    }
    let more = (spread / wanted) * (spread / wanted) * f64::from(average);
    Some(
        Finding::new(
            kind,
            &channel.name,
            format!(
                "readings scatter over {} where {} must be told apart",
                number::measured(spread, unit, 2),
                number::amount(wanted, unit)
            ),
        )
        .at(asked.span)
        .working(format!(
            "6.6 × {} codes rms × {} a code; {} bits free of noise over the scale",
            quantity::plain(codes, 3),
            number::measured(width, unit, 2),
            quantity::plain(resolution::noise_free_bits(signal.codes, codes), 3)
        ))
        .remedy(format!(
            "the mean of {} conversions, as far as their noise is white: 1/f noise stays",
            number::short(more.ceil())
        ))
        .remedy(
            "or a lower corner frequency before the converter; `leastbit noise` shows what makes the most of it"
                .to_owned(),
        ),
    )
}
