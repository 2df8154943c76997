//! The firmware takes a quantity as constant that is not.

use board::Auxiliary;
use chain::channel::ERROR;
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::known::{self, Point};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "sensor.fixed-auxiliary",
        severity: Severity::Fail,
        title: "The firmware takes something as constant that is not",
        explanation: include_str!("pages/sensor.fixed-auxiliary.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if let Some(study) = &judged.study {
            found.extend(finding(kind, study));
        }
    }
}

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    // What is stated as a constant is in truth at the ambient.
    let (what, constant) = channel
        .sensor
        .auxiliaries
        .iter()
        .find_map(|(k, a)| match a {
            Auxiliary::Constant(c) => Some((*k, c)),
            Auxiliary::Channel(_) => None,
        })?;
    let (cold, hot) = study.board.conditions.ambient_k;
    let conditions = study.model.conditions();
    let place = conditions
        .iter()
        .position(|&i| study.variables.get(i).is_some_and(|v| v.key == "ambient"))?;
    let error = |q: f64, kelvin: f64| {
        let mut at = study.usual_conditions();
        if let Some(x) = at.first_mut() {
            *x = q;
        }
        if let Some(x) = at.get_mut(place) {
            *x = kelvin;
        }
        study.nominal(ERROR, &at)
    };
    let points = |kelvin: f64| -> Vec<Point> {
        known::marks(channel)
            .into_iter()
            .map(|q| Point {
                right: q,
                read: q + error(q, kelvin) - error(q, constant.value),
            })
            .collect()
    };
    let (kelvin, points, worst) = [cold, hot]
        .into_iter()
        .filter_map(|kelvin| {
            let points = points(kelvin);
            let worst = known::largest(&points)?;
            Some((kelvin, points, worst))
        })
        .max_by(|a, b| a.2.error().abs().total_cmp(&b.2.error().abs()))?;
    let severity = known::severity(study, worst)?;
    let degrees = |k: f64| format!("{} °C", number::short(k - 273.15));
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "the firmware takes the {} as {}, but at {} {}",
            what.replace('-', " "),
            degrees(constant.value),
            degrees(kelvin),
            known::nature_words(study, &points)
        ),
    )
    .severity(severity)
    .at(constant.span);
    for &p in &points {
        f = f.working(format!(
            "at {}: {}",
            degrees(kelvin),
            known::reads(study, p)
        ));
    }
    let each = worst.error().abs() / (kelvin - constant.value).abs();
    f = f.working(format!(
        "each kelvin away from {} makes an error of {}",
        degrees(constant.value),
        study.size(each, 3)
    ));
    if let Some(limit) = channel.limit_at(worst.right) {
        f = f.remedy(format!(
            "or keep the place within {} of {}",
            number::measured(limit / each, "K", 2),
            degrees(constant.value)
        ));
    }
    f.remedies.insert(
        0,
        format!(
            "measure the {} with a channel of its own and name that channel here",
            what.replace('-', " ")
        ),
    );
    Some(f)
}
