//! A sensor sits warmer than what it measures.

use board::Auxiliary;
use chain::channel::VOLT;
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::causes::{self, with_channel};
use crate::known;
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "sensor.warmed",
        severity: Severity::Fail,
        title: "A sensor sits warmer than what it measures",
        explanation: include_str!("pages/sensor.warmed.md"),
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
    // Its own sensor, or that of a channel whose reading it uses.
    let others = channel.sensor.auxiliaries.values().filter_map(|a| match a {
        Auxiliary::Channel(i) => study.board.channels.get(*i),
        Auxiliary::Constant(_) => None,
    });
    let around = |c: &board::Channel| {
        let at = study.board.channels.iter().position(|x| x.name == c.name)?;
        study.board.surroundings.sensor_warming_k.get(&at)
    };
    let warm = std::iter::once(channel)
        .chain(others)
        .find(|c| c.sensor.warmed.is_some() || around(c).is_some())?;
    let stated = warm.sensor.warmed.as_ref();
    let swings = around(warm).map_or(&[][..], Vec::as_slice);
    let span = stated.map(|w| w.span).or(swings.first().map(|s| s.span))?;
    let kelvin =
        stated.map_or(0.0, |w| w.value.nominal) + swings.iter().map(|s| s.usual).sum::<f64>();
    let mut without = with_channel(study.board, &warm.name, |c| c.sensor.warmed = None)?;
    without.surroundings.sensor_warming_k.clear();
    let points = causes::effect(study, &without)?;
    let worst = known::largest(&points)?;
    let severity = known::severity(study, worst)?;
    let own = warm.name == channel.name;
    let whose = if own {
        "the sensor sits".to_owned()
    } else {
        format!("the sensor of {} sits", warm.name)
    };
    let by = if swings.is_empty() {
        number::amount(kelvin, "K")
    } else {
        number::about(kelvin, "K")
    };
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "{whose} {by} warmer than what it measures: {}",
            known::nature_words(study, &points)
        ),
    )
    .severity(severity)
    .at(span);
    for &p in &points {
        f = f.working(known::reads(study, p));
    }
    if study.codes.is_some() {
        let volt = |q: f64| study.at_quantity(VOLT, q);
        let first = points.first()?;
        f = f.working(format!(
            "as much as {} more at the converter, at {}",
            number::measured((volt(first.read) - volt(first.right)).abs(), "V", 2),
            study.value(first.right)
        ));
    }
    f = f.working(format!(
        "each kelvin between the two makes an error of {}",
        study.size(worst.error().abs() / kelvin.abs(), 3)
    ));
    if !own {
        f = f.remedy(format!(
            "put the sensor of {} on the terminals themselves, thermally joined to them and away from what warms it",
            warm.name
        ));
        let (cold, hot) = study.board.conditions.ambient_k;
        f = f.remedy(format!(
            "holding its value constant instead swaps the error for the travel of the terminals: {} over the ambient as stated",
            number::measured(hot - cold, "K", 3)
        ));
    } else {
        f = f.remedy(
            "move the sensor away from what warms it, or join it to what it is to measure"
                .to_owned(),
        );
    }
    Some(f)
}
