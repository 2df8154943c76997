//! A step of the reading is wider than what must be told apart.

use finding::{Finding, Kind, Severity};
use parts::Figure;
use report::number;

use super::{Entry, Scene};
use crate::judge::Judged;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "resolution.not-met",
        severity: Severity::Fail,
        title: "The resolution asked is not met",
        explanation: include_str!("pages/resolution.not-met.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        found.extend(finding(kind, judged));
    }
}

fn finding(kind: &Kind, judged: &Judged<'_>) -> Option<Finding> {
    let channel = judged.channel;
    let asked = channel.resolution.as_ref()?;
    let unit = words::error_unit(channel);
    let wanted = channel.unit.number_of_difference(asked.value);
    let show = |x: f64| number::measured(x, unit, 2);
    let (step, from) = match judged.report.signal {
        Some(s) => (
            s.code_width_low.max(s.code_width_high),
            "the widest code".to_owned(),
        ),
        None => {
            let f = channel.sensor.figures.get("resolution")?;
            let si = Figure::typical(f)?;
            (
                channel.unit.number_of_difference(si),
                format!("a step of the sensor ({})", f.source),
            )
        }
    };
    if step <= wanted {
        return None;
    }
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "{from} is {} wide where {} must be told apart",
            show(step),
            number::amount(wanted, unit)
        ),
    )
    .at(asked.span)
    .working(format!(
        "{} / {} = {}",
        show(step),
        number::amount(wanted, unit),
        quantity::plain(step / wanted, 3)
    ));
    if let Some(signal) = judged.report.signal {
        let gain = step / wanted;
        let room = 1.0 / signal.share();
        f = f.remedy(if gain < room {
            format!(
                "a gain of {} or more before the converter; the span would then use {} of the scale",
                quantity::plain(gain, 3),
                number::share(signal.share() * gain)
            )
        } else {
            let mut bits = 0;
            let mut n = 1.0;
            while n < gain {
                n *= 2.0;
                bits += 1;
            }
            format!("{bits} more bits: no gain has room for it on this scale")
        });
        let mut readings = 1.0;
        while readings < gain * gain {
            readings *= 2.0;
        }
        f = f.remedy(format!(
            "or the mean of {} readings, if their noise is above half a code and no two are alike by chance of timing",
            number::short(readings)
        ));
    }
    Some(f)
}
