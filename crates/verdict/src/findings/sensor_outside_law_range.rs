//! The span goes beyond what the sensor or its law is given for.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::judge::Judged;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "sensor.outside-law-range",
        severity: Severity::Fail,
        title: "The span goes beyond the sensor's range",
        explanation: include_str!("pages/sensor.outside-law-range.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        found.extend(finding(kind, judged));
    }
}

fn finding(kind: &Kind, judged: &Judged<'_>) -> Option<Finding> {
    let (study, channel) = (judged.study.as_ref()?, judged.channel);
    let (low, high) = channel.span.value;
    // Values written in other units carry rounding.
    let slack = 1e-9 * (high - low);
    // The sensor's own range, then the law's.
    let mut ranges: Vec<(String, Option<f64>, Option<f64>, String)> = Vec::new();
    for name in ["range", "span"] {
        if let Some(f) = channel
            .sensor
            .figures
            .get(name)
            .filter(|f| f.dimension == channel.dimension)
        {
            // A wave about zero has peaks beyond the rms value stated.
            let (from, to) = match f.max.filter(|_| low < 0.0 && f.conditions.contains("rms")) {
                Some(rms) => {
                    let peak = std::f64::consts::SQRT_2 * rms;
                    (Some(-peak), Some(peak))
                }
                None => (f.min, f.max),
            };
            ranges.push((
                "the sensor's measuring range".to_owned(),
                from,
                to,
                f.source.to_string(),
            ));
        }
    }
    if let Some((from, to)) = study.validity {
        ranges.push((
            format!("the range of the law `{}`", channel.sensor.law),
            Some(from),
            Some(to),
            "the law’s definition".to_owned(),
        ));
    }
    for (what, from, to, source) in ranges {
        let below = from.filter(|f| low < f - slack);
        let above = to.filter(|t| high > t + slack);
        let (edge, end, word) = match (below, above) {
            (Some(f), _) => (f, low, "begins at"),
            (None, Some(t)) => (t, high, "ends at"),
            (None, None) => continue,
        };
        let rest = (
            from.map_or(low, |f| f.max(low)),
            to.map_or(high, |t| t.min(high)),
        );
        let mut f = Finding::new(
            kind,
            &channel.name,
            format!(
                "the span goes to {}, but {what} {word} {}",
                study.value(end),
                study.value(edge)
            ),
        )
        .at(channel.span.span)
        .figure(
            &what,
            [from, to]
                .into_iter()
                .flatten()
                .map(|x| study.value(x))
                .collect::<Vec<_>>()
                .join(" to "),
            source,
        )
        .remedy("another sensor for this span".to_owned());
        if rest.0 < rest.1 {
            f = f.remedy(format!(
                "or a span of {} to {}",
                study.value(rest.0),
                study.value(rest.1)
            ));
        }
        return Some(f);
    }
    None
}
