//! Leakage of a converter's input through the resistance ahead of it.

use chain::channel::{CODE, ERROR, VOLT};
use finding::{Finding, Kind, Severity};
use report::number;
use tape::{Point as Values, Reading};

use super::{Entry, Scene};
use crate::judge::conditions;
use crate::known::{self, Point};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "converter.input-leakage",
        severity: Severity::Fail,
        title: "Leakage through the source resistance is felt",
        explanation: include_str!("pages/converter.input-leakage.md"),
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

/// Part of the permitted error from which on it is told by itself.
const WORTH: f64 = 0.5;
/// Codes from which on it is told where no accuracy is asked.
const CODES: f64 = 0.5;

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let device = &study
        .board
        .devices
        .get(channel.input.as_ref()?.device)?
        .name;
    let prefix = format!("{device}.");
    let (place, variable) = study.variables.iter().enumerate().find(|(_, v)| {
        v.key.starts_with(&prefix) && v.key.ends_with(".leakage") && v.unit == "A"
    })?;
    let (low, high) = study.model.inputs.get(place)?.corners();
    let most = low.abs().max(high.abs());
    let mut point = Values::default();
    let mut effect = |at: &[f64]| -> [f64; 3] {
        let mut values = study.model.tape.nominal_inputs().to_vec();
        for (&i, &x) in study.model.conditions().iter().zip(at) {
            if let Some(v) = values.get_mut(i) {
                *v = x;
            }
        }
        point.evaluate(&study.model.tape, &values, Reading::Smooth);
        let mut slopes = vec![0.0; values.len()];
        [ERROR, VOLT, CODE].map(|output| {
            point.gradient(&study.model.tape, output, Reading::Smooth, &mut slopes);
            slopes.get(place).map_or(0.0, |s| (s * most).abs())
        })
    };
    let (at, [error, volt, codes]) = study
        .model
        .grid()
        .into_iter()
        .map(|at| {
            let e = effect(&at);
            (at, e)
        })
        .max_by(|a, b| a.1[0].total_cmp(&b.1[0]))?;
    let q = at.first().copied()?;
    let severity = match channel.limit_at(q) {
        Some(limit) if error < WORTH * limit => return None,
        None if codes < CODES => return None,
        _ => known::severity(
            study,
            Point {
                right: q,
                read: q + error,
            },
        )
        .unwrap_or(Severity::Note),
    };
    // Without an accuracy half a code is what one would ask for.
    let (share, target) = match channel.limit_at(q) {
        Some(limit) => (0.2 * limit / error, "a fifth of the permitted error"),
        None => (CODES / codes, "half a code"),
    };
    let where_: Vec<String> = conditions(study, &at)
        .iter()
        .map(|c| format!("{} {}", c.name, number::about(c.value, &c.unit)))
        .collect();
    let here = number::measured(volt, "V", 3);
    // At that place the leakage is what the voltage says of the resistance.
    let cool = {
        let mut cooler = at.clone();
        let ambient = study
            .model
            .conditions()
            .iter()
            .position(|&i| study.variables.get(i).is_some_and(|v| v.key == "ambient"));
        ambient.and_then(|n| {
            let kelvin = cooler.get(n).copied()?;
            *cooler.get_mut(n)? = kelvin - 40.0;
            Some(effect(&cooler)[1] / volt)
        })
    };
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "input leakage through the source resistance moves the input by up to {here} = {} codes, an error of {}, at {}",
            quantity::plain(codes, 2),
            study.size(error, 3),
            where_.join(", ")
        ),
    )
    .severity(severity)
    .at(channel.input.as_ref().map(|i| i.span))
    .figure(
        "input leakage",
        crate::remedy::limits(variable, 1.0),
        variable.source.clone(),
    );
    if let Some(cool) = cool.filter(|c| c.is_finite() && *c < 0.9) {
        f = f.working(format!(
            "40 K cooler it is 1/{} of that: {} codes (leakage doubles every 10 K, a rule)",
            number::count(1.0 / cool),
            quantity::plain(codes * cool, 2)
        ));
    }
    f = f.working(format!(
        "for {target} the resistance ahead of the input may be {} of what it is",
        quantity::plain(share, 3)
    ));
    if let Some(series) = channel.chain.iter().rev().find(|s| s.kind == "series")
        && let Some(r) = series.valued("r")
    {
        f = f.remedy(format!(
            "a series resistor of at most {} instead of {} for {target}",
            number::measured(r.value.nominal * share, "Ω", 3),
            number::amount(r.value.nominal, "Ω")
        ));
    } else {
        f = f.remedy(format!(
            "a source resistance smaller by the factor {} for {target}",
            quantity::plain(share, 3)
        ));
    }
    Some(f.remedy("or a buffer with a small bias current ahead of the input".to_owned()))
}
