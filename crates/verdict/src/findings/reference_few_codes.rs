//! The span uses few of the converter's codes.

use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::judge::Judged;

/// A code width up to this share of the limit does not matter.
const FINE: f64 = 0.05;
/// So many codes are enough where no accuracy is asked.
const ENOUGH: f64 = 1000.0;
/// Share of the codes that a changed gain should use.
const WANTED: f64 = 0.9;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "reference.few-codes",
        severity: Severity::Note,
        title: "The span uses few of the converter's codes",
        explanation: include_str!("pages/reference.few-codes.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        found.extend(finding(kind, scene, judged));
    }
}

fn finding(kind: &Kind, scene: &Scene<'_, '_>, judged: &Judged<'_>) -> Option<Finding> {
    let (signal, channel) = (judged.report.signal?, judged.channel);
    let share = signal.share();
    let widest = signal.code_width_low.max(signal.code_width_high);
    let limit = judged.report.need.as_ref().map(|n| n.limit);
    let fine = match limit {
        Some(limit) => widest <= FINE * limit,
        None => signal.codes_used >= ENOUGH,
    };
    if share >= scene.board.judging.few_codes || fine {
        return None;
    }
    let unit = judged.report.error_unit.as_str();
    let volt = |v: f64| number::measured(v, "V", 3);
    let headline = format!(
        "the span uses {} of {} codes; a code is up to {} wide",
        number::share(share),
        number::count(signal.codes),
        number::measured(widest, unit, 2),
    );
    let span_volt = (signal.at_high - signal.at_low).abs();
    let scale = signal.scale_high - signal.scale_low;
    let gain = WANTED / share;
    Some(
        Finding::new(kind, &channel.name, headline)
            .at(channel.span.span)
            .working(format!(
                "codes used = {} · |{} − {}| / {} = {}",
                number::count(signal.codes),
                volt(signal.at_high),
                volt(signal.at_low),
                volt(scale),
                number::count(signal.codes_used),
            ))
            .working(format!(
                "a code = {} at the low end, {} at the high end",
                number::measured(signal.code_width_low, unit, 2),
                number::measured(signal.code_width_high, unit, 2)
            ))
            .remedy(format!(
                "a gain of {} (after moving the span's middle, {}, to the middle of the scale) \
                 would use {}",
                quantity::plain(gain, 2),
                volt(0.5 * (signal.at_low + signal.at_high)),
                number::share(WANTED),
            ))
            .remedy(format!(
                "without an offset: a gain of {}, or a reference of {}, puts the largest voltage \
                 at {} of the scale",
                quantity::plain(WANTED * scale / largest(&signal), 2),
                volt(largest(&signal) / WANTED),
                number::share(WANTED),
            ))
            .remedy(format!(
                "averaging readings whose noise is above 0.5 codes tells steps apart that are \
                 finer than a code ({} of signal)",
                volt(span_volt / signal.codes_used.max(1.0))
            )),
    )
}

/// The largest voltage of the span above the low end of the scale.
fn largest(signal: &report::Signal) -> f64 {
    signal.at_high.max(signal.at_low) - signal.scale_low
}
